"""What a trial would do, worst first, and what would mend it."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.services.change_views import Ripple
from tracker.services.mending_views import MendedView, MendView, ProposalView
from tracker.tui.face import Face
from tracker.tui.layout.findings import moved_finding
from tracker.tui.layout.paper import Cell, Fixed, Paper, tone_of

__all__ = ["MENDING", "proposal_at", "ripple_lines", "ripple_words"]

_SIGN, _KEY = 14, 18
MENDING = "=mend"
"""Target of the line that asks for what would mend it; keys of items hold no equals sign."""


def ripple_words(ripple: Ripple) -> str:
    """Say in one line what a change does to decisions."""
    groups = (
        ("breaks", ripple.broken),
        ("leaves unproven", ripple.unproven),
        ("strains", ripple.strained),
        ("restores", ripple.restored),
        ("asks another look at", ripple.look),
    )
    return "; ".join(f"{verb} {', '.join(keys)}" for verb, keys in groups if keys)


def ripple_lines(
    ripple: Ripple, width: int, face: Face, mended: MendView | None = None, looking: str = ""
) -> Fixed:
    """Lay out a ripple.

    Parameters
    ----------
    mended : MendView, optional
        What would mend what breaks, once it was looked for.
    looking : str
        How far looking for that has got.
    """
    paper = Paper(width, face)
    _decisions(paper, ripple)
    _look(paper, ripple.look)
    if looking:
        paper.head("What would mend it")
        paper.text(f"{looking}. Esc stops looking.", "quiet")
    elif mended is not None:
        _mended(paper, mended)
    elif ripple.broken:
        paper.gap()
        paper.text("ctrl+g looks for what would mend that", "key", target=MENDING)
    if ripple.findings:
        paper.head("Findings, before → after")
        for change in ripple.findings:
            moved_finding(paper, change)
    if ripple.quantities:
        paper.head("Quantities, before → after")
        for each in ripple.quantities:
            text = f"{each.before} → {each.after} {each.unit}".strip()
            paper.row(
                Cell(each.key, _KEY + _SIGN, "key"),
                Cell(text, width - _KEY - _SIGN),
                target=each.key,
            )
    paper.gap()
    paper.text(f"{ripple.ran} of {ripple.checks_total} checks run", "quiet")
    return paper.done()


def _decisions(paper: Paper, ripple: Ripple) -> None:
    paper.head("Decisions")
    why = {each.decision: each for each in ripple.standings}
    groups = (
        ("broken", "would break", ripple.broken),
        ("unproven", "would be unproven", ripple.unproven),
        ("strained", "would be strained", ripple.strained),
        ("stands", "would stand again", ripple.restored),
    )
    for word, verb, keys in groups:
        for key in keys:
            change = why.get(key)
            reason = f": {change.why}" if change and change.why else ""
            _decision(paper, change.after if change else word, key, verb + reason)
    if not any(keys for *_, keys in groups):
        paper.text("No decision changes its standing.", "quiet")


def _look(paper: Paper, keys: Sequence[str]) -> None:
    if keys:
        paper.head("Look again: settled, and their ground would shift")
    for key in keys:
        _decision(paper, "shifted", key, "would need another look")


def _decision(paper: Paper, sign: str, key: str, words: str) -> None:
    paper.row(
        Cell(paper.face.sign(sign), _SIGN, tone_of(sign)),
        Cell(key, _KEY - 1, "key"),
        Cell("", 1),
        Cell(words, paper.width - _SIGN - _KEY),
        target=key,
    )


def _mended(paper: Paper, view: MendView) -> None:
    paper.head("What would mend it: Enter takes one into the trial")
    for number, each in enumerate(view.decisions):
        if not each.mended:
            paper.text(f"{each.decision}: {_nothing(each)}", "quiet")
        for place, proposal in enumerate(each.proposals):
            _proposal(paper, f"={number}/{place}", proposal)


def _nothing(found: MendedView) -> str:
    tried = [f"{len(found.ranges)} numbers moved" if found.ranges else "no number may be moved"]
    tried += ["pairs of them too"] if found.paired else []
    tried += [f"{found.options} other options tried"] if found.options else []
    return f"nothing found beside what is tried ({', '.join(tried)})"


def _proposal(paper: Paper, target: str, proposal: ProposalView) -> None:
    edits = "; ".join(
        f"{each.key}: {each.before_text} → {each.after_text} {each.unit}".strip()
        for each in proposal.edits
    )
    proven = "" if proposal.proven else ", found by sampling"
    paper.text(f"{edits}  (cost {proposal.cost:.2f}{proven})", "key", indent=2, target=target)
    does = [
        f"{verb} {', '.join(keys)}"
        for verb, keys in (
            ("restores", proposal.restores),
            ("but breaks", proposal.breaks),
            ("asks another look at", proposal.look),
            ("worsens", [f"{each.judge} to {each.after}" for each in proposal.worsens]),
        )
        if keys
    ]
    paper.text("; ".join(does), "quiet", indent=4)


def proposal_at(view: MendView, target: str) -> ProposalView | None:
    """Return the proposal a line stands for; None for any other line."""
    number, slash, place = target.removeprefix("=").partition("/")
    if not (target.startswith("=") and slash):
        return None
    return view.decisions[int(number)].proposals[int(place)]
