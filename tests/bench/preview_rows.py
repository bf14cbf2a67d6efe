"""Rows about trying: a trial against the edit it foretells, on the demo."""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from demo_program.story import make_demo
from tests.bench.harness import Row, quiet, timed
from tests.bench.modular import Modules, shelf
from tests.property.engine_oracle import picture
from tracker.bootstrap import open_session
from tracker.evaluate.engine import Engine
from tracker.model.changes import Entry, inverse
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Decision, Quantity, Requirement, Setting
from tracker.model.values import Kind
from tracker.services.ripple import ripple_of
from tracker.services.session import Session

__all__ = ["preview", "preview_structure", "structure_edits", "value_edits"]

Edit = tuple[Entry, ...]


@contextmanager
def _demo() -> Iterator[Session]:
    with tempfile.TemporaryDirectory() as folder:
        session = open_session(make_demo(Path(folder)), "bench")
        try:
            with quiet():
                yield session
        finally:
            session.store.close()


def value_edits(programme: Programme) -> Iterator[Edit]:
    """Iterate over edits that move one given real, a little and then a lot."""
    for each in programme.of(Quantity):
        if each.kind is Kind.REAL and each.given is not None and each.given.value is not None:
            for factor in (1.001, 1.3):
                value = float(each.given.value) * factor + 1e-6  # type: ignore[arg-type] # a real
                yield (Entry(each, replace(each, given=Setting(value=value, typed=repr(value)))),)


def structure_edits(programme: Programme) -> Iterator[Edit]:
    """Iterate over edits that reshape the graph: a check or a requirement goes, one comes."""
    for each in programme.of(CheckUse):
        yield (Entry(each, None),)
        twin = replace(each, id=f"twin of {each.id}", key=f"twin-{each.key}", outputs={})
        yield (Entry(None, twin),)
    serving = [each for each in programme.of(Decision) if each.serves]
    for requirement in programme.of(Requirement):
        moved = [_serving_less(each, requirement.id) for each in serving]
        yield (*(each for each in moved if each.before != each.after), Entry(requirement, None))


def _serving_less(decision: Decision, requirement: str) -> Entry:
    serves = tuple(each for each in decision.serves if each != requirement)
    return Entry(decision, replace(decision, serves=serves))


@dataclass
class _Tally:
    """Seconds of trials and of the edits they foretell, and how often the two agreed."""

    trials: float = 0.0
    edits: float = 0.0
    cases: int = 0
    same: int = 0

    def add(self, engine: Engine, edit: Edit, rounds: int) -> None:
        """Try an edit, make it and take it back, some rounds."""
        trials, edits = [], []
        for _ in range(rounds):
            trials.append(timed(lambda: _tried(engine, edit)))
            edits.append(timed(lambda: engine.advance(edit)))
            engine.advance(inverse(edit))
        self.trials += statistics.median(trials)
        self.edits += statistics.median(edits)
        with engine.trial(edit) as told:
            foretold, ran = picture(engine), told.ran
        made = engine.advance(edit).ran
        self.cases += 1
        self.same += picture(engine) == foretold and made == ran
        engine.advance(inverse(edit))

    def words(self) -> str:
        """Say what was counted."""
        each = 1e3 / self.cases
        return (
            f"{self.trials * each:.2f} ms against {self.edits * each:.2f} ms; "
            f"{self.same} of {self.cases} trials gave what the edit gave, to the bit"
        )


def _tried(engine: Engine, edit: Edit) -> None:
    with engine.trial(edit):
        pass


def _row(name: str, tally: _Tally, more: str) -> Row:
    if tally.same != tally.cases:
        raise AssertionError(f"{name}: {tally.words()}")
    return Row(name, tally.trials / tally.edits, 1.2, f"{tally.words()}; {more}")


def preview(*, quick: bool) -> Row:
    """Trials of values ÷ the same edits made, every given real of the demo."""
    tally = _Tally()
    with _demo() as session:
        edits = list(value_edits(session.programme))[:: 10 if quick else 1]
        for edit in edits:
            tally.add(session.engine, edit, 2 if quick else 5)
        shown = [timed(lambda each=edit: ripple_of(session, each)) for edit in edits]  # type: ignore[misc] # mypy cannot infer a lambda with a default
    return _row("preview", tally, f"with its page {1e3 * statistics.mean(shown):.2f} ms")


def preview_structure(*, quick: bool) -> Row:
    """Trials that reshape the graph ÷ the same edits made: checks and requirements come and go."""
    tally = _Tally()
    with _demo() as session:
        for edit in list(structure_edits(session.programme))[:: 10 if quick else 1]:
            tally.add(session.engine, edit, 2 if quick else 5)
    large = (10, 100) if quick else (10, 100, 1_000)
    words = ", ".join(f"{1e3 * _large(each):.0f} ms at {100 * each} checks" for each in large)
    return _row("preview-structure", tally, words)


def _large(modules: int) -> float:
    """Return the seconds of a trial that takes one check out of a large programme."""
    engine = Engine(shelf(), Modules(modules).programme())
    edit = (Entry(engine.programme.at("cq0-99", CheckUse), None),)
    with quiet():
        return statistics.median(timed(lambda: _tried(engine, edit)) for _ in range(3))
