"""Rows about starting: the command line against what it cannot do without."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from demo_program.story import make_demo
from tests.bench.harness import Row, ratio

__all__ = ["start_status", "start_version"]


def _run(*words: str, traces: str = "off") -> None:
    """Start Python as an installed program would be: with its compiled modules at hand."""
    ordinary = {name: text for name, text in os.environ.items() if not name.startswith("PYTHON")}
    ordinary["WHYBONE_TRACES"] = traces
    subprocess.run([sys.executable, *words], check=True, capture_output=True, env=ordinary)


def start_version(*, quick: bool) -> Row:
    """`whybone --version` ÷ a bare interpreter."""
    found, high, low = ratio(
        lambda: _run("-c", "from tracker.app import main; main()", "--version"),
        lambda: _run("-c", "pass"),
        5 if quick else 30,
        "wall time",
    )
    return Row(
        "start-version",
        found,
        5.0,
        f"{high * 1e3:.0f} ms against {low * 1e3:.0f} ms",
        of="wall time",
    )


def start_status(*, quick: bool) -> Row:
    """`whybone status` on the demo, opened before, ÷ importing sqlalchemy and numpy."""
    with tempfile.TemporaryDirectory() as folder:
        path = make_demo(Path(folder))

        def status() -> None:
            words = ("from tracker.app import main; main()", "--program", str(path), "status")
            _run("-c", *words, traces=folder)

        status()
        found, high, low = ratio(
            status,
            lambda: _run("-c", "import sqlalchemy, numpy"),
            5 if quick else 30,
            "wall time",
        )
    return Row(
        "start-status",
        found,
        2.0,
        f"{high * 1e3:.0f} ms against {low * 1e3:.0f} ms",
        of="wall time",
    )
