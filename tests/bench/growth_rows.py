"""Rows about large programmes: edits in a modular one, in a dense one, and while it grows."""

from __future__ import annotations

import gc
import random
import statistics
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from unittest import mock

from tests.bench.harness import Row, quantile, quiet, timed
from tests.bench.modular import SEED, Modules, dense, given_to, shelf
from tracker.evaluate.compiling import compile_graph
from tracker.evaluate.engine import Engine
from tracker.model.changes import Entry
from tracker.model.programme import Programme

__all__ = ["cone", "cone_dense", "cone_share", "growth", "resident"]

_PAGE = 4096


def _full_pass(programme: Programme, rounds: int) -> float:
    """Return the seconds of a pass from scratch that is given the compiled graph."""
    graph = compile_graph(programme, shelf())
    with mock.patch("tracker.evaluate.engine.compile_graph", return_value=graph):
        times = [timed(lambda: Engine(shelf(), programme)) for _ in range(rounds)]
    return min(times)


def _edits(modules: Modules, count: int) -> tuple[float, list[float], list[float]]:
    """Return seconds of a full pass and, for random edits, their seconds and checks run.

    The full pass is the best of ten, an edit the best of three of its quantity: which edits take
    long is asked, not when the machine did something else.
    """
    dice, programme = random.Random(SEED + 1), modules.programme()
    engine, givens = Engine(shelf(), programme), list(modules.givens())
    times: list[float] = []
    cones: list[tuple[str, ...]] = []
    with quiet():
        full = _full_pass(programme, 5)
        for _ in range(count):
            quantity = dice.choice(givens)
            times.append(
                min(
                    _timed_edit(engine, given_to(engine, quantity, dice.random()), cones)
                    for _ in range(3)
                )
            )
        full = min(full, _full_pass(programme, 5))
    return full, times, [float(len(each)) for each in cones]


def _modules(*, quick: bool) -> tuple[Modules, int]:
    return Modules(100), 300 if quick else 2_000


def cone(*, quick: bool) -> Row:
    """95th percentile of random value edits ÷ a full pass: 100 modules, 2 % cross links."""
    modules, count = _modules(quick=quick)
    full, times, cones = _edits(modules, count)
    late, many = quantile(times, 0.95), quantile(cones, 0.95)
    note = (
        f"p95 {1e6 * late:.0f} µs against {1e3 * full:.0f} ms; {modules.nodes} checks, "
        f"p95 of the cones {many:.0f}"
    )
    return Row("cone", late / full, 0.02, note)


def cone_share(*, quick: bool) -> Row:
    """The same 95th percentile ÷ the share that the 95th percentile of the cones is of all checks.

    1 would be: an edit costs per check what the full pass costs, and nothing besides.
    """
    modules, count = _modules(quick=quick)
    full, times, cones = _edits(modules, count)
    late, many = quantile(times, 0.95) / full, quantile(cones, 0.95) / modules.nodes
    note = f"{100 * late:.2f} % of a full pass for {100 * many:.2f} % of the checks"
    return Row("cone-share", late / many, 1.5, note)


def cone_dense(*, quick: bool) -> Row:
    """An edit with nearly everything downstream ÷ a full pass, 10,000 checks."""
    count = 1_000 if quick else 10_000
    dice, programme = random.Random(SEED + 1), dense(count)
    engine = Engine(shelf(), programme)
    edits, fulls = [], []
    ran: list[tuple[str, ...]] = []
    with quiet():
        for _ in range(5 if quick else 15):
            edits.append(_timed_edit(engine, given_to(engine, "g0", dice.random()), ran))
            fulls.append(_full_pass(programme, 1))
    high, low = statistics.median(edits), statistics.median(fulls)
    note = f"{1e3 * high:.1f} ms against {1e3 * low:.1f} ms, {len(ran[0])} of {count} checks run"
    return Row("cone-dense", high / low, 1.1, note)


def growth(*, quick: bool) -> Row:
    """The same edits with the same cones at 100,000 checks ÷ at 1,000."""
    sizes = (10, 100) if quick else (10, 100, 1_000)
    engines = [Engine(shelf(), Modules(each, cross=0.0).programme()) for each in sizes]
    with quiet():
        medians = _same_edits(engines, 300 if quick else 2_000)
    words = ", ".join(
        f"{1e6 * each:.0f} µs at {100 * size}" for size, each in zip(sizes, medians, strict=True)
    )
    memory = _resident_apart(sizes[-1])
    note = f"{words}; a check takes {memory / 1024:.1f} KiB (resident, records and engine)"
    return Row("growth", medians[-1] / medians[0], 1.3, note)


def _same_edits(engines: Sequence[Engine], count: int) -> list[float]:
    """Edit the first modules, which all these programmes share, in turn; return medians."""
    dice, shared = random.Random(SEED + 1), list(Modules(10).givens())
    times: list[list[float]] = [[] for _ in engines]
    for _ in range(count):
        quantity, value = dice.choice(shared), dice.random()
        ran: list[tuple[str, ...]] = []
        for engine, into in zip(engines, times, strict=True):
            into.append(_timed_edit(engine, given_to(engine, quantity, value), ran))
        assert len(set(ran)) == 1, "not the same cone"
    return [statistics.median(each) for each in times]


def _timed_edit(engine: Engine, entry: Entry, ran: list[tuple[str, ...]]) -> float:
    return timed(lambda: ran.append(tuple(engine.advance([entry]).ran)))


def resident(modules: int) -> float:
    """Return the bytes of resident memory a check takes, its quantity and judging included."""
    before = _resident()
    engine = Engine(shelf(), Modules(modules, cross=0.0).programme())
    return (_resident() - before) / len(engine.graph.nodes)


def _resident() -> int:
    gc.collect()
    return int(Path("/proc/self/statm").read_text().split()[1]) * _PAGE


def _resident_apart(modules: int) -> float:
    """Measure in a process of its own: this one has memory to spare from the rows before."""
    code = f"from tests.bench.growth_rows import resident; print(resident({modules}))"
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    return float(done.stdout)
