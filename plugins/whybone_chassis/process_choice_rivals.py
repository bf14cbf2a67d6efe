"""The choice between rival processes, batched over volume, years and pieces per vehicle."""

from __future__ import annotations

import numpy as np

from tracker.contract.check import Inputs, Outputs, Table
from whybone_chassis.answers import Answers, Flags, Reals
from whybone_chassis.process_choice_costs import (
    MOST_PROCESSES,
    Envelope,
    Rivals,
    cheapest,
    envelope,
    rivals_of,
)

__all__ = ["choose", "pieces_of"]

_BREAK_EVENS = ("break_even_below", "break_even_above", "volume_room")
_AMOUNTS = (
    "set_cost",
    "set_life",
    "piece_cost",
    "one_off",
    "material_mass",
    "material_price",
    "rate",
    "hourly_cost",
)


def pieces_of(inputs: Inputs) -> Reals:
    """Return the pieces over the whole production, shape (n,)."""
    pieces: Reals = inputs["volume_per_year"] * inputs["years"] * inputs["per_vehicle"]
    return pieces


def choose(inputs: Inputs, names: tuple[str, ...]) -> Outputs:
    """Choose the cheapest process of a batch.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `process-choice`.
    names : tuple of str
        Configured names of the processes; empty without.

    Returns
    -------
    Outputs
        One value per row and port; all rows carry a problem where the table is wrong.
    """
    answers = Answers(inputs)
    answers.require_positive(inputs, ("volume_per_year", "years", "per_vehicle"))
    table: Table = inputs["processes"]
    if not _sound(table, names, answers):
        return _nothing(answers, names)
    with np.errstate(all="ignore"):  # rows out of range are named as problems
        pieces = pieces_of(inputs)
        single = inputs["per_vehicle"] == 1
        best = np.zeros(answers.rows, dtype=np.int64)
        numbers = {port: np.zeros(answers.rows) for port in ("unit_cost", "advantage")}
        edges = np.zeros((2, answers.rows))
        for alone in (True, False):
            rows = np.flatnonzero(single == alone)
            if not rows.size:
                continue
            rivals = rivals_of(table, single=alone)
            found = envelope(rivals)
            best[rows] = _compare(rivals, pieces, rows, numbers)
            edges[:, rows] = _nearest(found, pieces[rows], best[rows])
            _beyond(found, pieces, single == alone, answers)
        answers.give(cheapest=best + 1, **numbers)
        if names:
            codes = np.array([names.index(name) for name in table.texts("process")])
            answers.give(cheapest_process=codes[best])
        answers.leave_out("advantage", table.rows == 1, "there is no other process")
        _break_even(inputs, pieces, edges, answers)
    return answers.outputs()


def _nothing(answers: Answers, names: tuple[str, ...]) -> Outputs:
    """Answer where the table itself is refused."""
    answers.give(cheapest=np.int64(0))  # never read: all rows are refused
    if names:
        answers.give(cheapest_process=np.int64(0))
    return answers.outputs()


def _sound(table: Table, names: tuple[str, ...], answers: Answers) -> bool:
    """Name what is wrong with the table; tell whether nothing is."""
    scrap, hourly = table.reals("scrap"), table.reals("hourly_cost")
    called = table.texts("process")
    negative = np.zeros(table.rows, dtype=np.bool_)
    for column in _AMOUNTS:
        negative |= ~(np.isfinite(table.reals(column)) & (table.reals(column) >= 0.0))
    faults = (
        (negative, "a cost, a life, a mass or a rate is negative or no number"),
        (~((scrap >= 0.0) & (scrap < 1.0)), "scrap must be 0 or more and below 1"),
        ((hourly > 0.0) & ~(table.reals("rate") > 0.0), "it has an hourly cost but no rate"),
        (
            (table.reals("set_cost") > 0.0) & ~(table.reals("set_life") >= 1.0),
            "it has a set cost but its set life is below one piece",
        ),
        (
            np.array([bool(names) and each not in names for each in called], dtype=np.bool_),
            "it is not among the configured processes",
        ),
    )
    reasons = [
        f"process {', '.join(name for name, bad in zip(called, where, strict=True) if bad)}: {what}"
        for where, what in faults
        if where.any()
    ]
    if not 1 <= table.rows <= MOST_PROCESSES:
        reasons.append(f"processes must hold 1 to {MOST_PROCESSES} rows")
    for reason in reasons:
        answers.refuse(where=True, reason=reason)
    return not reasons


def _compare(
    rivals: Rivals, pieces: Reals, rows: np.ndarray, numbers: dict[str, Reals]
) -> np.ndarray:
    """Fill unit cost and advantage of some rows; return their cheapest processes."""
    unit = rivals.total(pieces[rows]) / pieces[rows, None]
    ranked = np.sort(unit, axis=-1)
    numbers["unit_cost"][rows] = ranked[:, 0]
    numbers["advantage"][rows] = ranked[:, min(1, ranked.shape[1] - 1)] - ranked[:, 0]
    return cheapest(unit)


def _nearest(found: Envelope, pieces: Reals, best: np.ndarray) -> Reals:
    """Return the edges around some volumes, shape (2, n): 0 and infinity where there is none.

    At an edge two processes cost the same; the one that was chosen tells to which of the two
    stretches the volume belongs.
    """
    padded = np.concatenate([[0.0], found.edges, [np.inf]])
    stretch = np.searchsorted(found.edges, pieces, side="left")
    nearer = padded[stretch + 1] - pieces < pieces - padded[stretch]
    other = np.clip(np.where(nearer, stretch + 1, stretch - 1), 0, len(found.edges))
    stretch = np.where(found.winners[stretch] == best, stretch, other)
    return np.stack([padded[stretch], padded[stretch + 1]])


def _beyond(found: Envelope, pieces: Reals, where: Flags, answers: Answers) -> None:
    reached = f"up to {found.horizon:.6g} pieces"
    answers.refuse(
        where & ~(pieces <= found.horizon),
        f"break-even volumes are only looked for {reached}",
        *_BREAK_EVENS,
    )


def _break_even(inputs: Inputs, pieces: Reals, edges: Reals, answers: Answers) -> None:
    """Turn the edges into volumes a year."""
    per_piece = inputs["volume_per_year"] / pieces
    below, above = edges * per_piece
    room = np.minimum(
        np.where(edges[0] > 0.0, 1.0 - edges[0] / pieces, np.inf), edges[1] / pieces - 1
    )
    answers.give(break_even_below=below, break_even_above=above, volume_room=room)
    none_below, none_above = edges[0] == 0.0, np.isinf(edges[1])
    answers.leave_out("break_even_below", none_below, "no other process wins at a lower volume")
    answers.leave_out("break_even_above", none_above, "no other process wins at a higher volume")
    answers.leave_out("volume_room", none_below & none_above, "no other process wins at any volume")
