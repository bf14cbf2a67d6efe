"""What a gate pack tells beside decisions and verdicts: changes, deviations, risks, actions.

Plain JSON-able values only; `revision` as in `tracker.services.packs.parts`.
"""

from __future__ import annotations

from dataclasses import dataclass

from tracker.services.packs.parts import PackHistory

__all__ = [
    "PackAction",
    "PackChange",
    "PackDeviation",
    "PackEvidence",
    "PackRisk",
    "PackRole",
    "PackUnchecked",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackChange:
    """What became of one item since the previous baseline.

    Parameters
    ----------
    consequence : str
        The worst that came of it, in one of these words, worst first: broken, missed, unproven,
        unknown, shifted, strained, tight, changed, new, gone, restored.
    words : tuple of str
        What differs in engineering words, one sentence each.
    reasons : tuple of PackHistory
        The changes that led there, oldest first: its own, and the nearest behind what is computed
        for it.
    """

    key: str
    kind: str
    title: str
    consequence: str
    words: tuple[str, ...]
    reasons: tuple[PackHistory, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackDeviation:
    """An accepted miss.

    Parameters
    ----------
    extent, allowed : str
        How far it may go, in words and as a band.
    expires : str
        Gate it expires at.
    state : str
        valid, exceeded, expired, or not needed (its requirement is met).
    """

    key: str
    requirement: str
    decision: str
    reason: str
    approver: str
    extent: str
    allowed: str
    consequences: str
    expires: str
    state: str
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackAction:
    """An action; open as long as `closed` is empty."""

    key: str
    title: str
    owner: str
    gate: str
    about: tuple[str, ...]
    closed: str
    closed_on: str
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackRisk:
    """A risk; alive as long as `closed` is empty."""

    key: str
    title: str
    likelihood: str
    consequence: str
    owner: str
    gate: str
    about: tuple[str, ...]
    response: str
    closed: str
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackEvidence:
    """A file or an address that supports something.

    Parameters
    ----------
    state : str
        intact, changed, missing, or not checked (an address is never fetched).
    """

    key: str
    title: str
    place: str
    about: tuple[str, ...]
    sha256: str
    dated: str
    note: str
    state: str
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackUnchecked:
    """Something no check has shown.

    Parameters
    ----------
    about : str
        Why it is listed: not served, no check, not by analysis, check not current, no rule,
        unknown, on a guess, or evidence.
    """

    key: str
    kind: str
    title: str
    about: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackRole:
    """A line of the signature block: who signs as what, and what for."""

    role: str
    meaning: str
