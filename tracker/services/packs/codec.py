"""A gate pack to and from its bytes: canonical JSON (RFC 8785), hashed with SHA-256.

The same content gives the same bytes everywhere. Names are all ASCII, so Python's order of names is
the canonical one; only numbers that Python writes with an exponent go through the library, a list
item at a time.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import types
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

import rfc8785

from tracker.errors import StoreDamagedError
from tracker.model.values import Value, freeze
from tracker.services.packs.views import FORMAT, PackContent

__all__ = ["VALUE", "digest_of", "pack_bytes", "pack_plain", "read_pack"]

VALUE = Value | None
"""A value of any kind: what a field may hold that is annotated so."""

_SAFE = 2**53 - 1
_ENCODER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))
_Reader = Callable[[Any], Any]


def digest_of(data: bytes) -> str:
    """Return the SHA-256 of some bytes, hex (FIPS 180-4)."""
    return hashlib.sha256(data).hexdigest()


def pack_plain(content: PackContent) -> dict[str, Any]:
    """Return the JSON data of a pack."""
    plain: dict[str, Any] = _plain(content)
    return plain


def _plain(value: Any) -> Any:  # noqa: ANN401 - any part of a pack
    names = getattr(value, "__dataclass_fields__", None)
    if names is not None:
        return {name: _plain(getattr(value, name)) for name in names}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if isinstance(value, float) and value.is_integer() and abs(value) <= _SAFE:
        return int(value)
    return value


def pack_bytes(content: PackContent) -> bytes:
    """Write a pack as canonical JSON in UTF-8."""
    plain = pack_plain(content)
    pieces = (f'"{name}":{_text(plain[name])}' for name in sorted(plain))
    return ("{" + ",".join(pieces) + "}").encode()


def _text(plain: Any) -> str:  # noqa: ANN401 - JSON data
    if isinstance(plain, list):
        return "[" + ",".join(map(_text, plain)) + "]"
    if any(_is_unlike(each) for each in _numbers(plain)):
        return rfc8785.dumps(plain).decode()
    return _ENCODER.encode(plain)


def _is_unlike(number: float) -> bool:
    """Tell whether Python may write a number otherwise than RFC 8785."""
    return "e" in repr(number) or abs(number) > _SAFE


def _numbers(plain: Any) -> Iterator[float]:  # noqa: ANN401 - JSON data
    if isinstance(plain, dict):
        plain = list(plain.values())
    if isinstance(plain, list):
        for each in plain:
            yield from _numbers(each)
    elif isinstance(plain, float):
        yield plain


def read_pack(data: bytes) -> PackContent:
    """Read a pack back from its bytes.

    Raises
    ------
    StoreDamagedError
        It is no pack of this form.
    """
    try:
        content: PackContent = _reader_of(PackContent)(_of_this_form(json.loads(data)))
    except (ValueError, TypeError, KeyError) as error:
        raise StoreDamagedError(
            f"what was frozen cannot be read ({error})",
            item="baseline content",
            remedy="A later version of whybone may have frozen it: use that one",
        ) from error
    return content


def _of_this_form(plain: dict[str, Any]) -> dict[str, Any]:
    if plain["format"] != FORMAT:
        raise ValueError(f"it has form {plain['format']}, not {FORMAT}")
    return plain


@cache
def _reader_of(hint: Any) -> _Reader:  # noqa: ANN401 - a type hint
    if dataclasses.is_dataclass(hint):
        return _record_reader(hint)
    if hint == VALUE:
        return freeze
    if get_origin(hint) is tuple:
        return _tuple_reader(get_args(hint))
    if get_origin(hint) is types.UnionType:
        (inner,) = (each for each in get_args(hint) if each is not types.NoneType)
        read = _reader_of(inner)
        return lambda plain: None if plain is None else read(plain)
    return float if hint is float else _checked(hint)


def _checked(cls: type) -> _Reader:
    def check(plain: Any) -> Any:  # noqa: ANN401 - JSON data
        if type(plain) is not cls:
            raise TypeError(f"{str(plain)[:40]!r} is not {cls.__name__}")
        return plain

    return check


def _tuple_reader(args: tuple[Any, ...]) -> _Reader:
    if len(args) == 2 and args[1] is Ellipsis:  # noqa: PLR2004 - tuple[X, ...]
        read = _reader_of(args[0])
        return lambda plain: tuple([read(each) for each in plain])
    readers = [_reader_of(each) for each in args]
    return lambda plain: tuple(read(each) for read, each in zip(readers, plain, strict=True))


def _record_reader(cls: Any) -> _Reader:  # noqa: ANN401 - a dataclass
    hints = get_type_hints(cls)
    readers = {each.name: _reader_of(hints[each.name]) for each in dataclasses.fields(cls)}

    def read(plain: Any) -> Any:  # noqa: ANN401 - JSON data
        return cls(**{name: readers[name](each) for name, each in plain.items()})

    return read
