"""Taking what an answer proposes into the trial."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import TypeVar

from textual import on

from tracker.services.session import Session
from tracker.tui.jobs import settables_at
from tracker.tui.screens.asking import AskingPage
from tracker.tui.settable import Settable
from tracker.tui.trial_messages import Proposed

__all__ = ["TakingPage"]

V = TypeVar("V")


class TakingPage(AskingPage[V]):
    """Base of the pages whose answers hold proposals."""

    def take(self, typed: Mapping[str, str]) -> None:
        """Take values and options into the trial and go there; nothing is stored."""
        if self.host.where.newest:
            self.host.say("An earlier revision is open: nothing can be tried there", "bad")
            return

        def job(session: Session) -> dict[str, Settable]:
            return settables_at(session, typed)

        self.host.ask(self, job, partial(Proposed, typed))

    @on(Proposed)
    async def _take(self, event: Proposed) -> None:
        event.stop()
        taken = []
        for address, text in event.typed.items():
            what = event.found.get(address, Settable(address, "", "", ""))
            self.host.trial.add(what, text)
            taken.append(what)
        await self.host.open_trial(taken, taken[0].address if taken else "")
        self.host.say(f"Taken into {self.host.trial.name}: {', '.join(event.typed)}")
