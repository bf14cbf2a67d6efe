"""A ramp with a foot and a head: checks that draw, and a programme around them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import UNITS, Document
from tracker.contract.check import (
    MONEY,
    Absence,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    Rule,
)
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.host.catalogue import EntryPoints
from tracker.model.changes import Entry
from tracker.model.records import ProgrammeInfo
from tracker.services.actions import add_items, lean
from tracker.services.session import Session, Tools


def _point(key: str) -> Port:
    return Port(key=key, title=key, doc="A point", kind=Kind.POINT, unit="mm")


class Ramp:
    """Force along a ramp: slope times the way, drawn as a line, and the ramp from the side."""

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key="ramp",
            version="1",
            title="Ramp",
            purpose="Force on a ramp",
            inputs=(
                Port(key="way", title="Way", doc="Gone", unit="mm"),
                Port(key="slope", title="Slope", doc="Of it", unit="N/mm"),
                _point("foot"),
                _point("top"),
                Port(
                    key="paint",
                    title="Paint",
                    doc="Of it",
                    kind=Kind.CHOICE,
                    choices=("red", "blue"),
                    optional=True,
                ),
            ),
            outputs=(
                Port(key="force", title="Force", doc="There", unit="N"),
                Port(key="steps", title="Steps", doc="Count", kind=Kind.INTEGER),
                Port(key="spare", title="Spare", doc="Force left", unit="N", optional=True),
                Port(key="unused", title="Unused", doc="Nobody binds it", unit="N"),
            ),
            rules=(Rule(output="force", lower=10.0, reason="It must move", source="Layout"),),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        force = inputs["way"] * inputs["slope"]
        rows = len(force)
        return Outputs(
            {
                "force": force,
                "steps": np.full(rows, 3, dtype=np.int64),
                "spare": np.full(rows, np.nan),
                "unused": force.copy(),
            },
            absences=[Absence("spare", np.ones(rows, dtype=bool), "there is none")],
        )

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        slope = float(inputs["slope"][0])
        line = Series(title="force", x=(0.0, 50.0, 100.0), y=(0.0, 50.0 * slope, 100.0 * slope))
        foot, top = inputs["foot"][0].tolist(), inputs["top"][0].tolist()
        side = Series(
            title="ramp", x=(-foot[0], -top[0]), y=(foot[2], top[2]), labels=("foot", "top")
        )

        def curve(key: str, across: Axis, up: Axis) -> Figure:
            return Figure(
                key=key, title=key, kind=FigureKind.CURVE, series=(line,), across=across, up=up
            )

        way = Axis("way", "mm", "way")
        return (
            curve("plain", Axis("share", port="paint", now=0.5), Axis("cost", f"{MONEY}/piece")),
            curve("force", way, Axis("force", "N", "force")),
            curve("steps", way, Axis("steps", port="steps", now=3.0)),
            curve("spare", way, Axis("spare", "N", "spare")),
            curve("unused", Axis("foot", "mm", "foot"), Axis("unused", "N", "unused")),
            Figure(
                key="side",
                title="Ramp from the side",
                kind=FigureKind.SKETCH,
                series=(side,),
                across=Axis("backward", "mm", along="-x"),
                up=Axis("up", "mm", along="z"),
            ),
            Figure(
                key="list", title="Told", kind=FigureKind.LISTING, series=(Series(title="none"),)
            ),
        )


class Silent:
    """Takes a point and draws nothing."""

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key="silent",
            version="1",
            title="Silent",
            purpose="Say nothing",
            inputs=(_point("at"),),
            outputs=(_point("to"),),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        return Outputs({"to": np.array(inputs["at"])})


ITEMS: list[Document] = [
    {"kind": "quantity", "key": "way", "title": "Way", "unit": "cm", "value": "4 cm"},
    {"kind": "quantity", "key": "slope", "title": "Slope", "unit": "N/mm", "value": "2 N/mm"},
    {"kind": "quantity", "key": "force", "title": "Force", "unit": "kN"},
    {"kind": "quantity", "key": "steps", "title": "Steps", "type": "integer"},
    {"kind": "quantity", "key": "spare", "title": "Spare", "unit": "N"},
    {"kind": "quantity", "key": "foot", "title": "Foot", "type": "point", "unit": "cm",
     "value": "[1, 2, 3] cm"},
    {"kind": "quantity", "key": "top", "title": "Top", "type": "point", "unit": "mm"},
    {"kind": "quantity", "key": "copy", "title": "Copy", "type": "point", "unit": "mm"},
    {"kind": "quantity", "key": "alone", "title": "Alone", "unit": "mm", "value": "1 mm"},
    {"kind": "quantity", "key": "colour", "title": "Colour", "type": "choice",
     "choices": ["red", "blue"], "value": "red"},
    {"kind": "requirement", "key": "R-FORCE", "statement": "Not too hard", "quantity": "force",
     "upper": "0.1 kN"},
    {"kind": "requirement", "key": "R-WAY", "statement": "Far enough", "quantity": "way",
     "lower": "3 cm"},
    {"kind": "requirement", "key": "R-STEPS", "statement": "Few steps", "quantity": "steps",
     "upper": 4},
    {"kind": "requirement", "key": "R-RED", "statement": "Red", "quantity": "colour",
     "allowed": "red"},
    {"kind": "gate", "key": "G1", "title": "Concept", "date": "2031-03-01"},
    {"kind": "requirement", "key": "R-TOP", "statement": "High enough", "quantity": "top.z",
     "lower": "10 mm"},
    {"kind": "decision", "key": "D-TOP", "question": "Where is the top?", "serves": ["R-TOP"],
     "options": [
         {"key": "low", "title": "Low", "settings": {"top": "[100, 20, 60] mm"}},
         {"key": "high", "title": "High", "settings": {"top": "[100, 20, 90] mm"}}]},
    {"kind": "decision", "key": "D-RAMP", "question": "Which ramp?", "serves": ["R-FORCE"],
     "options": [{"key": "wood", "title": "Wood"}]},
    {"kind": "decision", "key": "D-IDLE", "question": "Anything else?", "rests_on": ["D-RAMP"],
     "options": [{"key": "no", "title": "No"}]},
    {"kind": "check", "key": "C-RAMP", "title": "The ramp", "check": "ramp", "decision": "D-RAMP",
     "inputs": {"way": "way", "slope": "slope", "foot": "foot", "top": "top",
                "paint": "colour"},
     "outputs": {"force": "force", "steps": "steps", "spare": "spare"}},
    {"kind": "check", "key": "C-COPY", "title": "A copy", "check": "silent", "decision": "D-IDLE",
     "inputs": {"at": "top"}, "outputs": {"to": "copy"}},
]  # fmt: skip
MORE: list[Document] = [
    {"kind": "check", "key": "C-BACK", "title": "From the copy", "check": "ramp",
     "decision": "D-TOP",
     "inputs": {"way": "R-WAY.lower", "slope": "slope", "foot": {"value": "[1, 2, 3] cm"},
                "top": "copy"},
     "outputs": {}},
]  # fmt: skip


def drawn_session(author: str = "Ann", now: str = "2031-01-15T08:00:00Z") -> Session:
    """Return the programme of the ramp, with the low top applied for now."""
    catalogue = EntryPoints(UNITS, {"ramp": Ramp(), "silent": Silent()})
    numbers = iter(range(1, 10_000))
    session = Session(
        MemoryStore(),
        Tools(catalogue, UNITS, lambda: now, lambda: f"id{next(numbers):05}"),
        author,
    )
    info = ProgrammeInfo(id="programme", key="programme", title="Ramp", currency="EUR")
    session.commit((Entry(None, info),), "create the programme")
    add_items(session, ITEMS, "begin")
    lean(session, "D-TOP", "low")
    return session
