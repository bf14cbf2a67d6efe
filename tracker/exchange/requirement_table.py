"""A table of requirements into item documents; quantities it names for the first time are made."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tracker.errors import BadKeyError, BadValueError, InputError, ManyProblemsError
from tracker.exchange.tables import KindOf, Row, TableKind
from tracker.model.address import parse_address
from tracker.model.numbers import read_typed
from tracker.model.texts import LINE_LIMIT

__all__ = ["REQUIREMENTS"]

_BOUNDS = ("lower", "upper", "target", "scale")
_AS_THEY_ARE = ("statement", "quantity", "guard", "source", "owner", "verification", "gate")
_LISTS = ("allowed", "parents")
_SEPARATORS = re.compile(r"[,;|]")
_CREATED = ("real", "integer", "flag", "point")
_REMEDIES: Mapping[str, str] = {
    "type": "New ones are real, integer or flag, or point for a component; add others first",
    "unit": "Leave it empty",
}

Documents = Iterator[tuple[dict[str, Any], Row]]


def _documents(rows: Sequence[Row], kind_of: KindOf) -> Documents:
    made: dict[str, str] = {}
    problems: list[InputError] = []
    for row in rows:
        try:
            yield from _quantity(row, kind_of, made)
        except InputError as problem:
            problems.append(problem)
        yield _requirement(row), row
    if problems:
        raise problems[0] if len(problems) == 1 else ManyProblemsError([*problems])


def _requirement(row: Row) -> dict[str, Any]:
    cells = row.cells
    document: dict[str, Any] = {"kind": "requirement", "key": cells["key"]}
    document |= {name: cells[name] for name in _AS_THEY_ARE if cells.get(name)}
    document |= {
        name: _with_unit(cells[name], cells.get("unit", "")) for name in _BOUNDS if cells.get(name)
    }
    for name in _LISTS:
        parts = [each.strip() for each in _SEPARATORS.split(cells.get(name, ""))]
        if any(parts):
            document[name] = [each for each in parts if each]
    return document


def _with_unit(text: str, unit: str) -> str:
    """Give a bound the unit of its row, unless it has one of its own."""
    try:
        bare = bool(unit) and not read_typed(text).unit_text
    except BadValueError:
        return text  # whoever reads the document says what is wrong with it
    return f"{text} {unit}" if bare else text


def _quantity(row: Row, kind_of: KindOf, made: dict[str, str]) -> Documents:
    """Describe the quantity of a row, where neither programme nor file has it yet."""
    said = row.cells.get("type", "")
    try:
        address = parse_address(row.cells["quantity"])
    except BadKeyError:
        return  # whoever reads the requirement's document says what is wrong with it
    held = kind_of(address.key) or made.get(address.key, "")
    if held and said not in ("", held):
        raise _wrong(row, "type", f"{address.key} is of type {held}, not {said[:40]}")
    kind = held or said or "real"
    if row.cells.get("unit") and kind in ("flag", "choice"):
        raise _wrong(row, "unit", f"{address.key} is of type {kind} and has no unit")
    if held:
        return
    if kind not in _CREATED or (kind == "point") is not bool(address.part):
        raise _wrong(row, "type", f"{address.key} is new and cannot be made as {kind[:40]} here")
    made[address.key] = kind
    title = " ".join(row.cells["statement"].split())[:LINE_LIMIT] or address.key
    document = {"kind": "quantity", "key": address.key, "title": title, "type": kind}
    yield {**document, "unit": row.cells.get("unit", "")}, row


def _wrong(row: Row, column: str, message: str) -> BadValueError:
    return BadValueError(
        message, item=row.place, field=f"column {column}", remedy=_REMEDIES[column]
    )


REQUIREMENTS = TableKind(
    columns=(
        "key", "statement", "quantity", "type", "unit", "lower", "upper", "target", "guard",
        "scale", "allowed", "source", "owner", "verification", "parents", "gate",
    ),
    required=("key", "statement", "quantity"),
    numbers=frozenset({*_BOUNDS, "guard"}),
    long=frozenset({"statement"}),
    documents=_documents,
)  # fmt: skip
"""A table of requirements, one to a row."""
