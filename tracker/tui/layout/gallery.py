"""Several pictures at once: each in its tile, the one being read marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.contract.figure import FigureKind
from tracker.services.pictures.views import PictureView
from tracker.tui.face import Face
from tracker.tui.layout.curves import Plot
from tracker.tui.layout.paper import Line, Span, tone_of
from tracker.tui.layout.plot import plot_lines
from tracker.tui.layout.sketch import Sketch, sketch_lines
from tracker.tui.layout.tiles import Grid, beside

__all__ = ["Exhibit", "exhibit_lines", "gallery_lines"]


@dataclass(frozen=True, slots=True)
class Exhibit:
    """A picture and how it is looked at.

    Parameters
    ----------
    picture : PictureView
        As it is, or under a trial.
    before : PictureView or None
        As stored, where a trial is drawn.
    cursor : float or None
        Where values are read.
    close : bool
        Whether the first curve alone makes the scales.
    """

    picture: PictureView
    before: PictureView | None = None
    cursor: float | None = None
    close: bool = False

    @property
    def plot(self) -> Plot:
        """The picture as curves."""
        before = self.before.figure if self.before else None
        return Plot(self.picture, before, self.cursor, self.close)


def exhibit_lines(
    exhibit: Exhibit, head: str, width: int, height: int, face: Face, *, chosen: bool
) -> list[Line]:
    """Lay out a picture under its heading.

    Parameters
    ----------
    head : str
        Stands before its title.
    chosen : bool
        Whether it is the one being read.
    """
    picture = exhibit.picture
    marker = face.marker if chosen else " "
    title = face.clip(f"{marker} {head}{picture.figure.title}", width)
    lines = [Line((Span(title, "head" if chosen else "strong"),))]
    below = [_judged(picture, width, face)] if picture.bands else []
    room = height - 1 - len(below)
    if picture.figure.kind is FigureKind.SKETCH:
        before = exhibit.before.figure if exhibit.before else None
        lines += sketch_lines(Sketch(picture.figure, before), width, room, face)
    else:
        lines += plot_lines(exhibit.plot, width, room, face)
    return [*lines[: height - len(below)], *below]


def _judged(picture: PictureView, width: int, face: Face) -> Line:
    """Tell the verdicts of the bands shown."""
    spans: list[Span] = []
    left = width
    for each in picture.bands:
        text = face.clip(f"{face.sign(each.verdict)} {each.judge}   ", left)
        spans.append(Span(text, tone_of(each.verdict)))
        left -= len(text)
    return Line(tuple(spans))


def gallery_lines(exhibits: Sequence[Exhibit], chosen: int, grid: Grid, face: Face) -> list[Line]:
    """Lay out the page of pictures that holds the chosen one."""
    first = chosen // grid.size * grid.size
    lines: list[Line] = []
    for start in range(first, min(first + grid.size, len(exhibits)), grid.columns):
        row = range(start, min(start + grid.columns, first + grid.size, len(exhibits)))
        blocks = [
            exhibit_lines(
                exhibits[at],
                f"{at + 1}/{len(exhibits)} {exhibits[at].picture.check}: ",
                grid.width,
                grid.height,
                face,
                chosen=at == chosen,
            )
            for at in row
        ]
        block = beside(blocks, grid.width)
        lines += [*block, *[Line()] * (grid.height - len(block))]
    return lines
