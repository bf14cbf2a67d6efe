"""Limits on what text a record may hold.

Text is kept as typed. Refused are control characters (they can drive a terminal) and over-long
fields; everything else, markup look-alikes included, is the business of whoever shows it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from datetime import date
from typing import Any

from tracker.errors import BadTextError, BadValueError

__all__ = [
    "LINE_LIMIT",
    "TEXT_LIMIT",
    "check_currency",
    "check_date",
    "check_said",
    "check_text",
    "check_texts",
]

LINE_LIMIT = 500
"""Longest one-line field, in characters."""
TEXT_LIMIT = 20_000
"""Longest field of several lines, in characters."""

_LONG_FIELDS = frozenset(
    {
        *("notes", "rationale", "against", "statement", "question", "reason", "dissent"),
        *("assumptions", "risk", "extent", "consequences", "response", "note", "closed"),
    }
)
_MONEY_CODE = re.compile("[A-Z]{3}")


def check_currency(text: str, *, item: str) -> str:
    """Return the text if it can be an ISO 4217 code.

    Raises
    ------
    BadValueError
        It cannot.
    """
    if _MONEY_CODE.fullmatch(text):
        return text
    raise BadValueError(
        f"{text[:40]!r} is not an ISO 4217 code",
        item=item,
        field="currency",
        remedy="Write three capital letters, such as EUR",
    )


def check_date(text: str, *, item: str, field: str) -> str:
    """Return the text if it is a full-date of RFC 3339.

    Raises
    ------
    BadValueError
        It is not; other forms of ISO 8601 are refused too, since they sort wrongly.
    """
    try:
        if date.fromisoformat(text).isoformat() == text:
            return text
    except ValueError:
        pass
    raise BadValueError(
        f"{text[:40]!r} is not a date", item=item, field=field, remedy="Write YYYY-MM-DD"
    )


def check_said(text: str, *, item: str, field: str) -> str:
    """Return the text if it says anything.

    Raises
    ------
    BadValueError
        It is empty.
    """
    if text.strip():
        return text
    raise BadValueError("it is missing", item=item, field=field, remedy="Fill it in")


def check_text(text: str, *, item: str, field: str, long: bool = False) -> str:
    """Return the text if a record may hold it.

    Raises
    ------
    BadTextError
        Too long, or it has control characters or lone surrogates.
    """
    limit = TEXT_LIMIT if long else LINE_LIMIT
    if len(text) > limit:
        raise BadTextError(
            f"the text has {len(text)} characters",
            item=item,
            field=field,
            remedy=f"Keep it to {limit}; put more into a file and refer to it",
        )
    for place, char in enumerate(text):
        if unicodedata.category(char) in {"Cc", "Cs"} and not (long and char in "\n\t"):
            raise BadTextError(
                f"character {place + 1} is a control character (U+{ord(char):04X})",
                item=item,
                field=field,
                remedy="Remove it" if long else "Remove it; this field is one line",
            )
    return text


def check_texts(plain: Any, *, item: str) -> None:  # noqa: ANN401 - JSON data
    """Check every text of a record given as plain data.

    Raises
    ------
    BadTextError
        As `check_text`, naming the path of the field.
    """
    for path, text in _texts(plain, ()):
        long = any(part in _LONG_FIELDS for part in path)
        check_text(text, item=item, field=".".join(path), long=long)


def _texts(plain: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:  # noqa: ANN401 - JSON data
    if isinstance(plain, str):
        yield path, plain
    elif isinstance(plain, dict):
        for key, value in plain.items():
            yield (*path, "name"), key
            yield from _texts(value, (*path, key))
    elif isinstance(plain, list | tuple):
        for number, value in enumerate(plain, 1):
            yield from _texts(value, (*path, str(number)))
