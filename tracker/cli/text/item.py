"""An item's page as text."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.cli.page import Cell, Page
from tracker.cli.text.status import required_text, value_and_unit
from tracker.services.run_views import run_facts
from tracker.services.views import (
    FindingView,
    HistoryLine,
    ItemPage,
    LinkView,
    OptionView,
)
from tracker.services.wording import CAUTION

__all__ = ["history_rows", "item_text"]


def item_text(page: Page, view: ItemPage) -> None:
    """Write one item with its whole why."""
    head = page.sign(view.sign, "shifted" if view.shifted else "") if view.sign else Cell("")
    page.text(f"{view.kind} {view.key}  {head.text}".rstrip(), word=head.word or "bold")
    page.text(view.title)
    page.blank()
    facts = (*view.facts, *run_facts(view.ran))
    page.rows([[f"{label}:", text] for label, text in facts], indent=0)
    for heading, text in view.paragraphs:
        page.heading(heading.capitalize())
        page.text(text, indent=2)
    if view.shifts:
        page.heading("Shifted since it was settled")
        page.rows([[e.what, f"{e.before} → {e.after}"] for e in view.shifts])
    if view.findings:
        page.heading("Findings")
        page.rows([_finding(page, each) for each in view.findings], fold=2)
    for option in view.options:
        _option(page, option)
    _links(page, "Stands on", view.upstream)
    _links(page, "Bears", view.downstream)
    if view.figures:
        page.heading("Figures")
        page.rows([[each.title] for each in view.figures])
    page.heading("History")
    page.rows(history_rows(view.history), fold=1)
    _cautions(page, view.cautions)


def _finding(page: Page, finding: FindingView) -> list[Cell | str]:
    return [
        page.sign(finding.verdict),
        finding.judge,
        value_and_unit(finding),
        required_text(finding),
        finding.reason or finding.distance_text or finding.statement,
    ]


def _option(page: Page, option: OptionView) -> None:
    mark = " (applied)" if option.chosen else ""
    sign = page.look.sign(option.standing) if option.standing else ""
    page.heading(f"Option {option.key}{mark}: {option.title}", sign)
    if option.notes:
        page.text(option.notes, indent=2)
    page.rows(
        [[_set_by(each.quantity), each.text, each.basis, each.source] for each in option.settings]
    )
    page.rows([_finding(page, each) for each in option.findings], fold=2)
    if option.against:
        page.rows([["against it:", option.against]])


def _set_by(quantity: str) -> str:
    return f"{quantity} ="


def _links(page: Page, heading: str, links: Sequence[LinkView]) -> None:
    if links:
        page.heading(heading)
        page.rows([[e.key, e.role, e.text, e.title] for e in links], fold=1)


def history_rows(lines: Sequence[HistoryLine]) -> list[list[str]]:
    """Return the changes that touched an item as rows, two to a change."""
    rows = []
    for each in lines:
        rows.append([str(each.revision), each.at, each.author, "; ".join(each.what)])
        rows.append(["", "", "", f"because: {each.reason}"])
    return rows


def _cautions(page: Page, cautions: Sequence[str]) -> None:
    page.blank()
    for each in cautions or (CAUTION,):
        page.text(each)
