"""The kinds of columns the tables are made of."""

from __future__ import annotations

from sqlalchemy import Column, Double, ForeignKey, Integer, MetaData, Text
from sqlalchemy import text as sql_text

__all__ = [
    "METADATA",
    "bound",
    "later_text",
    "maybe_text",
    "number",
    "owner",
    "part",
    "place",
    "setting",
    "text",
    "value",
    "whole",
]

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def text(name: str) -> Column[str]:
    """Make a text column."""
    return Column(name, Text, nullable=False)


def later_text(name: str) -> Column[str]:
    """Make a text column that tables got later; records stored before have nothing in it."""
    return Column(name, Text, nullable=False, server_default=sql_text("''"))


def maybe_text(name: str) -> Column[str]:
    """Make a text column that may be empty."""
    return Column(name, Text)


def number(name: str) -> Column[float]:
    """Make a column of numbers that may be empty."""
    return Column(name, Double)


def whole(name: str) -> Column[int]:
    """Make a column of whole numbers."""
    return Column(name, Integer, nullable=False)


def part(name: str) -> Column[str]:
    """Make a text column of the primary key."""
    return Column(name, Text, primary_key=True)


def place(name: str = "position") -> Column[int]:
    """Make a number column of the primary key."""
    return Column(name, Integer, primary_key=True, autoincrement=False)


def owner(name: str) -> Column[str]:
    """Make the first column: whose rows they are. They go when the record's own row goes."""
    return Column(name, Text, ForeignKey("record.id", ondelete="CASCADE"), primary_key=True)


def value() -> tuple[Column[float] | Column[str], ...]:
    """Make the columns of a value."""
    return (*(number(name) for name in ("number", "x", "y", "z")), maybe_text("text"))


def setting() -> tuple[Column[float] | Column[str], ...]:
    """Make the columns of a stated value with its basis."""
    names = ("typed", "basis", "basis_source", "basis_dated", "unknown_reason")
    return (*value(), *(maybe_text(name) for name in names))


def bound(name: str) -> tuple[Column[float] | Column[str], ...]:
    """Make the columns of a bound, as a number and as typed."""
    return (number(name), maybe_text(f"{name}_typed"))
