"""Whether one part serves left and right, turned over."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import (
    CellKind,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    PortColumn,
    Source,
)
from tracker.contract.figure import Figure

__all__ = ["CHECK"]

_COLUMNS = (
    PortColumn("name", "Name of the feature", CellKind.TEXT),
    PortColumn("kind", "Features of one kind may exchange: bush, ball seat, bore", CellKind.TEXT),
    PortColumn("x", "Of the left part, vehicle axes", unit="mm"),
    PortColumn("y", "Of the left part, vehicle axes", unit="mm"),
    PortColumn("z", "Of the left part, vehicle axes", unit="mm"),
    PortColumn("axis_x", "Direction of its axis, any length; 0, 0, 0 without one", default=0.0),
    PortColumn("axis_y", "Direction of its axis", default=0.0),
    PortColumn("axis_z", "Direction of its axis", default=0.0),
    PortColumn(
        "directed",
        "Whether the axis has a front end: a taper, a one-sided boss",
        CellKind.FLAG,
        default=False,
    ),
)

_INPUTS = (
    Port(
        key="features",
        title="Features",
        doc="What the part must fit: joints, bushes, bores, faces of the left part, 12 at most",
        kind=Kind.TABLE,
        columns=_COLUMNS,
    ),
    Port(
        key="tolerance",
        title="Tolerance",
        doc="Largest distance a feature may be off",
        unit="mm",
    ),
    Port(
        key="axis_tolerance",
        title="Axis tolerance",
        doc="Largest angle an axis may be off; the default is an assumption",
        unit="deg",
        optional=True,
        default=0.5,
    ),
)

_OUTPUTS = (
    Port(
        key="is_shared",
        title="Fits both sides",
        doc="Whether every feature and axis of the turned left part meets the right one's within "
        "tolerance",
        kind=Kind.FLAG,
    ),
    Port(
        key="is_flat",
        title="Flat",
        doc="Whether the features lie in one plane with no axis to tell its two sides apart: "
        "shared by geometry; check tapers, bosses, cut ends",
        kind=Kind.FLAG,
    ),
    Port(
        key="residual",
        title="Residual",
        doc="Root mean square distance of the features from their partners",
        unit="mm",
    ),
    Port(
        key="largest_gap",
        title="Largest distance",
        doc="Of a feature from its partner",
        unit="mm",
    ),
    Port(
        key="largest_tilt",
        title="Largest axis angle",
        doc="Between an axis and its partner's",
        unit="deg",
    ),
    Port(
        key="angle",
        title="Turn",
        doc="Angle the left part is turned by to serve on the right, 0 to 180",
        unit="deg",
        optional=True,
    ),
    Port(
        key="axis",
        title="Axis of the turn",
        doc="Unit vector, vehicle axes; the turn is right-handed about it",
        kind=Kind.POINT,
        optional=True,
    ),
    Port(
        key="axis_point",
        title="Point of the axis",
        doc="Nearest to the origin",
        kind=Kind.POINT,
        unit="mm",
        optional=True,
    ),
    Port(
        key="slide",
        title="Shift along the axis",
        doc="Of the part, as it is turned",
        unit="mm",
        optional=True,
    ),
)

_CAUTIONS = (
    (
        "The right part is the left one mirrored in Y. Only rotations are allowed: a mirror image "
        "is another part and another tool."
    ),
    (
        "A flat set of features always fits its mirror image. It is shared by geometry alone: "
        "check tapers, bosses, cut ends, and everything that is not in the table."
    ),
    "Loads, stiffness and clearance of the turned part are not looked at.",
    (
        "With more than five features of one kind a part that is not shared may have a somewhat "
        "better fit than the one found; a part that is shared is always found."
    ),
)

_MANIFEST = Manifest(
    key="shared-part",
    version="1",
    title="Shared part",
    purpose="Tell whether a part can be turned to serve the other side, so that one tool makes "
    "both, and about which axis",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    sources=(
        Source("Kabsch, Acta Crystallographica A 34 (1978)", "p. 827", "best rotation; recalled"),
        Source("Chasles' theorem", "", "every motion is a screw; any text on kinematics"),
    ),
    cautions=_CAUTIONS,
)


class SharedPart:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Turn the left part onto the right one; rows differ in their tolerances only."""
        from whybone_chassis.shared_part_verdict import compare

        return compare(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Show the turned left part on the right one, and the pairs."""
        from whybone_chassis.shared_part_figures import figures

        return figures(inputs)


CHECK = SharedPart()
