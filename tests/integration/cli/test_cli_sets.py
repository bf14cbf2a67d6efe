"""sets: what it tells, as text and as JSON, how it exits, and how it stops."""

from __future__ import annotations

import json
import os
import pty
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from tests.integration.cli.conftest import Cli
from tracker.services.wording import CAUTION

RUN = "import sys; from tracker.app import main; sys.exit(main())"


def test_sets_has_the_promised_keys(cli: Cli, head: Callable[[], str]) -> None:
    """Arm a leaves a gap of 12 mm, arm b 6 mm, against at least 8 mm."""
    before = head()
    told = cli("sets", "--leaning", "--json")
    assert told.code == 0
    assert told.err == ""
    page = told.json
    assert (page["count"], page["total"]) == (1, 2)
    (best,) = page["sets"]
    assert best["options"] == {"D-1": "a"}
    assert (best["margin"], best["closest"]) == (0.5, "GAP-1")
    assert page["killed"][0]["conflicts"][0]["words"] == "GAP-1 missed"
    assert head() == before


def test_sets_as_text(cli: Cli) -> None:
    told = cli("sets", "--leaning", "--largest", "gap")
    assert told.code == 0
    assert "1 of 2 combinations of open options meet" in told.out
    assert "b  in none  GAP-1 missed" in told.out
    assert "12 mm" in told.out
    assert CAUTION in told.out


def test_nothing_alive_is_bad_news(cli: Cli) -> None:
    assert cli("set", "GAP-1.lower=20 mm", "--why", "hotter").code == 0
    told = cli("sets", "--leaning")
    assert told.code == 1
    assert "0 of 2 combinations" in told.out


def test_nothing_open_and_goals_that_are_none(cli: Cli) -> None:
    told = cli("sets")
    assert told.code == 2
    assert "no decision is open" in told.err
    assert cli("sets", "--leaning", "--smallest", "gap", "--largest", "gap").code == 2
    told = cli("sets", "--leaning", "--limit", "1")
    assert told.code == 2
    assert "more than the limit of 1" in told.err


def crowded(cli: Cli) -> None:
    """Add four decisions of 30 options each that share one requirement: 810,000 combinations."""
    for key in "abcd":
        values = [{"key": f"o{n}", "title": "Part", "settings": {key: n}} for n in range(30)]
        assert cli("add", "quantity", key, "title=Part").code == 0
        options = f"options={json.dumps(values)}"
        added = cli("add", "decision", f"D-{key}", "question=Which?", options)
        assert added.code == 0, added.err
    cli("add", "quantity", "sum", "title=Sum")
    cli("add", "requirement", "R-SUM", "statement=Not too much", "quantity=sum", "upper=60")
    config = '{"expression": "a + b + c + d", "inputs": "a, b, c, d", "unit": ""}'
    inputs = json.dumps({each: each for each in "abcd"})
    added = cli(
        "add", "check", "C-SUM", "title=Sum", "check=formula", "decision=D-a", f"config={config}",
        f"inputs={inputs}", 'outputs={"result": "sum"}',
    )  # fmt: skip
    assert added.code == 0, added.err


def test_ctrl_c_says_how_far_it_got_and_leaves_the_programme_alone(
    cli: Cli, program: Path, head: Callable[[], str]
) -> None:
    """Standard error is a terminal, so that the first progress tells when to stop."""
    crowded(cli)
    before = head()
    ours, theirs = pty.openpty()
    environ = {**os.environ, "WHYBONE_PROGRAM": str(program), "TERM": "xterm"}
    shown = b""
    with subprocess.Popen(
        [sys.executable, "-c", RUN, "sets"], env=environ, stdout=subprocess.PIPE, stderr=theirs
    ) as process:
        os.close(theirs)
        while b"evaluated" not in shown:
            shown += os.read(ours, 4096)
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=60) == 130
        while b"untouched" not in shown:
            shown += os.read(ours, 4096)
    os.close(ours)
    assert re.search(rb"got as far as: \d+ combinations evaluated", shown)
    assert b"Traceback" not in shown
    assert head() == before
