"""What a record looks like in the normalised tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, TypeAlias

from sqlalchemy import Table

from tracker.model.records import (
    Action,
    Baseline,
    Bound,
    CheckUse,
    Decision,
    Deviation,
    Evidence,
    Footing,
    Gate,
    Option,
    ProgrammeInfo,
    Quantity,
    Record,
    Requirement,
    Risk,
    Setting,
)
from tracker.model.values import Value
from tracker.store import tables
from tracker.store.canonical import canonical_text

__all__ = ["Row", "rows_of"]

Row: TypeAlias = tuple[object, ...]
_Rows: TypeAlias = Iterator[tuple[Table, Row]]


def rows_of(record: Record) -> Iterable[tuple[Table, Row]]:
    """Return the rows of a record, each with its table; columns in the table's order."""
    return _ROWS_OF[type(record)](record)


def _programme(info: ProgrammeInfo) -> _Rows:
    yield tables.programme, (info.id, info.key, info.title, info.currency)


def _gate(gate: Gate) -> _Rows:
    yield tables.gate, (gate.id, gate.key, gate.title, gate.date)
    yield from _mapped(tables.gate_criterion, gate.id, gate.criteria)


def _quantity(quantity: Quantity) -> _Rows:
    tolerance = quantity.tolerance
    yield (
        tables.quantity,
        (
            quantity.id,
            quantity.key,
            quantity.title,
            str(quantity.kind),
            quantity.unit.text,
            quantity.low,
            quantity.high,
            tolerance.half_width if tolerance else None,
            str(tolerance.shape) if tolerance else None,
            *_setting(quantity.given),
        ),
    )
    yield from _listed(tables.quantity_choice, quantity.id, quantity.choices)
    for position, column in enumerate(quantity.columns, 1):
        row = (quantity.id, position, column.name, str(column.kind), column.unit.text)
        yield tables.quantity_column, row
    for part, span in quantity.part_ranges.items():
        yield tables.quantity_range, (quantity.id, part, span.low, span.high)
    for other, coefficient in quantity.correlated.items():
        yield tables.quantity_correlation, (quantity.id, other, coefficient)


def _requirement(requirement: Requirement) -> _Rows:
    yield (
        tables.requirement,
        (
            requirement.id,
            requirement.key,
            requirement.statement,
            requirement.quantity,
            requirement.part,
            *_bound(requirement.lower),
            *_bound(requirement.upper),
            *_bound(requirement.target),
            *_bound(requirement.scale),
            requirement.guard,
            requirement.source,
            requirement.owner,
            str(requirement.verification),
            requirement.gate,
            requirement.rationale,
            str(requirement.priority or ""),
            requirement.risk,
        ),
    )
    yield from _listed(tables.requirement_allowed, requirement.id, requirement.allowed)
    yield from _listed(tables.requirement_parent, requirement.id, requirement.parents)


def _decision(decision: Decision) -> _Rows:
    yield (
        tables.decision,
        (
            decision.id,
            decision.key,
            decision.question,
            str(decision.state),
            decision.chosen,
            decision.rationale,
            decision.owner,
            decision.gate,
            decision.superseded_by,
        ),
    )
    for position, option in enumerate(decision.options, 1):
        yield from _option(decision.id, position, option)
    yield from _listed(tables.decision_owns, decision.id, decision.owns)
    yield from _listed(tables.decision_serves, decision.id, decision.serves)
    yield from _listed(tables.decision_rests_on, decision.id, decision.rests_on)
    yield from _mapped(tables.decision_against, decision.id, decision.against)
    yield from _listed(tables.decision_participant, decision.id, decision.participants)
    yield from _mapped(tables.decision_dissent, decision.id, decision.dissent)
    yield from _listed(tables.decision_assumption, decision.id, decision.assumptions)
    for position, review in enumerate(decision.reviews, 1):
        told = (review.by, str(review.outcome), review.reason, review.on)
        yield tables.decision_review, (decision.id, position, *told)
    if decision.footing is not None:
        yield from _footing(decision.id, decision.footing)


def _option(decision_id: str, position: int, option: Option) -> _Rows:
    row = (decision_id, position, option.id, option.key, option.title, option.notes)
    yield tables.decision_option, row
    for quantity_id, setting in option.settings.items():
        place = (decision_id, position, quantity_id, option.id)
        yield tables.option_setting, (*place, *_setting(setting))


def _footing(decision_id: str, footing: Footing) -> _Rows:
    aspects: Mapping[str, Mapping[str, object]] = {
        "band": footing.bands,
        "value": footing.values,
        "choice": footing.choices,
        "check": footing.checks,
    }
    for aspect, stood in aspects.items():
        for subject, content in stood.items():
            row = (decision_id, aspect, subject, canonical_text(content))
            yield tables.decision_footing, row


def _check(check: CheckUse) -> _Rows:
    row = (check.id, check.key, check.title, check.plugin, check.decision)
    yield tables.bound_check, row
    yield from _mapped(tables.check_config, check.id, check.config)
    for port, source in check.inputs.items():
        yield tables.check_input, (check.id, port, source.id, source.part)
    for port, literal in check.literals.items():
        yield tables.check_literal, (check.id, port, *_value(literal.value), literal.typed)
    yield from _mapped(tables.check_output, check.id, check.outputs)


def _deviation(deviation: Deviation) -> _Rows:
    yield (
        tables.deviation,
        (
            deviation.id,
            deviation.key,
            deviation.requirement,
            deviation.reason,
            deviation.approver,
            deviation.extent,
            *_bound(deviation.lower),
            *_bound(deviation.upper),
            deviation.expires,
            deviation.consequences,
            deviation.decision,
        ),
    )


def _action(action: Action) -> _Rows:
    due = (action.owner, action.gate, action.closed, action.closed_on)
    yield tables.action, (action.id, action.key, action.title, *due)
    yield from _listed(tables.action_about, action.id, action.about)


def _evidence(evidence: Evidence) -> _Rows:
    where = (evidence.place, evidence.sha256, evidence.dated, evidence.note)
    yield tables.evidence, (evidence.id, evidence.key, evidence.title, *where)
    yield from _listed(tables.evidence_about, evidence.id, evidence.about)


def _risk(risk: Risk) -> _Rows:
    size = (str(risk.likelihood), str(risk.consequence))
    due = (risk.owner, risk.gate, risk.response, risk.closed)
    yield tables.risk, (risk.id, risk.key, risk.title, *size, *due)
    yield from _listed(tables.risk_about, risk.id, risk.about)


def _baseline(baseline: Baseline) -> _Rows:
    frozen = (baseline.revision, baseline.head, baseline.content)
    ready = "yes" if baseline.ready else "no"
    yield tables.baseline, (baseline.id, baseline.key, baseline.gate, *frozen, ready)
    yield from _mapped(tables.baseline_criterion, baseline.id, baseline.criteria)
    yield from _mapped(tables.baseline_version, baseline.id, baseline.versions)


def _listed(table: Table, owner: str, texts: Iterable[str]) -> _Rows:
    for position, text in enumerate(texts, 1):
        yield table, (owner, position, text)


def _mapped(table: Table, owner: str, texts: Mapping[str, str]) -> _Rows:
    for name, text in texts.items():
        yield table, (owner, name, text)


def _bound(bound: Bound | None) -> Row:
    return (None, None) if bound is None else (bound.value, bound.typed)


def _setting(setting: Setting | None) -> Row:
    if setting is None:
        return (None,) * 10
    basis = setting.basis
    stated = (setting.typed, str(basis.kind), basis.source, basis.dated, setting.reason)
    return (*_value(setting.value), *stated)


def _value(value: Value | None) -> Row:
    """Spread a value over the columns number, x, y, z and text."""
    match value:
        case None:
            return (None, None, None, None, None)
        case bool():
            return (None, None, None, None, "yes" if value else "no")
        case int() | float():
            return (float(value), None, None, None, None)
        case str():
            return (None, None, None, None, value)
        case _ if any(isinstance(each, tuple) for each in value) or not value:
            return (None, None, None, None, canonical_text(value))
        case _:
            return (None, *value, None)


_ROWS_OF: Mapping[type[Record], Callable[[Any], _Rows]] = {
    ProgrammeInfo: _programme,
    Gate: _gate,
    Quantity: _quantity,
    Requirement: _requirement,
    Decision: _decision,
    CheckUse: _check,
    Deviation: _deviation,
    Action: _action,
    Evidence: _evidence,
    Risk: _risk,
    Baseline: _baseline,
}
