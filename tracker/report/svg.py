"""Shapes as SVG: inline in HTML, and as pictures in a printed document.

Presentation attributes only, no style sheet and no script, so a content policy need not allow any.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from tracker.report.drawing import INKS, Canvas, Label, Line

__all__ = ["svg"]

_DASHES = ("", "7 3", "2 3", "9 3 2 3", "4 2", "12 4", "1 3", "6 2 2 2")
_AXES, _GRID, _TEXT = "#374151", "#d4d8dd", "#1b2430"


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
    if len(line.points) == 1:
        x, y = line.points[0]
        return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="2.5" fill="{_ink(line.ink)}"/>'
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in line.points)
    name = "polygon" if line.closed else "polyline"
    ink = _ink(line.ink)
    fill = ink if line.filled else "none"
    dash = "" if line.ink < 0 or line.filled else _DASHES[line.ink % len(_DASHES)]
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    width = "1.8" if line.ink >= 0 else "0.8"
    return (
        f'<{name} points="{points}" fill="{fill}" stroke="{ink}" stroke-width="{width}"{dashed}/>'
    )


def _ink(ink: int) -> str:
    return {-1: _AXES, -2: _GRID}.get(ink) or INKS[ink % len(INKS)]


def _label(label: Label) -> str:
    place = f'x="{label.x:.2f}" y="{label.y:.2f}"'
    turn = f' transform="rotate(-90 {label.x:.2f} {label.y:.2f})"' if label.turned else ""
    look = f'text-anchor="{label.align}" fill="{_TEXT}"{turn}'
    return f"<text {place} {look}>{escape(label.text)}</text>"
