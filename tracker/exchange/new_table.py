"""The columns of a table quantity that does not exist yet, worked out from a file.

A unit in the header makes a real column, and `[text]`, `[integer]`, `[real]` or `[flag]` say the
kind. Where a header says neither, the cells must: only yes and no, only numbers with some decimals
among them, or nothing that begins like a number. Columns stay as they are made, so what is left is
asked, not guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from tracker.errors import (
    BadUnitError,
    BadValueError,
    DuplicateKeyError,
    FileFormatError,
    InputError,
)
from tracker.exchange.delimited import Grid
from tracker.exchange.heads import Columns, Head, make_head, misfits, split_unit, unnamed
from tracker.exchange.tables import PURE, Document, raise_all
from tracker.model.address import check_key
from tracker.model.numbers import shown
from tracker.model.units import ONE
from tracker.model.values import CellKind, Column
from tracker.services.ports import UnitReader
from tracker.services.session import Reading

__all__ = ["new_columns", "new_document"]

_KINDS = frozenset(CellKind)
_FLAGS = frozenset({"yes", "no", "true", "false"})
_NUMBER = re.compile(r"[+\-−]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+\-−]?\d+)?")
_LIKE_NUMBER = re.compile(r"[+\-−]?[.,]?\d")
_BAD_NAME = re.compile(r"[.\[\]]")


def new_document(key: str, columns: Sequence[Column]) -> Document:
    """Return what the document of a new table says besides its rows."""
    return {
        "title": key,
        "type": "table",
        "columns": [
            {"name": each.name, "type": each.kind.value, "unit": each.unit.text} for each in columns
        ],
    }


def new_columns(
    grid: Grid, key: str, reading: Reading, mapped: Mapping[str, str], *, decimal_comma: bool
) -> tuple[tuple[Column, ...], tuple[Head, ...]]:
    """Work out the columns of a new table.

    Parameters
    ----------
    grid : Grid
        The file.
    key : str
        Key of the new table.
    reading : Reading
        The programme it goes into.
    mapped : mapping of str to str
        Names of the file → `column`, `column [unit]` or `column [kind]`; an empty text for one that
        is not to be read.
    decimal_comma : bool
        Whether numbers are written with a comma.

    Returns
    -------
    tuple of Column
        The columns of the table.
    tuple of Head
        All columns of the file.

    Raises
    ------
    InputError
        The key is taken, or a column does not show what it holds.
    ManyProblemsError
        Several columns do not.
    """
    if reading.programme.find(check_key(key, field="--table")) is not None:
        raise DuplicateKeyError(
            "there is one already", item=key, field="--table", remedy="Leave out --create"
        )
    sketch = _Sketch(grid, reading.tools.units, mapped, "," if decimal_comma else ".")
    pairs: list[tuple[Column | None, Head]] = []
    problems: list[InputError] = []
    for number, text in enumerate(grid.header, 1):
        try:
            pairs.append(sketch.column(number, text))
        except InputError as problem:
            problems.append(problem)
    columns = tuple(column for column, _ in pairs if column is not None)
    heads = tuple(head for _, head in pairs)
    raise_all([*problems, *misfits(grid, heads, sketch.named(columns))])
    return columns, heads


class _Sketch:
    """Reads one column after the other."""

    def __init__(
        self, grid: Grid, units: UnitReader, mapped: Mapping[str, str], decimal: str
    ) -> None:
        self._grid = grid
        self._units = units
        self._mapped = mapped
        self._decimal = decimal

    def named(self, columns: Sequence[Column]) -> Columns:
        names = tuple(each.name for each in columns)
        return Columns(names=names, aliases={}, mapped=self._mapped)

    def column(self, number: int, text: str) -> tuple[Column | None, Head]:
        if not text:
            raise unnamed(self._grid, number)
        told = self.named(()).told(text)
        meant = text if told is None else " ".join(self._mapped[told].split())
        if not meant:
            return None, make_head(self._grid, "", text)
        place = {
            "item": f"{self._grid.item}, line {self._grid.line}",
            "field": f"column {shown(text)}",
        }
        try:
            name, kind, unit = self._parts(meant)
        except BadUnitError as problem:
            problem.item, problem.field = place["item"], place["field"]
            raise
        _check_name(name, place)
        found = kind or self._shown_by_cells(number - 1)
        if found is None:
            raise BadValueError(
                "its cells do not show whether it holds texts or numbers",
                remedy=f"Say its kind or its unit in the header, as in {name} [text], [integer], "
                f'[real], [flag] or [mm], or with --map "{name}={name} [text]"',
                **place,
            )
        column = Column(name, found, self._units.read(unit) if unit else ONE)
        return column, make_head(self._grid, name, text, unit)

    def _parts(self, text: str) -> tuple[str, CellKind | None, str]:
        """Take a header apart: name, kind and unit as far as it says them."""
        for name, said in split_unit(text):
            if said in _KINDS:
                return name, CellKind(said), ""
            if said and (text.endswith("]") or self._is_unit(said)):
                return name, CellKind.REAL, self._readable(said)
        return text, None, ""

    def _is_unit(self, text: str) -> bool:
        try:
            self._units.read(text)
        except BadUnitError:
            return False
        return True

    def _readable(self, text: str) -> str:
        """Return a unit text that can be read; empty for the pure number."""
        self._units.read(text)
        return "" if text == PURE else text

    def _shown_by_cells(self, place: int) -> CellKind | None:
        """Return the kind that the cells of a column leave no doubt about."""
        cells = list(self._cells(place))
        if not cells:
            return None
        if all(each.lower() in _FLAGS for each in cells):
            return CellKind.FLAG
        if not any(_LIKE_NUMBER.match(each) for each in cells):
            return CellKind.TEXT
        numbers = [each.replace(self._decimal, ".") for each in cells]
        if all(_NUMBER.fullmatch(each) for each in numbers) and any(
            "." in each for each in numbers
        ):
            return CellKind.REAL
        return None

    def _cells(self, place: int) -> Iterator[str]:
        for _, cells in self._grid.records:
            if place < len(cells) and cells[place].strip():
                yield cells[place].strip()


def _check_name(name: str, place: Mapping[str, str]) -> None:
    """Refuse what an address could not name."""
    if not name or _BAD_NAME.search(name):
        raise FileFormatError(
            f"{shown(name)} cannot name a column of a table",
            remedy='Say another name with --map "HEADER=NAME": it has no . [ or ]',
            **place,
        )
