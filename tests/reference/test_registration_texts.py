"""Registration against published point sets and a published screw."""

from __future__ import annotations

import math

import numpy as np
import pytest

from whybone_chassis.mechanics.registration import Motion, register, screw_of

# Kabsch case of the test suite of Biopython (read).
SOURCE = [
    (51.65, -1.90, 50.07),
    (50.40, -1.23, 50.65),
    (50.68, -0.04, 51.54),
    (50.22, -0.02, 52.85),
]
TARGET = [
    (51.30, -2.99, 46.54),
    (51.09, -1.88, 47.58),
    (52.36, -1.20, 48.03),
    (52.71, -1.18, 49.38),
]


def test_root_mean_square_of_the_published_point_sets() -> None:
    source, target = np.array([SOURCE]), np.array([TARGET])
    gaps = register(source, target).points(source) - target
    assert math.sqrt((gaps**2).sum() / 4) == pytest.approx(0.00304266526, abs=5e-12)


def frame(angle: float, x: float, y: float) -> tuple[np.ndarray, np.ndarray]:
    turn = math.radians(angle)
    cosine, sine = math.cos(turn), math.sin(turn)
    rotation = np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    return rotation, np.array([x, y, 0.0])


def test_published_screw_of_a_planar_motion() -> None:
    """SciPy's rigid-transform test, after Lynch & Park, Modern Robotics, Example 3.26 (read).

    From the frame turned by 30° at (1, 2) to the one turned by 60° at (2, 1): a turn of 30° about
    (3.366, 3.366), pitch 0. The points are fixed to the moving frame.
    """
    points = np.random.default_rng(1).uniform(-1, 1, (1, 5, 3))
    (before, start), (after, end) = frame(30.0, 1.0, 2.0), frame(60.0, 2.0, 1.0)
    motion = register(points @ before.T + start, points @ after.T + end)
    screw = screw_of(motion)
    assert np.degrees(screw.angle[0]) == pytest.approx(30.0, abs=1e-10)
    assert screw.axis[0] == pytest.approx((0.0, 0.0, 1.0), abs=1e-12)
    assert screw.point[0] == pytest.approx((3.366, 3.366, 0.0), abs=5e-4)
    assert screw.slide[0] == pytest.approx(0.0, abs=1e-12)  # pitch 0
    assert isinstance(motion, Motion)
