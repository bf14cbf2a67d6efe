"""Records a programme gate is walked through with: gates, what was accepted, what is open.

A baseline is what one gate was shown. Its content is kept by its hash, and neither it nor the
record is ever changed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tracker.model.parts import Bound, Level

__all__ = ["Action", "Baseline", "Deviation", "Evidence", "Gate", "Risk"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A programme gate.

    Parameters
    ----------
    date : str
        RFC 3339 full-date.
    criteria : mapping of str to str
        Criterion → what this gate asks of it; a criterion left out is asked as usual.
    """

    id: str
    key: str
    title: str
    date: str
    criteria: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """An accepted miss of a requirement, until a gate.

    It holds until a baseline is frozen at the gate it expires at, or at a later one. The fields
    are those ISO 10007 asks of a change: what differs (extent), its justification (reason), its
    consequences and who disposed of it (approver).

    Parameters
    ----------
    requirement : str
        Id of the requirement that may be missed.
    extent : str
        How far, in words.
    lower, upper : Bound or None
        How far the value may go, in the requirement's unit. With one of them, the other side
        keeps the requirement's own bound; with neither, every miss is accepted.
    expires : str
        Id of the gate.
    decision : str
        Id of the decision that makes it necessary; may be empty.
    """

    id: str
    key: str
    requirement: str
    reason: str
    approver: str
    extent: str
    expires: str
    lower: Bound | None = None
    upper: Bound | None = None
    consequences: str = ""
    decision: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """An open point: what somebody is to do by a gate.

    Parameters
    ----------
    about : tuple of str
        Ids of records.
    closed : str
        How it was closed; empty while it is open.
    closed_on : str
        RFC 3339 full-date; empty while it is open.
    """

    id: str
    key: str
    title: str
    owner: str = ""
    gate: str = ""
    about: tuple[str, ...] = ()
    closed: str = ""
    closed_on: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """A file or an address that shows something.

    Parameters
    ----------
    about : tuple of str
        Ids of the requirements, decisions, quantities and checks it supports.
    place : str
        Path of the file, or an address.
    dated : str
        Date of the evidence, RFC 3339 full-date.
    sha256 : str
        Hash of the file, 64 lower-case hexadecimal digits; empty for an address.
    """

    id: str
    key: str
    title: str
    place: str
    dated: str
    about: tuple[str, ...] = ()
    sha256: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """What may go wrong, and what is done about it.

    Likelihood, consequence and response are the parts of a risk in ISO/IEC/IEEE 16085 (recalled
    from memory).

    Parameters
    ----------
    about : tuple of str
        Ids of records.
    response : str
        What is done about it.
    closed : str
        Why it is no risk any more; empty while it is one.
    """

    id: str
    key: str
    title: str
    likelihood: Level
    consequence: Level
    about: tuple[str, ...] = ()
    owner: str = ""
    gate: str = ""
    response: str = ""
    closed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Baseline:
    """What was shown at a gate: one revision with everything it held, never changed again.

    A configuration baseline in the sense of ISO 10007.

    Parameters
    ----------
    gate : str
        Id of the gate.
    revision : int
        Revision of the programme that was frozen.
    head : str
        Hash of that revision; hex.
    content : str
        SHA-256 of the frozen content, under which the store keeps it; hex.
    ready : bool
        Whether every criterion was met or waived.
    criteria : mapping of str to str
        Criterion → its result in a word.
    versions : mapping of str to str
        Tool or check → its version.
    """

    id: str
    key: str
    gate: str
    revision: int
    head: str
    content: str
    ready: bool = False
    criteria: Mapping[str, str] = field(default_factory=dict)
    versions: Mapping[str, str] = field(default_factory=dict)
