"""What stands behind an equals sign on the command line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from tracker.errors import BadValueError, UnknownRevisionError
from tracker.exchange.json_text import read_json

__all__ = ["edits_of", "fields_of", "head_of", "pairs_of", "revision_of"]

_PAIR = re.compile(r"([^=\[\]]*(?:\[[^\]]*\][^=]*)?)=(.*)", re.DOTALL)
_STRUCTURED = re.compile(r'\{|\[\s*[\[{"\]]')
_ROWS = re.compile(r"\[\s*[\[{\]]")
_HEAD = re.compile(r"[0-9a-f]{64}")


def pairs_of(words: Sequence[str], form: str) -> dict[str, str]:
    """Split words at their first equals sign; one inside square brackets does not count.

    Parameters
    ----------
    words : sequence of str
        As typed.
    form : str
        How each should look, for the error.

    Raises
    ------
    BadValueError
        A word has no name or no equals sign, or a name stands twice.
    """
    found: dict[str, str] = {}
    for word in words:
        match = _PAIR.fullmatch(word)
        if match is None or not match[1].strip():
            raise BadValueError(f"{word[:80]!r} is not {form}", remedy=f"Write {form}")
        name = match[1].strip()
        if name in found:
            raise BadValueError("it stands twice", item=name[:80], remedy="Say it once")
        found[name] = match[2]
    return found


def edits_of(words: Sequence[str]) -> dict[str, object]:
    """Read `KEY=VALUE` words; a list of rows is read as JSON, everything else stays text."""
    return {
        name: read_json(text, item=name, field="value") if _ROWS.match(text) else text
        for name, text in pairs_of(words, "KEY=VALUE").items()
    }


def fields_of(words: Sequence[str]) -> dict[str, Any]:
    """Read `field=value` words.

    A value is JSON when it begins with `{`, or with `[` followed by a bracket, a brace or a quote;
    everything else stays text, a point such as `[1, 2, 3] mm` included.
    """
    return {
        name: read_json(text, item=name, field="value") if _STRUCTURED.match(text) else text
        for name, text in pairs_of(words, "field=value").items()
    }


def head_of(text: str) -> str:
    """Read a head hash in full.

    Raises
    ------
    BadValueError
        It is none: empty, or a short form, which would prove little or cry wolf.
    """
    head = text.strip().lower()
    if _HEAD.fullmatch(head):
        return head
    raise BadValueError(
        f"{text[:80]!r} is not a head hash of 64 hexadecimal digits",
        field="--expect",
        remedy="Write it in full, as `whybone audit` and `whybone status --json` print it",
    )


def revision_of(text: str) -> int:
    """Read the number of a revision.

    Raises
    ------
    UnknownRevisionError
        It is not one.
    """
    if text.isascii() and text.isdigit() and len(text) < 10:  # noqa: PLR2004 - no journal is that long
        return int(text)
    raise UnknownRevisionError(
        f"{text[:40]!r} is not a revision", remedy="`whybone log` shows the revisions"
    )
