"""The numbers of the demo programme hang together: each is worked out a second way.

The formulas are common practice or elementary mechanics; the toe and roll-steer values are held
against the project's own linkage, so that they cannot drift from the points.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import numpy as np
import pytest

from tracker.model.records import Decision, Quantity
from tracker.services.item import item_page
from tracker.services.session import Session
from whybone_chassis.mechanics.assembly import Linkage, assemble
from whybone_chassis.mechanics.corner import LOWER_FRONT, Corner, Spring
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.velocity import motion_ratio, per_travel, wheel_rates

G = 9.80665  # m/s², standard acceleration of free fall, ISO 80000-3
POINTS = (
    "upper_front_inner",
    "upper_rear_inner",
    "upper_outer",
    "lower_front_inner",
    "lower_front_outer",
    "lower_rear_inner",
    "lower_rear_outer",
    "wheel_centre",
)


def value(session: Session, key: str) -> Any:  # noqa: ANN401 - whatever kind the quantity has
    return item_page(session, key).value


def stated(session: Session, decision: str) -> dict[str, dict[str, Any]]:
    """Option → quantity → value of a decision."""
    record = session.programme.named(decision, Decision)
    return {
        option.key: {
            session.programme.at(each, Quantity).key: setting.value
            for each, setting in option.settings.items()
        }
        for option in record.options
    }


def linkage(session: Session, option: dict[str, Any], arm: dict[str, Any]) -> Linkage:
    points = {each: arm.get(each) or value(session, each) for each in POINTS}
    points |= {each: option[each] for each in ("tie_rod_inner", "tie_rod_outer")}
    rows = {each: np.array([point], dtype=float) for each, point in points.items()}
    wheel = {
        each: np.array([value(session, each)])
        for each in ("loaded_radius", "static_camber", "static_toe")
    }
    lower, upper = (np.array([arm[each]], dtype=float) for each in ("spring_lower", "spring_upper"))
    on = np.array([LOWER_FRONT])
    return assemble(Corner(**rows, **wheel), Spring(lower=lower, upper=upper, on=on))


def test_masses_add_up(demo: Session) -> None:
    assert value(demo, "gross_front") + value(demo, "gross_rear") == value(demo, "gross_mass")
    assert value(demo, "front_share") == pytest.approx(950 / 1800, abs=5e-5)


def test_load_cases_follow_from_the_gross_mass(demo: Session) -> None:
    cases = {row[0]: row[2:5] for row in value(demo, "load_cases")}
    static = cases["static"][2]
    height, base, gross = (value(demo, each) for each in ("cg_height", "wheelbase", "gross_mass"))
    assert static == pytest.approx(value(demo, "gross_front") / 2 * G, rel=1e-3)
    assert cases["bump, 3 g"][2] == 3 * static
    braking = cases["braking"]
    assert -braking[0] == pytest.approx(0.9 * braking[2], rel=1e-3)
    assert braking[2] == pytest.approx(static + gross * 0.67 * G * height / base / 2, rel=5e-3)
    cornering = cases["outer wheel in cornering"]
    assert -cornering[1] == pytest.approx(0.85 * cornering[2], rel=1e-3)
    assert cornering[2] == pytest.approx(0.8 * 2 * static, rel=1e-3)


def test_tools_stay_within_what_the_budget_leaves(demo: Session) -> None:
    parts = ("knuckle", "subframe", "upper_arm", "rear_arm", "rear_link", "lower_arm")
    spent = [value(demo, f"{each}_tooling") for each in parts]
    by_hand = [2 * 78_000 + 10_800, 92_000, 128_000, 2 * 64_000, 2 * 3_800, 3_800 + 8_600]
    assert spent == by_hand
    assert sum(spent) < 550_000
    assert sum(spent[:-1]) == pytest.approx(550_000 - 28_000, abs=500)  # rounded in the story


def test_discs_fit_the_rim_as_stated(demo: Session) -> None:
    for option in stated(demo, "D-BRAKE").values():
        room = value(demo, "barrel_radius") - option["disc_diameter"] / 2
        assert option["rim_gap"] == pytest.approx(room - option["caliper_overhang"], abs=0.05)


def test_ride_frequencies_follow_from_the_springs(demo: Session) -> None:
    """f = √(k·i²/m)/2π, the wheel rate with the motion ratio squared (common practice)."""
    arm = stated(demo, "D-LOWER-ARM")["split"]
    pose = pose_at_travel(
        linkage(demo, stated(demo, "D-TIE-ROD")["two-high"], arm), np.zeros(1), np.zeros(1)
    )
    ratio = abs(float(motion_ratio(pose)[0]))
    assert ratio == pytest.approx(0.57, abs=0.005)
    sprung = 950 / 2 - value(demo, "unsprung_mass")
    for option in stated(demo, "D-SPRING").values():
        rate = option["spring_rate"] * 1000 * 0.57**2
        assert option["ride_frequency"] == pytest.approx(sqrt(rate / sprung) / 2 / pi, abs=0.006)
        sag = 50 * G / rate * 1000  # 50 kg a wheel from response to gross mass
        assert option["bump_left"] == pytest.approx(70 - sag, abs=0.5)


@pytest.mark.parametrize(
    ("option", "arm"),
    [("one-low", "one-piece"), ("one-high", "forged"), ("two-low", "split"), ("two-high", "split")],
)
def test_toe_and_roll_steer_follow_from_the_points(demo: Session, option: str, arm: str) -> None:
    rods = stated(demo, "D-TIE-ROD")[option]
    pose = pose_at_travel(
        linkage(demo, rods, stated(demo, "D-LOWER-ARM")[arm]), np.zeros(1), np.zeros(1)
    )
    toe = float(wheel_rates(pose, per_travel(pose)).toe[0])  # deg/mm
    assert rods["toe_gradient"] == pytest.approx(toe * 1000, abs=0.051)
    half_track = value(demo, "wheel_track") / 2
    assert rods["roll_steer_front"] == pytest.approx(-toe * half_track * pi / 180, abs=5.1e-4)


def test_column_ripple_is_what_unequal_joints_leave(demo: Session) -> None:
    """A universal joint at angle β swings the speed by ±β²/2; two in phase cancel (textbook)."""
    two, three = (
        stated(demo, "D-COLUMN")[each]["column_ripple"] for each in ("two-joints", "third-joint")
    )
    bend = np.radians([21.5, 19.0, 15.0])
    assert two == pytest.approx(100 * (bend[0] ** 2 - bend[1] ** 2) / 2, abs=0.06)
    assert three == pytest.approx(100 * bend[2] ** 2 / 2, abs=0.06)
