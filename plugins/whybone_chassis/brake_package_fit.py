"""How disc, caliper, rim and lower joints fit, batched over dimensions and joints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np

from tracker.contract.check import Inputs, Outputs, Table
from whybone_chassis.answers import Answers
from whybone_chassis.brake_package_profiles import Profile, least_radius, radial_clearance
from whybone_chassis.mechanics.corner import spin_axis
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray, dot, norm, scale

__all__ = ["Brake", "places", "solve"]

_RIM = ("rim_clearance", "spoke_clearance", "largest_disc", "disc_diameter_gained")
_LOWER = ("lower_front_outer", "lower_rear_outer")


@dataclass(frozen=True, slots=True)
class Brake:
    """Barrel and caliper, and how the caliper sits on the disc.

    Parameters
    ----------
    barrel, caliper : Profile
        As the tables give them.
    overhang : ndarray, shape (n,)
        Caliper's greatest radius less that of the disc it is drawn on, mm.
    moved : ndarray, shape (n,)
        How much farther out than drawn the caliper sits, mm.
    """

    barrel: Profile
    caliper: Profile
    overhang: FloatArray
    moved: FloatArray

    @classmethod
    def of(cls, inputs: Inputs) -> Self:
        """Read the tables."""
        caliper = Profile.of(inputs["caliper"], "radius")
        drawn_on = 0.5 * inputs.get("caliper_disc", inputs["disc_diameter"])
        overhang = np.max(caliper.radius) - drawn_on
        moved = 0.5 * inputs["disc_diameter"] - drawn_on
        return cls(Profile.of(inputs["barrel"], "inner_radius"), caliper, overhang, moved)

    def span(self, shift: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Axial span (n,) of the caliper shifted outboard by (n,) mm."""
        return self.caliper.offset[0] + shift, self.caliper.offset[-1] + shift

    def largest(self, shift: FloatArray, clearance: FloatArray) -> FloatArray:
        """Largest disc (n,) with disc and caliper shifted outboard by (n,) mm."""
        return 2.0 * (least_radius(self.barrel, *self.span(shift)) - self.overhang - clearance)


def solve(inputs: Inputs) -> Outputs:
    """Measure the distances of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `brake-package`; points (n, 3), numbers (n,), two tables.

    Returns
    -------
    Outputs
        One value per row and port; rows out of range, and all rows where a table is wrong, carry
        the reason.
    """
    answers = Answers(inputs)
    _examine(inputs, answers)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        room = _joints(inputs, answers)
        fault = _fault(inputs["barrel"], "barrel", "inner_radius") or _fault(
            inputs["caliper"], "caliper", "radius"
        )
        if fault:
            answers.refuse(True, fault, *_RIM)  # noqa: FBT003  every row
        else:
            _rim(inputs, Brake.of(inputs), room, answers)
    return answers.outputs()


def _examine(inputs: Inputs, answers: Answers) -> None:
    """Name numbers out of range."""
    answers.require_positive(inputs, ("disc_diameter",))
    if "caliper_disc" in inputs:
        answers.refuse(~(inputs["caliper_disc"] > 0.0), "caliper_disc must be positive", *_RIM)
    for port in ("clearance", "joint_envelope", "disc_thickness"):
        answers.refuse(~(inputs[port] >= 0.0), f"{port} must not be negative")


def _fault(table: Table, name: str, radius: str) -> str:
    """Say what makes a profile unusable."""
    if not table.rows:
        return f"{name}: it has no rows"
    cells = [table.reals("axial_offset"), table.reals(radius)]
    if not all(np.isfinite(column).all() for column in cells):
        return f"{name}: a cell is not a finite number"
    if not (cells[1] > 0.0).all():
        return f"{name}: a radius is not positive"
    return ""


def places(inputs: Inputs, point: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return axial offset from the mounting face and radius (n,) of points (n, 3), mm."""
    spin = spin_axis(inputs["static_toe"], inputs["static_camber"])
    arm = point - inputs["wheel_centre"]
    along = dot(arm, spin)
    return along - inputs["wheel_offset"], norm(arm - scale(along, spin))


def _joints(inputs: Inputs, answers: Answers) -> FloatArray:
    """Give what concerns the lower joints; return the axial room gained, NaN where unknown."""
    ends = [places(inputs, inputs[port]) for port in _LOWER]
    apart = np.minimum(*(_from_disc(inputs, *end) for end in ends))
    one_piece = np.all(inputs[_LOWER[0]] == inputs[_LOWER[1]], axis=-1)
    gap = norm(inputs[_LOWER[0]] - inputs[_LOWER[1]]) - 2.0 * inputs["joint_envelope"]
    answers.leave_out("joint_gap", one_piece, "a one-piece arm has a single lower joint")
    answers.give(joint_clearance=apart - inputs["joint_envelope"], joint_gap=gap)
    if "virtual_lower" not in inputs:
        answers.leave_out("disc_room_gained", where=True, reason="no virtual_lower is given")
        room = np.full(answers.rows, np.nan)
    else:
        on_axis, _ = places(inputs, inputs["virtual_lower"])
        room = on_axis - np.maximum(ends[0][0], ends[1][0])
    answers.give(disc_room_gained=room)
    return room


def _from_disc(inputs: Inputs, offset: FloatArray, radius: FloatArray) -> FloatArray:
    """Distance (n,) of a point from the disc, a flat cylinder; 0 within it."""
    aside = np.abs(offset - inputs["disc_offset"]) - 0.5 * inputs["disc_thickness"]
    beyond = radius - 0.5 * inputs["disc_diameter"]
    distance: FloatArray = np.hypot(np.maximum(aside, 0.0), np.maximum(beyond, 0.0))
    return distance


def _rim(inputs: Inputs, brake: Brake, room: FloatArray, answers: Answers) -> None:
    """Give what concerns the rim."""
    still = np.zeros(answers.rows)
    clearance = inputs["clearance"]
    largest = brake.largest(still, clearance)
    outside = ~brake.barrel.covers(*brake.span(still))
    answers.refuse(outside, "the caliper reaches beyond the rows of barrel", *_RIM)
    answers.refuse(
        ~(largest > 0.0), "no disc fits: overhang and clearance fill the barrel", "largest_disc"
    )
    answers.give(
        rim_clearance=radial_clearance(brake.barrel, brake.caliper) - brake.moved,
        spoke_clearance=inputs["spoke_face"] - brake.span(still)[1],
        largest_disc=largest,
        disc_diameter_gained=largest - brake.largest(np.nan_to_num(room), clearance),
    )
    _leave_out_gain(brake, room, inputs["spoke_face"], answers)


def _leave_out_gain(
    brake: Brake, room: FloatArray, spoke_face: FloatArray, answers: Answers
) -> None:
    """Say where there is no disc on the steering axis to compare with."""
    start, end = brake.span(np.nan_to_num(room))
    reasons: tuple[tuple[BoolArray, str], ...] = (
        (np.isnan(room), "no virtual_lower is given"),
        (end > spoke_face, "pushed outboard by that room, the caliper would meet the spokes"),
        (
            ~brake.barrel.covers(start, end),
            "pushed outboard by that room, the caliper would leave the rows of barrel",
        ),
    )
    for rows, reason in reasons:
        answers.leave_out("disc_diameter_gained", rows, reason)
