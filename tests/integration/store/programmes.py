"""A small invented programme and short ways to change it."""

from __future__ import annotations

import dataclasses
from fractions import Fraction

from tracker.model.changes import Change, Draft, Entry
from tracker.model.records import (
    Basis,
    BasisKind,
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Footing,
    Gate,
    Literal,
    Option,
    ProgrammeInfo,
    Quantity,
    Record,
    Ref,
    Requirement,
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
        return [writer.append(each) for each in drafts]


def fill(store: SqlStore, edits: int = 2) -> list[Change]:
    """Add everything, then change the track some times; returns the changes."""
    changes = commit(store, add(*EVERYTHING))
    track = TRACK
    for number in range(edits):
        track, entry = edit(track, 1501.0 + number)
        changes += commit(store, draft(entry, reason=f"step {number + 1}"))
    return changes
