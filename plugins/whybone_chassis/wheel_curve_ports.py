"""What the corner checks tell of a wheel over its travel, front and rear alike."""

from __future__ import annotations

from tracker.contract.check import Port

__all__ = ["CAMBER", "TOE"]

TOE = (
    Port(
        key="toe_gradient",
        title="Toe gradient",
        doc="Change of toe per wheel travel at trim; toe-in in jounce positive",
        unit="deg/mm",
    ),
    Port(
        key="roll_steer",
        title="Roll steer",
        doc="Steer of the axle per suspension roll; positive opens the turn: understeer",
        unit="deg/deg",
    ),
    Port(
        key="toe_at_trim",
        title="Toe at trim",
        doc="Toe-in positive",
        unit="deg",
    ),
    Port(
        key="toe_at_bump",
        title="Toe at bump",
        doc="At trim plus `travel`, toe-in positive",
        unit="deg",
    ),
    Port(
        key="toe_at_droop",
        title="Toe at droop",
        doc="At trim minus `travel`, toe-in positive",
        unit="deg",
    ),
    Port(
        key="toe_nonlinearity",
        title="Departure of toe from its tangent",
        doc="Largest by size, at nine positions over the travel",
        unit="deg",
    ),
)

CAMBER = (
    Port(
        key="camber_gradient",
        title="Camber gradient",
        doc="Change of camber per wheel travel at trim; negative: the top moves inward in jounce",
        unit="deg/mm",
    ),
    Port(
        key="camber_at_trim",
        title="Camber at trim",
        doc="Top of the wheel outward positive",
        unit="deg",
    ),
    Port(key="camber_at_bump", title="Camber at bump", doc="At trim plus `travel`", unit="deg"),
    Port(key="camber_at_droop", title="Camber at droop", doc="At trim minus `travel`", unit="deg"),
    Port(
        key="swing_arm",
        title="Swing arm, front view",
        doc="Lateral distance from the wheel to its instant centre, inboard positive; absent where "
        "camber does not change",
        unit="mm",
        optional=True,
    ),
    Port(
        key="swing_arm_curvature",
        title="Curvature of the swing arm",
        doc="One over the swing arm, 0 where there is none",
        unit="1/m",
    ),
    Port(
        key="roll_centre_height",
        title="Roll centre height",
        doc="Above the ground at trim",
        unit="mm",
    ),
    Port(
        key="track_change",
        title="Track change",
        doc="Of both wheels moving alike from trim to bump or to droop, whichever is larger by "
        "size; wider positive",
        unit="mm",
    ),
)
