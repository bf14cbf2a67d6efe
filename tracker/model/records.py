"""The records a programme is made of.

Records are frozen and refer to each other by immutable id, so a new key breaks nothing. Every
record is what the journal stores: nothing here is computed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from tracker.model.units import ONE, Unit
from tracker.model.values import Cell, Column, Kind, Value

__all__ = [
    "RECORD_TYPES",
    "Basis",
    "BasisKind",
    "Bound",
    "CheckUse",
    "Decision",
    "DecisionState",
    "Footing",
    "Gate",
    "Literal",
    "Option",
    "ProgrammeInfo",
    "Quantity",
    "Record",
    "Ref",
    "Requirement",
    "Setting",
    "Tolerance",
    "ToleranceShape",
    "Verification",
    "kind_of",
]


class BasisKind(StrEnum):
    """How well a given value is known, from worst to best."""

    GUESS = "guess"
    ESTIMATE = "estimate"
    CALCULATED = "calculated"
    QUOTED = "quoted"
    MEASURED = "measured"


class Verification(StrEnum):
    """Verification methods of ISO/IEC/IEEE 29148."""

    ANALYSIS = "analysis"
    TEST = "test"
    INSPECTION = "inspection"
    DEMONSTRATION = "demonstration"


class DecisionState(StrEnum):
    """State of a decision."""

    OPEN = "open"
    LEANING = "leaning"
    SETTLED = "settled"
    WITHDRAWN = "withdrawn"


class ToleranceShape(StrEnum):
    """Distribution a tolerance stands for (JCGM 101 names)."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """Where a given value comes from.

    Parameters
    ----------
    kind : BasisKind
        How well it is known.
    source : str
        Reference in words.
    dated : str
        Date of the source, RFC 3339 full-date; may be empty.
    """

    kind: BasisKind = BasisKind.GUESS
    source: str = ""
    dated: str = ""


_GUESSED = Basis()


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """A stated value with its basis, or a stated unknown with its reason.

    Parameters
    ----------
    value : Value or None
        In the quantity's unit; None means unknown.
    typed : str
        Number and unit as typed.
    basis : Basis
        How well it is known.
    reason : str
        Why it is unknown.
    """

    value: Value | None = None
    typed: str = ""
    basis: Basis = _GUESSED
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerance:
    """Half-width of a symmetric tolerance in the quantity's unit."""

    half_width: float
    shape: ToleranceShape = ToleranceShape.RECTANGULAR


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeInfo:
    """What the programme is called and which money it counts in (ISO 4217)."""

    id: str
    key: str
    title: str
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A programme gate with its date (RFC 3339 full-date)."""

    id: str
    key: str
    title: str
    date: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A named value.

    Parameters
    ----------
    given : Setting or None
        Its value when no decision owns it and no check computes it.
    low, high : float or None
        Adjustable range in the quantity's unit.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """One bound of a band, in the judged quantity's unit, and as typed."""

    value: float
    typed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """A band on one quantity or one component of it.

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

    @property
    def applied(self) -> Option | None:
        """The option whose settings are in force."""
        return next((each for each in self.options if each.id == self.chosen), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ref:
    """An input taken from a quantity, or from a bound of a requirement."""

    id: str
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Literal:
    """An input stated in the binding itself, in the port's unit, and as typed."""

    value: Value
    typed: str = ""


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


Record = ProgrammeInfo | Gate | Quantity | Requirement | Decision | CheckUse

RECORD_TYPES: Mapping[str, type[Record]] = {
    "programme": ProgrammeInfo,
    "gate": Gate,
    "quantity": Quantity,
    "requirement": Requirement,
    "decision": Decision,
    "check": CheckUse,
}
_KINDS: Mapping[type, str] = {cls: name for name, cls in RECORD_TYPES.items()}


def kind_of(record: Record) -> str:
    """Name the kind of a record, as the journal and the user know it."""
    return _KINDS[type(record)]
