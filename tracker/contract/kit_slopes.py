"""Promises of the author's kit about how outputs follow inputs: trends and derivatives.

Both hold trivially for a check that declares nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Array, DeclaresTrends, GivesDerivatives, Kind, Port
from tracker.contract.kit_batches import Answer, BrokenPromise, Subject, ask
from tracker.model.values import AXES

__all__ = ["promise_derivatives_right", "promise_trends_kept"]

_ROWS = 256
_SLACK = 1e-9  # arithmetic may go against a trend by this share of the largest result
_STEP = 1e-4  # of the size of an input, for differences
_CLOSE = 1e-5
_MOVING = (Kind.REAL, Kind.INTEGER, Kind.POINT)

_Batch = dict[str, Any]
_Cell = tuple[str, str, int | None]
"""Name, port and component (None: the port has none)."""


def _cells(ports: tuple[Port, ...], kinds: tuple[Kind, ...]) -> Iterator[_Cell]:
    for port in ports:
        if port.kind is Kind.POINT and port.kind in kinds:
            yield from ((f"{port.key}.{axis}", port.key, at) for at, axis in enumerate(AXES))
        elif port.kind in kinds:
            yield port.key, port.key, None


def _get(values: Mapping[str, Array], cell: _Cell) -> Array:
    held: Array = values[cell[1]]
    return held if cell[2] is None else held[:, cell[2]]


def _with(batch: _Batch, cell: _Cell, values: Array) -> _Batch:
    held = batch[cell[1]].copy()
    held[(slice(None),) if cell[2] is None else (slice(None), cell[2])] = values
    held.flags.writeable = False
    return {**batch, cell[1]: held}


def _answered(answer: Answer, cell: _Cell) -> NDArray[np.bool_]:
    return np.array([not reason for reason in answer.reasons[cell[1]]])


def promise_trends_kept(subject: Subject) -> None:
    """Require that outputs follow inputs as declared, and that answers are of one piece."""
    if not isinstance(subject.check, DeclaresTrends):
        return
    manifest = subject.manifest()
    batch = subject.batch(subject.draw(_ROWS))
    inputs = [each for each in _cells(manifest.inputs, _MOVING) if each[1] in batch]
    outputs = list(_cells(manifest.outputs, (*_MOVING, Kind.FLAG)))
    before, promised = ask(subject, batch), []
    for cell in inputs:
        other = _with(batch, cell, np.roll(_get(batch, cell), 1))
        after = ask(subject, other)
        declared = [_declared(subject, subject.check, out[0], cell[0]) for out in outputs]
        promised += [cell] if any(trend is not None for trend in declared) else []
        rise = _get(other, cell).astype(np.float64) - _get(batch, cell)
        for out, trend in zip(outputs, declared, strict=True):
            _follows(cell, out, trend, rise, (before, after))
        if promised[-1:] == [cell]:
            _exist_alike(subject, cell, batch, other)
    _of_one_piece(subject, batch, promised, outputs)


def _declared(subject: Subject, check: DeclaresTrends, output: str, name: str) -> int | None:
    trend = check.monotone(output, name, subject.config)
    if trend not in {None, -1, 0, 1}:
        raise BrokenPromise(f"the trend of {output!r} by {name!r} is {trend!r}, not 1, -1, 0, None")
    return trend


def _follows(
    cell: _Cell,
    out: _Cell,
    trend: int | None,
    rise: NDArray[np.float64],
    answers: tuple[Answer, Answer],
) -> None:
    if trend is None:
        return
    both = _answered(answers[0], out) & _answered(answers[1], out)
    was, now = (_get(each.values, out)[both].astype(np.float64) for each in answers)
    size = max(np.abs(was).max(initial=0.0), np.abs(now).max(initial=0.0))
    against = (now - was) * np.sign(rise[both]) * (trend or 1)
    wrong = np.abs(against) if trend == 0 else -against
    if (wrong > _SLACK * size).any():
        said = {1: "rise", -1: "fall", 0: "stay"}[trend]
        raise BrokenPromise(f"output {out[0]!r} should {said} with {cell[0]!r} and does not")


def _exist_alike(subject: Subject, cell: _Cell, one: _Batch, other: _Batch) -> None:
    """Require that no optional output exists in one row and is absent in the other."""
    found = [_presence(subject, each) for each in (one, other)]
    for port, (exists, absent) in found[0].items():
        exists_there, absent_there = found[1][port]
        if ((exists & absent_there) | (absent & exists_there)).any():
            raise BrokenPromise(
                f"output {port!r} begins to exist with {cell[0]!r}, for which trends are declared"
            )


def _presence(
    subject: Subject, batch: _Batch
) -> dict[str, tuple[NDArray[np.bool_], NDArray[np.bool_]]]:
    """Return per optional output the rows in which it exists, and those in which it is absent."""
    answer = ask(subject, batch)
    told = subject.check.compute(batch, subject.config).absences
    nowhere = np.zeros(len(next(iter(answer.reasons.values()))), dtype=np.bool_)
    found = {}
    for port in subject.manifest().outputs:
        if port.optional:
            absent = sum((each.rows for each in told if each.port == port.key), nowhere)
            found[port.key] = (_answered(answer, (port.key, port.key, None)), absent)
    return found


def _of_one_piece(
    subject: Subject, batch: _Batch, promised: list[_Cell], outputs: list[_Cell]
) -> None:
    """Require an answer between any two rows with one, over the inputs with a promise."""
    dice = np.random.default_rng(subject.seed)
    other = between = batch
    for cell in promised:
        held, far = _get(batch, cell), np.roll(_get(batch, cell), 1)
        other = _with(other, cell, far)
        share = dice.random(len(held))
        middle = held + (far - held) * share
        between = _with(between, cell, np.rint(middle) if held.dtype == np.int64 else middle)
    answers = [ask(subject, each) for each in (batch, other, between)]
    for out in outputs:
        first, second, inside = (_answered(each, out) for each in answers)
        if (first & second & ~inside).any():
            raise BrokenPromise(
                f"output {out[0]!r} has no answer between two rows that have one, though "
                "trends are declared for " + ", ".join(repr(cell[0]) for cell in promised)
            )


def promise_derivatives_right(subject: Subject) -> None:
    """Require that derivatives agree with differences of the results."""
    if not isinstance(subject.check, GivesDerivatives):
        return
    manifest = subject.manifest()
    batch = subject.batch(subject.draw(_ROWS // 8))
    given = subject.check.derivatives(batch, subject.config)
    inputs = {each[0]: each for each in _cells(manifest.inputs, (Kind.REAL, Kind.POINT))}
    outputs = {each[0]: each for each in _cells(manifest.outputs, (Kind.REAL, Kind.POINT))}
    for (output, name), slope in given.items():
        if output not in outputs or name not in inputs:
            raise BrokenPromise(f"a derivative of {output!r} by {name!r}: no such real port")
        if np.shape(slope) != (_ROWS // 8,):
            raise BrokenPromise(
                f"the derivative of {output!r} by {name!r} has not one number for each row"
            )
        _agrees(subject, batch, inputs[name], outputs[output], slope)


def _agrees(subject: Subject, batch: _Batch, cell: _Cell, out: _Cell, slope: Array) -> None:
    held = _get(batch, cell)
    size = np.maximum(np.abs(held), np.abs(held).max(initial=0.0) * 1e-3)
    step = _STEP * np.where(size > 0, size, 1.0)
    wide, near = (_difference(subject, batch, cell, out, step * each) for each in (1.0, 0.5))
    best, doubt = (4 * near - wide) / 3, np.abs(near - wide)
    noise = 1e-12 * np.abs(_get(ask(subject, batch).values, out)) / step
    off = np.abs(slope - best) - _CLOSE * np.abs(best) - 4 * doubt - noise
    if (off > 0).any():  # rows without a derivative or a difference are NaN and say nothing
        raise BrokenPromise(
            f"the derivative of {out[0]!r} by {cell[0]!r} is not that of the results"
        )


def _difference(
    subject: Subject, batch: _Batch, cell: _Cell, out: _Cell, step: NDArray[np.float64]
) -> NDArray[np.float64]:
    held, ends = _get(batch, cell), []
    for at in (held + step, held - step):
        answer = ask(subject, _with(batch, cell, at))
        ends.append(np.where(_answered(answer, out), _get(answer.values, out), np.nan))
    return np.asarray((ends[0] - ends[1]) / (2 * step))
