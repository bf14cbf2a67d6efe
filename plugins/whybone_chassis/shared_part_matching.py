"""Finding the rotation that lays a left part's features onto the right part's.

Features of one kind may exchange, so pairs and rotation are searched together. A few features, all
of them where that is not too many trials, are tried on every place they could take; the best of
these fits are paired fully and fitted again. Up to five features that finds the very best fit; with
more it finds every fit that is exact, and else a good one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from whybone_chassis.answers import Flags, Reals
from whybone_chassis.mechanics.registration import Motion, register, screw_of
from whybone_chassis.mechanics.vectors import dot, norm
from whybone_chassis.shared_part_pairing import paired

__all__ = ["MOST_FEATURES", "Features", "Match", "matched", "mirrored"]

MOST_FEATURES = 12
"""Features looked at at most."""

_BASE = 3  # features that fix a rotation
_TRIALS = 4_000  # while there are no more, further features are tried as well
_KEPT = 12  # fits followed to the end
_ROUNDS = 20
_BLOCK = 256  # motions worked on at a time
_EQUAL = 1e-9  # of the part's size: fits this close are equally good
_FAR = 1e9  # of the part's size: what pairing unlike features costs


@dataclass(frozen=True, slots=True)
class Features:
    """Features of a part.

    Parameters
    ----------
    points, axes : ndarray, shape (k, 3)
        Where they are; unit vectors, zero where a feature has no axis.
    kinds : tuple of str
        Like kinds may exchange.
    directed : ndarray of bool, shape (k,)
        Whether the axis has a front end.
    """

    points: Reals
    axes: Reals
    kinds: tuple[str, ...]
    directed: Flags

    @property
    def size(self) -> float:
        """Root mean square distance from the middle; 1 where all features are in one place."""
        away = self.points - self.points.mean(axis=0)
        return float(np.sqrt(dot(away, away).mean())) or 1.0

    @property
    def alike(self) -> Flags:
        """Which features may take whose place, shape (k, k): same kind, same sort of axis."""
        has_axis = (norm(self.axes) > 0.0).tolist()
        sorts = list(zip(self.kinds, has_axis, self.directed.tolist(), strict=True))
        return np.array([[one == other for other in sorts] for one in sorts])


@dataclass(frozen=True, slots=True)
class Match:
    """The best fit found.

    Parameters
    ----------
    motion : Motion
        Left onto right, a batch of one.
    partners : ndarray of int, shape (k,)
        Feature of the right part each one of the left is laid onto.
    gaps : ndarray, shape (k,)
        Distance of each pair.
    tilts : ndarray, shape (k,)
        Angle between the axes of each pair, rad.
    is_determined : bool
        Whether the features allow one rotation only.
    """

    motion: Motion
    partners: np.ndarray
    gaps: Reals
    tilts: Reals
    is_determined: bool


def mirrored(left: Features) -> Features:
    """Return the features of the right part: the left one's, mirrored in Y."""
    flip = np.array([1.0, -1.0, 1.0])
    return Features(left.points * flip, left.axes * flip, left.kinds, left.directed)


def matched(left: Features) -> Match:
    """Lay a left part onto its right one as well as rotations can.

    Parameters
    ----------
    left : Features
        1 to `MOST_FEATURES` features.
    """
    right = mirrored(left)
    finished: dict[tuple[int, ...], tuple[float, float, Motion]] = {}
    for start in _starts(left, right):
        partners, motion = _settled(left, right, start)
        cost = _costs(left, right, motion)[0, np.arange(len(partners)), partners].sum()
        # Among equally good fits the smallest turn is the plainest to make.
        misfit = round(float(np.sqrt(cost)) / (left.size * _EQUAL))
        turn = float(screw_of(motion).angle[0])
        finished.setdefault(tuple(partners.tolist()), (misfit, turn, motion))
    found, (_, _, motion) = min(finished.items(), key=lambda item: item[1][:2])
    return _described(left, right, np.array(found), motion)


def _starts(left: Features, right: Features) -> Iterator[Motion]:
    """Try the base on all its places; return the fits that promise most."""
    base = _base(left)
    trials = list(_trials(left, base))
    places = np.array([each for each, _ in trials])
    signs = np.array([each for _, each in trials])
    motions = _fitted(left, right, np.broadcast_to(base, places.shape), places, signs)
    whole = len(base) == len(left.kinds)
    partners = places[:, np.argsort(base)] if whole else None
    promise = np.concatenate(
        [
            _least(left, right, _some(motions, rows), None if partners is None else partners[rows])
            for rows in _blocks(len(trials))
        ]
    )
    for number in np.argsort(promise, kind="stable")[:_KEPT].tolist():
        yield _some(motions, slice(number, number + 1))


def _base(left: Features) -> np.ndarray:
    """Choose the features to try: those that fix a rotation best, and more while they are few."""
    everything = range(len(left.kinds))
    count = min(_BASE, len(left.kinds))
    choices = [np.array(each) for each in combinations(everything, count)]
    base = max(choices, key=lambda each: _hold(left, each))
    further = [each for each in everything if each not in base]
    while further and _count(left, [*base, further[0]]) <= _TRIALS:
        base = np.append(base, further.pop(0))
    return base


def _count(left: Features, base: list[int]) -> int:
    """Return an upper bound of the trials of a base."""
    trials, alike = 1, left.alike
    for place, each in enumerate(base):
        taken = int(alike[each, base[:place]].sum())
        trials *= (int(alike[each].sum()) - taken) * len(_ways(left, each))
    return trials


def _ways(left: Features, each: int) -> tuple[float, ...]:
    """Return the ways an axis may point: both where it has no front end."""
    loose = bool(norm(left.axes[each]) > 0.0) and not left.directed[each]
    return (1.0, -1.0) if loose else (1.0,)


def _hold(left: Features, index: np.ndarray) -> float:
    """Tell how well features hold a part against turning about its loosest line."""
    away = left.points[index] - left.points[index].mean(axis=0)
    lines = np.concatenate([away, left.size * left.axes[index]])
    values = np.linalg.svd(lines, compute_uv=False)
    return float(values[1]) / left.size


def _trials(left: Features, base: np.ndarray) -> Iterator[tuple[list[int], tuple[float, ...]]]:
    """Try the base on all places of its kinds, axes without a front end both ways."""
    ways = [_ways(left, each) for each in base.tolist()]
    for places in _places(left.alike, base.tolist()):
        for signs in product(*ways):
            yield places, signs


def _places(alike: Flags, base: list[int]) -> Iterator[list[int]]:
    if not base:
        yield []
        return
    for rest in _places(alike, base[:-1]):
        for place in np.flatnonzero(alike[base[-1]]).tolist():
            if place not in rest:
                yield [*rest, place]


def _fitted(
    left: Features, right: Features, index: np.ndarray, places: np.ndarray, signs: Reals
) -> Motion:
    """Fit features (m, k) on places (m, k), their axes turned by signs (m, k)."""
    return register(
        left.points[index],
        right.points[places],
        left.size * left.axes[index],
        left.size * signs[..., None] * right.axes[places],
    )


def _blocks(count: int) -> Iterator[slice]:
    """Take many rows apart, so that what is worked out for all of them stays small."""
    for start in range(0, count, _BLOCK):
        yield slice(start, start + _BLOCK)


def _some(motions: Motion, rows: slice) -> Motion:
    return Motion(motions.rotation[rows], motions.translation[rows])


def _least(left: Features, right: Features, motions: Motion, partners: np.ndarray | None) -> Reals:
    """Return what pairing costs after each motion, shape (n,): at least, where it is not given."""
    costs = _costs(left, right, motions)
    if partners is None:
        least: Reals = costs.min(axis=2).sum(axis=1)
        return least
    given: Reals = np.take_along_axis(costs, partners[:, :, None], axis=2).sum(axis=(1, 2))
    return given


def _costs(left: Features, right: Features, motions: Motion) -> Reals:
    """Return the squared misfit of every pair after each motion, shape (n, k, k)."""
    count = len(motions.translation)
    points = motions.points(np.broadcast_to(left.points, (count, *left.points.shape)))
    axes = motions.directions(np.broadcast_to(left.axes, (count, *left.axes.shape)))
    away = points[:, :, None, :] - right.points
    ahead, back = axes[:, :, None, :] - right.axes, axes[:, :, None, :] + right.axes
    tilt = dot(ahead, ahead)
    tilt = np.where(left.directed[:, None], tilt, np.minimum(tilt, dot(back, back)))
    cost = dot(away, away) + left.size**2 * tilt
    return np.where(left.alike, cost, (_FAR * left.size) ** 2)


def _settled(left: Features, right: Features, motion: Motion) -> tuple[np.ndarray, Motion]:
    """Pair all features and fit again until the pairs stay."""
    everything = np.arange(len(left.kinds))[None]
    partners = paired(_costs(left, right, motion)[0])
    for _ in range(_ROUNDS):  # bounded, so that a tie cannot go round
        turned = motion.directions(left.axes[None])[0]
        backward = ~left.directed & (dot(turned, right.axes[partners]) < 0.0)
        signs = np.where(backward, -1.0, 1.0)[None]
        motion = _fitted(left, right, everything, partners[None], signs)
        again = paired(_costs(left, right, motion)[0])
        if (again == partners).all():
            break
        partners = again
    return partners, motion


def _described(left: Features, right: Features, partners: np.ndarray, motion: Motion) -> Match:
    points = motion.points(left.points[None])[0] - right.points[partners]
    axes, goals = motion.directions(left.axes[None])[0], right.axes[partners]
    along = dot(axes, goals)
    along = np.where(left.directed, along, np.abs(along))
    across = norm(np.cross(axes, goals))
    everything = np.arange(len(left.kinds))
    return Match(
        motion=motion,
        partners=partners,
        gaps=norm(points),
        tilts=np.arctan2(across, along),
        is_determined=_hold(left, everything) > _EQUAL,
    )
