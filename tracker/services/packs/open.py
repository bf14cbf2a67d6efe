"""What a gate pack tells beside the verdicts: what is accepted, open, shown, and not checked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracker.model.records import (
    Action,
    BasisKind,
    CheckUse,
    Deviation,
    Evidence,
    Quantity,
    Record,
    Requirement,
    Risk,
    Verification,
    kind_of,
)
from tracker.services.gates.evidence import NOT_CHECKED, evidence_state
from tracker.services.gates.grounds import setting_of
from tracker.services.packs.findings import PackSource
from tracker.services.packs.records import (
    PackAction,
    PackDeviation,
    PackEvidence,
    PackRisk,
    PackRole,
    PackUnchecked,
)
from tracker.services.present import check_line, finding_view, key_of, quantity_line
from tracker.services.titles import title_of
from tracker.services.wording import visible

__all__ = ["SIGNATURES", "actions_of", "deviations_of", "evidence_of", "risks_of", "unchecked_of"]

SIGNATURES = (
    PackRole(role="Prepared by", meaning="the pack shows the programme as it was frozen"),
    PackRole(role="Reviewed by", meaning="decisions, evidence and deviations have been examined"),
    PackRole(role="Responsible engineer", meaning="the engineering is sound for this gate"),
    PackRole(role="Gate authority", meaning="the gate is passed, deviations and risks accepted"),
)
"""Who signs, and what for: preparation, review, approval and disposition (ISO 10007)."""


def deviations_of(source: PackSource) -> Iterator[PackDeviation]:
    """List the accepted misses."""
    for each in source.reading.programme.of(Deviation):
        yield PackDeviation(
            key=each.key,
            requirement=key_of(source.reading, each.requirement),
            decision=key_of(source.reading, each.decision) if each.decision else "",
            reason=visible(each.reason),
            approver=visible(each.approver),
            extent=visible(each.extent),
            allowed=source.deviations.allowed(each),
            consequences=visible(each.consequences),
            expires=key_of(source.reading, each.expires),
            state=source.deviations.state(each),
            revision=source.trace.record(each.id),
        )


def risks_of(source: PackSource) -> Iterator[PackRisk]:
    """List the risks."""
    for each in source.reading.programme.of(Risk):
        yield PackRisk(
            key=each.key,
            title=visible(each.title),
            likelihood=each.likelihood.value,
            consequence=each.consequence.value,
            owner=visible(each.owner),
            gate=key_of(source.reading, each.gate) if each.gate else "",
            about=_keys(source, each.about),
            response=visible(each.response),
            closed=visible(each.closed),
            revision=source.trace.record(each.id),
        )


def actions_of(source: PackSource) -> Iterator[PackAction]:
    """List the actions."""
    for each in source.reading.programme.of(Action):
        yield PackAction(
            key=each.key,
            title=visible(each.title),
            owner=visible(each.owner),
            gate=key_of(source.reading, each.gate) if each.gate else "",
            about=_keys(source, each.about),
            closed=visible(each.closed),
            closed_on=each.closed_on,
            revision=source.trace.record(each.id),
        )


def evidence_of(source: PackSource) -> Iterator[PackEvidence]:
    """List the evidence and whether it is still what it was."""
    for each in source.reading.programme.of(Evidence):
        yield PackEvidence(
            key=each.key,
            title=visible(each.title),
            place=visible(each.place),
            about=_keys(source, each.about),
            sha256=each.sha256,
            dated=each.dated,
            note=visible(each.note),
            state=evidence_state(source.reading.tools.files, each),
            revision=source.trace.record(each.id),
        )


def _keys(source: PackSource, ids: Iterable[str]) -> tuple[str, ...]:
    return tuple(key_of(source.reading, each) for each in ids)


def unchecked_of(source: PackSource, evidence: tuple[PackEvidence, ...]) -> Iterator[PackUnchecked]:
    """List what no check has shown, and why."""
    for record, about, why in _unchecked(source):
        yield PackUnchecked(
            key=record.key, kind=kind_of(record), title=title_of(record), about=about, why=why
        )
    for each in evidence:
        if each.state == NOT_CHECKED:
            why = "an address is never fetched, and a file without a hash is not compared"
            yield PackUnchecked(
                key=each.key, kind="evidence", title=each.title, about="evidence", why=why
            )


def _unchecked(source: PackSource) -> Iterator[tuple[Record, str, str]]:
    programme = source.reading.programme
    for requirement in programme.of(Requirement):
        for about, why in _of_requirement(source, requirement):
            yield requirement, about, why
    for use in programme.of(CheckUse):
        line = check_line(source.reading, use)
        if line.state != "current":
            yield use, "check not current", f"{line.state}: {line.message}"
        for view in _unjudged(source, use):
            yield use, "no rule", view
    for quantity in programme.of(Quantity):
        reason = quantity_line(source.reading, quantity).reason
        setting = setting_of(source.reading, quantity)
        if reason:
            yield quantity, "unknown", reason
        elif setting is not None and setting.basis.kind is BasisKind.GUESS:
            yield quantity, "on a guess", visible(setting.basis.source) or "no source is named"


def _of_requirement(source: PackSource, requirement: Requirement) -> Iterator[tuple[str, str]]:
    graph = source.reading.engine.graph
    if not graph.served_by.get(requirement.id):
        yield "not served", "no decision serves it"
    if graph.index[requirement.quantity, ""] not in graph.writer:
        yield "no check", "its value is stated, and no check computes it"
    if requirement.verification is not Verification.ANALYSIS:
        yield "not by analysis", f"it is to be verified by {requirement.verification}"


def _unjudged(source: PackSource, use: CheckUse) -> Iterator[str]:
    """Say which rules of a check had nothing to judge."""
    graph, state = source.reading.engine.graph, source.reading.engine.state
    for place in graph.judges_of.get(use.id, ()):
        finding = state.findings[place]
        if finding is not None and finding.moot:
            yield f"{finding_view(source.reading, place).judge}: {visible(finding.reason)}"
