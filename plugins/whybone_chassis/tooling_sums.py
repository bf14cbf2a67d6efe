"""The sums behind the tooling budget, batched over volume, years and gate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Inputs, Outputs, Table
from whybone_chassis.answers import Answers, Reals
from whybone_chassis.tooling_gates import GateOrder, gate_order

__all__ = ["Spend", "budget", "spend_of", "tool_sets"]

# A ratio this close to a whole number is that number: typed volumes and unit conversions carry a
# few units of rounding (1e-15), while one piece too many in a tool life of 10 million is 1e-7.
_WHOLE = 1e-9
_COUNTABLE = 2.0**53

_TOOLING = ("tooling_total", "tooling_per_vehicle", "cost_per_vehicle", "tool_sets")
_SHARING = ("saved_by_both_sides",)
_CARRYING = ("saved_by_carry_over",)
_GATE = ("tooling_to_gate",)
_ORDER = ("order_lead",)
_PER_VEHICLE = ("tooling_per_vehicle", "cost_per_vehicle")


def tool_sets(pieces: Reals, sides: Reals, set_life: Reals) -> Reals:
    """Count the sets of tools for a number of pieces.

    Parameters
    ----------
    pieces : ndarray
        Pieces over the whole production, both sides together.
    sides : ndarray
        1 where one tool makes all pieces, 2 where left and right need their own.
    set_life : ndarray
        Pieces one set makes; 0 means that no tools are needed.

    Returns
    -------
    ndarray
        sides · ⌈pieces / (sides · set_life)⌉, whole numbers as float64.
    """
    capacity = np.where(set_life > 0.0, sides * set_life, np.inf)
    ratio = pieces / capacity
    nearest = np.rint(ratio)
    close = np.abs(ratio - nearest) <= _WHOLE * nearest
    counted: Reals = sides * np.where(close, nearest, np.ceil(ratio))
    return counted


@dataclass(frozen=True, slots=True)
class Spend:
    """Tooling by part.

    Parameters
    ----------
    sets, cost : ndarray, shape (n, parts)
        Sets bought and what they cost.
    unshared, uncarried : ndarray, shape (n, parts)
        Further cost if the part did not fit both sides, or were not carried over.
    """

    sets: Reals
    cost: Reals
    unshared: Reals
    uncarried: Reals


def spend_of(parts: Table, vehicles: Reals) -> Spend:
    """Work out sets and tooling cost of every part.

    Parameters
    ----------
    parts : Table
        The port `parts`.
    vehicles : ndarray, shape (n,)
        Vehicles over the whole production.
    """
    each = parts.reals("per_vehicle")
    cost, life = parts.reals("set_cost"), parts.reals("set_life")
    carried = parts.flags("carried_over")
    single = each == 1.0
    sides = np.where(single | parts.flags("fits_both_sides"), 1.0, 2.0)
    pieces = vehicles[:, None] * each
    needed = tool_sets(pieces, sides, life)
    apart = tool_sets(pieces, np.where(single, 1.0, 2.0), life)
    bought = np.where(carried, 0.0, needed)
    return Spend(
        sets=bought,
        cost=bought * cost,
        unshared=np.where(carried, 0.0, apart - needed) * cost,
        uncarried=np.where(carried, needed, 0.0) * cost,
    )


def budget(inputs: Inputs, gates: tuple[str, ...]) -> Outputs:
    """Work out the budget of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `tooling-budget`.
    gates : tuple of str
        Gate names in the order of the port's choices.

    Returns
    -------
    Outputs
        One value per row and port. Rows with a volume or years that are not positive, and all rows
        where a table is wrong, carry a problem that names the part.
    """
    answers = Answers(inputs)
    with np.errstate(all="ignore"):  # rows out of range are named as problems
        vehicles = inputs["volume_per_year"] * inputs["years"]
        spend = spend_of(inputs["parts"], vehicles)
        _sum_up(inputs, vehicles, spend, answers)
        _examine(inputs, vehicles, spend, answers)
        _to_gate(inputs, gates, spend, answers)
    return answers.outputs()


def _sum_up(inputs: Inputs, vehicles: Reals, spend: Spend, answers: Answers) -> None:
    parts: Table = inputs["parts"]
    one_offs = _one_off_costs(inputs).sum()
    total = spend.cost.sum(axis=-1) + one_offs
    pieces = (parts.reals("piece_cost") * parts.reals("per_vehicle")).sum()
    sets = spend.sets.sum(axis=-1)
    per_vehicle = total / vehicles
    answers.give(
        tooling_total=total,
        tooling_per_vehicle=per_vehicle,
        piece_cost_per_vehicle=np.full(1, pieces),
        cost_per_vehicle=per_vehicle + pieces,
        tool_sets=np.where(sets < _COUNTABLE, sets, 0.0).astype(np.int64),
        one_offs_total=np.full(1, one_offs),
        saved_by_both_sides=spend.unshared.sum(axis=-1),
        saved_by_carry_over=spend.uncarried.sum(axis=-1),
    )


def _one_off_costs(inputs: Inputs) -> Reals:
    return inputs["one_offs"].reals("cost") if "one_offs" in inputs else np.zeros(0)


def _examine(inputs: Inputs, vehicles: Reals, spend: Spend, answers: Answers) -> None:
    """Name what is wrong with the numbers."""
    volume, years = inputs["volume_per_year"], inputs["years"]
    answers.refuse(~((volume >= 0.0) & (years >= 0.0)), "volume and years must not be negative")
    answers.refuse(
        vehicles == 0.0, "no vehicle is built, so nothing can be spread over them", *_PER_VEHICLE
    )
    answers.refuse(
        ~(spend.sets.sum(axis=-1) < _COUNTABLE) | ~np.isfinite(vehicles),
        "the volume is out of the range of numbers",
    )
    _examine_parts(inputs["parts"], answers)
    answers.refuse(bool((_one_off_costs(inputs) < 0.0).any()), "a one-off cost is negative")


def _examine_parts(parts: Table, answers: Answers) -> None:
    cost, life = parts.reals("set_cost"), parts.reals("set_life")
    carried = parts.flags("carried_over")
    endless = (cost > 0.0) & ~(life > 0.0)
    negative = (cost < 0.0) | (life < 0.0) | (parts.reals("piece_cost") < 0.0)
    faults = (
        (parts.reals("per_vehicle") < 1.0, "per_vehicle must be 1 or more", ()),
        (negative, "a cost or a set life is negative", ()),
        (parts.reals("lead_weeks") < 0.0, "lead_weeks is negative", ()),
        (endless & ~carried, "it has a set cost but no set life", (*_TOOLING, *_SHARING, *_GATE)),
        (endless & carried, "it has a set cost but no set life", _CARRYING),
    )
    for where, reason, ports in faults:
        names = [name for name, bad in zip(parts.texts("part"), where, strict=True) if bad]
        answers.refuse(bool(names), f"part {', '.join(names)}: {reason}", *ports)


def _to_gate(inputs: Inputs, gates: tuple[str, ...], spend: Spend, answers: Answers) -> None:
    """Sum up to the gate asked for, and find the first order."""
    zeros = np.zeros(answers.rows)
    answers.give(tooling_to_gate=zeros, order_lead=zeros)
    if "gate" not in inputs:
        for port in (*_GATE, *_ORDER):
            answers.leave_out(port, where=True, reason="no gate is asked for")
        return
    order = gate_order(inputs.get("gates"), gates)
    answers.refuse(bool(order.fault), order.fault, *_GATE, *_ORDER)
    asked = order.places[inputs["gate"]]
    answers.refuse(asked < 0, "the gate asked for is not among the gates given", *_GATE, *_ORDER)
    answers.give(tooling_to_gate=_due(inputs, order, asked, spend, answers))
    _first_order(inputs, order, asked, answers)


def _due(
    inputs: Inputs, order: GateOrder, asked: NDArray[np.int64], spend: Spend, answers: Answers
) -> Reals:
    """Add tools and one-offs due at the gate asked for or before it, shape (n,)."""
    one_offs = _one_off_costs(inputs)
    costs = np.concatenate([spend.cost, np.tile(one_offs, (answers.rows, 1))], axis=-1)
    names = inputs["parts"].texts("gate")
    items = inputs["parts"].texts("part")
    if "one_offs" in inputs:
        names += inputs["one_offs"].texts("gate")
        items += inputs["one_offs"].texts("item")
    due = order.places_of(names)
    for at in np.flatnonzero(due < 0).tolist():
        reason = f"{items[at]} is due at {names[at]!r}, which is no gate"
        answers.refuse(costs[:, at] != 0.0, reason, *_GATE)
    summed: Reals = np.where(due <= asked[:, None], costs, 0.0).sum(axis=-1)
    return summed


def _first_order(
    inputs: Inputs, order: GateOrder, asked: NDArray[np.int64], answers: Answers
) -> None:
    """Find how long before the gate asked for the first tool must be ordered."""
    if order.weeks is None:
        answers.leave_out("order_lead", where=True, reason="no gate dates are given")
        return
    parts: Table = inputs["parts"]
    place = order.places_of(parts.texts("gate"))
    bought = ~parts.flags("carried_over") & (parts.reals("set_cost") > 0.0) & (place >= 0)
    before = order.weeks[asked][:, None] - order.weeks[place] + parts.reals("lead_weeks")
    due = bought & (place <= asked[:, None])
    longest = np.max(np.where(due, before, -np.inf), axis=-1, initial=-np.inf)
    none = ~np.isfinite(longest) & (asked >= 0)
    answers.leave_out("order_lead", none, "no tool is due by the gate")
    answers.give(order_lead=np.where(np.isfinite(longest), longest, 0.0))
