"""Messages that more than one screen, or the app itself, takes in."""

from __future__ import annotations

from textual.message import Message

from tracker.services.change_views import Committed
from tracker.tui.jobs import Undone

__all__ = ["Identified", "Moved", "NotKept", "Refreshed", "Seen", "Stored", "Undid", "Visited"]


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


class Identified(Message):
    """Which programme it is has been read."""

    def __init__(self, programme: str) -> None:
        super().__init__()
        self.programme = programme


class NotKept(Message):
    """Something typed could not be kept on disk."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class Seen(Message):
    """A refusal has shown what others stored, up to a revision."""

    def __init__(self, revision: int) -> None:
        super().__init__()
        self.revision = revision


class Visited(Message):
    """An earlier revision is open to look at, or, with None, the present again."""

    def __init__(self, revision: int | None) -> None:
        super().__init__()
        self.revision = revision
