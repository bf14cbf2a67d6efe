"""How often the stated interval of a probability holds the exact one, over seeds fixed beforehand.

The whole test, 2,000 seeds a case, runs with WHYBONE_LONG=1; otherwise a part of it does.
"""

from __future__ import annotations

import math
import os

import pytest
from scipy.stats import norm

from tests.reference.closed_forms import within_rectangular_sum
from tests.reference.spreading import NORMAL, RECTANGULAR, Input, function_of
from tracker.explore.spread import Plan, spread

LONG = bool(os.environ.get("WHYBONE_LONG"))
SEEDS = range(2000) if LONG else range(200)
LEAST, MOST = (0.935, 0.965) if LONG else (0.90, 0.985)  # three standard errors wider for fewer

N: Input = (0.0, 2.0, NORMAL)
R: Input = (0.0, math.sqrt(3), RECTANGULAR)
W: Input = (0.0, 10 * math.sqrt(3), RECTANGULAR)
ROOT = math.sqrt(3)
CASES = {
    "JCGM 101, 9.2.2": ([N] * 4, -3.92, 3.92, 2 * norm.cdf(1.96) - 1),
    "JCGM 101, 9.2.3": ([R] * 4, -3.88, 3.88, within_rectangular_sum([ROOT] * 4, 3.88)),
    "JCGM 101, 9.2.4": (
        [R, R, R, W],
        -17.0,
        17.0,
        within_rectangular_sum([ROOT] * 3 + [10 * ROOT], 17.0),
    ),
    "off centre": ([N] * 4, -1.0, 5.0, norm.cdf(2.5) - norm.cdf(-0.5)),
}


@pytest.mark.parametrize("name", CASES)
def test_the_interval_covers_as_often_as_it_says(name: str) -> None:
    inputs, lower, upper, exact = CASES[name]
    engine = function_of(lambda *x: sum(x), inputs, lower, upper)
    covered = 0
    for seed in SEEDS:
        chance = spread(engine, Plan(seed=seed, owner_samples=0)).chances[0]
        covered += chance.low <= exact <= chance.high
    assert LEAST <= covered / len(SEEDS) <= MOST
