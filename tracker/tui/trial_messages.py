"""What comes back to the trial screen from the engine thread."""

from __future__ import annotations

from collections.abc import Mapping

from textual.message import Message

from tracker.services.mending_views import MendView
from tracker.services.views import ItemPage
from tracker.tui.jobs import Tried
from tracker.tui.settable import Settable

__all__ = ["Looked", "Looking", "Mended", "Proposed", "Rippled"]


class Rippled(Message):
    """The trial has been worked out."""

    def __init__(self, tried: Tried) -> None:
        super().__init__()
        self.tried = tried


class Looked(Message):
    """An item to take values from has been read."""

    def __init__(self, page: ItemPage) -> None:
        super().__init__()
        self.page = page


class Looking(Message):
    """How far looking for what would mend the trial has got."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words


class Mended(Message):
    """What would mend the trial has been found, or not."""

    def __init__(self, edits: Mapping[str, str], view: MendView) -> None:
        super().__init__()
        self.edits = edits
        self.view = view


class Proposed(Message):
    """What a proposal would edit has been read."""

    def __init__(self, typed: Mapping[str, str], found: Mapping[str, Settable]) -> None:
        super().__init__()
        self.typed = typed
        self.found = found
