"""What a form of an item asks while one types: what is wrong, what numbers mean, what it would do.

Nothing here stores anything.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tracker.contract.check import Port
from tracker.errors import InputError, ManyProblemsError, UnknownKeyError
from tracker.evaluate.binding import Measure, part_measure
from tracker.evaluate.engine import Cancel
from tracker.evaluate.plugin import Loaded
from tracker.model.address import parse_address
from tracker.model.changes import Entry
from tracker.model.numbers import read_typed
from tracker.model.records import Quantity, Requirement
from tracker.model.units import Unit
from tracker.model.values import Kind
from tracker.services.change_views import Ripple
from tracker.services.documents import document_of
from tracker.services.intake import Document, amend_entries, intake_entries
from tracker.services.reading import read_port, read_span, read_value
from tracker.services.ripple import ripple_of
from tracker.services.session import Reading
from tracker.services.wording import value_with_unit, visible, with_unit

__all__ = ["CheckPorts", "Held", "PortLine", "Written", "held_item", "ports_of", "try_writing"]

_STAND_INS = {
    **dict.fromkeys(("title", "statement", "question", "reason", "approver", "extent"), "…"),
    "place": "…",
    "date": "2000-01-01",
}
"""Let the rest of an item be looked at while a text it needs is still missing."""
_ROOT = re.compile(r"[. ]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """An item as it is, to be amended.

    Parameters
    ----------
    revision : int
        When it was so.
    document : mapping
        Its fields.
    """

    revision: int
    document: Document


@dataclass(frozen=True, slots=True, kw_only=True)
class PortLine:
    """A port of a check, to be bound.

    Parameters
    ----------
    unit : str
        Unit it computes in; the choices of a choice.
    doc : str
        What it means.
    """

    key: str
    title: str
    kind: str
    unit: str
    optional: bool
    doc: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPorts:
    """What binding a check has to fill."""

    check: str
    title: str
    inputs: tuple[PortLine, ...]
    outputs: tuple[PortLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What an item as typed so far comes to.

    Parameters
    ----------
    problems : tuple of InputError
        What is wrong, each once.
    numbers : mapping of str to str
        Field, or port of a check → what stands there in the unit it is kept in; the unit alone
        where there is nothing to convert.
    ripple : Ripple or None
        What storing it would do; None where something is wrong.
    """

    problems: tuple[InputError, ...]
    numbers: Mapping[str, str] = field(default_factory=dict)
    ripple: Ripple | None = None


def held_item(reading: Reading, key: str) -> Held:
    """Return an item as the document that would make it.

    Raises
    ------
    UnknownKeyError
        Nothing is called that.
    """
    record = reading.programme.find(key)
    if record is None:
        raise UnknownKeyError(f"nothing is called {key[:80]!r}", remedy="Add it first")
    document = document_of(reading.programme, record)
    return Held(revision=reading.head.revision, document=document)


def ports_of(reading: Reading, check: str, config: Mapping[str, str]) -> CheckPorts:
    """Return the ports of an installed check.

    Raises
    ------
    InputError
        There is no such check, or it does not take this configuration.
    """
    loaded = _loaded(reading, check, config)
    made = loaded.manifest
    return CheckPorts(
        check=made.key,
        title=visible(made.title),
        inputs=tuple(_port(loaded, each) for each in made.inputs),
        outputs=tuple(_port(loaded, each) for each in made.outputs),
    )


def _loaded(reading: Reading, check: str, config: Mapping[str, str]) -> Loaded:
    info = reading.programme.info
    return reading.tools.catalogue.load(check, config, info.currency if info else "")


def _port(loaded: Loaded, port: Port) -> PortLine:
    unit = ", ".join(port.choices) if port.choices else loaded.units[port.key].text
    return PortLine(
        key=port.key,
        title=visible(port.title),
        kind=port.kind.value,
        unit=visible(unit),
        optional=port.optional,
        doc=visible(port.doc),
    )


def try_writing(
    reading: Reading,
    document: Document,
    amended: str = "",
    changed: Document | None = None,
    cancel: Cancel | None = None,
) -> Written:
    """Look at an item as typed so far.

    Parameters
    ----------
    document : Document
        The whole item.
    amended : str, optional
        Key of the item it amends.
    changed : Document, optional
        Only the fields that an amendment changes.
    cancel : callable, optional
        Asked whether the answer is still wanted.
    """
    numbers = dict(_numbers(reading, document))
    said = document if changed is None else changed

    def build(fields: Document) -> tuple[Entry, ...]:
        return (
            amend_entries(reading, amended, fields)
            if amended
            else intake_entries(reading, [fields])
        )

    problems, entries = _problems(build, said, reading.tools.ids)
    if problems:
        return Written(problems=problems, numbers=numbers)
    try:
        return Written(problems=(), numbers=numbers, ripple=ripple_of(reading, entries, cancel))
    except InputError as error:
        return Written(problems=_single(error), numbers=numbers)


def _single(error: InputError) -> tuple[InputError, ...]:
    several = error.problems if isinstance(error, ManyProblemsError) else [error]
    return tuple(each for each in several if isinstance(each, InputError))


def _problems(
    build: Callable[[Document], tuple[Entry, ...]], said: Document, ids: Callable[[], str]
) -> tuple[tuple[InputError, ...], tuple[Entry, ...]]:
    """Build an item; what is wrong is left out or stood in for, until no more is found."""
    rest, seen = dict(said), set[str]()
    found: list[InputError] = []
    while True:
        try:
            return tuple(found), build(rest)
        except InputError as error:
            several = _single(error)
        news = [each for each in several if _name(each) not in seen]
        found.extend(news)
        names = {_name(each) for each in several}
        if not all(_mended(rest, name, ids) for name in names):
            return tuple(found), ()
        seen |= names


def _name(error: InputError) -> str:
    return _ROOT.split(error.field)[0]


def _mended(rest: dict[str, Any], name: str, ids: Callable[[], str]) -> bool:
    """Take a wrong field away, or stand in for one that is missing; tell whether that could be."""
    stand_in = f"new-{ids()}" if name == "key" else _STAND_INS.get(name)
    if stand_in is not None and rest.get(name) != stand_in:
        rest[name] = stand_in
        return True
    if stand_in is None and rest.pop(name, None) not in (None, ""):
        return True
    for outer in ("inputs", "outputs"):
        inner = rest.get(outer)
        if isinstance(inner, Mapping) and name in inner:
            rest[outer] = {port: each for port, each in inner.items() if port != name}
            return True
    return False


# --- what numbers mean


def _numbers(reading: Reading, document: Document) -> Iterator[tuple[str, str]]:
    """Yield what every number typed means, as far as its unit is known."""
    try:
        if document.get("kind") == "check":
            yield from _bound_numbers(reading, document)
            return
        measure = _measure(reading, document)
    except (InputError, ValueError):  # a type there is none of
        return
    if measure is None:
        return
    one = Measure(Kind.REAL, measure.unit)
    for name in ("value", "low", "high", "lower", "upper", "target"):
        kept = measure if name == "value" else one
        yield name, _meaning(reading, document.get(name), kept)
    for name in ("tolerance", "scale"):
        yield name, _width(reading, document.get(name), measure.unit)


def _measure(reading: Reading, document: Document) -> Measure | None:
    """Return what the numbers of an item measure; None where it has none."""
    match document.get("kind"):
        case "quantity":
            unit = reading.tools.units.read(str(document.get("unit", "")))
            choices = document.get("choices", ())
            kind = Kind(document.get("type") or Kind.REAL)
            return Measure(kind, unit, tuple(choices) if isinstance(choices, Sequence) else ())
        case "requirement":
            return _at(reading, str(document.get("quantity", "")))
        case "deviation":
            judged = reading.programme.named(str(document.get("requirement", "")), Requirement)
            return part_measure(reading.programme.at(judged.quantity, Quantity), judged.part)
        case _:
            return None


def _at(reading: Reading, text: str) -> Measure:
    address = parse_address(text)
    return part_measure(reading.programme.named(address.key, Quantity), address.part)


def _bound_numbers(reading: Reading, document: Document) -> Iterator[tuple[str, str]]:
    loaded = _loaded(reading, str(document.get("check", "")), document.get("config", {}))
    units = reading.tools.units
    for name, raw in document.get("inputs", {}).items():
        port = loaded.inputs.get(name)
        if port is None or not isinstance(raw, Mapping):
            continue
        try:
            value, _ = read_port(raw.get("value"), loaded, port, units, item="")
        except InputError:
            continue
        yield name, f"= {value_with_unit(value, port.kind, loaded.units[name])}"


def _meaning(reading: Reading, raw: object, measure: Measure) -> str:
    unit = measure.unit
    if not _says_unit(raw, unit):
        return unit.text
    try:
        value, _ = read_value(raw, measure, reading.tools.units, item="")
    except InputError:
        return unit.text
    return f"= {value_with_unit(value, measure.kind, unit)}"


def _width(reading: Reading, raw: object, unit: Unit) -> str:
    if not _says_unit(raw, unit):
        return unit.text
    try:
        return f"= {with_unit(read_span(raw, unit, reading.tools.units, item='', field=''), unit)}"
    except InputError:
        return unit.text


def _says_unit(raw: object, unit: Unit) -> bool:
    """Tell whether something was typed in another unit than it is kept in."""
    if not isinstance(raw, str):
        return False
    try:
        return read_typed(raw).unit_text not in ("", unit.text)
    except InputError:
        return False
