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
    """

    title: str = ""
    revision: int = -1
    hash: str = ""


def where_is(session: Session) -> Where:
    """Tell where a session stands."""
    info = session.programme.info
    title = visible(info.title) if info else ""
    return Where(title, session.head.revision, session.head.hash)


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

    def ask(self, origin: MessagePump, job: Job[T], reply: Reply, *, whole: bool = False) -> None:
        """Run a job in its turn; the answer goes to `origin`, by way of the app."""

        def run(session: Session) -> tuple[T, Where]:
            return job(session), where_is(session)

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
            return job(session, cancel), where_is(session)

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
