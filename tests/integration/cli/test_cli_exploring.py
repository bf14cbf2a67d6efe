"""headroom, drivers, spread: what they tell, as text and as JSON, and how they stop."""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tests.integration.cli.conftest import Cli
from tracker.bootstrap import open_session
from tracker.cli.progress import progressing
from tracker.model.changes import Entry
from tracker.model.records import Quantity
from tracker.services.wording import CAUTION

RUN = "import sys; from tracker.app import main; sys.exit(main())"


@pytest.fixture
def scattered(cli: Cli) -> Cli:
    """Volume ± 500 a year, and a range for it."""
    fields = ("tolerance=500", "low=1000", "high=9000")
    assert cli("amend", "volume", *fields, "--why", "sales plan").code == 0
    return cli


def test_headroom_has_the_promised_keys(cli: Cli, head: Callable[[], str]) -> None:
    """Two sets cost 156,000 of 200,000 EUR and are enough for 120,000 pieces: 10,000 a year."""
    before = head()
    told = cli("headroom", "volume", "--json")
    assert told.code == 0
    each = told.json["intervals"][0]
    wanted = {"key": "volume", "value": 3500.0, "unit": "vehicle/year", "certified": True}
    assert wanted.items() <= each.items()
    assert (each["low"], each["breaks_low"]) == (0.0, ["D-1"])  # a negative volume has no answer
    assert each["high"] == pytest.approx(10_000, rel=1e-8)
    assert (each["breaks_high"], each["because_high"]) == (["D-1"], ["COST-1"])
    assert head() == before


def test_headroom_as_text(cli: Cli) -> None:
    told = cli("headroom", "GAP-1")
    assert told.code == 0
    assert "GAP-1.lower  8 mm" in told.out
    assert "certified" in told.out
    assert "then D-1 " in told.out
    assert " on GAP-1" in told.out
    assert "any" in told.out
    assert CAUTION in told.out
    assert "no decision that stands depends on it" in cli("headroom", "width").out
    sampled = cli("headroom", "parts[knuckle].set_cost").out
    assert "sampled, at most" in sampled
    assert "nothing breaks" in sampled


def test_headroom_of_everything(cli: Cli) -> None:
    keys = [each["key"] for each in cli("headroom", "--json").json["intervals"]]
    assert keys == ["COST-1.upper", "GAP-1.lower"]


def test_headroom_of_a_choice(cli: Cli) -> None:
    cli(
        "add",
        "quantity",
        "side",
        "title=Side",
        "type=choice",
        'choices=["left", "right"]',
        "value=left",
    )
    cli("add", "requirement", "R-S", "statement=Left", "quantity=side", "allowed=left")
    cli("add", "quantity", "sealed", "title=Sealed", "type=flag", "value=yes")
    cli("amend", "D-1", 'serves=["COST-1", "GAP-1", "R-S"]', "--why", "it must go left")
    made = cli("headroom", "side")
    assert not made.err
    told = made.out
    assert "stands with  left" in told
    assert "breaks with  right" in told
    assert "breaks with  none" in cli("headroom", "sealed").out


def test_headroom_of_nothing(cli: Cli, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = cli("headroom", "nobody")
    assert told.code == 2
    assert "nothing is called 'nobody'" in told.err
    bare = str(tmp_path / "bare.db")
    assert cli("new", bare).code == 0
    monkeypatch.setenv("WHYBONE_PROGRAM", bare)
    assert "Nothing is adjustable" in cli("headroom").out


def test_headroom_that_ends_where_a_value_becomes_unknown(cli: Cli) -> None:
    """A lever without a length has no answer; the check tells, no requirement does."""
    cli("add", "quantity", "part", "title=Part", "value=3")
    config = '{"expression": "sqrt(part)", "inputs": "part", "unit": ""}'
    added = cli(
        "add", "check", "C-R", "title=R", "check=formula", "decision=D-1", f"config={config}",
        'inputs={"part": "part"}',
    )  # fmt: skip
    assert added.code == 0, added.err
    told = cli("headroom", "part", "--json").json["intervals"][0]
    assert told["low"] == pytest.approx(0.0, abs=1e-12)


def test_drivers_of_a_value_that_depends_on_nothing(cli: Cli) -> None:
    cli("add", "quantity", "pieces", "title=Pieces", "type=integer", "value=3")
    cli("add", "quantity", "twice", "title=Twice")
    cli("add", "requirement", "R-P", "statement=Few", "quantity=twice", "upper=9")
    config = '{"expression": "2 * pieces", "inputs": "pieces", "unit": ""}'
    added = cli(
        "add", "check", "C-T", "title=T", "check=formula", "decision=D-1", f"config={config}",
        'inputs={"pieces": "pieces"}', 'outputs={"result": "twice"}',
    )  # fmt: skip
    assert added.code == 0, added.err
    assert "It depends on no other value" in cli("drivers", "R-P").out


def test_drivers(scattered: Cli) -> None:
    told = scattered("drivers", "COST-1", "--json")
    assert told.code == 0
    page = told.json
    assert page["requirement"] == "COST-1"
    assert {each["key"] for each in page["drivers"]} == {"volume", "years"}
    assert page["drivers"][0]["slope"] == 0.0  # sets are whole: a small change costs nothing
    text = scattered("drivers", "COST-1").out
    assert "tooling does not feel a small change of it" in text
    assert "COST-1: tooling is 78 000 EUR, met." in text
    own = scattered("drivers", "GAP-1").out
    assert "raises gap by" in own
    assert "+1 mm per mm" in own


def test_spread_has_the_promised_keys(scattered: Cli, head: Callable[[], str]) -> None:
    before = head()
    told = scattered("spread", "--json", "--half-width", "0.01", "--owners", "64")
    assert told.code == 0
    each = told.json["decisions"][0]
    assert {"key": "D-1", "p_stands": 1.0, "high": 1.0, "n": 4096}.items() <= each.items()
    assert 0.999 < each["low"] < 1
    assert head() == before


def test_spread_as_text(scattered: Cli) -> None:
    told = scattered("spread", "--half-width", "0.01", "--owners", "64").out
    assert "4096 samples, seed 1; intervals hold 95 %" in told
    assert "3500 ± 500 vehicle/year" in told
    assert "± holds every value" in told
    assert CAUTION in told
    scattered("amend", "COST-1", "upper=100000 EUR", "--why", "tighter")
    scattered("set", "volume=5000", "--why", "more")
    told = scattered("spread", "--owners", "64").out
    assert "COST-1" in told
    assert "missed" in told
    assert "volume 100 %" in told


def test_spread_says_what_it_did_not_reach_and_what_is_idle(scattered: Cli) -> None:
    scattered("set", "volume=5000", "--why", "more")
    scattered("amend", "COST-1", "upper=100000 EUR", "--why", "tighter")
    scattered("amend", "tooling", "tolerance=5 EUR", "--why", "the quote says so")
    told = scattered("spread", "--half-width", "0.000001", "--samples", "4096", "--owners", "0").out
    assert "ask for more samples" in told
    assert "Without effect, being no known number from outside: tooling" in told


def test_spread_tells_what_scatters_together(scattered: Cli, program: Path) -> None:
    """Volume goes with years, and years with the width, which is exact."""
    assert scattered("amend", "years", "tolerance=1", "--why", "perhaps").code == 0
    session = open_session(program, "Mara")
    find = session.programme.named
    years, volume, width = (find(each, Quantity) for each in ("years", "volume", "width"))
    together = replace(years, correlated={volume.id: -0.5, width.id: 0.25})
    session.commit([Entry(years, together)], "long runs are small ones")
    session.store.close()
    told = scattered("spread", "--half-width", "0.1")
    assert told.code == 0, told.err
    assert "Scatter together" in told.out
    assert re.search(r"volume +years +-0\.5\n", told.out)
    assert "Correlated with what does not scatter: years" in told.out
    page = scattered("spread", "--half-width", "0.1", "--json").json
    assert page["correlated"] == [{"one": "volume", "other": "years", "coefficient": -0.5}]
    assert page["unpaired"] == ["years"]
    assert page["decisions"][0]["owners"] == []


def test_spread_without_any_tolerance(cli: Cli) -> None:
    told = cli("spread")
    assert told.code == 2
    assert "nothing scatters" in told.err


def test_ctrl_c_says_how_far_it_got_and_leaves_the_programme_alone(
    scattered: Cli, program: Path, head: Callable[[], str]
) -> None:
    """Standard error is a terminal, so that the first progress tells when to stop."""
    scattered("set", "volume=9999", "--why", "near the edge")
    before = head()
    words = ("spread", "--half-width", "1e-9", "--samples", str(2**22), "--owners", "0")
    ours, theirs = pty.openpty()
    environ = {**os.environ, "WHYBONE_PROGRAM": str(program), "TERM": "xterm"}
    shown = b""
    with subprocess.Popen(
        [sys.executable, "-c", RUN, *words], env=environ, stdout=subprocess.PIPE, stderr=theirs
    ) as process:
        os.close(theirs)
        while b"samples" not in shown:
            shown += os.read(ours, 4096)
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=60) == 130
        while b"untouched" not in shown:
            shown += os.read(ours, 4096)
    os.close(ours)
    assert re.search(rb"got as far as: \d+ samples, probabilities known to", shown)
    assert b"Traceback" not in shown
    assert head() == before


def test_progress_is_shown_on_a_terminal_and_cleared(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    with progressing() as tell:
        tell("half of it")
    assert capsys.readouterr().err == "\r\x1b[Khalf of it\r\x1b[K"
    with pytest.raises(KeyboardInterrupt):
        _interrupted()
    assert capsys.readouterr().err.endswith(
        "whybone: got as far as: half of it. The programme is untouched\n"
    )


def _interrupted() -> None:
    with progressing() as tell:
        tell("half of it")
        raise KeyboardInterrupt


def test_progress_stays_quiet_elsewhere(capsys: pytest.CaptureFixture[str]) -> None:
    with progressing() as tell:
        tell("half of it")
    assert capsys.readouterr().err == ""
