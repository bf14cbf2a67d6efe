"""A gate pack as a document."""

from __future__ import annotations

from tracker.report.document import (
    Cell,
    Column,
    ColumnKind,
    Document,
    Section,
    Sign,
    Signatures,
    Table,
    Text,
)
from tracker.report.pages.cells import Places
from tracker.report.pages.decision import decision_section
from tracker.report.pages.front import cover, readiness, running
from tracker.report.pages.open_points import changes, open_points, unchecked
from tracker.report.pages.verdicts import checks, matrix, requirements, values
from tracker.services.packs.views import PackContent, PackDecision

__all__ = ["pack_document"]

_DECISIONS = (
    Column("decision", share=1),
    Column("question", share=3),
    Column("state", share=1),
    Column("chosen", share=1),
    Column("standing", ColumnKind.SIGN, share=1.2),
    Column("because", share=2.4),
    Column("owner", share=1.2),
    Column("due at", share=0.8),
)


def pack_document(content: PackContent) -> Document:
    """Lay a gate pack out: the whole of it, in the order it is walked through at the gate."""
    places = Places.of(content)
    return Document(
        title=f"{content.cover.title}, gate {content.cover.gate}",
        kind="Gate pack",
        running=running(content.cover),
        caution=content.cover.caution,
        moment=content.cover.frozen_at,
        front=cover(content.cover),
        sections=(
            readiness(content, places),
            matrix(content, places),
            requirements(content, places),
            _decisions(content, places),
            changes(content, places),
            *open_points(content, places),
            unchecked(content, places),
            values(content, places),
            checks(content, places),
            _signatures(content),
        ),
    )


def _decisions(content: PackContent, places: Places) -> Section:
    return Section(
        anchor="decisions",
        title="Decisions",
        own_page=True,
        blocks=(
            Table(
                caption="Every decision at a glance",
                columns=_DECISIONS,
                rows=tuple(_line(each, places) for each in content.decisions),
            ),
        ),
        sections=tuple(decision_section(places, each) for each in content.decisions),
    )


def _line(each: PackDecision, places: Places) -> tuple[Cell, ...]:
    state = f"{each.state}, shifted" if each.shifted else each.state
    return (
        places.link(each.key),
        Text(each.question),
        Text(state),
        Text(each.chosen),
        Sign(each.standing) if each.standing else Text(""),
        Text(each.why),
        Text(each.owner),
        Text(each.gate),
    )


def _signatures(content: PackContent) -> Section:
    roles = tuple(f"{each.role}: {each.meaning}" for each in content.signatures)
    return Section(
        anchor="signatures", title="Signatures", own_page=True, blocks=(Signatures(roles),)
    )
