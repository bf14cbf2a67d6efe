"""What a settled decision stands on, and what has moved since."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
import rfc8785

from tests.property.toy_checks import METRE, TOYS, Shelf
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
from tracker.evaluate.engine import Engine
from tracker.evaluate.footing import Shift, take_footing
from tracker.evaluate.slots import Unknown
from tracker.model.changes import Entry
from tracker.model.codec import from_plain, to_plain
from tracker.model.records import Bound, CheckUse, Decision, DecisionState, Footing, Record, Ref
from tracker.model.values import Kind

Q, HUB = quantity("q", 3.0), quantity("hub", (1.0, 2.0, 3.0), Kind.POINT)
BAND = requirement("R", "made", 1.0, 9.0)
OTHER = decision("E", {"a": {}, "b": {}})
CHECK = use("C", "add", {"a": "q", "b": "hub|x"}, {"out": "made"})
RECORDS: tuple[Record, ...] = (
    Q,
    HUB,
    quantity("made"),
    quantity("own"),
    quantity("aside", 1.0),
    BAND,
    OTHER,
    decision("D", {"a": {"own": 1.0}, "b": {"own": 2.0}}, serves=("R",), rests_on=("E",)),
    CHECK,
    use("L", "add", {"b": "made"}, literals={"a": 2.0}),
)


def stood(*records: Record, option: str = "a", shelf: Shelf | None = None) -> Engine:
    """Return an engine whose decision D is settled with its footing."""
    engine = engine_of(*(records or RECORDS), shelf=shelf)
    made = settled(engine.programme.at("D", Decision), option)
    change(engine, made)
    footing = take_footing(engine.programme, engine.graph, engine.state.slots, "D")
    change(engine, replace(made, footing=footing))
    assert engine.state.shifts == {}
    return engine


def moved(engine: Engine) -> tuple[Shift, ...]:
    return engine.state.shifts.get("D", ())


def test_a_footing_keeps_bands_values_choices_and_versions() -> None:
    engine = stood()
    footing = engine.programme.at("D", Decision).footing
    assert footing is not None
    assert set(footing.bindings) == {"C", "L"}
    assert replace(footing, bindings={}) == Footing(
        bands={"R": (1.0, 9.0, None, 0.1)},
        values={"own": 1.0, "q": 3.0, "hub|x": 1.0, "made": 4.0, "L|a": 2.0},
        choices={"E": ""},
        checks={"C": "add 1", "L": "add 1"},
    )


def test_the_footing_of_a_check_that_cannot_be_bound_says_so() -> None:
    engine = engine_of(*RECORDS, shelf=Shelf(TOYS).without("add"))
    footing = take_footing(engine.programme, engine.graph, engine.state.slots, "D")
    assert footing.checks == {"C": "add unbound", "L": "add unbound"}
    assert footing.values["own"] is None


SHIFTS = [
    (replace(Q, given=quantity("q", 3.0 + 1e-12).given), Shift("value", "q", 3.0, 3.0 + 1e-12)),
    (quantity("hub", (1.5, 2.0, 3.0), Kind.POINT), Shift("value", "hub|x", 1.0, 1.5)),
    (
        replace(BAND, upper=Bound(value=8.0)),
        Shift("band", "R", (1.0, 9.0, None, 0.1), (1.0, 8.0, None, 0.1)),
    ),
    (
        replace(BAND, guard=0.2),
        Shift("band", "R", (1.0, 9.0, None, 0.1), (1.0, 9.0, None, 0.2)),
    ),
    (replace(OTHER, state=DecisionState.LEANING, chosen="E-a"), Shift("choice", "E", "", "E-a")),
    (
        use("L", "add", {"b": "made"}, literals={"a": 2.5}),
        Shift("value", "L|a", 2.0, 2.5),
    ),
    (
        replace(CHECK, inputs={**CHECK.inputs, "b": Ref(id="aside")}),
        Shift("value", "aside", None, 1.0),
    ),
    (
        use("N", "add", {"a": "aside"}),
        Shift("check", "N", None, "add 1"),
    ),
    (replace(CHECK, plugin="halve"), Shift("check", "C", "add 1", "halve unbound")),
]


SWAPPED = replace(CHECK, inputs={"a": CHECK.inputs["b"], "b": CHECK.inputs["a"]})


@pytest.mark.parametrize("after", [SWAPPED, replace(CHECK, config={"law": "other"})])
def test_another_configuration_or_swapped_ports_shift_the_ground(after: CheckUse) -> None:
    engine = stood()
    change(engine, after)
    assert [(each.about, each.name) for each in moved(engine)] == [("binding", "C")]
    change(engine, CHECK)
    assert moved(engine) == ()


@pytest.mark.parametrize(("after", "wanted"), SHIFTS)
def test_ground_that_moves_shows_and_returning_clears_it(after: Record, wanted: Shift) -> None:
    engine = stood()
    before = engine.programme.get(after.id)
    report = engine.advance([Entry(before, after)])
    assert wanted in moved(engine)
    assert report.shifts == {"D": ()}
    report = engine.advance([Entry(after, before)])
    assert moved(engine) == ()
    assert [shift for shift in report.shifts["D"] if shift == wanted] == [wanted]


@pytest.mark.parametrize(
    "after",
    [
        quantity("hub", (1.0, 7.0, 7.0), Kind.POINT),
        quantity("aside", 5.0),
        replace(Q, title="renamed", key="query"),
        replace(BAND, target=Bound(value=4.0), statement="In other words"),
        replace(OTHER, question="In other words?"),
    ],
)
def test_what_a_decision_does_not_stand_on_shifts_nothing(after: Record) -> None:
    engine = stood()
    change(engine, after)
    assert moved(engine) == ()


def test_what_it_rests_on_may_become_firmer() -> None:
    leaning = replace(OTHER, state=DecisionState.LEANING, chosen="E-a")
    engine = stood(*(leaning if each is OTHER else each for each in RECORDS))
    change(engine, settled(OTHER, "a"))
    assert moved(engine) == ()
    change(engine, settled(OTHER, "b"))
    assert moved(engine) == (Shift("choice", "E", "E-a", "E-b settled"),)


def test_what_it_rests_on_may_not_become_looser() -> None:
    engine = stood(*(settled(OTHER, "a") if each is OTHER else each for each in RECORDS))
    change(engine, replace(OTHER, state=DecisionState.LEANING, chosen="E-a"))
    assert moved(engine) == (Shift("choice", "E", "E-a settled", "E-a"),)


def test_another_version_of_a_check_shifts() -> None:
    engine = stood()
    again = Engine(Shelf(TOYS).with_version("add", "2"), engine.programme.copy())
    wanted = {Shift("check", each, "add 1", "add 2") for each in ("C", "L")}
    assert set(moved(again)) == wanted


def test_a_value_that_becomes_unknown_shifts() -> None:
    engine = stood()
    change(engine, quantity("q"))
    assert held(engine, "made") == Unknown("no value is given", "q")
    assert Shift("value", "q", 3.0, None) in moved(engine)
    assert Shift("value", "made", 4.0, None) in moved(engine)


def rested(value: float, kept: float) -> tuple[Shift, ...]:
    """Return the shifts where a computed input is one value and the footing keeps another."""
    engine = engine_of(
        decision("D"),
        decision("O"),
        quantity("q", value),
        quantity("x"),
        use("C", "add", {"a": "q"}, {"out": "x"}, decision="O"),
        use("H", "add", {"a": "x"}),
    )
    footing = Footing(values={"x": kept}, checks={"H": "add 1"})
    change(engine, replace(settled(decision("D"), "a"), footing=footing))
    return moved(engine)


@pytest.mark.parametrize("kept", [5, 5.0, 5.0 * (1 + 9e-10), 5.0 * (1 - 9e-10)])
def test_a_computed_value_may_differ_in_its_last_digits(kept: float) -> None:
    assert rested(5.0, kept) == ()
    assert rested(5.0 + 1e-12, kept) == ()


@pytest.mark.parametrize("kept", [5.0 * (1 + 2e-9), 5.0 * (1 - 2e-9), 0.0])
def test_a_computed_value_beyond_that_shifts(kept: float) -> None:
    assert rested(5.0, kept) == (Shift("value", "x", kept, 5.0),)


def test_a_footing_from_json_is_the_same_ground() -> None:
    engine = stood()
    made = engine.programme.at("D", Decision)
    again = from_plain("decision", json.loads(rfc8785.dumps(to_plain(made))))
    change(engine, again)
    change(engine, quantity("hub", (1.0 + 1e-13, 2.0, 3.0), Kind.POINT))
    assert [shift.name for shift in moved(engine)] == ["hub|x"]  # given values compare exactly


def test_computed_points_compare_within_their_size() -> None:
    engine = engine_of(
        decision("D"),
        replace(HUB, unit=METRE),
        quantity("d", 1.0, unit=METRE),
        quantity("p", kind=Kind.POINT, unit=METRE),
        use("M", "move", {"p": "hub", "d": "d"}, {"out": "p"}, decision="E"),
        use("N", "norm", {"p": "p"}),
        decision("E"),
    )
    made = settled(decision("D"), "a")

    def shifts(kept: tuple[float, ...]) -> tuple[Shift, ...]:
        footing = Footing(values={"p": kept}, checks={"N": "norm 1"})  # type: ignore[dict-item] # any tuple
        change(engine, replace(made, footing=footing))
        return moved(engine)

    assert shifts((2, 2, 3)) == ()
    assert shifts((2.0 + 2e-9, 2.0 - 2e-9, 3.0)) == ()
    assert len(shifts((2.0 + 4e-9, 2.0, 3.0))) == 1
    assert len(shifts((2.0, 2.0))) == 1


def test_computed_words_and_whole_numbers_compare_exactly() -> None:
    engine = engine_of(
        decision("D"),
        decision("E"),
        quantity("n", 3_000_000_000, Kind.INTEGER),
        quantity("m", kind=Kind.INTEGER),
        use("C", "count", {"n": "n", "m": "n"}, {"whole": "m"}, decision="E"),
        use("X", "count", {"n": "m", "m": "m"}),
    )
    footing = Footing(values={"m": 6_000_000_001}, checks={"X": "count 1"})
    change(engine, replace(settled(decision("D"), "a"), footing=footing))
    assert moved(engine) == (Shift("value", "m", 6_000_000_001, 6_000_000_000),)


def test_only_settled_decisions_have_shifts() -> None:
    engine = stood()
    change(engine, quantity("q", 9.0))
    assert moved(engine)
    made = engine.programme.at("D", Decision)
    change(engine, replace(made, state=DecisionState.LEANING))
    assert moved(engine) == ()
    change(engine, replace(made, footing=None))
    assert moved(engine) == ()


def test_what_left_the_ground_comes_after_what_is_there() -> None:
    engine = stood()
    change(engine, replace(CHECK, inputs={"a": Ref(id="aside")}), replace(BAND, guard=0.3))
    names = [(shift.about, shift.name) for shift in moved(engine)]
    assert names[:2] == [("band", "R"), ("value", "aside")]
    assert names[-2:] == [("value", "hub|x"), ("value", "q")]


def test_a_shift_stays_through_a_change_elsewhere() -> None:
    engine = stood()
    change(engine, quantity("q", 9.0))
    before = moved(engine)
    report = change(engine, quantity("new", 1.0))
    assert moved(engine) == before
    assert report.shifts == {}
