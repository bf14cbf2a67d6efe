"""Figures of the tooling budget: spend by gate, spend by part, order-by dates."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import MONEY, Inputs, Table
from tracker.contract.figure import Axis, Figure, FigureKind, Series
from whybone_chassis.tooling_gates import GateOrder, gate_order
from whybone_chassis.tooling_sums import spend_of

__all__ = ["figures"]

_NO_GATE = "no gate"


def figures(inputs: Inputs, gates: tuple[str, ...]) -> tuple[Figure, ...]:
    """Draw the figures of a batch of one.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `tooling-budget`.
    gates : tuple of str
        Gate names in the order of the port's choices.
    """
    parts: Table = inputs["parts"]
    spend = spend_of(parts, inputs["volume_per_year"][:1] * inputs["years"][:1])
    order = gate_order(inputs.get("gates"), gates)
    one_offs: Table | None = inputs.get("one_offs")
    return (
        _by_gate(parts, spend.cost[0], one_offs, order),
        _by_part(parts, spend.cost[0]),
        _orders(parts, spend.sets[0], spend.cost[0], order),
    )


def _by_gate(
    parts: Table, cost: NDArray[np.float64], one_offs: Table | None, order: GateOrder
) -> Figure:
    names = (*order.names, _NO_GATE)
    series = [_gate_series("Tool sets", zip(parts.texts("gate"), cost, strict=True), names)]
    if one_offs is not None:
        spent = zip(one_offs.texts("gate"), one_offs.reals("cost"), strict=True)
        series.append(_gate_series("One-off costs", spent, names))
    return Figure(
        key="spend-by-gate",
        title="Tooling by gate",
        kind=FigureKind.BARS,
        series=tuple(series),
        across=Axis("gate"),
        up=Axis("tooling", MONEY),
    )


def _gate_series(
    title: str, spent: Iterable[tuple[str, np.float64]], names: tuple[str, ...]
) -> Series:
    sums = dict.fromkeys(names, 0.0)
    for gate, cost in spent:
        sums[gate if gate in sums else _NO_GATE] += float(cost)
    return Series(title=title, y=tuple(sums.values()), labels=names)


def _by_part(parts: Table, cost: NDArray[np.float64]) -> Figure:
    ranked = sorted(
        zip(cost.tolist(), parts.texts("part"), strict=True), key=lambda pair: (-pair[0], pair[1])
    )
    return Figure(
        key="spend-by-part",
        title="Tooling by part",
        kind=FigureKind.BARS,
        series=(
            Series(
                title="Tool sets",
                y=tuple(each for each, _ in ranked),
                labels=tuple(name for _, name in ranked),
            ),
        ),
        across=Axis("part"),
        up=Axis("tooling", MONEY),
    )


def _orders(
    parts: Table, sets: NDArray[np.float64], cost: NDArray[np.float64], order: GateOrder
) -> Figure:
    """List the tools to buy by the date they must be ordered; undated ones last."""
    leads, gates, names = parts.reals("lead_weeks"), parts.texts("gate"), parts.texts("part")
    rows = []
    for at in np.flatnonzero(cost > 0.0).tolist():
        day = _order_by(gates[at], float(leads[at]), order)
        shown = day.isoformat() if day else "no date"
        rows.append(
            (day or date.max, (shown, names[at], f"{sets[at]:.0f}", f"{leads[at]:g}", gates[at]))
        )
    cells = [row for _, row in sorted(rows)]
    heads = ("order by", "part", "sets", "lead, weeks", "due at")
    columns = zip(*cells, strict=True) if cells else ((),) * len(heads)
    return Figure(
        key="order-by",
        title="Tools by the date they must be ordered",
        kind=FigureKind.LISTING,
        series=tuple(
            Series(title=head, labels=tuple(column))
            for head, column in zip(heads, columns, strict=True)
        ),
    )


def _order_by(gate: str, lead: float, order: GateOrder) -> date | None:
    """Return the last day to order a tool; None where its gate has no date."""
    if not order.dates or order.fault or gate not in order.names:
        return None
    due = order.dates[order.names.index(gate)]
    try:
        return due - timedelta(weeks=lead)
    except OverflowError:
        return None
