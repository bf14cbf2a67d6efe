"""An earlier revision opened as a session: all that only looks works on it, nothing is stored.

From a notebook::

    from tracker.bootstrap import open_session
    from tracker.services.overview import overview
    from tracker.services.visiting import Visit

    session = open_session("programme.db")
    overview(Visit(session, 12)).decisions
"""

from __future__ import annotations

from typing import Any, NoReturn

from tracker.errors import InputError
from tracker.services.session import Reading, Session, past

__all__ = ["Visit"]


class Visit(Session):
    """A programme as it was at an earlier revision. Belongs to the thread of its session.

    Parameters
    ----------
    present : Session
        The open programme; it stays open and is not touched.
    revision : int
        Which revision to look at.

    Raises
    ------
    UnknownRevisionError
        The journal has no such revision.
    """

    def __init__(self, present: Session, revision: int) -> None:
        then: Reading = past(present, revision)
        vars(self).update(vars(then))
        self.present = present
        self.author = present.author

    def close(self) -> None:
        """Release nothing: the store belongs to the present."""

    def refresh(self) -> bool:
        """Take in nothing: a revision never changes."""
        return False

    def commit(self, *_: Any, **__: Any) -> NoReturn:  # noqa: ANN401 - whatever a change is made of
        """Refuse to store a change.

        Raises
        ------
        InputError
            Always.
        """
        raise InputError(
            f"revision {self.head.revision} is open to look at only",
            remedy="Go back to the present to change something",
        )
