"""The three answers: what stands, what is broken or shifted, what is due next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from tracker.services.views import (
    DecisionLine,
    Overview,
    RequirementLine,
)
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Line, Lines, Paper, Rows, Span, row, tone_of

__all__ = ["Answer", "Entry", "answer_lines", "answers", "pulse"]

_SIGN, _KEY = 11, 14
_ROOMY = 2


@dataclass(frozen=True, slots=True)
class Entry:
    """An item in one of the answers.

    Parameters
    ----------
    key, sign, title, why : str
        The item, how it stands, what it is and what makes it so.
    """

    key: str
    sign: str
    title: str
    why: str


@dataclass(frozen=True, slots=True)
class Answer:
    """One of the three answers.

    Parameters
    ----------
    question : str
        What it answers.
    summary : str
        The answer in figures.
    entries : tuple of Entry
        The items it is about, worst first.
    nothing : str
        What to say when there are none.
    """

    question: str
    summary: str
    entries: tuple[Entry, ...]
    nothing: str


def answers(page: Overview) -> tuple[Answer, Answer, Answer]:
    """Return the three answers of the opening page."""
    return _standing(page), _troubled(page), _due(page)


def _in_play(page: Overview) -> list[DecisionLine]:
    return [each for each in page.decisions if each.state != "withdrawn"]


def _standing(page: Overview) -> Answer:
    decisions = _in_play(page)
    standing = [each for each in decisions if each.standing == "stands" and not each.shifted]
    met = [each for each in page.requirements if each.finding.verdict == "met"]
    return Answer(
        question="What stands",
        summary=f"{len(standing)} of {len(decisions)} decisions, "
        f"{len(met)} of {len(page.requirements)} requirements met",
        entries=(*map(_decision, standing), *map(_requirement, met)),
        nothing="Nothing stands yet.",
    )


def _troubled(page: Overview) -> Answer:
    decisions = [
        *_with(_in_play(page), lambda one: one.standing == "broken"),
        *_with(_in_play(page), lambda one: one.shifted and one.standing != "broken"),
        *_with(_in_play(page), lambda one: one.standing == "unproven" and not one.shifted),
        *_with(_in_play(page), lambda one: one.standing == "strained" and not one.shifted),
    ]
    findings = [
        each
        for verdict in ("missed", "unknown", "tight")
        for each in page.requirements
        if each.finding.verdict == verdict
    ]
    checks = [
        Entry(each.key, each.state, each.title, each.message)
        for each in page.checks
        if each.state in ("failed", "unbound")
    ]
    words = Counter(each.standing for each in decisions)
    words["shifted"] = sum(each.shifted for each in decisions)
    return Answer(
        question="What is broken or shifted",
        summary=_counted(words, ("broken", "shifted", "unproven", "strained")),
        entries=(*map(_decision, decisions), *map(_requirement, findings), *checks),
        nothing="Nothing is broken, shifted, unproven or strained.",
    )


def _with(
    decisions: Iterable[DecisionLine], wanted: Callable[[DecisionLine], bool]
) -> list[DecisionLine]:
    return [each for each in decisions if wanted(each)]


def _counted(words: Counter[str], order: Sequence[str]) -> str:
    return ", ".join(f"{words[each]} {each}" for each in order if words[each])


def _decision(line: DecisionLine) -> Entry:
    sign = "shifted" if line.shifted and line.standing != "broken" else line.standing
    state = f"{line.state} on {line.chosen}" if line.state == "settled" else line.state
    state = f"leaning to {line.chosen}" if line.state == "leaning" else state
    parts = [state, line.why]
    if line.shifted:
        parts.append("its ground moved: look again" if sign == "shifted" else "shifted")
    return Entry(line.key, sign, line.question, "; ".join(part for part in parts if part))


def _requirement(line: RequirementLine) -> Entry:
    found = line.finding
    told = f"{found.text} {found.unit}".strip() + f" against {found.required}"
    if found.distance_text:
        told += f", {found.distance_text}"
    return Entry(line.key, found.verdict, line.statement, found.reason or told)


def _due(page: Overview) -> Answer:
    gate = page.next_gate
    if gate is None:
        return Answer("What is due next", "no gate is planned", (), "Add a gate to see it here.")
    signs = {each.key: each.standing for each in page.decisions}
    signs.update({each.key: each.finding.verdict for each in page.requirements})
    return Answer(
        question=f"What is due at {gate.key}",
        summary=f"{gate.title}, {gate.date}: {gate.pending} of {gate.due} not in order",
        entries=tuple(
            Entry(each.key, signs.get(each.key, ""), each.title, each.why) for each in page.due
        ),
        nothing="Everything due there is in order.",
    )


def answer_lines(answer: Answer, width: int, face: Face, *, roomy: bool) -> Lines:
    """Lay out the items of an answer; `roomy` gives each a second line for what makes it so."""
    if not answer.entries:
        paper = Paper(width, face)
        paper.text(answer.nothing, "quiet")
        return paper.done()
    keys = [each.key for each in answer.entries]

    def lay(at: int) -> Sequence[Line]:
        return _entry(answer.entries[at], width, face, roomy=roomy)

    return Rows(keys, lay, _ROOMY if roomy else 1)


def _entry(entry: Entry, width: int, face: Face, *, roomy: bool) -> Sequence[Line]:
    sign = _SIGN + 2 if face.ascii_only else _SIGN  # its symbols take up to three cells there
    rest = width - sign - _KEY
    title = rest if roomy else rest // 2
    head = (
        Cell(face.sign(entry.sign), sign - 1, tone_of(entry.sign)),
        Cell("", 1),
        Cell(entry.key, _KEY - 1, "key"),
        Cell("", 1),
    )
    if not roomy:
        cells = (
            *head,
            Cell(entry.title, title - 1),
            Cell("", 1),
            Cell(entry.why, rest - title, "quiet"),
        )
        return (row(face, *cells, target=entry.key),)
    second = row(face, Cell("", sign), Cell(entry.why, width - sign, "quiet"))
    return row(face, *head, Cell(entry.title, title), target=entry.key), second


def pulse(page: Overview, width: int, face: Face) -> Fixed:
    """Lay out the programme's state in one or two lines: how many of everything, signed."""
    standing = Counter(each.standing for each in _in_play(page))
    standing["shifted"] = sum(each.shifted for each in page.decisions)
    verdicts = Counter(each.finding.verdict for each in page.requirements)
    states = Counter(each.state for each in page.checks)
    groups = (
        ("decisions", standing, ("stands", "strained", "broken", "unproven", "shifted")),
        ("requirements", verdicts, ("met", "tight", "missed", "unknown")),
        ("checks", states, ("current", "waiting", "failed", "unbound")),
    )
    lines: list[Line] = []
    spans: list[Span] = []
    used = 0
    for title, counts, order in groups:
        group = _group(title, counts, order, face)
        size = sum(len(span.text) for span in group)
        if spans and used + size > width:
            lines.append(Line(tuple(spans)))
            spans, used = [], 0
        spans.extend(group)
        used += size
    return Fixed([*lines, Line(tuple(spans))])


def _group(title: str, counts: Counter[str], order: Sequence[str], face: Face) -> list[Span]:
    spans = [Span(f"{title} ", "quiet")]
    for word in order:
        if counts[word]:
            spans.append(Span(f"{face.symbol(word)} {counts[word]} {word}", tone_of(word)))
            spans.append(Span("  "))
    return [*spans, Span(" ")] if len(spans) > 1 else [*spans, Span("none   ")]
