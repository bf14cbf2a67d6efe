"""The published JSON Schema of a gate pack, made from its classes."""

from __future__ import annotations

import dataclasses
import re
import types
from typing import Any, get_args, get_origin, get_type_hints

from tracker.services.packs.codec import VALUE
from tracker.services.packs.views import FORMAT, PackContent

__all__ = ["pack_schema"]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_SIMPLE = {str: "string", int: "integer", float: "number", bool: "boolean"}
_CELLS = {"type": ["string", "number", "boolean"]}
_VALUE = {
    "description": "A number, text or flag; a point as three numbers; a table as its rows; null "
    "where it is unknown.",
    "anyOf": [
        {"type": ["number", "string", "boolean", "null"]},
        {"type": "array", "items": {"anyOf": [_CELLS, {"type": "array", "items": _CELLS}]}},
    ],
}


def pack_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a gate pack."""
    parts: dict[str, Any] = {"value": _VALUE}
    whole = _record(PackContent, parts)
    whole["properties"]["format"] = {"const": FORMAT}
    return {
        "$schema": _DIALECT,
        "title": "Gate pack",
        **whole,
        "$defs": dict(sorted(parts.items())),
    }


def _record(cls: Any, parts: dict[str, Any]) -> dict[str, Any]:  # noqa: ANN401 - a dataclass
    hints = get_type_hints(cls)
    names = [each.name for each in dataclasses.fields(cls)]
    return {
        "description": _first_line(cls.__doc__),
        "type": "object",
        "properties": {name: _of(hints[name], parts) for name in names},
        "required": names,
        "additionalProperties": False,
    }


def _first_line(doc: str) -> str:
    return re.sub(r"\s+", " ", doc.split("\n\n", maxsplit=1)[0]).strip()


def _of(hint: Any, parts: dict[str, Any]) -> dict[str, Any]:  # noqa: ANN401 - a type hint
    if dataclasses.is_dataclass(hint):
        return _named(hint, parts)
    if hint == VALUE:
        return {"$ref": "#/$defs/value"}
    if get_origin(hint) is types.UnionType:
        (inner,) = (each for each in get_args(hint) if each is not types.NoneType)
        return {"type": [_SIMPLE[inner], "null"]}
    if get_origin(hint) is tuple:
        return _list(get_args(hint), parts)
    return {"type": _SIMPLE[hint]}


def _named(cls: Any, parts: dict[str, Any]) -> dict[str, Any]:  # noqa: ANN401 - a dataclass
    if cls.__name__ not in parts:
        parts[cls.__name__] = {}  # holds the place: a part may refer to itself
        parts[cls.__name__] = _record(cls, parts)
    return {"$ref": f"#/$defs/{cls.__name__}"}


def _list(args: tuple[Any, ...], parts: dict[str, Any]) -> dict[str, Any]:
    if args[-1] is Ellipsis:
        return {"type": "array", "items": _of(args[0], parts)}
    return {
        "type": "array",
        "prefixItems": [_of(each, parts) for each in args],
        "minItems": len(args),
        "maxItems": len(args),
    }
