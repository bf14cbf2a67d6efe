"""Records to and from plain JSON data.

Fields that hold their default are left out, so a record shape can grow without touching old
entries. Coders are built once per type from its annotations.
"""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Callable, Mapping
from enum import StrEnum
from fractions import Fraction
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

from tracker.errors import FileFormatError
from tracker.model.records import RECORD_TYPES, Basis, Record
from tracker.model.units import Unit
from tracker.model.values import freeze

__all__ = ["SHAPES", "from_plain", "to_plain"]

SHAPES: Mapping[str, int] = dict.fromkeys(RECORD_TYPES, 1)
"""Current record-shape version of each record kind."""

_Coder = Callable[[Any], Any]
_PLAIN = (str, int, float, bool, types.NoneType, list)
_SHARED = (Unit, Basis)
"""Small types of which a programme states few different ones over and over."""
_SHARED_LIMIT = 1024


def to_plain(record: Record) -> dict[str, Any]:
    """Return the JSON data of a record."""
    cls: Any = type(record)
    plain: dict[str, Any] = _encoder_of(cls)(record)
    return plain


def from_plain(kind: str, plain: Mapping[str, Any]) -> Record:
    """Rebuild a record of the current shape from its JSON data.

    Raises
    ------
    FileFormatError
        Unknown kind, or a field is missing, unknown or of the wrong type.
    """
    cls: Any = RECORD_TYPES.get(kind)
    if cls is None:
        raise FileFormatError(f"{kind!r} is no record kind")
    try:
        record: Record = _decoder_of(cls)(plain)
    except (TypeError, ValueError, KeyError, AttributeError, ArithmeticError) as error:
        raise FileFormatError(f"not a {kind} record: {error}") from error
    return record


@cache
def _encoder_of(hint: Any) -> _Coder:
    origin = get_origin(hint)
    if dataclasses.is_dataclass(hint):
        return _dataclass_encoder(hint)
    if origin is types.UnionType:
        return _union_coder(hint, _encoder_of)
    if origin is tuple:
        return _tuple_encoder(get_args(hint))
    if origin is not None and issubclass(origin, Mapping):
        inner = _encoder_of(get_args(hint)[1])
        return lambda value: {key: inner(one) for key, one in value.items()}
    if hint is Fraction:
        return str
    return _thaw


@cache
def _decoder_of(hint: Any) -> _Coder:
    origin = get_origin(hint)
    if dataclasses.is_dataclass(hint):
        decoder = _dataclass_decoder(hint)
        return _sharing(decoder) if hint in _SHARED else decoder
    if origin is types.UnionType:
        return _union_coder(hint, _decoder_of)
    if origin is tuple:
        return _tuple_decoder(get_args(hint))
    if origin is not None and issubclass(origin, Mapping):
        inner = _decoder_of(get_args(hint)[1])
        return lambda value: {key: inner(one) for key, one in value.items()}
    return Fraction if hint is Fraction else _scalar_decoder(hint)


def _sharing(decode: _Coder) -> _Coder:
    """Decode to one object wherever the JSON data is the same, type for type."""
    known: dict[str, Any] = {}

    def shared(plain: Any) -> Any:
        text = repr(plain)  # tells 1 from 1.0 and True, which compare equal
        found = known.get(text)
        if found is None:
            if len(known) >= _SHARED_LIMIT:
                known.clear()
            found = known[text] = decode(plain)
        return found

    return shared


def _union_coder(hint: Any, coder_of: Callable[[Any], _Coder]) -> _Coder:
    """Code `X | None` by X's coder; a union of plain values passes through, lists frozen."""
    args = [arg for arg in get_args(hint) if arg is not types.NoneType]
    if len(args) == 1:
        inner = coder_of(args[0])
        return lambda value: None if value is None else inner(value)
    return _thaw if coder_of is _encoder_of else _plain_value


def _tuple_encoder(args: tuple[Any, ...]) -> _Coder:
    if len(args) == 2 and args[1] is Ellipsis:  # noqa: PLR2004 - tuple[X, ...]
        each = _encoder_of(args[0])
        return lambda value: [each(one) for one in value]
    inner = [_encoder_of(arg) for arg in args]
    return lambda value: [code(one) for code, one in zip(inner, value, strict=True)]


def _tuple_decoder(args: tuple[Any, ...]) -> _Coder:
    if len(args) == 2 and args[1] is Ellipsis:  # noqa: PLR2004 - tuple[X, ...]
        each = _decoder_of(args[0])
        return lambda value: tuple([each(one) for one in _listed(value)])
    inner = [_decoder_of(arg) for arg in args]
    return lambda value: tuple(code(one) for code, one in zip(inner, _listed(value), strict=True))


def _listed(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise TypeError(f"a {type(value).__name__} is no list")
    return value


def _scalar_decoder(hint: Any) -> _Coder:
    if hint is float:
        return _number
    if issubclass(hint, StrEnum):
        return _enum_decoder(hint)

    def check(value: Any) -> Any:
        if not isinstance(value, hint):
            raise TypeError(f"{value!r} is not {hint.__name__}")
        return value

    return check


def _enum_decoder(hint: type[StrEnum]) -> _Coder:
    members = {each.value: each for each in hint}  # several times quicker than calling the class

    def member(value: Any) -> StrEnum:
        found = members.get(value)
        return hint(value) if found is None else found

    return member


def _plain_value(value: Any) -> Any:
    """Freeze a value of a union of plain ones; the record's own kind says which it may be."""
    if isinstance(value, float | str):
        return value
    if not isinstance(value, _PLAIN):
        raise TypeError(f"a {type(value).__name__} is no value")
    return freeze(value)


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"{value!r} is not a number")
    return float(value)


def _thaw(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_thaw(each) for each in value]
    return value


def _dataclass_encoder(cls: Any) -> _Coder:
    hints = get_type_hints(cls)
    fields = [
        (each.name, _encoder_of(hints[each.name]), _default_of(each))
        for each in dataclasses.fields(cls)
    ]

    def encode(record: Any) -> dict[str, Any]:
        plain = {}
        for name, code, default in fields:
            value = getattr(record, name)
            if value != default:
                plain[name] = code(value)
        return plain

    return encode


def _dataclass_decoder(cls: Any) -> _Coder:
    hints = get_type_hints(cls)
    coders = {each.name: _decoder_of(hints[each.name]) for each in dataclasses.fields(cls)}
    texts = {name for name in coders if hints[name] is str}

    def decode(plain: Mapping[str, Any]) -> Any:
        fields = {**plain}
        for name, value in plain.items():
            if type(value) is not str or name not in texts:  # most fields are texts
                fields[name] = coders[name](value)
        return cls(**fields)

    return decode


_MISSING = object()


def _default_of(each: dataclasses.Field[Any]) -> object:
    if each.default is not dataclasses.MISSING:
        return each.default
    if each.default_factory is not dataclasses.MISSING:
        return each.default_factory()
    return _MISSING
