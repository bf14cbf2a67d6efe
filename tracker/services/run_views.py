"""Read models: why a check ran, or why it did not.

They tell of this machine and this session, so no document that is handed on carries them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["MovedView", "RunView", "run_facts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedView:
    """An input that moved, as shown: its port, its address, its value before and after."""

    port: str
    subject: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunView:
    """How a check came by what it gives, or why it gives nothing.

    Parameters
    ----------
    how : str
        `ran`, `recalled` (an earlier run with the same inputs was kept) or `not run`.
    when : str
        `opening` or `change`; empty when it did not run.
    revision : int or None
        The revision opened, or made by the change.
    why : str
        In words.
    moved : tuple of MovedView
        The inputs that made it run.
    since : str
        Why it did not run again; empty for the latest change.
    """

    how: str
    why: str
    when: str = ""
    revision: int | None = None
    moved: tuple[MovedView, ...] = ()
    since: str = ""


def run_facts(view: RunView | None) -> Iterator[tuple[str, str]]:
    """Write it as labels and texts; nothing for what is no check."""
    if view is None:
        return
    at = "" if view.revision is None else f"at revision {view.revision}: "
    yield view.how, ("on opening " if view.when == "opening" else "") + at + view.why
    if view.since:
        yield "since then", view.since
