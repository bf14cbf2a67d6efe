"""What a running command works with: where the programme is, who asks, and how to answer."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar

from tracker.cli.page import Page
from tracker.cli.terminal import Look, emit, look_of
from tracker.errors import InputError
from tracker.exchange.json_text import write_json

if TYPE_CHECKING:
    from tracker.bootstrap import Records
    from tracker.services.session import Reading, Session

__all__ = ["OpenUi", "Work"]

T = TypeVar("T")
OpenUi = Callable[[str, str, bool], object]
"""Opens the terminal UI on a location for an author, line by line where that is asked for."""


@dataclass
class Work:
    """One run of the command line.

    Parameters
    ----------
    open_ui : callable
        Opens the terminal UI.
    program, author : str
        As told by options; empty when not.
    json : bool
        Whether the answer is one JSON document.
    revision : int or None
        The earlier revision to look at.
    """

    open_ui: OpenUi
    program: str = ""
    author: str = ""
    json: bool = False
    revision: int | None = None
    _closers: list[Callable[[], None]] = field(default_factory=list)

    @property
    def location(self) -> str:
        """Where the programme is.

        Raises
        ------
        InputError
            Nobody said.
        """
        found = self.program or os.environ.get("WHYBONE_PROGRAM", "")
        if found:
            return found
        raise InputError(
            "no programme is named",
            field="--program",
            remedy="Say --program PATH_OR_URL or set WHYBONE_PROGRAM",
        )

    @property
    def look(self) -> Look:
        """What standard output can show."""
        return look_of(sys.stdout)

    def session(self) -> Session:
        """Open the programme to change it; it is closed when the command ends."""
        from tracker.bootstrap import open_session

        session = open_session(self.location, self.author)
        self.closing(session)
        return session

    def records(self) -> Records:
        """Open the programme to read what is stored, evaluating nothing."""
        from tracker.bootstrap import open_records

        records = open_records(self.location)
        self._closers.append(records.close)
        return records

    def closing(self, session: Session) -> None:
        """Have a session closed when the command ends."""
        self._closers.append(session.close)

    def reading(self) -> Reading:
        """Open the programme to look at it, at an earlier revision where one is asked for."""
        session = self.session()
        if self.revision is None:
            return session
        from tracker.services.session import past

        return past(session, self.revision)

    def tell(
        self,
        view: T,
        as_json: Callable[[T], Mapping[str, Any]],
        as_text: Callable[[Page, T], None],
    ) -> None:
        """Answer, as JSON or as text."""
        if self.json:
            self.tell_json(as_json(view))
            return
        page = Page(self.look)
        as_text(page, view)
        emit(sys.stdout, str(page), page.look)

    def tell_json(self, document: Mapping[str, Any]) -> None:
        """Write the one JSON document."""
        look = self.look
        emit(sys.stdout, write_json(document, ascii_only=look.ascii_only), look)

    def close(self) -> None:
        """Release what was opened."""
        while self._closers:
            self._closers.pop()()
