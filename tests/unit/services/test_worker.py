"""The engine thread: stale answers are dropped, errors delivered, nothing is lost on closing."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import small_session
from tracker.errors import CancelledError, InputError, StoreUnreachableError
from tracker.evaluate.engine import Cancel
from tracker.services.actions import set_values, try_values
from tracker.services.session import Session
from tracker.services.worker import Worker

PATIENCE = 10.0


class Mail:
    """Collects what is delivered, and on which thread."""

    def __init__(self) -> None:
        self.got: list[Any] = []
        self.threads: set[str] = set()
        self.arrived = threading.Event()

    def __call__(self, result: object) -> None:
        self.got.append(result)
        self.threads.add(threading.current_thread().name)
        self.arrived.set()


class Gate:
    """Holds the engine thread until opened."""

    def __init__(self, worker: Worker) -> None:
        self._open = threading.Event()
        entered = threading.Event()

        def wait(_: Session) -> None:
            entered.set()
            assert self._open.wait(PATIENCE)

        worker.submit(wait)
        assert entered.wait(PATIENCE)

    def open(self) -> None:
        self._open.set()


@pytest.fixture
def worker(store: MemoryStore) -> Iterator[Worker]:
    made = Worker(lambda: small_session(store))
    yield made
    made.close()


def trial(load: str) -> Callable[[Session, Cancel], object]:
    return lambda session, cancel: try_values(session, {"load": load}, cancel)


def settle_down(worker: Worker) -> None:
    """Wait until everything asked for so far has been done."""
    worker.submit(lambda _: None).result(PATIENCE)


def test_jobs_run_in_turn_on_one_thread_with_one_session(worker: Worker) -> None:
    seen: list[tuple[int, str]] = []

    def job(number: int) -> Callable[[Session], int]:
        def run(session: Session) -> int:
            seen.append((id(session), threading.current_thread().name))
            return number

        return run

    futures = [worker.submit(job(number)) for number in range(5)]
    assert [each.result(PATIENCE) for each in futures] == [0, 1, 2, 3, 4]
    assert len(set(seen)) == 1
    assert seen[0][1].startswith("engine")


def test_the_session_opens_at_the_first_job_and_not_before() -> None:
    opened: list[int] = []

    def opening() -> Session:
        opened.append(1)
        return small_session()

    worker = Worker(opening)
    assert not opened
    worker.submit(lambda _: None).result(PATIENCE)
    worker.submit(lambda _: None).result(PATIENCE)
    worker.close()
    assert opened == [1]


def test_the_latest_answer_is_delivered_on_the_engine_thread(worker: Worker) -> None:
    mail = Mail()
    worker.latest(trial("150 N"), mail)
    assert mail.arrived.wait(PATIENCE)
    assert mail.got[0].edits == ("load: 100 N → 150 N (guess)",)
    assert all(name.startswith("engine") for name in mail.threads)


def test_what_was_asked_before_and_not_begun_is_never_run(worker: Worker) -> None:
    gate, mail, ran = Gate(worker), Mail(), []

    def job(load: str) -> Callable[[Session, Cancel], str]:
        def run(_: Session, __: Cancel) -> str:
            ran.append(load)
            return load

        return run

    for load in ("110 N", "120 N", "130 N"):
        worker.latest(job(load), mail)
    gate.open()
    settle_down(worker)
    assert ran == mail.got == ["130 N"]


def test_what_is_running_learns_that_it_is_stale(worker: Worker) -> None:
    mail, begun, asked = Mail(), threading.Event(), threading.Event()
    tokens: list[bool] = []

    def slow(_: Session, cancel: Cancel) -> str:
        tokens.append(cancel())
        begun.set()
        assert asked.wait(PATIENCE)
        tokens.append(cancel())
        return "stale"

    worker.latest(slow, mail)
    assert begun.wait(PATIENCE)
    worker.latest(lambda *_: "new", mail)
    asked.set()
    settle_down(worker)
    assert tokens == [False, True]
    assert mail.got == ["new"]


def test_a_cancelled_trial_is_silent_and_leaves_the_engine_whole(worker: Worker) -> None:
    mail, begun, asked = Mail(), threading.Event(), threading.Event()

    def slow(session: Session, cancel: Cancel) -> object:
        begun.set()
        assert asked.wait(PATIENCE)
        return try_values(session, {"load": "150 N"}, cancel)

    worker.latest(slow, mail)
    assert begun.wait(PATIENCE)
    worker.latest(trial("120 N"), mail)
    asked.set()
    settle_down(worker)
    assert [each.edits for each in mail.got] == [("load: 100 N → 120 N (guess)",)]
    stored = worker.submit(lambda each: set_values(each, {"load": "120 N"}, "x")).result(PATIENCE)
    assert stored.ripple.findings == mail.got[0].findings


def test_errors_are_delivered_unless_stale(worker: Worker) -> None:
    mail = Mail()
    worker.latest(trial("5 kg"), mail)
    assert mail.arrived.wait(PATIENCE)
    assert isinstance(mail.got[0], InputError)
    gate, stale = Gate(worker), Mail()
    worker.latest(trial("5 kg"), stale)
    worker.drop_latest()
    gate.open()
    settle_down(worker)
    assert stale.got == []


def test_an_error_that_has_become_stale_is_dropped(worker: Worker) -> None:
    mail, begun, asked = Mail(), threading.Event(), threading.Event()

    def failing(_: Session, __: Cancel) -> object:
        begun.set()
        assert asked.wait(PATIENCE)
        raise InputError("too late")

    worker.latest(failing, mail)
    assert begun.wait(PATIENCE)
    worker.drop_latest()
    asked.set()
    settle_down(worker)
    assert mail.got == []


def test_a_job_that_gives_up_delivers_nothing(worker: Worker) -> None:
    mail = Mail()

    def give_up(_: Session, __: Cancel) -> object:
        raise CancelledError("stopped")

    worker.latest(give_up, mail)
    settle_down(worker)
    assert mail.got == []


def test_errors_of_submitted_jobs_come_with_their_future(worker: Worker) -> None:
    future = worker.submit(lambda session: set_values(session, {"load": "5 kg"}, "x"))
    with pytest.raises(InputError):
        future.result(PATIENCE)
    assert worker.submit(lambda session: session.head.revision).result(PATIENCE) == 2


def test_a_programme_that_does_not_open_says_so_to_every_job() -> None:
    def opening() -> Session:
        raise StoreUnreachableError("there is no such file")

    worker, mail = Worker(opening), Mail()
    with pytest.raises(StoreUnreachableError):
        worker.submit(lambda _: None).result(PATIENCE)
    worker.latest(trial("1 N"), mail)
    assert mail.arrived.wait(PATIENCE)
    assert isinstance(mail.got[0], StoreUnreachableError)
    worker.close()


def test_closing_while_busy_finishes_what_was_submitted_and_drops_the_rest(
    store: MemoryStore,
) -> None:
    worker = Worker(lambda: small_session(store))
    gate, mail = Gate(worker), Mail()
    stored = worker.submit(lambda session: set_values(session, {"load": "90 N"}, "lighter"))
    worker.latest(trial("150 N"), mail)
    closing = threading.Thread(target=worker.close)
    closing.start()
    gate.open()
    closing.join(PATIENCE)
    assert not closing.is_alive()
    assert stored.result(0).revision == 3
    assert mail.got == []
    assert store.closed
    with pytest.raises(RuntimeError):
        worker.submit(lambda _: None)


def test_closing_what_was_never_opened_is_fine() -> None:
    Worker(small_session).close()
