"""Weighing a decision's options: what each would come to, and a plain weighted score.

The findings are worked out live, each option applied in a trial of its own. The score is the
engineer's own judgement: weights and ratings as typed, added up and kept nowhere in the programme.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from tracker.errors import BadValueError, InputError, ManyProblemsError
from tracker.evaluate.engine import Cancel
from tracker.evaluate.slots import Slot, value_of
from tracker.evaluate.state import Report
from tracker.model.changes import Entry
from tracker.model.numbers import read_typed
from tracker.model.records import Decision, DecisionState, Option, Quantity
from tracker.services.item import settings_of
from tracker.services.present import decision_line, finding_view, key_of, slot_text
from tracker.services.ripple import ripple_view
from tracker.services.session import Reading
from tracker.services.views import FindingView
from tracker.services.weighing_views import (
    CostRow,
    JudgedRow,
    OptionColumn,
    ScoreView,
    WeighView,
)
from tracker.services.wording import CAUTION, visible

__all__ = ["score", "weigh"]

_Judge = tuple[str, str]
"""Record id, and output of a rule."""


@dataclass(frozen=True, slots=True)
class _Applied:
    """What holds with one option applied."""

    option: Option
    standing: str
    findings: Mapping[_Judge, FindingView]
    money: Mapping[str, Slot]
    breaks: tuple[str, ...]
    restores: tuple[str, ...]


def weigh(reading: Reading, decision: str, cancel: Cancel | None = None) -> WeighView:
    """Set a decision's options side by side.

    Parameters
    ----------
    decision : str
        Its key.
    cancel : callable, optional
        Asked between checks.

    Raises
    ------
    UnknownKeyError
        No decision is called that.
    CancelledError
        `cancel` asked to stop.
    """
    record = reading.programme.named(decision, Decision)
    applied = [_applied(reading, record, each, cancel) for each in record.options]
    rows = tuple(_rows(reading, record, applied))
    return WeighView(
        revision=reading.head.revision,
        decision=record.key,
        question=visible(record.question),
        state=record.state.value,
        options=tuple(
            _column(reading, record, each, [row.cells[at] for row in rows if row.differs])
            for at, each in enumerate(applied)
        ),
        rows=rows,
        costs=tuple(_costs(reading, applied)),
        caution=CAUTION,
    )


def _applied(
    reading: Reading, decision: Decision, option: Option, cancel: Cancel | None
) -> _Applied:
    leaning = replace(decision, state=DecisionState.LEANING, chosen=option.id, footing=None)
    entry = Entry(decision, leaning)
    with reading.engine.trial((entry,), cancel) as report:
        ripple = ripple_view(reading, report, (entry,))
        judges = {*_own(reading, decision), *report.findings}
        return _Applied(
            option,
            decision_line(reading, leaning).standing,
            {each: _finding(reading, each) for each in judges},
            dict(_money(reading, report)),
            breaks=tuple(each for each in ripple.broken if each != decision.key),
            restores=tuple(each for each in ripple.restored if each != decision.key),
        )


def _own(reading: Reading, decision: Decision) -> Iterator[_Judge]:
    """Yield what the decision answers for: requirements it serves, rules of its checks."""
    graph = reading.engine.graph
    for each in (*decision.serves, *graph.carried.get(decision.id, ())):
        for place in graph.judges_of.get(each, ()):
            yield graph.judges[place].id, graph.judges[place].output


def _finding(reading: Reading, judge: _Judge) -> FindingView:
    graph = reading.engine.graph
    places = graph.judges_of[judge[0]]
    return finding_view(reading, next(at for at in places if graph.judges[at].output == judge[1]))


def _money(reading: Reading, report: Report) -> Iterator[tuple[str, Slot]]:
    """Yield the amounts of money that the option moves."""
    state, index = reading.engine.state, reading.engine.graph.index
    for each, part in report.slots:
        quantity = reading.programme.get(each)
        if not part and isinstance(quantity, Quantity) and _is_money(quantity):
            yield each, state.slots[index[each, ""]]


def _is_money(quantity: Quantity) -> bool:
    return any(name.startswith("money:") for name, _ in quantity.unit.dimension)


def _rows(reading: Reading, decision: Decision, applied: Sequence[_Applied]) -> Iterator[JudgedRow]:
    own = dict.fromkeys(_own(reading, decision))
    touched = dict.fromkeys(judge for each in applied for judge in each.findings)
    for judge in dict.fromkeys((*own, *touched)):
        now = _finding(reading, judge)
        cells = tuple(each.findings.get(judge, now) for each in applied)
        yield JudgedRow(
            judge=now.judge,
            own=judge in own,
            cells=cells,
            differs=len({(each.verdict, each.text, each.reason) for each in cells}) > 1,
        )


def _column(
    reading: Reading, decision: Decision, each: _Applied, telling: Iterable[FindingView]
) -> OptionColumn:
    return OptionColumn(
        key=each.option.key,
        title=visible(each.option.title),
        chosen=each.option.id == decision.chosen,
        standing=each.standing,
        sets=tuple(
            f"{one.quantity} = {one.text}" + (f" ({one.basis})" if one.basis else "")
            for one in settings_of(reading, decision, each.option)
        ),
        breaks=each.breaks,
        restores=each.restores,
        kills="; ".join(
            _killing(one) for one in telling if one.verdict == "missed" and not one.deviation
        ),
        against=visible(decision.against.get(each.option.id, "")),
    )


def _killing(finding: FindingView) -> str:
    value = f"{finding.text} {finding.unit}".strip()
    by = f", {finding.distance_text}" if finding.distance_text else ""
    return f"{finding.judge} missed: {value} against {finding.required}{by}"


def _costs(reading: Reading, applied: Sequence[_Applied]) -> Iterator[CostRow]:
    ids = dict.fromkeys(each for one in applied for each in one.money)
    for quantity_id in ids:
        quantity = reading.programme.at(quantity_id, Quantity)
        now = reading.engine.state.slots[reading.engine.graph.index[quantity_id, ""]]
        slots = [each.money.get(quantity_id, now) for each in applied]
        values = tuple(_number(each, quantity) for each in slots)
        known = {each for each in values if each is not None}
        least = min(known) if len(known) > 1 else None
        yield CostRow(
            key=key_of(reading, quantity_id),
            title=visible(quantity.title),
            unit=quantity.unit.text,
            cells=tuple(slot_text(each, quantity) for each in slots),
            values=values,
            cheapest=tuple(least is not None and each == least for each in values),
        )


def _number(slot: Slot, quantity: Quantity) -> float | None:
    value = value_of(slot, quantity.kind, quantity.choices)
    return float(value) if isinstance(value, int | float) else None


def score(
    options: Sequence[str],
    weights: Mapping[str, str],
    ratings: Mapping[tuple[str, str], str],
) -> ScoreView:
    """Add up ratings by weight: total = Σ weight · rating ÷ Σ weight.

    Parameters
    ----------
    options : sequence of str
        What is rated.
    weights : mapping of str to str
        Criterion → weight as typed; an empty text leaves the criterion out.
    ratings : mapping of (str, str) to str
        (option, criterion) → rating as typed.

    Raises
    ------
    InputError, ManyProblemsError
        Something typed is no number, a weight is negative, or none is more than zero.

    Notes
    -----
    The selection matrix of K. T. Ulrich and S. D. Eppinger, *Product Design and Development*,
    chapter on concept selection.
    """
    problems: list[InputError] = []
    held = dict(_numbers(weights, problems, "weight"))
    rated = {
        (option, criterion): number
        for option in options
        for criterion, number in _numbers(
            {each: ratings.get((option, each), "") for each in held}, problems, f"rating {option}"
        )
    }
    _refuse(problems)
    whole = math.fsum(held.values())
    if not whole > 0:
        raise BadValueError("no criterion has a weight", field="weight", remedy="Give one a weight")
    totals = {each: _total(each, held, rated, whole) for each in options}
    return ScoreView(
        totals=totals,
        ranks=_ranks(totals),
        shares={each: weight / whole for each, weight in held.items()},
    )


def _total(
    option: str, weights: Mapping[str, float], rated: Mapping[tuple[str, str], float], whole: float
) -> float | None:
    counted = {each: weight for each, weight in weights.items() if weight}
    if any((option, each) not in rated for each in counted):
        return None
    return math.fsum(weight * rated[option, each] for each, weight in counted.items()) / whole


def _numbers(
    texts: Mapping[str, str], problems: list[InputError], field: str
) -> Iterator[tuple[str, float]]:
    for name, text in texts.items():
        if not text.strip():
            continue
        try:
            yield name, _number_of(text, name, field)
        except InputError as problem:
            problems.append(problem)


def _number_of(text: str, item: str, field: str) -> float:
    typed = read_typed(text, item=item, field=field)
    if isinstance(typed.value, tuple) or typed.unit_text:
        raise BadValueError("a plain number is wanted", item=item, field=field)
    if field == "weight" and typed.value < 0:
        raise BadValueError("a weight is zero or more", item=item, field=field)
    return typed.value


def _refuse(problems: Sequence[InputError]) -> None:
    if len(problems) == 1:
        raise problems[0]
    if problems:
        raise ManyProblemsError(list(problems))


def _ranks(totals: Mapping[str, float | None]) -> dict[str, int]:
    known = {each: total for each, total in totals.items() if total is not None}
    return {
        each: 1 + sum(other > total for other in known.values()) for each, total in known.items()
    }
