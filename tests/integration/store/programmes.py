"""A small invented programme and short ways to change it."""

from __future__ import annotations

import dataclasses
import hashlib
from fractions import Fraction

from tracker.model.changes import Change, Draft, Entry
from tracker.model.records import (
    Action,
    Baseline,
    Basis,
    BasisKind,
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Evidence,
    Footing,
    Gate,
    Level,
    Literal,
    Option,
    Outcome,
    ProgrammeInfo,
    Quantity,
    Range,
    Record,
    Ref,
    Requirement,
    Review,
    Risk,
    Setting,
    Tolerance,
)
from tracker.model.units import Unit
from tracker.model.values import CellKind, Column, Kind
from tracker.store.sql_store import SqlStore

MM = Unit("mm", (("length", Fraction(1)),), 0.001)

INFO = ProgrammeInfo(id="p", key="HARE", title="Small delivery van", currency="EUR")
GATE = Gate(id="g", key="G1", title="Concept", date="2031-09-30")
TRACK = Quantity(
    id="t",
    key="track",
    title="Front track",
    kind=Kind.REAL,
    unit=MM,
    given=Setting(
        value=1500.0,
        typed="1500 mm",
        basis=Basis(kind=BasisKind.MEASURED, source="buck", dated="2031-02-01"),
    ),
    tolerance=Tolerance(half_width=2.0),
    low=1400.0,
    high=1600.0,
)
POINT = Quantity(id="x", key="lower_outer", title="Lower ball joint", kind=Kind.POINT, unit=MM)
STEEL = Quantity(
    id="s", key="steel", title="Sheet", kind=Kind.CHOICE, choices=("mild", "high-strength")
)
LOADS = Quantity(
    id="l",
    key="loads",
    title="Load cases",
    kind=Kind.TABLE,
    columns=(Column("case", CellKind.TEXT), Column("fz", CellKind.REAL, Unit("N"))),
    given=Setting(value=(("braking", 4200.0), ("kerb", 9000.5))),
)
OK = Quantity(id="f", key="abs", title="Has ABS", kind=Kind.FLAG, given=Setting(value=True))
WIDTH = Requirement(
    id="r",
    key="R-1",
    statement="Fits the lane",
    quantity="t",
    upper=Bound(value=1550.0, typed="1.55 m"),
    allowed=("yes",),
    parents=("r0",),
    gate="g",
)
LAYOUT = Decision(
    id="d",
    key="D-1",
    question="Which lower arm?",
    options=(
        Option(id="o1", key="wide", title="Wide", settings={"x": Setting(value=(1.0, -2.5, 1e20))}),
        Option(id="o2", key="slim", title="Slim", settings={"x": Setting(reason="not drawn")}),
    ),
    owns=("x",),
    serves=("r",),
    rests_on=("d0",),
    state=DecisionState.SETTLED,
    chosen="o1",
    rationale="stiffer",
    against={"o2": "too soft"},
    footing=Footing(
        bands={"r": (None, 1550.0)}, values={"t": 1500.0}, choices={"d0": ""}, checks={"c": "k 1"}
    ),
)
CHECK = CheckUse(
    id="c",
    key="C-1",
    title="Lane",
    plugin="k",
    decision="d",
    config={"side": "left"},
    inputs={"a": Ref(id="t"), "b": Ref(id="x", part="y")},
    literals={"g": Literal(value=9.81, typed="9.81")},
    outputs={"out": "q9"},
)
LATER = Gate(
    id="g2", key="G2", title="Tooling", date="2032-02-28", criteria={"bases": "calculated"}
)
HUB = Quantity(
    id="h",
    key="hub",
    title="Wheel centre",
    kind=Kind.POINT,
    unit=MM,
    part_ranges={"y": Range(low=700.0, high=740.0)},
    correlated={"t": -0.25},
)
MASS = Requirement(
    id="r2",
    key="R-2",
    statement="Light",
    quantity="t",
    upper=Bound(value=1500.0),
    rationale="range of the van",
    priority=Level.HIGH,
    risk="steel only",
)
OLD = Decision(
    id="d2",
    key="D-2",
    question="Which axle?",
    state=DecisionState.WITHDRAWN,
    participants=("chassis", "body"),
    dissent={"body": "too wide"},
    assumptions=("one wheel size",),
    superseded_by="d",
    reviews=(
        Review(
            by="chassis", outcome=Outcome.REOPEN, reason="a new tyre", on="2031-03-01T00:00:00Z"
        ),
    ),
)
MISS = Deviation(
    id="v",
    key="DEV-1",
    requirement="r2",
    reason="no other sheet before series",
    approver="chief engineer",
    extent="up to 1510 mm",
    upper=Bound(value=1510.0, typed="1510 mm"),
    expires="g2",
    consequences="one lane fewer",
    decision="d",
)
DUTY = Action(
    id="a",
    key="A-1",
    title="Measure the buck",
    owner="lab",
    gate="g2",
    about=("t", "r2"),
    closed="measured",
    closed_on="2031-04-01",
)
PROOF = Evidence(
    id="e",
    key="E-1",
    title="Report on the buck",
    about=("t",),
    place="reports/buck.pdf",
    sha256="0" * 64,
    dated="2031-04-01",
    note="page 4",
)
DANGER = Risk(
    id="k",
    key="K-1",
    title="The buck warps",
    about=("t",),
    owner="lab",
    gate="g2",
    likelihood=Level.LOW,
    consequence=Level.HIGH,
    response="measure twice",
    closed="it did not",
)
CONTENT = b'{"shown":"at the gate"}'
FROZEN = Baseline(
    id="b",
    key="B-1",
    gate="g",
    revision=1,
    head="a" * 64,
    content=hashlib.sha256(CONTENT).hexdigest(),
    ready=True,
    criteria={"requirements": "met"},
    versions={"whybone": "1.0"},
)
EVERYTHING: tuple[Record, ...] = (
    INFO,
    GATE,
    TRACK,
    POINT,
    STEEL,
    LOADS,
    OK,
    WIDTH,
    LAYOUT,
    CHECK,
    LATER,
    HUB,
    MASS,
    OLD,
    MISS,
    DUTY,
    PROOF,
    DANGER,
    FROZEN,
)


def draft(*entries: Entry, reason: str = "a reason", based_on: int = 0) -> Draft:
    return Draft(
        author="an engineer",
        at="2031-05-06T07:08:09Z",
        reason=reason,
        based_on=based_on,
        entries=entries,
    )


def add(*records: Record) -> Draft:
    return draft(*(Entry(None, each) for each in records))


def edit(quantity: Quantity, value: float) -> tuple[Quantity, Entry]:
    after = dataclasses.replace(quantity, given=Setting(value=value, typed=f"{value} mm"))
    return after, Entry(quantity, after)


def commit(store: SqlStore, *drafts: Draft) -> list[Change]:
    with store.writing() as writer:
        return [writer.append(each, frozen_by(each)) for each in drafts]


def frozen_by(draft: Draft) -> dict[str, bytes]:
    """Return the content of the sample baseline where a draft puts it."""
    return {FROZEN.content: CONTENT} if any(each.after == FROZEN for each in draft.entries) else {}


def fill(store: SqlStore, edits: int = 2) -> list[Change]:
    """Add everything, then change the track some times; returns the changes."""
    changes = commit(store, add(*EVERYTHING))
    track = TRACK
    for number in range(edits):
        track, entry = edit(track, 1501.0 + number)
        changes += commit(store, draft(entry, reason=f"step {number + 1}"))
    return changes
