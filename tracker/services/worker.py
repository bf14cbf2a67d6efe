"""One engine thread that owns the session, for front ends that must never wait.

Jobs run one after the other. Ripples are asked for far more often than they are wanted: each
carries a generation, a newer one cancels what an older one is still doing, and a stale answer is
dropped.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

from tracker.errors import CancelledError
from tracker.evaluate.engine import Cancel
from tracker.services.session import Session

__all__ = ["Worker"]

T = TypeVar("T")


class Worker:
    """Runs jobs on the thread that owns a session.

    Parameters
    ----------
    opening : callable
        Opens the session; called on the engine thread.
    """

    def __init__(self, opening: Callable[[], Session]) -> None:
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="engine")
        self._opening = opening
        self._session: Session | None = None
        self._generation = 0
        self._lock = threading.Lock()

    def submit(self, job: Callable[[Session], T]) -> Future[T]:
        """Run a job in its turn."""
        return self._pool.submit(lambda: job(self._opened()))

    def latest(
        self, job: Callable[[Session, Cancel], T], deliver: Callable[[T | Exception], None]
    ) -> None:
        """Run a job that replaces every earlier one asked for in this way.

        Parameters
        ----------
        job : callable
            Gets the session and a cancel token that turns true when a newer job is asked for.
        deliver : callable
            Gets the result or the error, on the engine thread, unless the job has become stale.
        """
        with self._lock:
            self._generation += 1
            mine = self._generation
        self._pool.submit(self._run_latest, mine, job, deliver)

    def _run_latest(
        self,
        mine: int,
        job: Callable[[Session, Cancel], T],
        deliver: Callable[[T | Exception], None],
    ) -> None:
        def stale() -> bool:
            return mine != self._generation

        if stale():
            return
        result: T | Exception
        try:
            result = job(self._opened(), stale)
        except CancelledError:
            return
        except Exception as error:  # noqa: BLE001 - delivered, not swallowed
            result = error
        if not stale():
            deliver(result)

    def drop_latest(self) -> None:
        """Forget the job asked for last: its answer is no longer wanted."""
        with self._lock:
            self._generation += 1

    def close(self) -> None:
        """Finish what was submitted, drop what was asked for last and close the session."""
        self.drop_latest()
        self._pool.submit(self._release)
        self._pool.shutdown(wait=True)

    def _release(self) -> None:
        if self._session is not None:
            self._session.close()

    def _opened(self) -> Session:
        if self._session is None:
            self._session = self._opening()
        return self._session
