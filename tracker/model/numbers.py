"""Splits typed values into numbers and unit text: `12.5 mm`, `-3`, `1e3 N`, `[1, 2, 3] mm`.

Only the decimal point counts as a decimal sign; nothing groups digits.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import NoReturn

from tracker.errors import BadValueError

__all__ = ["MAX_LENGTH", "TypedNumber", "read_number", "read_typed", "shown"]

MAX_LENGTH = 400
"""Longest value text read, in characters."""

_SHOWN = 40
_NUMBER = re.compile(r"[+\-−]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+\-−]?[0-9]+)?")
_MORE = re.compile(r"[0-9.,_'+\-−]")
_RECIPROCAL = re.compile(r"1\s*/")  # 5 1/s
_COMMA = re.compile(r"[+\-−]?[0-9]+,[0-9]")


@dataclass(frozen=True, slots=True)
class TypedNumber:
    """A typed number or point.

    Parameters
    ----------
    value : float or tuple of three floats
        What was typed, in its own unit.
    number_text, unit_text : str
        The two parts as typed.
    """

    value: float | tuple[float, float, float]
    number_text: str
    unit_text: str


def shown(text: str) -> str:
    """Quote a text for a message: shortened, with everything unprintable escaped."""
    return repr(text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…")


def read_number(text: str, *, item: str = "", field: str = "") -> tuple[str, str]:
    """Split a text into its number and its unit.

    Parameters
    ----------
    text : str
        As typed: one number, or three in square brackets, then an optional unit.
    item, field : str, optional
        Named in the error.

    Returns
    -------
    tuple of str
        Number text and unit text; the unit text is empty for a pure number.

    Raises
    ------
    BadValueError
        There is no number, or it uses a comma, groups digits or is not finite.
    """
    typed = read_typed(text, item=item, field=field)
    return typed.number_text, typed.unit_text


def read_typed(text: str, *, item: str = "", field: str = "") -> TypedNumber:
    """Read a typed number or point with its unit text.

    Parameters
    ----------
    text : str
        As typed.
    item, field : str, optional
        Named in the error.

    Returns
    -------
    TypedNumber
        The value and both parts of the text.

    Raises
    ------
    BadValueError
        As for `read_number`.
    """
    typed = text.strip()
    if len(typed) > MAX_LENGTH:
        _refuse(typed, "is too long for a value", "Give one number and its unit", item, field)
    if typed.startswith("["):
        return _point(typed, item, field)
    number, unit = _split(typed, item, field)
    return TypedNumber(_float(number, item, field), number, unit)


def _point(typed: str, item: str, field: str) -> TypedNumber:
    inside, closed, unit = typed[1:].partition("]")
    parts = [part.strip() for part in inside.split(",")]
    if not closed or len(parts) != 3 or "[" in inside:  # noqa: PLR2004  a point has three numbers
        _refuse(typed, "is not a point", "Write it as [x, y, z] and the unit behind", item, field)
    for part in parts:
        if not _NUMBER.fullmatch(part):
            _refuse(part, "is not a number", "Write it like 12.5", item, field)
    x, y, z = (_float(part, item, field) for part in parts)
    return TypedNumber((x, y, z), typed[: len(inside) + 2], unit.strip())


def _split(typed: str, item: str, field: str) -> tuple[str, str]:
    if _COMMA.match(typed):
        remedy = "Write a decimal point, as in 12.5, and no sign between thousands"
        _refuse(typed, "has a comma in its number", remedy, item, field)
    match = _NUMBER.match(typed)
    if match is None:
        _refuse(typed, "does not begin with a number", "Write it like 12.5 mm", item, field)
    rest = typed[match.end() :]
    unit = rest.strip()
    if _MORE.match(unit) and not (rest != unit and _RECIPROCAL.match(unit)):
        _refuse(typed, "is not one number", "Write it like 12.5 mm", item, field)
    return match.group(), unit


def _float(number: str, item: str, field: str) -> float:
    value = float(number.replace("−", "-"))
    if not math.isfinite(value):
        _refuse(number, "is too large a number", "Use a larger unit", item, field)
    return value


def _refuse(typed: str, reason: str, remedy: str, item: str, field: str) -> NoReturn:
    raise BadValueError(f"{shown(typed)} {reason}", item=item, field=field, remedy=remedy)
