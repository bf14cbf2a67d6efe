"""The opening page and the lists as text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from tracker.cli.page import Cell, Page
from tracker.services.views import (
    CheckLine,
    DecisionLine,
    FindingView,
    Listing,
    Overview,
    RequirementLine,
)
from tracker.services.wording import CAUTION

__all__ = ["listing_text", "ranked", "required_text", "status_text", "value_and_unit"]

_SHORT_HASH = 12
_DECISIONS = ("broken", "unproven", "strained", "stands", "")
_VERDICTS = ("missed", "unknown", "tight", "met")
_CHECKS = ("failed", "unbound", "waiting", "current")


def value_and_unit(finding: FindingView) -> str:
    """Write a judged value with its unit."""
    return finding.text if finding.value is None else f"{finding.text} {finding.unit}".rstrip()


def required_text(finding: FindingView) -> str:
    """Write what is asked of a value."""
    bounded = finding.lower is not None or finding.upper is not None
    return finding.required if bounded else f"must be {finding.required}"


def _counted(words: Sequence[str], order: Sequence[str]) -> str:
    counts = Counter(words)
    return ", ".join(f"{each} {counts[each]}" for each in order if each and counts[each])


def status_text(page: Page, view: Overview) -> None:
    """Write what stands, what is broken or shifted, what is due."""
    page.text(view.title, word="bold")
    page.text(f"{view.store}, revision {view.revision}, head {view.head[:_SHORT_HASH]}")
    _decisions(page, view.decisions)
    _requirements(page, view.requirements)
    _due(page, view)
    _checks(page, view.checks)
    page.blank()
    page.text(view.caution)


def _decisions(page: Page, lines: Sequence[DecisionLine]) -> None:
    if not lines:
        page.heading("Decisions", "none yet")
        return
    said = _counted([each.standing for each in lines], _DECISIONS)
    shifted = sum(each.shifted for each in lines)
    page.heading("Decisions", f"{said}; shifted {shifted}" if shifted else said)
    rows: list[list[Cell | str]] = []
    for each in ranked(lines):
        sign = page.sign(each.standing or each.state, "shifted" if each.shifted else "")
        rows.append([sign, each.key, each.question])
        rows.append(["", "", _decided(each)])
    page.rows(rows, fold=2)


def ranked(lines: Sequence[DecisionLine]) -> list[DecisionLine]:
    """Return decisions worst first."""
    return sorted(lines, key=lambda each: (_DECISIONS.index(each.standing), not each.shifted))


def _decided(line: DecisionLine) -> str:
    """Say how a decision was answered and why its standing is what it is."""
    links = {"leaning": "leaning to", "settled": "settled on"}
    head = f"{links.get(line.state, line.state)} {line.chosen}".strip()
    shifted = "its ground shifted: have another look" if line.shifted else ""
    return "; ".join(each for each in (head, line.why, shifted) if each)


def _requirements(page: Page, lines: Sequence[RequirementLine]) -> None:
    if not lines:
        page.heading("Requirements", "none yet")
        return
    page.heading("Requirements", _counted([each.finding.verdict for each in lines], _VERDICTS))
    ranked = sorted(lines, key=lambda each: _VERDICTS.index(each.finding.verdict))
    page.rows([_requirement(page, each) for each in ranked], fold=2)


def _requirement(page: Page, line: RequirementLine) -> list[Cell | str]:
    found = line.finding
    return [
        page.sign(found.verdict),
        line.key,
        value_and_unit(found),
        required_text(found),
        found.reason or found.distance_text,
        f"by {line.gate}" if line.gate else "",
    ]


def _due(page: Page, view: Overview) -> None:
    gate = view.next_gate
    if gate is None:
        return
    aside = f"{gate.title}, {gate.date}: {gate.pending} of {gate.due} not in order"
    page.heading(f"Due at {gate.key}", aside)
    page.rows([[each.key, f"{each.title}: {each.why}"] for each in view.due])


def _checks(page: Page, lines: Sequence[CheckLine]) -> None:
    if not lines:
        page.heading("Checks", "none yet")
        return
    page.heading("Checks", _counted([each.state for each in lines], _CHECKS))
    page.rows(
        [[page.sign(e.state), e.key, e.message] for e in lines if e.state != "current"], fold=2
    )


def listing_text(page: Page, view: Listing) -> None:
    """Write a list of one kind."""
    if not view.lines:
        page.text(f"no {view.kind} yet")
    signed = any(each.sign for each in view.lines)
    rows: list[list[Cell | str]] = []
    for each in view.lines:
        sign = page.sign(each.sign, "shifted" if each.shifted else "")
        rows.append([*([sign] if signed else []), each.key, each.title, each.text])
    page.rows(rows, indent=0, fold=2 if signed else 1)
    if signed:
        page.blank()
        page.text(CAUTION)
