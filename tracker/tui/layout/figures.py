"""Figures that are text already: bars and listings."""

from __future__ import annotations

from tracker.contract.figure import Figure, FigureKind, Series
from tracker.tui.layout.bars import share_bar
from tracker.tui.layout.paper import Cell, Paper

__all__ = ["figure_lines"]

_LABEL, _NUMBER, _WIDEST = 20, 12, 30


def figure_lines(paper: Paper, figures: tuple[Figure, ...]) -> None:
    """Add the figures that can be told in text."""
    for figure in figures:
        if figure.kind is FigureKind.BARS:
            paper.head(figure.title + (f" [{figure.up.unit}]" if figure.up.unit else ""))
            for series in figure.series:
                _bars(paper, series)
        elif figure.kind is FigureKind.LISTING:
            paper.head(figure.title)
            _listing(paper, figure.series)


def _bars(paper: Paper, series: Series) -> None:
    paper.text(series.title, "quiet")
    largest = max((abs(each) for each in series.y), default=0.0)
    room = max(paper.width - _LABEL - _NUMBER - 2, 1)
    for label, height in zip(series.labels, series.y, strict=False):
        bar = share_bar(height, largest, room, paper.face)
        paper.row(
            Cell(label, _LABEL), Cell(f"{height:.6g}", _NUMBER, "quiet"), Cell(bar, room, "key")
        )


def _listing(paper: Paper, columns: tuple[Series, ...]) -> None:
    widths = [
        min(max((len(text) for text in (each.title, *each.labels)), default=0), _WIDEST) + 2
        for each in columns
    ]
    paper.row(
        *(Cell(each.title, width, "quiet") for each, width in zip(columns, widths, strict=True))
    )
    for cells in zip(*(each.labels for each in columns), strict=False):
        paper.row(*(Cell(text, width) for text, width in zip(cells, widths, strict=True)))
