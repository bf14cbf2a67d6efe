"""What is typed into the form of a new decision, as an item document."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["NEW_DECISION", "decision_document", "option_count", "option_keys", "quantities_set"]

NEW_DECISION = "new decision"
"""Name of the draft."""

_FEWEST, _MOST = 2, 99


def option_count(typed: Mapping[str, str]) -> int:
    """Return how many options the form shows; a draft may come from a file that holds anything."""
    text = typed.get("options", "")
    counted = int(text) if text.isascii() and text.isdigit() and len(text) <= len(str(_MOST)) else 0
    return max(counted, _FEWEST)


def option_keys(typed: Mapping[str, str]) -> list[str]:
    """Return the key of each option as typed."""
    return [typed.get(f"{at} key", "").strip() for at in range(1, option_count(typed) + 1)]


def quantities_set(typed: Mapping[str, str]) -> tuple[str, ...]:
    """Return the quantities the decision sets."""
    return tuple(dict.fromkeys(_keys(typed, "sets")))


def _keys(typed: Mapping[str, str], name: str) -> list[str]:
    return [each.strip() for each in typed.get(name, "").split(",") if each.strip()]


def decision_document(typed: Mapping[str, str]) -> dict[str, Any]:
    """Return the document of the decision typed; options nothing is typed for are left out."""
    document: dict[str, Any] = {
        "kind": "decision",
        "key": typed.get("key", "").strip(),
        "question": typed.get("question", "").strip(),
        "options": [
            _option(typed, at) for at in range(1, option_count(typed) + 1) if _begun(typed, at)
        ],
        "serves": _keys(typed, "serves"),
        "sets": list(quantities_set(typed)),
    }
    for name in ("owner", "gate"):
        if typed.get(name, "").strip():
            document[name] = typed[name].strip()
    return document


def _begun(typed: Mapping[str, str], at: int) -> bool:
    return any(text.strip() for name, text in typed.items() if name.startswith(f"{at} "))


def _option(typed: Mapping[str, str], at: int) -> dict[str, Any]:
    settings = {
        each: text
        for each in quantities_set(typed)
        if (text := typed.get(f"{at} value {each}", "").strip())
    }
    option: dict[str, Any] = {
        "key": typed.get(f"{at} key", "").strip(),
        "title": typed.get(f"{at} title", "").strip() or typed.get(f"{at} key", "").strip(),
        "settings": settings,
    }
    notes = typed.get(f"{at} notes", "").strip()
    return {**option, "notes": notes} if notes else option
