"""Every row of a sweep against the engine's own trial of that row, to the bit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.property.engine_oracle import bits
from tests.property.programmes import Chooser, Seeded, allowed
from tests.property.sweeping import ROW_TRUE, draw_rows, grown
from tests.property.toy_checks import METRE, MM, TOYS, Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.contract.check import Outputs, PortColumn, Problem, Table
from tracker.errors import CancelledError
from tracker.evaluate.columns import ABSENT, KNOWN, Column, status_of
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Slot
from tracker.evaluate.sweep import Swept, sweep
from tracker.model.changes import Entry
from tracker.model.records import Quantity, Setting
from tracker.model.units import Unit
from tracker.model.values import CellKind, Kind
from tracker.model.values import Column as TableColumn

_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]


def swept_and_tried(
    engine: Engine, rows: Sequence[Sequence[Entry]]
) -> tuple[Swept, list[tuple[list[Slot], list[bool]]]]:
    """Sweep what the entries of every row move, and try every row alone."""
    tried = []
    for entries in rows:
        with engine.trial(entries):
            blocks = [each is not None for each in engine.state.blocks]
            tried.append((list(engine.state.slots), blocks))
    parts = {slot for each in engine.graph.parts.values() for slot, _ in each}
    sources = set(range(len(engine.graph.keys))) - set(engine.graph.writer) - parts
    varied = {slot: Column.of([slots[slot] for slots, _ in tried]) for slot in sources}
    return sweep(engine.graph, engine.programme, engine.state, varied, len(rows)), tried


def held_at(swept: Swept, present: Sequence[Slot], slot: int, row: int) -> object:
    """Return what a slot holds in a row, as `bits` gives it; only the status when not known."""
    column = swept.columns.get(slot)
    if column is None:
        return comparable(present[slot])
    if column.status[row] != KNOWN:
        return int(column.status[row])
    if column.pool:
        return repr(column.pool[int(column.values[row])])
    value = column.values[row : row + 1]
    return (value.dtype.str, value.shape, value.tobytes())


def comparable(slot: Slot) -> object:
    status = status_of(slot)
    return bits(slot) if status == KNOWN else status


def assert_same(engine: Engine, rows: Sequence[Sequence[Entry]]) -> Swept:
    swept, tried = swept_and_tried(engine, rows)
    present = engine.state.slots
    for row, (slots, blocks) in enumerate(tried):
        for slot, held in enumerate(slots):
            found = held_at(swept, present, slot, row)
            assert found == comparable(held), (engine.graph.keys[slot], row)
        for place, block in enumerate(blocks):
            now = engine.state.blocks[place] is not None
            found = swept.blocked[place][row] if place in swept.blocked else now
            assert found == block, (engine.graph.nodes[place].id, row)
    return swept


@settings(max_examples=150, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 100_000), st.integers(10, 120), st.integers(1, 12))
def test_every_row_is_what_a_trial_gives(seed: int, edits: int, count: int) -> None:
    engine = grown(seed, edits)
    choose = Chooser(Seeded(seed), engine, first="n")
    rows = [row for row in draw_rows(choose, count) if not row or allowed(engine.programme, row)]
    if rows:
        assert_same(engine, rows)


def test_the_random_programmes_reach_what_they_should() -> None:
    """Guard the property test against programmes in which nothing happens."""
    ran, absent, blocked, pooled, parts = 0, 0, 0, 0, 0
    for seed in range(150):
        engine = grown(seed, 100)
        choose = Chooser(Seeded(seed), engine, first="n")
        rows = [row for row in draw_rows(choose, 6) if not row or allowed(engine.programme, row)]
        if not rows:
            continue
        swept = assert_same(engine, rows)
        ran += swept.rows_run
        moved = swept.columns.items()
        absent += sum(bool((each.status == ABSENT).any()) for _, each in moved)
        blocked += sum(bool(each.any()) for each in swept.blocked.values())
        pooled += sum(bool(each.pool) and slot in engine.graph.parts for slot, each in moved)
        parts += sum(bool(engine.graph.keys[slot][1]) for slot, _ in moved)
    assert min(ran, blocked, pooled, parts) > 20
    assert absent > 3


def trying(engine: Engine, key: str, values: Sequence[Any]) -> list[tuple[Entry, ...]]:
    held = engine.programme.at(key, Quantity)
    return [(Entry(held, replace(held, given=Setting(value=each))),) for each in values]


def one_check(toy: Toy, *more: Any, inputs: dict[str, str], outputs: dict[str, str]) -> Engine:  # noqa: ANN401 - records
    shelf = Shelf({toy.key: toy})
    return engine_of(decision("D"), *more, use("C", toy.key, inputs, outputs), shelf=shelf)


def test_rows_that_agree_with_the_present_run_nothing() -> None:
    toy = replace(TOYS["halve"], calls=0)
    engine = one_check(
        toy, quantity("a", 1.0), quantity("out"), inputs={"a": "a"}, outputs={"out": "out"}
    )
    slot, calls = engine.graph.index["a", ""], toy.calls
    varied = {slot: Column.known(np.ones(5))}
    swept = sweep(engine.graph, engine.programme, engine.state, varied, 5)
    assert swept.rows_run == 0
    assert toy.calls == calls
    assert set(swept.columns) == {slot}


def test_a_check_runs_only_for_the_rows_that_reach_it() -> None:
    engine = engine_of(
        decision("D"),
        *(quantity(each, 4.0) for each in "ab"),
        *(quantity(each) for each in "xyz"),
        use("A", "step", {"a": "a"}, {"out": "x"}),
        use("B", "halve", {"a": "b"}, {"out": "y"}),
        use("Z", "add", {"a": "x", "b": "y"}, {"out": "z"}),
    )
    a, b = (engine.graph.index[each, ""] for each in "ab")
    swept = sweep(
        engine.graph,
        engine.programme,
        engine.state,
        {
            a: Column.known(np.array([5.0, 6.0, 0.0, 4.0, 4.0])),
            b: Column.known(np.array([4.0, 4.0, 4.0, 8.0, 4.0])),
        },
        5,
    )
    assert swept.rows_run == 3 + 1 + 2  # the step is cut off where it stays on its tread
    assert swept.columns[engine.graph.index["z", ""]].values.tolist() == [4.0, 4.0, 3.0, 6.0, 4.0]


def test_a_check_of_tables_alone_answers_once_for_all_rows() -> None:
    def total(t: Table) -> dict[str, Any]:
        return {"out": np.array([t.reals("n").sum()]), "n": np.array([t.rows])}

    toy = Toy(
        "total",
        (port("t", Kind.TABLE, columns=(PortColumn("n", "n"),)),),
        (port("out"), port("n", Kind.INTEGER)),
        total,
    )
    columns = (TableColumn("n", CellKind.REAL),)
    engine = one_check(
        toy,
        quantity("t", ((1.0,),), Kind.TABLE, columns=columns),
        quantity("out"),
        quantity("n", kind=Kind.INTEGER),
        inputs={"t": "t"},
        outputs={"out": "out", "n": "n"},
    )
    rows = trying(engine, "t", [((2.0,), (3.0,)), ((1.0,),), (), ((2.0,), (3.0,))])
    swept = assert_same(engine, rows)
    assert swept.columns[engine.graph.index["out", ""]].values.tolist() == [5.0, 1.0, 0.0, 5.0]


def test_a_table_too_large_in_the_checks_unit_is_unknown() -> None:
    engine = a_total(1.0)
    assert_same(engine, trying(engine, "t", [(("a", 1e308),), (("a", 2.0),)]))


def a_total(amount: float) -> Engine:
    parsec = Unit("pc", (("length", Fraction(1)),), 3e16)
    columns = (TableColumn("name", CellKind.TEXT), TableColumn("amount", CellKind.REAL, parsec))
    return one_check(
        TOYS["total"],
        quantity("t", (("a", amount),), Kind.TABLE, columns=columns),
        quantity("on", value=True, kind=Kind.FLAG),
        quantity("out", unit=METRE),
        inputs={"t": "t", "on": "on"},
        outputs={"out": "out"},
    )


def test_a_number_too_large_in_the_checks_unit_is_unknown_in_its_row() -> None:
    engine = one_check(
        TOYS["add-mm"],
        quantity("a", 1.0, unit=METRE),
        quantity("out", unit=MM),
        inputs={"a": "a", "b": "a"},
        outputs={"out": "out"},
    )
    assert_same(engine, trying(engine, "a", [2.0, 1e308, 3.0]))
    assert_same(engine, trying(engine, "a", [1e308]))


@pytest.mark.parametrize("bad", [0, 3, 7])
def test_rows_on_which_a_check_raises_stay_unknown_alone(bad: int) -> None:
    def function(a: Any) -> dict[str, Any]:  # noqa: ANN401 - an array
        if (a == 100.0 + bad).any():
            raise SystemExit("a stranger's way out")
        return {"out": a * 2}

    toy = Toy("raises", (port("a"),), (port("out"),), function)
    engine = one_check(
        toy, quantity("a", 1.0), quantity("out"), inputs={"a": "a"}, outputs={"out": "out"}
    )
    swept = assert_same(engine, trying(engine, "a", [100.0 + each for each in range(8)]))
    place = engine.graph.position["C"]
    assert swept.blocked[place].tolist() == [each == bad for each in range(8)]


def test_ctrl_c_in_a_check_gets_through() -> None:
    def function(a: Any) -> dict[str, Any]:  # noqa: ANN401 - an array
        if len(a) > 1:
            raise KeyboardInterrupt
        return {"out": a}

    toy = Toy("interrupted", (port("a"),), (port("out"),), function)
    engine = one_check(
        toy, quantity("a", 1.0), quantity("out"), inputs={"a": "a"}, outputs={"out": "out"}
    )
    column = {engine.graph.index["a", ""]: Column.known(np.arange(4.0))}
    with pytest.raises(KeyboardInterrupt):
        sweep(engine.graph, engine.programme, engine.state, column, 4)


def test_a_sweep_can_be_stopped_between_checks() -> None:
    engine = grown(3, 100)
    choose = Chooser(Seeded(3), engine, first="n")
    rows = [row for row in draw_rows(choose, 8) if row and allowed(engine.programme, row)]
    before = list(engine.state.slots)
    tried = [swept_and_tried(engine, rows)[0]]
    assert tried[0].rows_run
    varied = tried[0].columns
    with pytest.raises(CancelledError):
        sweep(engine.graph, engine.programme, engine.state, varied, tried[0].count, lambda: True)
    assert engine.state.slots == before


def test_a_result_of_another_sort_is_unknown() -> None:
    def function(a: Any) -> Any:  # noqa: ANN401 - whatever a stranger returns
        return {"out": a.astype(np.float32)}

    toy = Toy("odd", (port("a"),), (port("out"),), function)
    engine = one_check(
        toy, quantity("a", 1.0), quantity("out"), inputs={"a": "a"}, outputs={"out": "out"}
    )
    assert_same(engine, trying(engine, "a", [2.0, 3.0]))


def test_row_true_toys_keep_the_row_rule() -> None:
    """The toy whose mood follows its first row is not fit for batches: here it goes row by row."""
    toy = ROW_TRUE["moody"]
    given = np.array([0.0, 2.0, 4.0, 5.0])
    whole = toy.compute({"a": given}, {}).values["other"]
    for row, each in enumerate(given):
        assert toy.compute({"a": np.array([each])}, {}).values["other"][0] == whole[row]


def test_a_requirement_on_a_swept_part_needs_no_check() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("p", (1.0, 2.0, 3.0), Kind.POINT),
        requirement("R", "p|y", upper=4.0),
    )
    swept = assert_same(engine, trying(engine, "p", [(1.0, 2.0, 3.0), (1.0, 5.0, 3.0)]))
    assert swept.columns[engine.graph.index["p", "y"]].values.tolist() == [2.0, 5.0]


def test_an_absent_input_is_left_out_where_it_may_be() -> None:
    engine = engine_of(
        decision("D"),
        quantity("a", 1.0),
        *(quantity(each) for each in "xyz"),
        use("I", "inverse", {"a": "a"}, {"inverse": "x", "twice": "y"}),
        use("Z", "add", {"a": "y", "b": "x"}, {"out": "z"}),
        shelf=Shelf(ROW_TRUE),
    )
    swept = assert_same(engine, trying(engine, "a", [0.0, 2.0, 0.0, 4.0]))
    assert swept.columns[engine.graph.index["z", ""]].values.tolist() == [0.0, 4.5, 0.0, 8.25]


def test_a_point_unknown_in_all_rows_has_unknown_components() -> None:
    engine = engine_of(
        decision("D"),
        quantity("p", (1.0, 2.0, 3.0), Kind.POINT),
        quantity("out"),
        use("C", "halve", {"a": "p|y"}, {"out": "out"}),
    )
    held = engine.programme.at("p", Quantity)
    gone = replace(held, given=Setting(reason="nobody knows"))
    assert_same(engine, [(Entry(held, gone),), (Entry(held, gone),)])
    assert_same(engine, [(Entry(held, gone),), ()])


def test_a_whole_number_that_sets_a_real_keeps_its_sort() -> None:
    def function(a: Any) -> Any:  # noqa: ANN401 - arrays
        return Outputs({"n": np.floor(a).astype(np.int64)}, [Problem(a < 0, "a is negative")])

    toy = Toy("floor", (port("a"),), (port("n", Kind.INTEGER),), function)
    engine = one_check(
        toy, quantity("a", 1.0), quantity("n"), inputs={"a": "a"}, outputs={"n": "n"}
    )
    assert_same(engine, trying(engine, "a", [2.5, -1.0, 1.0, 7.0]))
    assert_same(engine, trying(engine, "a", [-2.5, -1.0]))
