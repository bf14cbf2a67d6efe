"""Ripples, receipts, the journal, comparisons and audits as text."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.cli.page import Cell, Page
from tracker.cli.text.status import required_text, value_and_unit
from tracker.services.change_views import (
    Committed,
    Comparison,
    FindingChange,
    ItemChange,
    JournalPage,
    Ripple,
    StandingChange,
)
from tracker.services.ports import AuditReport
from tracker.services.views import FindingView

__all__ = [
    "audit_text",
    "committed_text",
    "comparison_text",
    "journal_text",
    "ripple_text",
]

_SHORT_HASH = 12


def ripple_text(page: Page, view: Ripple) -> None:
    """Write what a trial would do."""
    page.text("Tried, not stored:", word="bold")
    _edits(page, view.edits)
    _effects(page, view)
    page.blank()
    page.text(f"{view.ran} of {view.checks_total} checks ran.")
    page.text(view.caution)


def committed_text(page: Page, view: Committed) -> None:
    """Write the receipt of a stored change."""
    page.text(f"Stored as revision {view.revision}, head {view.hash[:_SHORT_HASH]}:", word="bold")
    _edits(page, view.what)
    ripple = view.ripple
    if ripple is not None:
        _effects(page, ripple)
        if ripple.findings or ripple.standings:
            page.blank()
            page.text(ripple.caution)


def _edits(page: Page, edits: Sequence[str]) -> None:
    for each in edits:
        page.text(each, indent=2)


def _effects(page: Page, view: Ripple) -> None:
    _standings(page, view.standings)
    if view.look:
        page.heading("Shifted: settled decisions that want another look")
        page.rows([[page.sign("shifted"), each] for each in view.look])
    _findings(page, view.findings)
    moved = [each for each in view.quantities if each.before != each.after]
    if moved:
        page.heading("Values")
        page.rows([[e.key, f"{e.before} → {e.after} {e.unit}".rstrip()] for e in moved])
    if not (view.standings or view.look or view.findings or moved):
        page.blank()
        page.text("No verdict, standing or computed value changes.")


def _standings(page: Page, changes: Sequence[StandingChange]) -> None:
    if changes:
        page.heading("Decisions")
        page.rows([_standing(page, each) for each in changes], fold=2)


def _standing(page: Page, change: StandingChange) -> list[Cell | str]:
    sign = page.sign(change.after) if change.after else "withdrawn"
    before = f"was {change.before}" if change.before else "new"
    return [sign, change.decision, before, change.why]


def _findings(page: Page, changes: Sequence[FindingChange]) -> None:
    if changes:
        page.heading("Findings")
        page.rows([_finding(page, each) for each in changes], fold=2)


def _finding(page: Page, change: FindingChange) -> list[Cell | str]:
    after = change.after
    if after is None:
        return ["gone", change.judge, "", "", "was " + _short(change.before)]
    return [
        page.sign(after.verdict),
        change.judge,
        value_and_unit(after),
        after.reason or f"{required_text(after)}  {after.distance_text}".rstrip(),
        f"was {_short(change.before)}" if change.before else "new",
    ]


def _short(finding: FindingView | None) -> str:
    return "" if finding is None else f"{finding.verdict} at {value_and_unit(finding)}"


def journal_text(page: Page, view: JournalPage) -> None:
    """Write a stretch of the journal, newest first."""
    page.text(f"Journal to revision {view.revision}, head {view.head[:_SHORT_HASH]}", word="bold")
    rows: list[list[Cell | str]] = []
    for each in view.lines:
        tail = f" (undoes {each.undoes})" if each.undoes else ""
        head = f"{each.at}  {each.author}: {each.reason}{tail}"
        rows.append([Cell(str(each.revision), "bold"), each.hash[:_SHORT_HASH], head])
        rows.extend(["", "", what] for what in each.what)
    page.rows(rows, fold=2)


def comparison_text(page: Page, view: Comparison) -> None:
    """Write what differs between two revisions."""
    page.text(f"Revision {view.earlier} → revision {view.later}", word="bold")
    _standings(page, view.standings)
    _findings(page, view.findings)
    if view.items:
        page.heading("Items, worst first")
        for each in view.items:
            _item(page, each)
    if not (view.standings or view.findings or view.items):
        page.text("Nothing differs.")
    page.blank()
    page.text(view.caution)


def _item(page: Page, change: ItemChange) -> None:
    page.text(f"{change.consequence}  {change.kind} {change.key}", indent=2, word="bold")
    for each in change.what:
        page.text(each, indent=4)
    for line in change.reasons:
        page.text(f"revision {line.revision}, {line.author}: {line.reason}", indent=6)


def audit_text(page: Page, report: AuditReport) -> None:
    """Write what an audit found."""
    if report.ok:
        page.text(f"{report.revisions} revisions hold, head {report.head}")
        return
    page.text("The store does not hold:", word="broken")
    for each in report.problems:
        page.text(each, indent=2)
    page.text(f"{report.revisions} revisions found, head {report.head}")
