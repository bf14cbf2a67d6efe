"""What is typed survives leaving, crashing and whatever lies in the folder it is kept in."""

from __future__ import annotations

import json
import os
import pty
import re
import select
import signal
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.tui.conftest import fixed_tools
from tests.tui.driving import Driver, app_of, page, press, seen, settled, type_text
from tracker.services.session import Session
from tracker.store.open import open_store
from tracker.tui.app import WhyboneApp
from tracker.tui.keeping import Keeper, Thing, state_folder
from tracker.tui.kept import Kept
from tracker.tui.screens.decision import DecisionScreen
from tracker.tui.screens.trial import TrialScreen
from tracker.tui.settable import Settable
from tracker.tui.trial import Trial

SIZE = (100, 40)


def untold(text: str) -> None:
    raise AssertionError(text)


def kept(folder: Path) -> tuple[Thing, ...]:
    return Keeper(folder, untold).things()[0]


# --- the folder


def test_the_state_folder_follows_the_base_directory_specification(tmp_path: Path) -> None:
    home = tmp_path / "home"
    assert state_folder({}, home) == home / ".local" / "state" / "whybone"
    assert state_folder({"XDG_STATE_HOME": "/var/x"}, home) == Path("/var/x/whybone")
    assert state_folder({"XDG_STATE_HOME": "x"}, home) == home / ".local" / "state" / "whybone"


@given(
    name=st.text(max_size=40),
    texts=st.dictionaries(st.text(max_size=20), st.text(max_size=200), max_size=5),
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
def test_any_text_comes_back_as_it_was(tmp_path: Path, name: str, texts: dict[str, str]) -> None:
    folder = tmp_path / "any"
    keeper = Keeper(folder, untold)
    keeper.keep(Thing("draft", name, dict(texts)))
    keeper.close()
    assert Thing("draft", name, dict(texts)) in kept(folder)


def test_the_last_of_many_writes_is_what_is_kept_and_nobody_else_may_read_it(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "a" / "b"
    keeper = Keeper(folder, untold)
    for number in range(200):
        keeper.keep(Thing("draft", "form", {"why": "x" * number}))
    keeper.keep(Thing("draft", "other", {}))
    keeper.drop("draft", "other")
    keeper.close()
    assert kept(folder) == (Thing("draft", "form", {"why": "x" * 199}),)
    files = list(folder.iterdir())
    assert len(files) == 1  # nothing half-written is left beside it
    assert stat.S_IMODE(files[0].stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_what_cannot_be_written_is_told_once_and_breaks_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    told: list[str] = []
    keeper = Keeper(tmp_path / "file" / "folder", told.append)
    for number in range(3):
        keeper.keep(Thing("draft", str(number), {}))
    keeper.close()
    assert told == ["What is typed is not kept on disk: Not a directory"]


def test_a_failed_write_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper = Keeper(tmp_path, untold)
    keeper.keep(Thing("draft", "form", {"why": "old"}))
    keeper.close()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    told: list[str] = []
    keeper = Keeper(tmp_path, told.append)
    keeper.keep(Thing("draft", "form", {"why": "new"}))
    keeper.close()
    assert told == ["What is typed is not kept on disk: No space left on device"]
    assert kept(tmp_path) == (Thing("draft", "form", {"why": "old"}),)


GOOD = {"shape": 1, "kind": "draft", "name": "form", "body": {"why": "typed"}}
HOSTILE = {
    "empty": b"",
    "no json": b"\x00\xff\xfe",
    "a list": b"[]",
    "deep": b"[" * 200_000,
    "another shape": json.dumps({**GOOD, "shape": 2}).encode(),
    "another name than its file": json.dumps({**GOOD, "name": "other"}).encode(),
    "no body": json.dumps({**GOOD, "body": "text"}).encode(),
    "half a character": json.dumps({**GOOD, "body": {"why": "\ud800"}}).encode(),
    "not a text": json.dumps({**GOOD, "body": {"why": 3}}).encode(),
    "a kind nobody knows": json.dumps({**GOOD, "kind": "spell"}).encode(),
}


@pytest.mark.parametrize("data", HOSTILE.values(), ids=HOSTILE)
def test_what_is_no_draft_is_set_aside_and_said_never_deleted(tmp_path: Path, data: bytes) -> None:
    folder = tmp_path / "under-way" / "p"
    keeper = Keeper(folder, untold)
    keeper.keep(Thing("draft", "form", {"why": "typed"}))
    keeper.close()
    file = next(folder.glob("*.json"))
    if b'"spell"' in data:
        file = file.rename(Keeper(folder, untold)._path("spell", "form"))
    file.write_bytes(data)
    under_way = Kept(tmp_path, untold)
    said = under_way.open("p")
    under_way.close()
    aside = next(folder.iterdir())
    assert said == f"Could not be read and was set aside: {aside.name}"
    assert aside.name.endswith(".unreadable")
    assert aside.read_bytes() == data
    assert under_way.under_way == ()
    file.write_bytes(data)
    again = Kept(tmp_path, untold)
    assert ".2.unreadable" in again.open("p")
    again.close()
    assert len(list(folder.iterdir())) == 2


def test_a_folder_or_a_huge_file_in_place_of_a_draft_is_set_aside(tmp_path: Path) -> None:
    (tmp_path / "folder.json").mkdir()
    with (tmp_path / "huge.json").open("wb") as file:
        file.truncate(20 * 1024 * 1024)
    things, aside = Keeper(tmp_path, untold).things()
    assert things == ()
    assert sorted(aside) == ["folder.unreadable", "huge.unreadable"]


TRIALS: list[Any] = [
    {},
    {"edits": {}, "documents": []},
    {"edits": [{"address": "a"}], "documents": []},
    {"edits": [3], "documents": []},
    {"edits": [], "documents": [{"kind": "gate"}]},
    {"edits": [], "documents": [[]]},
]


@pytest.mark.parametrize("body", TRIALS)
def test_what_is_no_trial_is_set_aside(tmp_path: Path, body: dict[str, Any]) -> None:
    folder = tmp_path / "under-way" / "p"
    keeper = Keeper(folder, untold)
    keeper.keep(Thing("trial", "trial 1", body))
    keeper.close()
    under_way = Kept(tmp_path, untold)
    assert "set aside" in under_way.open("p")
    under_way.close()
    assert [each.name for each in under_way.trials.every] == ["trial 1"]
    assert not len(under_way.trials.current)


# --- drafts and trials


def test_trials_come_back_with_their_names_and_the_latest_is_at_hand(tmp_path: Path) -> None:
    first = Kept(tmp_path, untold)
    assert first.open("p") == ""
    trials = first.trials
    trials.current.add(Settable("volume", "4000", "1/a", "Volume"), "8000")
    trials.current.bring({"kind": "gate", "key": "G9"})
    trials.rename(trials.current, "a second plant")
    time.sleep(0.02)
    trials.copy().add(Settable("D-1", "a", "", "option", ("a", "b")), "b")
    first.draft("new decision")["key"] = "D-9"
    first.close()
    second = Kept(tmp_path, untold)
    assert second.open("p") == (
        "Kept from last time, and not stored: new decision, a second plant, trial 1"
    )
    assert second.open("p") == ""  # once is enough
    assert second.trials.current.name == "trial 1"
    assert second.trials.current.edits == {"volume": "8000", "D-1": "b"}
    assert second.trials.current.lines[1].what.options == ("a", "b")
    assert second.trials.current.documents == ({"kind": "gate", "key": "G9"},)
    assert dict(second.draft("new decision")) == {"key": "D-9"}
    second.forget("new decision")
    second.trials.drop(second.trials.current)
    second.trials.current.clear()
    second.close()
    third = Kept(tmp_path, untold)
    assert third.open("p") == ""
    assert third.open("another programme") == ""
    third.close()


def test_what_is_typed_before_the_programme_is_known_is_newer(tmp_path: Path) -> None:
    first = Kept(tmp_path, untold)
    first.open("p")
    first.draft("form")["why"] = "old"
    first.close()
    second = Kept(tmp_path, untold)
    second.draft("form")["why"] = "new"
    second.open("p")
    second.close()
    assert second.draft("form")["why"] == "new"


def test_a_draft_that_was_forgotten_is_not_kept_by_whoever_still_holds_it(tmp_path: Path) -> None:
    under_way = Kept(tmp_path, untold)
    under_way.open("p")
    draft = under_way.draft("form")
    under_way.forget("form")
    draft["why"] = "too late"
    under_way.close()
    assert list(tmp_path.rglob("*.json")) == []


def test_without_a_folder_everything_is_in_memory_alone() -> None:
    under_way = Kept(None, untold)
    assert under_way.open("p") == ""
    under_way.draft("form")["why"] = "typed"
    under_way.trials.current.add(Settable("a", "1", "", ""), "2")
    assert not under_way.on_disk
    assert list(under_way.under_way) == ["form", "trial 1"]
    under_way.trials.drop(under_way.trials.current)
    under_way.forget("form")
    under_way.close()
    assert not under_way.under_way


def test_trials_are_named_apart(tmp_path: Path) -> None:
    trials = Kept(tmp_path, untold).trials
    trials.current.add(Settable("a", "1", "", ""), "2")
    trials.rename(trials.current, "  ")
    assert trials.current.name == "trial 1"
    copy = trials.copy()
    trials.rename(copy, "trial 1")
    assert [each.name for each in trials.every] == ["trial 1", "trial 1 2"]
    trials.pick("trial 1")
    trials.drop(copy)
    assert trials.current.name == "trial 1"


def test_a_trial_reads_only_what_it_wrote() -> None:
    trial = Trial()
    trial.add(Settable("a", "1", "mm", "A", ("x",)), "2")
    read = Trial()
    assert read.restore(json.loads(json.dumps(trial.body())))
    assert read.lines == trial.lines


# --- the app


def app_on(location: Path, state: Path) -> WhyboneApp:
    def opening() -> Session:
        return Session(open_store(location), fixed_tools("new"), "Ada")

    return WhyboneApp(opening, pace=0, state=state)


async def type_a_draft_and_a_trial(pilot: Driver) -> None:
    await press(pilot, "n")
    await type_text(pilot, "D-NEW")
    await press(pilot, "escape", "q", "enter", "e")
    await type_text(pilot, "8000")


async def test_leaving_the_program_loses_nothing(location: Path, tmp_path: Path) -> None:
    state = tmp_path / "state"
    async with app_on(location, state).run_test(size=SIZE) as pilot:
        await settled(pilot)
        assert app_of(pilot).notice[0] == ""
        await type_a_draft_and_a_trial(pilot)
        await pilot.press("ctrl+q")  # what is kept needs no warning
    async with app_on(location, state).run_test(size=SIZE) as pilot:
        await settled(pilot)
        assert "Kept from last time, and not stored: new decision, trial 1" in seen(pilot)
        await press(pilot, "t")
        page(pilot, TrialScreen)
        assert "would break: COST-1 is missed" in seen(pilot)
        await press(pilot, "ctrl+s")
        await type_text(pilot, "the plan says so")
        await press(pilot, "ctrl+s")
        assert "Stored as 7" in seen(pilot)
        await press(pilot, "n")
        page(pilot, DecisionScreen)
        assert "D-NEW" in seen(pilot)
        await press(pilot, "ctrl+r")
    async with app_on(location, state).run_test(size=SIZE) as pilot:
        await settled(pilot)
        assert "Kept from last time" not in seen(pilot)


async def test_a_draft_of_anything_opens_its_form(location: Path, tmp_path: Path) -> None:
    state = tmp_path / "state"
    async with app_on(location, state).run_test(size=SIZE) as pilot:
        await settled(pilot)
        for name in ("new decision", "adopt", "review D-TOOLS", "settle D-GEAR"):
            draft = app_of(pilot).draft(name)
            for field in ("options", "basis", "outcome", "option", "why"):
                draft[field] = "9" * 5000
        await press(pilot, "n")
        assert "Log a decision" in seen(pilot)
        assert "Option 2" in seen(pilot)
        await press(pilot, "escape", "q", "enter", "e")
        await type_text(pilot, "8000")
        await press(pilot, "ctrl+s")
        assert "[guess]" in seen(pilot)
        await press(pilot, "escape", "escape", "escape", "escape")
        app_of(pilot).open_item("D-TOOLS")
        await settled(pilot)
        await press(pilot, "k")
        assert "[confirmed]" in seen(pilot)
        await press(pilot, "escape")
        app_of(pilot).open_item("D-GEAR")
        await settled(pilot)
        await press(pilot, "s")
        assert "[ahead]" in seen(pilot)


async def test_a_folder_that_cannot_be_written_is_said(location: Path, tmp_path: Path) -> None:
    (tmp_path / "state").write_text("in the way")
    async with app_on(location, tmp_path / "state").run_test(size=SIZE) as pilot:
        await settled(pilot)
        await press(pilot, "n")
        await type_text(pilot, "D")
        for _ in range(100):
            await pilot.pause(0.02)
            if "What is typed is not kept on disk" in seen(pilot):
                break
        assert "What is typed is not kept on disk: Not a directory" in seen(pilot)


RUN = """
import sys
from tracker.tui.app import run
run(sys.argv[1], "Ada")
"""


class Terminal:
    """The program in a terminal of its own."""

    def __init__(self, location: Path, state: Path) -> None:
        self._mine, theirs = pty.openpty()
        environ = {**os.environ, "XDG_STATE_HOME": str(state), "TERM": "xterm-256color"}
        environ |= {"COLUMNS": "100", "LINES": "40"}
        self._process = subprocess.Popen(
            [sys.executable, "-c", RUN, str(location)],
            stdin=theirs, stdout=theirs, stderr=theirs, env=environ, start_new_session=True,
        )  # fmt: skip
        os.close(theirs)
        self._shown = b""
        self._lock = threading.Lock()

    def wait_for(self, *words: str) -> None:
        """Read what is painted until every word was."""
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            text = re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", self._shown.decode("utf-8", "replace"))
            if all(word in text for word in words):
                return
            ready, _, _ = select.select([self._mine], [], [], 0.1)
            if ready:
                self._shown += os.read(self._mine, 65536)
        raise AssertionError(f"{words} not in {self._shown[-4000:]!r}")

    def press(self, keys: str) -> None:
        self._shown = b""
        os.write(self._mine, keys.encode())

    def kill(self) -> None:
        self._process.send_signal(signal.SIGKILL)
        self._process.wait()
        os.close(self._mine)


def test_killing_the_program_loses_nothing_that_was_typed(location: Path, tmp_path: Path) -> None:
    state = tmp_path / "state"
    terminal = Terminal(location, state)
    try:
        terminal.wait_for("Test cart", "D-GEAR")
        terminal.press("n")
        terminal.wait_for("Log a decision")
        terminal.press("D-KILLED")
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            texts = [each.read_text() for each in state.rglob("*.json")]
            if any("D-KILLED" in text for text in texts):
                break
            time.sleep(0.02)
    finally:
        terminal.kill()
    assert not list(state.rglob("*.unreadable"))
    terminal = Terminal(location, state)
    try:
        terminal.wait_for("Kept from last time", "new decision")
        terminal.press("n")
        terminal.wait_for("D-KILLED")
    finally:
        terminal.kill()
    assert open_store(location).head().revision == 6
