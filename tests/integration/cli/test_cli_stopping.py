"""Ctrl+C in each long command, at the present and at an earlier revision: nothing is stored."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.integration.cli.conftest import Cli

RUN = """
import os, sys, time
from tracker.app import main

class Terminal:
    encoding = "utf-8"
    def isatty(self):
        return True
    def write(self, text):
        first, self.told = not self.told, True
        os.write(2, text.encode())
        if first:
            time.sleep(60)  # a slow programme: the first progress lasts until Ctrl+C
    def flush(self):
        pass
    told = False

sys.stderr = Terminal()
sys.exit(main())
"""
BUSY = [
    ("headroom",),
    ("headroom", "volume"),
    ("drivers", "COST-1"),
    ("spread",),
    ("sets",),
    ("mend",),
    ("why", "COST-1"),
]


@pytest.fixture
def busy(cli: Cli) -> Cli:
    """Volume scatters, may move and has just broken D-1; another decision is open."""
    fields = ("tolerance=500", "low=1000", "high=40000")
    assert cli("amend", "volume", *fields, "--why", "sales plan").code == 0
    assert cli("add", "quantity", "size", "title=Size").code == 0
    assert cli("add", "requirement", "R-S", "statement=Small", "quantity=size", "upper=5").code == 0
    options = (
        'options=[{"key": "s", "title": "S", "settings": {"size": 3}}, '
        '{"key": "l", "title": "L", "settings": {"size": 9}}]'
    )
    assert cli("add", "decision", "D-2", "question=Which?", "serves=R-S", options).code == 0
    assert cli("set", "volume=30000", "--why", "a new customer").code == 0
    return cli


@pytest.mark.parametrize("past", [False, True])
@pytest.mark.parametrize("command", BUSY, ids=" ".join)
def test_ctrl_c_says_how_far_it_got_and_stores_nothing(
    busy: Cli, program: Path, head: Callable[[], str], command: tuple[str, ...], past: bool
) -> None:
    """A later change makes the revision asked about an earlier one."""
    if past:
        revision = busy("status", "--json").json["revision"]
        busy("set", "width=101", "--why", "later")
        command = ("at", str(revision), *command)
    before = head()
    told = interrupted(program, *command)
    assert re.search(r"got as far as: .*\d.*\. The programme is untouched\n", told)
    assert head() == before
    assert busy("audit").code == 0


@pytest.mark.parametrize("command", [("audit",), ("compare", "2", "4")], ids=" ".join)
def test_ctrl_c_while_the_journal_is_replayed(
    busy: Cli, program: Path, head: Callable[[], str], command: tuple[str, ...]
) -> None:
    before = head()
    assert re.search(r"got as far as: replaying .* The programme", interrupted(program, *command))
    assert head() == before
    assert busy("audit").code == 0


def interrupted(program: Path, *command: str) -> str:
    """Run a command, press Ctrl+C at its first progress and return what it said."""
    environ = {**os.environ, "WHYBONE_PROGRAM": str(program), "TERM": "xterm"}
    with subprocess.Popen(
        [sys.executable, "-c", RUN, *command],
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stderr
        assert process.stdout
        shown = b""
        while b"\r\x1b[K" not in shown:
            read = os.read(process.stderr.fileno(), 4096)
            assert read, f"it ended without any progress: {shown!r}"
            shown += read
        process.send_signal(signal.SIGINT)
        told = (shown + process.stderr.read()).decode()
        assert process.stdout.read() == b""
        assert process.wait(timeout=60) == 130
    assert "Traceback" not in told
    return told


@pytest.mark.parametrize("command", BUSY, ids=" ".join)
def test_an_earlier_revision_answers_as_it_did_when_it_was_the_last(
    busy: Cli, command: tuple[str, ...]
) -> None:
    """As JSON and as text, down to the last digit, whatever came later."""
    revision = busy("status", "--json").json["revision"]
    now = busy(*command, "--json"), busy(*command)
    busy("set", "volume=3000", "--why", "the customer is gone")
    busy("lean", "D-2", "s")
    then = [busy("at", str(revision), *command, *more) for more in (("--json",), ())]
    assert [(each.code, each.out) for each in then] == [(each.code, each.out) for each in now]
    assert then[0].json["revision"] == revision


def test_an_earlier_mend_cannot_be_adopted_from_there(busy: Cli) -> None:
    told = busy("at", "3", "try", "volume=3000")
    assert told.code == 2
    assert "No such command" in told.err
