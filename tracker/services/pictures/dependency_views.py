"""Read models of the dependency matrix."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["BlockView", "DependencyView", "LinkCell", "MatrixItem"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MatrixItem:
    """A row, and the column of the same number.

    Parameters
    ----------
    sign : str
        Its standing, or the check's state.
    block, level : int
        Which block it is in, and that one's level.
    reads : tuple of str
        Quantities it takes in.
    """

    key: str
    title: str
    sign: str
    block: int
    level: int
    reads: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockView:
    """Items that depend on each other in a ring, or one alone.

    Parameters
    ----------
    level : int
        0 where it needs nothing; blocks of one level do not need each other.
    """

    level: int
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkCell:
    """That the item of a row needs that of a column.

    Parameters
    ----------
    row, column : int
        Places among the items.
    quantities : tuple of str
        What passes from the column's item to the row's.
    rests_on : bool
        Whether one decision rests on the other by word.
    """

    row: int
    column: int
    quantities: tuple[str, ...]
    rests_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DependencyView:
    """The matrix after partitioning: items in an order in which each block needs earlier ones."""

    revision: int
    of: str
    items: tuple[MatrixItem, ...]
    blocks: tuple[BlockView, ...]
    cells: tuple[LinkCell, ...]
