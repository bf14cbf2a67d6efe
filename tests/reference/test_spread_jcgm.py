"""Propagation of distributions against JCGM 101:2008, section 9.2 (additive model), and a stack-up.

The values of section 9.2 are recalled from memory and re-derived: four standard normal inputs give
u = 2 and ±3.92 at 95 %; four rectangular ones of unit standard deviation ±3.88, which is
2√3 (2 − (3/5)^¼); with one of them ten times as wide u = 10.15 and ±17.0, where the first-order
law of uncertainty propagation gives ±19.9.
"""

from __future__ import annotations

import math

import pytest
from scipy.stats import norm

from tests.reference.closed_forms import within_rectangular_sum
from tests.reference.spreading import NORMAL, RECTANGULAR, TRIANGULAR, Input, function_of
from tracker.explore.spread import Plan, Spread, spread

UNIT_NORMAL: Input = (0.0, 2.0, NORMAL)  # ± is two standard deviations
UNIT_RECTANGULAR: Input = (0.0, math.sqrt(3), RECTANGULAR)
WIDE_RECTANGULAR: Input = (0.0, 10 * math.sqrt(3), RECTANGULAR)
PLAN = Plan(half_width=0.0015, owner_samples=0)
ALL = Plan(half_width=1e-6, most=131_072, owner_samples=0)


def summed(inputs: tuple[Input, ...], end: float, plan: Plan) -> Spread:
    return spread(function_of(lambda *x: sum(x), inputs, -end, end), plan)


@pytest.mark.parametrize(
    ("inputs", "uncertainty", "end"),
    [
        ((UNIT_NORMAL,) * 4, 2.0, 3.92),  # 9.2.2
        ((UNIT_RECTANGULAR,) * 4, 2.0, 3.88),  # 9.2.3
        ((*(UNIT_RECTANGULAR,) * 3, WIDE_RECTANGULAR), 10.15, 17.0),  # 9.2.4
    ],
)
def test_uncertainty_and_interval(
    inputs: tuple[Input, ...], uncertainty: float, end: float
) -> None:
    found = summed(inputs, end, ALL).summaries[0]
    assert found.deviation == pytest.approx(uncertainty, abs=0.006)
    assert found.mean == pytest.approx(0.0, abs=0.01)
    assert (found.low, found.high) == pytest.approx((-end, end), abs=0.03)


def test_the_rectangular_end_is_the_closed_form() -> None:
    assert 2 * math.sqrt(3) * (2 - (3 / 5) ** 0.25) == pytest.approx(3.88, abs=0.005)


@pytest.mark.parametrize(
    ("inputs", "end", "exact"),
    [
        ((UNIT_NORMAL,) * 4, 3.92, 2 * norm.cdf(3.92 / 2) - 1),
        ((UNIT_NORMAL,) * 4, 1.0, 2 * norm.cdf(0.5) - 1),
        ((UNIT_RECTANGULAR,) * 4, 3.88, within_rectangular_sum([math.sqrt(3)] * 4, 3.88)),
        (
            (*(UNIT_RECTANGULAR,) * 3, WIDE_RECTANGULAR),
            17.0,
            within_rectangular_sum([math.sqrt(3)] * 3 + [10 * math.sqrt(3)], 17.0),
        ),
    ],
)
def test_probability_to_stand(inputs: tuple[Input, ...], end: float, exact: float) -> None:
    found = summed(inputs, end, PLAN)
    chance = found.chances[0]
    assert found.reached
    assert chance.high - chance.low <= 0.003 + 1e-12
    assert chance.share == pytest.approx(exact, abs=0.002)
    assert found.summaries[0].missed == pytest.approx(1 - chance.share)


def test_one_triangular_tolerance() -> None:
    """P(|x| ≤ h/2) of a symmetric triangular distribution is 3/4 (areas)."""
    found = spread(function_of(lambda x: x, [(5.0, 2.0, TRIANGULAR)], 4.0, 6.0), ALL)
    assert found.chances[0].share == pytest.approx(0.75, abs=0.001)
    assert found.summaries[0].deviation == pytest.approx(2 / math.sqrt(6), abs=1e-3)


def test_stack_up_of_a_bolted_joint() -> None:
    """Shigley, Mechanical Engineering Design, example 1-7.

    The gap a − b − c − d of 1.750 ± 0.003, 0.750 ± 0.001, 0.120 ± 0.005 and 0.875 ± 0.001 in is
    0.005 ± 0.010 in: at the worst the parts interfere by 0.005 in.
    """
    parts = [(1.750, 0.003), (0.750, 0.001), (0.120, 0.005), (0.875, 0.001)]
    inputs = [(size, tolerance, RECTANGULAR) for size, tolerance in parts]
    engine = function_of(lambda a, b, c, d: a - b - c - d, inputs, 0.0, 0.015)
    found = spread(engine, ALL)
    gap = found.summaries[0]
    assert gap.mean == pytest.approx(0.005, abs=1e-5)
    assert gap.edges[0] == pytest.approx(-0.005, abs=0.0008)
    assert gap.edges[-1] == pytest.approx(0.015, abs=0.0008)
    assert -0.005 < gap.edges[0] < gap.edges[-1] < 0.015
    halves = [tolerance for _, tolerance in parts]
    touching = (1 - within_rectangular_sum(halves, 0.005)) / 2
    assert found.chances[0].share == pytest.approx(1 - touching, abs=0.0015)
