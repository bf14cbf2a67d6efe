"""Matrix, verdicts, values and checks of a gate pack."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.model.values import Value
from tracker.report.document import (
    Block,
    Cell,
    Column,
    ColumnKind,
    Note,
    Number,
    Section,
    Sign,
    Table,
    Text,
)
from tracker.report.pages.cells import (
    FINDING,
    Places,
    facts,
    finding_row,
    finding_value,
    margin_cell,
    shown,
)
from tracker.services.packs.views import (
    PackCheck,
    PackContent,
    PackLink,
    PackQuantity,
    PackRequirement,
)

__all__ = ["checks", "matrix", "requirements", "values"]

_MATRIX = (
    Column("requirement", share=1.2),
    Column("decision", share=1),
    Column("quantity", share=1.6),
    Column("check", share=1.2),
    Column("source of the value", share=1.4),
    Column("verdict", ColumnKind.SIGN, share=1),
)
_VERDICTS = (
    Column("requirement", share=1.2),
    Column("statement", share=3),
    Column("required", share=1.4),
    Column("value", ColumnKind.NUMBER, share=1.2),
    Column("verdict", ColumnKind.SIGN, share=1.2),
    Column("margin", ColumnKind.NUMBER, share=1.6),
)
_DUTIES = (
    Column("requirement", share=1.2),
    Column("owner", share=1.2),
    Column("due at", share=0.8),
    Column("verified by", share=1.2),
    Column("priority", share=0.9),
    Column("from", share=1.4),
    Column("why and at what risk", share=2.4),
    Column("evidence", share=1),
)
_VALUES = (
    Column("quantity", share=1.4),
    Column("title", share=2.2),
    Column("value", ColumnKind.NUMBER, share=1.4),
    Column("source", share=1.4),
    Column("basis", share=1),
    Column("reference", share=2),
)
_PORTS = (Column("port", share=1.4), Column("bound to", share=3), Column("side", share=0.6))


def matrix(content: PackContent, places: Places) -> Section:
    """Make the matrix: requirement → decision → quantity → check."""
    return Section(
        anchor="matrix",
        title="Matrix: requirement, decision, quantity, check",
        own_page=True,
        blocks=(
            Table(
                caption="What serves, what is judged, what computes it",
                columns=_MATRIX,
                rows=tuple(_link(each, places) for each in content.matrix),
            ),
        ),
    )


def _link(each: PackLink, places: Places) -> tuple[Cell, ...]:
    item = each.quantity.partition(".")[0].partition("[")[0]
    return (
        places.link(each.requirement),
        places.link(each.decision) if each.decision else Text("none serves it"),
        places.link(item, each.quantity),
        places.link(each.check),
        Text(each.source),
        Sign(each.verdict),
    )


def requirements(content: PackContent, places: Places) -> Section:
    """Make the verdicts: every requirement and every rule, with margin in unit and percent."""
    return Section(
        anchor="verdicts",
        title="Requirements and verdicts",
        own_page=True,
        blocks=shown(
            (
                Table(
                    caption="Every requirement with its verdict",
                    columns=_VERDICTS,
                    rows=tuple(_verdict(each) for each in content.requirements),
                    anchors=tuple(places.anchors[each.key] for each in content.requirements),
                ),
                Table(
                    caption="Rules the checks carry themselves",
                    columns=FINDING,
                    rows=tuple(finding_row(places, each) for each in content.rules),
                ),
                Table(
                    caption="Who answers for the requirements, and where they come from",
                    columns=_DUTIES,
                    rows=tuple(_duty(each, places) for each in content.requirements),
                ),
            )
        ),
    )


def _verdict(each: PackRequirement) -> tuple[Cell, ...]:
    found = each.finding
    return (
        Text(each.key),
        Text(each.statement),
        Text(found.required),
        finding_value(found),
        Sign(found.verdict),
        margin_cell(found),
    )


def _duty(each: PackRequirement, places: Places) -> tuple[Cell, ...]:
    origin = [each.source, *(f"derives from {parent}" for parent in each.parents)]
    return (
        places.link(each.key),
        Text(each.owner),
        Text(each.gate),
        Text(each.verification),
        Text(each.priority),
        Text("\n".join(filter(None, origin))),
        Text("\n".join(filter(None, (each.rationale, each.risk)))),
        places.links(each.evidence),
    )


def values(content: PackContent, places: Places) -> Section:
    """Make the list of values, with where each comes from and how well it is known."""
    return Section(
        anchor="values",
        title="Values",
        own_page=True,
        blocks=shown(
            (
                Table(
                    caption="Every quantity",
                    columns=_VALUES,
                    rows=tuple(_value(each) for each in content.quantities),
                    anchors=tuple(places.anchors[each.key] for each in content.quantities),
                ),
                *(_rows(each) for each in content.quantities if each.columns),
            )
        ),
    )


def _value(each: PackQuantity) -> tuple[Cell, ...]:
    value: Cell = Number(f"{each.text} {each.unit}".rstrip())
    if each.value is None:
        value = Text(f"{each.text}: {each.reason}" if each.reason else each.text)
    more = (each.basis_source, each.dated, each.tolerance and f"tolerance {each.tolerance}")
    return (
        Text(each.key),
        Text(each.title),
        value,
        Text(each.source),
        Text(each.basis),
        Text("; ".join(filter(None, more))),
    )


def _rows(each: PackQuantity) -> Table:
    heads = (f"{name} [{unit}]" if unit else name for name, unit in each.columns)
    rows = each.value if isinstance(each.value, tuple) else ()
    return Table(
        caption=f"Rows of {each.key}: {each.title}",
        columns=tuple(Column(head) for head in heads),
        rows=tuple(
            tuple(Text(_plain(cell)) for cell in row) for row in rows if isinstance(row, tuple)
        ),
    )


def _plain(cell: Value) -> str:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return f"{cell:.6g}" if isinstance(cell, float) else str(cell)


def checks(content: PackContent, places: Places) -> Section:
    """Make the list of checks: method, sources, cautions, and what each is bound to."""
    return Section(
        anchor="checks",
        title="Checks and their limits",
        own_page=True,
        sections=tuple(
            Section(
                anchor=places.anchors[each.key],
                title=f"{each.key}: {each.title}" if each.title else each.key,
                blocks=shown(_check(each, places)),
                listed=False,
            )
            for each in content.checks
        ),
    )


def _check(each: PackCheck, places: Places) -> Iterator[Block]:
    yield facts(
        ("check", f"{each.check} {each.version}".rstrip()),
        ("state", Sign(each.state)),
        ("because", each.message),
        ("under", places.link(each.decision)),
        ("purpose", each.purpose),
        *(("source", source) for source in each.sources),
        ("last changed", f"revision {each.revision}"),
    )
    if each.cautions:
        yield Note("\n".join(each.cautions), caution=True)
    sides = (("in", each.inputs), ("out", each.outputs))
    yield Table(
        caption=f"What {each.key} is bound to",
        columns=_PORTS,
        rows=tuple(
            (Text(port.port), Text(port.bound), Text(side)) for side, held in sides for port in held
        ),
    )
