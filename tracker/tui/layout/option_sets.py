"""Which combinations of open options are alive, what rules an option out, and the best ones."""

from __future__ import annotations

from collections.abc import Mapping

from tracker.services.set_views import KilledView, OpenDecisionView, SetsView, SetView, ShareView
from tracker.tui.layout.asking import item_of
from tracker.tui.layout.bars import share_bar
from tracker.tui.layout.paper import Cell, Paper, tone_of

__all__ = ["set_at", "sets_lines"]

_MOST_CONFLICTS = 4
_OPTION, _BAR, _COUNT = 20, 12, 22
_SIGN = 13
Reasons = Mapping[tuple[str, str], KilledView]


def sets_lines(paper: Paper, view: SetsView) -> None:
    """Lay option sets out: how many are alive, the best, and each decision's options."""
    tone = "good" if view.count else "bad"
    alive = f"{_number(view.count)} of {_number(view.total)} combinations are alive"
    meets = "these meet every requirement" if view.count else "each misses a requirement"
    paper.text(f"{alive}: {meets} that depends on them.", tone)
    paper.text(f"{_number(view.evaluated)} evaluated to know that", "quiet")
    if view.sets:
        paper.head(f"Best, by {view.goal}: Enter takes one into the trial")
    for place, each in enumerate(view.sets):
        _set(paper, place, each)
    reasons = {(each.decision, each.option): each for each in view.killed}
    dead = ", ".join(key for each in view.groups if not each.count for key in each.decisions)
    for decision in view.decisions:
        _decision(paper, decision, view.count, reasons, dead)
    _groups(paper, view)
    if view.beside:
        paper.head("No choice here changes these")
    for beside in view.beside:
        paper.row(
            Cell(paper.face.sign(beside.verdict), _SIGN, tone_of(beside.verdict)),
            Cell(beside.requirement, max(paper.width - _SIGN, 0), "key"),
            target=item_of(beside.requirement),
        )


def set_at(view: SetsView, target: str) -> SetView | None:
    """Return the combination a line stands for; None for any other line."""
    number = target.removeprefix("=")
    return view.sets[int(number)] if target.startswith("=") else None


def _number(count: int) -> str:
    return f"{count:,}".replace(",", " ")


def _set(paper: Paper, place: int, each: SetView) -> None:
    options = ", ".join(f"{decision}/{option}" for decision, option in each.options.items())
    paper.text(f"{place + 1}. {options}", "strong", target=f"={place}")
    margin = "" if each.margin is None else f"least margin {100 * each.margin:.3g} %"
    told = [each.text, f"{margin} on {each.closest}" if each.closest else margin]
    paper.text("; ".join(part for part in told if part), "quiet", indent=3)


def _decision(
    paper: Paper, decision: OpenDecisionView, count: int, reasons: Reasons, dead: str
) -> None:
    paper.gap()
    paper.text(f"{decision.key} ({decision.state})", "key", target=decision.key)
    paper.text(decision.question, indent=2)
    for each in decision.options:
        killed = reasons.get((decision.key, each.option))
        _option(paper, each, count, killed, dead)


def _option(
    paper: Paper, each: ShareView, count: int, killed: KilledView | None, dead: str
) -> None:
    if killed is not None:
        told, tone = paper.face.symbol("missed") + " in none", "bad"
    elif each.count:
        told, tone = f"in {_number(each.count)}", ""
    else:
        told, tone = f"in {_number(each.group_count)} of its group", "near"
    rest = paper.width - 2 - _OPTION - _BAR - _COUNT - 1
    paper.row(
        Cell("", 2),
        Cell(each.option, _OPTION),
        Cell(share_bar(each.count, count, _BAR, paper.face), _BAR),
        Cell("", 1),
        Cell(told, _COUNT, tone),
        Cell(each.title, max(rest, 0), "quiet"),
    )
    if killed is not None:
        _reason(paper, killed)
    elif not each.count and dead:
        paper.text(f"but nothing is left of {dead}", "near", indent=4)


def _reason(paper: Paper, killed: KilledView) -> None:
    for each in killed.conflicts[:_MOST_CONFLICTS]:
        paper.text(each.words, "bad", indent=4, target=item_of(each.requirement))
    more = len(killed.conflicts) - _MOST_CONFLICTS
    more = max(more, 0) + killed.left_out
    if more:
        paper.text(f"and {more} more", "quiet", indent=4)
    if not killed.smallest:
        paper.text("fewer decisions may be enough to rule it out", "quiet", indent=4)


def _groups(paper: Paper, view: SetsView) -> None:
    if len(view.groups) < 2:  # noqa: PLR2004 - one group is all there is
        return
    paper.head("Independent of each other")
    for each in view.groups:
        told = f"{_number(each.count)} of {_number(each.total)}"
        paper.text(f"{told}: {', '.join(each.decisions)}", target=each.decisions[0])
