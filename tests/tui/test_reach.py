"""What the command line does can be done in the terminal UI, too."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import click
import pytest
from textual.binding import Binding

from tests.tui.census import WALKS, pages
from tracker.cli.commands.gates import gate_command
from tracker.cli.main import COMMANDS
from tracker.tui.app import WhyboneApp
from tracker.tui.places.index import ANYWHERE, BY_NAME, places_from


@dataclass(frozen=True)
class At:
    """A screen, and the action or place on the way to it or on it, where it has one."""

    screen: str
    action: str = ""
    place: str = ""


REACHED = {
    "status": At("HomeScreen", "home"),
    "show": At("ItemScreen", "find"),
    "list": At("ListScreen", "list"),
    "set": At("TrialScreen", "adopt"),
    "try": At("TrialScreen", "trial"),
    "weigh": At("WeighScreen", place="weigh"),
    "headroom": At("HeadroomScreen", "amounts", "all_headroom"),
    "drivers": At("DriversScreen", place="drivers"),
    "spread": At("SpreadScreen", "amounts", "all_spread"),
    "sets": At("SetsScreen", "amounts", "sets"),
    "mend": At("MendScreen", "amounts", "all_mend"),
    "why": At("ReasonsScreen", place="why"),
    "matrix": At("MatrixScreen", place="matrix"),
    "add": At("AddScreen", place="add"),
    "amend": At("WritingScreen", "store", "amend"),
    "lean": At("ItemScreen", "lean"),
    "settle": At("ItemScreen", "settle"),
    "reopen": At("ItemScreen", "reopen"),
    "review": At("ItemScreen", "review"),
    "withdraw": At("ItemScreen", "withdraw"),
    "supersede": At("SupersedeScreen", "store", "supersede"),
    "undo": At("JournalScreen", "undo_this"),
    "log": At("JournalScreen", "journal"),
    "at": At("EarlierScreen", place="earlier"),
    "compare": At("CompareScreen", "later", "compare"),
    "import": At("TakeInScreen", "store", "take-in"),
    "export": At("WriteOutScreen", "store", "write-out"),
    "gate": At("GateScreen", place="gates"),
    "gate list": At("ListScreen", "list"),
    "gate show": At("GateScreen", place="gate"),
    "gate freeze": At("GateScreen", "freeze"),
    "gate pack": At("GateScreen", "pack"),
    "gate compare": At("RevisionsScreen", "frozen"),
}

BY_ITSELF = {
    "new": "makes what the screens are opened on",
    "demo": "makes what the screens are opened on",
    "open": "opens the screens",
    "serve": "opens the screens in a browser",
    "calc": "runs a check without any programme",
    "checks": "looks at what is installed; adding a check lists what there is to choose from",
    "audit": "looks at a stored file from outside, damaged or not, without opening it",
}
"""Command without a screen → why it needs none."""


def commands() -> set[str]:
    """Every command; those of gates one by one."""
    of_gates = gate_command.list_commands(click.Context(gate_command))
    return set(COMMANDS) | {f"gate {each}" for each in of_gates}


def actions_of(kind: type) -> Iterator[str]:
    """Names of the actions that keys of a screen, or of the app, stand for."""
    for each in (*kind.__mro__, WhyboneApp):
        for binding in each.__dict__.get("BINDINGS", ()):
            assert isinstance(binding, Binding)
            yield binding.action.partition("(")[0]


def test_every_command_has_its_screen_or_a_reason_to_have_none() -> None:
    assert set(REACHED).isdisjoint(BY_ITSELF)
    assert set(REACHED) | set(BY_ITSELF) == commands()


@pytest.mark.parametrize("command", REACHED)
def test_the_screen_is_reached_and_has_the_key(command: str) -> None:
    """The keys that lead to each screen are walked wherever all screens are."""
    at = REACHED[command]
    kind = pages()[at.screen]
    assert at.screen in WALKS
    if at.action:
        assert at.action in set(actions_of(kind))
    if at.place:
        place = BY_NAME[at.place]
        assert isinstance(place.make("D-GEAR"), kind)
        assert place in (*ANYWHERE, *(each for one in place.kinds for each in places_from(one)))
