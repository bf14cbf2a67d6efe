"""Cells and blocks that several pages use, and where things stand in a pack."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from tracker.contract.figure import Axis, Figure, FigureKind, Series
from tracker.report.document import (
    Band,
    Block,
    Cell,
    Column,
    ColumnKind,
    Drawing,
    Facts,
    Link,
    Links,
    Number,
    Paragraph,
    Section,
    Sign,
    Table,
    Text,
    anchor,
    cell_text,
)
from tracker.services.packs.parts import PackAxis, PackFigure, PackFinding, PackHistory, PackSeries
from tracker.services.packs.views import PackContent

__all__ = [
    "FINDING",
    "HISTORY",
    "Places",
    "facts",
    "figure_block",
    "finding_row",
    "finding_value",
    "history_row",
    "margin_cell",
    "moment",
    "shown",
    "titled",
]

FINDING = (
    Column("judged by", share=1.3),
    Column("required", share=1.5),
    Column("value", ColumnKind.NUMBER, share=1.2),
    Column("verdict", ColumnKind.SIGN, share=1.1),
    Column("margin", ColumnKind.NUMBER, share=1.5),
)
"""Columns of findings."""

HISTORY = (
    Column("revision", share=0.8),
    Column("when", share=1.5),
    Column("who", share=1.2),
    Column("what", share=3),
    Column("why", share=4),
)
"""Columns of a history."""


@dataclass(frozen=True, slots=True)
class Places:
    """Where the items of a pack stand: item key → anchor."""

    anchors: dict[str, str]

    @classmethod
    def of(cls, content: PackContent) -> Places:
        """Find where each item of a pack stands."""
        groups = (
            ("quantity", content.quantities),
            ("check", content.checks),
            ("evidence", content.evidence),
            ("action", content.actions),
            ("risk", content.risks),
            ("deviation", content.deviations),
            ("requirement", content.requirements),
            ("decision", content.decisions),
        )
        return cls({each.key: anchor(kind, each.key) for kind, held in groups for each in held})

    def link(self, key: str, text: str = "") -> Links:
        """Lead to an item; to nowhere where the pack does not hold it."""
        return self.links((key,), text)

    def links(self, keys: Iterable[str], text: str = "") -> Links:
        """Lead to several items."""
        return Links(tuple(Link(text or key, self.anchors.get(key, "")) for key in keys if key))

    def judge(self, finding: PackFinding) -> Links:
        """Lead to what judged a finding: its requirement, or the check that carries the rule."""
        key = finding.judge.partition(".")[0] if finding.rule else finding.judge
        return Links((Link(finding.judge, self.anchors.get(key, "")),))


def facts(*pairs: tuple[str, Cell | str]) -> Facts:
    """Make short fields of those that say something."""
    cells = ((label, Text(each) if isinstance(each, str) else each) for label, each in pairs)
    return Facts(tuple((label, cell) for label, cell in cells if cell not in (Text(""), Links(()))))


def shown(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """Drop blocks that have nothing to show, and columns of tables that have none."""
    empty = (Facts(()), Paragraph(""))
    kept = (_trimmed(each) if isinstance(each, Table) else each for each in blocks)
    return tuple(
        each
        for each in kept
        if each not in empty and not (isinstance(each, Table) and not each.rows)
    )


def _trimmed(table: Table) -> Table:
    """Leave out the columns, but for the first, in which no row says anything."""
    keep = [
        place
        for place in range(len(table.columns))
        if not place or any(cell_text(row[place]) for row in table.rows)
    ]
    return replace(
        table,
        columns=tuple(table.columns[place] for place in keep),
        rows=tuple(tuple(row[place] for place in keep) for row in table.rows),
    )


def titled(name: str, title: str, *blocks: Block) -> Iterator[Section]:
    """Make a section under a page, where it has anything to show."""
    held = shown(blocks)
    if held:
        yield Section(anchor=name, title=title, blocks=held, listed=False)


def finding_value(finding: PackFinding) -> Cell:
    """Show the value of a finding."""
    if isinstance(finding.value, int | float) and not isinstance(finding.value, bool):
        return Number(finding.text, finding.unit)
    return Text(f"{finding.text} {finding.unit}".rstrip())


def margin_cell(finding: PackFinding) -> Cell:
    """Show the margin in unit and percent, else why there is none, with the deviation if any."""
    text = finding.margin_text or finding.reason
    return Text(f"{text}; deviation {finding.deviation}" if finding.deviation else text)


def finding_row(places: Places, finding: PackFinding) -> tuple[Cell, ...]:
    """Show a finding in the columns `FINDING`."""
    return (
        places.judge(finding),
        Text(finding.required),
        finding_value(finding),
        Sign(finding.verdict),
        margin_cell(finding),
    )


def moment(at: str) -> Text:
    """Show an RFC 3339 moment of UTC; a line ends between date and time or not at all."""
    day, _, time = at.partition("T")
    return Text(f"{day} {time.removesuffix('Z')}\u00a0Z" if time else at)


def history_row(line: PackHistory) -> tuple[Cell, ...]:
    """Show a change in the columns `HISTORY`."""
    return (
        Text(str(line.revision)),
        moment(line.at),
        Text(line.author),
        Text("\n".join(line.what)),
        Text(line.reason),
    )


def figure_block(figure: PackFigure) -> Block:
    """Draw a figure, or list it where it is told in columns."""
    if figure.kind == FigureKind.LISTING:
        return _listing(figure)
    return Drawing(
        Figure(
            key=figure.key,
            title=f"{figure.title} ({figure.check}, revision {figure.revision})",
            kind=FigureKind(figure.kind),
            series=tuple(_series(each) for each in figure.series),
            across=_axis(figure.across),
            up=_axis(figure.up),
        ),
        (*_bands("across", figure.across), *_bands("up", figure.up)),
    )


def _axis(axis: PackAxis) -> Axis:
    return Axis(axis.title, axis.unit, now=axis.now)


def _bands(name: str, axis: PackAxis) -> Iterator[Band]:
    for each in axis.bands:
        yield Band(
            judge=each.judge, axis=name, lower=each.lower, upper=each.upper, verdict=each.verdict
        )


def _series(series: PackSeries) -> Series:
    return Series(
        title=series.title,
        x=tuple(math.nan if each is None else each for each in series.x),
        y=tuple(math.nan if each is None else each for each in series.y),
        labels=series.labels,
        closed=series.closed,
    )


def _listing(figure: PackFigure) -> Table:
    count = min((len(each.labels) for each in figure.series), default=0)
    return Table(
        caption=f"{figure.title} ({figure.check}, revision {figure.revision})",
        columns=tuple(Column(each.title) for each in figure.series),
        rows=tuple(tuple(Text(each.labels[row]) for each in figure.series) for row in range(count)),
    )
