"""Records back into item documents: what an export writes and an import reads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from tracker.model.address import Address
from tracker.model.programme import Programme
from tracker.model.records import (
    Action,
    Baseline,
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Evidence,
    Gate,
    Literal,
    Option,
    ProgrammeInfo,
    Quantity,
    Record,
    Requirement,
    Risk,
    Setting,
    kind_of,
)

__all__ = ["document_of"]


def document_of(programme: Programme, record: Record) -> dict[str, Any]:
    """Describe a record by keys and texts; empty fields are left out."""
    return {"kind": kind_of(record), "key": record.key, **_filled(_fields(programme, record))}


def _filled(fields: dict[str, Any]) -> dict[str, Any]:
    """Leave out empty fields, but not a table without rows: that is a value."""
    return {
        name: value
        for name, value in fields.items()
        if value not in (None, "", [], {}) or (name == "value" and value == [])
    }


def _fields(programme: Programme, record: Record) -> dict[str, Any]:
    return _FIELDS_OF[type(record)](programme, record)


def _programme(_: Programme, info: ProgrammeInfo) -> dict[str, Any]:
    return {"title": info.title, "currency": info.currency}


def _gate(_: Programme, gate: Gate) -> dict[str, Any]:
    return {"title": gate.title, "date": gate.date, "criteria": dict(gate.criteria)}


def _key(programme: Programme, record_id: str) -> str:
    record = programme.get(record_id)
    return record.key if record else ""


def _stated(setting: Setting | None) -> dict[str, Any]:
    if setting is None:
        return {}
    return {
        "value": None if setting.value is None else setting.typed or _plain(setting.value),
        "unknown": setting.reason,
        "basis": setting.basis.kind.value,
        "source": setting.basis.source,
        "dated": setting.basis.dated,
    }


def _plain(value: object) -> Any:  # noqa: ANN401 - JSON data
    return [_plain(each) for each in value] if isinstance(value, tuple) else value


def _quantity(programme: Programme, quantity: Quantity) -> dict[str, Any]:
    return {
        "title": quantity.title,
        "type": quantity.kind.value,
        "unit": quantity.unit.text,
        "choices": list(quantity.choices),
        "columns": [
            {"name": each.name, "type": each.kind.value, "unit": each.unit.text}
            for each in quantity.columns
        ],
        **_stated(quantity.given),
        "tolerance": quantity.tolerance.half_width if quantity.tolerance else None,
        "tolerance_shape": quantity.tolerance.shape.value if quantity.tolerance else None,
        "low": quantity.low,
        "high": quantity.high,
        "ranges": {part: [each.low, each.high] for part, each in quantity.part_ranges.items()},
        "correlated": {_key(programme, each): r for each, r in quantity.correlated.items()},
    }


def _bound(bound: Bound | None) -> Any:  # noqa: ANN401 - JSON data
    return None if bound is None else bound.typed or bound.value


def _requirement(programme: Programme, requirement: Requirement) -> dict[str, Any]:
    return {
        "statement": requirement.statement,
        "quantity": str(Address(_key(programme, requirement.quantity), requirement.part)),
        "lower": _bound(requirement.lower),
        "upper": _bound(requirement.upper),
        "target": _bound(requirement.target),
        "scale": requirement.scale.value if requirement.scale else None,
        "guard": requirement.guard,
        "allowed": list(requirement.allowed),
        "source": requirement.source,
        "owner": requirement.owner,
        "verification": requirement.verification.value,
        "parents": [_key(programme, each) for each in requirement.parents],
        "gate": _key(programme, requirement.gate),
        "rationale": requirement.rationale,
        "priority": requirement.priority.value if requirement.priority else "",
        "risk": requirement.risk,
    }


def _decision(programme: Programme, decision: Decision) -> dict[str, Any]:
    return {
        "question": decision.question,
        "options": [_option(programme, each) for each in decision.options],
        "sets": [_key(programme, each) for each in decision.owns],
        "serves": [_key(programme, each) for each in decision.serves],
        "rests_on": [_key(programme, each) for each in decision.rests_on],
        "owner": decision.owner,
        "gate": _key(programme, decision.gate),
        "state": "" if decision.state is DecisionState.OPEN else decision.state.value,
        "chosen": decision.applied.key if decision.applied else "",
        "rationale": decision.rationale,
        "against": {
            each.key: decision.against[each.id]
            for each in decision.options
            if each.id in decision.against
        },
        "participants": list(decision.participants),
        "dissent": dict(decision.dissent),
        "assumptions": list(decision.assumptions),
        "superseded_by": _key(programme, decision.superseded_by),
        "reviews": [
            {"by": each.by, "outcome": each.outcome.value, "reason": each.reason, "on": each.on}
            for each in decision.reviews
        ],
    }


def _option(programme: Programme, option: Option) -> dict[str, Any]:
    settings = {}
    for each, setting in option.settings.items():
        settings[_key(programme, each)] = _filled(_stated(setting))
    return {
        "key": option.key,
        "title": option.title,
        "notes": option.notes,
        "settings": settings,
    }


def _check(programme: Programme, use: CheckUse) -> dict[str, Any]:
    refs = {
        port: str(Address(_key(programme, ref.id), ref.part)) for port, ref in use.inputs.items()
    }
    return {
        "title": use.title,
        "check": use.plugin,
        "decision": _key(programme, use.decision),
        "config": dict(use.config),
        "inputs": {**refs, **{port: _literal(each) for port, each in use.literals.items()}},
        "outputs": {port: _key(programme, each) for port, each in use.outputs.items()},
    }


def _literal(literal: Literal) -> dict[str, Any]:
    return {"value": literal.typed or _plain(literal.value)}


def _keys(programme: Programme, ids: Iterable[str]) -> list[str]:
    return [_key(programme, each) for each in ids]


def _deviation(programme: Programme, deviation: Deviation) -> dict[str, Any]:
    return {
        "requirement": _key(programme, deviation.requirement),
        "reason": deviation.reason,
        "approver": deviation.approver,
        "extent": deviation.extent,
        "lower": _bound(deviation.lower),
        "upper": _bound(deviation.upper),
        "expires": _key(programme, deviation.expires),
        "consequences": deviation.consequences,
        "decision": _key(programme, deviation.decision),
    }


def _action(programme: Programme, action: Action) -> dict[str, Any]:
    return {
        "title": action.title,
        "owner": action.owner,
        "gate": _key(programme, action.gate),
        "about": _keys(programme, action.about),
        "closed": action.closed,
        "closed_on": action.closed_on,
    }


def _evidence(programme: Programme, evidence: Evidence) -> dict[str, Any]:
    return {
        "title": evidence.title,
        "about": _keys(programme, evidence.about),
        "place": evidence.place,
        "sha256": evidence.sha256,
        "dated": evidence.dated,
        "note": evidence.note,
    }


def _risk(programme: Programme, risk: Risk) -> dict[str, Any]:
    return {
        "title": risk.title,
        "likelihood": risk.likelihood.value,
        "consequence": risk.consequence.value,
        "about": _keys(programme, risk.about),
        "owner": risk.owner,
        "gate": _key(programme, risk.gate),
        "response": risk.response,
        "closed": risk.closed,
    }


def _baseline(programme: Programme, baseline: Baseline) -> dict[str, Any]:
    return {
        "gate": _key(programme, baseline.gate),
        "revision": baseline.revision,
        "head": baseline.head,
        "content": baseline.content,
        "ready": baseline.ready,
        "criteria": dict(baseline.criteria),
        "versions": dict(baseline.versions),
    }


_FIELDS_OF: Mapping[type[Record], Callable[[Programme, Any], dict[str, Any]]] = {
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
