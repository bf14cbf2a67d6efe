"""Forces at the joints in every load case, batched over geometries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Inputs, Outputs
from whybone_chassis.answers import Answers
from whybone_chassis.ball_joint_moment_cases import Cases, cases_of
from whybone_chassis.corner_ports_linkage import (
    blocks,
    linkage_of,
    lower_height,
    poses,
    refuse_unclosed,
    steering_axis,
)
from whybone_chassis.mechanics.linkage import Pose
from whybone_chassis.mechanics.statics import Forces, Loads, applied, balance
from whybone_chassis.mechanics.vectors import FloatArray, cross, dot, norm

__all__ = ["Balanced", "balanced", "solve"]

T = TypeVar("T", np.float64, np.int64, np.bool_)

_KN = 1e3
_PER_METRE = 1e-3

_DESIGN = ("joint_spacing", "upper_force_per_kn_lateral")
_WORST = (
    "upper_joint_force",
    "lower_joint_force",
    "tie_rod_force",
    "worst_link_force",
    "spring_force",
    "moment_at_lower_joint",
    "bush_moment",
)


@dataclass(frozen=True, slots=True)
class Balanced:
    """Equilibrium at design under a lateral force alone, then in every case.

    Parameters
    ----------
    cases : Cases
        The m cases.
    pose, loads, forces : Pose, Loads, Forces
        Of (1 + m) · n rows: design, then case after case.
    """

    cases: Cases
    pose: Pose
    loads: Loads
    forces: Forces

    def by_case(self, values: NDArray[T]) -> NDArray[T]:
        """Split a result by case: shape (m, n, …)."""
        cut: NDArray[T] = blocks(values, len(self.cases.mass))[1:]
        return cut

    def at_design(self, values: NDArray[T]) -> NDArray[T]:
        """Take a result at design: shape (n, …)."""
        cut: NDArray[T] = blocks(values, len(self.cases.mass))[0]
        return cut

    @property
    def links(self) -> FloatArray:
        """Axial forces of the two-force links, shape (4, m, n); 0 where there is no such link."""
        one = self.pose.linkage.corner.one_piece
        other = np.where(one, 0.0, self.forces.other_lower)
        each = (self.forces.upper_front, self.forces.upper_rear, self.forces.tie_rod, other)
        return np.stack([self.by_case(force) for force in each])


def balanced(inputs: Inputs, cases: Cases) -> Balanced:
    """Balance the corner at design and in every case."""
    still = np.zeros(len(cases.mass))
    travels = [still, *cases.numbers["travel"]]
    racks = [still, *cases.numbers["rack"]]
    pose = poses(linkage_of(inputs), travels, racks)
    loads = _with_lateral(cases)
    return Balanced(cases, pose, loads, balance(pose, loads))


def _with_lateral(cases: Cases) -> Loads:
    """Put a lateral force of 1 kN, nothing else acting, ahead of the cases."""
    acting, still = cases.loads(), np.zeros(len(cases.mass))
    lateral = dict.fromkeys(Loads.__dataclass_fields__, still) | {
        "fy": still - _KN,
        "on_knuckle": np.ones(len(still), dtype=np.bool_),
    }
    return Loads(
        **{key: np.concatenate([first, getattr(acting, key)]) for key, first in lateral.items()}
    )


def solve(inputs: Inputs, fed: tuple[str, ...]) -> Outputs:
    """Work out the worst forces of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `ball-joint-moment`; points (n, 3), numbers (n,), one table.
    fed : tuple of str
        Cases that have force ports of their own.

    Returns
    -------
    Outputs
        One value per row and port; rows in which a case has no pose or no determined forces carry
        the reason, with the case's name.
    """
    answers = Answers(inputs)
    cases = cases_of(inputs, fed)
    if isinstance(cases, str):
        answers.refuse(where=True, reason=cases)
        return answers.outputs()
    answers.refuse(~(inputs["unsprung_mass"] >= 0.0), "unsprung_mass must not be negative", *_WORST)
    with np.errstate(all="ignore"):  # rows without a result are named as problems
        found = balanced(inputs, cases)
        _explain(found, answers)
        _about_the_axis(found, answers)
        _worst(found, answers)
    return answers.outputs()


def _explain(found: Balanced, answers: Answers) -> None:
    design, *each = found.forces.status.reshape(-1, answers.rows)
    refuse_unclosed(answers, design, "design position", *_DESIGN)
    for name, status in zip(found.cases.names, each, strict=True):
        refuse_unclosed(answers, status, f"case {name}", *_WORST)


def _about_the_axis(found: Balanced, answers: Answers) -> None:
    """Give spacing along the steering axis, and the moment it reacts."""
    pose = found.pose
    axis = steering_axis(pose)
    lower = axis.at_height(lower_height(pose))
    force, moment = applied(pose, found.loads)
    about_x = (moment + cross(pose.wheel_centre - lower, force))[:, 0]
    answers.give(
        joint_spacing=found.at_design(dot(pose.upper_outer - lower, axis.direction)),
        moment_at_lower_joint=_PER_METRE * _largest(found.by_case(about_x)),
    )


def _worst(found: Balanced, answers: Answers) -> None:
    forces = found.forces
    upper, lower = (
        found.by_case(norm(joint)) for joint in (forces.upper_joint, forces.lower_joint)
    )
    links = found.links
    answers.give(
        upper_force_per_kn_lateral=found.at_design(norm(forces.upper_joint)),
        upper_joint_force=np.max(upper, axis=0),
        lower_joint_force=np.max(lower, axis=0),
        tie_rod_force=_largest(found.by_case(forces.tie_rod)),
        worst_link_force=_largest(links.reshape(-1, answers.rows)),
        spring_force=_largest(found.by_case(forces.spring)),
        bush_moment=_largest(found.by_case(forces.bush_moment)),
    )
    answers.leave_out(
        "bush_moment",
        found.at_design(found.pose.linkage.corner.one_piece),
        "the bushes of a one-piece arm hold it on two points",
    )


def _largest(values: FloatArray) -> FloatArray:
    """Pick what is largest by size, with its sign, from (k, n); NaN where one is."""
    place = np.argmax(np.abs(values), axis=0)
    picked: FloatArray = np.take_along_axis(values, place[None], axis=0)[0]
    return picked
