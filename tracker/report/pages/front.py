"""Cover and readiness of a gate pack."""

from __future__ import annotations

from tracker.report.document import Block, Cell, Column, Note, Section, Sign, Table, Text
from tracker.report.pages.cells import Places, facts, moment
from tracker.services.packs.views import PackContent, PackCover, PackCriterion, PackOffender

__all__ = ["cover", "readiness", "running"]

_CRITERIA = (
    Column("criterion", share=4),
    Column("asked for", share=1),
    Column("result", share=1.2),
    Column("items in the way", share=1),
)
_OFFENDERS = (
    Column("item", share=1.2),
    Column("kind", share=1),
    Column("what it is", share=3),
    Column("why", share=3),
)


def running(cover: PackCover) -> str:
    """Return what stands on every page."""
    return f"baseline {cover.baseline} · revision {cover.revision} · head {cover.head}"


def cover(found: PackCover) -> tuple[Block, ...]:
    """Make the cover: scope, state, and what it stands on."""
    previous = (
        f"{found.previous} (revision {found.previous_revision})" if found.previous else "none"
    )
    return (
        facts(
            ("gate", f"{found.gate}: {found.gate_title}"),
            ("gate date", found.gate_date),
            ("result", "ready" if found.ready else "not ready"),
            ("scope", found.scope),
            ("baseline", found.baseline),
            ("frozen at", moment(found.frozen_at)),
            ("frozen by", found.author),
            ("reason", found.reason),
            ("revision", str(found.revision)),
            ("head hash", found.head),
            ("changes since", previous),
            ("money", found.currency),
            ("computed numbers", f"{found.digits} significant digits"),
            ("made with", _versions(found)),
        ),
    )


def _versions(found: PackCover) -> str:
    return ", ".join(f"{each.name} {each.version}" for each in found.versions)


def readiness(content: PackContent, places: Places) -> Section:
    """Make the readiness page: every criterion, and every item in its way."""
    state = (
        "Every criterion is met or set aside."
        if content.cover.ready
        else ("The gate is not ready: at least one criterion is not met.")
    )
    return Section(
        anchor="readiness",
        title="Readiness",
        own_page=True,
        blocks=(
            Note(state),
            Table(
                caption="Criteria of the gate",
                columns=_CRITERIA,
                rows=tuple(_criterion(each) for each in content.criteria),
            ),
            *(_offenders(each, places) for each in content.criteria if each.offenders),
        ),
    )


def _criterion(each: PackCriterion) -> tuple[Cell, ...]:
    count = str(len(each.offenders)) if each.offenders else "none"
    return (Text(each.title), Text(each.setting), Sign(each.result), Text(count))


def _offenders(criterion: PackCriterion, places: Places) -> Table:
    return Table(
        caption=f"In the way of: {criterion.title}",
        columns=_OFFENDERS,
        rows=tuple(_offender(each, places) for each in criterion.offenders),
    )


def _offender(each: PackOffender, places: Places) -> tuple[Cell, ...]:
    return (places.link(each.key), Text(each.kind), Text(each.title), Text(each.why))
