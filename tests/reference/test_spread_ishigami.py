"""Sensitivity indices of the Ishigami function, a = 7, b = 0.1 (closed form).

V = a²/8 + bπ⁴/5 + b²π⁸/18 + 1/2, V1 = (1 + bπ⁴/5)²/2, V2 = a²/8, V13 = b²π⁸ (1/18 − 1/50):
S1 = 0.3139, S2 = 0.4424, S13 = 0.2437. Ishigami and Homma, ISUMA '90 (1990), 398-403.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.reference.spreading import RECTANGULAR, function_of
from tracker.contract.check import Array
from tracker.explore.spread import Plan, spread

A, B = 7.0, 0.1
V1, V2 = (1 + B * math.pi**4 / 5) ** 2 / 2, A**2 / 8
V13 = B**2 * math.pi**8 * (1 / 18 - 1 / 50)
V = V1 + V2 + V13


def ishigami(x: Array, y: Array, z: Array) -> Array:
    return np.asarray(np.sin(x) + A * np.sin(y) ** 2 + B * z**4 * np.sin(x))


@pytest.mark.parametrize("seed", range(1, 9))
def test_first_order_and_total_indices(seed: int) -> None:
    engine = function_of(ishigami, [(0.0, math.pi, RECTANGULAR)] * 3, -5.0, 10.0)
    found = spread(engine, Plan(seed=seed, most=4096, owner_samples=16_384)).summaries[0]
    indices = {each.quantity: (each.first, each.total) for each in found.owners}
    assert indices["x0"] == pytest.approx((V1 / V, (V1 + V13) / V), abs=0.01)
    assert indices["x1"] == pytest.approx((V2 / V, V2 / V), abs=0.01)
    assert indices["x2"] == pytest.approx((0.0, V13 / V), abs=0.01)
    assert [each.quantity for each in found.owners] == ["x0", "x1", "x2"]


def test_the_closed_form_has_the_published_values() -> None:
    assert pytest.approx((0.3139, 0.4424, 0.2437), abs=5e-5) == (V1 / V, V2 / V, V13 / V)
    assert pytest.approx(A**2 / 8 + B * math.pi**4 / 5 + B**2 * math.pi**8 / 18 + 0.5) == V
