"""Headroom, mending, drivers and readiness, line by line."""

from __future__ import annotations

from tracker.model.records import Decision
from tracker.services.exploring import drivers, headroom
from tracker.services.gates.readiness import gate_page
from tracker.services.mending import mend
from tracker.services.mending_views import MendView
from tracker.tui.layout.drivers import drivers_lines
from tracker.tui.layout.gate import gate_lines
from tracker.tui.layout.headroom import headroom_lines
from tracker.tui.layout.mending import mending_lines
from tracker.tui.layout.paper import Lines, Paper
from tracker.tui.layout.ripple import proposal_at
from tracker.tui.linear.talk import Stop, Talk
from tracker.tui.linear.trying import TrialStop, take_proposal
from tracker.tui.linear.voice import WIDTH

__all__ = ["DriversStop", "GateStop", "HeadroomStop", "MendStop"]


class AskingStop(Stop):
    """Base of the pages that take their time; what was found stays until one asks anew.

    Parameters
    ----------
    key : str
        The item asked about; empty for the whole programme.
    """

    called = ""

    def __init__(self, key: str = "") -> None:
        self.key = key
        self.name = f"{self.called} of {key}" if key else self.called

    def page(self, talk: Talk) -> Lines:
        """Work it out and lay it out."""
        talk.voice.say("Working it out; this may take a while.")
        paper = Paper(WIDTH, talk.voice.face)
        self.lay(paper, talk)
        return paper.done()

    def lay(self, paper: Paper, talk: Talk) -> None:
        """Lay the answer out."""
        raise NotImplementedError


class HeadroomStop(AskingStop):
    """How far a value may move."""

    called = "Headroom"

    def lay(self, paper: Paper, talk: Talk) -> None:
        """Lay the intervals out."""
        key, session = self.key, talk.session
        decision = bool(key) and isinstance(session.programme.find(key), Decision)
        view = headroom(session, "" if decision else key)
        headroom_lines(paper, view, decision=key if decision else "")


class MendStop(AskingStop):
    """What would make decisions stand again."""

    called = "What would mend it"

    def __init__(self, key: str = "") -> None:
        super().__init__(key)
        self._view: MendView | None = None

    def lay(self, paper: Paper, talk: Talk) -> None:
        """Lay the proposals out."""
        self._view = mend(talk.session, self.key)
        mending_lines(paper, self._view)

    def choose(self, talk: Talk, target: str) -> None:
        """Take a proposal into the trial, or go to an item."""
        proposal = proposal_at(self._view, target) if self._view else None
        if proposal is None:
            talk.open_item(target)
        else:
            take_proposal(talk, proposal)
            talk.go(TrialStop())


class DriversStop(AskingStop):
    """What a verdict depends on most."""

    called = "Drivers"

    def lay(self, paper: Paper, talk: Talk) -> None:
        """Lay the drivers out."""
        drivers_lines(paper, drivers(talk.session, self.key))


class GateStop(Stop):
    """How ready a gate is.

    Parameters
    ----------
    key : str
        The gate.
    """

    def __init__(self, key: str) -> None:
        self.key = key
        self.name = f"Readiness of {key}"

    def page(self, talk: Talk) -> Lines:
        """Lay the gate out."""
        return gate_lines(gate_page(talk.session, self.key), (), WIDTH, talk.voice.face)
