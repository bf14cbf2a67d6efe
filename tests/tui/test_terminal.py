"""In a real terminal: it starts, edits, resizes, pastes, and comes back from being killed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.tui.terminal import Terminal
from tracker.app import main


def test_it_edits_resizes_and_comes_back_from_being_killed(
    location: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    state = tmp_path / "state"
    with Terminal(location, state) as terminal:
        terminal.until("What stands", "Test cart", "revision 6")
        terminal.send("q")
        terminal.until("Vehicles a year")
        terminal.send("\r")
        terminal.until("edit and try", "volume")
        terminal.send("e")
        terminal.until("Type a value")
        terminal.send("8000")
        terminal.until("would break: COST-1 is missed")
        terminal.resize(60, 20)
        terminal.until("This needs 80 columns")
        terminal.resize(130, 45)
        terminal.until("would break: COST-1 is missed", "8000", without="This needs")
        terminal.send("\x1b")
        terminal.until("edit and try", without="would break")
        terminal.send("h")
        terminal.until("What is due at")
        terminal.send("n")
        terminal.until("Log a decision")
        terminal.paste("D-PASTE")
        terminal.until("D-PASTE")
        terminal.read(1.0)  # what is typed is kept beside, not before, what is shown
        terminal.kill()
    with Terminal(location, state) as terminal:
        terminal.until("What stands", "revision 6")
        terminal.send("n")
        terminal.until("Log a decision", "D-PASTE")
        terminal.send("\x1b")
        terminal.until("What stands")
        terminal.send("t")
        terminal.until("8000", "would break: COST-1 is missed")
        terminal.send("\x13")
        terminal.until("Adopt")
        terminal.send("a second plant\x13")
        terminal.until("Stored as 7")
        terminal.send("\x11")
        terminal.read(3.0)
        assert terminal.process.wait(30) == 0
    assert main(["--program", str(location), "audit"]) == 0
    assert "7 revisions hold" in capsys.readouterr().out


def test_a_paste_is_no_key(location: Path, tmp_path: Path) -> None:
    with Terminal(location, tmp_path / "state") as terminal:
        terminal.until("What is due at", "revision 6")
        terminal.paste("q\r\nqdwnsuU\x11")
        terminal.read(1.0)
        shown = terminal.until("What is due at")
        assert "Quantities" not in shown
        assert "revision 6" in shown
        assert terminal.process.poll() is None


def test_no_colour_is_no_colour(location: Path, tmp_path: Path) -> None:
    """Neither foreground nor background is chosen, in no way of ECMA-48 and ISO 8613-6."""
    environ = {"NO_COLOR": "1"}
    with Terminal(location, tmp_path / "state", environ=environ) as terminal:
        terminal.until("What is due at", "revision 6")
        terminal.send("d")
        terminal.until("Which steering gear")
        terminal.send("\r")
        terminal.until("Options side by side")
        chosen = {
            code
            for found in re.findall(rb"\x1b\[([0-9;:]*)m", terminal.raw)
            for code in re.split(rb"[;:]", found)
            if code and (30 <= int(code) <= 38 or 40 <= int(code) <= 48 or 90 <= int(code) <= 107)
        }
        assert chosen == set()


def test_ascii_is_ascii(location: Path, tmp_path: Path) -> None:
    environ = {"WHYBONE_ASCII": "1"}
    with Terminal(location, tmp_path / "state", environ=environ) as terminal:
        terminal.until("What is due at", "[X] broken", "[~] strained")
        terminal.send("d")
        terminal.until("Which steering gear")
        assert terminal.raw.isascii()
