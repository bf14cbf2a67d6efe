"""Changes, deviations, risks, actions, evidence and what was not checked, of a gate pack."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from tracker.report.document import (
    Block,
    Cell,
    Column,
    Link,
    Links,
    Note,
    Section,
    Sign,
    Table,
    Text,
    anchor,
)
from tracker.report.pages.cells import Places, moment, shown
from tracker.services.packs.parts import PackHistory
from tracker.services.packs.records import (
    PackAction,
    PackChange,
    PackDeviation,
    PackEvidence,
    PackRisk,
    PackUnchecked,
)
from tracker.services.packs.views import PackContent
from tracker.services.wording import SIGNS

__all__ = ["changes", "open_points", "unchecked"]

_CHANGES = (
    Column("item", share=1.2),
    Column("became", share=1.1),
    Column("what it is", share=2.2),
    Column("what differs", share=3),
    Column("because of revision", share=1.4),
)
_REASONS = (
    Column("revision", share=0.8),
    Column("when", share=1.6),
    Column("who", share=1.2),
    Column("why", share=6),
)
_DEVIATIONS = (
    Column("deviation", share=1.1),
    Column("requirement", share=1.1),
    Column("state", share=1),
    Column("reason", share=2.4),
    Column("extent", share=1.8),
    Column("consequences", share=1.8),
    Column("approved by", share=1.2),
    Column("until", share=0.8),
)
_RISKS = (
    Column("risk", share=1),
    Column("what may happen", share=2.4),
    Column("likelihood", share=1),
    Column("consequence", share=1.2),
    Column("response", share=2.2),
    Column("owner", share=1),
    Column("due at", share=0.8),
    Column("about", share=1),
    Column("closed", share=1.2),
)
_ACTIONS = (
    Column("action", share=1),
    Column("what is to be done", share=3),
    Column("owner", share=1.2),
    Column("due at", share=0.8),
    Column("about", share=1.2),
    Column("closed", share=2),
)
_EVIDENCE = (
    Column("evidence", share=1),
    Column("title", share=1.8),
    Column("state", share=1.1),
    Column("place", share=2),
    Column("SHA-256", share=2.4),
    Column("dated", share=1),
    Column("about", share=1),
    Column("note", share=1.4),
)
_UNCHECKED = (
    Column("item", share=1.2),
    Column("kind", share=1),
    Column("what it is", share=2.6),
    Column("listed as", share=1.4),
    Column("why", share=3),
)
_NOTHING = "None."


def changes(content: PackContent, places: Places) -> Section:
    """Make the list of changes since the last gate, worst first, and the reasons behind them."""
    previous = content.cover.previous
    first = Note("This is the first baseline: there is nothing to compare with.")
    reasons = {line.revision: line for each in content.changes for line in each.reasons}
    listed = (
        _listed("Worst first", _CHANGES, [_change(each, places) for each in content.changes]),
        Table(
            caption="The changes behind them, by revision",
            columns=_REASONS,
            rows=tuple(_reason(reasons[each]) for each in sorted(reasons)),
            anchors=tuple(_revision(each) for each in sorted(reasons)),
        ),
    )
    return Section(
        anchor="changes",
        title=f"Changes since {previous}" if previous else "Changes",
        own_page=True,
        blocks=shown(listed) if previous else (first,),
    )


def _revision(number: int) -> str:
    return anchor("revision", str(number))


def _listed(caption: str, columns: tuple[Column, ...], rows: list[tuple[Cell, ...]]) -> Block:
    return Table(caption=caption, columns=columns, rows=tuple(rows)) if rows else Note(_NOTHING)


def _change(each: PackChange, places: Places) -> tuple[Cell, ...]:
    return (
        places.link(each.key),
        Sign(each.consequence) if each.consequence in SIGNS else Text(each.consequence),
        Text(each.title),
        Text("\n".join(each.words)),
        Links(tuple(Link(str(line.revision), _revision(line.revision)) for line in each.reasons)),
    )


def _reason(line: PackHistory) -> tuple[Cell, ...]:
    return (Text(str(line.revision)), moment(line.at), Text(line.author), Text(line.reason))


def open_points(content: PackContent, places: Places) -> Iterator[Section]:
    """Make the pages of deviations, risks, actions and evidence."""
    deviations = {each.key: _deviation(each, places) for each in content.deviations}
    yield _kept("Deviations", _DEVIATIONS, deviations, places)
    risks = {each.key: _risk(each, places) for each in content.risks}
    yield _kept("Risks", _RISKS, risks, places)
    actions = {each.key: _action(each, places) for each in content.actions}
    yield _kept("Actions", _ACTIONS, actions, places)
    evidence = {each.key: _evidence(each, places) for each in content.evidence}
    yield _kept("Evidence", _EVIDENCE, evidence, places)


def _kept(
    title: str,
    columns: tuple[Column, ...],
    rows: Mapping[str, tuple[Cell, ...]],
    places: Places,
) -> Section:
    """Make the section of one kind of items, each row named after its item."""
    table = Table(
        caption=f"All {title.lower()}",
        columns=columns,
        rows=tuple(rows.values()),
        anchors=tuple(places.anchors[each] for each in rows),
    )
    return Section(
        anchor=title.lower(),
        title=title,
        own_page=title == "Deviations",
        blocks=shown((table,)) or (Note(_NOTHING),),
    )


def _deviation(each: PackDeviation, places: Places) -> tuple[Cell, ...]:
    extent = (each.extent, each.allowed and f"allowed: {each.allowed}")
    return (
        Text(each.key),
        places.links((each.requirement, each.decision)),
        Sign(each.state),
        Text(each.reason),
        Text("\n".join(filter(None, extent))),
        Text(each.consequences),
        Text(each.approver),
        Text(each.expires),
    )


def _risk(each: PackRisk, places: Places) -> tuple[Cell, ...]:
    return (
        Text(each.key),
        Text(each.title),
        Text(each.likelihood),
        Text(each.consequence),
        Text(each.response),
        Text(each.owner),
        Text(each.gate),
        places.links(each.about),
        Text(each.closed),
    )


def _action(each: PackAction, places: Places) -> tuple[Cell, ...]:
    closed = f"{each.closed_on}: {each.closed}" if each.closed else "open"
    return (
        Text(each.key),
        Text(each.title),
        Text(each.owner),
        Text(each.gate),
        places.links(each.about),
        Text(closed),
    )


def _evidence(each: PackEvidence, places: Places) -> tuple[Cell, ...]:
    return (
        Text(each.key),
        Text(each.title),
        Sign(each.state),
        Text(each.place),
        Text(each.sha256),
        Text(each.dated),
        places.links(each.about),
        Text(each.note),
    )


def unchecked(content: PackContent, places: Places) -> Section:
    """Make the list of what no check has shown."""
    rows = [_unchecked(each, places) for each in content.unchecked]
    return Section(
        anchor="not-checked",
        title="What was not checked",
        own_page=True,
        blocks=(
            Note(content.cover.caution, caution=True),
            _listed("What no check has shown", _UNCHECKED, rows),
        ),
    )


def _unchecked(each: PackUnchecked, places: Places) -> tuple[Cell, ...]:
    return (
        places.link(each.key),
        Text(each.kind),
        Text(each.title),
        Text(each.about),
        Text(each.why),
    )
