"""Read models of gates: how ready one is, what was frozen there, what blocks the next."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BaselineLine",
    "CriterionView",
    "FrozenView",
    "GateList",
    "GatePage",
    "GateStanding",
    "OffenderView",
    "PackedFile",
    "PackedView",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class OffenderView:
    """An item that keeps a criterion from being met, and why."""

    key: str
    kind: str
    title: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CriterionView:
    """A criterion of a gate and how it comes out.

    Parameters
    ----------
    name : str
        As `Gate.criteria` calls it.
    title : str
        What it asks, in words.
    setting : str
        What this gate asks of it: yes, no, or the worst basis it takes.
    result : str
        met, not met or set aside.
    """

    name: str
    title: str
    setting: str
    result: str
    offenders: tuple[OffenderView, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BaselineLine:
    """A baseline at a glance.

    Parameters
    ----------
    frozen : int
        Revision of the change that froze it.
    at, author, reason : str
        Of that change.
    revision, head : int, str
        What was frozen.
    content : str
        SHA-256 of the frozen content.
    """

    key: str
    gate: str
    frozen: int
    at: str
    author: str
    reason: str
    revision: int
    head: str
    content: str
    ready: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class GateStanding:
    """A gate at a glance.

    Parameters
    ----------
    ready : bool
        As it was frozen last; where it never was, whether it is ready now.
    baseline : str
        Key of its latest baseline; empty without.
    blocked_by : tuple of str
        Names of the criteria that are not met now.
    """

    key: str
    title: str
    date: str
    ready: bool
    baseline: str
    blocked_by: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GateList:
    """All gates in the order of their dates.

    Parameters
    ----------
    next : str
        Key of the next gate to freeze; empty when all are frozen.
    """

    revision: int
    gates: tuple[GateStanding, ...]
    next: str
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GatePage:
    """A gate: its readiness now and what was frozen at it.

    Parameters
    ----------
    due : tuple of str
        Keys of what is due here or earlier.
    ready : bool
        Whether every criterion is met or set aside now.
    baselines : tuple of BaselineLine
        Latest first.
    """

    revision: int
    key: str
    title: str
    date: str
    due: tuple[str, ...]
    ready: bool
    criteria: tuple[CriterionView, ...]
    baselines: tuple[BaselineLine, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenView:
    """Receipt of a freeze.

    Parameters
    ----------
    stored : int
        Revision of the change that froze it.
    hash : str
        Head hash after it.
    """

    gate: str
    baseline: str
    ready: bool
    revision: int
    head: str
    content: str
    stored: int
    hash: str
    criteria: tuple[CriterionView, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedFile:
    """A file a pack was written into."""

    format: str
    path: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedView:
    """Receipt of a pack: what it was made from and where it went."""

    gate: str
    baseline: str
    ready: bool
    revision: int
    head: str
    files: tuple[PackedFile, ...]
    caution: str
