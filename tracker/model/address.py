"""Keys and addresses: how the user names an item or a part of one.

Grammar::

    address  = key | key.x | key.y | key.z | key[row].column
             | requirement.lower | .upper | .target | .guard
             | decision/option.key
    key      = letter or digit, then letters, digits, "_" or "-"; at most 64 characters

A row is named by the text in its first column or by its number, counted from 1.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from tracker.errors import BadKeyError

__all__ = ["Address", "cell_of", "check_key", "parse_address", "part_of_cell"]

_KEY = re.compile(r"[^\W_][\w-]{0,63}")
_CELL = re.compile(r"\[([^\[\]]+)\]\.([^\[\].]+)")


@dataclass(frozen=True, slots=True)
class Address:
    """A parsed address.

    Parameters
    ----------
    key : str
        Key of the item (for an option's value: of the quantity it sets).
    part : str
        Empty, `x`, `lower` … or `[row].column`.
    decision, option : str
        Set for the value that an option of a decision states.
    """

    key: str
    part: str = ""
    decision: str = ""
    option: str = ""

    def __str__(self) -> str:
        tail = self.part if not self.part or self.part.startswith("[") else f".{self.part}"
        head = f"{self.decision}/{self.option}." if self.decision else ""
        return f"{head}{self.key}{tail}"


def check_key(text: str, *, item: str = "", field: str = "key") -> str:
    """Return the key if it follows the grammar.

    Raises
    ------
    BadKeyError
        It does not.
    """
    if _KEY.fullmatch(text) and unicodedata.is_normalized("NFC", text):
        return text
    raise BadKeyError(
        f"{text[:80]!r} is not a key",
        item=item,
        field=field,
        remedy="Use letters, digits, _ and -, starting with a letter or digit, at most 64",
    )


def parse_address(text: str) -> Address:
    """Read an address.

    Raises
    ------
    BadKeyError
        The text does not follow the grammar.
    """
    head, bracket, rest = text.partition("[")
    if "/" in head:  # behind the bracket it belongs to the name of a row
        return _option_value(text)
    if bracket:
        part = bracket + rest
        cell_of(part)
        return Address(check_key(head, field=""), part)
    key, dot, part = text.partition(".")
    if dot and not part.isidentifier():
        raise BadKeyError(
            f"{text[:80]!r} has no valid part after the dot", remedy="Write key.x or key.upper"
        )
    return Address(check_key(key, field=""), part)


def _option_value(text: str) -> Address:
    decision, _, rest = text.partition("/")
    option, dot, key = rest.partition(".")
    if not dot:
        raise BadKeyError(
            f"{text[:80]!r} is not the address of an option's value",
            remedy="Write DECISION/option.quantity",
        )
    for each in (decision, option, key):
        check_key(each, field="")
    return Address(key, "", decision, option)


def cell_of(part: str) -> tuple[str, str] | None:
    """Split `[row].column` into row and column; None when the part is no cell.

    Raises
    ------
    BadKeyError
        The part begins like a cell but is not one.
    """
    if not part.startswith("["):
        return None
    match = _CELL.fullmatch(part)
    if match is None:
        raise BadKeyError(f"{part[:80]!r} is not a cell", remedy="Write key[row].column")
    return match[1], match[2]


def part_of_cell(row: str, column: str) -> str:
    """Write the part that names a table cell."""
    return f"[{row}].{column}"
