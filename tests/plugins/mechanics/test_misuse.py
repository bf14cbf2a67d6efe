"""Wrong shapes, codes and missing springs are refused by name."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.plugins.mechanics.samples import (
    ONE_PIECE,
    ONE_PIECE_SPRING,
    corner_of,
    loads_of,
    one_piece,
    spring_of,
)
from whybone_chassis.mechanics import axis as axes
from whybone_chassis.mechanics.assembly import assemble
from whybone_chassis.mechanics.corner import Spring
from whybone_chassis.mechanics.linkage import pose_at_spring, pose_at_travel
from whybone_chassis.mechanics.statics import balance
from whybone_chassis.mechanics.status import REASONS, Status
from whybone_chassis.mechanics.velocity import motion_ratio


def test_a_point_of_another_shape_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="upper_outer: give shape"):
        replace(corner_of(ONE_PIECE), upper_outer=np.zeros((1, 2)))


def test_fields_of_unequal_rows_are_refused() -> None:
    with pytest.raises(ValueError, match="same number of rows"):
        replace(corner_of(ONE_PIECE), loaded_radius=np.full(2, 345.0))


def test_an_unknown_spring_carrier_is_refused() -> None:
    with pytest.raises(ValueError, match="on: give 0"):
        Spring(np.zeros((1, 3)), np.ones((1, 3)), np.array([2]))


def test_a_spring_of_other_rows_is_refused() -> None:
    with pytest.raises(ValueError, match="spring: give 1 rows"):
        assemble(corner_of(ONE_PIECE), spring_of(ONE_PIECE_SPRING, count=2))


def test_positions_of_another_shape_are_refused() -> None:
    with pytest.raises(ValueError, match="give shape"):
        pose_at_travel(one_piece(), np.zeros((2, 2)), np.zeros(2))
    with pytest.raises(ValueError, match="broadcast"):
        pose_at_travel(one_piece(), np.zeros(2), np.zeros(3))


def test_what_needs_a_spring_says_so() -> None:
    pose = pose_at_travel(assemble(corner_of(ONE_PIECE)), np.zeros(1), np.zeros(1))
    assert pose.status[0] == Status.CLOSED
    assert np.isnan(pose.spring_length[0])
    assert np.isnan(motion_ratio(pose)[0])
    with pytest.raises(ValueError, match="spring"):
        pose_at_spring(pose.linkage, np.full(1, 400.0), np.zeros(1))
    with pytest.raises(ValueError, match="spring"):
        axes.steering_axis(pose)
    with pytest.raises(ValueError, match="spring"):
        balance(pose, loads_of(1, fz=5000.0))


def test_every_status_has_words() -> None:
    assert set(REASONS) == set(Status)
    assert all(REASONS[code] for code in Status if code is not Status.CLOSED)
