"""Ratios of two timings taken side by side in one run: machines are noisy, ratios less so."""

from __future__ import annotations

import platform
import statistics
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

__all__ = ["Row", "machine", "quantile", "ratio", "timed"]


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
    """

    name: str
    ratio: float
    aim: float
    note: str
    at_least: bool = False

    @property
    def met(self) -> bool:
        return self.ratio >= self.aim if self.at_least else self.ratio <= self.aim

    def plain(self) -> dict[str, Any]:
        return {**asdict(self), "met": self.met}


def timed(action: Callable[[], object]) -> float:
    """Return the seconds one call takes."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def ratio(
    top: Callable[[], object], bottom: Callable[[], object], rounds: int
) -> tuple[float, float, float]:
    """Time two actions in turn; return the ratio of their medians, and both medians."""
    tops, bottoms = [], []
    for _ in range(rounds):
        tops.append(timed(top))
        bottoms.append(timed(bottom))
    high, low = statistics.median(tops), statistics.median(bottoms)
    return high / low, high, low


def quantile(times: list[float], share: float) -> float:
    """Return a quantile of some times."""
    return float(np.quantile(times, share))


def machine() -> dict[str, str]:
    """Describe the machine, without naming it."""
    model = "unknown"
    info = Path("/proc/cpuinfo")
    if info.is_file():
        lines = [line for line in info.read_text().splitlines() if line.startswith("model name")]
        model = lines[0].partition(":")[2].strip() if lines else model
    return {
        "python": platform.python_version(),
        "numpy": np.__version__,
        "system": f"{platform.system()} {platform.machine()}",
        "processor": model,
    }
