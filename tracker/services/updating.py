"""Quantities described by documents, new or known: the door for values that come from files.

A new key is added as any new item is. A known one gets what its document states and keeps the rest;
a new value brings its own basis, a value that is the same as before keeps the one it has.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import repeat
from typing import Any

from tracker.errors import (
    BadValueError,
    DecisionError,
    DuplicateKeyError,
    InputError,
    ManyProblemsError,
    SourceError,
    UnknownKeyError,
)
from tracker.evaluate.binding import part_measure
from tracker.model.changes import Entry
from tracker.model.records import (
    Basis,
    BasisKind,
    Decision,
    DecisionState,
    Option,
    Quantity,
    Setting,
)
from tracker.services.building import about
from tracker.services.edits import source_of
from tracker.services.fields import Fields
from tracker.services.intake import Document, amend_entries, intake_entries
from tracker.services.reading import read_value
from tracker.services.session import Reading

__all__ = ["update_entries"]

_STATED = {"kind": "basis", "source": "source", "dated": "dated"}
_APART = {"kind", "key", "value", *_STATED.values()}


def update_entries(
    reading: Reading, documents: Sequence[Document], places: Sequence[str] = (), into: str = ""
) -> tuple[Entry, ...]:
    """Turn documents of quantities, new or known, into entries, all or nothing.

    Parameters
    ----------
    documents : sequence of Document
        Quantities by key. A field that is missing or empty leaves what there is.
    places : sequence of str, optional
        Where each document came from (`line 3`), named in errors.
    into : str, optional
        `DECISION/option` that is to state the values.

    Raises
    ------
    InputError
        One thing is wrong.
    ManyProblemsError
        Several things are wrong; each is named with its item and field.
    """
    update = _Update(reading, _option_of(reading, into) if into else None)
    for document, place in zip(documents, places or repeat(""), strict=False):
        with update.collecting(place):
            update.take(document, place)
    return update.entries()


def _option_of(reading: Reading, into: str) -> tuple[Decision, Option]:
    key, _, name = into.partition("/")
    with about(into, "into"):
        decision = reading.programme.named(key, Decision)
    option = next((each for each in decision.options if each.key == name), None)
    if option is None:
        raise UnknownKeyError(
            f"{key} has no option {name[:80]!r}",
            item=into,
            field="into",
            remedy="Options: " + ", ".join(f"{key}/{each.key}" for each in decision.options),
        )
    if decision.state is DecisionState.SETTLED:
        raise DecisionError(
            "the decision is settled", item=into, field="into", remedy=f"Reopen {key} first"
        )
    return decision, option


@dataclass
class _Update:
    """What the documents taken so far come to."""

    reading: Reading
    target: tuple[Decision, Option] | None
    _problems: list[InputError] = field(default_factory=list)
    _seen: set[str] = field(default_factory=set)
    _new: list[tuple[Document, str]] = field(default_factory=list)
    _amended: list[Entry] = field(default_factory=list)
    _settings: dict[str, Setting] = field(default_factory=dict)

    @contextmanager
    def collecting(self, place: str) -> Iterator[None]:
        """Keep what is wrong for later, with its place."""
        try:
            yield
        except ManyProblemsError as several:
            self._problems += [each for each in several.problems if isinstance(each, InputError)]
        except InputError as problem:
            problem.item = ", ".join(each for each in (place, problem.item) if each)
            self._problems.append(problem)

    def take(self, document: Document, place: str) -> None:
        """Take one document in."""
        key = document.get("key")
        if str(key) in self._seen:
            raise DuplicateKeyError(
                "the key stands twice", item=str(key), field="key", remedy="Keep one of the two"
            )
        self._seen.add(str(key))
        held = self.reading.programme.find(str(key))
        if isinstance(held, Quantity):
            self._take_known(held, document)
            return
        self._new.append((document, place))
        self._check_new(Fields(document, None))

    def _check_new(self, fields: Fields) -> None:
        """Refuse what adding an item would pass over, and values that belong elsewhere."""
        if fields.raw("value") is None:
            for name in _STATED.values():
                if fields.raw(name) is not None:
                    raise _lonely(fields.key, name)
        elif self.target:
            raise _not_set(self.target[0], fields.key)

    def _take_known(self, held: Quantity, document: Document) -> None:
        fields = Fields(document, None)
        rest = {
            name: fields.raw(name)
            for name in document
            if name not in _APART and fields.raw(name) is not None
        }
        after = amend_entries(self.reading, held.key, rest)[0].after if rest else held
        assert isinstance(after, Quantity)  # noqa: S101 - amending keeps the kind of an item
        if _states(fields):
            after = self._stated(held, after, fields)
        self._amended.append(Entry(held, after))

    def _stated(self, held: Quantity, after: Quantity, fields: Fields) -> Quantity:
        """Put the stated value where it belongs."""
        if self.target is None:
            _refuse_other_source(self.reading, held)
            return replace(after, given=_setting(self.reading, held, fields, held.given))
        decision, option = self.target
        if held.id not in decision.owns:
            raise _not_set(decision, held.key)
        old = option.settings.get(held.id)
        self._settings[held.id] = _setting(self.reading, held, fields, old)
        return after

    def entries(self) -> tuple[Entry, ...]:
        """Return the entries, or raise everything that is wrong."""
        added: tuple[Entry, ...] = ()
        with self.collecting(""):
            documents = [document for document, _ in self._new]
            added = intake_entries(self.reading, documents, [place for _, place in self._new])
        if self._problems:
            first = self._problems[0]
            raise first if len(self._problems) == 1 else ManyProblemsError([*self._problems])
        return (*added, *self._amended, *self._decided())

    def _decided(self) -> Iterator[Entry]:
        if self.target and self._settings:
            decision, option = self.target
            changed = replace(option, settings={**option.settings, **self._settings})
            options = tuple(changed if each.id == option.id else each for each in decision.options)
            yield Entry(decision, replace(decision, options=options))


def _states(fields: Fields) -> bool:
    return any(fields.raw(name) is not None for name in ("value", *_STATED.values()))


def _setting(reading: Reading, quantity: Quantity, fields: Fields, old: Setting | None) -> Setting:
    """Return what is stated now that a document has spoken."""
    said = _said(fields)
    raw = fields.raw("value")
    if raw is not None:
        measure = part_measure(quantity, "")
        value, typed = read_value(raw, measure, reading.tools.units, item=quantity.key)
        if old is None or old.value != value:
            return Setting(value=value, typed=typed, basis=Basis(**said))
    if old is None or old.value is None:
        raise _lonely(quantity.key, _STATED[next(iter(said))])
    return replace(old, basis=replace(old.basis, **said))


def _said(fields: Fields) -> Mapping[str, Any]:
    read = {
        "kind": fields.choice("basis", BasisKind, BasisKind.GUESS),
        "source": fields.text("source"),
        "dated": fields.text("dated"),
    }
    return {name: each for name, each in read.items() if fields.raw(_STATED[name]) is not None}


def _refuse_other_source(reading: Reading, quantity: Quantity) -> None:
    source = source_of(reading, quantity)
    if source is None:
        return
    owned = isinstance(source, Decision)
    options = [f"{source.key}/{each.key}" for each in source.options] if owned else []  # type: ignore[union-attr] # a decision has options
    raise SourceError(
        f"it is {'owned by decision' if owned else 'computed by check'} {source.key}",
        item=quantity.key,
        field="value",
        remedy=f"Import it --into {' or '.join(options)}" if owned else "Take its value out",
    )


def _not_set(decision: Decision, key: str) -> UnknownKeyError:
    return UnknownKeyError(
        f"decision {decision.key} does not set {key[:80]}",
        item=key,
        field="value",
        remedy=f"Import it without --into, or amend what {decision.key} sets first",
    )


def _lonely(key: str, name: str) -> BadValueError:
    return BadValueError(
        "there is no value it could belong to", item=key, field=name, remedy="Give the value too"
    )
