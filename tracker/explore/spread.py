"""How likely each decision is to stand, given the tolerances: propagation of distributions.

JCGM 101:2008, the adaptive procedure of section 7.9: samples are added in independent replicates
until the probability that each decision stands is known to a stated half-width. The interval is
Student's, over the replicates; it is never narrower than what a replicate can resolve, and where
hardly any sample decides otherwise it is Clopper and Pearson's, as if all samples were independent.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tracker.errors import BadValueError
from tracker.evaluate.engine import Cancel, Engine
from tracker.explore.assessing import STRAINED, Assessment, live_decisions
from tracker.explore.candidates import Candidates
from tracker.explore.correlations import correlations_of, unpaired
from tracker.explore.judging import ACCEPTED, MISSED, MOOT, UNKNOWN
from tracker.explore.owners import Owner, owners
from tracker.explore.scatter import Correlations, Sampler, Scatter, scatters
from tracker.explore.trends import reach_of
from tracker.model.records import Quantity
from tracker.model.values import Kind

__all__ = ["Chance", "Plan", "Spread", "Summary", "spread"]

Reals = NDArray[np.float64]
Progress = Callable[[str], None]

_REPLICATES = 32
_FIRST = 128  # samples of each replicate to begin with
_DRAWN = 256  # samples of each replicate evaluated in one pass
_RARE = 50  # samples that decide otherwise, below which replicates say little
_BINS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What is asked of a spread.

    Parameters
    ----------
    half_width : float
        To which every probability is to be known.
    confidence : float
        Of the intervals.
    most : int
        Samples to stop at, whatever is known then.
    seed : int
        The same seed gives the same answer.
    correlated : Correlations
        Pairs of sources that scatter together, beside those that the records state, or instead.
    owner_samples : int
        Base samples of the sensitivity indices, a power of two; 0 leaves them out. 4,096 give
        indices to about 0.02, 16,384 to within 0.01, where single values interact.
    """

    half_width: float = 0.005
    confidence: float = 0.95
    most: int = 131_072
    seed: int = 1
    correlated: Correlations = field(default_factory=dict)
    owner_samples: int = 4096


@dataclass(frozen=True, slots=True)
class Chance:
    """How likely a decision is to stand (strained included).

    Parameters
    ----------
    low, high : float
        Interval at the plan's confidence.
    owners : tuple of Owner
        Whose scatter decides whether it stands, the largest first.
    """

    decision: str
    share: float
    low: float
    high: float
    owners: tuple[Owner, ...] = ()


@dataclass(frozen=True, slots=True)
class Summary:
    """Distribution of a judged quantity.

    Parameters
    ----------
    judge : int
        Position in the graph's judges.
    missed, unknown : float
        Shares of the samples.
    mean, deviation : float
        Of the known values; the deviation is the standard uncertainty.
    low, high : float
        Probabilistically symmetric interval at the plan's confidence.
    edges, counts : tuple
        Histogram of the known values, one edge more than counts.
    owners : tuple of Owner
        Whose scatter makes its variance, the largest first.
    """

    judge: int
    missed: float
    unknown: float
    mean: float
    deviation: float
    low: float
    high: float
    edges: tuple[float, ...]
    counts: tuple[int, ...]
    owners: tuple[Owner, ...] = ()


@dataclass(frozen=True, slots=True)
class Spread:
    """A propagation of distributions.

    Parameters
    ----------
    samples : int
        Drawn in all.
    reached : bool
        Whether every probability is known as well as asked.
    chances : tuple of Chance
        Of every decision that is not withdrawn.
    summaries : tuple of Summary
        Of every judged number that scatters.
    drawn : tuple of Scatter
        What scattered.
    idle : tuple of Quantity
        Quantities whose tolerance says nothing.
    correlated : Correlations
        Pairs that scattered together.
    unpaired : tuple of Quantity
        Quantities whose stated correlation says nothing.
    """

    samples: int
    reached: bool
    chances: tuple[Chance, ...]
    summaries: tuple[Summary, ...]
    drawn: tuple[Scatter, ...]
    idle: tuple[Quantity, ...]
    correlated: Correlations = field(default_factory=dict)
    unpaired: tuple[Quantity, ...] = ()


def spread(
    engine: Engine,
    plan: Plan | None = None,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> Spread:
    """Propagate the tolerances of a programme.

    Parameters
    ----------
    engine : Engine
        The present; only read.
    plan : Plan
        What is asked.
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    BadValueError
        Nothing has a tolerance that counts, or the correlations do not hold.
    CancelledError
        `cancel` asked to stop.
    """
    plan = plan or Plan()
    drawn, idle = scatters(engine)
    if not drawn:
        raise BadValueError(
            "nothing scatters: no given quantity has a tolerance",
            field="tolerance",
            remedy="Give one with `whybone amend KEY tolerance=…`",
        )
    tally = _Tally(engine, drawn)
    correlated = correlations_of(engine, drawn, plan.correlated)
    sampler = Sampler(drawn, plan.seed, _REPLICATES, correlated)
    fresh = _FIRST
    while True:
        for _ in range(max(fresh // _DRAWN, 1)):
            tally.take(sampler.draw(min(fresh, _DRAWN)), cancel)
        widest = max((high - low) / 2 for _, low, high in tally.shares(plan.confidence).values())
        if progress is not None:
            progress(f"{tally.count} samples, probabilities known to ±{100 * widest:.2g} %")
        if widest <= plan.half_width or 2 * tally.count > plan.most:
            break
        fresh = tally.count // _REPLICATES  # so that every replicate stays a power of two
    found = {} if correlated else _owned(engine, tally, drawn, plan, (cancel, progress))
    return Spread(
        samples=tally.count,
        reached=widest <= plan.half_width,
        chances=tuple(tally.chances(plan.confidence, found)),
        summaries=tuple(tally.summaries(plan.confidence, found)),
        drawn=tuple(drawn),
        idle=tuple(idle),
        correlated=correlated,
        unpaired=tuple(unpaired(engine, drawn)),
    )


_Found = dict[str | int, tuple[Owner, ...]]


def _owned(
    engine: Engine,
    tally: _Tally,
    drawn: Sequence[Scatter],
    plan: Plan,
    hooks: tuple[Cancel | None, Progress | None],
) -> _Found:
    """Return the owners of every decision and judge."""
    if not plan.owner_samples:
        return {}
    asked = (plan.owner_samples, plan.seed + 1)
    return owners(engine, drawn, tally.decisions, tally.places, asked, *hooks)


class _Tally:
    """What the samples came to so far."""

    def __init__(self, engine: Engine, drawn: Sequence[Scatter]) -> None:
        self._engine = engine
        self._drawn = drawn
        reaches = [reach_of(engine, each.source) for each in drawn]
        live = [each.id for each in live_decisions(engine)]
        self._still = [
            each for each in live if not any(reach.concerns(engine, each) for reach in reaches)
        ]
        self.decisions = [each for each in live if each not in self._still]
        slots = {slot for reach in reaches for slot in reach.trends}
        self.places = [
            place
            for place, judge in enumerate(engine.graph.judges)
            if judge.slot in slots and judge.measure.kind in (Kind.REAL, Kind.INTEGER)
        ]
        self.count = 0
        self._stood = np.zeros((_REPLICATES, len(live)), dtype=np.int64)
        self._values: dict[int, list[Reals]] = {place: [] for place in self.places}
        self._missed = dict.fromkeys(self.places, 0)

    def take(self, replicates: Sequence[Reals], cancel: Cancel | None) -> None:
        """Evaluate samples of every replicate."""
        rows = np.concatenate(replicates)
        owner = np.repeat(np.arange(len(replicates)), len(replicates[0]))
        self._add(assess(self._engine, self._drawn, rows, cancel), owner)
        self.count += len(rows)

    def _add(self, found: Assessment, owner: NDArray[np.intp]) -> None:
        for number, decision in enumerate(self.decisions):
            stood = found.standing(decision) <= STRAINED
            self._stood[:, number] += np.bincount(owner[stood], minlength=_REPLICATES)
        for place in self.places:
            slot = self._engine.graph.judges[place].slot
            verdict = found.judged(place).verdict
            known = (verdict != UNKNOWN) & (verdict != MOOT)
            self._values[place].append(found.column(slot).values[known].astype(np.float64))
            self._missed[place] += int(np.isin(verdict, (MISSED, ACCEPTED)).sum())

    def shares(self, confidence: float) -> dict[str, tuple[float, float, float]]:
        """Return for every decision how often it stood, with its interval."""
        each = self.count // _REPLICATES
        found = {
            decision: _interval(self._stood[:, number], each, confidence)
            for number, decision in enumerate(self.decisions)
        }
        for decision in self._still:
            standing = self._engine.state.standings[decision].standing
            sure = float(standing in ("stands", "strained"))
            found[decision] = (sure, sure, sure)
        return found

    def chances(self, confidence: float, found: _Found) -> list[Chance]:
        """Return the chances of all decisions, in the programme's order."""
        shares = self.shares(confidence)
        return [
            Chance(each.id, *shares[each.id], found.get(each.id, ()))
            for each in live_decisions(self._engine)
        ]

    def summaries(self, confidence: float, found: _Found) -> list[Summary]:
        """Return the distributions of all judged numbers."""
        return [self._summary(place, confidence, found.get(place, ())) for place in self.places]

    def _summary(self, place: int, confidence: float, owned: tuple[Owner, ...]) -> Summary:
        values = np.concatenate(self._values[place])
        missed, unknown = self._missed[place] / self.count, 1 - len(values) / self.count
        if not len(values):
            nan = float("nan")
            return Summary(place, missed, unknown, nan, nan, nan, nan, (), ())
        tail = (1 - confidence) / 2
        low, high = np.quantile(values, [tail, 1 - tail])
        counts, edges = _histogram(values)
        return Summary(
            judge=place,
            missed=missed,
            unknown=unknown,
            mean=float(values.mean()),
            deviation=float(values.std()) if np.ptp(values) else 0.0,
            low=float(low),
            high=float(high),
            edges=tuple(edges.tolist()),
            counts=tuple(counts.tolist()),
            owners=owned,
        )


def _histogram(values: Reals) -> tuple[NDArray[np.int64], Reals]:
    """Count values in bins; one bin alone where they differ by rounding only."""
    low, high = values.min(), values.max()
    if high - low > _BINS * 2 * np.spacing(max(abs(low), abs(high))):
        return np.histogram(values, bins=_BINS)
    return np.array([len(values)]), np.array([low, np.nextafter(high, np.inf)])


def assess(
    engine: Engine, drawn: Sequence[Scatter], rows: Reals, cancel: Cancel | None = None
) -> Assessment:
    """Evaluate rows of sampled values, one column for each scatter."""
    candidates = Candidates(engine, len(rows))
    for column, each in enumerate(drawn):
        candidates.put(each.source, rows[:, column])
    return candidates.assess(cancel)


def _interval(stood: NDArray[np.int64], each: int, confidence: float) -> tuple[float, float, float]:
    """Return the share that stood and its interval.

    Parameters
    ----------
    stood : ndarray of int, shape (replicates,)
        How many of a replicate's samples stood.
    each : int
        Samples of a replicate.
    """
    from scipy.special import betaincinv, stdtrit

    replicates, hits = len(stood), int(stood.sum())
    total = replicates * each
    share, tail = hits / total, (1 - confidence) / 2
    if min(hits, total - hits) < _RARE:
        low = float(betaincinv(hits, total - hits + 1, tail)) if hits else 0.0
        high = float(betaincinv(hits + 1, total - hits, 1 - tail)) if hits < total else 1.0
        return share, low, high
    student = float(stdtrit(replicates - 1, 1 - tail))
    deviation = max(float(np.std(stood, ddof=1)), 0.5)  # a count moves in steps of one
    half = student * deviation / float(np.sqrt(replicates)) / each
    return share, max(share - half, 0.0), min(share + half, 1.0)
