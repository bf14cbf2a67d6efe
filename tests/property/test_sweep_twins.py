"""Rows with twins get the same bits as rows without, and run less."""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.property.programmes import Chooser, Seeded, allowed
from tests.property.sweeping import draw_rows, grown
from tests.property.test_sweep import swept_and_tried
from tracker.evaluate.sweep import Swept, sweep

_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]


@settings(max_examples=60, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 100_000), st.integers(10, 120), st.integers(1, 6))
def test_twins_change_nothing_but_the_work(seed: int, edits: int, count: int) -> None:
    engine = grown(seed, edits)
    choose = Chooser(Seeded(seed), engine, first="n")
    rows = [row for row in draw_rows(choose, count) if not row or allowed(engine.programme, row)]
    if not rows:
        return
    rows += [choose.dice.pick(rows) for _ in range(4)]
    first = {id(row): place for place, row in reversed(list(enumerate(rows)))}
    likely = np.array([first[id(row)] for row in rows])
    guessed = np.array([choose.dice.whole(0, place) for place in range(len(rows))])
    guessed = np.where(guessed[guessed] == guessed, guessed, np.arange(len(rows)))
    plain = swept_and_tried(engine, rows)[0]
    parts = {slot for each in engine.graph.parts.values() for slot, _ in each}
    sources = plain.columns.keys() - engine.graph.writer.keys() - parts
    varied = {slot: plain.columns[slot] for slot in sources}
    for twins in (likely, guessed):
        where = (engine.graph, engine.programme, engine.state)
        again = sweep(*where, varied, len(rows), twins=twins)
        assert again.rows_run <= plain.rows_run
        assert_alike(again, plain)


def assert_alike(found: Swept, wanted: Swept) -> None:
    assert found.columns.keys() == wanted.columns.keys()
    for slot, column in wanted.columns.items():
        mine, known = found.columns[slot], column.status == 0
        assert mine.status.tolist() == column.status.tolist()
        assert mine.values[known].tobytes() == column.values[known].tobytes()
        assert mine.pool == column.pool
    assert found.blocked.keys() == wanted.blocked.keys()
    for place, blocked in wanted.blocked.items():
        assert found.blocked[place].tolist() == blocked.tolist()


def test_the_same_row_over_and_over_runs_once() -> None:
    engine = grown(3, 100)
    choose = Chooser(Seeded(3), engine, first="n")
    rows = [row for row in draw_rows(choose, 8) if row and allowed(engine.programme, row)]
    wanted = swept_and_tried(engine, rows)[0]
    assert wanted.rows_run > 0
    twice = swept_and_tried(engine, [*rows, *rows])[0]
    parts = {slot for each in engine.graph.parts.values() for slot, _ in each}
    sources = twice.columns.keys() - engine.graph.writer.keys() - parts
    varied = {slot: twice.columns[slot] for slot in sources}
    twins = np.tile(np.arange(len(rows)), 2)
    where = (engine.graph, engine.programme, engine.state)
    assert sweep(*where, varied, 2 * len(rows), twins=twins).rows_run == wanted.rows_run
