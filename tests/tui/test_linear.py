"""Line by line: plain lines in, plain lines out, and all that a day's work asks for."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.tui.conftest import fixed_tools
from tracker.services.actions import set_values
from tracker.services.mending import mend
from tracker.services.session import Session
from tracker.services.wording import CAUTION, SIGNS
from tracker.store.open import open_store
from tracker.tui.linear.open import run_linear, talk_about

Say = Callable[..., list[str]]


@pytest.fixture
def session(location: Path) -> Iterator[Session]:
    opened = Session(open_store(location), fixed_tools("new"), "Ada")
    yield opened
    opened.store.close()


@pytest.fixture
def say(session: Session) -> Say:
    """Say lines one after the other; return what was answered."""

    def saying(*lines: str, ascii_only: bool = False) -> list[str]:
        sink = io.StringIO()
        source = io.StringIO("".join(f"{line}\n" for line in lines))
        assert talk_about(session, source, sink, ascii_only=ascii_only) == 0
        return sink.getvalue().splitlines()

    return saying


def number_of(lines: list[str], text: str) -> str:
    """The number that was read out with a text, last."""
    found = [line.partition(":")[0] for line in lines if text in line and line[0].isdigit()]
    return found[-1]


def test_the_opening_page_reads_the_three_answers_and_the_caution(say: Say) -> None:
    lines = say()
    text = "\n".join(lines)
    assert "Opening page. Test cart, revision 6." in lines
    assert "What is broken or shifted: 1 broken, 1 shifted, 1 strained." in lines
    assert "1: broken  D-GEAR  Which steering gear sits behind the axle?" in text
    assert "What is due at G1: Concept frozen, 2026-03-01: 1 of 2 not in order." in lines
    assert "What stands: 1 of 3 decisions, 3 of 4 requirements met." in lines
    assert CAUTION in lines


def test_words_stand_alone_without_signs_bars_colour_or_control(say: Say) -> None:
    journeys = ["r", "d", "d", "1", "i", "back", "H", "back", "j", "1", "c", "1", "g", "1", "G"]
    text = "\n".join(say(*journeys, "q", "1", "e", "8000", "^g", "?"))
    signs = {sign for both in SIGNS.values() for sign in both if not sign.isascii()} - {"…", "∙"}
    drawn = {char for char in text if 0x2500 <= ord(char) <= 0x28FF}
    assert not drawn & {*signs, *"█▓│━◆◂▸─"}
    assert not {char for char in text if unicodedata.category(char) == "Cc"} - {"\n"}
    assert "missed  C-SENSE.sense" in text


def test_no_key_is_cut_short(say: Say) -> None:
    lines = say("1")
    assert any("C-SENSE.sense" in line for line in lines)
    assert not [line for line in lines if line.endswith("…")]


def test_lists_items_and_back(say: Say) -> None:
    listed = say("q")
    number = number_of(listed, "volume")
    lines = say("q", number, "back", "requirements", "home")
    assert "volume. Test cart, revision 6." in lines
    assert any(line.startswith("value  4000 vehicle/year") for line in lines)
    assert lines.count("Quantities. Test cart, revision 6.") == 2
    assert "Requirements. Test cart, revision 6." in lines
    assert lines.count("Opening page. Test cart, revision 6.") == 2


def test_finding(say: Say) -> None:
    lines = say("f tie rod joint", "1", "find", "zzz", "f", "")
    assert "rod_inner. Test cart, revision 6." in lines
    assert "Nothing meets that." in lines


def test_a_what_if_its_ripple_and_adopting_it(say: Say, other: Session) -> None:
    lines = say("find volume", "1", "e", "8000")
    assert "volume, now 4000 vehicle/year; try> 8000" in lines
    assert "1: volume, now 4000 vehicle/year, tried as 8000" in lines
    assert any("D-TOOLS" in line and "would break: COST-1 is missed" in line for line in lines)
    assert "1 of 2 checks run" in lines
    other.refresh()
    assert other.head.revision == 6
    lines = say(
        "find volume", "1", "e", "8000", "adopt", "", "adopt", "a second plant", "measured",
        "the plant", "undo", "redo",
    )  # fmt: skip
    text = "\n".join(lines)
    assert "Nothing is stored: that needs a reason." in lines
    assert "Stored as 7: volume: 4000 vehicle/year → 8000 vehicle/year (measured, the plant)" in (
        text
    )
    assert "breaks D-TOOLS" in text
    assert "Undid change 7 (a second plant)" in text
    assert "Undid change 8 (undo revision 7)" in text
    other.refresh()
    assert other.head.revision == 9


def test_a_trial_grows_shrinks_and_is_dropped(say: Say) -> None:
    lines = say(
        "trial", "^n", "", "^n tooling_each", "more volume", "8000", "more COST-1",
        "COST-1.upper", "900000 EUR", "leave", "COST-1.upper", "1", "4000", "adopt", "1",
        "nonsense", "drop", "adopt",
    )  # fmt: skip
    text = "\n".join(lines)
    assert "Nothing is being tried." in text
    assert "tooling_each cannot be tried: check C-TOOLS computes it: change its inputs." in lines
    assert "2: COST-1.upper, now 400000 EUR, tried as 900000 EUR" in lines
    assert "Cannot adopt now: no value differs from what it is." in lines
    assert "No value differs yet." in lines
    assert "volume: " in text  # what does not hold is said with its address
    assert "The trial is dropped; nothing was stored." in lines
    assert "adopt means nothing here; ? reads out what does." in lines


def test_what_mends_a_trial_is_looked_for(say: Say) -> None:
    lines = say("find D-BUSH", "1", "e", "D-BUSH", "hard", "mend")
    assert "Looking for the smallest further edits; this may take a while." in lines
    assert any(line.startswith("D-BUSH: nothing found beside what is tried") for line in lines)


def test_what_mends_a_trial_is_taken_in_by_its_number(
    say: Say, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "tracker.tui.linear.trying.mend_trial", lambda session, *_: mend(session, "D-GEAR")
    )
    begin = ("find D-BUSH", "1", "e", "D-BUSH", "hard")
    lines = say(*begin, "mend")
    number = number_of(lines, "(cost")
    lines = say(*begin, number_of(lines, "what would mend that"), number)
    assert any("D-GEAR, now ahead, tried as" in line for line in lines)


def test_a_decision_is_leaned_to_settled_reopened_and_withdrawn(say: Say, session: Session) -> None:
    open_it = ("find D-BUSH", "1")
    lines = say(*open_it, "lean", "hard", "l", "nonsense")
    assert "Stored as 7: D-BUSH leans to hard. breaks D-BUSH" in lines
    assert "There is no nonsense to choose." in lines
    lines = say(*open_it, "s", "1", "it rides well", "")
    assert any("it cannot settle without a reason against hard" in line for line in lines)
    assert session.head.revision == 7
    lines = say(*open_it, "settle", "soft", "it rides well", "too stiff")
    assert "D-BUSH settled on soft" in "\n".join(lines)
    lines = say(*open_it, "s", "o", "", "o", "the tyre changed", "w", "nobody asks any more")
    text = "\n".join(lines)
    assert "Cannot settle now: it is settled; reopen it first." in lines
    assert "Nothing is stored: that needs a reason." in lines
    assert "D-BUSH reopened" in text
    assert "D-BUSH is withdrawn" in text


def test_a_shifted_decision_is_held_to_after_a_look(say: Say) -> None:
    lines = say("find D-TOOLS", "1", "review", "still cheaper than sharing")
    text = "\n".join(lines)
    assert "What moved since it was settled" in text
    assert "Stored as 7" in text


def test_the_walk_to_where_a_value_begins(say: Say) -> None:
    lines = say("find tooling_each", "1", "i")
    number = number_of(lines, "C-TOOLS")
    lines = say("find tooling_each", "1", "into", number)
    assert "Why C-TOOLS is so. Test cart, revision 6." in lines
    assert "tooling_each ← C-TOOLS" in "\n".join(lines)


def test_the_journal_and_undoing_a_change(say: Say) -> None:
    lines = say("journal", "1", "undo_this")
    text = "\n".join(lines)
    assert "1: 6  2026-01-05 " in text
    assert "Change 6. Test cart, revision 6." in lines
    assert "Undid change 6 (sales asked for more)" in text


def test_headroom_drivers_mending_and_readiness(say: Say) -> None:
    lines = say("find COST-1", "1", "H", "back", "D")
    assert "Headroom of COST-1. Test cart, revision 6." in lines
    assert "Drivers of COST-1. Test cart, revision 6." in lines
    lines = say("H", "M", "find D-GEAR", "1", "M", "g", "1", "G")
    assert "Headroom. Test cart, revision 6." in lines
    assert "What would mend it of D-GEAR. Test cart, revision 6." in lines
    assert "Readiness of G1. Test cart, revision 6." in lines
    assert "Criteria" in lines


def test_a_proposal_becomes_a_trial(say: Say) -> None:
    lines = say("M")
    number = next(line.partition(":")[0] for line in lines if line.split(" ")[1:2] == ["1."])
    lines = say("M", number)
    assert any("D-GEAR" in line and "tried as" in line for line in lines)


def test_long_pages_are_read_on(say: Say, session: Session) -> None:
    for number in range(45):
        set_values(session, {"volume": str(5000 + number)}, f"step {number}")
    lines = say("j", "", "45", "back")
    assert "11 more lines: Enter reads on." in lines
    assert "Change 7. Test cart, revision 51." in lines
    assert any(line.startswith("51: 1  2026-01-05") for line in lines)


def test_enter_reads_a_page_anew_and_what_means_nothing_is_said(say: Say) -> None:
    lines = say("", "zzz", "99", "back", "?")
    assert lines.count("Opening page. Test cart, revision 6.") == 2
    assert "zzz means nothing here; ? reads out what does." in lines
    assert "No line was read out as 99." in lines
    assert "This is the opening page; quit leaves the program." in lines
    assert "t or trial: the trial, where values are tried" in lines


def test_help_says_why_something_cannot_be_done(say: Say) -> None:
    lines = say("find D-TOOLS", "1", "?")
    assert "s or settle: settle, with reasons (not now: it is settled; reopen it first)" in lines


def test_leaving_asks_once_more_while_something_is_tried(say: Say) -> None:
    lines = say("find volume", "1", "e", "8000", "quit", "quit", "r")
    assert "Not stored yet: the trial. quit again drops it and leaves." in lines
    assert "Requirements. Test cart, revision 6." not in lines


def test_what_others_store_is_taken_in(say: Say, other: Session) -> None:
    set_values(other, {"volume": "5000"}, "the market says so")
    assert "Others stored changes: now revision 7." in say("r")


def test_a_value_that_moved_under_a_trial_is_said(session: Session, other: Session) -> None:
    sink = io.StringIO()

    class Source(io.StringIO):
        def readline(self, size: int | None = -1, /) -> str:  # type: ignore[override] # as io.StringIO has it
            line = super().readline()
            if line == "trial\n":
                set_values(other, {"volume": "5000"}, "the market says so")
            return line

    talk_about(session, Source("find volume\n1\ne\n8000\ntrial\n"), sink, ascii_only=False)
    assert "volume changed meanwhile from 4000 to 5000" in sink.getvalue()


def test_hostile_lines_are_spelt_out(say: Say) -> None:
    lines = say("\x1b[31mred\u202e", "find \x07", ascii_only=True)
    text = "\n".join(lines)
    assert "<U+001B>[31mred<U+202E> means nothing here" in text
    assert text.isascii()


def test_it_runs_on_pipes_and_ends_with_its_input(location: Path) -> None:
    environ = {**os.environ, "WHYBONE_LINEAR": "1", "WHYBONE_AUTHOR": "Ada", "TERM": "xterm"}
    told = subprocess.run(
        [sys.executable, "-m", "tracker.app", "--program", str(location), "open"],
        input="q\n1\n", capture_output=True, text=True, env=environ, check=True, timeout=60,
    )  # fmt: skip
    assert "volume. Test cart, revision 6." in told.stdout
    assert "\x1b" not in told.stdout
    assert told.stderr == ""


def test_it_opens_a_programme_by_its_place(
    location: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("quit\n"))
    assert run_linear(str(location), "Ada") == 0
    assert "Opening page. Test cart, revision 6." in capsys.readouterr().out
