"""Load cases of a batch: from their table, and from ports that stand in for its cells."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tracker.contract.check import Array, Inputs, Table
from whybone_chassis.mechanics.statics import Loads
from whybone_chassis.mechanics.vectors import BoolArray, FloatArray

__all__ = ["Cases", "cases_of"]

_REACTED = {"knuckle": True, "body": False}
_FED = ("fx", "fy", "fz")
_ON_CARRIER = ("bar_force", "stop_force")
_NUMBERS = (*_FED, "mz", "travel", "rack")
_THROUGH_CENTRE = ("step", "drive")
"""Cases whose fx passes through the wheel centre unless the table says otherwise."""

_NONE_GIVEN = "no load case is given: fill load_cases or bind a force such as fz_static"


@dataclass(frozen=True, slots=True)
class Cases:
    """Load cases of n rows of geometry.

    Parameters
    ----------
    names : tuple of str
        Of the m cases.
    on_knuckle : ndarray of bool, shape (m,)
        Whether the knuckle reacts the torque of fx.
    numbers : mapping of str to ndarray, shape (m, n)
        Forces of ground, bar and stop, mz, travel and rack, in N, N·m and mm.
    mass : ndarray, shape (n,)
        Unsprung mass, kg.
    """

    names: tuple[str, ...]
    on_knuckle: BoolArray
    numbers: dict[str, FloatArray]
    mass: FloatArray

    def loads(self) -> Loads:
        """Return what acts, one case after the other, shape (m · n,)."""
        flat = {key: np.ascontiguousarray(each).reshape(-1) for key, each in self.numbers.items()}
        rows = len(self.mass)
        return Loads(
            fx=flat["fx"],
            fy=flat["fy"],
            fz=flat["fz"],
            mz=flat["mz"],
            on_knuckle=np.repeat(self.on_knuckle, rows),
            unsprung_mass=np.tile(self.mass, len(self.names)),
            bar_force=flat["bar_force"],
            stop_force=flat["stop_force"],
        )


def cases_of(inputs: Inputs, fed: tuple[str, ...]) -> Cases | str:
    """Gather the load cases.

    Parameters
    ----------
    inputs : mapping
        Ports of the check `ball-joint-moment`.
    fed : tuple of str
        Cases that have force ports of their own.

    Returns
    -------
    Cases or str
        What is wrong with them, in words, where they cannot be used.
    """
    table: Table | None = inputs.get("load_cases")
    given = table.texts("case") if table is not None else ()
    reacted = table.texts("brake_reacted_by") if table is not None else ()
    names = (*given, *(case for case in fed if case not in given and _fed_ports(inputs, case)))
    fault = _fault(table, names, reacted) or _carrier_fault(inputs, names)
    if fault:
        return fault
    rows = len(inputs["unsprung_mass"])
    numbers = {key: _column(table, key, len(names), rows) for key in _NUMBERS}
    numbers |= _on_carrier(inputs, names)
    for place, case in enumerate(names):
        for key, port in _fed_ports(inputs, case).items() if case in fed else ():
            numbers[key][place] = inputs[port]
    on_knuckle = [_REACTED[each] for each in reacted]
    on_knuckle += [name not in _THROUGH_CENTRE for name in names[len(given) :]]
    return Cases(names, np.array(on_knuckle), numbers, inputs["unsprung_mass"])


def _fed_ports(inputs: Inputs, case: str) -> dict[str, str]:
    """Return the bound force ports of a case, by the column they stand in for."""
    return {key: f"{key}_{case}" for key in _FED if f"{key}_{case}" in inputs}


def _column(table: Table | None, key: str, cases: int, rows: int) -> FloatArray:
    """Return a numeric column for all rows of geometry, zero for cases not in the table."""
    column = np.zeros((cases, rows))
    if table is not None:
        column[: table.rows] = table.reals(key)[:, None]
    return column


def _on_carrier(inputs: Inputs, names: tuple[str, ...]) -> dict[str, FloatArray]:
    """Return the forces of bar and stop: alike in every case, and what a case adds."""
    acting = {key: np.tile(inputs[key], (len(names), 1)) for key in _ON_CARRIER}
    further: Table | None = inputs.get("carrier_forces")
    if further is not None:
        for row, case in enumerate(further.texts("case")):
            for key in _ON_CARRIER:
                acting[key][names.index(case)] += further.reals(key)[row]
    return acting


def _carrier_fault(inputs: Inputs, names: tuple[str, ...]) -> str:
    """Say what makes the forces of bar and stop unusable."""
    further: Table | None = inputs.get("carrier_forces")
    if further is None:
        return ""
    strangers = [case for case in further.texts("case") if case not in names]
    if strangers:
        return f"carrier_forces: there is no load case {strangers[0]}"
    if not all(np.isfinite(further.reals(key)).all() for key in _ON_CARRIER):
        return "carrier_forces: a cell is not a finite number"
    return ""


def _fault(table: Table | None, names: tuple[str, ...], reacted: tuple[str, ...]) -> str:
    """Say what makes the cases unusable."""
    if not names:
        return _NONE_GIVEN
    if len(set(names)) != len(names):
        twice = next(name for name in names if names.count(name) > 1)
        return f"load_cases: the case {twice} is named twice"
    for name, by in zip(names, reacted, strict=False):
        if by not in _REACTED:
            return f"load_cases, {name}: brake_reacted_by is knuckle or body, not {by!r}"
    cells: list[Array] = [table.reals(key) for key in _NUMBERS] if table is not None else []
    if not all(np.isfinite(column).all() for column in cells):
        return "load_cases: a cell is not a finite number"
    return ""
