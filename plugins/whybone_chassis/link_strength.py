"""Whether a link holds: axial stress, buckling, and what it weighs."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Rule, Source
from tracker.contract.figure import Figure
from whybone_chassis.link_strength_sections import SECTIONS
from whybone_chassis.trend_tables import follows, trend

__all__ = ["BUCKLING", "CHECK"]

BUCKLING = ("Euler", "Johnson")
"""How a column fails: long ones by Euler, short ones by Johnson's parabola."""

_INPUTS = (
    Port(
        key="tension",
        title="Largest tension",
        doc="Size of the largest pull over the load cases",
        unit="N",
    ),
    Port(
        key="compression",
        title="Largest compression",
        doc="Size of the largest push over the load cases",
        unit="N",
    ),
    Port(key="length", title="Length", doc="Between the joints", unit="mm"),
    Port(
        key="section",
        title="Section",
        doc="round: diameter; tube: diameter, wall; rectangle: width, height; box: width, height, "
        "wall; profile: profile_area, profile_second_moment",
        kind=Kind.CHOICE,
        choices=tuple(SECTIONS),
    ),
    Port(key="diameter", title="Diameter", doc="Outside", unit="mm", optional=True),
    Port(key="wall", title="Wall", doc="Thickness", unit="mm", optional=True),
    Port(key="width", title="Width", doc="Outside", unit="mm", optional=True),
    Port(key="height", title="Height", doc="Outside", unit="mm", optional=True),
    Port(
        key="profile_area",
        title="Profile area",
        doc="Least cross-section of the profile",
        unit="mm^2",
        optional=True,
    ),
    Port(
        key="profile_second_moment",
        title="Profile second moment",
        doc="Least second moment of area of the profile",
        unit="mm^4",
        optional=True,
    ),
    Port(key="yield_strength", title="Yield strength", doc="Of the material", unit="MPa"),
    Port(key="youngs_modulus", title="Young's modulus", doc="Of the material", unit="GPa"),
    Port(key="density", title="Density", doc="Of the material", unit="kg/m^3"),
    Port(
        key="length_factor",
        title="Effective length factor",
        doc="Buckling length over length: 1 between two joints that turn freely",
        optional=True,
        default=1.0,
    ),
)

_OUTPUTS = (
    Port(key="section_area", title="Area", doc="Of the cross-section", unit="mm^2"),
    Port(
        key="least_second_moment",
        title="Least second moment",
        doc="Of the cross-section's area, about its weakest axis",
        unit="mm^4",
    ),
    Port(key="tension_stress", title="Stress in tension", doc="Tension over area", unit="MPa"),
    Port(
        key="compression_stress",
        title="Stress in compression",
        doc="Compression over area, as a size",
        unit="MPa",
    ),
    Port(
        key="yield_use",
        title="Use of the yield strength",
        doc="Larger of the two stresses over the yield strength",
    ),
    Port(
        key="slenderness",
        title="Slenderness",
        doc="Effective length over radius of gyration",
    ),
    Port(
        key="transition_slenderness",
        title="Transition slenderness",
        doc="Above it Euler's formula holds, below it Johnson's",
    ),
    Port(
        key="buckling_by",
        title="Buckling by",
        doc="Formula that holds",
        kind=Kind.CHOICE,
        choices=BUCKLING,
    ),
    Port(
        key="buckling_force",
        title="Buckling force",
        doc="Compression the straight link buckles at",
        unit="N",
    ),
    Port(
        key="buckling_use",
        title="Use of the buckling force",
        doc="Compression over buckling force",
    ),
    Port(key="mass", title="Mass", doc="Section times length, without the ends", unit="kg"),
)

_RULES = (
    Rule(
        output="yield_use",
        upper=1.0,
        guard=0.1,
        reason="Above the yield strength the link stays deformed",
        source="Any text on strength of materials",
    ),
    Rule(
        output="buckling_use",
        upper=1.0,
        guard=0.1,
        reason="At the buckling force the link gives way",
        source="Any text on strength of materials",
    ),
)

_CAUTIONS = (
    (
        "A straight link of one section, loaded along its middle: a bend, an offset joint or a "
        "spring on the link adds bending that is not covered and can be decisive."
    ),
    "A use of 1 is failure, not a design: safety against misuse and scatter is for the engineer.",
    (
        "Fatigue, ends, welds, bores, notches, local buckling of thin walls and impact are not "
        "covered."
    ),
    "A link meant to bend or buckle before its neighbours needs its own criterion.",
)

_MANIFEST = Manifest(
    key="link-strength",
    version="1",
    title="Link strength",
    purpose="Work out axial stress, buckling force and mass of a link from its section, so that a "
    "profile is not chosen on cost alone",
    inputs=_INPUTS,
    outputs=_OUTPUTS,
    rules=_RULES,
    sources=(
        Source(
            "Shigley, Mechanical Engineering Design",
            "section 4-12 and Example 4-17",
            "Euler and Johnson columns; example read",
        ),
        Source(
            "Faires, Design of Machine Elements",
            "problem 334",
            "columns by Johnson and Euler; worked solution read",
        ),
    ),
    cautions=_CAUTIONS,
)

_TRENDS = {
    "tension": follows(up="tension_stress yield_use"),
    "compression": follows(up="compression_stress yield_use buckling_use"),
    "length": follows(
        up="slenderness buckling_use mass", down="buckling_force", unclear="buckling_by"
    ),
    "length_factor": follows(
        up="slenderness buckling_use", down="buckling_force", unclear="buckling_by"
    ),
    "yield_strength": follows(
        up="buckling_force",
        down="yield_use transition_slenderness buckling_use",
        unclear="buckling_by",
    ),
    "youngs_modulus": follows(
        up="transition_slenderness buckling_force", down="buckling_use", unclear="buckling_by"
    ),
    "density": follows(up="mass"),
}
"""Input → what follows it. Euler's and Johnson's stress meet without a jump, and each falls with
slenderness; Johnson's rises with the yield strength as far as it holds."""


class LinkStrength:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Work out stress, buckling and mass, row by row."""
        from whybone_chassis.link_strength_columns import strength

        return strength(inputs)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names
        """Promise what load, material and length do to a link; its section takes any shape."""
        return trend(_TRENDS, output, input)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Show the stress a column buckles at over its slenderness, and this link."""
        from whybone_chassis.link_strength_figures import figures

        return figures(inputs, self.compute(inputs, config))


CHECK = LinkStrength()
