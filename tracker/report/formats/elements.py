"""HTML elements as text: whatever is not made here is escaped."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from tracker.services.wording import visible

__all__ = ["Html", "element", "raw", "text_of"]


class Html(str):
    """Text that is HTML already; made by this module alone."""

    __slots__ = ()


def text_of(text: str) -> Html:
    """Write plain text: escaped, with every hidden character spelt out."""
    return text if isinstance(text, Html) else Html(escape(visible(text)))


def raw(pieces: Iterable[str]) -> Html:
    """Put pieces together, escaping those that are plain text."""
    return Html("".join(text_of(each) for each in pieces))


_EMPTY = frozenset({"meta", "br", "col"})


def element(name: str, /, *children: str, **attributes: str) -> Html:
    """Make an element.

    Parameters
    ----------
    name : str
        Its tag.
    *children : str
        Its content: plain text, which is escaped, or `Html`.
    **attributes : str
        Its attributes; a trailing underscore is taken off and others become dashes.
    """
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(visible(value))}"'
        for key, value in attributes.items()
        if value
    )
    if name in _EMPTY:
        return Html(f"<{name}{told}>")
    return Html(f"<{name}{told}>{raw(children)}</{name}>")
