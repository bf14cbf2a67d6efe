"""Option sets as text."""

from __future__ import annotations

from tracker.cli.page import Cell, Page
from tracker.services.set_views import KilledView, OpenDecisionView, SetsView, SetView

__all__ = ["sets_text"]

_MOST_CONFLICTS = 4
Reasons = dict[tuple[str, str], KilledView]


def sets_text(page: Page, view: SetsView) -> None:
    """Write which combinations are alive, and what rules an option out."""
    page.text(
        f"{_number(view.count)} of {_number(view.total)} combinations of open options meet every "
        f"requirement that depends on them ({_number(view.evaluated)} evaluated)."
    )
    reasons = {(each.decision, each.option): each for each in view.killed}
    dead = ", ".join(key for each in view.groups if not each.count for key in each.decisions)
    for decision in view.decisions:
        _decision(page, decision, reasons, dead)
    if len(view.groups) > 1:
        page.heading("Independent of each other")
        rows = [
            [f"{_number(each.count)} of {_number(each.total)}", ", ".join(each.decisions)]
            for each in view.groups
        ]
        page.rows(rows)
    if view.sets:
        page.heading("Best", view.goal)
        page.rows([_set(each, f"{place}.") for place, each in enumerate(view.sets, 1)])
    _beside(page, view)
    page.blank()
    page.text(view.caution)


def _number(count: int) -> str:
    return f"{count:,}".replace(",", " ")


def _decision(page: Page, decision: OpenDecisionView, reasons: Reasons, dead: str) -> None:
    page.heading(decision.key, decision.question)
    rows: list[list[Cell | str]] = []
    for each in decision.options:
        killed = reasons.get((decision.key, each.option))
        if killed is not None:
            rows.append([each.option, Cell("in none", "missed"), _why(killed)])
        elif each.count:
            rows.append([each.option, f"in {_number(each.count)}", ""])
        else:
            here = f"in {_number(each.group_count)} of its group"
            rows.append([each.option, here, f"but nothing is left of {dead}"])
    page.rows(rows)


def _why(killed: KilledView) -> str:
    words = [each.words for each in killed.conflicts[:_MOST_CONFLICTS]]
    more = len(killed.conflicts) - len(words) + killed.left_out
    if more:
        words.append(f"and {more} more")
    if not killed.smallest:
        words.append("fewer decisions may be enough to rule it out")
    return "; ".join(words)


def _set(each: SetView, place: str) -> list[Cell | str]:
    margin = "" if each.margin is None else f"margin {100 * each.margin:.3g} % on {each.closest}"
    options = ", ".join(f"{decision}/{option}" for decision, option in each.options.items())
    return [place, each.text, margin, options]


def _beside(page: Page, view: SetsView) -> None:
    if view.beside:
        page.heading("No choice here changes these")
        page.rows([[each.requirement, page.sign(each.verdict)] for each in view.beside])
