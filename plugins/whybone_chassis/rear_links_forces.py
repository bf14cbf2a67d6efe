"""Forces in a rear corner: in every load case, and what braking and driving add."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Inputs, Table
from whybone_chassis.answers import Answers
from whybone_chassis.ball_joint_moment_cases import Cases, cases_of
from whybone_chassis.corner_ports_linkage import blocks, refuse_unclosed
from whybone_chassis.mechanics.rear_linkage import RearLinkage, RearPose
from whybone_chassis.mechanics.rear_statics import RearForces, balance_rear
from whybone_chassis.mechanics.statics import Loads
from whybone_chassis.mechanics.status import Status
from whybone_chassis.mechanics.vectors import FloatArray, norm
from whybone_chassis.rear_links import LAYOUTS, SENSES
from whybone_chassis.rear_links_linkage import SEATS, lacking, lever, poses

__all__ = [
    "FORCES",
    "Balanced",
    "balanced",
    "cases",
    "give_forces",
    "give_layout",
    "increments",
    "senses",
]

FORCES = (
    "integral_link_force",
    "upper_front_force",
    "upper_rear_force",
    "lower_joint_force",
    "spring_force",
)

_KN = 1e3
_NOTHING = 1e-6  # N per kN, far below any drawing's accuracy, far above rounding
_UNGIVEN = "no load case is given: fill load_cases or bind a force such as fz_static"
_UNHELD = "the integral link has no lever about the lower joint: the knuckle can rock"
_DEAD = "the spring's line meets the arm's pivot line: it carries nothing"
_SENSES = ("braking_sense", "drive_sense", "motor_sense")
_LAYOUT = (
    "braking_increment",
    "drive_increment",
    "motor_increment",
    *_SENSES,
)


@dataclass(frozen=True, slots=True)
class Balanced:
    """Equilibrium in every case.

    Parameters
    ----------
    cases : Cases
        The m cases.
    forces : RearForces
        Of m · n rows, case after case.
    """

    cases: Cases
    forces: RearForces

    def by_case(self, values: FloatArray) -> FloatArray:
        """Split a result by case: shape (m, n, …)."""
        return blocks(values, len(self.cases.mass))


def cases(inputs: Inputs, fed: tuple[str, ...]) -> Cases | str | None:
    """Gather the load cases.

    Returns
    -------
    Cases, str or None
        What is wrong with them, in words, where they cannot be used; None where none is given.
    """
    table: Table | None = inputs.get("load_cases")
    bound = any(f"{axis}_{case}" in inputs for case in fed for axis in ("fx", "fy", "fz"))
    if not bound and (table is None or table.rows == 0):
        return None
    if table is None:
        return cases_of(inputs, fed)
    still = {"rack": np.zeros(table.rows)}  # a rear wheel has none
    return cases_of({**inputs, "load_cases": Table({**table.columns, **still}, table.rows)}, fed)


def balanced(linkage: RearLinkage, given: Cases) -> Balanced:
    """Balance every corner in every case."""
    pose = poses(linkage, list(given.numbers["travel"]))
    return Balanced(given, balance_rear(pose, given.loads()))


def give_forces(
    inputs: Inputs, fed: tuple[str, ...], linkage: RearLinkage, answers: Answers
) -> None:
    """Answer the worst forces of all cases."""
    unsprung = inputs["unsprung_mass"]
    answers.refuse(~(unsprung >= 0.0), "unsprung_mass must not be negative", *FORCES)
    given = cases(inputs, fed)
    if not isinstance(given, Cases):
        _refuse_all(given, answers)
        return
    found = balanced(linkage, given)
    by_case = blocks(found.forces.status, answers.rows)
    for name, status in zip(given.names, by_case, strict=True):
        refuse_unclosed(answers, status, f"case {name}", *FORCES)
    _worst(found, lacking(inputs, SEATS), answers)


def _refuse_all(fault: str | None, answers: Answers) -> None:
    answers.refuse(fault is not None, fault or _UNGIVEN, *FORCES)
    for port in FORCES:
        answers.give(**{port: np.zeros(1)})
        answers.leave_out(port, fault is None, _UNGIVEN)


def _worst(found: Balanced, no_spring: str, answers: Answers) -> None:
    forces = found.forces
    spring = np.zeros_like(forces.spring) if no_spring else forces.spring
    dead = (forces.status == Status.CLOSED) & np.isnan(spring)
    answers.refuse(np.any(found.by_case(dead), axis=0), _DEAD, "spring_force")
    answers.leave_out("spring_force", bool(no_spring), no_spring)
    answers.give(
        integral_link_force=_largest(found.by_case(forces.integral)),
        upper_front_force=_largest(found.by_case(forces.upper_front)),
        upper_rear_force=_largest(found.by_case(forces.upper_rear)),
        lower_joint_force=np.max(found.by_case(norm(forces.lower_joint)), axis=0),
        spring_force=_largest(found.by_case(spring)),
    )


def _largest(values: FloatArray) -> FloatArray:
    """Pick what is largest by size, with its sign, from (k, n); NaN where one is."""
    place = np.argmax(np.abs(values), axis=0)
    picked: FloatArray = np.take_along_axis(values, place[None], axis=0)[0]
    return picked


def _forward(pose: RearPose, force: float, *, on_knuckle: bool) -> FloatArray:
    """Integral link's force (n,) under a force of the ground along the vehicle alone, N."""
    count = len(pose.status)
    still = np.zeros(count)
    loads = Loads(
        fx=still + force,
        fy=still,
        fz=still,
        mz=still,
        on_knuckle=np.full(count, on_knuckle),
        unsprung_mass=still,
        bar_force=still,
        stop_force=still,
    )
    return balance_rear(pose, loads).integral


def increments(pose: RearPose) -> dict[str, FloatArray]:
    """Return what 1 kN of braking, of driving by the knuckle and by an inboard motor adds, N."""
    return {
        "braking": _forward(pose, -_KN, on_knuckle=True),
        "drive": _forward(pose, _KN, on_knuckle=True),
        "motor": _forward(pose, _KN, on_knuckle=False),
    }


def senses(increment: FloatArray) -> NDArray[np.int64]:
    """Tell by codes of `SENSES` what increments of the integral link's force (N/kN) are."""
    compressed, pulled, nothing = range(len(SENSES))
    sense = np.where(increment < 0.0, compressed, pulled)
    return np.where(np.abs(increment) > _NOTHING, sense, nothing)


def give_layout(pose: RearPose, answers: Answers) -> None:
    """Answer where the integral link stands and what braking and driving do to it."""
    found = increments(pose)
    behind = lever(pose) < 0.0
    above = pose.lower_outer[:, 2] > pose.wheel_centre[:, 2]
    answers.refuse(np.isnan(found["motor"]), _UNHELD, *_LAYOUT)
    answers.give(
        integral_lever=lever(pose),
        integral_layout=np.where(behind, len(LAYOUTS) // 2, 0) + above.astype(np.int64),
        **{f"{key}_increment": each for key, each in found.items()},
        **{f"{key}_sense": senses(each) for key, each in found.items()},
    )
