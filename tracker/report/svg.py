"""Shapes as SVG: inline in HTML, and as pictures in a printed document.

Presentation attributes only, no style sheet and no script, so a content policy need not allow any.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from tracker.report.shapes import ALLOWED, AXES, BOUND, GRID, INKS, PRESENT, Canvas, Label, Line

__all__ = ["svg"]

_DASHES = ("", "7 3", "2 3", "9 3 2 3", "4 2", "12 4", "1 3", "6 2 2 2")
_TEXT = "#1b2430"
_STROKES = {
    AXES: ("#374151", "0.8", ""),
    GRID: ("#d4d8dd", "0.8", ""),
    BOUND: ("#4d5966", "1.2", "1 2.5"),
    ALLOWED: ("#e4eef0", "0", ""),
    PRESENT: ("#1b2430", "1", ""),
}
"""Ink of what is no series → its colour, width and dashes."""


def svg(canvas: Canvas, title: str, description: str, name: str, font: str) -> str:
    """Write a drawing as an SVG element.

    Parameters
    ----------
    title, description : str
        What it is called and what it shows, in plain text.
    name : str
        Unique stem of its identifiers.
    font : str
        Font family of its texts.
    """
    size = f"{canvas.width:.0f} {canvas.height:.0f}"
    wide, high = size.split()
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" width="{wide}" '
        f'height="{high}" role="img" aria-labelledby="{name}-t {name}-d" '
        f'font-family="{escape(font)}" font-size="11">'
        f'<title id="{name}-t">{escape(title)}</title>'
        f'<desc id="{name}-d">{escape(description)}</desc>'
    )
    return f"{head}{''.join(_shapes(canvas))}</svg>"


def _shapes(canvas: Canvas) -> Iterator[str]:
    for shape in canvas.shapes:
        yield _line(shape) if isinstance(shape, Line) else _label(shape)


def _line(line: Line) -> str:
    ink, width, dash = _stroke(line)
    if len(line.points) == 1:
        x, y = line.points[0]
        ring = f'r="5" fill="none" stroke="{ink}" stroke-width="2"'
        look = ring if line.ink == PRESENT else f'r="2.5" fill="{ink}"'
        return f'<circle cx="{x:.2f}" cy="{y:.2f}" {look}/>'
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in line.points)
    name = "polygon" if line.closed else "polyline"
    fill = ink if line.filled else "none"
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<{name} points="{points}" fill="{fill}" stroke="{ink}" stroke-width="{width}"{dashed}/>'
    )


def _stroke(line: Line) -> tuple[str, str, str]:
    if line.ink in _STROKES:
        return _STROKES[line.ink]
    dash = "" if line.filled else _DASHES[line.ink % len(_DASHES)]
    return INKS[line.ink % len(INKS)], "1.8", dash


def _label(label: Label) -> str:
    place = f'x="{label.x:.2f}" y="{label.y:.2f}"'
    turn = f' transform="rotate(-90 {label.x:.2f} {label.y:.2f})"' if label.turned else ""
    look = f'text-anchor="{label.align}" fill="{_TEXT}"{turn}'
    return f"<text {place} {look}>{escape(label.text)}</text>"
