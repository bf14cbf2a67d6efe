"""What taking a file in would do, as lines: every problem with its place, else the ripple."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tracker.services.change_views import Ripple
from tracker.tui.face import Face
from tracker.tui.layout.paper import Fixed, Paper
from tracker.tui.layout.ripple import ripple_lines

__all__ = ["Preview", "preview_lines"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What a file holds and what taking it in would do.

    Parameters
    ----------
    name : str
        Name of the file.
    counts : mapping of str to int
        Kind → how many items of it the file describes.
    updates : bool
        Whether they may exist already.
    problems : tuple of str
        What keeps it from being taken in, each with its place.
    """

    name: str
    counts: Mapping[str, int] = field(default_factory=dict)
    updates: bool = False
    ripple: Ripple | None = None
    problems: tuple[str, ...] = ()


def preview_lines(view: Preview, width: int, face: Face) -> Fixed:
    """Lay a preview out."""
    paper = Paper(width, face)
    verb = "adds or sets" if view.updates else "adds"
    what = ", ".join(f"{number} of kind {kind}" for kind, number in view.counts.items())
    paper.head(f"{view.name} {verb} {what}" if what else view.name)
    if view.problems:
        number = len(view.problems)
        paper.text(f"Nothing would be taken in: {number} problem{'s' * (number > 1)}", "bad")
    for each in view.problems:
        paper.text(each, indent=2)
    lines = list(paper.lines)
    if view.ripple is not None:
        rest = ripple_lines(view.ripple, width, face)
        lines += [rest.line(at) for at in range(len(rest))]
    return Fixed(lines)
