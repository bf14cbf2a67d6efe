"""Headroom: ends, what breaks there, discrete values, open sides, stopping."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.property.planted import Trendy
from tests.property.toy_checks import Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.contract.check import Outputs, Problem
from tracker.errors import CancelledError
from tracker.evaluate.engine import Engine
from tracker.explore.headroom import Allowed, End, Headroom, headroom
from tracker.explore.lines import Line
from tracker.explore.sources import pickables, source_at, sources_at
from tracker.model.records import Tolerance
from tracker.model.values import Kind


def of(engine: Engine, key: str, part: str = "", **more: Any) -> Headroom:  # noqa: ANN401 - options
    return headroom(engine, [source_at(engine, key, part)], **more)[0]


def judged_directly(value: float, lower: float, upper: float, **more: Any) -> Engine:  # noqa: ANN401 - fields
    return engine_of(
        decision("D", serves=("R",)),
        quantity("q", value, **more),
        requirement("R", "q", lower, upper),
    )


def through(function: Any, value: float, upper: float, trends: Any = None, **more: Any) -> Engine:  # noqa: ANN401 - a check
    ports = (port("x"),), (port("out"),)
    toy = Trendy("f", *ports, function, trends=trends) if trends else Toy("f", *ports, function)
    return engine_of(
        decision("D", serves=("R",)),
        quantity("q", value, **more),
        quantity("y"),
        requirement("R", "y", upper=upper),
        use("C", "f", {"x": "q"}, {"out": "y"}),
        shelf=Shelf({"f": toy}),
    )


def test_a_quantity_judged_itself_is_exact_and_certified() -> None:
    found = of(judged_directly(3.0, 1.0, 5.0), "q")
    assert (found.low.at, found.high.at, found.certified) == (1.0, 5.0, True)
    assert (found.low.breaks, found.high.breaks) == (("D",), ("D",))
    assert found.low.judges == (0,)
    assert found.low.beyond == np.nextafter(1.0, 0.0)
    assert found.resolution is None


def test_a_range_ends_the_interval_where_nothing_breaks() -> None:
    found = of(judged_directly(3.0, 1.0, 5.0, low=2.0, high=4.0), "q")
    assert (found.low, found.high) == (End(2.0), End(4.0))


def test_a_present_value_outside_its_range_is_looked_at_too() -> None:
    found = of(judged_directly(3.0, 1.0, 5.0, low=3.5, high=4.0), "q")
    assert (found.low, found.high) == (End(3.0), End(4.0))


def test_a_loosened_bound_never_breaks() -> None:
    lower, upper = headroom(engine := judged_directly(3.0, 1.0, 5.0), sources_at(engine, "R"))
    assert (lower.low, lower.high.at) == (End(None), 3.0)
    assert (upper.low.at, upper.high) == (3.0, End(None))


def test_nothing_depends_on_it() -> None:
    engine = engine_of(decision("D"), quantity("q", 0.0), quantity("r", 0.0, low=-1.0))
    found = of(engine, "q")
    assert (found.low, found.high, found.certified, found.decisions) == (
        End(None),
        End(None),
        True,
        (),
    )
    assert of(engine, "r").low == End(-1.0)


def test_a_broken_decision_has_no_headroom_to_lose() -> None:
    engine = judged_directly(9.0, 1.0, 5.0)
    assert of(engine, "q").decisions == ()


def test_an_open_side_is_looked_at_as_far_as_the_value_is_large() -> None:
    found = of(through(lambda x: {"out": x * 0}, 3.0, 1.0), "q", points=6)
    assert (found.low, found.high, found.certified) == (End(0.0), End(6.0), False)
    assert found.resolution == pytest.approx(1.0)


def test_an_open_certified_side_is_looked_at_however_far() -> None:
    engine = through(lambda x: {"out": x}, 3.0, 1e12, {("out", "x"): 1})
    found = of(engine, "q")
    assert (found.low, found.high.at, found.certified) == (End(None), 1e12, True)


def test_a_tolerance_tells_the_size_of_a_zero() -> None:
    engine = through(lambda x: {"out": x}, 0.0, 3.0, tolerance=Tolerance(half_width=4.0))
    assert of(engine, "q").high.at == pytest.approx(3.0, abs=1e-12)
    assert of(through(lambda x: {"out": x}, 0.0, 3.0), "q").high == End(1.0)


def test_a_zero_flip_is_found_without_going_down_to_the_smallest_floats() -> None:
    found = of(through(lambda x: {"out": -x}, 1.0, 0.0, low=-1.0, high=2.0), "q")
    assert abs(found.low.at or 0.0) < 1e-15
    assert found.low.breaks == ("D",)


def test_where_the_value_becomes_unknown_nothing_else_is_to_blame() -> None:
    def function(x: Any) -> Outputs:  # noqa: ANN401 - an array
        return Outputs({"out": x * 0}, [Problem(x > 5, "no answer")])

    found = of(through(function, 3.0, 1.0, low=0.0, high=9.0), "q")
    assert found.high.at == 5.0
    assert found.high.judges == (0,)


def test_a_check_nothing_judges_still_ends_the_interval() -> None:
    def function(x: Any) -> Outputs:  # noqa: ANN401 - an array
        return Outputs({"out": x * 0}, [Problem(x > 5, "no answer")])

    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("q", 3.0, low=0.0, high=9.0),
        quantity("r", 1.0),
        quantity("y"),
        requirement("R", "r", upper=2.0),
        use("C", "f", {"x": "q"}, {"out": "y"}),
        shelf=Shelf({"f": Toy("f", (port("x"),), (port("out"),), function)}),
    )
    found = of(engine, "q")
    assert (found.high.at, found.high.breaks, found.high.judges) == (5.0, ("D",), ())


def test_the_first_of_several_decisions_is_named() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        decision("E", serves=("S",)),
        decision("F", serves=("S",)),
        quantity("q", 3.0),
        requirement("R", "q", upper=5.0),
        requirement("S", "q", upper=4.0),
    )
    found = of(engine, "q")
    assert (found.high.at, found.high.breaks) == (4.0, ("E", "F"))
    assert [(each.decision, each.high.at) for each in found.decisions] == [
        ("D", 5.0),
        ("E", 4.0),
        ("F", 4.0),
    ]


def test_whole_numbers_are_tried_one_by_one() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("n", 3, Kind.INTEGER, low=0.5, high=20.0),
        quantity("m", 2, Kind.INTEGER),
        quantity("out", kind=Kind.INTEGER),
        quantity("whole", kind=Kind.INTEGER),
        requirement("R", "out", upper=11),
        use("C", "count", {"n": "n", "m": "m"}, {"out": "out", "whole": "whole"}),
    )
    found = of(engine, "n")
    assert (found.low, found.high.at, found.high.beyond) == (End(1.0), 5.0, 6.0)
    assert (found.certified, found.resolution) == (True, None)


def test_many_whole_numbers_are_sampled_and_closed_in_on() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("n", 3000, Kind.INTEGER, low=0.0, high=1e6),
        quantity("m", 2, Kind.INTEGER),
        quantity("out", kind=Kind.INTEGER),
        requirement("R", "out", upper=654_321),
        use("C", "count", {"n": "n", "m": "m"}, {"out": "out"}),
    )
    rules = [each.id for each in engine.graph.judges]
    assert rules == ["R", "C", "C"]
    found = headroom(engine_without_rules(engine), [source_at(engine, "n")])[0]
    assert (found.high.at, found.high.beyond) == (327_160.0, 327_161.0)
    assert not found.certified
    assert found.resolution is not None
    assert found.resolution > 1


def engine_without_rules(engine: Engine) -> Engine:
    """Return the programme with a plain product, which carries no rules."""
    toy = Toy(
        "count",
        (port("n", Kind.INTEGER), port("m", Kind.INTEGER)),
        (port("out", Kind.INTEGER),),
        lambda n, m: {"out": n * m},
    )
    return Engine(Shelf({"count": toy}), engine.programme)


def test_choices_and_flags_are_tried_one_by_one() -> None:
    engine = engine_of(
        decision("D", serves=("R", "S")),
        decision("E", serves=("S",)),
        quantity("c", "mid", Kind.CHOICE, choices=("low", "mid", "high")),
        quantity("f", value=True, kind=Kind.FLAG),
        requirement("R", "c", allowed=("mid", "high")),
        requirement("S", "f", allowed=("yes",)),
    )
    choice, flag = headroom(engine, [source_at(engine, "c"), source_at(engine, "f")])
    assert (choice.kept, choice.lost) == (("mid", "high"), ("low",))
    assert (flag.kept, flag.lost) == ((True,), (False,))
    assert choice.certified
    assert choice.allowed == (Allowed("D", ("mid", "high"), ("low",)),)
    assert flag.allowed == tuple(Allowed(each, (True,), (False,)) for each in ("D", "E"))


def test_choices_and_flags_with_a_value_that_none_computes_can_be_picked() -> None:
    engine = engine_of(
        quantity("c", "mid", Kind.CHOICE, choices=("low", "mid")),
        quantity("f", value=False, kind=Kind.FLAG),
        quantity("g", kind=Kind.FLAG),
        quantity("x", 1.0),
    )
    assert [(each.id, each.value) for each in pickables(engine)] == [("c", "mid"), ("f", False)]


def test_a_choice_that_breaks_nothing_allows_everything() -> None:
    engine = engine_of(quantity("c", "mid", Kind.CHOICE, choices=("low", "mid")))
    (found,) = headroom(engine, [source_at(engine, "c")])
    assert (found.kept, found.lost, found.allowed) == (("low", "mid"), (), ())


def test_two_dips_of_different_requirements_are_both_seen() -> None:
    """The dip of one margin hides behind another margin that is lower all along."""
    toy = Toy("f", (port("x"),), (port("out"),), lambda x: {"out": (x - 0.4567) ** 2})
    engine = engine_of(
        decision("D", serves=("R", "S")),
        quantity("q", 0.9, low=0.0, high=1.0),
        quantity("y"),
        quantity("s", 1.0),
        requirement("R", "y", lower=1e-10),
        requirement("S", "s", upper=1.0),  # margin 0 everywhere
        use("C", "f", {"x": "q"}, {"out": "y"}),
        shelf=Shelf({"f": toy}),
    )
    assert of(engine, "q").low.at == pytest.approx(0.4567 + 1e-5, abs=1e-9)


def test_progress_is_told_and_stopping_heard() -> None:
    engine = through(lambda x: {"out": x}, 3.0, 5.0)
    told: list[str] = []
    of(engine, "q", progress=told.append)
    assert told[0] == "129 values looked at on 1 lines, 1 open"
    with pytest.raises(CancelledError):
        of(engine, "q", cancel=lambda: True)


def test_many_lines_go_in_passes_of_a_bounded_size(monkeypatch: pytest.MonkeyPatch) -> None:
    engine = judged_directly(3.0, 1.0, 5.0)
    sources = [source_at(engine, "q")] * 3
    wanted = headroom(engine, sources)
    monkeypatch.setattr("tracker.explore.passes._MOST", 20)
    assert headroom(engine, sources) == wanted


def test_an_upside_down_parabola_has_no_lowest_point() -> None:
    from tracker.explore.lines import _vertex

    assert not len(_vertex(np.array([0.0, 1.0, 2.0]), np.array([1.0, 2.0, 1.0])))
    assert _vertex(np.array([0.0, 1.0, 2.0]), np.array([1.0, 0.0, 1.0]))[1] == 1.0


def test_a_line_without_samples_is_a_mistake() -> None:
    engine = judged_directly(3.0, 1.0, 5.0)
    from tracker.explore.trends import reach_of

    source = source_at(engine, "q")
    with pytest.raises(AssertionError):
        _ = Line(source, reach_of(engine, source), [], [], 0.0, 1.0, 1.0).samples
