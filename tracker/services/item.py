"""An item's page: its whole why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from tracker.model.changes import Entry
from tracker.model.records import (
    Baseline,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Option,
    Quantity,
    Record,
    Requirement,
    Setting,
    kind_of,
)
from tracker.services.deciding import unreviewable
from tracker.services.facts import facts_of, paragraphs_of, value_facts
from tracker.services.finding import found
from tracker.services.item_records import walked_title
from tracker.services.last_runs import last_run
from tracker.services.links import downstream, judging, upstream
from tracker.services.present import (
    check_line,
    decision_line,
    finding_view,
    key_of,
    requirement_line,
)
from tracker.services.runs import figures_of, manifest_of
from tracker.services.session import Reading
from tracker.services.shifting import shift_views
from tracker.services.views import (
    ActionView,
    FindingView,
    HistoryLine,
    ItemPage,
    OptionView,
    SettingView,
)
from tracker.services.wording import CAUTION, value_text, visible
from tracker.services.words import describe

__all__ = ["item_page", "settings_of"]


def item_page(reading: Reading, key: str) -> ItemPage:
    """Return the page of an item.

    Raises
    ------
    UnknownKeyError
        Nothing has this key.
    """
    record = found(reading, key)
    value, unit = value_facts(reading, record)
    return ItemPage(
        revision=reading.head.revision,
        kind=kind_of(record),
        key=record.key,
        title=visible(_title(reading, record)),
        sign=_sign(reading, record),
        shifted=record.id in reading.engine.state.shifts,
        facts=facts_of(reading, record),
        paragraphs=paragraphs_of(reading, record),
        findings=tuple(_findings(reading, record)),
        options=tuple(_options(reading, record)) if isinstance(record, Decision) else (),
        shifts=shift_views(reading, record.id),
        upstream=upstream(reading, record),
        downstream=downstream(reading, record),
        history=tuple(_history(reading, record)),
        actions=tuple(_actions(reading, record)),
        figures=figures_of(reading, record) if isinstance(record, CheckUse) else (),
        cautions=_cautions(reading, record),
        value=value,
        unit=unit,
        ran=last_run(reading, record) if isinstance(record, CheckUse) else None,
    )


def _title(reading: Reading, record: Record) -> str:
    match record:
        case Requirement():
            return record.statement
        case Decision():
            return record.question
        case Deviation() | Baseline():
            return walked_title(reading, record)
        case _:
            return record.title


def _sign(reading: Reading, record: Record) -> str:
    match record:
        case Requirement():
            return requirement_line(reading, record).finding.verdict
        case Decision():
            line = decision_line(reading, record)
            return line.standing or line.state
        case CheckUse():
            return check_line(reading, record).state
        case _:
            return ""


def _findings(reading: Reading, record: Record) -> Iterator[FindingView]:
    graph = reading.engine.graph
    match record:
        case Requirement() | CheckUse():
            places: Iterable[int] = graph.judges_of.get(record.id, ())
        case Decision():
            judges = (*record.serves, *graph.carried.get(record.id, ()))
            places = (place for each in judges for place in graph.judges_of.get(each, ()))
        case Quantity():
            places = judging(reading, record)
        case _:
            return
    for place in places:
        yield finding_view(reading, place)


def _options(reading: Reading, decision: Decision) -> Iterator[OptionView]:
    for option in decision.options:
        applied = replace(decision, state=DecisionState.LEANING, chosen=option.id, footing=None)
        with reading.engine.trial((Entry(decision, applied),)):
            findings = tuple(_findings(reading, applied))
            standing = decision_line(reading, applied).standing
        yield OptionView(
            key=option.key,
            title=visible(option.title),
            notes=visible(option.notes),
            chosen=option.id == decision.chosen,
            settings=tuple(settings_of(reading, decision, option)),
            findings=findings,
            standing=standing,
            against=visible(decision.against.get(option.id, "")),
        )


def settings_of(reading: Reading, decision: Decision, option: Option) -> Iterator[SettingView]:
    """Yield what an option states for each quantity its decision sets."""
    for each in decision.owns:
        quantity = reading.programme.at(each, Quantity)
        setting = option.settings.get(each, Setting(reason="this option does not state it"))
        tail = f" {quantity.unit.text}" if quantity.unit.text else ""
        text = value_text(setting.value, quantity.kind, quantity.unit) + tail
        if setting.value is None:
            text = f"unknown: {visible(setting.reason)}"
        yield SettingView(
            quantity=quantity.key,
            text=text,
            basis="" if setting.value is None else setting.basis.kind.value,
            source=visible(setting.basis.source),
        )


def _history(reading: Reading, record: Record) -> Iterator[HistoryLine]:
    for change in reading.store.touching(record.id):
        if change.revision > reading.head.revision:
            return
        what = [text for entry in change.entries for text in describe(entry, reading.programme.get)]
        yield HistoryLine(
            revision=change.revision,
            at=change.at,
            author=visible(change.author),
            reason=visible(change.reason),
            what=tuple(what),
        )


def _cautions(reading: Reading, record: Record) -> tuple[str, ...]:
    if isinstance(record, CheckUse):
        manifest = manifest_of(reading, record)
        return (CAUTION, *(manifest.cautions if manifest else ()))
    return (CAUTION,)  # on a gate too: its page tells the verdicts of what is due at it


def _actions(reading: Reading, record: Record) -> Iterator[ActionView]:
    match record:
        case Decision():
            yield from _decision_actions(reading, record)
        case Quantity():
            yield _set_action(reading, record)
        case Requirement():
            yield ActionView(name="set", enabled=True)
        case _:
            return


def _decision_actions(reading: Reading, decision: Decision) -> Iterator[ActionView]:
    state = decision.state
    movable = state in (DecisionState.OPEN, DecisionState.LEANING) and bool(decision.options)
    why_not = "" if movable else f"it is {state}; reopen it first"
    if not decision.options:
        why_not = "it has no options"
    yield ActionView(name="lean", enabled=movable, why_not=why_not)
    yield ActionView(name="settle", enabled=movable, why_not=why_not)
    closed = state in (DecisionState.SETTLED, DecisionState.WITHDRAWN)
    yield ActionView(name="reopen", enabled=closed, why_not="" if closed else f"it is {state}")
    settled = unreviewable(reading, decision)
    yield ActionView(name="review", enabled=not settled, why_not=settled)
    gone = state is DecisionState.WITHDRAWN
    yield ActionView(name="withdraw", enabled=not gone, why_not=f"it is {state}" if gone else "")


def _set_action(reading: Reading, quantity: Quantity) -> ActionView:
    graph = reading.engine.graph
    owner = graph.owner.get(quantity.id)
    writer = graph.writer.get(graph.index[quantity.id, ""])
    if owner:
        key = key_of(reading, owner)
        return ActionView(
            name="set", enabled=False, why_not=f"decision {key} owns it: change its option's value"
        )
    if writer:
        key = key_of(reading, writer)
        return ActionView(
            name="set", enabled=False, why_not=f"check {key} computes it: change its inputs"
        )
    return ActionView(name="set", enabled=True)
