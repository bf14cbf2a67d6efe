"""Figures of the corner checks stay drawable where a corner has no answer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest

from tests.plugins import (
    test_ball_joint_moment,
    test_brake_package,
    test_camber_travel,
    test_joint_angles,
    test_ratio_band,
    test_roll_steer,
    test_steering_axis,
)
from tests.plugins.joint_force_reference import MIXED, ON_CARRIER
from tracker.contract.kit import PROMISES, Row, Subject

MODULES: dict[str, Any] = {
    "ball-joint-moment": test_ball_joint_moment,
    "brake-package": test_brake_package,
    "camber-travel": test_camber_travel,
    "joint-angles": test_joint_angles,
    "ratio-band": test_ratio_band,
    "roll-steer": test_roll_steer,
    "steering-axis": test_steering_axis,
}
TABLES: dict[str, dict[str, Sequence[Sequence[Any]]]] = {
    "ball-joint-moment": {
        "load_cases": MIXED,
        "carrier_forces": ON_CARRIER,
    },
    "brake-package": {"barrel": test_brake_package.BARREL, "caliper": test_brake_package.CALIPER},
}


@pytest.mark.parametrize("name", MODULES)
def test_degenerate_rows_draw_nothing_wrong(name: str) -> None:
    module = MODULES[name]
    draw: Callable[[np.random.Generator], Row] = module.draw
    good = draw(np.random.default_rng(2))
    for bad in module.DEGENERATE:
        tables = {key: cells for key, cells in bad.items() if key in TABLES.get(name, {})}
        row = {**good, **{key: each for key, each in bad.items() if key not in tables}}
        subject = Subject(check=module.CHECK, rows=[row], tables={**TABLES.get(name, {}), **tables})
        PROMISES["figures-drawable"](subject)
