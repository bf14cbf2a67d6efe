"""Nested data as plain tables: what the spreadsheet and the comma-separated files hold alike.

Every value of the data stands in exactly one cell, typed as it is, so that the tables can be
compared with the JSON value by value:

- an object is a row; an object inside it adds columns, named `outer.inner`;
- a list of objects is a table of its own, named after the path to it, each row led by what it
  belongs to (`decisions.key`) and its place in the list, counted from 1 (`row`);
- a list of lists is such a table with columns 1, 2, …; lists with numbers in them are one with a
  row for each place; a list of texts is one cell, a line each.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeGuard

from tracker.services.wording import visible

__all__ = ["Plain", "Sheet", "sheets_of"]

Plain = str | int | float | bool | None
"""A typed cell; None where there is nothing."""
_Ids = tuple[tuple[str, Plain], ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table of typed cells.

    Parameters
    ----------
    key : str
        Stable name, of letters, digits and dashes.
    heads : tuple of str
        Column heads.
    rows : tuple of tuple
        Texts without hidden characters, numbers, flags, or None.
    """

    key: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Plain, ...], ...]


class _Growing:
    """Rows of a table whose heads come up as its records do."""

    def __init__(self) -> None:
        self._heads: dict[str, int] = {}
        self._rows: list[tuple[Plain, ...]] = []

    def take(self, row: dict[str, Plain]) -> None:
        for head in row:
            self._heads.setdefault(head, len(self._heads))
        self._rows.append(tuple(row.get(each) for each in self._heads))

    def sheet(self, key: str) -> Sheet:
        width = len(self._heads)
        rows = tuple(
            row if len(row) == width else row + (None,) * (width - len(row)) for row in self._rows
        )
        return Sheet(key, tuple(self._heads), rows)


def sheets_of(data: object) -> tuple[Sheet, ...]:
    """Lay data out as tables.

    Parameters
    ----------
    data : dataclass or mapping
        Records and lists of records by name, and single values, which go to a table named
        `document`. Records are dataclasses or mappings, lists are tuples or lists; a number that
        is whole becomes an integer, as in JSON.
    """
    found: dict[str, _Growing] = {}
    parts = _items(data)
    single = {name: _cell(each) for name, each in parts if _is_single(each)}
    if single:
        found["document"] = _Growing()
        found["document"].take(single)
    for name, each in parts:
        if _is_record(each):
            _row(found, name, each, ())
        elif _is_list(each):
            _list(found, name, each, ())
    return tuple(grown.sheet(key) for key, grown in found.items())


def _items(record: Any) -> list[tuple[str, Any]]:  # noqa: ANN401 - a dataclass or mapping
    if isinstance(record, Mapping):
        return list(record.items())
    cls: Any = type(record)
    return [(name, getattr(record, name)) for name in _names(cls)]


@cache
def _names(cls: Any) -> tuple[str, ...]:  # noqa: ANN401 - a dataclass
    return tuple(each.name for each in dataclasses.fields(cls))


def _is_record(value: object) -> bool:
    return isinstance(value, Mapping) or dataclasses.is_dataclass(value)


def _is_list(value: object) -> TypeGuard[Sequence[Any]]:
    return isinstance(value, list | tuple)


def _is_single(value: object) -> bool:
    return not _is_record(value) and not _is_list(value)


def _cell(value: Plain) -> Plain:
    if isinstance(value, str):
        return visible(value)
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _row(found: dict[str, _Growing], path: str, record: object, ids: _Ids) -> None:
    """Add a record's row, then the tables of the lists in it."""
    row: dict[str, Plain] = dict(ids)
    lists: list[tuple[str, Sequence[Any]]] = []
    for name, value in _fields(record, ""):
        if not _is_list(value):
            row[name] = _cell(value)
        elif _is_texts(value):
            row[name] = "\n".join(map(visible, value))
        else:
            lists.append((name, value))
    found.setdefault(path, _Growing()).take(row)
    below = (*_above(ids), (f"{path.rpartition('-')[2]}.key", _identity(row, ids)))
    columns = {name: value for name, value in lists if not _is_nested(value)}
    if columns:
        _columns(found, f"{path}-values", columns, below)
    for name, value in lists:
        if _is_nested(value):
            _list(found, f"{path}-{name.replace('.', '-')}", value, below)


def _above(ids: _Ids) -> _Ids:
    return tuple(each for each in ids if each[0] != "row")


def _fields(record: object, prefix: str) -> Iterator[tuple[str, Any]]:
    for name, value in _items(record):
        if _is_record(value):
            yield from _fields(value, f"{prefix}{name}.")
        else:
            yield f"{prefix}{name}", value


def _is_texts(value: Sequence[Any]) -> bool:
    return all(isinstance(each, str) for each in value)


def _is_nested(value: Sequence[Any]) -> bool:
    return bool(value) and not _is_single(value[0])


def _identity(row: Mapping[str, Plain], ids: _Ids) -> Plain:
    """Return what tells a record from others of its list: its key, else its place.

    A figure's key is unique among those of its check alone.
    """
    key = row.get("key", row.get("name"))
    if key is None:
        return dict(ids).get("row")
    return f"{row['check']}.{key}" if "across.title" in row else key


def _list(found: dict[str, _Growing], path: str, items: Sequence[Any], ids: _Ids) -> None:
    for place, each in enumerate(items, 1):
        where: _Ids = (*ids, ("row", place))
        if _is_list(each):
            cells = {str(number): _cell(cell) for number, cell in enumerate(each, 1)}
            found.setdefault(path, _Growing()).take({**dict(where), **cells})
        else:
            _row(found, path, each, where)


def _columns(
    found: dict[str, _Growing], path: str, columns: Mapping[str, Sequence[Plain]], ids: _Ids
) -> None:
    """Add a row for each place of lists that belong side by side, such as coordinates."""
    grown = found.setdefault(path, _Growing())
    for place in range(max(len(each) for each in columns.values())):
        cells = {name: _cell(each[place]) for name, each in columns.items() if place < len(each)}
        grown.take({**dict(ids), "row": place + 1, **cells})
