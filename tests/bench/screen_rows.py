"""Rows about the screen: first paint and answering a key, with few items and with many."""

from __future__ import annotations

import asyncio
import fcntl
import os
import pty
import select
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from textual import events
from textual.pilot import Pilot

from tests.bench.harness import Row, quantile, ratio
from tests.bench.programmes import many_items
from tracker.bootstrap import open_session
from tracker.tui.app import WhyboneApp

__all__ = ["screen_idle", "screen_key", "screen_paint", "screen_start"]

_FEW, _MANY = 100, 10_000
_STRETCH = 50  # keys in one direction, fewer than the short list has lines
_PAINTED = b"R3 is missed"  # why the second decision is broken, as the opening page has it


def _places(folder: str, many: int) -> tuple[str, str]:
    paths = []
    for count in (_FEW, many):
        many_items(Path(folder), count).store.close()
        paths.append(str(Path(folder) / f"many-{count}.db"))
    return paths[0], paths[1]


async def _shown(pilot: Pilot[int]) -> None:
    """Wait until the opening screen shows what the engine answered."""
    app = pilot.app
    assert isinstance(app, WhyboneApp)
    while app.where.revision < 0:  # noqa: ASYNC110 - the app has no event to wait for
        await asyncio.sleep(0.001)
    await pilot.pause()


async def _paint(location: str) -> float:
    start = time.perf_counter()
    app = WhyboneApp(lambda: open_session(location, "bench"), pace=0)
    async with app.run_test(size=(120, 40)) as pilot:
        await _shown(pilot)
        return time.perf_counter() - start


def screen_paint(*, quick: bool) -> Row:
    """Start to first paint of the opening screen, the store opened: 10,000 items ÷ 100."""
    rounds, many = (2, 2_000) if quick else (7, _MANY)
    with tempfile.TemporaryDirectory() as folder:
        few_at, many_at = _places(folder, many)
        few, lots = [], []
        for _ in range(rounds):
            few.append(asyncio.run(_paint(few_at)))
            lots.append(asyncio.run(_paint(many_at)))
    low, high = statistics.median(few), statistics.median(lots)
    return Row(
        "screen-paint",
        high / low,
        1.5,
        f"{high * 1e3:.0f} ms against {low * 1e3:.0f} ms",
        of="wall time",
    )


def screen_start(*, quick: bool) -> Row:
    """Command to first paint in a terminal, interpreter and all: 10,000 items ÷ 100.

    What is painted are the items themselves, from the store, not a frame that waits for them.
    """
    rounds, many = (2, 2_000) if quick else (9, _MANY)
    with tempfile.TemporaryDirectory() as folder:
        few_at, many_at = _places(folder, many)
        found, high, low = ratio(
            lambda: _until_painted(many_at), lambda: _until_painted(few_at), rounds, "wall time"
        )
    return Row(
        "screen-start",
        found,
        1.5,
        f"{high * 1e3:.0f} ms against {low * 1e3:.0f} ms",
        of="wall time",
    )


def _until_painted(location: str) -> None:
    """Open a programme in a pseudo-terminal and read until the first items stand there."""
    with _in_terminal(location):
        pass


@contextmanager
def _in_terminal(location: str) -> Iterator[tuple[int, int]]:
    """Open a programme in a pseudo-terminal; give its process and our end, its items there."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
    ordinary = {name: text for name, text in os.environ.items() if not name.startswith("PYTHON")}
    app = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "from tracker.app import main; main()",
            "--program",
            location,
            "open",
        ],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**ordinary, "TERM": "xterm-256color", "WHYBONE_AUTHOR": "bench"},
        start_new_session=True,
    )
    os.close(theirs)
    try:
        seen = b""
        while _PAINTED not in seen:
            seen += os.read(ours, 65_536)
        yield app.pid, ours
    except OSError as error:
        raise AssertionError(f"the command ended: {seen.decode(errors='replace')}") from error
    finally:
        app.kill()
        app.wait()
        os.close(ours)


def screen_idle(*, quick: bool) -> Row:
    """Processor time of the open program, 10,000 items and nobody typing ÷ the time it is open.

    It looks every two seconds for what others stored.
    """
    seconds, many = (3.0, 2_000) if quick else (10.0, _MANY)
    with (
        tempfile.TemporaryDirectory() as folder,
        _in_terminal(_places(folder, many)[1]) as (process, at),
    ):
        _drained(at, 3.0)  # what comes after the first items
        before = _used(process)
        _drained(at, seconds)
        used = _used(process) - before
    return Row("screen-idle", used / seconds, 0.02, f"{used * 1e3:.0f} ms in {seconds:.0f} s")


def _drained(at: int, seconds: float) -> None:
    until = time.perf_counter() + seconds
    while (left := until - time.perf_counter()) > 0:
        if select.select([at], [], [], left)[0]:
            os.read(at, 65_536)


def _used(process: int) -> float:
    """Seconds of processor time a process has used (proc(5), fields utime and stime)."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


async def _keys(location: str, count: int) -> list[float]:
    """Walk up and down at the end of the list of quantities; time each key until it is painted.

    Every key moves, in a short list too: one that does nothing costs nothing.
    """
    app = WhyboneApp(lambda: open_session(location, "bench"), pace=0)
    async with app.run_test(size=(120, 40)) as pilot:
        await _shown(pilot)
        await pilot.press("q")
        await pilot.pause()
        await pilot.press("end")
        await pilot.pause()
        times = []
        for number in range(count):
            start = time.perf_counter()
            key = "down" if number // _STRETCH % 2 else "up"
            app.post_message(events.Key(key, None))
            await _refreshed(app)
            times.append(time.perf_counter() - start)
        return times


async def _refreshed(app: WhyboneApp) -> None:
    done = asyncio.Event()
    await asyncio.sleep(0)
    app.call_after_refresh(done.set)
    await done.wait()


def screen_key(*, quick: bool) -> Row:
    """Key to completed refresh in a list, 95th percentile: 10,000 items ÷ 100."""
    count, many = (40, 2_000) if quick else (400, _MANY)
    with tempfile.TemporaryDirectory() as folder:
        few_at, many_at = _places(folder, many)
        few = quantile(asyncio.run(_keys(few_at, count)), 0.95)
        times = asyncio.run(_keys(many_at, count))
    lots, most = quantile(times, 0.95), max(times)
    return Row(
        "screen-key",
        lots / few,
        1.5,
        f"p95 {lots * 1e3:.1f} ms against {few * 1e3:.1f} ms, the longest {most * 1e3:.1f} ms",
        of="wall time",
    )
