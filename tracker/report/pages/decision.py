"""A decision's own page."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.report.document import (
    Block,
    Cell,
    Column,
    ColumnKind,
    Note,
    Number,
    Paragraph,
    Section,
    Sign,
    Table,
    Text,
    anchor,
)
from tracker.report.pages.cells import (
    FINDING,
    HISTORY,
    Places,
    facts,
    figure_block,
    finding_row,
    history_row,
    moment,
    shown,
    titled,
)
from tracker.services.packs.parts import PackGround, PackHeadroom, PackOption, PackSetting
from tracker.services.packs.views import PackDecision

__all__ = ["decision_section"]

_SETTINGS = (
    Column("sets", share=1.4),
    Column("value", ColumnKind.NUMBER, share=1.2),
    Column("basis", share=1),
    Column("source", share=2.4),
)
_GROUNDS = (
    Column("quantity", share=1.3),
    Column("title", share=2),
    Column("value", ColumnKind.NUMBER, share=1.6),
    Column("basis", share=1),
    Column("source", share=2),
    Column("dated", share=1),
)
_HEADROOM = (
    Column("value", share=1.4),
    Column("now", ColumnKind.NUMBER, share=1),
    Column("reopen if", share=3.6),
    Column("how sure", share=1.4),
)
_REVIEWS = (
    Column("on", share=1),
    Column("by", share=1.4),
    Column("outcome", share=1),
    Column("reason", share=3),
)
_SHIFTS = (Column("what moved", share=2), Column("then", share=1.5), Column("now", share=1.5))


def decision_section(places: Places, decision: PackDecision) -> Section:
    """Make the page of a decision: all that is known of why it is as it is."""
    name = places.anchors[decision.key]
    return Section(
        anchor=name,
        title=f"{decision.key}: {decision.question}",
        own_page=True,
        blocks=shown(_head(places, decision)),
        sections=(
            *titled(f"{name}--why", "Why", *_why(decision)),
            *_options(places, decision, name),
            *titled(f"{name}--found", "Findings as it stands", _findings(places, decision)),
            *titled(f"{name}--ground", "What it rests on", _ground(places, decision)),
            *titled(f"{name}--headroom", "When to reopen it", _headroom(places, decision)),
            *titled(f"{name}--history", "History", *_history(decision)),
            *titled(f"{name}--figures", "Figures", *map(figure_block, decision.figures)),
        ),
    )


def _head(places: Places, decision: PackDecision) -> Iterator[Block]:
    standing = Sign(decision.standing) if decision.standing else Text("")
    yield facts(
        ("state", decision.state),
        ("standing", standing),
        ("because", decision.why),
        ("chosen", decision.chosen),
        ("owner", decision.owner),
        ("due at", decision.gate),
        ("decided with", ", ".join(decision.participants)),
        ("sets", places.links(decision.sets)),
        ("serves", places.links(decision.serves)),
        ("rests on", places.links(decision.rests_on)),
        ("checks", places.links(decision.checks)),
        ("evidence", places.links(decision.evidence)),
        ("deviations", places.links(decision.deviations)),
        ("risks", places.links(decision.risks)),
        ("actions", places.links(decision.actions)),
        ("supersedes", places.links(decision.supersedes)),
        ("superseded by", places.link(decision.superseded_by)),
        ("last changed", f"revision {decision.revision}"),
    )
    if decision.shifted:
        yield Note("Its ground has shifted since it was settled: it wants another look.")
    yield Table(
        caption="What moved since it was settled",
        columns=_SHIFTS,
        rows=tuple(
            (Text(each.what), Text(each.before), Text(each.after)) for each in decision.shifts
        ),
    )


def _why(decision: PackDecision) -> Iterator[Block]:
    yield Paragraph(decision.rationale)
    against = ((f"against {each.key}", each.against) for each in decision.options)
    dissent = ((f"dissent of {who}", why) for who, why in decision.dissent)
    yield facts(*against, *dissent, *(("it assumes", each) for each in decision.assumptions))


def _options(places: Places, decision: PackDecision, name: str) -> Iterator[Section]:
    for option in decision.options:
        chosen = " (chosen)" if option.chosen else ""
        yield from titled(
            anchor(name, "option", option.key),
            f"Option {option.key}{chosen}: {option.title}",
            *_option(places, option),
        )


def _option(places: Places, option: PackOption) -> Iterator[Block]:
    yield facts(("the decision would be", Sign(option.standing) if option.standing else ""))
    yield Paragraph(option.notes)
    yield Table(
        caption=f"What option {option.key} sets",
        columns=_SETTINGS,
        rows=tuple(_setting(places, each) for each in option.settings),
    )
    yield Table(
        caption=f"Found with option {option.key}",
        columns=FINDING,
        rows=tuple(finding_row(places, each) for each in option.findings),
    )


def _setting(places: Places, setting: PackSetting) -> tuple[Cell, ...]:
    value: Cell = Number(setting.text, setting.unit)
    if setting.value is None:
        value = Text(f"unknown: {setting.reason}")
    source = ", ".join(each for each in (setting.source, setting.dated) if each)
    return (places.link(setting.quantity), value, Text(setting.basis), Text(source))


def _findings(places: Places, decision: PackDecision) -> Table:
    return Table(
        caption="Requirements it serves and rules of its checks",
        columns=FINDING,
        rows=tuple(finding_row(places, each) for each in decision.findings),
    )


def _ground(places: Places, decision: PackDecision) -> Table:
    return Table(
        caption="Stated values it directly rests on",
        columns=_GROUNDS,
        rows=tuple(_ground_row(places, each) for each in decision.grounds),
    )


def _ground_row(places: Places, ground: PackGround) -> tuple[Cell, ...]:
    return (
        places.link(ground.quantity),
        Text(ground.title),
        Number(ground.text, ground.unit),
        Text(ground.basis),
        Text(ground.source),
        Text(ground.dated),
    )


def _headroom(places: Places, decision: PackDecision) -> Table:
    return Table(
        caption="How far a value may move with all else as it is",
        columns=_HEADROOM,
        rows=tuple(_headroom_row(places, each) for each in decision.headroom),
    )


def _headroom_row(places: Places, room: PackHeadroom) -> tuple[Cell, ...]:
    sure = "proven in between" if room.certified else "sampled"
    if room.lost:
        sure = "every value tried"
    if not room.certified and room.resolution is not None:
        sure = f"sampled every {room.resolution:.3g} {room.unit}".rstrip()
    item = room.subject.partition(".")[0].rpartition("/")[2]
    return (
        places.link(item, room.subject),
        Number(room.text, room.unit),
        Text(room.words),
        Text(sure),
    )


def _history(decision: PackDecision) -> Iterator[Block]:
    yield Table(
        caption="Reviews",
        columns=_REVIEWS,
        rows=tuple(
            (moment(each.on), Text(each.by), Text(each.outcome), Text(each.reason))
            for each in decision.reviews
        ),
    )
    yield Table(
        caption="Changes that touched it",
        columns=HISTORY,
        rows=tuple(history_row(each) for each in decision.history),
    )
