"""Wheel load cases against published figures."""

from __future__ import annotations

import numpy as np
import pytest

from whybone_chassis.vehicle_loads_cases import step_slope

# Brown, Robertson & Serpento, Motor Vehicle Structures, p. 22 (read): longitudinal bump,
# sin θ = 1 − H/R, horizontal over vertical load for step over radius.
LONGITUDINAL_BUMP = [(0.1, 0.48), (0.25, 0.88), (0.293, 1.00), (0.5, 1.73), (0.75, 3.87)]


@pytest.mark.parametrize(("step", "ratio"), LONGITUDINAL_BUMP)
def test_longitudinal_bump_table(step: float, ratio: float) -> None:
    slope = step_slope(np.array([step * 345.0]), np.array([345.0]))
    assert slope[0] == pytest.approx(ratio, abs=0.005)
