"""Why each check last ran, as far as an open programme has seen it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.evaluate.graph import Graph
from tracker.evaluate.slots import Slot
from tracker.evaluate.state import Report, State
from tracker.model.changes import Change

__all__ = ["LastRun", "MovedInput", "RunLog"]


@dataclass(frozen=True, slots=True)
class MovedInput:
    """An input that moved: its port, its address, and what it held before and after."""

    port: str
    record_id: str
    part: str
    before: Slot | None
    after: Slot


@dataclass(frozen=True, slots=True)
class LastRun:
    """The last time a check gave its outputs.

    Parameters
    ----------
    revision : int
        At which revision.
    opening : bool
        Whether the programme was opened then; else the revision's change was taken in.
    recalled : bool
        Whether the outputs came from an earlier run with the same inputs.
    added, rebound : bool
        Whether the change added the check, or altered its binding or what it depends on.
    moved : tuple of MovedInput
        The inputs that moved.
    """

    revision: int
    opening: bool = False
    recalled: bool = False
    added: bool = False
    rebound: bool = False
    moved: tuple[MovedInput, ...] = ()


class RunLog:
    """The last run of every check since a programme was opened.

    Parameters
    ----------
    revision : int
        Revision it was opened at.
    opening : Report
        What ran then.
    """

    def __init__(self, revision: int, opening: Report) -> None:
        self._last: dict[str, LastRun] = {}
        for each in opening.ran:
            self._last[each] = LastRun(revision, opening=True)
        for each in opening.recalled:
            self._last[each] = LastRun(revision, opening=True, recalled=True)
        self._unkept: set[str] = set()

    def take(self, change: Change, report: Report, graph: Graph, state: State) -> None:
        """Take in what a stored change did."""
        added = {each.id for each in change.entries if each.before is None}
        rebound, recalled = set(report.rebound), set(report.recalled)
        for each in (*report.ran, *report.recalled):
            anew = each in rebound  # and then what it read before may have had another unit
            self._last[each] = LastRun(
                change.revision,
                recalled=each in recalled,
                added=each in added,
                rebound=anew,
                moved=() if anew else _moved(graph, state, report, each),
            )
        self._unkept.update(report.ran)

    def last(self, check_id: str) -> LastRun | None:
        """Return the last run of a check; None when it gave nothing since the opening."""
        return self._last.get(check_id)

    def unkept(self) -> Sequence[str]:
        """Name the checks that ran since this was last asked, the opening left out."""
        found, self._unkept = sorted(self._unkept), set()
        return found


def _moved(graph: Graph, state: State, report: Report, check_id: str) -> tuple[MovedInput, ...]:
    gathers = graph.nodes[graph.position[check_id]].gathers
    reads = [(each.port, graph.keys[each.slot], state.slots[each.slot]) for each in gathers]
    return tuple(
        MovedInput(port, *key, report.slots[key], now)
        for port, key, now in reads
        if key in report.slots
    )
