"""Figures of the process choice: unit cost over volume, and who wins where."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import MONEY, Inputs, Table
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.answers import Reals
from whybone_chassis.process_choice_costs import Envelope, Rivals, envelope, rivals_of
from whybone_chassis.process_choice_rivals import pieces_of

__all__ = ["figures"]

_POINTS = 120
_SHOWN = (0.1, 3.0)  # volumes shown, as multiples of the present one
_LISTED = 40


def figures(inputs: Inputs) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `process-choice`.
    """
    table: Table = inputs["processes"]
    with np.errstate(all="ignore"):  # what cannot be drawn is left out
        rivals = rivals_of(table, single=bool(inputs["per_vehicle"][0] == 1))
        per_piece = float((inputs["volume_per_year"] / pieces_of(inputs))[0])
        if not np.isfinite(per_piece) or table.rows == 0:
            return ()
        volume = float(inputs["volume_per_year"][0])
        found = envelope(rivals)
        return (
            _curves(rivals, table.texts("process"), volume, per_piece),
            _stretches(found, table.texts("process"), per_piece),
        )


def _curves(rivals: Rivals, names: tuple[str, ...], volume: float, per_piece: float) -> Figure:
    low, high = (volume * factor for factor in _SHOWN)
    volumes = np.linspace(low, high, _POINTS)
    pieces = volumes / per_piece
    costs = rivals.total(pieces) / pieces[:, None]
    return Figure(
        key="unit-cost",
        title="Unit cost over volume",
        kind=FigureKind.CURVE,
        series=tuple(_line(name, volumes, cost) for name, cost in zip(names, costs.T, strict=True)),
        across=Axis("volume", "vehicle/year", "volume_per_year"),
        up=Axis("unit cost", f"{MONEY}/piece", "unit_cost"),
    )


def _line(name: str, volumes: Reals, cost: Reals) -> Series:
    good = np.isfinite(cost)
    return Series(title=name, x=tuple(volumes[good].tolist()), y=tuple(cost[good].tolist()))


def _stretches(found: Envelope, names: tuple[str, ...], per_piece: float) -> Figure:
    """List the first stretches of volume with their cheapest process."""
    starts = [0.0, *(found.edges * per_piece).tolist()][:_LISTED]
    return Figure(
        key="cheapest-by-volume",
        title="Cheapest process by volume",
        kind=FigureKind.LISTING,
        series=(
            Series(title="from, vehicle/year", labels=tuple(f"{each:.6g}" for each in starts)),
            Series(
                title="cheapest",
                labels=tuple(names[place] for place in found.winners[: len(starts)].tolist()),
            ),
        ),
    )
