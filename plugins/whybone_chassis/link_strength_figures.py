"""Figure of the link strength: buckling stress over slenderness, and this link on it."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.link_strength_columns import critical_stress

__all__ = ["figures"]

_POINTS = 61
_BEYOND = 1.5  # slenderness shown, as a multiple of the largest that matters
_GIGA = 1e3  # MPa in one GPa


def figures(inputs: Inputs, outputs: Outputs) -> tuple[Figure, ...]:
    """Draw the figure of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `link-strength`.
    outputs : Outputs
        What the check answered.
    """
    values = {port: float(array[0]) for port, array in outputs.values.items()}
    if not np.isfinite(values["buckling_use"]):
        return ()
    last = _BEYOND * max(values["slenderness"], values["transition_slenderness"])
    slenderness = np.linspace(0.0, last, _POINTS)
    limit, modulus = inputs["yield_strength"][:1], inputs["youngs_modulus"][:1] * _GIGA
    with np.errstate(all="ignore"):  # Euler's stress of no length is not used
        stress = critical_stress(slenderness, limit, modulus)
    here = values["slenderness"]
    return (
        Figure(
            key="buckling",
            title="Stress a column buckles at over its slenderness",
            kind=FigureKind.CURVE,
            series=(
                Series(title="buckling", x=tuple(slenderness.tolist()), y=tuple(stress.tolist())),
                Series(
                    title="this link",
                    x=(here, here),
                    y=(0.0, values["compression_stress"]),
                ),
            ),
            across=Axis("slenderness", port="slenderness"),
            up=Axis("stress in compression", "MPa"),
        ),
    )
