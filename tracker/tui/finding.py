"""Type-to-find: ranking items by how well their key and words meet what was typed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = ["Haystack", "rank"]

_MISS = 9


class Haystack:
    """Items to find among.

    Parameters
    ----------
    entries : iterable of (key, words)
        What can be found by, for each item.
    """

    def __init__(self, entries: Iterable[tuple[str, str]] = ()) -> None:
        self._entries = [(key.casefold(), f"{key} {words}".casefold()) for key, words in entries]
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


def rank(needle: str, words: Sequence[str], key: str, text: str) -> int:
    """Score one item, all texts folded: 0 its key, 1 how it begins, 2 a part of it, 3 words of it.

    4 means that the letters stand in the key in this order, 9 that nothing meets.
    """
    if key.startswith(needle):
        return 0 if key == needle else 1
    if needle in key:
        return 2
    if all(word in text for word in words):
        return 3
    return 4 if _in_order(needle, key) else _MISS


def _in_order(needle: str, key: str) -> bool:
    rest = iter(key)
    return all(char in rest for char in needle)
