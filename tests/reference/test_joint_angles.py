"""Cross joints against published numbers."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.plugins.corner_rows import answer
from tests.plugins.test_joint_angles import ONE_PIECE, straight_column
from whybone_chassis.joint_angles import CHECK


def found(row: dict[str, Any]) -> float:
    return float(answer(CHECK, row).values["speed_ripple"][0])


@pytest.mark.parametrize(
    ("bent", "low", "high"), [(10.0, 0.985, 1.015), (20.0, 0.940, 1.064), (30.0, 0.866, 1.155)]
)
def test_speed_of_a_single_cross_joint(bent: float, low: float, high: float) -> None:
    """Rattan, Theory of Machines, universal joint: cos β and 1/cos β (recalled)."""
    assert np.cos(np.radians(bent)) == pytest.approx(low, abs=5e-4)
    assert found(ONE_PIECE | straight_column(bent, 0.0)) == pytest.approx(
        100.0 * (high - low), abs=0.1
    )


def test_double_joint_of_equal_angles_runs_evenly() -> None:
    """Rattan, double universal joint: even when angles are equal, inner yokes parallel (recalled).

    With the inner yokes crossed the speed ratio lies between cos² β and 1/cos² β.
    """
    equal = ONE_PIECE | straight_column(30.0, 30.0)
    assert found(equal) == pytest.approx(0.0, abs=1e-12)
    crossed = found(equal | {"yoke_phase": 90.0})
    assert crossed == pytest.approx(100.0 * (4.0 / 3.0 - 3.0 / 4.0), rel=1e-12)
