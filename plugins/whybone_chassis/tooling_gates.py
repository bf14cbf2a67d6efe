"""The order of the gates, from their dates or from the configuration."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from tracker.contract.check import Table

__all__ = ["GateOrder", "gate_order"]

_DAYS_PER_WEEK = 7.0


@dataclass(frozen=True, slots=True)
class GateOrder:
    """Gates in their order.

    Parameters
    ----------
    names : tuple of str
        Gates in order.
    places : ndarray of int, shape (choices,)
        Place of each choice of the port `gate`; −1 where it is not among the gates.
    dates : tuple of date
        Their dates; empty where none are given.
    fault : str
        What is wrong with the gates given; empty when nothing is.
    """

    names: tuple[str, ...]
    places: NDArray[np.int64]
    dates: tuple[date, ...] = ()
    fault: str = ""

    @property
    def weeks(self) -> NDArray[np.float64] | None:
        """Weeks since the calendar's first day, by place; None without dates."""
        if not self.dates:
            return None
        return np.array([each.toordinal() for each in self.dates]) / _DAYS_PER_WEEK

    def places_of(self, gates: tuple[str, ...]) -> NDArray[np.int64]:
        """Return the place of each named gate; −1 where there is no such gate."""
        return np.array(
            [self.names.index(gate) if gate in self.names else -1 for gate in gates],
            dtype=np.int64,
        )


def gate_order(dated: Table | None, choices: tuple[str, ...]) -> GateOrder:
    """Bring the gates into order.

    Parameters
    ----------
    dated : Table or None
        The port `gates`; its dates decide the order where it is given.
    choices : tuple of str
        Choices of the port `gate`, in order.

    Returns
    -------
    GateOrder
        With a fault where a date cannot be read or a gate is named twice.
    """
    if dated is None or dated.rows == 0:
        return GateOrder(choices, np.arange(len(choices), dtype=np.int64))
    names = dated.texts("gate")
    fault = "a gate is named twice in gates" if len(set(names)) != len(names) else ""
    days: list[date] = []
    for name, text in zip(names, dated.texts("date"), strict=True):
        day = _day(text)
        fault = fault or (f"gate {name}: {text!r} is no date like 2026-09-30" if not day else "")
        days.append(day or date.min)
    ranked = sorted(zip(days, range(len(days)), names, strict=True))
    order = tuple(name for _, _, name in ranked)
    places = np.array([order.index(each) if each in order else -1 for each in choices])
    return GateOrder(order, places, tuple(day for day, _, _ in ranked), fault)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        return None
