"""What may stand in a cell of a table: texts a record may hold, and numbers people write."""

from __future__ import annotations

import re

from tracker.errors import FileFormatError
from tracker.model.numbers import shown
from tracker.model.texts import check_text

__all__ = ["FAILED", "number_cell", "text_cell"]

FAILED = re.compile(r"#(?:[^\W\d_][\w/]*[!?]|N/?A|NV)\s*(?=[,;\t\r\n]|$)", re.IGNORECASE)
"""What a spreadsheet writes where a formula failed, in whatever language: `#N/A`, `#DIV/0!`."""

_POINT = re.compile(r"[+\-−]?\d*\.\d")
_COMMA = re.compile(r"^([+\-−]?\d*),(?=\d)")
_GROUPED = re.compile(r"[+\-−]?[1-9]\d{0,2}([ .,'’_])\d{3}(?!\d)(?:\1\d{3}(?!\d))*.?")


def text_cell(text: str, *, long: bool, item: str, field: str) -> str:
    """Return a cell's text without the blanks around it.

    Parameters
    ----------
    text : str
        The cell.
    long : bool
        Whether it may have several lines.
    item, field : str
        Named in the error.

    Raises
    ------
    BadTextError
        It is too long, or it has control characters.
    FileFormatError
        It is what a spreadsheet writes where a formula failed.
    """
    text = text.strip()
    check_text(text, long=long, item=item, field=field)
    if FAILED.fullmatch(text):
        raise FileFormatError(
            f"{shown(text)} stands where a formula failed",
            item=item,
            field=field,
            remedy="Mend the formula and export again, or leave the cell empty",
        )
    return text


def number_cell(text: str, *, decimal_comma: bool, item: str, field: str) -> str:
    """Return a cell that may hold a number, with a decimal point and plain blanks.

    What is no number is left alone: whoever reads the value says what is wrong with it.

    Parameters
    ----------
    text : str
        The cell, read as text.
    decimal_comma : bool
        Whether numbers in this file have a decimal comma.
    item, field : str
        Named in the error.

    Raises
    ------
    FileFormatError
        It has signs between thousands, or the other decimal sign.
    """
    text = " ".join(text.split())
    if _is_grouped(text, "," if decimal_comma else "."):
        raise FileFormatError(
            f"{shown(text)} has a sign between thousands",
            item=item,
            field=field,
            remedy="Write the digits without it"
            if decimal_comma
            else "Write the digits without it, or say --decimal-comma if it is the decimal sign",
        )
    if decimal_comma and _POINT.match(text):
        raise FileFormatError(
            f"{shown(text)} has a decimal point, but the file is said to use commas",
            item=item,
            field=field,
            remedy="Write it with a comma, or import without --decimal-comma",
        )
    if not decimal_comma and _COMMA.match(text):
        raise FileFormatError(
            f"{shown(text)} has a decimal comma",
            item=item,
            field=field,
            remedy="Write a decimal point, or say --decimal-comma if the whole file has commas",
        )
    return _COMMA.sub(r"\1.", text)


def _is_grouped(text: str, decimal: str) -> bool:
    """Tell a number with groups of three digits from one with three decimals."""
    match = _GROUPED.match(text)
    if match is None:
        return False
    return match[1] != decimal or match.group().count(decimal) > 1
