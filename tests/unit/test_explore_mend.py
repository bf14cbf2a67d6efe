"""Mend: single moves, pairs, options, costs, what may move, stopping."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.property.planted import Trendy
from tests.property.toy_checks import EUR, METRE, MM, Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, quantity, requirement, settled, use
from tracker.contract.check import Outputs, Problem
from tracker.errors import CancelledError
from tracker.evaluate.engine import Engine
from tracker.explore.mend import Mended, Plan, mend
from tracker.explore.mend_ranges import Pricing, movers
from tracker.model.records import Decision, DecisionState, Record
from tracker.model.values import Kind


def leaning(made: Decision, option: str) -> Decision:
    chosen = next(each for each in made.options if each.key == option)
    return replace(made, state=DecisionState.LEANING, chosen=chosen.id)


def judged(value: float, lower: float | None, upper: float | None, **more: Any) -> Engine:  # noqa: ANN401 - fields
    return engine_of(
        decision("D", serves=("R",)),
        quantity("q", value, **more),
        requirement("R", "q", lower, upper),
    )


def through(
    function: Callable[[Any], Any],
    value: float,
    bounds: tuple[float | None, float | None],
    trends: Any = None,  # noqa: ANN401 - of a toy
    **more: Any,  # noqa: ANN401 - fields of the quantity
) -> Engine:
    ports = (port("x"),), (port("out"),)
    toy = Trendy("f", *ports, function, trends=trends) if trends else Toy("f", *ports, function)
    return engine_of(
        decision("D", serves=("R",)),
        quantity("q", value, **more),
        quantity("y"),
        requirement("R", "y", *bounds),
        use("C", "f", {"x": "q"}, {"out": "y"}),
        shelf=Shelf({"f": toy}),
    )


def total(*numbers: Any, upper: float, lower: float | None = None, **more: Any) -> Engine:  # noqa: ANN401 - quantities
    """The sum of two quantities, judged."""
    return engine_of(
        decision("D", serves=("R",)),
        *numbers,
        quantity("sum"),
        requirement("R", "sum", lower, upper),
        use("C", "add", {"a": "p", "b": "q"}, {"out": "sum"}),
        *more.values(),
    )


def first(found: Mended) -> dict[str, float]:
    return {each.mover.source.id: each.to for each in found.mendings[0].moves}


def test_a_decision_that_stands_needs_nothing() -> None:
    found = mend(judged(3.0, 1.0, 5.0, low=0.0, high=9.0), "D", Plan())
    assert (found.reached, found.mendings) == (True, ())


def test_the_nearest_bound_is_met_exactly_and_proven() -> None:
    found = mend(judged(7.0, 1.0, 5.0, low=0.0, high=9.0), "D", Plan())
    assert first(found) == {"q": 5.0}
    assert found.mendings[0].proven
    assert found.mendings[0].cost == pytest.approx(2 / 9)
    assert [each.source.id for each in found.tried] == ["q"]


def test_strained_will_not_do_when_told_so() -> None:
    """The band 1 to 5 has a scale of 2: with the guard of 0.1, up to 4.8 is not tight."""
    engine = judged(4.9, 1.0, 5.0, low=0.0, high=9.0)
    assert mend(engine, "D", Plan()).reached
    found = mend(engine, "D", Plan(strained=True))
    assert first(found)["q"] == pytest.approx(4.8, abs=1e-14)
    with engine.trial([]):
        assert found.mendings[0].proven


def test_a_band_without_a_scale_has_no_guard() -> None:
    engine = judged(-1.0, 0.0, None, low=-2.0, high=9.0)
    assert first(mend(engine, "D", Plan(strained=True))) == pytest.approx({"q": 0.0}, abs=1e-15)


def test_no_range_no_move() -> None:
    found = mend(judged(7.0, 1.0, 5.0), "D", Plan())
    assert (found.mendings, found.tried, found.paired) == ((), (), False)


def test_out_of_reach_within_the_range() -> None:
    assert mend(judged(7.0, 1.0, 5.0, low=6.0, high=9.0), "D", Plan()).mendings == ()


def test_an_open_side_reaches_as_far_as_the_value_is_large() -> None:
    assert [(each.low, each.high) for each in movers(judged(7.0, 1, 5, low=6.5))] == [(6.5, 14.0)]
    assert [(each.low, each.high) for each in movers(judged(1.0, 1, 5, high=9.0))] == [(-7.0, 9.0)]
    assert movers(judged(0.0, 1, 5, low=0.0)) == []


def test_a_value_outside_its_range_moves_into_it() -> None:
    assert first(mend(judged(9.0, 1.0, 5.0, low=2.0, high=4.0), "D", Plan())) == {"q": 4.0}


def test_a_settled_decision_keeps_what_it_set() -> None:
    held = decision("S", {"a": {"q": 7.0}, "b": {"q": 2.0}})
    asked = decision("D", serves=("R",))
    records: list[Record] = [
        quantity("q", low=0.0, high=9.0),
        requirement("R", "q", 1.0, 5.0),
    ]
    found = mend(engine_of(settled(held, "a"), settled(asked, "a"), *records), "D", Plan())
    assert (found.mendings, found.tried) == ((), ())
    found = mend(engine_of(leaning(held, "a"), asked, *records), "D", Plan())
    assert first(found) == {"q": 5.0}
    assert [each.option for each in found.mendings[1].choices] == ["S-b"]
    assert found.mendings[1].cost == 1.0


def test_an_open_decision_is_mended_by_an_option() -> None:
    engine = engine_of(
        decision("D", {"a": {"q": 7.0}, "b": {"q": 2.0}, "c": {"q": None}}, serves=("R",)),
        quantity("q", low=0.0, high=9.0),
        requirement("R", "q", 1.0, 5.0),
    )
    found = mend(engine, "D", Plan())
    assert [each.choices[0].option for each in found.mendings] == ["D-b"]
    assert found.options == 3


def test_whole_numbers_are_tried_one_by_one() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("n", 1, Kind.INTEGER, low=0.5, high=9.9),
        requirement("R", "n", 3.2, 8.0),
    )
    found = mend(engine, "D", Plan())
    assert (first(found), found.mendings[0].proven) == ({"n": 4.0}, True)


def test_many_whole_numbers_are_bracketed() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("n", 1, Kind.INTEGER, low=0, high=1_000_000),
        requirement("R", "n", 4321.5),
    )
    assert first(mend(engine, "D", Plan())) == {"n": 4322.0}


def test_a_narrow_window_between_samples_is_found_by_its_two_sides() -> None:
    engine = through(lambda x: {"out": x**3}, 0.0, (0.4**3, 0.4000001**3), low=-1.0, high=1.0)
    found = mend(engine, "D", Plan(points=4))
    assert first(found)["q"] == pytest.approx(0.4, abs=1e-12)
    assert not found.mendings[0].proven


def test_a_peak_between_samples_is_found() -> None:
    """−(x − a)² + d is not negative only within ±√d of a: far closer than the samples."""
    a, d = 0.4321, 1e-8
    engine = through(lambda x: {"out": d - (x - a) ** 2}, 0.0, (0.0, None), low=-1.0, high=1.0)
    assert first(mend(engine, "D", Plan(points=16)))["q"] == pytest.approx(a - d**0.5, abs=1e-9)


def test_the_nearer_of_two_windows_is_taken() -> None:
    engine = through(lambda x: {"out": np.abs(x)}, 0.1, (0.5, None), low=-1.0, high=1.0)
    assert first(mend(engine, "D", Plan()))["q"] == 0.5


def test_flat_ground_is_not_searched_for_ever() -> None:
    engine = through(lambda x: {"out": x * 0}, 0.0, (1.0, None), low=-1.0, high=1.0)
    assert mend(engine, "D", Plan()).mendings == ()


def test_where_a_value_is_missing_nothing_is_proven() -> None:
    def root(x: Any) -> Outputs:  # noqa: ANN401 - an array
        return Outputs({"out": np.sqrt(x)}, [Problem(x < 0, "the root of a negative number")])

    engine = through(root, 1.0, (2.0, None), {("out", "x"): 1}, low=-1.0, high=9.0)
    found = mend(engine, "D", Plan())
    assert first(found)["q"] == pytest.approx(4.0, abs=1e-12)
    assert not found.mendings[0].proven
    blocked = through(root, -1.0, (2.0, None), {("out", "x"): 1}, low=-1.0, high=9.0)
    assert first(mend(blocked, "D", Plan()))["q"] == pytest.approx(4.0, abs=1e-12)


def test_a_declared_trend_proves_it() -> None:
    engine = through(lambda x: {"out": 2 * x}, 1.0, (5.0, None), {("out", "x"): 1}, low=0.0, high=9)
    found = mend(engine, "D", Plan())
    assert (first(found), found.mendings[0].proven) == ({"q": 2.5}, True)


def test_nobody_else_may_break() -> None:
    """The sum must come down to 4, but the other decision needs q of at least 3.5."""
    engine = total(
        quantity("p", 3.0, low=0.0, high=4.0),
        quantity("q", 4.0, low=0.0, high=4.0),
        upper=4.0,
        other=decision("E", serves=("RQ",)),
        band=requirement("RQ", "q", 3.5),
    )
    found = mend(engine, "D", Plan())
    assert first(found) == pytest.approx({"p": 0.0}, abs=1e-15)
    assert len(found.mendings) == 1


def test_a_broken_neighbour_may_stay_broken() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        decision("E", serves=("R2",)),
        quantity("q", 7.0, low=0.0, high=9.0),
        requirement("R", "q", 1.0, 5.0),
        requirement("R2", "q", 20.0, None),
    )
    assert first(mend(engine, "D", Plan())) == {"q": 5.0}


def test_a_choice_and_a_flag_count_as_they_are() -> None:
    engine = engine_of(
        decision("D", serves=("RG", "RF")),
        quantity("a", 0.5, low=-3.0, high=3.0),
        quantity("grade", None, Kind.CHOICE, choices=("low", "mid", "high")),
        quantity("good", None, Kind.FLAG),
        requirement("RG", "grade", allowed=("high",)),
        requirement("RF", "good", allowed=("yes",)),
        use("C", "grade", {"a": "a"}, {"grade": "grade", "good": "good"}),
    )
    assert first(mend(engine, "D", Plan())) == {"a": 2.0}


def test_two_move_where_one_cannot() -> None:
    """From 8 down to 4: each may come down by 2.5 at most, so both must; L1 says 4 in all."""
    engine = total(
        quantity("p", 4.0, low=1.5, high=6.5),
        quantity("q", 4.0, low=1.5, high=6.5),
        quantity("idle", 1.0, low=0.0, high=2.0),
        upper=4.0,
    )
    told: list[str] = []
    found = mend(engine, "D", Plan(), progress=told.append)
    assert [len(each.moves) for each in found.mendings] == [2]
    moved = first(found)
    assert moved["p"] + moved["q"] == pytest.approx(4.0, abs=1e-9)
    assert found.mendings[0].cost == pytest.approx(4 / 5, abs=1e-9)
    assert not found.mendings[0].proven
    assert found.paired
    assert any("pairs polished" in each for each in told)


def test_a_pair_settles_in_the_corner_of_two_bands() -> None:
    """p + q at most 3 and q at least 2, from (4, 4): (1, 2) costs 5; all else more or forbidden."""
    engine = total(
        quantity("p", 4.0, low=1.0, high=5.0),
        quantity("q", 4.0, low=0.0, high=4.0),
        upper=3.0,
        other=decision("E", serves=("RQ",)),
        band=requirement("RQ", "q", 2.0),
    )
    moved = first(mend(engine, "D", Plan()))
    assert moved == pytest.approx({"p": 1.0, "q": 2.0}, abs=1e-9)


def test_whole_numbers_pair_up_as_whole_numbers() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("n", 4, Kind.INTEGER, low=2, high=6),
        quantity("m", 4, Kind.INTEGER, low=2, high=6),
        quantity("out", None, Kind.INTEGER),
        requirement("R", "out", None, 5.0),
        use("C", "count", {"n": "n", "m": "m"}, {"out": "out"}),
    )
    found = mend(engine, "D", Plan(grid=8))
    assert first(found) == {"n": 2.0, "m": 2.0}
    assert found.mendings[0].cost == 1.0


def test_prices_decide_which_comes_first() -> None:
    def ranked(pricing: Pricing) -> list[str]:
        engine = total(
            quantity("p", 3.0, low=0.0, high=4.0),
            quantity("q", 4.0, low=0.0, high=8.0),
            upper=5.0,
        )
        found = mend(engine, "D", Plan(pricing=pricing))
        return [each.moves[0].mover.source.id for each in found.mendings]

    assert ranked(Pricing()) == ["q", "p"]
    assert ranked(Pricing({("q", ""): 5.0})) == ["p", "q"]


def test_a_rising_bill_costs_its_share_of_the_budget() -> None:
    """One more of `b` costs 10 EUR of 100; the unpriced way costs a quarter of its range."""
    toy = Toy(
        "bill",
        (port("a"), port("b")),
        (port("out"), port("bill", unit="money")),
        lambda a, b: {"out": a + b, "bill": 10 * b},
    )
    engine = engine_of(
        decision("D", serves=("R", "RM", "FREE")),
        quantity("a", 3.0, low=0.0, high=4.0),
        quantity("b", 3.0, low=0.0, high=20.0),
        quantity("out"),
        quantity("bill", unit=EUR),
        quantity("free", 1.0, unit=EUR),
        quantity("gone", unit=EUR),
        requirement("R", "out", 7.0),
        requirement("RM", "bill", None, 100.0),
        requirement("FREE", "free", 0.0, scale=None),
        requirement("MORE", "gone", None, 5.0),
        use("C", "bill", {"a": "a", "b": "b"}, {"out": "out", "bill": "bill"}),
        shelf=Shelf({"bill": toy}),
    )
    found = mend(engine, "D", Plan())
    costs = {each.moves[0].mover.source.id: each.cost for each in found.mendings}
    assert costs == pytest.approx({"a": 0.25, "b": 0.05 + 0.1}, abs=1e-9)
    assert sorted(each.money for each in found.mendings) == pytest.approx([0.0, 0.1], abs=1e-9)


def test_the_component_of_a_point_that_its_range_holds_moves() -> None:
    """The largest component counts: 2.5 is too much, and only z is within the range 1 to 3."""
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("p", (0.5, -0.5, 2.5), Kind.POINT, low=1.0, high=3.0, unit=METRE),
        quantity("n", unit=MM),
        requirement("R", "n", None, 2.0),
        use("C", "norm", {"p": "p"}, {"out": "n"}),
    )
    assert [each.source.part for each in movers(engine)] == ["z"]
    assert mend(engine, "D", Plan()).mendings[0].moves[0].to == pytest.approx(2.0, abs=1e-12)


def test_it_stops_when_asked_and_leaves_everything() -> None:
    engine = through(lambda x: {"out": 2 * x}, 1.0, (5.0, None), low=0.0, high=9.0)
    before = engine.state.slots.copy()
    with pytest.raises(CancelledError):
        mend(engine, "D", Plan(), cancel=lambda: True)
    assert engine.state.slots == before


def test_many_lines_go_through_in_several_passes() -> None:
    engine = total(
        quantity("p", 3.0, low=0.0, high=4.0),
        quantity("q", 4.0, low=0.0, high=8.0),
        upper=5.0,
    )
    told: list[str] = []
    found = mend(engine, "D", Plan(points=6000), progress=told.append)
    assert len(found.mendings) == 2
    assert told[0].startswith("6001 values looked at on 2 ranges")
