"""The records a programme is made of.

Records are frozen and refer to each other by immutable id, so a new key breaks nothing. Every
record is what the journal stores: nothing here is computed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tracker.model.gate_records import Action, Baseline, Deviation, Evidence, Gate, Risk
from tracker.model.parts import (
    Basis,
    BasisKind,
    Bound,
    DecisionState,
    Level,
    Literal,
    Outcome,
    Range,
    Ref,
    Review,
    Setting,
    Tolerance,
    ToleranceShape,
    Verification,
)
from tracker.model.units import ONE, Unit
from tracker.model.values import Cell, Column, Kind, Value

__all__ = [
    "RECORD_TYPES",
    "Action",
    "Baseline",
    "Basis",
    "BasisKind",
    "Bound",
    "CheckUse",
    "Decision",
    "DecisionState",
    "Deviation",
    "Evidence",
    "Footing",
    "Gate",
    "Level",
    "Literal",
    "Option",
    "Outcome",
    "ProgrammeInfo",
    "Quantity",
    "Range",
    "Record",
    "Ref",
    "Requirement",
    "Review",
    "Risk",
    "Setting",
    "Tolerance",
    "ToleranceShape",
    "Verification",
    "kind_of",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeInfo:
    """What the programme is called and which money it counts in (ISO 4217)."""

    id: str
    key: str
    title: str
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A named value.

    Parameters
    ----------
    given : Setting or None
        Its value when no decision owns it and no check computes it.
    low, high : float or None
        Adjustable range in the quantity's unit.
    part_ranges : mapping of str to Range
        Component → its adjustable range.
    correlated : mapping of str to float
        Id of another quantity → correlation coefficient of the two tolerances, between −1 and 1
        (JCGM 100, 5.2.2); stated on one of the two.
    """

    id: str
    key: str
    title: str
    kind: Kind
    unit: Unit = ONE
    choices: tuple[str, ...] = ()
    columns: tuple[Column, ...] = ()
    given: Setting | None = None
    tolerance: Tolerance | None = None
    low: float | None = None
    high: float | None = None
    part_ranges: Mapping[str, Range] = field(default_factory=dict)
    correlated: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """A band on one quantity or one component of it.

    Source, owner, verification, parents, rationale, priority and risk are attributes of
    ISO/IEC/IEEE 29148, 5.2.8 (recalled from memory); its version is the revision it stood at.

    Parameters
    ----------
    statement : str
        The requirement in words.
    quantity : str
        Id of the judged quantity.
    part : str
        Component or cell of it; empty for the whole.
    lower, upper, target : Bound or None
        Numbers; the target informs and is never judged.
    scale : Bound or None
        Width the margin is measured against, where the band gives none.
    guard : float
        A met value whose margin share is below this is tight.
    allowed : tuple of str
        Allowed values of a choice or flag ("yes", "no").
    parents : tuple of str
        Ids of requirements this one derives from.
    gate : str
        Id of the gate it is due at; may be empty.
    rationale : str
        Why it is required.
    priority : Level or None
        How much it matters to who asked for it.
    risk : str
        What may go wrong in meeting it.
    """

    id: str
    key: str
    statement: str
    quantity: str
    part: str = ""
    lower: Bound | None = None
    upper: Bound | None = None
    target: Bound | None = None
    scale: Bound | None = None
    guard: float = 0.1
    allowed: tuple[str, ...] = ()
    source: str = ""
    owner: str = ""
    verification: Verification = Verification.ANALYSIS
    parents: tuple[str, ...] = ()
    gate: str = ""
    rationale: str = ""
    priority: Level | None = None
    risk: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One alternative of a decision.

    Parameters
    ----------
    settings : mapping of str to Setting
        Quantity id → what this option states for it.
    """

    id: str
    key: str
    title: str
    notes: str = ""
    settings: Mapping[str, Setting] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Footing:
    """What a decision stood on when it was settled or last reviewed.

    Parameters
    ----------
    bands : mapping
        Requirement id → (lower, upper, scale, guard, allowed …) as stored numbers and texts.
    values : mapping
        `id` or `id|part` → value, of its own quantities and of the direct inputs of its checks.
    choices : mapping
        Decision id it rests on → applied option id, and whether it is settled.
    checks : mapping
        Check id → plugin key and version.
    bindings : mapping
        Check id → a fingerprint of its configuration and of what its ports are bound to.
    """

    bands: Mapping[str, tuple[Cell | None, ...]] = field(default_factory=dict)
    values: Mapping[str, Value | None] = field(default_factory=dict)
    choices: Mapping[str, str] = field(default_factory=dict)
    checks: Mapping[str, str] = field(default_factory=dict)
    bindings: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """A question with its options, and how it was answered.

    Alternatives, rationale, assumptions, who took part and who differed are what the decision
    management process of ISO/IEC/IEEE 15288 has recorded.

    Parameters
    ----------
    owns : tuple of str
        Ids of the quantities its options set.
    serves : tuple of str
        Ids of requirements.
    rests_on : tuple of str
        Ids of decisions.
    chosen : str
        Id of the applied option; empty when open or withdrawn.
    against : mapping of str to str
        Option id → reason against it.
    participants : tuple of str
        Who took part.
    dissent : mapping of str to str
        Who differed → why.
    assumptions : tuple of str
        What was taken for granted.
    superseded_by : str
        Id of the decision that replaces it, once it is withdrawn for that.
    reviews : tuple of Review
        Looks at it after its ground moved, oldest first.
    """

    id: str
    key: str
    question: str
    options: tuple[Option, ...] = ()
    owns: tuple[str, ...] = ()
    serves: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()
    state: DecisionState = DecisionState.OPEN
    chosen: str = ""
    rationale: str = ""
    against: Mapping[str, str] = field(default_factory=dict)
    owner: str = ""
    gate: str = ""
    footing: Footing | None = None
    participants: tuple[str, ...] = ()
    dissent: Mapping[str, str] = field(default_factory=dict)
    assumptions: tuple[str, ...] = ()
    superseded_by: str = ""
    reviews: tuple[Review, ...] = ()

    @property
    def applied(self) -> Option | None:
        """The option whose settings are in force."""
        return next((each for each in self.options if each.id == self.chosen), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckUse:
    """A plugin check bound into the graph under a decision.

    Parameters
    ----------
    plugin : str
        Key of the installed check.
    decision : str
        Id of the decision that carries it.
    config : mapping of str to str
        Configuration the plugin reads.
    inputs : mapping of str to Ref
        Port → source.
    literals : mapping of str to Literal
        Port → stated value.
    outputs : mapping of str to str
        Port → quantity id.
    """

    id: str
    key: str
    title: str
    plugin: str
    decision: str
    config: Mapping[str, str] = field(default_factory=dict)
    inputs: Mapping[str, Ref] = field(default_factory=dict)
    literals: Mapping[str, Literal] = field(default_factory=dict)
    outputs: Mapping[str, str] = field(default_factory=dict)


Record = (
    ProgrammeInfo
    | Gate
    | Quantity
    | Requirement
    | Decision
    | CheckUse
    | Deviation
    | Action
    | Evidence
    | Risk
    | Baseline
)

RECORD_TYPES: Mapping[str, type[Record]] = {
    "programme": ProgrammeInfo,
    "gate": Gate,
    "quantity": Quantity,
    "requirement": Requirement,
    "decision": Decision,
    "check": CheckUse,
    "deviation": Deviation,
    "action": Action,
    "evidence": Evidence,
    "risk": Risk,
    "baseline": Baseline,
}
_KINDS: Mapping[type, str] = {cls: name for name, cls in RECORD_TYPES.items()}


def kind_of(record: Record) -> str:
    """Name the kind of a record, as the journal and the user know it."""
    return _KINDS[type(record)]
