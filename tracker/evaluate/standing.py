"""How a decision stands: computed from what its requirements and rules find."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from tracker.evaluate.slots import Unknown
from tracker.evaluate.verdict import Judgement, Verdict

__all__ = ["Finding", "Standing", "StandingOf", "worst_standing"]


class Standing(StrEnum):
    """Standing of a decision, from best to worst."""

    STANDS = "stands"
    STRAINED = "strained"
    UNPROVEN = "unproven"
    BROKEN = "broken"


@dataclass(frozen=True, slots=True)
class Finding:
    """A judgement, and why it is unknown where it is.

    Parameters
    ----------
    reason, cause : str
        Why the value is unknown, and the id of the record where that began.
    moot : bool
        Whether a check's own rule has nothing to judge here, which counts against nobody.
    deviation : str
        Id of the deviation that accepts a missed value; empty where none does.
    """

    judgement: Judgement
    reason: str = ""
    cause: str = ""
    moot: bool = False
    deviation: str = ""

    @property
    def counts_as(self) -> Standing:
        """The best a decision can stand with it: an accepted miss strains and breaks nothing."""
        verdict = self.judgement.verdict
        if verdict is Verdict.MISSED and self.deviation:
            return Standing.STRAINED
        return _BY_VERDICT[verdict]


@dataclass(frozen=True, slots=True)
class StandingOf:
    """A standing with the findings that make it so.

    Parameters
    ----------
    culprits : tuple of int
        Positions in the graph's judges.
    unset : Unknown or None
        What is unknown where no finding is to blame; None with no culprits and `UNPROVEN` means
        that nothing judges the decision.
    """

    standing: Standing
    culprits: tuple[int, ...] = ()
    unset: Unknown | None = None


_BY_VERDICT = {
    Verdict.MISSED: Standing.BROKEN,
    Verdict.UNKNOWN: Standing.UNPROVEN,
    Verdict.TIGHT: Standing.STRAINED,
    Verdict.MET: Standing.STANDS,
}
_WORST_FIRST = (Standing.BROKEN, Standing.UNPROVEN, Standing.STRAINED)


def worst_standing(findings: dict[int, Finding], unset: Unknown | None = None) -> StandingOf:
    """Work out a decision's standing.

    Parameters
    ----------
    findings : mapping of int to Finding
        Position in the graph's judges → finding, of what it serves and of its checks' rules.
    unset : Unknown or None
        The first unknown among what the decision sets and what its checks give.
    """
    counted = [(place, each.counts_as) for place, each in findings.items()]
    for standing in _WORST_FIRST:
        culprits = [place for place, each in counted if each is standing]
        if culprits:
            return StandingOf(standing, tuple(culprits))
        if standing is Standing.UNPROVEN and (unset or not findings):
            return StandingOf(standing, unset=unset)
    return StandingOf(Standing.STANDS)
