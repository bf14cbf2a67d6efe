"""A decision's options side by side, as many beside each other as there is room for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest

from rich.cells import cell_len

from tracker.services.views import OptionView
from tracker.tui.face import Face
from tracker.tui.layout.bars import finding_bar
from tracker.tui.layout.findings import told
from tracker.tui.layout.paper import Line, Paper, Span, tone_of

__all__ = ["option_lines"]

_NARROWEST, _BETWEEN = 34, 3


def option_lines(paper: Paper, options: Sequence[OptionView]) -> None:
    """Add the options, part by part so that like stands beside like."""
    most = max((paper.width + _BETWEEN) // (_NARROWEST + _BETWEEN), 1)
    for start in range(0, len(options), most):
        abreast = options[start : start + most]
        width = (paper.width + _BETWEEN) // min(most, len(options)) - _BETWEEN
        if start:
            paper.gap()
        for part in (_head, _settings, _findings, _words):
            _beside(paper, [list(part(each, width, paper.face)) for each in abreast], width)


def _beside(paper: Paper, columns: Sequence[Sequence[Sequence[Span]]], width: int) -> None:
    between = Span(" │ " if not paper.face.ascii_only else " | ", "quiet")
    for rows in zip_longest(*columns, fillvalue=()):
        spans: list[Span] = []
        for at, row in enumerate(rows):
            used = sum(cell_len(span.text) for span in row)
            last = at == len(rows) - 1
            spans += [*row, Span(" " * (width - used)), *(() if last else (between,))]
        paper.lines.append(Line(tuple(spans)))


_Part = Iterator[Sequence[Span]]


def _head(option: OptionView, width: int, face: Face) -> _Part:
    mark = "* " if option.chosen else "  "
    yield (Span(face.clip(f"{mark}{option.key}", width), "key"),)
    for piece in face.wrap(option.title, width - 2):
        yield (Span("  " + piece, "strong"),)
    tail = " chosen" if option.chosen else ""
    sign = face.clip(face.sign(option.standing), width - 2 - len(tail))
    yield (Span("  "), Span(sign, tone_of(option.standing)), Span(tail))


def _settings(option: OptionView, width: int, face: Face) -> _Part:
    for each in option.settings:
        basis = f" ({each.basis})" if each.basis else ""
        yield from _wrapped(face, f"{each.quantity} = {each.text}{basis}", width, "")


def _findings(option: OptionView, width: int, face: Face) -> _Part:
    for each in option.findings:
        tone = tone_of(each.verdict)
        yield (
            Span("  "),
            Span(face.clip(f"{face.sign(each.verdict)} {each.judge}", width - 2), tone),
        )
        bar = finding_bar(each, face)
        if not bar.isspace():
            share = "" if each.margin is None else f" {each.margin * 100:+.0f} %"
            yield (Span("  "), Span(face.clip(bar + share, width - 2), tone))
        yield (Span("    "), Span(face.clip(told(each), width - 4), "quiet"))


def _words(option: OptionView, width: int, face: Face) -> _Part:
    if option.notes:
        yield from _wrapped(face, option.notes, width, "quiet")
    if option.against:
        yield from _wrapped(face, f"against: {option.against}", width, "")


def _wrapped(face: Face, text: str, width: int, tone: str) -> _Part:
    for piece in face.wrap(text, width - 2):
        yield (Span("  " + piece, tone),)
