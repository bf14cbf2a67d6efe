"""Where the steering axis lies: the screw axis of the knuckle, and the classic construction."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.corner_ports import CORNER, SPRING_FOR_SPLIT_ARM, TRIM

__all__ = ["CHECK"]


def _drawn(key: str, title: str, doc: str) -> Port:
    """Describe a length that no output needs: the views draw the disc where all are given."""
    said = f"{doc}, for the views of the corner"
    return Port(key=key, title=title, doc=said, unit="mm", optional=True)


_INPUTS = (
    *CORNER,
    *SPRING_FOR_SPLIT_ARM,
    TRIM,
    Port(
        key="rack",
        title="Rack position",
        doc="Rack travel from its middle at which the axis is looked at, left positive",
        unit="mm",
        optional=True,
        default=0.0,
    ),
    _drawn("disc_diameter", "Disc diameter", "Of the brake disc"),
    _drawn(
        "disc_offset",
        "Disc offset",
        "From the mounting face to the disc's middle plane, outboard positive",
    ),
    _drawn(
        "wheel_offset",
        "Wheel offset",
        "From the wheel centre to the mounting face, outboard positive",
    ),
)

_OUTPUTS = (
    Port(
        key="inclination",
        title="Steering-axis inclination",
        doc="Top of the axis inward positive",
        unit="deg",
    ),
    Port(key="caster", title="Caster", doc="Top of the axis rearward positive", unit="deg"),
    Port(
        key="scrub_radius",
        title="Scrub radius",
        doc="Positive when the axis meets the ground inboard of the contact centre",
        unit="mm",
    ),
    Port(
        key="trail",
        title="Caster trail",
        doc="Positive when the axis meets the ground ahead of the contact centre",
        unit="mm",
    ),
    Port(
        key="offset_at_wheel_centre",
        title="Offset at the wheel centre",
        doc="Lateral distance of axis and wheel centre at its height, axis inboard positive",
        unit="mm",
    ),
    Port(
        key="virtual_lower",
        title="Virtual lower joint",
        doc="Where the axis crosses the mean height of the lower outer joints; the joint itself of "
        "a one-piece arm",
        kind=Kind.POINT,
        unit="mm",
    ),
    Port(
        key="screw_pitch",
        title="Pitch of the screw",
        doc="Advance of the knuckle along the axis per turn about it, up positive with a left "
        "turn; 0 for a one-piece arm",
        unit="mm/rad",
    ),
    Port(
        key="crossing",
        title="Crossing of the lower links",
        doc="Where their lines cross seen from above, half way between them in height",
        kind=Kind.POINT,
        unit="mm",
        optional=True,
    ),
    Port(
        key="axis_to_crossing",
        title="Axis to crossing",
        doc="Distance of the axis from the crossing of the lower links",
        unit="mm",
        optional=True,
    ),
    Port(
        key="classic_inclination",
        title="Inclination, classic",
        doc="Of the line from the crossing of the lower links to the upper joint",
        unit="deg",
        optional=True,
    ),
    Port(
        key="classic_caster",
        title="Caster, classic",
        doc="Of that line",
        unit="deg",
        optional=True,
    ),
    Port(
        key="classic_scrub_radius",
        title="Scrub radius, classic",
        doc="Of that line",
        unit="mm",
        optional=True,
    ),
    Port(
        key="classic_trail",
        title="Caster trail, classic",
        doc="Of that line",
        unit="mm",
        optional=True,
    ),
)

_CAUTIONS = (
    "Rigid links and joints without play.",
    (
        "The axis of a split lower arm is the knuckle's screw axis for a small rack movement with "
        "the spring's length held: it migrates with lock and depends on where the spring stands."
    ),
    (
        "The classic construction is exact only where the lower links are coplanar and their "
        "crossing does not rise with lock; it stands beside the screw axis for comparison."
    ),
)

_SOURCES = (
    Source("ISO 8855:2011", "", "axes; excerpt read"),
    Source("Screw axis of a rigid body's motion", "ω × v / ω²", "any text on kinematics"),
)

_MANIFEST = Manifest(
    key="steering-axis",
    version="1",
    title="Steering axis",
    purpose="Tell where the wheel's steering axis lies, real or virtual, and what offsets it has "
    "to contact centre and wheel centre",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    sources=_SOURCES,
    cautions=_CAUTIONS,
)


class SteeringAxis:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Find the axis of every row."""
        from whybone_chassis.steering_axis_numbers import solve

        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Draw the corner in three views, its lower links, and how the axis travels over steer."""
        from whybone_chassis.steering_axis_figures import figures

        return figures(inputs)


CHECK = SteeringAxis()
