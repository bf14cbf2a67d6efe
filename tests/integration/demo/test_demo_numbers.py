"""The numbers of the demo programme hang together: each is worked out a second way.

The formulas are common practice or elementary mechanics, worked out by hand from the values the
programme states; motion ratio and toe are held against finite differences of the project's own
linkage.
"""

from __future__ import annotations

from math import atan, degrees, hypot, pi, sqrt
from typing import Any

import numpy as np
import pytest

from tracker.model.records import Decision, Quantity, Requirement
from tracker.services.item import item_page
from tracker.services.session import Session
from whybone_chassis.mechanics.assembly import Linkage, assemble
from whybone_chassis.mechanics.corner import LOWER_FRONT, Corner, Spring, spin_axis
from whybone_chassis.mechanics.linkage import pose_at_travel
from whybone_chassis.mechanics.velocity import motion_ratio

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
    braked, front = gross * 0.67 * G, value(demo, "brake_share_front")
    assert value(demo, "fz_braking") == pytest.approx(static + braked * height / base / 2)
    assert value(demo, "fx_braking") == pytest.approx(-front * braked / 2)
    across = value(demo, "transfer_share_front") * gross * 0.75 * G * height / track
    outer = value(demo, "fz_cornering")
    assert outer == pytest.approx(static + across)
    assert value(demo, "fy_cornering") == pytest.approx(-0.75 * outer)
    assert static - across > 0  # the inner wheel stays down


def test_joint_forces_are_what_the_reasons_say(demo: Session) -> None:
    assert value(demo, "lower_joint_force") == pytest.approx(16_000, abs=50)
    assert value(demo, "upper_joint_force") < 6_500


def test_tools_stay_within_what_the_budget_leaves(demo: Session) -> None:
    parts = ("knuckle", "subframe", "upper_arm", "rear_arm", "rear_link", "lower_arm")
    spent = [value(demo, f"{each}_tooling") for each in parts]
    by_hand = [2 * 78_000 + 10_800, 92_000, 128_000, 2 * 64_000, 2 * 3_800, 3_800 + 8_600]
    assert spent == by_hand
    assert value(demo, "chassis_tooling") == sum(spent) < 550_000
    assert sum(spent[:-1]) == pytest.approx(550_000 - 28_000, abs=500)  # rounded in the story


def test_discs_fit_the_rim_as_the_reasons_say(demo: Session) -> None:
    """Barrel 183.8 mm down to 175 mm over the 20 mm where the well begins; calipers 26 mm out."""
    room = {key: 183.8 - size / 2 - 26 for key, size in (("d302", 302.0), ("d312", 312.0))}
    assert room == pytest.approx({"d302": 6.8, "d312": 1.8})
    slope = (183.8 - 175) / 20
    room |= {"d302-out": 183.8 - slope * (30 - 18) - 151 - 26}
    room |= {"d280": 183.8 - slope * (30 - 17) - 140 - 25}
    page = item_page(demo, "D-BRAKE")
    found = {
        option.key: finding.value
        for option in page.options
        for finding in option.findings
        if finding.judge == "RIM-GAP"
    }
    assert found == pytest.approx(room)
    assert value(demo, "largest_disc") == pytest.approx(2 * (183.8 - 26 - 3))


def test_the_lines_of_the_lower_links_cross_where_one_joint_stood(demo: Session) -> None:
    """By hand, seen from above; half way between the two lines in height."""
    (a, b, p), (c, d, q) = (value(demo, f"lower_{link}_outer") for link in ("front", "rear"))
    (i, j, m), (k, n, o) = (value(demo, f"lower_{link}_inner") for link in ("front", "rear"))
    front = ((c - a) * (d - n) - (d - b) * (c - k)) / ((a - i) * (d - n) - (b - j) * (c - k))
    rear = ((c - a) * (b - j) - (d - b) * (a - i)) / ((a - i) * (d - n) - (b - j) * (c - k))
    high = (p + front * (p - m) + q + rear * (q - o)) / 2
    crossing = (a + front * (a - i), b + front * (b - j), high)
    assert value(demo, "axis_lower") == pytest.approx(crossing)
    one = stated(demo, "D-LOWER-ARM")["one-piece"]["lower_front_outer"]
    assert value(demo, "axis_lower") == pytest.approx(one, abs=1)


def test_ride_frequencies_follow_from_the_springs(demo: Session) -> None:
    """f = √(c/m)/2π, c = k·i² in series with the tyre, i the motion ratio (common practice)."""
    arm = stated(demo, "D-LOWER-ARM")["split"]
    pose = pose_at_travel(
        linkage(demo, stated(demo, "D-TIE-ROD")["two-high"], arm), np.zeros(1), np.zeros(1)
    )
    ratio = abs(float(motion_ratio(pose)[0]))
    assert value(demo, "motion_ratio_front") == pytest.approx(ratio, rel=1e-3)
    sprung = value(demo, "front_load_design") / 2 / G - value(demo, "unsprung_mass")
    assert sprung == pytest.approx(950 / 2 - 48, abs=0.1)
    rate = value(demo, "spring_rate") * 1000 * value(demo, "motion_ratio_front") ** 2
    ride = 1 / (1 / rate + 1 / (1000 * value(demo, "tyre_rate")))
    assert value(demo, "ride_frequency") == pytest.approx(sqrt(ride / sprung) / 2 / pi, rel=1e-6)
    # 50 kg a wheel from response to gross mass, less the little that a mass book rounds
    assert value(demo, "bump_left") == pytest.approx(80 - 50 * G / rate * 1000, abs=0.2)
    damped = value(demo, "damping_rate") * value(demo, "motion_ratio_front") ** 2
    assert value(demo, "damping_ratio") == pytest.approx(damped / 2 / sqrt(rate * sprung), rel=1e-6)


def test_toe_and_roll_steer_follow_from_the_points(demo: Session) -> None:
    """Toe from the heading of the wheel's spin axis 1 mm up and down (ISO 8855 signs)."""
    arm = stated(demo, "D-LOWER-ARM")["split"]
    corner = linkage(demo, stated(demo, "D-TIE-ROD")["two-high"], arm)
    toe = []
    for travel in (-1.0, 1.0):
        pose = pose_at_travel(corner, np.array([travel]), np.zeros(1))
        ahead, left, _ = spin_axis(np.array([0.1]), np.array([-0.3]))[0] @ pose.rotation[0].T
        toe.append(degrees(atan(ahead / left)))
    gradient = (toe[1] - toe[0]) / 2  # deg/mm
    assert value(demo, "toe_gradient") == pytest.approx(1000 * gradient, rel=1e-4)
    half_track = value(demo, "wheel_track") / 2
    assert value(demo, "roll_steer_front") == pytest.approx(
        -gradient * half_track * pi / 180, rel=1e-4
    )


def test_trims_follow_from_the_loads_and_the_wheel_rate(demo: Session) -> None:
    """A coil at a constant motion ratio: load off or on over the wheel rate (any text)."""
    rate = value(demo, "wheel_rate_front") * 1000  # N/m
    design, kerb, laden = (
        value(demo, f"sprung_front_{each}") for each in ("design", "kerb", "laden")
    )
    assert value(demo, "trim_kerb") == pytest.approx((kerb - design) * G / rate * 1000, rel=1e-3)
    assert value(demo, "trim_laden") == pytest.approx((laden - design) * G / rate * 1000, rel=1e-3)
    travel = value(demo, "wheel_travel")
    assert value(demo, "rebound_left") == pytest.approx(travel + value(demo, "trim_kerb"))
    assert value(demo, "bump_left") == pytest.approx(travel - value(demo, "trim_laden"))


@pytest.mark.parametrize("trim", ["kerb", "laden"])
def test_camber_and_toe_at_a_trim_are_those_of_the_wheel_moved_there(
    demo: Session, trim: str
) -> None:
    """From the wheel's spin axis (ISO 8855 signs), moved with the linkage to where it stands."""
    arm = stated(demo, "D-LOWER-ARM")["split"]
    corner = linkage(demo, stated(demo, "D-TIE-ROD")["two-high"], arm)
    pose = pose_at_travel(corner, np.array([value(demo, f"trim_{trim}")]), np.zeros(1))
    ahead, left, up = spin_axis(np.array([0.1]), np.array([-0.3]))[0] @ pose.rotation[0].T
    assert value(demo, f"toe_{trim}") == pytest.approx(degrees(atan(ahead / left)), abs=1e-9)
    assert value(demo, f"camber_{trim}") == pytest.approx(
        -degrees(atan(up / hypot(ahead, left))), abs=1e-9
    )


def test_the_corner_leans_in_and_toes_out_as_it_is_loaded(demo: Session) -> None:
    """Each step from kerb over design to laden goes the way the slopes at design go."""
    trims = np.array([value(demo, "trim_kerb"), 0.0, value(demo, "trim_laden")])
    assert list(trims) == sorted(trims)
    at = {"camber": "static_camber", "toe": "static_toe", "roll_centre": "roll_centre_front"}
    at |= {"caster": "caster", "scrub": "scrub_radius", "roll_steer": "roll_steer_front"}
    found = {
        name: [value(demo, each) for each in (f"{name}_kerb", design, f"{name}_laden")]
        for name, design in at.items()
    }
    for name in ("camber", "toe"):
        steps = np.diff(found[name]) / np.diff(trims) * 1000  # deg/m
        assert min(steps) < value(demo, f"{name}_gradient") < max(steps) < 0
    # the roll centre sinks faster than the body, as with arms that close towards the middle
    assert np.all(np.diff(found["roll_centre"]) < -np.diff(trims))
    assert all(len(set(each)) == 3 for each in found.values())
    assert found["caster"] == sorted(found["caster"])  # the upper joint goes back in bump


def test_brakes_are_shared_as_pistons_and_radii_are(demo: Session) -> None:
    front = value(demo, "piston_area_front") * value(demo, "effective_radius_front")
    rear = value(demo, "piston_area_rear") * value(demo, "effective_radius_rear")
    assert value(demo, "brake_share_front") == pytest.approx(front / (front + rear))
    pistons = {
        each: option["piston_area_front"] for each, option in stated(demo, "D-BRAKE").items()
    }
    assert pistons["d302"] == pytest.approx(pi / 4 * 57**2, abs=1)
    assert pistons["d312"] == pytest.approx(2 * pi / 4 * 42**2, abs=1)


def test_the_bar_is_a_twisted_rod(demo: Session) -> None:
    """Torsion: G·π·d⁴/32L, taken to roll by the lever of link and arm (any text)."""
    shaft = 79e9 * pi * 0.021**4 / 32 / 0.920  # N·m/rad
    lever = value(demo, "wheel_track") * value(demo, "bar_ratio") / value(demo, "bar_arm")
    assert value(demo, "bar_stiffness") == pytest.approx(shaft * lever**2 * pi / 180)


def test_roll_follows_from_springs_and_bar(demo: Session) -> None:
    """Roll moment over stiffness, the weight's part taken off it (any text)."""
    sprung = value(demo, "sprung_mass")
    assert sprung == pytest.approx(1800 - 2 * 48 - 2 * 46, abs=0.5)
    track = value(demo, "wheel_track") / 1000
    wheels = value(demo, "wheel_rate_front") + value(demo, "wheel_rate_rear")
    stiff = 1000 * wheels * track**2 / 2 + value(demo, "bar_stiffness") * 180 / pi
    share = value(demo, "sprung_share_front")
    axis = share * value(demo, "roll_centre_front") + (1 - share) * value(demo, "rear_roll_centre")
    arm = (value(demo, "sprung_height") - axis) / 1000
    tipping = sprung * G * arm
    assert value(demo, "roll_gradient") == pytest.approx(
        degrees(tipping / (stiff - tipping)), rel=5e-3
    )


def test_the_loops_that_are_cut_are_closed(demo: Session) -> None:
    parts = 9.3 + 9.7 + 7.4 + 3.4 + 5.6 + 4.2 + (1.9 + value(demo, "link_mass") + 14.2) / 2
    assert value(demo, "unsprung_sum") == pytest.approx(parts)
    assert abs(parts - value(demo, "unsprung_mass")) < 0.1
    assert abs(value(demo, "transfer_share_found") - value(demo, "transfer_share_front")) < 0.01


def test_parking_asks_what_is_left_of_the_rack_force(demo: Session) -> None:
    """Work balance of the gear: rack force × travel = torque × angle × efficiency (any text)."""
    arm = hypot(value(demo, "tyre_width") / sqrt(8), value(demo, "scrub_radius"))
    assert value(demo, "scrub_arm") == pytest.approx(arm)
    turn = value(demo, "c_factor") / 1000 / (2 * pi)
    assert value(demo, "rim_force_failed") == pytest.approx(3500 * turn / 0.87 / 0.190)


def test_the_parking_brake_has_a_tenth_in_hand_where_it_is_asked_for(demo: Session) -> None:
    """Gross mass on one in five, two rear wheels (statics)."""
    slope = value(demo, "gross_mass") * G * 0.2 / sqrt(1.04)
    needed = slope * value(demo, "loaded_radius") / 1000 / 2
    asked = demo.programme.named("PARK-HOLD", Requirement).lower
    assert asked is not None
    assert asked.value == pytest.approx(1.1 * needed, abs=1)


def test_column_ripple_is_what_unequal_joints_leave(demo: Session) -> None:
    """A universal joint at angle β swings the speed by ±β²/2; two in phase cancel (textbook)."""
    two, three = (
        stated(demo, "D-COLUMN")[each]["column_ripple"] for each in ("two-joints", "third-joint")
    )
    bend = np.radians([21.5, 19.0, 15.0])
    assert two == pytest.approx(100 * (bend[0] ** 2 - bend[1] ** 2) / 2, abs=0.06)
    assert three == pytest.approx(100 * bend[2] ** 2 / 2, abs=0.06)
