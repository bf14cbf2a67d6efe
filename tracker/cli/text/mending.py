"""Mendings, and why a verdict is missed, as text."""

from __future__ import annotations

import shlex
from collections.abc import Sequence

from tracker.cli.page import Cell, Page
from tracker.services.mending_views import (
    CauseView,
    EditView,
    MendedView,
    MendView,
    ProposalView,
    WhyView,
)

__all__ = ["mend_text", "why_text"]


def mend_text(page: Page, view: MendView) -> None:
    """Write what would mend each decision."""
    page.text("The smallest edits that make a decision stand again and break no other:")
    for each in view.decisions:
        _mended(page, each)
    if not view.decisions:
        page.text("Nothing is broken.", indent=2)
    page.blank()
    page.text(view.caution)


def _mended(page: Page, each: MendedView) -> None:
    page.heading(each.decision, f"{each.standing}: {each.why}" if each.why else each.standing)
    if each.stands:
        page.text("There is nothing to mend.", indent=2)
        return
    if not each.mended:
        page.text("It cannot be mended within the adjustable ranges.", indent=2, word="bold")
    for number, proposal in enumerate(each.proposals, start=1):
        _proposal(page, number, proposal)
    page.text(_tried(each), indent=2)


def _tried(each: MendedView) -> str:
    ranges = ", ".join(
        f"{one.key} {one.low:.6g} to {one.high:.6g} {one.unit}".rstrip() for one in each.ranges
    )
    numbers = f"Moved: {ranges}" if ranges else "No adjustable number has a say in it"
    pairs = "; pairs of these" if each.paired else ""
    options = f"; {each.options} other options of undecided questions" if each.options else ""
    return f"{numbers}{pairs}{options}."


def _proposal(page: Page, number: int, each: ProposalView) -> None:
    money = f", {100 * each.money:.3g} % of a budget in it" if each.money else ""
    page.text(f"{number}. costs {each.cost:.3g}{money}; {_surety(each)}", indent=2)
    rows: list[list[Cell | str]] = [["move" if each.values else "lean", _edits(each.edits)]]
    rows.append(["restores", ", ".join(each.restores)])
    rows += [["breaks", ", ".join(each.breaks)]] if each.breaks else []
    worse = [f"{one.judge} {one.before} → {one.after} at {one.text}" for one in each.worsens]
    rows += [["worsens", "; ".join(worse)]] if worse else []
    rows += [["look at", ", ".join(each.look)]] if each.look else []
    rows.append(["adopt", _command(each)])
    page.rows(rows, indent=5)


def _surety(each: ProposalView) -> str:
    if each.leans:
        return "another option"
    if each.proven:
        return "proven: no smaller move of it mends"
    if len(each.edits) > 1:
        return "a pair, not proven to be the smallest"
    return "the nearest found, not proven to be the nearest"


def _edits(edits: Sequence[EditView]) -> str:
    return "; ".join(
        f"{each.key} {each.before_text} → {each.after_text} {each.unit}".rstrip() for each in edits
    )


def _command(each: ProposalView) -> str:
    """Write the command that adopts a proposal, with every digit."""
    if each.leans:
        return "; ".join(f"whybone lean {one} {option}" for one, option in each.leans.items())
    values = " ".join(shlex.quote(f"{key}={value}") for key, value in each.values.items())
    return f"whybone set {values} --why …"


def why_text(page: Page, view: WhyView) -> None:
    """Write why a verdict is not met."""
    now = f"{view.text} {view.unit}".rstrip()
    page.text(f"{view.requirement}: {now}, required {view.required}: {view.verdict}.", word="bold")
    page.blank()
    if view.verdict in ("met", "tight"):
        page.text("There is nothing to explain.")
    elif view.met_at is None:
        page.text("It was never met.")
    else:
        _history(page, view)
    page.blank()
    page.text(view.caution)


def _history(page: Page, view: WhyView) -> None:
    page.text(f"Last met at revision {view.met_at}; then {view.broken_by}")
    for number, each in enumerate(view.sets):
        lead = "Or:" if number else "Put back, it would be met again:"
        page.heading(lead)
        page.rows([_cause(one) for one in each])
    if not view.sets:
        page.text("No values put back would have it met again.")
    elif not view.smallest:
        page.text("No part of these would do; a smaller set of others might.")
    page.text("Upstream differs since then: " + ", ".join(each.key for each in view.changed))
    if view.checks:
        page.text("Checks upstream that are new or bound otherwise: " + ", ".join(view.checks))


def _cause(each: CauseView) -> list[Cell | str]:
    return [each.key, f"{each.then} → {each.now} {each.unit}".rstrip()]
