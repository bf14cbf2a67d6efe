"""The demo programme, replayed change by change from its journal files.

The journal is kept as data, one TOML file per month. Every `[[change]]` has a time, an author, a
reason and exactly one action: `add` (item documents), `set` (address → value), `lean`, `settle`
(with `against`), `reopen`, `review`, `amend` (with `fields`), `supersede` (OLD/NEW), `freeze` (a
gate) or `undo`. Decisions and options are named DECISION/OPTION. Times and record ids come from the
story, and what a freeze keeps is rounded, so that the journal ends with the same hash wherever it
is replayed. The files the story names as evidence are put beside the programme.
"""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import Any

from tracker.bootstrap import make_programme, tools
from tracker.model.records import Basis, BasisKind
from tracker.services import actions
from tracker.services.change_views import Committed
from tracker.services.gates.freezing import freeze_gate
from tracker.services.gates.views import FrozenView
from tracker.services.session import Session

__all__ = ["CURRENCY", "EVIDENCE", "FILE_NAME", "TITLE", "changes", "make_demo", "perform"]

FILE_NAME = "wendrel.db"
TITLE = "Wendrel light utility vehicle: chassis"
CURRENCY = "EUR"
EVIDENCE = "wendrel-evidence"
"""Folder beside the programme for the files it names as evidence."""

_FOUNDER, _FOUNDED = "Ada", "2025-02-03T08:00:00Z"
_ID_DIGITS = 16  # as long as the ids that a session draws at random

Telling = Mapping[str, Any]


@dataclass
class _Clock:
    """A clock that stands where the story has got to."""

    now: str

    def __call__(self) -> str:
        return self.now


def make_demo(directory: Path) -> Path:
    """Make the demo programme in a directory, which is made if it is missing.

    Parameters
    ----------
    directory : Path
        Where the programme's file and its evidence go.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    tracker.errors.StoreUnreachableError
        There is a file of that name already, or none can be made there.
    """
    with suppress(OSError):  # making the store names what is wrong with the place
        directory.mkdir(parents=True, exist_ok=True)
    place = directory / FILE_NAME
    clock = _Clock(_FOUNDED)
    numbers = itertools.count(1)
    told = replace(tools(), clock=clock, ids=lambda: f"{next(numbers):0{_ID_DIGITS}x}")
    session = make_programme(place, TITLE, CURRENCY, who=_FOUNDER, with_tools=told)
    try:
        _put_evidence(directory / EVIDENCE)
        for telling in changes():
            clock.now = telling["at"]
            perform(session, telling)
    except BaseException:
        session.store.close()
        for tail in ("", "-wal", "-shm"):
            Path(f"{place}{tail}").unlink(missing_ok=True)
        _take_evidence(directory / EVIDENCE)
        raise
    session.close()
    return place


def _put_evidence(folder: Path) -> None:
    """Copy the files that serve as evidence."""
    folder.mkdir(exist_ok=True)
    for each in files("demo_program").joinpath("evidence").iterdir():
        folder.joinpath(each.name).write_bytes(each.read_bytes())


def _take_evidence(folder: Path) -> None:
    """Take away what `_put_evidence` put; a folder with more in it stays."""
    for each in files("demo_program").joinpath("evidence").iterdir():
        folder.joinpath(each.name).unlink(missing_ok=True)
    with suppress(OSError):
        folder.rmdir()


def changes() -> Iterator[Telling]:
    """Return what the journal files tell, oldest first."""
    months = files("demo_program").joinpath("months").iterdir()
    for month in sorted(months, key=lambda each: each.name):
        yield from tomllib.loads(month.read_text(encoding="utf-8"))["change"]


def perform(session: Session, telling: Telling) -> Committed | FrozenView:
    """Make one change of the story, as its author.

    Raises
    ------
    ValueError
        The telling names no action.
    """
    verb = next((each for each in _ACTIONS if each in telling), None)
    if verb is None:
        raise ValueError(f"the change at {telling['at']} does nothing known")
    session.author = telling["author"]
    return _ACTIONS[verb](session, telling, telling.get("why", ""))


def _choice(text: str) -> tuple[str, str]:
    decision, _, option = text.partition("/")
    return decision, option


def _basis(fields: Mapping[str, str]) -> Basis:
    return Basis(
        kind=BasisKind(fields.get("kind", BasisKind.GUESS)),
        source=fields.get("source", ""),
        dated=fields.get("dated", ""),
    )


_ACTIONS: Mapping[str, Callable[[Session, Telling, str], Committed | FrozenView]] = {
    "add": lambda on, tell, why: actions.add_items(on, tell["add"], why),
    "set": lambda on, tell, why: actions.set_values(
        on, tell["set"], why, _basis(tell.get("basis", {}))
    ),
    "lean": lambda on, tell, why: actions.lean(on, *_choice(tell["lean"]), why),
    "settle": lambda on, tell, why: actions.settle(
        on, *_choice(tell["settle"]), why, tell["against"]
    ),
    "reopen": lambda on, tell, why: actions.reopen(on, tell["reopen"], why),
    "review": lambda on, tell, why: actions.review(on, tell["review"], why),
    "amend": lambda on, tell, why: actions.amend_item(on, tell["amend"], tell["fields"], why),
    "supersede": lambda on, tell, why: actions.supersede(on, *_choice(tell["supersede"]), why),
    "freeze": lambda on, tell, why: freeze_gate(on, tell["freeze"], why),
    "undo": lambda on, _, __: actions.undo(on),
}
