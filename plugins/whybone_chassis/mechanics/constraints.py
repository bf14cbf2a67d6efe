"""Closing equations of a knuckle on five links and one condition, and their Jacobian.

One joint swings on the circle that its arm leaves it (front: the upper outer joint); the knuckle
turns about that joint. Unknowns of a row: the swing (one angle) and the rotation (three).
Equations: the three other links' lengths and the condition. Component-first arrays, (3, ..., n).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, Protocol, Self

import numpy as np

from whybone_chassis.mechanics.carriers import SpringSeat
from whybone_chassis.mechanics.columns import cross, dot, matrix, pick, turned
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray, IntArray

LOWER_FRONT, LOWER_REAR, TIE_ROD, WHEEL = range(4)
LINKS = 3


class State(NamedTuple):
    """Where the rows are: cosine and sine of the swing (2, n), unit quaternion (4, n)."""

    swing: FloatArray
    turn: FloatArray

    def take(self, index: IntArray) -> State:
        """Return some of the rows."""
        return State(pick(self.swing, index), pick(self.turn, index))


class Placed(NamedTuple):
    """Positions of a state: the swinging joint, its derivative by the swing, arms from it."""

    joint: FloatArray
    slide: FloatArray
    arms: FloatArray


class Equations(NamedTuple):
    """Four linear equations per row: swing column (4, n), rotation columns (3, 4, n)."""

    swing: FloatArray
    turn: FloatArray


class Condition(Protocol):
    """The sixth condition that picks one pose of the remaining motion."""

    def gap(self, placed: Placed, target: FloatArray) -> FloatArray:
        """Target minus present value, shape (n,)."""

    def equation(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        """Swing (n,) and rotation (3, n) coefficients."""

    def per_target(self, target: FloatArray) -> FloatArray:
        """Rate of the gap by the target, shape (n,)."""

    def possible(self, target: FloatArray) -> BoolArray:
        """Whether any pose could have the target, shape (n,)."""

    def take(self, index: IntArray) -> Self:
        """Return some of the rows."""


@dataclass(frozen=True, slots=True)
class HeldHeight:
    """The wheel centre's height (mm) is given."""

    def gap(self, placed: Placed, target: FloatArray) -> FloatArray:
        """Target minus present height."""
        height: FloatArray = target - (placed.joint[2] + placed.arms[2, WHEEL])
        return height

    def equation(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        """Coefficients of the height's rate."""
        x, y, _ = placed.arms[:, WHEEL]
        return placed.slide[2], np.stack((y, -x, np.zeros_like(x)))

    def per_target(self, target: FloatArray) -> FloatArray:
        """One: the equation is the height itself."""
        return np.ones_like(target)

    def possible(self, target: FloatArray) -> BoolArray:
        """All heights are."""
        return np.ones(target.shape, dtype=np.bool_)

    def take(self, index: IntArray) -> Self:  # noqa: ARG002 - nothing row-wise is kept
        """Return itself: nothing row-wise is kept."""
        return self


@dataclass(frozen=True, slots=True)
class HeldSpring:
    """The spring's length (mm) is given; as half its square, which is smooth everywhere."""

    seat: SpringSeat
    upper: FloatArray
    on_rear: BoolArray

    def joint(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        """Outer joint of the arm or link that carries the spring, and its arm, both (3, n)."""
        arm = np.where(self.on_rear, placed.arms[:, LOWER_REAR], placed.arms[:, LOWER_FRONT])
        return placed.joint + arm, arm

    def span(self, placed: Placed) -> FloatArray:
        """Vector (3, n) from the upper to the lower seat."""
        joint, _ = self.joint(placed)
        span: FloatArray = self.seat.at(joint) - self.upper
        return span

    def gap(self, placed: Placed, target: FloatArray) -> FloatArray:
        """Half the difference of the squared lengths."""
        span = self.span(placed)
        gap: FloatArray = 0.5 * (target * target - dot(span, span))
        return gap

    def equation(self, placed: Placed) -> tuple[FloatArray, FloatArray]:
        """Coefficients of half the squared length's rate."""
        joint, arm = self.joint(placed)
        pull = self.seat.pull(joint, self.seat.at(joint) - self.upper)
        return dot(placed.slide, pull), cross(arm, pull)

    def per_target(self, target: FloatArray) -> FloatArray:
        """Return the length itself, the derivative of half its square."""
        return target

    def possible(self, target: FloatArray) -> BoolArray:
        """Only positive lengths are; the equation, being squared, would not see the sign."""
        return target > 0.0

    def take(self, index: IntArray) -> Self:
        """Return some of the rows."""
        return type(self)(self.seat.take(index), pick(self.upper, index), pick(self.on_rear, index))


@dataclass(frozen=True, slots=True)
class Chain:
    """What stays fixed while rows are solved.

    The last axis is the row, or of length one where all rows share one geometry.
    `centre`, `level`, `rise`: circle of the swinging joint, centre + cos·level + sin·rise;
    `arms` (3, 4, n): design offsets of the knuckle's points from that joint; `inner`
    (3, 3, n): inner ends of the three links; `square` (3, n): their squared lengths.
    """

    centre: FloatArray
    level: FloatArray
    rise: FloatArray
    arms: FloatArray
    inner: FloatArray
    square: FloatArray
    radius: FloatArray
    reach: FloatArray

    def take(self, index: IntArray) -> Self:
        """Return some of the rows."""
        return type(self)(
            *(pick(getattr(self, name), index) for name in Chain.__dataclass_fields__)
        )

    def place(self, state: State) -> Placed:
        """Positions of the knuckle's points."""
        cosine, sine = state.swing
        joint = self.centre + cosine * self.level + sine * self.rise
        slide = cosine * self.rise - sine * self.level
        turn = matrix(state.turn)
        arms = np.empty((3, 4, joint.shape[-1]))
        for i in range(3):
            arms[i] = (
                turn[i, 0] * self.arms[0] + turn[i, 1] * self.arms[1] + turn[i, 2] * self.arms[2]
            )
        return Placed(joint, slide, arms)

    def links(self, placed: Placed, rack: FloatArray) -> FloatArray:
        """Vectors (3, 3, n) from the three links' inner to their outer ends."""
        links: FloatArray = placed.joint[:, None] + placed.arms[:, :LINKS] - self.inner
        links[1, TIE_ROD] -= rack
        return links

    def gaps(self, links: FloatArray) -> FloatArray:
        """Half the difference of squared design and present lengths, (3, n)."""
        gaps: FloatArray = 0.5 * (self.square - dot(links, links))
        return gaps

    def equations(self, placed: Placed, links: FloatArray, condition: Condition) -> Equations:
        """Jacobian of links and condition by swing and rotation."""
        count = links.shape[-1]
        swing, turn = np.empty((4, count)), np.empty((3, 4, count))
        turn[:, :LINKS] = cross(placed.arms[:, :LINKS], links)
        swing[:LINKS] = dot(placed.slide[:, None], links)
        swing[LINKS], turn[:, LINKS] = condition.equation(placed)
        return Equations(swing, turn)


def advance(state: State, swing: FloatArray, turn: FloatArray) -> State:
    """Move on by a swing (n,) and a rotation vector (3, n), both small angles."""
    cosine, sine = state.swing
    ahead = np.stack((cosine - swing * sine, sine + swing * cosine))
    length = np.sqrt(ahead[0] * ahead[0] + ahead[1] * ahead[1])
    return State(ahead / length, turned(state.turn, turn))


def _minors(equations: Equations) -> tuple[FloatArray, ...]:
    """Products of the links' rotation rows, their volume, the swing column and the determinant."""
    a, b, c, last = (equations.turn[:, i] for i in range(4))
    bc, ca, ab = cross(b, c), cross(c, a), cross(a, b)
    volume = dot(a, bc)
    s = equations.swing
    by_swing = s[0] * bc + s[1] * ca + s[2] * ab
    return bc, ca, ab, volume, by_swing, s[3] * volume - dot(last, by_swing)


def determinant(equations: Equations) -> FloatArray:
    """Compute the determinant (n,) of the rows' four equations."""
    return _minors(equations)[-1]


def solve(equations: Equations, right: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Solve the rows' four equations by Cramer's rule.

    No pivot is chosen and nothing but the determinant divides, so no admissible pose is
    refused for the order of its equations. Rounding is corrected by the Newton iteration.

    Parameters
    ----------
    equations : Equations
    right : ndarray, shape (4, n)

    Returns
    -------
    swing : ndarray, shape (n,)
    turn : ndarray, shape (3, n)
    determinant : ndarray, shape (n,)
    """
    bc, ca, ab, volume, by_swing, whole = _minors(equations)
    a, b, c, last = (equations.turn[:, i] for i in range(4))
    s, r = equations.swing, right
    by_right = r[0] * bc + r[1] * ca + r[2] * ab
    mixed = (
        (s[1] * r[2] - s[2] * r[1]) * a
        + (s[2] * r[0] - s[0] * r[2]) * b
        + (s[0] * r[1] - s[1] * r[0]) * c
    )
    swing = (r[3] * volume - dot(last, by_right)) / whole
    turn = (s[3] * by_right - r[3] * by_swing + cross(last, mixed)) / whole
    return swing, turn, whole


class Footing(NamedTuple):
    """How rows stand in their design position: determinant's sign and firmness, (n,)."""

    sign: FloatArray
    hold: FloatArray

    def take(self, index: IntArray) -> Footing:
        """Return some of the rows."""
        return Footing(pick(self.sign, index), pick(self.hold, index))


def design(count: int) -> State:
    """State of the design position for a number of rows."""
    swing, turn = np.zeros((2, count)), np.zeros((4, count))
    swing[0], turn[0] = 1.0, 1.0
    return State(swing, turn)


def footing(chain: Chain, condition: Condition) -> Footing:
    """Footing of each row."""
    count = chain.radius.shape[0]
    placed = chain.place(design(count))
    equations = chain.equations(placed, chain.links(placed, np.zeros(count)), condition)
    return Footing(np.sign(determinant(equations)), hold(chain, equations))


def hold(chain: Chain, equations: Equations) -> FloatArray:
    """How firmly links and condition hold the knuckle, shape (n,): 0 singular, 1 at best.

    The determinant over the product of its rows' lengths, with angles made lengths by the
    joint's swing radius and the knuckle's reach.
    """
    swing = equations.swing / chain.radius
    turn = equations.turn / chain.reach
    sizes = np.sqrt(swing * swing + dot(turn, turn))
    return np.abs(determinant(Equations(swing / sizes, turn / sizes)))
