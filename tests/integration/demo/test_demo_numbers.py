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
    """Axle masses from the scales agree with the centres of gravity the loads are made from."""
    front, rear, gross = (value(demo, f"gross_{each}") for each in ("front", "rear", "mass"))
    base = value(demo, "wheelbase")
    assert front + rear == gross
    assert value(demo, "cg_gross")[0] == pytest.approx(-base * rear / gross, abs=0.5)
    assert value(demo, "cg_response")[0] == pytest.approx(-base * 850 / 1800, abs=0.5)
    assert value(demo, "front_share") == pytest.approx(950 / 1800, abs=2e-4)


def test_wheel_loads_follow_from_the_masses(demo: Session) -> None:
    """Load carried forward m·a·h/L and across m·a·h·share/track (any text on mechanics)."""
    gross, base, track = (value(demo, each) for each in ("gross_mass", "wheelbase", "wheel_track"))
    height, static = value(demo, "cg_gross")[2], value(demo, "fz_static")
    assert static == pytest.approx(value(demo, "gross_front") / 2 * G, abs=2)
    assert value(demo, "fz_bump") == pytest.approx(3 * static)
    braked = gross * 0.67 * G
    assert value(demo, "fz_braking") == pytest.approx(static + braked * height / base / 2)
    assert value(demo, "fx_braking") == pytest.approx(-0.82 * braked / 2)
    across = gross * 0.75 * G * height / track
    outer = value(demo, "fz_cornering")
    assert outer == pytest.approx(static + 0.48 * across)
    assert value(demo, "fy_cornering") == pytest.approx(-0.75 * outer)
    assert static - 0.48 * across > 0  # the inner wheel stays down


def test_joint_forces_are_what_the_reasons_say(demo: Session) -> None:
    assert value(demo, "lower_joint_force") == pytest.approx(16_000, abs=50)
    assert value(demo, "upper_joint_force") < 6_500


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
