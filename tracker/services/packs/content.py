"""Everything a gate pack shows, put together from a programme at one revision."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from tracker.errors import CancelledError
from tracker.evaluate.engine import Cancel
from tracker.model.records import Baseline, CheckUse, Decision, Gate, Quantity, Requirement
from tracker.services.gates.facts import GateFacts
from tracker.services.gates.readiness import is_ready
from tracker.services.gates.views import CriterionView
from tracker.services.item_changes import item_changes
from tracker.services.packs.decisions import About, decision_page
from tracker.services.packs.findings import PackSource, history_of
from tracker.services.packs.headroom import headroom_by_decision
from tracker.services.packs.open import (
    SIGNATURES,
    actions_of,
    deviations_of,
    evidence_of,
    risks_of,
    unchecked_of,
)
from tracker.services.packs.records import PackChange
from tracker.services.packs.rounding import DIGITS
from tracker.services.packs.tables import check_row, matrix_of, quantity_row, requirement_row
from tracker.services.packs.trace import Trace
from tracker.services.packs.views import (
    FORMAT,
    PackContent,
    PackCover,
    PackCriterion,
    PackDecision,
    PackOffender,
    PackVersion,
)
from tracker.services.session import Reading, past
from tracker.services.version import VERSION
from tracker.services.wording import CAUTION, visible

__all__ = ["Freeze", "pack_content", "versions_of"]

Progress = Callable[[str], None]
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Freeze:
    """What a freeze states of itself: who froze what, when and why.

    Parameters
    ----------
    baseline : str
        Key of the baseline it makes.
    at : str
        UTC time of the change, RFC 3339.
    """

    gate: Gate
    baseline: str
    at: str
    author: str
    reason: str
    criteria: tuple[CriterionView, ...]


def pack_content(
    reading: Reading,
    freeze: Freeze,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> PackContent:
    """Put together what is frozen at a gate.

    Parameters
    ----------
    reading : Reading
        The programme at the revision that is frozen.
    cancel : callable, optional
        Asked between two pieces of work.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    steps = _Steps(cancel, progress)
    steps.tell("reading the journal")
    previous = _previous(reading)
    since = previous.revision if previous else 0
    trace = Trace(reading, since if previous else reading.head.revision)
    source = PackSource(reading, trace)
    steps.tell("what has changed")
    changes = tuple(_changes(past(reading, since), reading, trace)) if previous else ()
    decisions = tuple(_decisions(source, steps))
    steps.tell("tables")
    programme, about = reading.programme, About.of(source)
    pairs = [
        (each, requirement_row(source, each, tuple(about.evidence.get(each.id, ()))))
        for each in programme.of(Requirement)
    ]
    evidence = tuple(evidence_of(source))
    return PackContent(
        format=FORMAT,
        cover=_cover(reading, freeze, previous),
        criteria=tuple(map(_criterion, freeze.criteria)),
        matrix=tuple(link for each, row in pairs for link in matrix_of(source, row, each)),
        requirements=tuple(row for _, row in pairs),
        rules=tuple(
            source.finding(place)
            for place, judge in enumerate(reading.engine.graph.judges)
            if judge.rule is not None
        ),
        decisions=decisions,
        quantities=tuple(quantity_row(source, each) for each in programme.of(Quantity)),
        checks=tuple(check_row(source, each) for each in programme.of(CheckUse)),
        changes=changes,
        deviations=tuple(deviations_of(source)),
        risks=tuple(risks_of(source)),
        actions=tuple(actions_of(source)),
        evidence=evidence,
        unchecked=tuple(unchecked_of(source, evidence)),
        signatures=SIGNATURES,
    )


class _Steps:
    """Tells how far the work got, and ends it when asked to."""

    def __init__(self, cancel: Cancel | None, progress: Progress | None) -> None:
        self.cancel = cancel
        self.progress = progress

    def tell(self, words: str) -> None:
        if self.cancel is not None and self.cancel():
            raise CancelledError(f"stopped at {words}; nothing was stored")
        if self.progress is not None:
            self.progress(words)

    def over(self, items: Sequence[_T], what: str) -> Iterator[_T]:
        for number, each in enumerate(items, 1):
            self.tell(f"{what} {number} of {len(items)}")
            yield each


def _decisions(source: PackSource, steps: _Steps) -> Iterator[PackDecision]:
    headroom = headroom_by_decision(source.reading, steps.cancel, steps.tell)
    about = About.of(source)
    for each in steps.over(list(source.reading.programme.of(Decision)), "decision"):
        yield decision_page(source, each, about, headroom.get(each.id, ()))


def _previous(reading: Reading) -> Baseline | None:
    """Return the baseline that changes are counted from."""
    return max(reading.programme.of(Baseline), key=lambda each: each.revision, default=None)


def _changes(old: Reading, new: Reading, trace: Trace) -> Iterator[PackChange]:
    for each in item_changes(old, new, trace):
        yield PackChange(
            key=each.key,
            kind=each.kind,
            title=each.title,
            consequence=each.consequence,
            words=each.what,
            reasons=history_of(each.reasons),
        )


def _criterion(view: CriterionView) -> PackCriterion:
    return PackCriterion(
        name=view.name,
        title=view.title,
        setting=view.setting,
        result=view.result,
        offenders=tuple(
            PackOffender(key=each.key, kind=each.kind, title=each.title, why=each.why)
            for each in view.offenders
        ),
    )


def _cover(reading: Reading, freeze: Freeze, previous: Baseline | None) -> PackCover:
    info, gate = reading.programme.info, freeze.gate
    return PackCover(
        title=visible(info.title) if info else "",
        currency=info.currency if info else "",
        scope=_scope(reading, gate),
        gate=gate.key,
        gate_title=visible(gate.title),
        gate_date=gate.date,
        baseline=freeze.baseline,
        frozen_at=freeze.at,
        author=visible(freeze.author),
        reason=visible(freeze.reason),
        ready=is_ready(freeze.criteria),
        revision=reading.head.revision,
        head=reading.head.hash,
        previous=previous.key if previous else "",
        previous_revision=previous.revision if previous else 0,
        versions=tuple(
            PackVersion(name=name, version=version)
            for name, version in versions_of(reading).items()
        ),
        digits=DIGITS,
        caution=CAUTION,
    )


def _scope(reading: Reading, gate: Gate) -> str:
    counts = [
        _counted(reading.programme.of(cls), name)
        for cls, name in (
            (Requirement, "requirement"),
            (Decision, "decision"),
            (Quantity, "quantity"),
            (CheckUse, "check"),
        )
    ]
    facts = GateFacts(reading, gate)
    due = _counted(facts.due(Requirement), "requirement"), _counted(facts.due(Decision), "decision")
    return (
        f"The whole programme: {', '.join(counts[:-1])} and {counts[-1]}. Due at {gate.key} or "
        f"earlier: {due[0]} and {due[1]}."
    )


def _counted(items: Iterable[object], name: str) -> str:
    count = sum(1 for _ in items)
    plural = {"quantity": "quantities"}.get(name, f"{name}s")
    return f"{count} {name if count == 1 else plural}"


def versions_of(reading: Reading) -> dict[str, str]:
    """Return the version of whybone and of every check that is bound."""
    graph = reading.engine.graph
    loaded = [node.loaded for node in graph.nodes]
    checks = {each.manifest.key: each.manifest.version for each in loaded if each is not None}
    return {"whybone": VERSION, **dict(sorted(checks.items()))}
