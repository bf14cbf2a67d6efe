"""The points laid in one plane: a four-bar linkage, whose angles have a closed form.

Freudenstein's equation as in Norton, *Design of Machinery*, ch. 4 (angles of the open circuit);
values of problem 4-1 row a and example 4-1: inputs read, outputs recalled from memory.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.plugins.mechanics.samples import Point, corner_of
from whybone_chassis.mechanics.assembly import assemble
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray

Bars = tuple[float, float, float, float]


def _closed_form(bars: Bars, crank: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Angles (rad) of coupler and rocker, open circuit."""
    a, b, c, d = bars
    k1, k2, k3 = d / a, d / c, (a * a - b * b + c * c + d * d) / (2 * a * c)
    k4, k5 = d / b, (c * c - d * d - a * a - b * b) / (2 * a * b)
    cosine, sine = np.cos(crank), -2.0 * np.sin(crank)

    def half_angle(p: FloatArray, q: FloatArray, r: FloatArray) -> FloatArray:
        angle: FloatArray = 2.0 * np.arctan((-q - np.sqrt(q * q - 4 * p * r)) / (2 * p))
        return angle

    rocker = half_angle(cosine - k1 - k2 * cosine + k3, sine, k1 - (k2 + 1) * cosine + k3)
    coupler = half_angle(cosine - k1 + k4 * cosine + k5, sine, k1 + (k4 - 1) * cosine + k5)
    return coupler, rocker


def _posed(bars: Bars, start: float, crank: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Angles (rad) of coupler and rocker from the linkage, its crank turned from `start`."""
    a, _, c, d = bars
    _, rocker = _closed_form(bars, np.array(start))
    lower = (float(a * np.cos(start)), float(a * np.sin(start)))
    upper = (float(d + c * np.cos(rocker)), float(c * np.sin(rocker)))

    def at(x: float, place: tuple[float, float]) -> Point:
        return (x, *place)

    points: dict[str, Point] = {
        "upper_front_inner": at(c / 4, (d, 0)),
        "upper_rear_inner": at(-c / 4, (d, 0)),
        "upper_outer": at(0, upper),
        "lower_front_inner": at(a / 2, (0, 0)),
        "lower_front_outer": at(0, lower),
        "lower_rear_inner": at(-a / 2, (0, 0)),
        "lower_rear_outer": at(0, lower),
        "tie_rod_inner": at(-c / 3, (d, 0)),
        "tie_rod_outer": at(-c / 3, upper),
        "wheel_centre": at(0, lower),
    }
    travel = a * np.sin(crank) - a * np.sin(start)
    pose = pose_at_travel(assemble(corner_of(points)), travel, np.zeros_like(crank))
    assert np.all(pose.status == Status.CLOSED)
    out_of_plane = np.abs(pose.upper_outer[:, 0]) + np.abs(pose.lower_front_outer[:, 0])
    assert np.all(out_of_plane < 1e-9)
    bar = pose.upper_outer - pose.lower_front_outer
    arm = pose.upper_outer - np.array([0.0, d, 0.0])
    return np.arctan2(bar[:, 2], bar[:, 1]), np.arctan2(arm[:, 2], arm[:, 1])


@pytest.mark.parametrize("bars", [(100.0, 350.0, 450.0, 300.0), (200.0, 600.0, 400.0, 500.0)])
def test_planar_poses_equal_the_closed_form(bars: Bars) -> None:
    crank = np.radians(np.arange(20.0, 76.0, 5.0))
    expected = _closed_form(bars, crank)
    got = _posed(bars, np.radians(50.0), crank)
    worst = max(float(np.abs(e - g).max()) for e, g in zip(expected, got, strict=True))
    print(f"four-bar {bars}: {worst:.1e} rad")
    assert worst < 1e-9


@pytest.mark.parametrize(
    ("bars", "crank", "coupler", "rocker"),
    [((2.0, 7.0, 9.0, 6.0), 30.0, 88.84, 117.29), ((40.0, 120.0, 80.0, 100.0), 40.0, 20.30, 57.33)],
)
def test_planar_poses_give_the_published_angles(
    bars: Bars, crank: float, coupler: float, rocker: float
) -> None:
    scaled = tuple(50.0 * bar for bar in bars)
    got = _posed(scaled, np.radians(55.0), np.radians([crank]))  # type: ignore[arg-type]  # four bars stay four
    assert np.degrees(got[0][0]) == pytest.approx(coupler, abs=0.006)
    assert np.degrees(got[1][0]) == pytest.approx(rocker, abs=0.006)
