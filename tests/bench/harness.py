"""Ratios of two timings taken side by side in one run: machines are noisy, ratios less so.

What only computes is timed in processor time of this process, which does not count the time that
other processes take; what waits for a disk, a terminal or another process in wall time.
"""

from __future__ import annotations

import gc
import os
import platform
import statistics
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np

__all__ = [
    "Clock",
    "Measured",
    "Row",
    "load",
    "machine",
    "measure",
    "quantile",
    "quiet",
    "ratio",
    "timed",
]

Clock = Literal["processor time", "wall time"]
_CLOCKS: Mapping[Clock, Callable[[], float]] = {
    "processor time": time.process_time,
    "wall time": time.perf_counter,
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the bench.

    Parameters
    ----------
    name : str
        Row of the bench table.
    ratio, aim : float
        Measured, and what it should not exceed (or reach, when `at_least`).
    note : str
        The two times behind the ratio, and what else belongs to it.
    of : str
        What it is a ratio of.
    """

    name: str
    ratio: float
    aim: float
    note: str
    at_least: bool = False
    of: Clock | Literal["counts"] = "processor time"

    @property
    def met(self) -> bool:
        return self.ratio >= self.aim if self.at_least else self.ratio <= self.aim

    def plain(self) -> dict[str, Any]:
        return {**asdict(self), "met": self.met}


@dataclass(frozen=True, slots=True)
class Measured:
    """A row, perhaps measured several times.

    Parameters
    ----------
    row : Row
        The measurement in the middle, by its ratio.
    ratios : tuple of float
        All of them, in the order they were taken.
    """

    row: Row
    ratios: tuple[float, ...]

    @property
    def spread(self) -> float:
        """From the lowest to the highest ratio, as a share of the one in the middle."""
        return (max(self.ratios) - min(self.ratios)) / self.row.ratio

    def plain(self) -> dict[str, Any]:
        return {**self.row.plain(), "ratios": list(self.ratios)}


_LONG = 20.0  # seconds: what takes longer is not measured again


def measure(
    row: Callable[[], Row], repeat: int, clock: Callable[[], float] = time.perf_counter
) -> Measured:
    """Measure a row up to so many times, as long as that does not take long."""
    start, found = clock(), [row()]
    while len(found) < repeat and clock() - start < _LONG:
        found.append(row())
    by_ratio = sorted(found, key=lambda each: each.ratio)
    return Measured(by_ratio[(len(found) - 1) // 2], tuple(each.ratio for each in found))


def timed(action: Callable[[], object], clock: Clock = "processor time") -> float:
    """Return the seconds one call takes."""
    read = _CLOCKS[clock]
    start = read()
    action()
    return read() - start


def ratio(
    top: Callable[[], object],
    bottom: Callable[[], object],
    rounds: int,
    clock: Clock = "processor time",
) -> tuple[float, float, float]:
    """Time two actions in turn; return the ratio of their medians, and both medians."""
    tops, bottoms = [], []
    for _ in range(rounds):
        tops.append(timed(top, clock))
        bottoms.append(timed(bottom, clock))
    high, low = statistics.median(tops), statistics.median(bottoms)
    return high / low, high, low


def quantile(times: list[float], share: float) -> float:
    """Return a quantile of some times."""
    return float(np.quantile(times, share))


@contextmanager
def quiet() -> Iterator[None]:
    """Keep what lasts out of the garbage collector's walks, as an open programme is kept."""
    gc.collect()
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()


def machine() -> dict[str, str]:
    """Describe the machine, without naming it."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    blas = np.show_config(mode="dicts")["Build Dependencies"]["blas"]
    return {
        "processor": _processor(),
        "cores": str(os.cpu_count()),
        "memory": f"{memory:.0f} GiB",
        "system": f"{platform.system()} {platform.release()} {platform.machine()}",
        "python": f"{platform.python_implementation()} {platform.python_version()}",
        "numpy": np.__version__,
        "blas": f"{blas['name']} {blas['version']}",
    }


def _processor() -> str:
    info = Path("/proc/cpuinfo")
    lines = info.read_text(encoding="utf-8").splitlines() if info.is_file() else []
    named = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return next(named, "unknown")


def load() -> float:
    """Return how many processes wanted a core, on average over the last minute."""
    return os.getloadavg()[0]
