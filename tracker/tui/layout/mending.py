"""What would make decisions stand again: proposals with what they cost and do."""

from __future__ import annotations

from tracker.services.mending_views import MendedView, MendView, ProposalView
from tracker.tui.layout.paper import Cell, Paper, tone_of

__all__ = ["mending_lines"]

_LABEL, _SIGN = 10, 13


def mending_lines(paper: Paper, view: MendView) -> None:
    """Lay mendings out, each under its decision; choosing one takes it into the trial."""
    if not view.decisions:
        paper.text("Nothing is broken.", "good")
        return
    if any(each.proposals for each in view.decisions):
        paper.text("Enter takes a proposal into the trial; nothing is stored.", "quiet")
    for number, each in enumerate(view.decisions):
        _mended(paper, number, each)


def _mended(paper: Paper, number: int, each: MendedView) -> None:
    paper.gap()
    paper.row(
        Cell(paper.face.sign(each.standing), _SIGN, tone_of(each.standing)),
        Cell(each.decision, max(paper.width - _SIGN, 0), "key"),
        target=each.decision,
    )
    if each.why:
        paper.text(each.why, indent=2)
    if each.stands:
        paper.text("There is nothing to mend.", "good", indent=2)
        return
    if not each.mended:
        paper.text("It cannot be mended within the adjustable ranges.", "bad", indent=2)
    for place, proposal in enumerate(each.proposals):
        _proposal(paper, f"={number}/{place}", place + 1, proposal)
    paper.text(_tried(each), "quiet", indent=2)


def _proposal(paper: Paper, target: str, place: int, each: ProposalView) -> None:
    paper.text(f"{place}. {_edits(each)}", "strong", indent=2, target=target)
    money = f", {100 * each.money:.3g} % of a budget in it" if each.money else ""
    for label, text, tone in (
        ("costs", f"{each.cost:.3g}{money}; {_surety(each)}", ""),
        ("restores", ", ".join(each.restores), "good"),
        ("breaks", ", ".join(each.breaks), "bad"),
        ("worsens", _worse(each), "near"),
        ("look at", ", ".join(each.look), "moved"),
    ):
        if text:
            _labelled(paper, label, text, tone)


def _labelled(paper: Paper, label: str, text: str, tone: str) -> None:
    for piece in paper.face.wrap(text, paper.width - 5 - _LABEL):
        paper.row(
            Cell("", 5),
            Cell(label, _LABEL, "quiet"),
            Cell(piece, paper.width - 5 - _LABEL, tone),
        )
        label = ""


def _edits(each: ProposalView) -> str:
    return "; ".join(
        f"{one.key} {one.before_text} → {one.after_text} {one.unit}".rstrip() for one in each.edits
    )


def _worse(each: ProposalView) -> str:
    return "; ".join(
        f"{one.judge} {one.before} → {one.after} at {one.text}" for one in each.worsens
    )


def _surety(each: ProposalView) -> str:
    if each.leans:
        return "another option"
    if each.proven:
        return "proven: no smaller move of it mends"
    if len(each.edits) > 1:
        return "a pair, not proven to be the smallest"
    return "the nearest found, not proven to be the nearest"


def _tried(each: MendedView) -> str:
    ranges = ", ".join(
        f"{one.key} {one.low:.6g} to {one.high:.6g} {one.unit}".rstrip() for one in each.ranges
    )
    numbers = f"Moved: {ranges}" if ranges else "No adjustable number has a say in it"
    pairs = "; pairs of these" if each.paired else ""
    options = f"; {each.options} other options of undecided questions" if each.options else ""
    return f"{numbers}{pairs}{options}."
