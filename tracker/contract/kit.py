"""The author's test kit: what the contract asks of a check, as tests.

Use it in your own test suite::

    subject = Subject(check=CHECK, rows=draw_a_case, degenerate=[...], scalings=[...])

    @pytest.mark.parametrize("promise", PROMISES)
    def test_my_check(promise):
        PROMISES[promise](subject)

or call `keep_promises(subject)` for all of them at once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from tracker.contract.check import Array, CellKind, DrawsFigures, Kind, PortColumn, Table
from tracker.contract.figure import Figure
from tracker.contract.kit_batches import Answer, BrokenPromise, Row, Subject, ask, table
from tracker.contract.kit_slopes import promise_derivatives_right, promise_trends_kept
from tracker.contract.soundness import manifest_faults

__all__ = ["PROMISES", "SIZES", "BrokenPromise", "Row", "Subject", "keep_promises", "table"]

SIZES = (1, 2, 3, 7, 1000)
"""Batch sizes that must give the same bits as row by row."""

_TRIED = 24  # rows in the promises that need a handful
_AGREES = 1e-9  # rescaled results: relative to the largest of the batch
_SYMBOL = re.compile(
    r"(?P<name>[A-Za-zµμΩ]+|[%°])(?:\^|\*\*)?(?P<power>[-⁻]?[0-9²³⁴])?|(?P<sign>[/()])"
)
_RAISED = str.maketrans("⁻²³⁴", "-234")


def promise_sound_manifest(subject: Subject) -> None:
    """Require a sound manifest, the same each time it is asked for."""
    manifest = subject.manifest()
    faults = manifest_faults(manifest, getattr(manifest, "key", ""))
    if faults:
        raise BrokenPromise("the manifest is wrong: " + "; ".join(faults))
    if subject.manifest() != manifest:
        raise BrokenPromise("two manifests for one configuration differ")


def promise_good_answers(subject: Subject) -> None:
    """Require that good rows are answered: declared shapes and types, finite."""
    rows = subject.draw(_TRIED)
    answer = ask(subject, subject.batch(rows))
    for port in subject.manifest().outputs:
        refused = [reason for reason in answer.reasons[port.key] if reason]
        if refused and not port.optional:
            raise BrokenPromise(f"output {port.key!r} of a good row has no value: {refused[0]}")


def promise_row_by_row(subject: Subject) -> None:
    """Require that a row gives the same bits alone and in a batch of any size."""
    rows = subject.draw(max(SIZES))
    alone = [ask(subject, subject.batch([row])).row(0) for row in rows]
    for size in SIZES:
        answer = ask(subject, subject.batch(rows[:size]))
        for number in range(min(size, len(rows))):
            _same(answer.row(number), alone[number], f"row {number} in a batch of {size}")


def promise_order_free(subject: Subject) -> None:
    """Require that permuting the rows permutes the results."""
    rows = subject.draw(_TRIED)
    order = np.random.default_rng(subject.seed).permutation(len(rows)).tolist()
    straight = ask(subject, subject.batch(rows))
    shuffled = ask(subject, subject.batch([rows[number] for number in order]))
    for place, number in enumerate(order):
        _same(shuffled.row(place), straight.row(number), f"row {number} after a permutation")


def promise_pure(subject: Subject) -> None:
    """Require that computing changes no input and gives the same bits each time."""
    rows = subject.draw(_TRIED)
    sealed, loose = subject.batch(rows), _unsealed(subject.batch(rows))
    first = ask(subject, sealed)
    again = ask(subject, loose)
    for number in range(len(rows)):
        _same(again.row(number), first.row(number), f"row {number} computed a second time")
    for key, (before, after) in _pairs(sealed, loose).items():
        if not np.array_equal(before, after):
            raise BrokenPromise(f"computing changed the input {key!r}")


def promise_nan_contained(subject: Subject) -> None:
    """Require that a NaN gives a reason in its row and leaves the other rows alone."""
    rows = subject.draw(_TRIED)
    clean = ask(subject, subject.batch(rows))
    for port in subject.manifest().inputs:
        if port.kind not in {Kind.REAL, Kind.POINT} or port.key not in rows[0]:
            continue
        for axis in range(3 if port.kind is Kind.POINT else 1):
            batch = subject.batch(rows)
            poisoned = batch[port.key].copy()
            poisoned.reshape(len(rows), -1)[1::2, axis] = math.nan
            answer = ask(subject, batch | {port.key: poisoned})
            _contained(clean, answer, len(rows), f"a NaN in {port.key!r}")


def _contained(clean: Answer, answer: Answer, count: int, what: str) -> None:
    for number in range(count):
        found, wanted = answer.row(number), clean.row(number)
        if number % 2 == 0:
            _same(found, wanted, f"{what} reached another row, {number}")
            continue
        for port, cell in found.items():
            if cell != wanted[port] and not answer.reasons[port][number]:
                raise BrokenPromise(f"{what} changed {port!r} without a problem that says why")


def promise_degenerate_told(subject: Subject) -> None:
    """Require that a degenerate row gives a reason and leaves the other rows alone."""
    for number, bad in enumerate(subject.degenerate):
        what = f"degenerate row {number}"
        tables = {key: cells for key, cells in bad.items() if key in subject.tables}
        if tables:
            _table_told(replace(subject, tables={**subject.tables, **tables}), what)
        else:
            _row_told(subject, bad, what)


def _table_told(subject: Subject, what: str) -> None:
    rows = subject.draw(_TRIED)
    answer = ask(subject, subject.batch(rows))
    for number in range(len(rows)):
        if not any(reasons[number] for reasons in answer.reasons.values()):
            raise BrokenPromise(f"{what} (its table) gave no reason")


def _row_told(subject: Subject, bad: Row, what: str) -> None:
    rows = [row for good in subject.draw(_TRIED // 2) for row in (good, {**good, **bad})]
    clean = ask(subject, subject.batch(rows[::2]))
    answer = ask(subject, subject.batch(rows))
    for place in range(len(rows) // 2):
        _same(answer.row(2 * place), clean.row(place), f"{what} reached another row, {place}")
        if not any(reasons[2 * place + 1] for reasons in answer.reasons.values()):
            raise BrokenPromise(f"{what} ({dict(bad)}) gave no reason")


def promise_units_hold(subject: Subject) -> None:
    """Require that results follow a change of scale as their declared units say."""
    rows = subject.draw(_TRIED)
    before = ask(subject, subject.batch(rows))
    for scaling in subject.scalings:
        after = ask(subject, _scaled(subject, subject.batch(rows), scaling))
        for port in subject.manifest().outputs:
            factor = 1.0
            if port.kind in {Kind.REAL, Kind.POINT}:
                factor = _factor(port.unit, scaling)
            _follows(port.key, port.unit, factor, before, after)


def _follows(key: str, unit: str, factor: float, before: Answer, after: Answer) -> None:
    kept = [number for number, reason in enumerate(before.reasons[key]) if not reason]
    if before.reasons[key] != after.reasons[key]:
        raise BrokenPromise(f"rescaling changed whether output {key!r} has a value")
    if not kept:
        return
    wanted, found = before.values[key][kept] * factor, after.values[key][kept]
    allowed = _AGREES * float(np.abs(wanted).max())
    if not (np.abs(found - wanted) <= allowed).all():
        worst = int(np.argmax(np.abs(found - wanted))) // (wanted.size // len(kept))
        raise BrokenPromise(
            f"output {key!r} does not scale as its unit {unit!r} says: "
            f"expected {wanted[worst]} after rescaling, got {found[worst]}"
        )


def _factor(unit: str, scaling: Mapping[str, float]) -> float:
    """Return what a value in a unit is multiplied by, e.g. mm² with mm doubled: 4."""
    factor, group, sign = 1.0, 1, 1  # group: sign of the bracket a symbol stands in
    for match in _SYMBOL.finditer(unit):
        name = match["name"]
        if match["sign"] == "/":
            sign = -1
        elif match["sign"] == "(":
            group, sign = sign, 1
        elif match["sign"] == ")":
            group = 1
        elif name not in scaling:
            raise BrokenPromise(f"the scaling gives no factor for {name!r} (in {unit!r})")
        else:
            power = int((match["power"] or "1").translate(_RAISED))
            factor *= scaling[name] ** (group * sign * power)
            sign = 1
    return factor


def _scaled(
    subject: Subject, batch: dict[str, Any], scaling: Mapping[str, float]
) -> dict[str, Any]:
    scaled = dict(batch)
    for port in subject.manifest().inputs:
        if port.key not in batch:
            continue
        if port.kind in {Kind.REAL, Kind.POINT}:
            scaled[port.key] = batch[port.key] * _factor(port.unit, scaling)
        elif port.kind is Kind.TABLE:
            scaled[port.key] = _scaled_table(batch[port.key], port.columns, scaling)
    return scaled


def _scaled_table(
    cells: Table, columns: Sequence[PortColumn], scaling: Mapping[str, float]
) -> Table:
    factors = {
        column.name: _factor(column.unit, scaling)
        for column in columns
        if column.kind is CellKind.REAL
    }
    made = {name: cells.reals(name) * factor for name, factor in factors.items()}
    return replace(cells, columns={**cells.columns, **made})


def promise_figures_drawable(subject: Subject) -> None:
    """Require figures with a key each and numbers that can be drawn."""
    if not isinstance(subject.check, DrawsFigures):
        return
    figures = subject.check.figures(subject.batch(subject.draw(1)), subject.config)
    if len({figure.key for figure in figures}) != len(figures):
        raise BrokenPromise("two figures have the same key")
    for figure in figures:
        _drawable(figure)


def _drawable(figure: Figure) -> None:
    for series in figure.series:
        if series.x and len(series.x) != len(series.y):
            raise BrokenPromise(f"figure {figure.key!r}: {series.title!r} has unequal x and y")
        if not all(math.isfinite(each) for each in (*series.x, *series.y)):
            raise BrokenPromise(
                f"figure {figure.key!r}: {series.title!r} has a number that is none"
            )


def _same(found: Mapping[str, Any], wanted: Mapping[str, Any], what: str) -> None:
    for port, cell in wanted.items():
        if found[port] != cell:
            raise BrokenPromise(f"{what}: output {port!r} differs")


def _unsealed(batch: dict[str, Any]) -> dict[str, Any]:
    """Copy a batch with arrays that can be written to."""
    return {key: _loose(each) for key, each in batch.items()}


def _loose(each: Array | Table) -> Array | Table:
    if isinstance(each, Table):
        columns = {
            name: cells.copy() if isinstance(cells, np.ndarray) else cells
            for name, cells in each.columns.items()
        }
        return Table(columns, each.rows)
    return each.copy()


def _pairs(sealed: dict[str, Any], loose: dict[str, Any]) -> dict[str, tuple[Array, Array]]:
    """Pair every array of one batch with that of another, table columns included."""
    pairs: dict[str, tuple[Array, Array]] = {}
    for key, each in sealed.items():
        if isinstance(each, Table):
            for name, cells in each.columns.items():
                pairs[f"{key}.{name}"] = (np.asarray(cells), np.asarray(loose[key].columns[name]))
        else:
            pairs[key] = (each, loose[key])
    return pairs


PROMISES: Mapping[str, Callable[[Subject], None]] = {
    "sound-manifest": promise_sound_manifest,
    "good-answers": promise_good_answers,
    "row-by-row": promise_row_by_row,
    "order-free": promise_order_free,
    "pure": promise_pure,
    "nan-contained": promise_nan_contained,
    "degenerate-told": promise_degenerate_told,
    "units-hold": promise_units_hold,
    "trends-kept": promise_trends_kept,
    "derivatives-right": promise_derivatives_right,
    "figures-drawable": promise_figures_drawable,
}
"""Every promise by name, for parametrised tests."""


def keep_promises(subject: Subject) -> None:
    """Hold a check against every promise.

    Raises
    ------
    BrokenPromise
        The first promise it breaks, with the output or input concerned.
    """
    for name, promise in PROMISES.items():
        try:
            promise(subject)
        except BrokenPromise as broken:
            raise BrokenPromise(f"{name}: {broken}") from broken
