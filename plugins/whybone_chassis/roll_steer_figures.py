"""Figure of the roll steer: toe over travel."""

from __future__ import annotations

from tracker.contract.check import Inputs
from tracker.contract.figure import Axis, Figure, FigureKind
from whybone_chassis.corner_ports_figures import curve, first_row, travel_sweep
from whybone_chassis.mechanics.vectors import FloatArray
from whybone_chassis.roll_steer_numbers import solve

__all__ = ["figures"]


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw toe over travel of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `roll-steer`.
    """
    first = first_row(inputs)
    travel, pose = travel_sweep(first)
    found = solve(first).values
    tangent: FloatArray = found["toe_at_trim"] + found["toe_gradient"] * (travel - first["trim"])
    return (
        Figure(
            key="toe-over-travel",
            title="Toe over wheel travel, toe-in positive",
            kind=FigureKind.CURVE,
            series=(
                curve("Toe", pose.toe, travel),
                curve("Tangent at trim", tangent, travel),
            ),
            across=Axis("Toe", "deg", "toe_at_trim"),
            up=Axis("Wheel travel from design, up positive", "mm", "trim"),
        ),
    )
