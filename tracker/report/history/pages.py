"""A decision history as a document."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tracker.report.document import (
    Block,
    Cell,
    Column,
    ColumnKind,
    Document,
    Facts,
    Link,
    Links,
    Note,
    Number,
    Paragraph,
    Section,
    Sign,
    Table,
    Text,
    anchor,
)
from tracker.report.history.content import HistoryChange, HistoryContent, HistoryItem
from tracker.report.pages.cells import FINDING, HISTORY, facts, moment
from tracker.services.views import FindingView, HistoryLine, LinkView, OptionView, RequirementLine

__all__ = ["history_document"]

_REQUIREMENTS = (
    Column("requirement", share=1.2),
    Column("statement", share=2.6),
    Column("required", share=1.4),
    Column("value", ColumnKind.NUMBER, share=1.3),
    Column("verdict", ColumnKind.SIGN, share=1.1),
    Column("margin", ColumnKind.NUMBER, share=1.4),
    Column("gate", share=0.8),
    Column("owner", share=1),
)
_SETTINGS = (
    Column("sets", share=1.4),
    Column("value", share=1.6),
    Column("basis", share=1),
    Column("source", share=2.4),
)
_SHIFTS = (Column("what", share=2), Column("then", share=1.5), Column("now", share=1.5))
_LINKS = (
    Column("item", share=1.4),
    Column("kind", share=1),
    Column("what it is", share=2.6),
    Column("how", share=2),
    Column("at present", share=1.4),
)
_CHANGES = (
    Column("revision", share=0.8),
    Column("when", share=1.6),
    Column("who", share=1.1),
    Column("item", share=1.3),
    Column("what", share=3),
    Column("why", share=3.4),
)


def history_document(content: HistoryContent) -> Document:
    """Lay a decision history out: requirements, a page for each decision, all changes."""
    period = f"revision {content.first} to revision {content.last}"
    places = {each.key: anchor(each.kind, each.key) for each in content.items}
    return Document(
        title=content.title,
        kind="Decision history",
        running=f"Revision {content.revision}, head {content.head}",
        caution=content.caution,
        moment=content.at,
        front=(facts(("about", content.scope), ("period", period), ("money", content.currency)),),
        sections=(
            *_requirements(content),
            *(_item(each, places) for each in content.items),
            _changes(content.changes, places),
        ),
    )


def _requirements(content: HistoryContent) -> Iterator[Section]:
    lines = content.requirements
    if content.items and not lines:
        return
    table = Table(
        caption="Every requirement it is about",
        columns=_REQUIREMENTS,
        rows=tuple(_requirement(each) for each in lines),
    )
    yield Section(
        anchor="requirements",
        title="Requirements",
        own_page=True,
        blocks=(table if lines else Paragraph("None yet."),),
    )


def _requirement(line: RequirementLine) -> tuple[Cell, ...]:
    found = line.finding
    return (
        Text(line.key),
        Text(line.statement),
        Text(found.required),
        _value(found),
        Sign(found.verdict),
        Text(found.distance_text or found.reason),
        Text(line.gate),
        Text(line.owner),
    )


def _value(found: FindingView) -> Cell:
    return Text(found.text) if found.value is None else Number(found.text, found.unit)


def _item(item: HistoryItem, places: dict[str, str]) -> Section:
    name = places[item.key]
    return Section(
        anchor=name,
        title=f"{item.key}: {item.title}",
        own_page=True,
        blocks=tuple(_head(item)),
        sections=(
            *_paragraphs(item, name),
            *(_option(each, anchor(name, "option", each.key)) for each in item.options),
            *_tables(item, name, places),
        ),
    )


def _head(item: HistoryItem) -> Iterator[Block]:
    yield Facts(tuple((label, Text(text)) for label, text in item.facts))
    if item.shifted:
        yield Note("Its ground has shifted since it was settled: it wants another look.")


def _paragraphs(item: HistoryItem, name: str) -> Iterator[Section]:
    for place, (heading, text) in enumerate(item.paragraphs, 1):
        yield _below(f"{name}--text-{place}", heading[:1].upper() + heading[1:], Paragraph(text))


def _below(name: str, title: str, *blocks: Block) -> Section:
    return Section(anchor=name, title=title, blocks=blocks, listed=False)


def _tables(item: HistoryItem, name: str, places: dict[str, str]) -> Iterator[Section]:
    found = (
        ("findings", "Findings", FINDING, map(_finding, item.findings)),
        (
            "shifts",
            "Shifted since it was settled",
            _SHIFTS,
            ((Text(each.what), Text(each.before), Text(each.after)) for each in item.shifts),
        ),
        ("upstream", "What it stands on", _LINKS, _links(item.upstream, places)),
        ("downstream", "What stands on it", _LINKS, _links(item.downstream, places)),
        ("history", "History", HISTORY, map(_line, item.history)),
    )
    for part, title, columns, cells in found:
        rows = tuple(cells)
        if rows:
            table = Table(caption=f"{title} of {item.key}", columns=columns, rows=rows)
            yield _below(f"{name}--{part}", title, table)


def _finding(found: FindingView) -> tuple[Cell, ...]:
    margin = found.distance_text or found.reason
    return (
        Text(found.judge),
        Text(found.required),
        _value(found),
        Sign(found.verdict),
        Text(f"{margin}; deviation {found.deviation}" if found.deviation else margin),
    )


def _links(links: Iterable[LinkView], places: dict[str, str]) -> Iterator[tuple[Cell, ...]]:
    for each in links:
        yield (
            Links((Link(each.key, places.get(each.key, "")),)),
            Text(each.kind),
            Text(each.title),
            Text(each.role),
            Text(each.text),
        )


def _line(line: HistoryLine) -> tuple[Cell, ...]:
    return (
        Text(str(line.revision)),
        moment(line.at),
        Text(line.author),
        Text("; ".join(line.what)),
        Text(line.reason),
    )


def _option(option: OptionView, name: str) -> Section:
    applied = " (applied)" if option.chosen else ""
    settings = ((each.quantity, each.text, each.basis, each.source) for each in option.settings)
    blocks = (
        *((Paragraph(option.notes),) if option.notes else ()),
        Paragraph(f"With it the decision {_verb(option.standing)}."),
        Table(
            caption=f"What option {option.key} sets",
            columns=_SETTINGS,
            rows=tuple(tuple(map(Text, each)) for each in settings),
        ),
        Table(
            caption=f"Found with option {option.key}",
            columns=FINDING,
            rows=tuple(_finding(each) for each in option.findings),
        ),
    )
    title = f"Option {option.key}{applied}: {option.title}"
    return _below(name, title, *blocks)


def _verb(standing: str) -> str:
    return "stands" if standing == "stands" else f"is {standing or 'withdrawn'}"


def _changes(changes: tuple[HistoryChange, ...], places: dict[str, str]) -> Section:
    rows = tuple(
        (
            Text(str(change.revision)),
            moment(change.at),
            Text(change.author),
            Links((Link(touch.item, places.get(touch.item, "")),)),
            Text("; ".join(touch.what)),
            Text(change.reason),
        )
        for change in changes
        for touch in change.items
    )
    table = Table(caption="All changes of the period", columns=_CHANGES, rows=rows)
    return Section(
        anchor="changes",
        title="Changes",
        own_page=True,
        blocks=(table if rows else Paragraph("None."),),
    )
