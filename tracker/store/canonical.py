"""Canonical JSON bytes (RFC 8785) and the digests the hash chain is made of.

The canonical form of a float that is a whole number carries no point: 1e20 becomes
`100000000000000000000`. Reading back, whole numbers outside ±(2⁵³ − 1) therefore become floats,
which canonicalise to the same bytes again.
"""

from __future__ import annotations

import hashlib
import json
import re
from typing import Any, NoReturn

import rfc8785

from tracker.errors import BadTextError, BadValueError

__all__ = ["NO_HASH", "canonical_text", "parse", "parse_at", "sha256"]

NO_HASH = "0" * 64
"""What the first change names as the hash before it."""

_SAFE_DIGITS = 16
_SAFE = 2**53 - 1
_NUL = re.compile(r"(?<!\\)(?:\\\\)*\\u0000")


def canonical_text(plain: object, *, item: str = "") -> str:
    """Write JSON data in its canonical form.

    Parameters
    ----------
    plain : object
        JSON data.
    item : str, optional
        Named in the error.

    Raises
    ------
    BadValueError
        A number is not finite or a whole number beyond ±(2⁵³ − 1), or a text has no UTF-8 form.
    BadTextError
        A text holds the NUL character, which no SQL text column keeps.
    """
    try:
        text = _quick_text(plain)
        if text is None:
            text = rfc8785.dumps(plain).decode()  # type: ignore[arg-type]  # any JSON data
    except ValueError as error:
        raise BadValueError(f"cannot be stored: {error}", item=item) from error
    if "\\u0000" in text and _NUL.search(text):
        raise BadTextError("a text holds the NUL character", item=item, remedy="Take it out")
    return text


def _quick_text(plain: object) -> str | None:
    """Write data whose canonical form is also Python's; None when it may not be.

    Python's encoder is several times faster than the library. It differs in the exponents of very
    small and large numbers and in the order of names beyond ASCII.
    """
    try:
        text = _ENCODER.encode(_as_python_writes_it(plain))
    except (_Different, TypeError):
        return None
    return text if text.isascii() else text.encode().decode()  # no lone surrogates


class _Different(Exception):  # noqa: N818 - never leaves this module
    """Python would not write the canonical form."""


def _as_python_writes_it(plain: object) -> object:
    if plain is None or isinstance(plain, str | bool):
        return plain
    if isinstance(plain, dict):
        if not "".join(plain).isascii():
            raise _Different
        return {name: _as_python_writes_it(each) for name, each in plain.items()}
    if isinstance(plain, list | tuple):
        return [_as_python_writes_it(each) for each in plain]
    if isinstance(plain, int | float) and abs(plain) <= _SAFE:
        whole = isinstance(plain, int) or plain.is_integer()
        if whole or "e" not in repr(plain):
            return int(plain) if whole else plain
    raise _Different


def parse(text: str) -> Any:  # noqa: ANN401 - JSON data is any object
    """Read JSON data.

    Raises
    ------
    ValueError
        The text is no JSON, or nested too deeply.
    """
    plain, end = parse_at(text, 0)
    if end != len(text):
        raise ValueError("more text after the JSON data")
    return plain


def parse_at(text: str, start: int) -> tuple[Any, int]:
    """Read the JSON data that begins at a place in a text, and say where it ends.

    Raises
    ------
    ValueError
        No JSON begins there, or it is nested too deeply.
    """
    try:
        return _DECODER.raw_decode(text, start)
    except RecursionError as error:
        raise ValueError("nested too deeply") from error


def sha256(data: bytes) -> str:
    """Return the SHA-256 of some bytes, hex (FIPS 180-4)."""
    return hashlib.sha256(data).hexdigest()


def _whole(digits: str) -> int | float:
    if len(digits) < _SAFE_DIGITS:
        return int(digits)
    if len(digits.lstrip("-")) <= _SAFE_DIGITS and abs(number := int(digits)) <= _SAFE:
        return number
    return float(digits)


def _refuse(name: str) -> NoReturn:
    raise ValueError(f"{name} is no JSON")


_ENCODER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))
_DECODER = json.JSONDecoder(parse_int=_whole, parse_constant=_refuse)
