"""How far the joints of a corner tilt, the driveshaft bends and slides, the column ripples."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.corner_ports import CORNER, TRAVEL, TRIM

__all__ = ["CHECK"]


def _place(key: str, title: str, doc: str, unit: str = "mm") -> Port:
    return Port(key=key, title=title, doc=doc, kind=Kind.POINT, unit=unit, optional=True)


def _stud(key: str, title: str) -> Port:
    return _place(
        key,
        title,
        "Direction of the stud on the knuckle at design, any length; without one, along the line "
        "from the lower outer joints to the upper one",
        "",
    )


_INPUTS = (
    *CORNER,
    TRAVEL,
    Port(
        key="rack_travel",
        title="Rack travel",
        doc="From the middle to either end",
        unit="mm",
    ),
    TRIM,
    _stud("upper_stud", "Stud of the upper joint"),
    _stud("lower_stud", "Stud of the lower joints"),
    _stud("tie_rod_stud", "Stud of the outer tie-rod joint"),
    _place("driveshaft_inner", "Driveshaft, inner joint", "Centre, on the body, left wheel"),
    _place(
        "driveshaft_outer",
        "Driveshaft, outer joint",
        "Centre, on the knuckle at design; the wheel centre without one",
    ),
    _place(
        "column_direction",
        "Steering column",
        "Direction along the column from the steering wheel to its joint, any length",
        "",
    ),
    _place("column_joint", "Column joint", "Centre of the joint at the column's lower end"),
    _place("pinion_joint", "Pinion joint", "Centre of the joint at the gear's input shaft"),
    _place(
        "pinion_direction",
        "Input shaft",
        "Direction along the gear's input shaft, as mounted, from its joint to the pinion, any "
        "length",
        "",
    ),
    Port(
        key="yoke_phase",
        title="Yoke phase",
        doc="Angle of the intermediate shaft's lower yoke from its upper one about the shaft, "
        "right-handed looking from the column to the gear; 0 where both lie in one plane",
        unit="deg",
        optional=True,
        default=0.0,
    ),
)


def _angle(key: str, title: str, doc: str, *, optional: bool = False) -> Port:
    return Port(key=key, title=title, doc=doc, unit="deg", optional=optional)


_OUTPUTS = (
    _angle(
        "upper_joint_angle",
        "Upper joint",
        "Largest tilt of the stud in its housing, which the upper arm carries, from design",
    ),
    _angle(
        "lower_joint_angle",
        "Lower joint",
        "Likewise on the lower arm; of a split arm the larger of both joints",
    ),
    _angle("tie_rod_outer_angle", "Tie rod, outer joint", "Likewise on the tie rod"),
    _angle(
        "tie_rod_inner_angle",
        "Tie rod, inner joint",
        "Largest angle between tie rod and rack",
    ),
    _angle(
        "driveshaft_inner_angle",
        "Driveshaft, inner joint",
        "Largest angle between driveshaft and the Y axis",
        optional=True,
    ),
    _angle(
        "driveshaft_outer_angle",
        "Driveshaft, outer joint",
        "Largest angle between driveshaft and the wheel's spin axis",
        optional=True,
    ),
    Port(
        key="driveshaft_plunge",
        title="Driveshaft plunge",
        doc="Longest less shortest distance of its two joints",
        unit="mm",
        optional=True,
    ),
    _angle(
        "column_joint_angle",
        "Column joint",
        "Between column and intermediate shaft",
        optional=True,
    ),
    _angle(
        "pinion_joint_angle",
        "Pinion joint",
        "Between intermediate shaft and input shaft",
        optional=True,
    ),
    Port(
        key="speed_ripple",
        title="Speed ripple",
        doc="Highest less lowest of input-shaft speed ÷ column speed, at the given yoke phase",
        unit="%",
        optional=True,
    ),
    _angle(
        "best_yoke_phase",
        "Best yoke phase",
        "At which the ripple is least, between −90 and 90",
        optional=True,
    ),
)

_CAUTIONS = (
    (
        "Angles and plunge are looked for at nine positions: droop, trim and bump with the rack at "
        "its middle and at either end. Values between them can be a little larger."
    ),
    (
        "Studs are taken to stand in the middle of their housings at design. A tie rod or a single "
        "link is taken not to spin about its own line."
    ),
    "The driveshaft's inner joint is taken to turn about Y.",
    "Column joints are cross joints with ideal bearings; a constant-velocity joint has no ripple.",
)

_SOURCES = (
    Source(
        "Cross joint",
        "tan θ₂ = cos β · tan θ₁",
        "any text on mechanisms; speed ratio between cos β and 1/cos β",
    ),
    Source("ISO 8855:2011", "", "axes; excerpt read"),
)

_MANIFEST = Manifest(
    key="joint-angles",
    version="1",
    title="Joint angles",
    purpose="Tell how far ball joints, tie rod and driveshaft bend over travel and lock, how much "
    "the driveshaft slides, and how unevenly the steering column turns the gear",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    sources=_SOURCES,
    cautions=_CAUTIONS,
)


class JointAngles:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Look for the largest angles, row by row."""
        from whybone_chassis.joint_angles_numbers import solve

        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Draw angles over travel, and the ripple of the column."""
        from whybone_chassis.joint_angles_figures import figures

        return figures(inputs)


CHECK = JointAngles()
