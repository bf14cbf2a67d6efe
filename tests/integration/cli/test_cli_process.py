"""The command line as a process: what it imports, what a terminal sees, how it is stopped."""

from __future__ import annotations

import importlib.metadata
import os
import pty
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tracker.cli.version import VERSION
from tracker.services.wording import SIGNS

RUN = "import sys; from tracker.app import main; sys.exit(main())"
HEAVY = ("pint", "alembic", "textual", "jinja2", "pytest")
LISTING = (
    "import sys; from tracker.app import main; code = main(); "
    f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr); sys.exit(code)"
)
NEUTRAL = {
    name: value
    for name, value in os.environ.items()
    if name not in ("NO_COLOR", "COLORTERM", "WHYBONE_ASCII", "COLUMNS", "FORCE_COLOR")
}


def _env(program: Path, **more: str) -> dict[str, str]:
    return {
        **NEUTRAL,
        "WHYBONE_PROGRAM": str(program),
        "WHYBONE_AUTHOR": "Mara",
        "PYTHONUTF8": "1",
        **more,
    }


def _run(code: str, *args: str, env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *args],
        env=env,
        capture_output=True,
        encoding="utf-8",
        errors="surrogateescape",
        check=False,
    )


def _on_terminal(args: tuple[str, ...], env: dict[str, str]) -> str:
    """Run with standard output on a terminal of 80 columns and return what it shows."""
    ours, theirs = pty.openpty()
    with subprocess.Popen([sys.executable, "-c", RUN, *args], env=env, stdout=theirs) as process:
        os.close(theirs)
        shown = b""
        while True:
            try:
                some = os.read(ours, 65536)
            except OSError:  # Linux says EIO once the other end is closed
                break
            if not some:
                break
            shown += some
        process.wait()
    os.close(ours)
    return shown.decode()


@pytest.mark.parametrize(
    "args",
    [("--version",), ("--help",), ("status",), ("show", "D-1"), ("list", "quantity"), ("log",)],
)
def test_looking_loads_nothing_heavy(program: Path, args: tuple[str, ...]) -> None:
    done = _run(LISTING, *args, env=_env(program))
    assert done.returncode == 0, done.stderr
    assert done.stderr.strip() == "[]"


def test_version_loads_next_to_nothing(program: Path) -> None:
    code = RUN.replace("sys.exit(main())", "main(); print('click' in sys.modules)")
    done = _run(code, "--version", env=_env(program))
    assert done.stdout == f"whybone {VERSION}\nFalse\n"


def test_the_version_is_that_of_the_installation(program: Path) -> None:
    assert importlib.metadata.version("whybone") == VERSION
    assert _run(RUN, "--json", "--version", env=_env(program)).stdout == f"whybone {VERSION}\n"


def test_a_pipe_gets_no_escapes_and_no_wrapping(program: Path) -> None:
    shown = _run(RUN, "status", env=_env(program, TERM="xterm-256color", COLUMNS="40")).stdout
    assert "\x1b" not in shown
    assert max(map(len, shown.splitlines())) > 80


def test_a_terminal_gets_colours_and_80_columns(program: Path) -> None:
    env = _env(program, TERM="xterm-256color", COLUMNS="80", LINES="24")
    shown = _on_terminal(("status",), env)
    assert "\x1b[38;5;" in shown
    bare = re.sub(r"\x1b\[[0-9;]*m", "", shown)
    assert "\x1b" not in bare
    assert max(map(len, bare.splitlines())) <= 80
    assert f"{SIGNS['met'][0]} met" in bare


@pytest.mark.parametrize(
    "more", [{"NO_COLOR": "1"}, {"TERM": "dumb"}, {"TERM": "dumb", "COLORTERM": "truecolor"}]
)
def test_a_terminal_that_wants_no_colours_gets_none(program: Path, more: dict[str, str]) -> None:
    env = _env(program, **{"TERM": "xterm-256color", "COLUMNS": "80", **more})
    shown = _on_terminal(("status",), env)
    assert "\x1b" not in shown
    assert f"{SIGNS['met'][0]} met" in shown


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_an_old_encoding_gets_ascii_signs(program: Path, encoding: str) -> None:
    env = _env(program, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert _run(RUN, "amend", "width", "title=Breite ü Ω", "--why", "x", env=env).returncode == 0
    done = _run(RUN, "list", "quantity", env=env)
    assert done.returncode == 0
    assert "\\u03a9" in done.stdout
    status = _run(RUN, "status", env=env)
    assert status.stdout.isascii()
    assert "o met" in status.stdout
    assert _run(RUN, "status", "--json", env=env).stdout.isascii()


def test_errors_go_to_standard_error(program: Path) -> None:
    done = _run(RUN, "show", "nope", env=_env(program))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("whybone: ")
    done = _run(RUN, "--json", env=_env(program))
    assert done.returncode == 2
    assert "Missing command" in done.stderr


WAITING = """
import sys, time
class Slow:
    def read(self):
        print("reading", flush=True)
        time.sleep(60)
sys.stdin = type("Input", (), {"buffer": Slow()})()
"""


def test_ctrl_c_exits_130(program: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", WAITING + RUN, "calc", "tooling-budget", "-"],
        env=_env(program),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout
        assert process.stdout.readline() == "reading\n"
        process.send_signal(signal.SIGINT)
        _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "Traceback" not in told
    assert "stopped" in told


def test_a_reader_that_leaves_is_no_error(program: Path) -> None:
    ours, theirs = os.pipe()
    os.close(ours)
    done = subprocess.run(
        [sys.executable, "-c", RUN, "log", "--json"],
        env=_env(program),
        stdout=theirs,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(theirs)
    assert (done.returncode, done.stderr) == (1, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_behind_standard_output_is_told(program: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-c", RUN, "status"],
            env=_env(program),
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == 1
    assert b"standard output cannot be written" in done.stderr
    assert done.stderr.count(b"\n") == 1
