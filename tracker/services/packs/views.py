"""A gate pack: everything that is shown at a gate, frozen with it.

Plain JSON-able values only, so that a pack is drawn years later from what was frozen and nothing is
computed again. Its parts stand in `tracker.services.packs.parts` (where figures and revisions are
explained) and `tracker.services.packs.records`. Keys are the items' keys at the frozen revision.
"""

from __future__ import annotations

from dataclasses import dataclass

from tracker.model.values import Value
from tracker.services.packs.parts import (
    PackFigure,
    PackFinding,
    PackGround,
    PackHeadroom,
    PackHistory,
    PackOption,
    PackReview,
    PackShift,
)
from tracker.services.packs.records import (
    PackAction,
    PackChange,
    PackDeviation,
    PackEvidence,
    PackRisk,
    PackRole,
    PackUnchecked,
)

__all__ = [
    "FORMAT",
    "PackCheck",
    "PackContent",
    "PackCover",
    "PackCriterion",
    "PackDecision",
    "PackLink",
    "PackOffender",
    "PackPort",
    "PackQuantity",
    "PackRequirement",
    "PackVersion",
]

FORMAT = 1
"""Version of this form; a pack of another one is read by its own reader."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackVersion:
    """A tool or check and its version."""

    name: str
    version: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCover:
    """What the pack is about and what it stands on.

    Parameters
    ----------
    title : str
        The programme.
    scope : str
        What is covered, in words.
    gate, gate_title, gate_date : str
        Key, title and date (RFC 3339 full-date) of the gate.
    baseline : str
        Key of the baseline.
    frozen_at : str
        UTC time of the freeze, RFC 3339.
    author : str
        Who froze it.
    reason : str
        Why it was frozen as it was.
    ready : bool
        Whether every criterion was met or set aside.
    revision, head : int, str
        What was frozen, and the hash the journal had there.
    previous, previous_revision : str, int
        The baseline changes are counted from; empty and 0 for the first.
    digits : int
        Significant digits of computed numbers.
    """

    title: str
    currency: str
    scope: str
    gate: str
    gate_title: str
    gate_date: str
    baseline: str
    frozen_at: str
    author: str
    reason: str
    ready: bool
    revision: int
    head: str
    previous: str
    previous_revision: int
    versions: tuple[PackVersion, ...]
    digits: int
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackOffender:
    """An item that keeps a criterion from being met, and why."""

    key: str
    kind: str
    title: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCriterion:
    """A criterion of the gate and how it came out.

    Parameters
    ----------
    title : str
        What it asks, in words.
    setting : str
        What this gate asks of it: yes, no, or a basis.
    result : str
        met, not met or set aside.
    """

    name: str
    title: str
    setting: str
    result: str
    offenders: tuple[PackOffender, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackLink:
    """A row of the matrix: a requirement, a decision that serves it, the quantity, its check.

    Parameters
    ----------
    decision : str
        Empty where none serves it.
    quantity : str
        Address of the judged value.
    check : str
        Key of the check that computes it; empty where it is stated.
    source : str
        Where the value comes from in words: given, `decision KEY` or `check KEY`.
    """

    requirement: str
    decision: str
    quantity: str
    check: str
    source: str
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackRequirement:
    """A requirement with its finding.

    Parameters
    ----------
    verification : str
        analysis, test, inspection or demonstration.
    gate : str
        Where it is due; empty for nowhere.
    decisions : tuple of str
        Decisions that serve it.
    revision : int
        The last change of the requirement itself.
    """

    key: str
    statement: str
    rationale: str
    source: str
    owner: str
    priority: str
    risk: str
    verification: str
    parents: tuple[str, ...]
    gate: str
    decisions: tuple[str, ...]
    finding: PackFinding
    evidence: tuple[str, ...]
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackDecision:
    """A decision's page.

    Parameters
    ----------
    state : str
        open, leaning, settled or withdrawn.
    standing, why : str
        stands, strained, broken or unproven, and what makes it so; empty when withdrawn.
    chosen : str
        Key of the applied option.
    dissent : tuple of (who, why)
        Who differed.
    grounds : tuple of PackGround
        Stated values it directly rests on.
    findings : tuple of PackFinding
        Of the requirements it serves and of its checks' rules, as they stand.
    headroom : tuple of PackHeadroom
        When it has to be reopened.
    evidence, deviations, risks, actions : tuple of str
        Keys of those about it.
    superseded_by, supersedes : str, tuple of str
        Decisions.
    """

    key: str
    question: str
    state: str
    standing: str
    shifted: bool
    why: str
    owner: str
    gate: str
    chosen: str
    rationale: str
    participants: tuple[str, ...]
    dissent: tuple[tuple[str, str], ...]
    assumptions: tuple[str, ...]
    grounds: tuple[PackGround, ...]
    sets: tuple[str, ...]
    serves: tuple[str, ...]
    rests_on: tuple[str, ...]
    checks: tuple[str, ...]
    options: tuple[PackOption, ...]
    findings: tuple[PackFinding, ...]
    figures: tuple[PackFigure, ...]
    headroom: tuple[PackHeadroom, ...]
    shifts: tuple[PackShift, ...]
    reviews: tuple[PackReview, ...]
    evidence: tuple[str, ...]
    deviations: tuple[str, ...]
    risks: tuple[str, ...]
    actions: tuple[str, ...]
    superseded_by: str
    supersedes: tuple[str, ...]
    history: tuple[PackHistory, ...]
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackQuantity:
    """A quantity with its value.

    Parameters
    ----------
    kind : str
        real, integer, choice, flag, point or table.
    value : Value or None
        In `unit`; a point as [x, y, z], a table as its rows.
    columns : tuple of (name, unit)
        Columns of a table.
    source : str
        given, `decision KEY` or `check KEY`.
    basis, basis_source, dated, typed : str
        Of a stated value; empty for a computed one.
    tolerance : str
        In words; empty without.
    reason : str
        Why it is unknown or absent.
    """

    key: str
    title: str
    kind: str
    value: Value | None
    text: str
    unit: str
    columns: tuple[tuple[str, str], ...]
    source: str
    basis: str
    basis_source: str
    dated: str
    typed: str
    tolerance: str
    reason: str
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackPort:
    """An input or output of a check and what it is bound to: an address, or a stated value."""

    port: str
    bound: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCheck:
    """A bound check.

    Parameters
    ----------
    check, version : str
        The installed check that ran.
    decision : str
        Under which it is bound.
    state, message : str
        current, waiting, failed or unbound, and why it is not current.
    sources, cautions : tuple of str
        References of the method; assumptions and limits of validity.
    """

    key: str
    title: str
    check: str
    version: str
    decision: str
    state: str
    message: str
    purpose: str
    sources: tuple[str, ...]
    cautions: tuple[str, ...]
    inputs: tuple[PackPort, ...]
    outputs: tuple[PackPort, ...]
    revision: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PackContent:
    """Everything a gate pack shows.

    Parameters
    ----------
    format : int
        `FORMAT`.
    rules : tuple of PackFinding
        What the checks' own rules found.
    changes : tuple of PackChange
        Since the previous baseline, worst first.
    """

    format: int
    cover: PackCover
    criteria: tuple[PackCriterion, ...]
    matrix: tuple[PackLink, ...]
    requirements: tuple[PackRequirement, ...]
    rules: tuple[PackFinding, ...]
    decisions: tuple[PackDecision, ...]
    quantities: tuple[PackQuantity, ...]
    checks: tuple[PackCheck, ...]
    changes: tuple[PackChange, ...]
    deviations: tuple[PackDeviation, ...]
    risks: tuple[PackRisk, ...]
    actions: tuple[PackAction, ...]
    evidence: tuple[PackEvidence, ...]
    unchecked: tuple[PackUnchecked, ...]
    signatures: tuple[PackRole, ...]
