"""Spring, stroke and ride frequencies of one corner at kerb, design and laden trim."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.contract.check import Config, Inputs, Kind, Manifest, Outputs, Port, Source
from tracker.contract.figure import Figure
from whybone_chassis.trend_tables import follows, trend

__all__ = ["CHECK", "SPRINGS", "TRIMS"]

SPRINGS = ("coil", "air")
"""Kinds of spring, in code order."""

TRIMS = ("kerb", "design", "laden")
"""Loads the corner is looked at under; travel counts from design."""


def _real(key: str, title: str, doc: str, unit: str = "", *, default: float | None = None) -> Port:
    return Port(key=key, title=title, doc=doc, unit=unit, optional=True, default=default)


_MASSES = tuple(
    Port(
        key=f"sprung_mass_{trim}",
        title=f"Sprung mass, {trim} trim",
        doc="Carried by this corner's spring",
        unit="kg",
    )
    for trim in TRIMS
)

_CORNER = (
    Port(
        key="unsprung_mass",
        title="Unsprung mass",
        doc="Of this corner: wheel, knuckle, brake, half of the links and the spring",
        unit="kg",
    ),
    Port(
        key="motion_ratio",
        title="Motion ratio",
        doc="Spring travel ÷ wheel travel at design, positive",
    ),
    _real(
        "motion_ratio_rate",
        "Rate of the motion ratio",
        "Change of the motion ratio per wheel travel, taken as constant",
        "1/m",
        default=0.0,
    ),
    Port(key="tyre_rate", title="Tyre rate", doc="Vertical, at the wheel load", unit="N/mm"),
)

_SPRING = (
    Port(
        key="spring",
        title="Spring",
        doc="Coil of constant rate, or air spring",
        kind=Kind.CHOICE,
        choices=SPRINGS,
        optional=True,
        default=SPRINGS[0],
    ),
    _real("spring_rate", "Spring rate", "Of a coil spring", "N/mm"),
    _real("effective_area", "Effective area", "Of an air spring at design height", "mm^2"),
    _real(
        "effective_area_rate",
        "Rate of the effective area",
        "Change per compression of the air spring, from its piston's contour",
        "mm^2/mm",
        default=0.0,
    ),
    _real(
        "air_volume",
        "Air volume",
        "Of an air spring with all it is openly connected to, at design height",
        "l",
    ),
    _real(
        "polytropic_exponent",
        "Polytropic exponent",
        "Of the air in ride motion: 1 when slow, 1.4 when so fast that no heat passes",
    ),
    Port(
        key="levelling",
        title="Levelling",
        doc="Whether an air spring holds its design height under every load",
        kind=Kind.FLAG,
        optional=True,
        default=True,
    ),
)

_DAMPER = (
    _real("damping_rate", "Damping rate", "Force per speed along the damper", "N*s/m"),
    _real(
        "damper_motion_ratio",
        "Damper motion ratio",
        "Damper travel ÷ wheel travel; that of the spring at the trim when it is not given",
    ),
)

_STROKE = (
    Port(
        key="bump_travel",
        title="Bump travel",
        doc="Wheel travel from design up to the solid stop",
        unit="mm",
    ),
    Port(
        key="rebound_travel",
        title="Rebound travel",
        doc="Wheel travel from design down to the solid stop",
        unit="mm",
    ),
    _real(
        "bump_stop_gap",
        "Gap to the bump stop",
        "Wheel travel from design up to where the bump stop touches; negative: it touches already",
        "mm",
    ),
    _real(
        "bump_stop_rate",
        "Rate of the bump stop",
        "At the wheel, taken as constant once it touches",
        "N/mm",
        default=0.0,
    ),
    _real(
        "rebound_stop_gap",
        "Gap to the rebound stop",
        "Wheel travel from design down to where the rebound stop touches",
        "mm",
    ),
    _real(
        "rebound_stop_rate",
        "Rate of the rebound stop",
        "At the wheel, taken as constant once it touches",
        "N/mm",
        default=0.0,
    ),
)

# key, title, meaning, unit, whether it may be absent
_PER_TRIM = (
    ("bump_left", "Bump travel left", "From this trim up to the solid stop", "mm", False),
    ("rebound_left", "Rebound travel left", "From this trim down to the solid stop", "mm", False),
    (
        "stop_gap",
        "Gap to the bump stop",
        "Wheel travel until it touches; negative where it carries part of the load",
        "mm",
        True,
    ),
    ("spring_force", "Spring force", "Compression positive", "N", False),
    ("gauge_pressure", "Gauge pressure", "Of an air spring", "bar", True),
    (
        "wheel_rate",
        "Wheel rate",
        "Wheel load per wheel travel, tyre excluded: k·MR² + F·dMR/dz, and stops that touch",
        "N/mm",
        False,
    ),
    ("ride_rate", "Ride rate", "Wheel rate and tyre rate in series", "N/mm", False),
    (
        "frequency",
        "Ride frequency",
        "Of the sprung mass on the ride rate, undamped, wheel taken as massless",
        "Hz",
        False,
    ),
    (
        "damping_ratio",
        "Damping ratio",
        "Damping at the wheel over 2·√(wheel rate · sprung mass)",
        "",
        True,
    ),
    ("body_mode", "Body mode", "Lower natural frequency of two masses, undamped", "Hz", False),
    ("hop_mode", "Wheel hop mode", "Upper natural frequency of two masses", "Hz", False),
)

_OUTPUTS = (
    *(
        Port(
            key=f"trim_{trim}",
            title=f"Trim, {trim}",
            doc="Wheel travel from design at which the corner stands, up positive",
            unit="mm",
        )
        for trim in TRIMS
        if trim != "design"
    ),
    *(
        Port(key=f"{key}_{trim}", title=f"{title}, {trim}", doc=doc, unit=unit, optional=absent)
        for key, title, doc, unit, absent in _PER_TRIM
        for trim in TRIMS
    ),
)

_CAUTIONS = (
    "One corner on level ground: coupling between the corners, pitch and roll are left out.",
    (
        "Small motions about each trim: constant rates there, friction, bush rates and the "
        "damper's curve left out."
    ),
    (
        "Stops are straight lines at the wheel; a real bump stop is progressive. Bound rates "
        "(stop touching at a trim) raise the frequencies shown."
    ),
    (
        "Air springs: uniform air of constant mass and exponent. Without levelling the trims "
        "settle at constant temperature."
    ),
    "Ride frequencies take the sprung mass of the corner, not the whole wheel load.",
)

_SOURCES = (
    Source(
        "Barton & Fieldhouse, Automotive Chassis Engineering, Springer 2018",
        "pp. 179, 209",
        "wheel rate from the lever ratio, natural frequencies of a quarter car; read",
    ),
    Source("Virtual work", "wheel load F·MR and its derivative", "any text on mechanics"),
    Source("Polytropic change of a gas", "p·Vⁿ constant, differentiated", "any text"),
    Source("ISO 2533:1975", "standard atmosphere at sea level, 101 325 Pa", "recalled"),
)

_MANIFEST = Manifest(
    key="ride",
    version="1",
    title="Ride",
    purpose="Tell how a corner stands at kerb, design and laden trim, what stroke is left, how "
    "stiff it is at the wheel and how fast body and wheel swing",
    inputs=(*_MASSES, *_CORNER, *_SPRING, *_DAMPER, *_STROKE),
    outputs=_OUTPUTS,
    sources=_SOURCES,
    cautions=_CAUTIONS,
)


def _each(*keys: str) -> str:
    return " ".join(f"{key}_{trim}" for key in keys for trim in TRIMS)


_TRENDS = {
    "tyre_rate": follows(up=_each("ride_rate", "frequency", "body_mode", "hop_mode")),
    "unsprung_mass": follows(down=_each("body_mode", "hop_mode")),
    "damping_rate": follows(up=_each("damping_ratio")),
    "damper_motion_ratio": follows(up=_each("damping_ratio")),
}
"""Input → what follows it: more stiffness raises every natural frequency, more mass lowers it
(Rayleigh)."""


class Ride:
    """The check; see the manifest."""

    def manifest(self, config: Config) -> Manifest:  # noqa: ARG002  it needs no configuration
        """Describe the check."""
        return _MANIFEST

    def compute(self, inputs: Inputs, config: Config) -> Outputs:  # noqa: ARG002  as above
        """Find trims, rates and frequencies, row by row."""
        from whybone_chassis.ride_numbers import solve

        return solve(inputs)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002, ARG002 - the contract's names
        """Promise what tyre, unsprung mass and damper do; where a corner stands takes more."""
        return trend(_TRENDS, output, input)

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:  # noqa: ARG002  as above
        """Show wheel load and wheel rate over travel, and the trims."""
        from whybone_chassis.ride_figures import figures

        return figures(inputs)


CHECK = Ride()
