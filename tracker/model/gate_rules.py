"""What must hold for the records a gate is walked through with."""

from __future__ import annotations

import re
from collections.abc import Sequence

from tracker.errors import BadValueError, InUseError, UnknownKeyError
from tracker.model.address import check_key
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import (
    Action,
    Baseline,
    Bound,
    CheckUse,
    Decision,
    Deviation,
    Evidence,
    Gate,
    Quantity,
    Record,
    Requirement,
    Risk,
    kind_of,
)
from tracker.model.texts import check_date, check_said
from tracker.model.values import Kind, canonical

__all__ = ["check_kept", "check_walked"]

_Walked = Gate | Deviation | Action | Evidence | Risk | Baseline
_HASH = re.compile("[0-9a-f]{64}")
_SHOWN = (Requirement, Decision, Quantity, CheckUse)


def check_kept(entry: Entry) -> None:
    """Refuse a change of what was frozen.

    Raises
    ------
    InUseError
        The entry amends, renames or removes a baseline.
    """
    if isinstance(entry.before, Baseline):
        raise InUseError(
            "a baseline is never changed or removed: it is what the gate was shown",
            item=entry.before.key,
            remedy="Freeze the gate again; the new baseline stands beside this one",
        )


def check_walked(programme: Programme, record: _Walked) -> None:
    """Refuse a record that contradicts itself or refers to nothing.

    Raises
    ------
    InputError
        The first thing wrong.
    """
    match record:
        case Gate():
            _check_gate(record)
        case Deviation():
            _check_deviation(programme, record)
        case Action():
            _check_action(programme, record)
        case Evidence():
            _check_evidence(programme, record)
        case Risk():
            check_said(record.title, item=record.key, field="title")
            _check_due(programme, record)
        case _:
            _check_baseline(programme, record)


def _check_gate(gate: Gate) -> None:
    check_date(gate.date, item=gate.key, field="date")
    for each, setting in gate.criteria.items():
        check_key(each, item=gate.key, field="criteria")
        check_said(setting, item=gate.key, field=f"criteria.{each}")


def _check_deviation(programme: Programme, deviation: Deviation) -> None:
    for field in ("reason", "approver", "extent"):
        check_said(getattr(deviation, field), item=deviation.key, field=field)
    requirement = programme.at(deviation.requirement, Requirement)
    programme.at(deviation.expires, Gate)
    if deviation.decision:
        programme.at(deviation.decision, Decision)
    lower, upper = deviation.lower, deviation.upper
    for field, bound in (("lower", lower), ("upper", upper)):
        if bound is not None:
            _check_bound(requirement, deviation, field, bound)
    if lower is not None and upper is not None and lower.value > upper.value:
        raise BadValueError(
            "it is upside down: lower is above upper", item=deviation.key, field="lower"
        )


def _check_bound(requirement: Requirement, deviation: Deviation, field: str, bound: Bound) -> None:
    canonical(bound.value, Kind.REAL, item=deviation.key, field=field)
    if requirement.allowed:
        raise BadValueError(
            f"{requirement.key} judges no number",
            item=deviation.key,
            field=field,
            remedy="Say the extent in words and leave the bound out",
        )


def _check_action(programme: Programme, action: Action) -> None:
    check_said(action.title, item=action.key, field="title")
    _check_due(programme, action)
    if action.closed:
        check_said(action.closed, item=action.key, field="closed")
        check_date(action.closed_on, item=action.key, field="closed_on")
    elif action.closed_on:
        raise BadValueError(
            "it has a date of closing and does not say how it was closed",
            item=action.key,
            field="closed",
            remedy="Say what was done",
        )


def _check_due(programme: Programme, record: Action | Risk) -> None:
    _about(programme, record.about, record.key)
    if record.gate:
        programme.at(record.gate, Gate)


def _about(programme: Programme, about: Sequence[str], item: str) -> list[Record]:
    """Return what something is about."""
    found = [programme.get(each) for each in about]
    there = [each for each in found if each is not None]
    if len(there) < len(found):
        raise UnknownKeyError("it is about nothing there is", item=item, field="about")
    return there


def _check_evidence(programme: Programme, evidence: Evidence) -> None:
    check_said(evidence.title, item=evidence.key, field="title")
    check_said(evidence.place, item=evidence.key, field="place")
    check_date(evidence.dated, item=evidence.key, field="dated")
    for each in _about(programme, evidence.about, evidence.key):
        if not isinstance(each, _SHOWN):
            raise BadValueError(
                f"{each.key} is a {kind_of(each)}",
                item=evidence.key,
                field="about",
                remedy="Evidence is about requirements, decisions, quantities and checks",
            )
    if evidence.sha256:
        _check_hash(evidence.sha256, evidence.key, "sha256")


def _check_hash(text: str, item: str, field: str) -> None:
    if not _HASH.fullmatch(text):
        raise BadValueError(
            "it is not a SHA-256",
            item=item,
            field=field,
            remedy="Write 64 hexadecimal digits, small letters",
        )


def _check_baseline(programme: Programme, baseline: Baseline) -> None:
    programme.at(baseline.gate, Gate)
    _check_hash(baseline.head, baseline.key, "head")
    _check_hash(baseline.content, baseline.key, "content")
    if baseline.revision < 1:
        raise BadValueError("no revision was frozen", item=baseline.key, field="revision")
