"""What the app says of its own accord, in words."""

from __future__ import annotations

from tracker.services.change_views import Committed
from tracker.tui.desk import Refused
from tracker.tui.jobs import Undone
from tracker.tui.layout.ripple import ripple_words
from tracker.tui.plain import plain

__all__ = ["Reach", "stored_words", "undone_words"]


class Reach:
    """Says once that the store is out of reach, and once that it is back."""

    def __init__(self) -> None:
        self._lost = False

    def words(self, message: object) -> tuple[str, str]:
        """Return what to say of an answer to a look around, with its tone; nothing by habit."""
        was, self._lost = self._lost, isinstance(message, Refused)
        if isinstance(message, Refused):
            return ("", "") if was else (plain(message.error), "bad")
        return ("The store is back in reach", "") if was else ("", "")


def stored_words(receipt: Committed) -> str:
    """Say what was stored and what it did."""
    ripple = ripple_words(receipt.ripple) if receipt.ripple else ""
    stored = f"Stored as {receipt.revision}: {'; '.join(receipt.what)}"
    return ". ".join(each for each in (stored, ripple) if each)


def undone_words(undone: Undone) -> str:
    """Say what was undone and how to take that back."""
    what = "; ".join(undone.committed.what)
    return f"Undid change {undone.revision} ({undone.reason}): {what}. U takes that back"
