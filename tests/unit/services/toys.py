"""Small checks the tests can bind: a lever, a parts list, a relay and one that goes wrong."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tracker.contract.check import (
    Absence,
    CellKind,
    Check,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    PortColumn,
    Problem,
    Rule,
    Source,
)
from tracker.contract.faults import ConfigError
from tracker.contract.figure import Figure, FigureKind, Series

SIDES = ("left", "right")


class Lever:
    """Torque of a force on an arm: M = F r sin φ (any text on statics)."""

    def manifest(self, config: Config) -> Manifest:
        if set(config) - {"note"}:
            raise ConfigError(dict.fromkeys(sorted(set(config) - {"note"}), "no such field"))
        return Manifest(
            key="lever",
            version="1",
            title="Lever",
            purpose="Torque of a force on an arm",
            inputs=(
                Port(key="force", title="Force", doc="At the end", unit="N"),
                Port(key="arm", title="Arm", doc="To the pivot", unit="mm"),
                Port(
                    key="angle",
                    title="Angle",
                    doc="Between force and arm",
                    unit="deg",
                    optional=True,
                    default=90.0,
                ),
            ),
            outputs=(
                Port(key="torque", title="Torque", doc="About the pivot", unit="N*mm"),
                Port(key="dead", title="Dead centre", doc="Whether it jams", kind=Kind.FLAG),
            ),
            rules=(
                Rule(
                    output="torque", lower=1000.0, reason="It must move the lock", source="Layout"
                ),
                Rule(output="dead", allowed=("no",), reason="It would jam", source="Layout"),
            ),
            sources=(Source("Any text on statics", "moment of a force", "recalled"),),
            cautions=("The arm is rigid.",),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        sine = np.sin(np.radians(inputs["angle"]))
        torque = inputs["force"] * inputs["arm"] * sine
        return Outputs({"torque": torque, "dead": np.abs(sine) < 1e-6})

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        if inputs["force"][0] < 0:
            raise ValueError("cannot draw a pull")
        reach = float(inputs["arm"][0])
        line = Series(title="arm", x=(0.0, reach), y=(0.0, 0.0))
        return (Figure(key="arm", title="Arm", kind=FigureKind.SKETCH, series=(line,)),)


PARTS = (
    PortColumn("part", "Name", CellKind.TEXT),
    PortColumn("mass", "Of one", unit="kg"),
    PortColumn("count", "How many", CellKind.INTEGER, default=1),
    PortColumn("spare", "Whether it is kept as a spare", CellKind.FLAG, default=False),
)


class Parts:
    """Mass of a list of parts."""

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key="parts-list",
            version="2",
            title="Parts list",
            purpose="Add up a list of parts",
            inputs=(
                Port(key="parts", title="Parts", doc="Rows", kind=Kind.TABLE, columns=PARTS),
                Port(key="limit", title="Limit", doc="Of one part", unit="kg", optional=True),
                Port(
                    key="side",
                    title="Side",
                    doc="Where it goes",
                    kind=Kind.CHOICE,
                    choices=SIDES,
                    optional=True,
                    default="left",
                ),
                Port(
                    key="at", title="Place", doc="Of it", kind=Kind.POINT, unit="mm", optional=True
                ),
            ),
            outputs=(
                Port(key="mass", title="Mass", doc="Of all", unit="kg"),
                Port(key="pieces", title="Pieces", doc="Count", kind=Kind.INTEGER),
                Port(key="to", title="Goes to", doc="Side", kind=Kind.CHOICE, choices=SIDES),
                Port(key="place", title="Place", doc="Echo", kind=Kind.POINT, unit="mm"),
                Port(key="slack", title="Slack", doc="To the limit", unit="kg", optional=True),
            ),
            rules=(Rule(output="slack", lower=0.0, scale=1.0, reason="Lift", source="Layout"),),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        table = inputs["parts"]
        masses, counts = table.reals("mass"), table.reals("count")
        rows = len(inputs["side"])
        absences = []
        slack = np.full(rows, np.nan)
        if "limit" in inputs and table.rows:
            slack = inputs["limit"] - masses.max()
        else:
            absences = [Absence("slack", np.ones(rows, dtype=bool), "there is nothing to lift")]
        return Outputs(
            {
                "mass": np.full(rows, (masses * counts).sum()),
                "pieces": np.full(rows, int(counts.sum()), dtype=np.int64),
                "to": inputs["side"].copy(),
                "place": np.array(inputs.get("at", np.zeros((rows, 3)))),
                "slack": slack,
            },
            absences=absences,
        )


class Relay:
    """Passes a length on."""

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key="relay",
            version="1",
            title="Relay",
            purpose="Pass a length on",
            inputs=(Port(key="x", title="In", doc="In", unit="mm"),),
            outputs=(Port(key="y", title="Out", doc="Out", unit="mm"),),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        return Outputs({"y": inputs["x"].copy()})


class Fickle:
    """Raises below zero, and has no answer above a thousand."""

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key="fickle",
            version="1",
            title="Fickle",
            purpose="Go wrong",
            inputs=(Port(key="x", title="In", doc="In", unit="mm"),),
            outputs=(
                Port(key="half", title="Half", doc="Half", unit="mm"),
                Port(key="root", title="Root", doc="Root", unit="1"),
            ),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        x = inputs["x"]
        if (x < 0).any():
            raise ValueError("no root of a negative number")
        far = x > 1000
        problems = [Problem(far, "it is too far out", ("half",))] if far.any() else []
        if (x == 500).any():
            return Outputs({"half": x / 2, "root": x * np.nan})
        return Outputs({"half": x / 2, "root": np.sqrt(x)}, problems)


CHECKS: dict[str, Check] = {
    "lever": Lever(),
    "parts-list": Parts(),
    "relay": Relay(),
    "fickle": Fickle(),
}
