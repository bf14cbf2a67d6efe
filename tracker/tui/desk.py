"""The terminal's side of the engine thread: jobs go in, messages come back."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any, TypeVar

from textual.message import Message
from textual.message_pump import MessagePump

from tracker.evaluate.engine import Cancel
from tracker.services.session import Session
from tracker.services.visiting import Visit
from tracker.services.wording import visible
from tracker.services.worker import Worker

__all__ = ["Answer", "Desk", "Refused", "Reply", "Where", "where_is"]

T = TypeVar("T")
Job = Callable[[Session], T]
Reply = Callable[[Any], Message]
"""Makes the message that carries a job's result."""


@dataclass(frozen=True, slots=True)
class Where:
    """Where the engine stands.

    Parameters
    ----------
    title : str
        Title of the programme.
    revision : int
        Its revision.
    hash : str
        Hash of the last change.
    newest : int
        The newest revision, where an earlier one is open to look at; else 0.
    """

    title: str = ""
    revision: int = -1
    hash: str = ""
    newest: int = 0

    @property
    def words(self) -> str:
        """The revision as the title line says it."""
        if not self.hash:
            return ""
        then = f" of {self.newest}, look only" if self.newest else ""
        return f"revision {self.revision}{then} · {self.hash[:8]}"


def where_is(session: Session) -> Where:
    """Tell where a session stands."""
    info = session.programme.info
    title = visible(info.title) if info else ""
    newest = session.present.head.revision if isinstance(session, Visit) else 0
    return Where(title, session.head.revision, session.head.hash, newest)


class Refused(Message):
    """A job asked for by a screen came to nothing."""

    def __init__(self, error: BaseException) -> None:
        super().__init__()
        self.error = error


class Answer(Message):
    """What a job came to, with the screen that asked and where the engine now stands.

    `whole` tells that it is all the screen shows: the screen is then as new as the engine.
    """

    def __init__(
        self, origin: MessagePump, message: Message, where: Where | None, *, whole: bool = False
    ) -> None:
        super().__init__()
        self.whole = whole
        self.origin = origin
        self.message = message
        self.where = where


class Desk:
    """Hands jobs to the engine thread.

    Parameters
    ----------
    opening : callable
        Opens the session; called on the engine thread.
    post : callable
        Takes the answers; called on the engine thread.
    """

    def __init__(self, opening: Callable[[], Session], post: Callable[[Answer], object]) -> None:
        self._worker = Worker(opening)
        self._post = post
        self._visit: Visit | None = None  # touched on the engine thread only

    def _seen(self, session: Session) -> Session:
        return session if self._visit is None else self._visit

    def visit(self, origin: MessagePump, revision: int | None, reply: Reply) -> None:
        """Show an earlier revision to every job from here on; None shows the present again."""

        def go(session: Session) -> tuple[int | None, Where]:
            self._visit = None if revision is None else Visit(session, revision)
            return revision, where_is(self._seen(session))

        self._submit(origin, go, reply)

    def ask(self, origin: MessagePump, job: Job[T], reply: Reply, *, whole: bool = False) -> None:
        """Run a job in its turn; the answer goes to `origin`, by way of the app."""

        def run(session: Session) -> tuple[T, Where]:
            seen = self._seen(session)
            return job(seen), where_is(seen)

        self._submit(origin, run, reply, whole=whole)

    def _submit(
        self, origin: MessagePump, run: Job[tuple[T, Where]], reply: Reply, *, whole: bool = False
    ) -> None:
        def done(future: Future[tuple[T, Where]]) -> None:
            if future.cancelled():
                return
            error = future.exception()
            if error is not None:
                self._post(Answer(origin, Refused(error), None))
                return
            result, where = future.result()
            self._post(Answer(origin, reply(result), where, whole=whole))

        self._worker.submit(run).add_done_callback(done)

    def latest(
        self, origin: MessagePump, job: Callable[[Session, Cancel], T], reply: Reply
    ) -> None:
        """Run a job that replaces the one asked for last in this way."""

        def run(session: Session, cancel: Cancel) -> tuple[T, Where]:
            seen = self._seen(session)
            return job(seen, cancel), where_is(seen)

        def deliver(got: tuple[T, Where] | BaseException) -> None:
            if isinstance(got, BaseException):
                self._post(Answer(origin, Refused(got), None))
            else:
                self._post(Answer(origin, reply(got[0]), got[1]))

        self._worker.latest(run, deliver)

    def drop_latest(self) -> None:
        """Forget the replaceable job: its answer is no longer wanted."""
        self._worker.drop_latest()

    def close(self) -> None:
        """Finish what is running and release the store."""
        self._worker.close()
