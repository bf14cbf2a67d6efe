"""A decision's page in a gate pack."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from tracker.model.changes import Entry
from tracker.model.records import (
    Action,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Evidence,
    Option,
    Quantity,
    Risk,
)
from tracker.services.gates.grounds import direct_grounds
from tracker.services.packs.figures import pack_figures
from tracker.services.packs.findings import PackSource, history_of
from tracker.services.packs.parts import PackHeadroom, PackOption, PackReview, PackShift
from tracker.services.packs.views import PackDecision
from tracker.services.present import decision_line, key_of
from tracker.services.shifting import shift_views
from tracker.services.wording import visible

__all__ = ["About", "decision_page"]


@dataclass(frozen=True, slots=True)
class About:
    """Keys of what is said about an item, by the item's id.

    Parameters
    ----------
    evidence, deviations, risks, actions : mapping of str to list of str
        A deviation counts for its decision and for those that serve its requirement.
    supersedes : mapping of str to list of str
        Decision → those it replaces.
    """

    evidence: Mapping[str, list[str]]
    deviations: Mapping[str, list[str]]
    risks: Mapping[str, list[str]]
    actions: Mapping[str, list[str]]
    supersedes: Mapping[str, list[str]]

    @classmethod
    def of(cls, source: PackSource) -> About:
        """Find them all in one pass."""
        programme = source.reading.programme
        served = source.reading.engine.graph.served_by
        deviations = (
            (each.key, dict.fromkeys((each.decision, *served.get(each.requirement, ()))))
            for each in programme.of(Deviation)
        )
        return cls(
            evidence=_by_item((each.key, each.about) for each in programme.of(Evidence)),
            deviations=_by_item(deviations),
            risks=_by_item((each.key, each.about) for each in programme.of(Risk)),
            actions=_by_item((each.key, each.about) for each in programme.of(Action)),
            supersedes=_by_item(
                (each.key, (each.superseded_by,)) for each in programme.of(Decision)
            ),
        )


def _by_item(pairs: Iterator[tuple[str, object]]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for key, about in pairs:
        for each in about:  # type: ignore[attr-defined] # ids
            found.setdefault(each, []).append(key)
    return found


def decision_page(
    source: PackSource, decision: Decision, about: About, headroom: tuple[PackHeadroom, ...]
) -> PackDecision:
    """Show a decision with its whole why."""
    reading, own = source.reading, decision.id
    line = decision_line(reading, decision)
    uses = _uses(source, decision)
    return PackDecision(
        key=line.key,
        question=line.question,
        state=line.state,
        standing=line.standing,
        shifted=line.shifted,
        why=line.why,
        owner=line.owner,
        gate=line.gate,
        chosen=line.chosen,
        rationale=visible(decision.rationale),
        participants=tuple(map(visible, decision.participants)),
        dissent=tuple((visible(who), visible(why)) for who, why in decision.dissent.items()),
        assumptions=tuple(map(visible, decision.assumptions)),
        grounds=tuple(source.ground(*each) for each in direct_grounds(reading, decision)),
        sets=_keys(source, decision.owns),
        serves=_keys(source, decision.serves),
        rests_on=_keys(source, decision.rests_on),
        checks=tuple(each.key for each in uses),
        options=tuple(_option(source, decision, each) for each in decision.options),
        findings=source.staked(decision),
        figures=tuple(each for use in uses for each in pack_figures(reading, source.trace, use)),
        headroom=headroom,
        shifts=tuple(
            PackShift(what=each.what, before=each.before, after=each.after)
            for each in shift_views(reading, own)
        ),
        reviews=_reviews(decision),
        evidence=tuple(about.evidence.get(own, ())),
        deviations=tuple(about.deviations.get(own, ())),
        risks=tuple(about.risks.get(own, ())),
        actions=tuple(about.actions.get(own, ())),
        superseded_by=key_of(reading, decision.superseded_by) if decision.superseded_by else "",
        supersedes=tuple(about.supersedes.get(own, ())),
        history=history_of(source.trace.lines(own)),
        revision=source.trace.record(own),
    )


def _uses(source: PackSource, decision: Decision) -> list[CheckUse]:
    carried = source.reading.engine.graph.carried.get(decision.id, ())
    return [source.reading.programme.at(each, CheckUse) for each in carried]


def _keys(source: PackSource, ids: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(key_of(source.reading, each) for each in ids)


def _option(source: PackSource, decision: Decision, option: Option) -> PackOption:
    reading, chosen = source.reading, option.id == decision.chosen
    if chosen:
        findings, standing = source.staked(decision), decision_line(reading, decision).standing
    else:
        applied = replace(decision, state=DecisionState.LEANING, chosen=option.id, footing=None)
        applied = replace(applied, superseded_by="")
        with reading.engine.trial((Entry(decision, applied),)):
            findings = source.staked(applied)
            standing = decision_line(reading, applied).standing
    return PackOption(
        key=option.key,
        title=visible(option.title),
        notes=visible(option.notes),
        chosen=chosen,
        against=visible(decision.against.get(option.id, "")),
        standing=standing,
        settings=tuple(
            source.setting(reading.programme.at(each, Quantity), option.settings.get(each))
            for each in decision.owns
        ),
        findings=findings,
    )


def _reviews(decision: Decision) -> tuple[PackReview, ...]:
    return tuple(
        PackReview(
            by=visible(each.by), on=each.on, outcome=each.outcome.value, reason=visible(each.reason)
        )
        for each in decision.reviews
    )
