"""What the tolerances of a programme mean as distributions, and samples drawn from them.

A tolerance ± h stands for (JCGM 101:2008, section 6.4):

============  ======================================================
normal        standard deviation h / 2: ± covers 95.45 %
rectangular   all values within ± h equally likely
triangular    symmetric, from −h to h
============  ======================================================

A point's tolerance holds for each of its components by itself. Samples are Sobol' points with
random scrambling: every replicate is an unbiased sample, and replicates are independent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.evaluate.engine import Engine
from tracker.explore.sources import Source, sources_at
from tracker.model.records import Quantity, ToleranceShape
from tracker.model.values import Kind

__all__ = ["COVERAGE_FACTOR", "Correlations", "Name", "Sampler", "Scatter", "scatters"]

COVERAGE_FACTOR = 2.0
"""Standard deviations in the half-width of a normal tolerance."""

Reals = NDArray[np.float64]
Name = tuple[str, str]
"""Record id and part."""
Correlations = Mapping[tuple[Name, Name], float]
"""Pairs of (record id, part) → correlation coefficient of their normal scores."""

_BITS = 30  # of the Sobol' points


@dataclass(frozen=True, slots=True)
class Scatter:
    """A source that scatters about its present value.

    Parameters
    ----------
    source : Source
        A real number.
    half_width : float
        Of the tolerance, in the source's unit.
    shape : ToleranceShape
        What it stands for.
    """

    source: Source
    half_width: float
    shape: ToleranceShape

    @property
    def name(self) -> Name:
        """Record id and part."""
        return self.source.id, self.source.part

    def values(self, shares: Reals) -> Reals:
        """Return the values below which given shares of the distribution lie."""
        return np.asarray(self.source.number + self.half_width * _deviates(self.shape, shares))


def _deviates(shape: ToleranceShape, shares: Reals) -> Reals:
    """Return quantiles in half-widths."""
    if shape is ToleranceShape.NORMAL:
        from scipy.special import ndtri

        return np.asarray(ndtri(shares) / COVERAGE_FACTOR, dtype=np.float64)
    if shape is ToleranceShape.RECTANGULAR:
        return np.asarray(2 * shares - 1)
    low = np.sqrt(2 * np.minimum(shares, 0.5)) - 1
    high = 1 - np.sqrt(2 * (1 - np.maximum(shares, 0.5)))
    return np.asarray(np.where(shares < 0.5, low, high))  # noqa: PLR2004 - the middle of the distribution


def scatters(engine: Engine) -> tuple[list[Scatter], list[Quantity]]:
    """Return what scatters, and the quantities whose tolerance says nothing.

    A tolerance counts on a known real or point that no check computes.
    """
    found, idle = [], []
    for quantity in engine.programme.of(Quantity):
        tolerance = quantity.tolerance
        if tolerance is None or tolerance.half_width == 0:
            continue
        slot = engine.graph.index[quantity.id, ""]
        real = quantity.kind in (Kind.REAL, Kind.POINT)
        known = isinstance(engine.state.slots[slot], np.ndarray)
        if real and known and slot not in engine.graph.writer:
            sources = sources_at(engine, quantity.id)
            found += [Scatter(each, tolerance.half_width, tolerance.shape) for each in sources]
        else:
            idle.append(quantity)
    return found, idle


class Sampler:
    """Draws replicates of samples.

    Parameters
    ----------
    drawn : sequence of Scatter
        What scatters, at least one.
    seed : int
        The same seed draws the same samples.
    replicates : int
        Independent replicates.
    correlated : Correlations
        Pairs that scatter together, through a Gaussian copula: the coefficient is that of their
        normal scores, which for two normal tolerances is their own. They make a positive definite
        matrix.
    copies : int
        Independent sets of columns in one sample.
    """

    def __init__(
        self,
        drawn: Sequence[Scatter],
        seed: int,
        replicates: int,
        correlated: Correlations | None = None,
        copies: int = 1,
    ) -> None:
        from scipy.stats import qmc

        self.drawn = drawn
        self._mix = _mixing(drawn, correlated) if correlated else None
        seeds = np.random.SeedSequence(seed).spawn(replicates)
        self._points: list[Any] = [
            qmc.Sobol(len(drawn) * copies, bits=_BITS, rng=np.random.default_rng(each))
            for each in seeds
        ]

    def draw(self, count: int) -> list[Reals]:
        """Draw the next values of every replicate.

        Parameters
        ----------
        count : int
            Of each replicate; with what was drawn before, a power of two.

        Returns
        -------
        list of ndarray, shape (count, copies · sources)
            One for each replicate.
        """
        return [self._valued(each.random(count)) for each in self._points]

    def _valued(self, shares: Reals) -> Reals:
        shares = shares + 0.5**_BITS / 2  # the middle of each cell: never 0
        if self._mix is not None:
            from scipy.special import ndtr, ndtri

            shares = ndtr(ndtri(shares) @ self._mix.T)
        columns = [
            self.drawn[place % len(self.drawn)].values(shares[:, place])
            for place in range(shares.shape[1])
        ]
        return np.stack(columns, axis=1)


def _mixing(drawn: Sequence[Scatter], correlated: Correlations) -> Reals:
    """Return the factor that gives independent normal scores their correlations."""
    places = {each.name: place for place, each in enumerate(drawn)}
    matrix = np.eye(len(drawn))
    for (one, other), coefficient in correlated.items():
        matrix[places[one], places[other]] = matrix[places[other], places[one]] = coefficient
    return np.asarray(np.linalg.cholesky(matrix), dtype=np.float64)
