"""Packs for the tests: one made by hand that reads like a programme, one hostile in every text."""

from __future__ import annotations

import dataclasses
import itertools
import types
from collections.abc import Iterator, Mapping
from typing import Any, cast, get_args, get_origin, get_type_hints

from tracker.model.values import Value
from tracker.services.packs.views import FORMAT, PackContent

__all__ = ["filled"]

_WORDS: Mapping[str, tuple[str, ...]] = {
    "verdict": ("met", "tight", "missed", "unknown"),
    "standing": ("stands", "strained", "broken", "unproven"),
    "kind": ("curve", "bars", "sketch", "listing"),
    "consequence": ("broken", "changed", "new"),
    "result": ("met", "not met", "set aside"),
}
"""Fields that take one of a few words, whatever the texts are."""


def filled(texts: tuple[str, ...], *, count: int = 2) -> PackContent:
    """Make a pack whose every text field holds one of the texts, each list `count` items long.

    Parameters
    ----------
    texts : tuple of str
        Used in turn.
    count : int
        Length of the lists.
    """
    return cast("PackContent", _Filler(texts, count).record(PackContent))


class _Filler:
    def __init__(self, texts: tuple[str, ...], count: int) -> None:
        self._texts = itertools.cycle(texts)
        self._numbers = itertools.count(1)
        self._count = count
        rows = ((1.5, texts[0], True), (-2.0, texts[-1], False))
        self._values = itertools.cycle((0.375, None, texts[0], True, (1.0, 2.5, -3.0), rows, 7))

    def record(self, cls: Any) -> Any:  # noqa: ANN401 - any dataclass of a pack
        hints = get_type_hints(cls)
        return cls(
            **{
                each.name: self._field(cls.__name__, each.name, hints[each.name])
                for each in dataclasses.fields(cls)
            }
        )

    def _field(self, owner: str, name: str, hint: Any) -> Any:  # noqa: ANN401 - a type hint
        number = next(self._numbers)
        if name == "format":
            return FORMAT
        if name in ("frozen_at", "at"):
            return "2031-04-05T06:07:08Z"
        if name == "key":
            return f"{owner.removeprefix('Pack')}-{number}"
        if name in _WORDS and (name != "kind" or owner == "PackFigure"):
            return _WORDS[name][number % len(_WORDS[name])]
        return self._value(hint)

    def _value(self, hint: Any) -> Any:  # noqa: ANN401 - a type hint
        if dataclasses.is_dataclass(hint):
            return self.record(hint)
        if hint == Value | None:
            return next(self._values)
        origin, args = get_origin(hint), get_args(hint)
        if origin is types.UnionType:
            return self._value(args[0])
        if origin is tuple:
            if args[-1] is Ellipsis:
                return tuple(self._value(args[0]) for _ in range(self._count))
            return tuple(self._value(each) for each in args)
        return self._plain(hint)

    def _plain(self, hint: Any) -> Any:  # noqa: ANN401 - a type
        if hint is str:
            return next(self._texts)
        number = next(self._numbers)
        return {bool: bool(number % 2), int: number, float: number / 8}[hint]


def texts_of(plain: Any) -> Iterator[str]:  # noqa: ANN401 - JSON data
    """Yield every text of JSON data."""
    if isinstance(plain, str):
        yield plain
    elif isinstance(plain, dict):
        for each in plain.values():
            yield from texts_of(each)
    elif isinstance(plain, list):
        for each in plain:
            yield from texts_of(each)
