"""Whether brake disc and caliper fit into the wheel and past the lower joints."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import (
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    PortColumn,
    Rule,
    Source,
)
from tracker.contract.figure import Figure
from whybone_chassis.corner_ports import CORNER

__all__ = ["CHECK"]

_FROM_FACE = "along the spin axis from the wheel's mounting face, outboard positive"
_SHARED = ("wheel_centre", "static_camber", "static_toe", "lower_front_outer", "lower_rear_outer")


def _length(
    key: str, title: str, doc: str, *, optional: bool = False, default: float | None = None
) -> Port:
    return Port(key=key, title=title, doc=doc, unit="mm", optional=optional, default=default)


_INPUTS = (
    Port(
        key="barrel",
        title="Barrel of the rim",
        doc="Inner profile, straight between the rows; one row stands for a cylinder",
        kind=Kind.TABLE,
        columns=(
            PortColumn("axial_offset", f"Place {_FROM_FACE}", unit="mm"),
            PortColumn("inner_radius", "Radius inside the barrel there", unit="mm"),
        ),
    ),
    Port(
        key="caliper",
        title="Caliper",
        doc="Outline farthest from the wheel's axis, straight between the rows",
        kind=Kind.TABLE,
        columns=(
            PortColumn("axial_offset", f"Place {_FROM_FACE}", unit="mm"),
            PortColumn("radius", "Radius of the caliper there", unit="mm"),
        ),
    ),
    _length(
        "caliper_disc",
        "Disc of the caliper's outline",
        "Disc diameter on which `caliper` is drawn: on another disc it moves in or out with the "
        "disc's edge; without one it is drawn on `disc_diameter`",
        optional=True,
    ),
    _length(
        "wheel_offset",
        "Wheel offset",
        "Rim's middle plane, in which the wheel centre lies, to the mounting face, face outboard "
        "positive",
    ),
    _length("spoke_face", "Spoke face", f"Inner face of the spokes, {_FROM_FACE}"),
    *(port for port in CORNER if port.key in _SHARED),
    _length("disc_diameter", "Disc diameter", "Outer diameter of the brake disc"),
    _length("disc_offset", "Disc offset", f"Middle plane of the disc, {_FROM_FACE}"),
    _length(
        "disc_thickness",
        "Disc thickness",
        "Of the disc's ring",
        optional=True,
        default=0.0,
    ),
    _length("clearance", "Clearance", "Wanted between caliper and rim"),
    _length(
        "joint_envelope",
        "Joint envelope",
        "Radius about a lower joint's centre that its housing needs",
    ),
    Port(
        key="virtual_lower",
        title="Virtual lower joint",
        doc="Where the steering axis passes at the lower joints' height: where a single joint "
        "would have to sit",
        kind=Kind.POINT,
        unit="mm",
        optional=True,
    ),
)

_OUTPUTS = (
    _length("rim_clearance", "Caliper to rim", "Least radial distance of caliper and barrel"),
    _length("spoke_clearance", "Caliper to spokes", "Axial distance of caliper and spoke face"),
    _length(
        "joint_clearance",
        "Lower joint to disc",
        "Least distance of a lower joint's envelope from the disc",
    ),
    _length(
        "largest_disc",
        "Largest disc",
        "Diameter at which the caliper keeps `clearance` to the least barrel radius over its "
        "axial span",
    ),
    _length(
        "disc_room_gained",
        "Disc room gained",
        "How much farther inboard the outermost real lower joint sits, along the spin axis, than "
        "a joint on the steering axis would: so much farther inboard the disc may stand",
        optional=True,
    ),
    _length(
        "disc_diameter_gained",
        "Disc diameter gained",
        "Largest disc here less that of a disc and caliper pushed outboard by "
        "`disc_room_gained`: nothing in a cylindrical barrel, whatever the room",
        optional=True,
    ),
    _length(
        "joint_gap",
        "Gap of the lower joints",
        "Between the envelopes of a split arm's two joints",
        optional=True,
    ),
)

_RULES = tuple(
    Rule(
        output=output,
        lower=0.0,
        scale=3.0,
        reason=f"The {parts} would touch",
        source="Common practice, no source",
    )
    for output, parts in (
        ("rim_clearance", "caliper and the rim"),
        ("spoke_clearance", "caliper and the spokes"),
        ("joint_clearance", "lower joint and the disc"),
    )
)

_CAUTIONS = (
    (
        "Distances of caliper and rim are radial and axial, not shortest ones: at a tapered barrel "
        "a little less is left."
    ),
    (
        "Rim run-out, deflection of wheel and caliper, balance weights, ice and stones need room "
        "within `clearance`."
    ),
    (
        "The joint's envelope is a sphere; the caliper's bracket, the disc's hat and the shield "
        "are not looked at."
    ),
    "A larger disc is no verdict on braking: heat and torque are other checks'.",
)

_MANIFEST = Manifest(
    key="brake-package",
    version="1",
    title="Brake package",
    purpose="Tell whether disc and caliper fit into the rim and past the lower joints, how large "
    "the disc may become, and what a split lower arm gains for it",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    rules=_RULES,
    sources=(
        Source("ISO 8855:2011", "", "axes and the signs of camber and toe; excerpt read"),
        Source("Room for the brake", "", "common practice, no source"),
    ),
    cautions=_CAUTIONS,
)


class BrakePackage:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Measure the distances, row by row."""
        from whybone_chassis.brake_package_fit import solve

        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Draw a section through the wheel, and the largest disc over its place."""
        from whybone_chassis.brake_package_figures import figures

        return figures(inputs)


CHECK = BrakePackage()
