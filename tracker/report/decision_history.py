"""The decision history as Markdown: every decision with its why, and the requirements."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tracker.report.markdown import block, inline, table
from tracker.services.item import item_page
from tracker.services.overview import overview
from tracker.services.session import Reading
from tracker.services.views import (
    DecisionLine,
    FindingView,
    HistoryLine,
    ItemPage,
    OptionView,
    Overview,
    RequirementLine,
)

__all__ = ["decision_history"]


def decision_history(reading: Reading) -> str:
    """Write the decision history of a programme at the revision of a reading."""
    view = overview(reading)
    lines = [*_head(view), *_requirements(view.requirements)]
    for decision in view.decisions:
        lines += _decision(decision, item_page(reading, decision.key))
    return "\n".join(lines).rstrip("\n") + "\n"


def _head(view: Overview) -> Iterator[str]:
    yield f"# Decision history: {inline(view.title)}"
    yield ""
    yield f"Revision {view.revision}, head `{view.head}`."
    yield ""
    yield f"> **Caution.** {inline(view.caution)}"
    yield ""


def _requirements(lines: Sequence[RequirementLine]) -> Iterator[str]:
    yield "## Requirements"
    yield ""
    if not lines:
        yield "None yet."
        yield ""
    head = ("requirement", "statement", "required", "value", "verdict", "margin", "gate", "owner")
    yield from table(head, (_requirement(each) for each in lines))


def _requirement(line: RequirementLine) -> tuple[str, ...]:
    found = line.finding
    return (
        line.key,
        line.statement,
        found.required,
        _value(found),
        found.verdict,
        found.distance_text or found.reason,
        line.gate,
        line.owner,
    )


def _value(found: FindingView) -> str:
    return found.text if found.value is None else f"{found.text} {found.unit}".strip()


def _decision(line: DecisionLine, page: ItemPage) -> Iterator[str]:
    yield f"## {inline(line.key)}: {inline(line.question)}"
    yield ""
    for label, text in page.facts:
        yield f"- {block(label)}: {inline(text)}"
    if line.shifted:
        yield "- its ground has shifted since it was settled: it wants another look"
    yield ""
    yield from _paragraphs(page)
    for option in page.options:
        yield from _option(option)
    yield from _section("### Findings", _FINDINGS, map(_finding, page.findings))
    shifts = ((each.what, each.before, each.after) for each in page.shifts)
    yield from _section("### Shifted since it was settled", ("what", "then", "now"), shifts)
    yield from _section("### History", _HISTORY, map(_change, page.history))


def _paragraphs(page: ItemPage) -> Iterator[str]:
    for heading, text in page.paragraphs:
        yield f"### {inline(heading[:1].upper() + heading[1:])}"
        yield ""
        yield block(text)
        yield ""


_FINDINGS = ("judged by", "required", "value", "verdict", "margin")
_HISTORY = ("revision", "when", "who", "what", "why")


def _section(heading: str, head: Sequence[str], rows: Iterator[tuple[str, ...]]) -> Iterator[str]:
    lines = list(table(head, rows))
    if lines:
        yield heading
        yield ""
        yield from lines


def _finding(found: FindingView) -> tuple[str, ...]:
    margin = found.distance_text or found.reason
    return (found.judge, found.required, _value(found), found.verdict, margin)


def _change(line: HistoryLine) -> tuple[str, ...]:
    return (str(line.revision), line.at, line.author, "; ".join(line.what), line.reason)


def _option(option: OptionView) -> Iterator[str]:
    applied = " (applied)" if option.chosen else ""
    yield f"### Option {inline(option.key)}{applied}: {inline(option.title)}"
    yield ""
    if option.notes:
        yield block(option.notes)
        yield ""
    yield f"With it the decision {_verb(option.standing)}."
    yield ""
    settings = ((each.quantity, each.text, each.basis, each.source) for each in option.settings)
    yield from table(("sets", "value", "basis", "source"), settings)
    yield from table(_FINDINGS, map(_finding, option.findings))


def _verb(standing: str) -> str:
    return "stands" if standing == "stands" else f"is {standing or 'withdrawn'}"
