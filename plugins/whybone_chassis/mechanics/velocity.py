"""Rates of a pose from the closing equations' Jacobian, not from differences."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Protocol

import numpy as np

from whybone_chassis.mechanics.columns import dot as column_dot
from whybone_chassis.mechanics.columns import rows
from whybone_chassis.mechanics.constraints import (
    TIE_ROD,
    Chain,
    Condition,
    HeldHeight,
    Placed,
    hold,
    solve,
)
from whybone_chassis.mechanics.linkage import LEAST_HOLD, Pose
from whybone_chassis.mechanics.vectors import FloatArray, cross, dot, norm, scale


class Hold(Enum):
    """What stays while the rack moves."""

    HEIGHT = "wheel-centre height"
    SPRING = "spring length"


class Posed(Protocol):
    """A wheel in its poses: what its rates and loads are told from, front or rear."""

    @property
    def joint(self) -> FloatArray:
        """Joint (n, 3) the knuckle's motion is told about, mm."""

    @property
    def wheel_centre(self) -> FloatArray:
        """Wheel centre (n, 3), mm."""

    @property
    def contact_centre(self) -> FloatArray:
        """Contact centre (n, 3), mm."""

    @property
    def spin_axis(self) -> FloatArray:
        """Unit vectors (n, 3), outward."""

    @property
    def loaded_radius(self) -> FloatArray:
        """Loaded radius (n,), mm."""


@dataclass(frozen=True, slots=True)
class Motion:
    """First-order motion of the knuckle per mm of what drives it.

    NaN where a row has no pose or what is held leaves the knuckle free.

    Attributes
    ----------
    joint : ndarray, shape (n, 3)
        Velocity of the pose's `joint` (front: the upper outer one), mm/mm.
    turn : ndarray, shape (n, 3)
        Angular velocity, rad/mm.
    spring : ndarray, shape (n,)
        Rate of the spring's length, mm/mm; NaN without a spring.
    """

    joint: FloatArray
    turn: FloatArray
    spring: FloatArray


@dataclass(frozen=True, slots=True)
class Rates:
    """What a motion does to the wheel, per mm of what drives it.

    Attributes
    ----------
    toe, camber : ndarray, shape (n,)
        Deg/mm.
    wheel_centre : ndarray, shape (n, 3)
        Mm/mm.
    contact_fixed : ndarray, shape (n, 3)
        Velocity of the knuckle's material point at the contact centre: a braked wheel, mm/mm.
    contact_rolling : ndarray, shape (n, 3)
        Velocity of the contact centre itself, which is not fixed to the knuckle, mm/mm.
    """

    toe: FloatArray
    camber: FloatArray
    wheel_centre: FloatArray
    contact_fixed: FloatArray
    contact_rolling: FloatArray

    @property
    def track(self) -> FloatArray:
        """Rate (n,) of the track, both wheels moving alike, mm/mm."""
        return 2.0 * self.contact_rolling[:, 1]


def swing_and_turn(
    chain: Chain, placed: Placed, links: FloatArray, condition: Condition, right: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Rates of swing (n,) and rotation (3, n) for right-hand sides (4, n); NaN without hold."""
    equations = chain.equations(placed, links, condition)
    right[:, ~(hold(chain, equations) > LEAST_HOLD)] = np.nan
    swing, turn, _ = solve(equations, right)
    return swing, turn


def _motion(pose: Pose, condition: Condition, rack: float, target: FloatArray) -> Motion:
    """Solve the closing equations for a rate of rack or target; NaN where nothing holds."""
    chain = pose.linkage.chain
    with np.errstate(all="ignore"):  # rows without a pose are NaN
        placed = chain.place(pose.state)
        links = chain.links(placed, pose.rack)
        right = np.zeros((4, len(pose.rack)))
        right[TIE_ROD] = rack * links[1, TIE_ROD]
        right[3] = target
        swing, turn = swing_and_turn(chain, placed, links, condition, right)
        return Motion(rows(swing * placed.slide), rows(turn), _spring_rate(pose, swing, turn))


def _spring_rate(pose: Pose, swing: FloatArray, turn: FloatArray) -> FloatArray:
    held = pose.linkage.held_spring
    if held is None:
        return np.full_like(swing, np.nan)
    by_swing, by_turn = held.equation(pose.linkage.chain.place(pose.state))
    rate: FloatArray = (by_swing * swing + column_dot(by_turn, turn)) / pose.spring_length
    return rate


def per_travel(pose: Pose) -> Motion:
    """Motion per mm of wheel-centre rise, the rack held."""
    return _motion(pose, HeldHeight(), 0.0, np.ones_like(pose.rack))


def per_rack(pose: Pose, held: Hold) -> Motion:
    """Motion per mm of rack travel to the left.

    Parameters
    ----------
    pose : Pose
    held : Hold
        What stays: the wheel-centre height or the spring's length.

    Returns
    -------
    Motion

    Raises
    ------
    ValueError
        If the spring is to be held and the linkage has none.
    """
    condition: Condition = HeldHeight()
    if held is Hold.SPRING:
        _, condition, _ = pose.linkage.require_spring()
    return _motion(pose, condition, 1.0, np.zeros_like(pose.rack))


def velocity_of(motion: Motion, pose: Posed, point: FloatArray) -> FloatArray:
    """Velocity (n, 3) in mm/mm of the knuckle's material point at `point` (n, 3)."""
    velocity: FloatArray = motion.joint + cross(motion.turn, point - pose.joint)
    return velocity


def _contact_drift(pose: Posed, spin_rate: FloatArray) -> FloatArray:
    """Velocity of the contact centre against the wheel centre."""
    spin = pose.spin_axis
    down = pose.contact_centre - pose.wheel_centre
    upright = np.zeros_like(spin)
    upright[:, 2] = 1.0
    level = upright - scale(spin[:, 2], spin)
    change = -scale(spin[:, 2], spin_rate) - scale(spin_rate[:, 2], spin)
    radius = pose.loaded_radius
    up = -down / radius[:, None]
    return -scale(radius / norm(level), change - scale(dot(up, change), up))


def wheel_rates(pose: Posed, motion: Motion) -> Rates:
    """Rates of toe, camber and contact centre.

    Parameters
    ----------
    pose : Posed
    motion : Motion
        Of the same rows.

    Returns
    -------
    Rates
        Per mm of what drives the motion.
    """
    spin = pose.spin_axis
    change = cross(motion.turn, spin)
    level = spin[:, 0] ** 2 + spin[:, 1] ** 2
    toe = (spin[:, 1] * change[:, 0] - spin[:, 0] * change[:, 1]) / level
    centre = velocity_of(motion, pose, pose.wheel_centre)
    return Rates(
        toe=np.degrees(toe),
        camber=np.degrees(-change[:, 2] / np.sqrt(level)),
        wheel_centre=centre,
        contact_fixed=velocity_of(motion, pose, pose.contact_centre),
        contact_rolling=centre + _contact_drift(pose, change),
    )


def motion_ratio(pose: Pose) -> FloatArray:
    """Spring travel ÷ wheel travel (n,): positive when jounce shortens the spring."""
    return -per_travel(pose).spring
