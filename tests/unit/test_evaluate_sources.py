"""Values that no check computes, and parts of values."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.property.toy_checks import METRE
from tests.unit.small_world import (
    change,
    decision,
    engine_of,
    held,
    quantity,
    requirement,
    settled,
    use,
)
from tracker.evaluate.slots import Unknown
from tracker.model.records import Bound, DecisionState, Setting
from tracker.model.values import CellKind, Column, Kind

COLUMNS = (
    Column("part", CellKind.TEXT),
    Column("mass", unit=METRE),
    Column("count", CellKind.INTEGER),
    Column("own", CellKind.FLAG),
)
ROWS = (("arm", 1.5, 2, True), ("2", 7.0, 3, False))


def test_a_quantity_without_a_source_is_unknown() -> None:
    assert held(engine_of(quantity("q")), "q") == Unknown("no value is given", "q")


def test_a_stated_unknown_keeps_its_reason() -> None:
    stated = replace(quantity("q"), given=Setting(reason="the supplier has not answered"))
    assert held(engine_of(stated), "q") == Unknown("the supplier has not answered", "q")
    silent = replace(quantity("q"), given=Setting())
    assert held(engine_of(silent), "q") == Unknown("it is stated as unknown", "q")


def test_a_decision_sets_what_its_applied_option_states() -> None:
    made = decision("D", {"a": {"p": 1.0, "q": 2.0}, "b": {"p": 3.0}})
    engine = engine_of(made, quantity("p"), quantity("q"))
    assert held(engine, "p") == Unknown("the decision is open", "D")
    change(engine, replace(made, state=DecisionState.LEANING, chosen="D-a"))
    assert (held(engine, "p"), held(engine, "q")) == (1.0, 2.0)
    change(engine, settled(made, "b"))
    assert held(engine, "p") == 3.0
    assert held(engine, "q") == Unknown("option b does not state it", "D")
    change(engine, replace(made, state=DecisionState.WITHDRAWN))
    assert held(engine, "p") == Unknown("the decision is withdrawn", "D")


def test_an_option_may_state_that_a_value_is_unknown() -> None:
    made = decision("D", {"a": {"p": None}})
    engine = engine_of(replace(made, state=DecisionState.LEANING, chosen="D-a"), quantity("p"))
    assert held(engine, "p") == Unknown("not known yet", "D")


@pytest.mark.parametrize(
    ("kind", "value", "more"),
    [
        (Kind.REAL, 1.5, {}),
        (Kind.INTEGER, -3, {}),
        (Kind.FLAG, False, {}),
        (Kind.CHOICE, "b", {"choices": ("a", "b")}),
        (Kind.POINT, (1.0, -2.0, 3.0), {}),
        (Kind.TABLE, ROWS, {"columns": COLUMNS}),
    ],
)
def test_every_kind_of_value_comes_out_as_it_went_in(
    kind: Kind, value: object, more: dict[str, object]
) -> None:
    engine = engine_of(quantity("q", value, kind, **more))  # type: ignore[arg-type] # a Value
    assert repr(held(engine, "q")) == repr(value)


@pytest.mark.parametrize(
    ("kind", "value", "wanted"),
    [
        (Kind.REAL, 2, "2.0"),
        (Kind.REAL, -0.0, "0.0"),
        (Kind.POINT, (-0.0, 1, 2), "(0.0, 1.0, 2.0)"),
    ],
)
def test_values_enter_in_canonical_form(kind: Kind, value: object, wanted: str) -> None:
    engine = engine_of(quantity("q", value, kind))  # type: ignore[arg-type] # a Value
    assert repr(held(engine, "q")) == wanted


def test_cells_enter_in_canonical_form() -> None:
    rows = (("arm", 2, 2, True), ("hub", -0.0, 1, True))
    engine = engine_of(quantity("q", rows, Kind.TABLE, columns=COLUMNS))
    assert repr(held(engine, "q")) == "(('arm', 2.0, 2, True), ('hub', 0.0, 1, True))"


def judged(part: str) -> object:
    """Return what a requirement on a part of the table would judge."""
    table = quantity("t", ROWS, Kind.TABLE, columns=COLUMNS)
    return held(engine_of(table, requirement("R", f"t|{part}", 0.5)), "t", part)


@pytest.mark.parametrize(
    ("part", "wanted"),
    [
        ("[arm].mass", 1.5),
        ("[1].count", 2),
        ("[arm].own", True),
        ("[2].mass", 7.0),  # the name goes before the number
        ("[3].mass", Unknown("it has no row '3'", "t")),
        ("[0].mass", Unknown("it has no row '0'", "t")),
        ("[hub].mass", Unknown("it has no row 'hub'", "t")),
    ],
)
def test_a_cell_goes_by_the_name_of_its_row_or_its_number(part: str, wanted: object) -> None:
    found = judged(part)
    assert type(found) is type(wanted)
    assert found == wanted


def test_rows_without_names_go_by_number() -> None:
    columns = (Column("mass"), Column("count", CellKind.INTEGER))
    table = quantity("t", ((5.0, 1), (6.0, 2)), Kind.TABLE, columns=columns)
    engine = engine_of(
        table, requirement("R", "t|[2].mass", 0.5), requirement("S", "t|[5].mass", 1.0)
    )
    assert held(engine, "t", "[2].mass") == 6.0
    assert held(engine, "t", "[5].mass") == Unknown("it has no row '5'", "t")


def test_parts_of_what_is_unknown_or_absent_are_so_too() -> None:
    hub = quantity("hub", kind=Kind.POINT)
    engine = engine_of(hub, requirement("R", "hub|x", 1.0))
    assert held(engine, "hub", "x") == Unknown("no value is given", "hub")
    change(engine, quantity("hub", (1.0, 2.0, 3.0), Kind.POINT))
    assert held(engine, "hub", "x") == 1.0


def test_a_check_on_z_does_not_run_when_only_y_moved() -> None:
    hub = quantity("hub", (1.0, 2.0, 3.0), Kind.POINT)
    engine = engine_of(
        decision("D"),
        hub,
        quantity("h"),
        use("Z", "halve", {"a": "hub|z"}, {"out": "h"}),
        use("Y", "halve", {"a": "hub|y"}),
        use("W", "add", {"a": "hub|y"}),
        use("P", "norm", {"p": "scaled"}),
        quantity("scaled", (1.0, 1.0, 1.0), Kind.POINT, unit=METRE),
    )
    report = change(engine, quantity("hub", (1.0, 8.0, 3.0), Kind.POINT))
    assert report.ran == ["Y", "W"]
    assert set(report.slots) == {("hub", ""), ("hub", "y"), ("Y", "port:out")}
    report = change(engine, quantity("hub", (1.0, 8.0, 4.0), Kind.POINT))
    assert report.ran == ["Z"]
    assert held(engine, "h") == 2.0


def test_a_check_on_a_cell_does_not_run_when_another_cell_moved() -> None:
    table = quantity("t", ROWS, Kind.TABLE, columns=COLUMNS)
    engine = engine_of(decision("D"), table, use("C", "add", {"a": "t|[1].count"}))
    moved = quantity("t", (("arm", 99.0, 2, True), ROWS[1]), Kind.TABLE, columns=COLUMNS)
    assert change(engine, moved).ran == []
    moved = quantity("t", (("arm", 99.0, 5, True), ROWS[1]), Kind.TABLE, columns=COLUMNS)
    assert change(engine, moved).ran == ["C"]


def test_bounds_as_inputs_follow_their_requirement_only_where_they_are_read() -> None:
    bare = requirement("R", "q", 1.0, 3.0)
    engine = engine_of(decision("D"), quantity("q", 2.0), bare, use("C", "add", {"a": "R|upper"}))
    assert change(engine, replace(bare, lower=Bound(value=0.5))).ran == []
    assert change(engine, replace(bare, upper=Bound(value=4.0))).ran == ["C"]
    assert held(engine, "R", "upper") == 4.0
