"""Type-to-find: ranking items by how well their key and words meet what was typed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

__all__ = ["Haystack", "rank"]

_MISS = 9
_BETWEEN = re.compile(r"[\W_]+")


class Haystack:
    """Items to find among.

    Parameters
    ----------
    entries : iterable of (key, words)
        What can be found by, for each item.
    """

    def __init__(self, entries: Iterable[tuple[str, str]] = ()) -> None:
        self._entries = [
            (key.casefold(), text, _spaced(text))
            for key, text in ((key, f"{key} {words}".casefold()) for key, words in entries)
        ]
        self._needle = ""
        self._found: Sequence[int] = range(len(self._entries))

    def __len__(self) -> int:
        return len(self._entries)

    def matches(self, typed: str) -> Sequence[int]:
        """Return the places of the items that meet what was typed, best first."""
        needle = typed.casefold().strip()
        if not needle:
            return range(len(self._entries))
        # What a longer text meets, its beginning met as well: type on, and ever less is looked at.
        among = self._found if needle.startswith(self._needle) else range(len(self._entries))
        words = needle.split()
        scored = [
            (score, place)
            for place in among
            if (score := rank(needle, words, *self._entries[place])) < _MISS
        ]
        scored.sort()
        self._needle, self._found = needle, [place for _, place in scored]
        return self._found


def rank(needle: str, words: Sequence[str], key: str, text: str, spaced: str | None = None) -> int:
    """Score one item, all texts folded: the less, the better it meets.

    0 its key, 1 how its key begins, 2 a part of its key, 3 how words of it begin, 4 parts of words,
    5 the letters stand in the key in this order, 9 nothing meets.

    Parameters
    ----------
    needle, words : str, sequence of str
        What was typed, whole and in words.
    key, text : str
        The item: its key, and its key with its words.
    spaced : str, optional
        The text with a space before each word and nothing else between; for many items worked out
        once.
    """
    if needle in key:
        return 2 if not key.startswith(needle) else 0 if key == needle else 1
    if all(word in text for word in words):
        there = _spaced(text) if spaced is None else spaced
        return 3 if all(_spaced(word) in there for word in words) else 4
    return 5 if _in_order(needle, key) else _MISS


def _spaced(text: str) -> str:
    return f" {text if text.isalnum() else _BETWEEN.sub(' ', text).strip()}"


def _in_order(needle: str, key: str) -> bool:
    at = -1
    for char in needle:
        at = key.find(char, at + 1)
        if at < 0:
            return False
    return True
