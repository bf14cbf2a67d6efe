"""What the joints of a front corner carry, and what their spacing buys."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

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
from whybone_chassis.configured_names import configured_names
from whybone_chassis.corner_ports import CORNER, SPRING

__all__ = ["CHECK", "STANDARD_CASES", "case_names"]

STANDARD_CASES: Mapping[str, tuple[str, ...]] = {
    "static": ("fz",),
    "braking": ("fx", "fz"),
    "cornering": ("fy", "fz"),
    "bump": ("fz",),
    "step": ("fx", "fz"),
    "kerb": ("fy", "fz"),
    "drive": ("fx", "fz"),
}
"""Cases with force ports of their own where the configuration names none, and these forces."""

_NAME = "[a-z][a-z0-9_]*"

_COLUMNS = (
    PortColumn("case", "Name of the load case", CellKind.TEXT),
    PortColumn(
        "brake_reacted_by",
        "What reacts the torque of fx: knuckle (outboard brake; fx acts at the contact centre) or "
        "body (inboard brake or motor; fx acts at the wheel centre)",
        CellKind.TEXT,
        default="knuckle",
    ),
    PortColumn("fx", "Force of the ground on the wheel, forward positive", unit="N", default=0.0),
    PortColumn("fy", "Likewise, left positive: the outer wheel's is < 0", unit="N", default=0.0),
    PortColumn("fz", "Likewise, up positive", unit="N", default=0.0),
    PortColumn(
        "mz",
        "Moment of the ground on the wheel about Z, left turn positive",
        unit="N·m",
        default=0.0,
    ),
    PortColumn("travel", "Wheel travel from design, up positive", unit="mm", default=0.0),
    PortColumn("rack", "Rack travel, left positive", unit="mm", default=0.0),
)

_CARRIER_COLUMNS = (
    PortColumn("case", "Name of the load case", CellKind.TEXT),
    PortColumn("bar_force", "Added to the port `bar_force` in this case", unit="N", default=0.0),
    PortColumn("stop_force", "Added to the port `stop_force` in this case", unit="N", default=0.0),
)

_FORCES = {
    "fx": "forward positive",
    "fy": "left positive: the outer wheel's is < 0",
    "fz": "up positive",
}


def _case_ports(cases: tuple[str, ...]) -> Iterator[Port]:
    for case in cases:
        for axis in STANDARD_CASES.get(case, tuple(_FORCES)):
            yield Port(
                key=f"{axis}_{case}",
                title=f"{axis}, {case}",
                doc=f"Force of the ground on the left wheel in the case {case}, {_FORCES[axis]}; "
                "stands in for the cell of that case in `load_cases`, which gives the rest",
                unit="N",
                optional=True,
            )


def _inputs(cases: tuple[str, ...]) -> tuple[Port, ...]:
    return (
        *CORNER,
        *SPRING,
        Port(
            key="load_cases",
            title="Load cases",
            doc="What acts on the left wheel, case by case",
            kind=Kind.TABLE,
            columns=_COLUMNS,
            optional=True,
        ),
        *_case_ports(cases),
        Port(
            key="unsprung_mass",
            title="Unsprung mass",
            doc="Of one corner; its weight acts at the wheel centre",
            unit="kg",
        ),
        Port(
            key="bar_force",
            title="Anti-roll bar force",
            doc="Of the drop link on the arm or link that carries the spring, at the spring's "
            "lower seat, up positive, in every case",
            unit="N",
            optional=True,
            default=0.0,
        ),
        Port(
            key="stop_force",
            title="Bump stop force",
            doc="Push of the bump stop, on the spring's line, in every case",
            unit="N",
            optional=True,
            default=0.0,
        ),
        Port(
            key="carrier_forces",
            title="Bar and stop forces by case",
            doc="Anti-roll bar and bump stop where they do not act alike in every case",
            kind=Kind.TABLE,
            columns=_CARRIER_COLUMNS,
            optional=True,
        ),
    )


def _force(key: str, title: str, doc: str, unit: str = "N", *, optional: bool = False) -> Port:
    return Port(key=key, title=title, doc=doc, unit=unit, optional=optional)


_OUTPUTS = (
    _force(
        "joint_spacing",
        "Joint spacing",
        "Upper joint to the lower links' height, along the steering axis at design: the distance "
        "of the two joints for a one-piece arm",
        "mm",
    ),
    _force("upper_joint_force", "Upper joint force", "Resultant in the worst case"),
    _force(
        "lower_joint_force",
        "Lower joint force",
        "Resultant in the worst case; vector sum of both links for a split arm",
    ),
    _force("tie_rod_force", "Tie-rod force", "Largest by size, tension positive"),
    _force(
        "worst_link_force",
        "Worst link force",
        "Largest by size in upper links, tie rod and, of a split arm, the lower link without the "
        "spring; tension positive",
    ),
    _force("spring_force", "Spring force", "Largest by size, compression positive"),
    _force(
        "moment_at_lower_joint",
        "Moment at the lower joint",
        "Of all loads on the knuckle about X through the lower joint (a split arm's is where the "
        "steering axis crosses the links' height); largest by size, what spacing has to react",
        "N·m",
    ),
    _force(
        "upper_force_per_kn_lateral",
        "Upper joint force per lateral force",
        "Resultant at the upper joint for a lateral force at the contact centre alone, at design",
        "N/kN",
    ),
    _force(
        "bush_moment",
        "Bush moment",
        "Largest by size that the inner bush of a split arm's spring link reacts about that link",
        "N·m",
        optional=True,
    ),
)

_CAUTIONS = (
    (
        "Rigid bodies in equilibrium, friction and bush stiffness left out: dynamic factors "
        "belong into the load cases."
    ),
    (
        "Links without a spring carry axial force only. How an arm's two inner bushes share the "
        "force along their line is not determined and not given."
    ),
    (
        "The anti-roll bar is taken to act at the spring's lower seat, the bump stop on the "
        "spring's line."
    ),
    (
        "fx with a torque reacted by the knuckle acts at the ground, with one reacted by the body "
        "at the wheel centre: so do step and drive where only ports give them; the other cases "
        "fed by ports brake at the knuckle, at design, without rack travel."
    ),
    "Forces at the joints are no verdict on their strength.",
)

_SOURCES = (
    Source("Statics of rigid bodies", "equilibrium of knuckle and spring carrier", "any text"),
    Source("ISO 8855:2011", "", "axes and signs of tyre forces; excerpt read"),
)


class BallJointMoment:
    """The check; see the manifest. Configuration: `cases`, names separated by commas."""

    def manifest(self, config: Config) -> Manifest:
        """Describe the check.

        Raises
        ------
        ConfigError
            A case has no usable name or is named twice, or a field is unknown.
        """
        return Manifest(
            key="ball-joint-moment",
            version="1",
            title="Joint forces",
            purpose="Tell what the joints and links of a corner carry in each load case, and how "
            "far apart the joints must be to carry it",
            inputs=_inputs(case_names(config)),
            outputs=_OUTPUTS,
            sources=_SOURCES,
            cautions=_CAUTIONS,
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        """Balance the knuckle in every case, row by row of geometry."""
        from whybone_chassis.ball_joint_moment_forces import solve

        return solve(inputs, case_names(config))

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Show forces per case, and force against spacing."""
        from whybone_chassis.ball_joint_moment_figures import figures

        return figures(inputs, case_names(config))


CHECK = BallJointMoment()


def case_names(config: Config) -> tuple[str, ...]:
    """Return the cases that have force ports of their own.

    Parameters
    ----------
    config : mapping of str to str
        May hold `cases`: names separated by commas.

    Returns
    -------
    tuple of str
        Those of `STANDARD_CASES` without a configuration.

    Raises
    ------
    ConfigError
        A case has no usable name or is named twice, or a field is unknown.
    """
    return configured_names(
        config,
        "cases",
        tuple(STANDARD_CASES),
        called="case",
        form="write names of small letters, digits and _, like static, braking",
        shape=_NAME,
    )
