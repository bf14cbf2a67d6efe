"""The header of a table: which column is which, and the unit it says its numbers are in.

A unit stands behind the name, as in `z [mm]`, `z (mm)` or `z/mm`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from tracker.errors import FileFormatError, InputError, ManyProblemsError
from tracker.exchange.delimited import Grid
from tracker.model.numbers import shown
from tracker.model.texts import LINE_LIMIT

__all__ = ["Columns", "Head", "make_head", "misfits", "read_heads", "split_unit", "unnamed"]

_BRACKETS = re.compile(r"(.+?)\s*\[\s*([^\[\]]*?)\s*\]")
_ROUND = re.compile(r"(.+?)\s*\((.*)\)")
_SLASH = re.compile(r"([^/]+?)\s*/\s*(.+)")
_PURE = {"-": "1", "−": "1", "–": "1", "—": "1"}
_LABEL = 60


@dataclass(frozen=True, slots=True)
class Head:
    """A column of a file.

    Parameters
    ----------
    column : str
        The field it holds; empty when it is told not to be read.
    label : str
        Its name in the file.
    unit : str
        Unit text its header gives.
    line : int
        Line of the header.
    """

    column: str
    label: str
    unit: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """The columns a table may have.

    Parameters
    ----------
    names : tuple of str
        All of them.
    required : tuple of str
        Those it must have.
    measured : frozenset of str
        Those whose header may give a unit.
    aliases : mapping of str to str
        Other names → column.
    mapped : mapping of str to str
        Names of the file → `column`, `column [unit]`, or an empty text for one not to be read.
    kinds : mapping of str to str
        Column → the word that may stand in the place of its unit.
    """

    names: tuple[str, ...]
    required: tuple[str, ...] = ()
    measured: frozenset[str] = frozenset()
    aliases: Mapping[str, str]
    mapped: Mapping[str, str]
    kinds: Mapping[str, str] = field(default_factory=dict)

    def find(self, text: str) -> tuple[str, str] | None:
        """Return column and unit of a name; None when there is no such column."""
        known = {**self.aliases, **{each.casefold(): each for each in self.names}}
        exact = {each: each for each in self.names}
        for name, unit in split_unit(text):
            column = exact.get(name) or known.get(name.casefold())
            if column is not None:
                return column, unit
        return None

    def told(self, text: str) -> str | None:
        """Return the name of the file in `mapped` that means a cell of the header."""
        names = {each.casefold(): each for each in self.mapped}
        found = (names.get(name.casefold()) for name, _ in split_unit(text))
        return next((each for each in found if each is not None), None)

    def place(self, text: str) -> tuple[str, str] | None:
        """Return column and unit of a cell of the header, as told or by its name."""
        told = self.told(text)
        if told is None:
            return self.find(text)
        if not self.mapped[told].strip():
            return "", ""
        found = self.find(" ".join(self.mapped[told].split()))
        if found is None or found[1]:
            return found
        whole = told.casefold() == text.casefold()
        units = [
            unit
            for name, unit in split_unit(text)
            if unit and (whole or name.casefold() == told.casefold())
        ]
        return found[0], next(iter(units), "") if found[0] in self.measured or not whole else ""


def split_unit(text: str) -> Iterator[tuple[str, str]]:
    """Take a header apart in every way it can be read: as a name alone, then with a unit."""
    yield text, ""
    if len(text) > LINE_LIMIT:
        return
    for pattern in (_BRACKETS, _ROUND, _SLASH):
        match = pattern.fullmatch(text)
        if match:
            yield match[1], _PURE.get(match[2], match[2])


def read_heads(grid: Grid, columns: Columns) -> tuple[Head, ...]:
    """Read the header of a table.

    Raises
    ------
    FileFormatError, ManyProblemsError
        A column is not known, stands twice or is missing, or has a unit where there is none.
    """
    problems: list[InputError] = []
    heads = []
    for number, text in enumerate(grid.header, 1):
        try:
            heads.append(_head(grid, number, text, columns))
        except FileFormatError as problem:
            problems.append(problem)
    problems += misfits(grid, heads, columns)
    if problems:
        raise problems[0] if len(problems) == 1 else ManyProblemsError([*problems])
    return tuple(heads)


def misfits(grid: Grid, heads: Sequence[Head], columns: Columns) -> Iterator[FileFormatError]:
    """Say what does not fit between columns and the heads that could be read."""
    yield from _twice(grid, heads)
    if len(heads) == len(grid.header):  # a missing column may be one that was not understood
        found = {each.column for each in heads}
        for each in columns.required:
            if each not in found:
                yield _wrong(grid, shown(each), "the column is missing", _wanted(columns))
    yield from _unused(grid, columns)


def _head(grid: Grid, number: int, text: str, columns: Columns) -> Head:
    if not text:
        raise unnamed(grid, number)
    found = columns.place(text)
    if found is None:
        raise _wrong(grid, shown(text), "there is no such column", _wanted(columns))
    column, unit = found
    if unit == columns.kinds.get(column):
        unit = ""
    if unit and column not in columns.measured:
        raise _wrong(
            grid, shown(text), f"{column} has no unit in its header", f"Call it {column} alone"
        )
    return make_head(grid, column, text, unit)


def make_head(grid: Grid, column: str, text: str, unit: str = "") -> Head:
    """Make the head of a column from its cell in the header."""
    return Head(column, text[:_LABEL], unit, grid.line)


def unnamed(grid: Grid, number: int) -> FileFormatError:
    """Make the error for a column without a name, left of one that has one."""
    return _wrong(grid, str(number), "the column has no name", "Name it, or take it out")


def _twice(grid: Grid, heads: Sequence[Head]) -> Iterator[FileFormatError]:
    seen: dict[str, Head] = {}
    for head in heads:
        first = seen.setdefault(head.column, head)
        if head.column and first is not head:
            also = f" as {shown(first.label)} and {shown(head.label)}"
            same = first.label.casefold() == head.label.casefold() == head.column
            yield _wrong(
                grid,
                shown(head.column),
                "the column stands twice" + ("" if same else also),
                "Take one out, or leave it unread with --map HEADER=",
            )


def _unused(grid: Grid, columns: Columns) -> Iterator[FileFormatError]:
    used = {columns.told(each) for each in grid.header}
    for name, meant in columns.mapped.items():
        if name not in used:
            message, remedy = "--map names it, but the file does not have it", "Look at its header"
            yield _wrong(grid, shown(name), message, remedy)
        elif meant.strip() and columns.find(" ".join(meant.split())) is None:
            yield _wrong(grid, shown(meant), "--map leads to no column", _wanted(columns))


def _wanted(columns: Columns) -> str:
    must = f"; {', '.join(columns.required)} are needed" if columns.required else ""
    names = ", ".join(columns.names)
    return f"Columns are {names}{must}. --map HEADER=COLUMN gives another name its column"


def _wrong(grid: Grid, column: str, message: str, remedy: str) -> FileFormatError:
    place = f"{grid.item}, line {grid.line}"
    return FileFormatError(message, item=place, field=f"column {column}", remedy=remedy)
