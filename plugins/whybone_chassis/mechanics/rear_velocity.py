"""Rates of a rear corner's pose from the closing equations' Jacobian, not from differences."""

from __future__ import annotations

import numpy as np

from whybone_chassis.mechanics.columns import dot, rows
from whybone_chassis.mechanics.constraints import HeldHeight, Placed
from whybone_chassis.mechanics.rear_linkage import RearPose
from whybone_chassis.mechanics.vectors import FloatArray
from whybone_chassis.mechanics.velocity import Motion, swing_and_turn


def _spring_rate(pose: RearPose, placed: Placed, swing: FloatArray) -> FloatArray:
    rider, seats = pose.linkage.seat, pose.linkage.seats
    if rider is None or seats is None:
        return np.full_like(swing, np.nan)
    span = rider.at(placed.joint) - seats.upper.T
    pull = rider.pull(placed.joint, span)
    rate: FloatArray = dot(pull, placed.slide) * swing / np.sqrt(dot(span, span))
    return rate


def per_travel(pose: RearPose) -> Motion:
    """Motion per mm of wheel-centre rise; its `joint` is the lower outer one."""
    chain = pose.linkage.chain
    count = len(pose.status)
    with np.errstate(all="ignore"):  # rows without a pose are NaN
        placed = chain.place(pose.state)
        links = chain.links(placed, np.zeros(count))
        right = np.zeros((4, count))
        right[3] = 1.0
        swing, turn = swing_and_turn(chain, placed, links, HeldHeight(), right)
        spring = _spring_rate(pose, placed, swing)
        return Motion(rows(swing * placed.slide), rows(turn), spring)


def motion_ratio(motion: Motion) -> FloatArray:
    """Spring travel ÷ wheel travel (n,): positive when jounce shortens the spring."""
    return -motion.spring
