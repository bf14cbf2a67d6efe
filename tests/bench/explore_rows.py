"""Rows about exploring: headroom and spread of the whole demo programme against plain loops."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from demo_program.story import make_demo
from tests.bench.harness import Row, timed
from tracker.bootstrap import open_session
from tracker.evaluate.engine import Engine
from tracker.evaluate.verdict import band_of
from tracker.explore.headroom import POINTS, Headroom, headroom
from tracker.explore.scatter import Sampler, Scatter, scatters
from tracker.explore.sources import Source, adjustables, bounds
from tracker.explore.spread import Plan, spread
from tracker.explore.trends import reach_of
from tracker.model.changes import Entry
from tracker.model.records import Bound, Quantity, Record, Requirement, Setting
from tracker.model.values import Kind

__all__ = ["headroom_row", "spread_loop", "spread_numpy"]

Reals = NDArray[np.float64]
_GOOD = ("stands", "strained")


@contextmanager
def _demo() -> Iterator[Engine]:
    with tempfile.TemporaryDirectory() as folder:
        session = open_session(make_demo(Path(folder)), "bench")
        try:
            yield session.engine
        finally:
            session.store.close()


# -- headroom ----------------------------------------------------------------------------------


def headroom_row(*, quick: bool) -> Row:
    """Scan and bisect line by line, one trial at a time ÷ all lines together in batches."""
    with _demo() as engine:
        sources = [*adjustables(engine), *bounds(engine)]
        found = headroom(engine, sources)
        batch = min(timed(lambda: headroom(engine, sources)) for _ in range(2 if quick else 5))
        scalar = _Scalar(engine)
        alone = timed(lambda: scalar.run(found))
        _agree(found, scalar.ends)
    note = (
        f"{alone:.1f} s in {scalar.trials} trials against {batch:.2f} s, "
        f"{len(sources)} lines, {len(scalar.ends)} flips"
    )
    return Row("headroom", alone / batch, 15.0, note, at_least=True)


class _Scalar:
    """The same question asked one value at a time, of the incremental engine.

    It is told what the batches found out: where to look, what is certified, and that plain
    bisection is enough between two neighbouring samples.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.trials = 0
        self.ends: dict[tuple[Source, str, int], float] = {}

    def run(self, found: Sequence[Headroom]) -> None:
        for each in found:
            if each.source.kind is Kind.REAL:
                self._line(each)

    def _line(self, found: Headroom) -> None:
        source, now = found.source, found.source.number
        decisions = [each.decision for each in found.decisions]
        if not decisions:
            return
        for step in (-1, 1):
            for decision, ok in self._scan(found, decisions, step):
                inner, outer = ok
                while outer not in (inner, math.nextafter(inner, outer)):
                    middle = (inner + outer) / 2
                    if abs(outer - inner) <= 1e-15 * max(abs(now), abs(outer)):
                        break
                    stands = decision in self._standing(source, middle)
                    inner, outer = (middle, outer) if stands else (inner, middle)
                self.ends[source, decision, step] = inner

    def _scan(
        self, found: Headroom, decisions: Sequence[str], step: int
    ) -> Iterator[tuple[str, tuple[float, float]]]:
        """Walk outward sample by sample until every decision fell, or the line ends."""
        last, left = found.source.number, set(decisions)
        for at in _samples(found, step):
            if not left:
                return
            standing = self._standing(found.source, at)
            for each in left - standing:
                yield each, (last, at)
            left &= standing
            last = at

    def _standing(self, source: Source, value: float) -> set[str]:
        self.trials += 1
        record = self._engine.programme.get(source.id)
        assert record is not None
        with self._engine.trial((Entry(record, _moved(record, source.part, value)),)):
            held = self._engine.state.standings.items()
            return {each for each, standing in held if standing.standing in _GOOD}


def _samples(found: Headroom, step: int) -> list[float]:
    """Return where to look on one side, outward: both ends where certified, else the samples."""
    ends = [end for stretch in found.decisions for end in (stretch.low, stretch.high)]
    known = [end.beyond for end in ends if end.beyond is not None]
    known += [end.at for end in ends if end.at is not None]
    now = found.source.number
    limit = max((abs(each - now) for each in known if step * (each - now) >= 0), default=0.0)
    if limit == 0:
        return []
    count = 1 if found.certified else POINTS // 2
    return [now + step * 1.01 * limit * (place + 1) / count for place in range(count)]


def _moved(record: Record, part: str, value: float) -> Record:
    if isinstance(record, Requirement):
        return replace(record, **{part: Bound(value=value)})  # type: ignore[arg-type] # a bound
    assert isinstance(record, Quantity)
    return replace(record, given=Setting(value=value))


def _agree(found: Sequence[Headroom], ends: dict[tuple[Source, str, int], float]) -> None:
    for each in found:
        for stretch in each.decisions:
            for step, end in ((-1, stretch.low), (1, stretch.high)):
                alone = ends.get((each.source, stretch.decision, step))
                if end.breaks and alone is not None and end.at is not None:
                    scale = max(abs(each.source.number), abs(end.at))
                    if abs(alone - end.at) > 1e-9 * scale:
                        raise AssertionError(f"{each.source.id}: {alone} is not {end.at}")


# -- spread ------------------------------------------------------------------------------------


@dataclass
class _ByHand:
    """The demo's checks and bands as a plain loop over arrays: no engine, no statuses."""

    engine: Engine
    drawn: Sequence[Scatter]

    def __post_init__(self) -> None:
        graph = self.engine.graph
        moving = {slot for each in self.drawn for slot in reach_of(self.engine, each.source).trends}
        reading = [{gather.slot for gather in node.gathers} for node in graph.nodes]
        self._nodes = [
            node for node, slots in zip(graph.nodes, reading, strict=True) if slots & moving
        ]
        self._bands = [
            (judge.slot, judge.rule.band if judge.rule else self._band(judge.id))
            for judge in graph.judges
            if judge.slot in moving and judge.measure.kind is Kind.REAL
        ]

    def _band(self, requirement: str) -> Any:  # noqa: ANN401 - a Band
        return band_of(self.engine.programme.at(requirement, Requirement))

    def __call__(self, rows: Reals) -> list[float]:
        """Return how often each band is kept."""
        values = self._sources(rows)
        held = self.engine.state.slots
        for node in self._nodes:
            given: dict[str, Any] = {}
            for gather in node.gathers:
                value = values.get(gather.slot)
                if value is None:
                    value = held[gather.slot]
                    if isinstance(value, np.ndarray):
                        value = np.repeat(value, len(rows), axis=0)
                given[gather.port] = gather.convert(value) if gather.convert else value
            for port, constant in node.constants.items():
                many = isinstance(constant, np.ndarray)
                given.setdefault(port, np.repeat(constant, len(rows), axis=0) if many else constant)
            assert node.loaded is not None
            made = node.loaded.check.compute(given, node.loaded.config).values
            for emit in node.emits:
                values[emit.slot] = (
                    emit.convert(made[emit.port]) if emit.convert else made[emit.port]
                )
        return [self._kept(values[slot], band) for slot, band in self._bands]

    def _sources(self, rows: Reals) -> dict[int, Any]:
        values: dict[int, Any] = {}
        for column, each in enumerate(self.drawn):
            values[self.engine.graph.index[each.source.id, ""]] = rows[:, column].copy()
        return values

    @staticmethod
    def _kept(value: Reals, band: Any) -> float:  # noqa: ANN401 - a Band
        kept = np.ones(len(value), dtype=np.bool_)
        if band.lower is not None:
            kept &= value >= band.lower
        if band.upper is not None:
            kept &= value <= band.upper
        return float(kept.mean())


_CHUNK = 8192


def _timed_spread(engine: Engine, *, quick: bool) -> tuple[float, int]:
    """Return seconds and samples of a whole spread: sampling, checks, verdicts, summaries."""
    plan = Plan(half_width=1e-9, most=16_384 if quick else 131_072, owner_samples=0)
    spread(engine, replace(plan, most=4096))  # load what is loaded once
    found = []
    seconds = timed(lambda: found.append(spread(engine, plan)))
    return seconds, found[0].samples


def spread_loop(*, quick: bool) -> Row:
    """Plain loop over samples, calling the same computes ÷ the batch."""
    with _demo() as engine:
        drawn, _ = scatters(engine)
        seconds, samples = _timed_spread(engine, quick=quick)
        by_hand = _ByHand(engine, drawn)
        rows = Sampler(drawn, 1, 1).draw(64 if quick else 512)[0]
        alone = timed(lambda: [by_hand(rows[at : at + 1]) for at in range(len(rows))]) / len(rows)
    each = seconds / samples
    note = (
        f"{1e6 * alone:.0f} µs against {1e6 * each:.1f} µs a sample, {samples} samples "
        f"({len(rows)} of the loop)"
    )
    return Row("spread-loop", alone / each, 100.0, note, at_least=True)


def spread_numpy(*, quick: bool) -> Row:
    """The batch ÷ hand-written numpy on the same checks, its own sampling included."""
    with _demo() as engine:
        drawn, _ = scatters(engine)
        seconds, samples = _timed_spread(engine, quick=quick)
        by_hand = _ByHand(engine, drawn)

        def plain() -> None:
            dice = np.random.default_rng(1)
            for first in range(0, samples, _CHUNK):
                count = min(_CHUNK, samples - first)
                by_hand(np.stack([each.values(dice.random(count)) for each in drawn], axis=1))

        hand = timed(plain)
    note = f"{seconds:.2f} s against {hand:.2f} s, {samples} samples"
    return Row("spread-numpy", seconds / hand, 1.5, note)
