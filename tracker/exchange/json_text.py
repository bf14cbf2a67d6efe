"""JSON text, read strictly and written so that no character in it can drive a terminal."""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Mapping
from typing import Any, NoReturn

from tracker.errors import FileFormatError

__all__ = ["read_json", "write_json"]

_HIDDEN = {"Cc", "Cf", "Zl", "Zp", "Cs", "Co", "Cn"}


def read_json(text: str, *, item: str, field: str = "") -> Any:  # noqa: ANN401 - JSON data
    """Read JSON text; unlike the standard library, refuse NaN, infinities and doubled keys.

    Raises
    ------
    FileFormatError
        It is not JSON; line and column are named.
    """
    try:
        return json.loads(text, object_pairs_hook=_object, parse_constant=_constant)
    except json.JSONDecodeError as error:
        raise FileFormatError(
            f"it is not JSON: {error.msg} at line {error.lineno}, column {error.colno}",
            item=item,
            field=field,
            remedy="Correct it there",
        ) from error
    except (ValueError, RecursionError) as error:
        reason = "too deeply nested" if isinstance(error, RecursionError) else str(error)
        raise FileFormatError(
            f"it is not JSON that can be read: {reason[:200]}", item=item, field=field
        ) from error


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in pairs:
        if name in found:
            raise ValueError(f"the name {name[:40]!r} stands twice in one object")
        found[name] = value
    return found


def _constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number")


def write_json(document: Mapping[str, Any], *, ascii_only: bool = False) -> str:
    """Write a JSON document, indented, with a line break at its end.

    Parameters
    ----------
    ascii_only : bool
        Escape everything beyond ASCII; otherwise only what is invisible or turns text around.
    """
    text = json.dumps(document, indent=2, ensure_ascii=ascii_only, allow_nan=False)
    if not text.isascii():
        text = "".join(map(_escaped, text))
    return text + "\n"


def _escaped(char: str) -> str:
    """Spell out a character that hides; beyond ASCII they occur inside JSON strings alone."""
    if char.isascii() or unicodedata.category(char) not in _HIDDEN:
        return char
    return json.dumps(char)[1:-1]
