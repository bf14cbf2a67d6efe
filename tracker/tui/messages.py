"""Messages that more than one screen, or the app itself, takes in."""

from __future__ import annotations

from textual.message import Message

from tracker.services.change_views import Committed
from tracker.tui.jobs import Undone

__all__ = ["Moved", "Refreshed", "Stored", "Undid"]


class Moved(Message):
    """What the values of the trial are now has been read."""

    def __init__(self, now: dict[str, str]) -> None:
        super().__init__()
        self.now = now


class Stored(Message):
    """A change is stored."""

    def __init__(self, receipt: Committed) -> None:
        super().__init__()
        self.receipt = receipt


class Undid(Message):
    """A change was undone."""

    def __init__(self, undone: Undone) -> None:
        super().__init__()
        self.undone = undone


class Refreshed(Message):
    """What others stored has been taken in."""

    def __init__(self, moved: bool) -> None:
        super().__init__()
        self.moved = moved
