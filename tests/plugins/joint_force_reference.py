"""Load cases of a corner, and its joint forces by virtual work on a general solver's poses."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.plugins.corner_reference import Vector, Wheel
from tracker.contract.kit import Row

Cell = str | float
STANDARD_GRAVITY = 9.80665  # m/s², 3rd CGPM 1901

# case, brake_reacted_by, fx, fy, fz, mz, travel, rack
STATIC = ("static", "knuckle", 0.0, 0.0, 5150.0, 0.0, 0.0, 0.0)
BRAKING = ("braking", "knuckle", -6257.0, 0.0, 6953.0, 0.0, 0.0, 0.0)
CORNERING = ("cornering", "knuckle", 0.0, -7004.0, 8240.0, 0.0, 0.0, 0.0)
BUMP = ("bump", "knuckle", 0.0, 0.0, 15450.0, 0.0, 0.0, 0.0)
ALL = (STATIC, BRAKING, CORNERING, BUMP)
MIXED: tuple[tuple[Cell, ...], ...] = (
    ("kerb strike", "body", -3000.0, 5200.0, 6100.0, 40.0, 22.0, -18.0),
    ("braking in a turn", "knuckle", -4100.0, -3900.0, 7300.0, -65.0, 31.0, 25.0),
    ("pothole", "knuckle", -5200.0, 300.0, 14800.0, 12.0, 55.0, 4.0),
    ("droop", "body", 1500.0, 900.0, 800.0, 0.0, -45.0, 30.0),
)
UPPER = ("upper_front_inner", "upper_rear_inner", "upper_outer")
ON_CARRIER: tuple[tuple[Cell, ...], ...] = (
    ("kerb strike", 250.0, 0.0),
    ("pothole", 0.0, 4200.0),
    ("droop", -400.0, 0.0),
)
FORCES: dict[str, float] = {"unsprung_mass": 41.0, "bar_force": 300.0, "stop_force": 150.0}


def by_virtual_work(row: Row, case: tuple[Any, ...]) -> dict[str, Any]:
    """Forces that do no work with the loads in any motion of the freed knuckle."""
    name, by, fx, fy, fz, mz, travel, rack = case
    added: dict[Any, Any] = {each: forces for each, *forces in ON_CARRIER}
    bar, stop = added.get(name, (0.0, 0.0))
    wheel = Wheel.at(row, travel, rack)
    centre, contact, back = wheel.point("wheel_centre"), wheel.contact, wheel.turn.inv()
    at_ground = np.array([fx if by == "knuckle" else 0.0, fy, fz])
    weight = np.array([0.0, 0.0, row["unsprung_mass"] * STANDARD_GRAVITY])
    at_centre = np.array([0.0 if by == "knuckle" else fx, 0.0, 0.0]) - weight

    def lengths(moved: Wheel) -> Vector:
        ends = [
            ("upper_outer", "upper_front_inner"),
            ("upper_outer", "upper_rear_inner"),
            ("lower_front_outer", "lower_front_inner"),
            ("lower_rear_outer", "lower_rear_inner"),
        ]
        spans = [moved.point(outer) - np.array(row[inner]) for outer, inner in ends]
        spans.append(moved.point("tie_rod_outer") - moved.inner)
        return np.array([*(np.linalg.norm(span) for span in spans), moved.spring_length])

    matrix, work = np.empty((6, 6)), np.empty(6)
    for number, unit in enumerate(np.eye(6)):
        velocity = wheel.slope(lambda moved: moved.point("wheel_centre"), unit)
        spun = wheel.slope(lambda moved: (moved.turn * back).as_rotvec(), unit)
        matrix[number] = wheel.slope(lengths, unit) * [-1.0, -1.0, -1.0, -1.0, -1.0, 1.0]
        on_ground = at_ground @ (velocity + np.cross(spun, contact - centre))
        seat = wheel.slope(lambda moved: moved.seat[2], unit)
        raised = (bar + row["bar_force"]) * seat
        work[number] = on_ground + at_centre @ velocity + 1e3 * mz * spun[2] + raised
    found = np.linalg.solve(matrix, -work)
    return {"links": found[:5], "spring": found[5] - stop - row["stop_force"], "wheel": wheel} | {
        "force": at_ground + at_centre,
        "moment": np.cross(contact - centre, at_ground) + 1e3 * mz * np.array([0.0, 0.0, 1.0]),
    }


def toward(start: Vector, end: Any) -> Vector:  # noqa: ANN401  a point as a tuple or an array
    span: Vector = np.array(end) - start
    return span / np.linalg.norm(span)


def joints(row: Row, work: dict[str, Any]) -> tuple[Vector, Vector]:
    """Forces of upper and lower links on the knuckle: the lower ones close the polygon."""
    wheel, links = work["wheel"], work["links"]
    outer = wheel.point("upper_outer")
    upper = sum(
        force * toward(outer, row[inner])
        for force, inner in zip(links, ("upper_front_inner", "upper_rear_inner"), strict=False)
    )
    tie = links[4] * toward(wheel.point("tie_rod_outer"), wheel.inner)
    return upper, -(upper + tie + work["force"])


def lower_joint(row: Row, wheel: Wheel) -> Vector:
    """The joint of a one-piece arm, else where the screw axis crosses the joints' height."""
    front, rear = wheel.point("lower_front_outer"), wheel.point("lower_rear_outer")
    if row["lower_front_outer"] == row["lower_rear_outer"]:
        return front
    return wheel.axis_at(0.5 * (front + rear)[2])


def largest(numbers: list[float]) -> float:
    return max(numbers, key=abs)


def wanted(row: Row, cases: tuple[tuple[Any, ...], ...]) -> dict[str, float]:
    works = [by_virtual_work(row, case) for case in cases]
    split = row["lower_front_outer"] != row["lower_rear_outer"]
    free = 3 if row["spring_on"] == "lower-front" else 2
    pairs = [joints(row, work) for work in works]
    moments = [
        work["moment"] + np.cross(work["wheel"].point("wheel_centre") - at, work["force"])
        for work in works
        for at in [lower_joint(row, work["wheel"])]
    ]
    still = Wheel.at(row)
    light = dict(row) | dict.fromkeys(FORCES, 0.0)
    lateral = by_virtual_work(light, ("", "knuckle", 0.0, 1e3, 0.0, 0.0, 0.0, 0.0))
    along = still.screw()[1]
    members = (0, 1, 4, free) if split else (0, 1, 4)
    return {
        "joint_spacing": float(along @ (still.point("upper_outer") - lower_joint(row, still))),
        "upper_joint_force": max(float(np.linalg.norm(upper)) for upper, _ in pairs),
        "lower_joint_force": max(float(np.linalg.norm(lower)) for _, lower in pairs),
        "tie_rod_force": largest([work["links"][4] for work in works]),
        "worst_link_force": largest([work["links"][at] for work in works for at in members]),
        "spring_force": largest([work["spring"] for work in works]),
        "moment_at_lower_joint": 1e-3 * largest([moment[0] for moment in moments]),
        "upper_force_per_kn_lateral": float(np.linalg.norm(joints(row, lateral)[0])),
    }
