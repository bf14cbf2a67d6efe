"""Spread: what scatters, when it stops, what it says of the sure, the rare and the unknown."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.property.toy_checks import Shelf, Toy, port
from tests.reference.spreading import NORMAL, RECTANGULAR, TRIANGULAR, function_of
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.contract.check import Outputs, Problem
from tracker.errors import BadValueError, CancelledError
from tracker.evaluate.engine import Engine
from tracker.explore.scatter import Sampler, Scatter, scatters
from tracker.explore.sources import source_at
from tracker.explore.spread import Plan, spread
from tracker.model.records import Tolerance
from tracker.model.values import Kind

FEW = Plan(half_width=0.5, owner_samples=0)
TOLERANCE = Tolerance(half_width=1.0)


def total(*terms: Any) -> Any:  # noqa: ANN401 - arrays
    return sum(terms)


def test_the_same_seed_gives_the_same_answer() -> None:
    engine = function_of(total, [(0.0, 1.0, NORMAL)] * 2, -0.7, 0.7)
    one, same, other = (spread(engine, Plan(seed=seed)) for seed in (5, 5, 6))
    assert one == same
    assert one.chances != other.chances


def test_samples_are_added_until_enough_is_known() -> None:
    engine = function_of(total, [(0.0, 1.0, RECTANGULAR)] * 3, -0.7, 0.7)
    told: list[str] = []
    found = spread(engine, Plan(half_width=0.002, owner_samples=0), progress=told.append)
    assert found.reached
    assert found.samples == 4096 * 2 ** (len(told) - 1) > 4096
    assert told[0].startswith("4096 samples, probabilities known to ±")
    chance = found.chances[0]
    assert chance.high - chance.low <= 0.004
    assert chance.low <= chance.share <= chance.high


def test_it_stops_at_the_most_samples_and_says_so() -> None:
    engine = function_of(total, [(0.0, 1.0, RECTANGULAR)] * 3, -0.7, 0.7)
    found = spread(engine, Plan(half_width=1e-9, most=10_000, owner_samples=0))
    assert (found.samples, found.reached) == (8192, False)


def test_a_sure_thing_keeps_its_doubt() -> None:
    """Clopper and Pearson: none of n leaves 1 − 0.025^(1/n)."""
    engine = function_of(total, [(0.0, 1.0, RECTANGULAR)], -2.0, 2.0)
    chance = spread(engine, FEW).chances[0]
    assert (chance.share, chance.high) == (1.0, 1.0)
    assert 1 - chance.low == pytest.approx(1 - 0.025 ** (1 / 4096))
    broken = function_of(total, [(9.0, 1.0, RECTANGULAR)], -2.0, 2.0)
    chance = spread(broken, FEW).chances[0]
    assert (chance.share, chance.low) == (0.0, 0.0)
    assert chance.high == pytest.approx(1 - 0.025 ** (1 / 4096))


def test_one_value_alone_is_known_to_what_a_replicate_resolves() -> None:
    engine = function_of(total, [(0.0, 1.0, RECTANGULAR)], -0.5, 9.0)
    chance = spread(engine, FEW).chances[0]
    assert chance.low <= 0.75 <= chance.high
    assert 0 < chance.high - chance.low < 0.003


def test_a_decision_no_tolerance_reaches_is_sure() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        decision("E", serves=("S",)),
        decision("F"),
        quantity("q", 1.0, tolerance=TOLERANCE),
        quantity("r", 1.0),
        requirement("R", "q", upper=1.5),
        requirement("S", "r", upper=1.5),
    )
    found = {each.decision: each for each in spread(engine, FEW).chances}
    assert (found["E"].share, found["E"].low, found["E"].high) == (1.0, 1.0, 1.0)
    assert (found["F"].share, found["F"].low, found["F"].high) == (0.0, 0.0, 0.0)
    assert found["D"].share == pytest.approx(0.75, abs=0.001)


def test_what_scatters_and_what_does_not() -> None:
    engine = engine_of(
        decision("D"),
        quantity("q", 1.0, tolerance=TOLERANCE),
        quantity("p", (1.0, 2.0, 3.0), Kind.POINT, tolerance=TOLERANCE),
        quantity("n", 1, Kind.INTEGER, tolerance=TOLERANCE),
        quantity("gone", tolerance=TOLERANCE),
        quantity("exact", 1.0, tolerance=Tolerance(half_width=0.0)),
        quantity("y", tolerance=TOLERANCE),
        use("C", "halve", {"a": "q"}, {"out": "y"}),
    )
    drawn, idle = scatters(engine)
    assert [each.name for each in drawn] == [("q", ""), ("p", "x"), ("p", "y"), ("p", "z")]
    assert [each.id for each in idle] == ["n", "gone", "y"]


def test_nothing_scatters() -> None:
    with pytest.raises(BadValueError, match="nothing scatters"):
        spread(engine_of(decision("D"), quantity("q", 1.0)))


@pytest.mark.parametrize(
    ("shape", "quartile", "end"),
    [
        (NORMAL, 0.6744897501960817 / 2, math.inf),  # the quartile of a normal distribution
        (RECTANGULAR, 0.5, 1.0),
        (TRIANGULAR, 1 - math.sqrt(0.5), 1.0),
    ],
)
def test_quantiles_of_the_shapes(shape: Any, quartile: float, end: float) -> None:  # noqa: ANN401 - a shape
    engine = engine_of(quantity("q", 10.0))
    scatter = Scatter(source_at(engine, "q"), 2.0, shape)
    shares = np.array([0.25, 0.5, 0.75, 1.0])
    wanted = [10 - 2 * quartile, 10.0, 10 + 2 * quartile, 10 + 2 * end]
    assert scatter.values(shares).tolist() == pytest.approx(wanted)


def test_replicates_are_samples_of_their_own() -> None:
    engine = engine_of(quantity("q", 0.0))
    scatter = Scatter(source_at(engine, "q"), 1.0, NORMAL)
    samples = Sampler([scatter], 3, 4).draw(256)
    assert len({each.tobytes() for each in samples}) == 4
    assert all(np.isfinite(each).all() for each in samples)
    assert all(abs(each.std() - 0.5) < 0.01 for each in samples)


def test_correlated_pairs() -> None:
    """Var(x + y) = 2 u² (1 + r); P(|x + y| ≤ c) follows for normal tolerances."""
    engine = function_of(total, [(0.0, 2.0, NORMAL)] * 2, -2.0, 2.0)
    for r in (-0.6, 0.6):
        plan = Plan(correlated={(("x0", ""), ("x1", "")): r}, half_width=0.002)
        found = spread(engine, plan)
        deviation = math.sqrt(2 * (1 + r))
        assert found.summaries[0].deviation == pytest.approx(deviation, rel=0.01)
        exact = math.erf(2.0 / deviation / math.sqrt(2))
        assert found.chances[0].share == pytest.approx(exact, abs=0.004)
        assert found.chances[0].owners == found.summaries[0].owners == ()


def test_correlated_rectangular_tolerances_keep_their_ends() -> None:
    engine = function_of(lambda a, b: a - b, [(0.0, 1.0, RECTANGULAR)] * 2, -0.5, 0.5)
    plan = Plan(correlated={(("x0", ""), ("x1", "")): 0.999999}, owner_samples=0)
    found = spread(engine, plan)
    assert found.chances[0].share == 1.0  # they move as one


@pytest.mark.parametrize(
    ("pairs", "words"),
    [
        ({(("x0", ""), ("nobody", "z")): 0.5}, r"nobody\.z, correlated: it does not scatter"),
        ({(("x0", ""), ("x1", "")): 1.5}, "of x0, x1 contradict"),
        ({(("x0", ""), ("x1", "")): 0.9, (("x1", ""), ("x2", "")): -1.0}, "of x1, x2 contradict"),
        (
            {
                (("x0", ""), ("x1", "")): 0.9,
                (("x1", ""), ("x2", "")): 0.9,
                (("x0", ""), ("x2", "")): -0.9,
            },
            "of x0, x1, x2 contradict",
        ),
    ],
)
def test_correlations_that_cannot_be(pairs: Any, words: str) -> None:  # noqa: ANN401 - pairs
    engine = function_of(total, [(0.0, 1.0, NORMAL)] * 3, -1.0, 1.0)
    with pytest.raises(BadValueError, match=words):
        spread(engine, Plan(correlated=pairs))


def stated(**correlated: dict[str, float]) -> Engine:
    """y = a + b of two numbers, beside points p and r, and c that is exact."""
    toy = Toy("s", (port("a"), port("b")), (port("out"),), lambda a, b: {"out": a + b})
    scattering = Tolerance(half_width=2.0, shape=NORMAL)
    origin = (0.0, 0.0, 0.0)
    return engine_of(
        decision("D", serves=("R",)),
        quantity("a", 0.0, tolerance=scattering, correlated=correlated.get("a", {})),
        quantity("b", 0.0, tolerance=scattering),
        quantity("c", 0.0, correlated=correlated.get("c", {})),
        quantity("p", origin, Kind.POINT, tolerance=scattering, correlated=correlated.get("p", {})),
        quantity("r", origin, Kind.POINT, tolerance=scattering),
        quantity("y"),
        requirement("R", "y", -2.0, 2.0),
        use("C", "s", {"a": "a", "b": "b"}, {"out": "y"}),
        shelf=Shelf({"s": toy}),
    )


def test_correlations_of_the_records_count_and_can_be_replaced() -> None:
    """Var(a + b) = 2 u² (1 + r) with u = 1."""
    engine = stated(a={"b": 0.6})
    for told, r in (({}, 0.6), ({(("b", ""), ("a", "")): -0.6}, -0.6)):
        found = spread(engine, Plan(correlated=told, half_width=0.01))
        assert found.summaries[0].deviation == pytest.approx(math.sqrt(2 * (1 + r)), rel=0.02)
        assert found.correlated == {(("a", ""), ("b", "")): r}
        assert found.chances[0].owners == ()


def test_points_go_together_component_by_component() -> None:
    found = spread(stated(p={"r": 0.5, "a": 0.3}), Plan(half_width=0.1, owner_samples=0))
    pairs = {f"{a[0]}{a[1]} {b[0]}{b[1]}": r for (a, b), r in found.correlated.items()}
    same = {f"p{axis} r{axis}": 0.5 for axis in "xyz"}
    assert pairs == {**same, **{f"a p{axis}": 0.3 for axis in "xyz"}}
    with pytest.raises(BadValueError, match=r"of a, p\.x, p\.y, p\.z contradict"):
        spread(stated(p={"a": 0.6}), Plan(half_width=0.1))


def test_a_correlation_with_what_is_exact_says_nothing() -> None:
    found = spread(stated(c={"a": 0.5}), Plan(half_width=0.1, owner_samples=64))
    assert found.correlated == {}
    assert [each.id for each in found.unpaired] == ["c"]
    assert found.chances[0].owners


def partly_known() -> Engine:
    def function(x: Any) -> Outputs:  # noqa: ANN401 - an array
        return Outputs({"out": x * 1}, [Problem(x > 0.5, "no answer")])

    return engine_of(
        decision("D", serves=("R",)),
        quantity("x", 0.0, tolerance=TOLERANCE),
        quantity("y"),
        requirement("R", "y", lower=-0.5, scale=None),
        use("C", "f", {"x": "x"}, {"out": "y"}),
        shelf=Shelf({"f": Toy("f", (port("x"),), (port("out"),), function)}),
    )


def test_unknown_values_are_counted_apart() -> None:
    found = spread(partly_known(), Plan(half_width=0.5))
    summary = found.summaries[0]
    assert summary.unknown == pytest.approx(0.25, abs=1e-3)
    assert summary.missed == pytest.approx(0.25, abs=1e-3)
    assert found.chances[0].share == pytest.approx(0.5, abs=1e-3)
    assert sum(summary.counts) == round(0.75 * found.samples)
    assert summary.owners == ()  # a variance of values that are not all there owns nothing
    assert [each.quantity for each in found.chances[0].owners] == ["x"]


def test_a_value_that_is_never_known_has_no_distribution() -> None:
    def function(x: Any) -> Outputs:  # noqa: ANN401 - an array
        return Outputs({"out": x * 1}, [Problem(x == x, "no answer")])  # noqa: PLR0124 - all rows

    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("x", 0.0, tolerance=TOLERANCE),
        quantity("y"),
        requirement("R", "y", lower=-0.5),
        use("C", "f", {"x": "x"}, {"out": "y"}),
        shelf=Shelf({"f": Toy("f", (port("x"),), (port("out"),), function)}),
    )
    summary = spread(engine, FEW).summaries[0]
    assert summary.unknown == 1.0
    assert math.isnan(summary.mean)
    assert summary.counts == ()


def test_a_value_that_does_not_move_has_no_deviation_and_no_owner() -> None:
    engine = function_of(lambda x: x * 0 + 3.3, [(0.0, 1.0, NORMAL)], 0.0, 9.0)
    summary = spread(engine, Plan(half_width=0.5)).summaries[0]
    assert (summary.deviation, summary.owners) == (0.0, ())


def test_values_a_rounding_apart_share_one_bin() -> None:
    engine = function_of(lambda x: 3.3 + 1e-16 * np.sign(x), [(0.0, 1.0, NORMAL)], 0.0, 9.0)
    rounded = function_of(lambda x: 1 + 2e-16 * np.sign(x), [(0.0, 1.0, NORMAL)], 0.0, 9.0)
    for each in (engine, rounded):
        summary = spread(each, FEW).summaries[0]
        assert summary.counts == (4096,)


def test_a_value_that_moves_by_rounding_alone_fills_one_bin() -> None:
    engine = function_of(
        lambda x: np.where(x > 0, 0.15, np.nextafter(0.15, 1.0)), [(0.0, 1.0, NORMAL)], 0.0, 9.0
    )
    summary = spread(engine, FEW).summaries[0]
    assert len(summary.counts) == 1
    assert summary.edges[0] <= 0.15 < summary.edges[1]


def test_components_of_a_point_own_together() -> None:
    """y = p.x + p.y + q with unit variances: the point owns two thirds."""
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("p", (0.0, 0.0, 0.0), Kind.POINT, tolerance=TOLERANCE),
        quantity("q", 0.0, tolerance=TOLERANCE),
        *(quantity(each) for each in ("s", "y")),
        requirement("R", "y", upper=1.0),
        use("S", "add", {"a": "p|x", "b": "p|y"}, {"out": "s"}),
        use("Y", "add", {"a": "s", "b": "q"}, {"out": "y"}),
    )
    owners = spread(engine, Plan(half_width=0.5)).summaries[0].owners
    assert [each.quantity for each in owners] == ["p", "q"]
    assert owners[0].total == pytest.approx(2 / 3, abs=0.02)
    assert owners[1].first == pytest.approx(1 / 3, abs=0.02)


def test_it_can_be_stopped_while_it_samples_and_while_it_looks_for_owners() -> None:
    engine = function_of(total, [(0.0, 1.0, NORMAL)] * 2, -9.0, 9.0)
    with pytest.raises(CancelledError):
        spread(engine, cancel=lambda: True)
    told: list[str] = []
    with pytest.raises(CancelledError):
        spread(engine, progress=told.append, cancel=lambda: bool(told))
    assert len(told) == 1
    told.clear()
    spread(engine, Plan(owner_samples=2048), progress=told.append)
    assert told[-2:] == [
        "whose scatter it is: 1024 of 2048 base samples",
        "whose scatter it is: 2048 of 2048 base samples",
    ]
