"""The guide as lines: what to press in the demo, and what shows then."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tracker.tui.face import Face
from tracker.tui.layout.paper import Fixed, Line, Paper, Span

__all__ = ["WALK", "Step", "guide_lines"]

_INDENT = 4


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the walk.

    Parameters
    ----------
    title : str
        The question it answers.
    press : tuple of str
        Keys; what begins with a quotation mark is typed.
    words : str
        What shows then, and what it means.
    shows : tuple of str
        Texts that stand on the screen then.
    """

    title: str
    press: tuple[str, ...]
    words: str
    shows: tuple[str, ...]


WALK: tuple[Step, ...] = (
    Step(
        "What stands, what broke, what is due",
        ("h",),
        "The opening page answers these three. The cursor is at the worst: D-FALLBACK is broken. "
        "Tab goes from one answer to the next, the arrows from line to line.",
        ("What stands", "What is broken or shifted", "What is due at", "D-FALLBACK"),
    ),
    Step(
        "What if",
        ("e", "enter", "right", "right"),
        "This tries the other options of D-FALLBACK, one after the other. Below stands what each "
        "would do to decisions and findings: with the last it would stand again. Nothing is kept.",
        ("Trying trial 1", "would stand again"),
    ),
    Step(
        "Drop it",
        ("ctrl+r",),
        "The trial is gone, and nothing was stored. ctrl+s would have asked for a reason and "
        "stored it as one change.",
        ("The trial is dropped; nothing was stored",),
    ),
    Step(
        "Can this requirement change?",
        ("f", '"VOL', "enter", "e", "enter", '"5200'),
        "VOL asks for a number of vehicles a year. Try 5200 at least: two decisions would break, "
        "another would be strained, with every margin before and after.",
        ("would break", "D-SUBFRAME", "D-UPPER-ARM"),
    ),
    Step(
        "How far could it go?",
        ("ctrl+r", "H"),
        "Headroom says how far each bound may move until a decision that stands breaks, and which.",
        ("Headroom of VOL", "5000", "D-SUBFRAME"),
    ),
    Step(
        "Why is this so?",
        ("escape", "i"),
        "Step by step from a value to where it begins: Enter goes on to what it comes from.",
        ("It comes from", "VOL"),
    ),
    Step(
        "Who, when, why",
        ("j",),
        "The journal holds every change with its reason. Enter opens one, z undoes it; undoing is "
        "a change, too.",
        ("Journal",),
    ),
    Step(
        "All the rest",
        ("h", "v"),
        "v lists every view from here, ctrl+p every action by name, ? the keys of any page. Esc "
        "backs out everywhere and loses nothing typed.",
        ("What to look at",),
    ),
)
"""The walk through the demo, in order."""


def guide_lines(walk: Sequence[Step], width: int, face: Face, named: Callable[[str], str]) -> Fixed:
    """Lay the walk out.

    Parameters
    ----------
    named : callable
        Writes a key as people do.
    """
    paper = Paper(width, face)
    paper.text(
        "A walk of five minutes through the demo. Esc leads back to where you were; the guide "
        "stands under ? ? and in v.",
        "quiet",
    )
    for number, step in enumerate(walk, 1):
        paper.head(f"{number}. {step.title}")
        keys = "   ".join(_shown(each, face, named) for each in step.press)
        paper.lines.append(Line((Span(" " * _INDENT + "press  ", "quiet"), Span(keys, "key"))))
        paper.text(step.words, indent=_INDENT)
    return paper.done()


def _shown(press: str, face: Face, named: Callable[[str], str]) -> str:
    """Write a key, or what is typed."""
    typed = press.removeprefix('"')
    return face.line(f'type "{typed}"' if press != typed else named(press))
