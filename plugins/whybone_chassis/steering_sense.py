"""Whether a left turn of the steering wheel steers the vehicle left.

A gear made for one side of the axle is often offered for the other. Turning it over, tipping it or
swinging it end for end are rotations; each changes where the input shaft points, on which side the
pinion sits and which way the rack runs. This check follows the vectors through.
"""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import (
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    Rule,
    Source,
)
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.steering_vectors import MOUNTINGS, SIDES, solve

__all__ = ["CHECK"]

_INPUTS = (
    Port(
        key="input_shaft_direction",
        title="Input shaft direction",
        doc="Vector along the input shaft from its column end to the pinion, in the axes of the "
        "vehicle the gear was made for, as built there; any length",
        kind=Kind.POINT,
    ),
    Port(
        key="rack_from_pinion",
        title="Rack seen from the pinion",
        doc="Vector from the pinion's axis to the teeth of the rack, same axes; any length",
        kind=Kind.POINT,
    ),
    Port(
        key="gear_pinion_side",
        title="Pinion side of the gear",
        doc="Side of the gear's middle on which the pinion sits in the vehicle it was made for",
        kind=Kind.CHOICE,
        choices=SIDES,
    ),
    Port(
        key="mounting",
        title="Mounting",
        doc="How the gear is turned against the vehicle it was made for: turned-over is 180° about "
        "X, tipped-over 180° about Y, end-for-end 180° about Z",
        kind=Kind.CHOICE,
        choices=tuple(MOUNTINGS),
        optional=True,
        default="as-built",
    ),
    Port(
        key="mounting_rotation",
        title="Mounting rotation",
        doc="Rotation vector (axis times angle, right-handed) that replaces `mounting` when given",
        kind=Kind.POINT,
        unit="deg",
        optional=True,
    ),
    Port(
        key="tie_rod_inner",
        title="Tie rod, inner joint",
        doc="On the rack, left wheel",
        kind=Kind.POINT,
        unit="mm",
    ),
    Port(
        key="tie_rod_outer",
        title="Tie rod, outer joint",
        doc="On the knuckle, left wheel",
        kind=Kind.POINT,
        unit="mm",
    ),
    Port(
        key="axis_upper",
        title="Steering axis, upper point",
        doc="Any point of the left wheel's steering axis above the lower one",
        kind=Kind.POINT,
        unit="mm",
    ),
    Port(
        key="axis_lower",
        title="Steering axis, lower point",
        doc="Any point of the left wheel's steering axis below the upper one",
        kind=Kind.POINT,
        unit="mm",
    ),
    Port(
        key="driver_side",
        title="Driver's side",
        doc="Side on which the driver sits",
        kind=Kind.CHOICE,
        choices=SIDES,
    ),
)

_OUTPUTS = (
    Port(
        key="sense",
        title="Steering sense",
        doc="+1 a left turn of the wheel steers left, −1 it steers right, 0 undetermined",
        kind=Kind.INTEGER,
    ),
    Port(
        key="rack_direction",
        title="Rack direction",
        doc="+1 a left turn of the wheel moves the rack left, −1 right, 0 undetermined",
        kind=Kind.INTEGER,
    ),
    Port(
        key="pinion_side",
        title="Pinion side as mounted",
        doc="Side of the gear's middle on which the pinion sits after mounting",
        kind=Kind.CHOICE,
        choices=SIDES,
    ),
    Port(
        key="shaft_faces_rear",
        title="Input shaft faces rearward",
        doc="Whether the column end of the input shaft lies behind the pinion",
        kind=Kind.FLAG,
    ),
    Port(
        key="shaft_elevation",
        title="Input shaft elevation",
        doc="Angle of the input shaft above the horizontal, column end above the pinion positive",
        unit="deg",
    ),
    Port(
        key="pinion_on_driver_side",
        title="Pinion on the driver's side",
        doc="Whether the mounted pinion sits on the driver's side",
        kind=Kind.FLAG,
    ),
    Port(
        key="wheel_gain",
        title="Steer per rack travel",
        doc="Left wheel's steer angle (left positive) per rack travel (left positive), at design",
        unit="deg/mm",
    ),
)

_RULES = (
    Rule(
        output="sense",
        lower=1.0,
        reason="A left turn of the steering wheel must steer the vehicle left",
        source="ISO 8855:2011, 7.1.8: a left turn is positive",
    ),
    Rule(
        output="shaft_faces_rear",
        allowed=("yes",),
        reason="The column comes from the driver, behind the gear: a shaft that faces forward "
        "cannot be reached",
        source="Common practice, no source",
    ),
)

_CAUTIONS = (
    (
        "Only rotations are considered. The gear of the opposite-hand vehicle is a mirror image "
        "and another part: no rotation turns one into the other, so state its own shaft "
        "direction, rack direction and pinion side."
    ),
    (
        "The wheel gain holds for zero camber, a rack along Y and small travel; the linkage's own "
        "solution differs by about 0.2 %."
    ),
    "A gear whose rack lies more than 60° off the vehicle's Y axis gets no sense.",
    (
        "Clearance, lubricant level, breather and seals of a turned gear are not looked at: ask "
        "its maker."
    ),
)

_MANIFEST = Manifest(
    key="steering-sense",
    version="1",
    title="Steering sense",
    purpose="Tell whether a steering gear, mounted as stated, steers the way the driver turns, "
    "where its input shaft then points and on which side its pinion sits",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    rules=_RULES,
    sources=(
        Source("ISO 8855:2011", "7.1.6, 7.1.8", "signs of toe and steer; excerpt read"),
        Source("Kinematics of a rigid body", "v = ω × r", "any text on mechanics"),
    ),
    cautions=_CAUTIONS,
)


class SteeringSense:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Follow shaft, rack and tie rod through, row by row."""
        return solve(inputs)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Draw tie rod, steering arm and rack movement seen from above."""
        direction = int(self.compute(inputs, config).values["rack_direction"][0])
        return (_plan(inputs, direction),)


CHECK = SteeringSense()


def _plan(inputs: Inputs, direction: int) -> Figure:
    inner, outer, upper, lower = (
        [float(each) for each in inputs[key][0]]
        for key in ("tie_rod_inner", "tie_rod_outer", "axis_upper", "axis_lower")
    )
    rise = upper[2] - lower[2]
    share = (outer[2] - lower[2]) / rise if rise else 0.0
    foot = [low + share * (up - low) for up, low in zip(upper, lower, strict=True)]
    moved = [inner[0], inner[1] + direction * abs(outer[1] - inner[1]) / 4, inner[2]]
    return Figure(
        key="plan",
        title="Left wheel from above: steering arm, tie rod, rack movement in a left turn",
        kind=FigureKind.SKETCH,
        series=(
            _line("Tie rod", (inner, "inner"), (outer, "outer")),
            _line("Steering arm", (foot, "axis"), (outer, "")),
            _line("Rack, left turn", (inner, ""), (moved, "rack")),
        ),
        across=Axis("to the right (−Y)", "mm"),
        up=Axis("forward (X)", "mm"),
    )


def _line(title: str, *points: tuple[list[float], str]) -> Series:
    return Series(
        title=title,
        x=tuple(-point[1] for point, _ in points),
        y=tuple(point[0] for point, _ in points),
        labels=tuple(label for _, label in points),
    )
