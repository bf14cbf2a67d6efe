"""What a mending is made of, and how it gets into rows of candidates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tracker.explore.candidates import Candidates
from tracker.explore.mend_ranges import Mover
from tracker.explore.sources import Source

__all__ = ["Choice", "Mending", "Move", "Progress", "put_values"]

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Move:
    """A number and where it moves to."""

    mover: Mover
    to: float


@dataclass(frozen=True, slots=True)
class Choice:
    """A decision and the option it would lean to."""

    decision: str
    option: str


@dataclass(frozen=True, slots=True)
class Mending:
    """Edits that make a decision stand again.

    Parameters
    ----------
    moves, choices : tuple
        What changes.
    proven : bool
        Whether no nearer value of the same source can mend.
    cost : float
        As `Pricing` has it, the money included.
    money : float
        The largest rise of a budgeted amount, as a share of its budget.
    """

    moves: tuple[Move, ...]
    choices: tuple[Choice, ...] = ()
    proven: bool = False
    cost: float = 0.0
    money: float = 0.0


def put_values(rows: Candidates, source: Source, values: NDArray[np.float64], where: slice) -> None:
    """Put values of a number into rows, whole ones as such."""
    whole = isinstance(source.value, int)
    rows.put(source, values.astype(np.int64) if whole else values, where)
