"""What a check is: its manifest, its inputs and outputs, its rules.

A check is a pure function over batches. Every numeric input has a leading batch axis of length n:

========  =====================================  ==========
kind      array                                  dtype
========  =====================================  ==========
real      (n,) in the port's unit                float64
integer   (n,)                                   int64
choice    (n,) index into the port's `choices`   int64
flag      (n,)                                   bool
point     (n, 3) in the port's unit              float64
table     one `Table`, constant within a batch   —
========  =====================================  ==========

Arrays are read-only. An optional port that is not bound and has no default is simply missing from
the inputs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from tracker.contract.figure import Figure
from tracker.model.values import Cell, CellKind, Kind

__all__ = [
    "MONEY",
    "Absence",
    "Array",
    "Cell",
    "CellKind",
    "Check",
    "Config",
    "DeclaresTrends",
    "DrawsFigures",
    "GivesDerivatives",
    "Inputs",
    "Kind",
    "Manifest",
    "Outputs",
    "Port",
    "PortColumn",
    "Problem",
    "Rule",
    "Source",
    "Table",
]

MONEY = "money"
"""Unit text that stands for the programme's currency; may appear in a compound, `money/kg`."""

Array = NDArray[Any]
Config = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PortColumn:
    """A column of a table port.

    Parameters
    ----------
    name, doc : str
        Name and meaning.
    kind : CellKind
        Kind of the cells.
    unit : str
        Unit of a real column.
    default : Cell, optional
        Value where a table has no such column; without one the column is required.
    """

    name: str
    doc: str
    kind: CellKind = CellKind.REAL
    unit: str = ""
    default: Cell | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """One input or output of a check.

    Parameters
    ----------
    key, title, doc : str
        Fixed name, label and meaning (with its sign convention).
    kind : Kind
        Kind of value.
    unit : str
        Unit the check computes in.
    optional : bool
        An input that may be left unbound; an output that may be absent with a reason.
    choices : tuple of str
        Texts of a choice, in code order.
    columns : tuple of PortColumn
        Columns of a table.
    default : float, int, bool or str, optional
        Value of an unbound optional input, in the port's unit.
    """

    key: str
    title: str
    doc: str
    kind: Kind = Kind.REAL
    unit: str = ""
    optional: bool = False
    choices: tuple[str, ...] = ()
    columns: tuple[PortColumn, ...] = ()
    default: Cell | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A limit the check itself carries on one of its outputs.

    Parameters
    ----------
    output : str
        Port key.
    lower, upper : float, optional
        Bounds in the port's unit.
    allowed : tuple of str
        Allowed texts of a choice, or "yes"/"no" of a flag.
    scale : float, optional
        Width the margin is measured against, where the band gives none.
    guard : float
        A met value whose margin share is below this is tight.
    reason, source : str
        Why the limit exists and where it comes from.
    """

    output: str
    reason: str
    source: str
    lower: float | None = None
    upper: float | None = None
    allowed: tuple[str, ...] = ()
    scale: float | None = None
    guard: float = 0.0


@dataclass(frozen=True, slots=True)
class Source:
    """A reference the method rests on: the work, the place in it, and how it was consulted."""

    work: str
    place: str = ""
    note: str = ""

    def __str__(self) -> str:
        return "; ".join(
            filter(None, (", ".join(filter(None, (self.work, self.place))), self.note))
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """Everything about a check that can be told without running it.

    Parameters
    ----------
    key, version, title, purpose : str
        Identity. The version changes whenever a result may change.
    inputs, outputs : tuple of Port
        Ports, in display order.
    rules : tuple of Rule
        Limits the check carries.
    sources : tuple of Source
        References of the method.
    cautions : tuple of str
        Assumptions and limits of validity, shown beside every result.
    """

    key: str
    version: str
    title: str
    purpose: str
    inputs: tuple[Port, ...]
    outputs: tuple[Port, ...]
    rules: tuple[Rule, ...] = ()
    sources: tuple[Source, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """A table value, by column.

    Parameters
    ----------
    columns : mapping of str to ndarray or tuple of str
        Column name → cells, all of one length; real cells in the port's unit, text as a tuple.
    rows : int
        Number of rows.
    """

    columns: Mapping[str, Array | tuple[str, ...]]
    rows: int

    def reals(self, name: str) -> NDArray[np.float64]:
        """Return a numeric column as float64, shape (rows,)."""
        return np.asarray(self.columns[name], dtype=np.float64)

    def flags(self, name: str) -> NDArray[np.bool_]:
        """Return a flag column, shape (rows,)."""
        return np.asarray(self.columns[name], dtype=np.bool_)

    def texts(self, name: str) -> tuple[str, ...]:
        """Return a text column."""
        return tuple(str(each) for each in self.columns[name])


Inputs = Mapping[str, Any]
"""Port key → array or `Table`, as the table at the head of this module says."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Rows without a result, and why.

    Parameters
    ----------
    rows : ndarray of bool, shape (n,)
        Rows concerned.
    reason : str
        In words.
    ports : tuple of str
        Output ports concerned; empty means all.
    """

    rows: NDArray[np.bool_]
    reason: str
    ports: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Absence:
    """Rows in which an optional output does not exist, and why (an infinite swing arm)."""

    port: str
    rows: NDArray[np.bool_]
    reason: str


@dataclass(slots=True)
class Outputs:
    """Result of a batch.

    Parameters
    ----------
    values : mapping of str to ndarray
        Output port → array with the batch axis; NaN (or any value) in rows named by a problem.
    problems : sequence of Problem
        Rows without a result.
    absences : sequence of Absence
        Rows without an optional output.
    """

    values: Mapping[str, Array]
    problems: Sequence[Problem] = field(default=())
    absences: Sequence[Absence] = field(default=())


class Check(Protocol):
    """An engineering check."""

    def manifest(self, config: Config) -> Manifest:
        """Describe the check; ports may depend on the configuration.

        Raises
        ------
        tracker.contract.faults.ConfigError
            The configuration is wrong; all wrong fields at once.
        """
        ...

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        """Compute a batch: pure, never mutating its inputs, each row on its own."""
        ...


@runtime_checkable
class DrawsFigures(Protocol):
    """A check that has something to show."""

    def figures(self, inputs: Inputs, config: Config) -> Sequence[Figure]:
        """Return the figures of a batch of one."""
        ...


@runtime_checkable
class DeclaresTrends(Protocol):
    """A check that promises how its outputs follow its inputs.

    A promise holds over every row that has an answer, all other inputs being equal. Where anything
    is promised for an input, two things more are: a row that lies between two rows with an answer,
    input by input, has an answer too; and moving it makes no optional output begin or cease to
    exist.
    """

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002 - the port
        """Tell how an output follows an input.

        Parameters
        ----------
        output, input : str
            Port keys; a component of a point is named `port.x`.
        config : Config
            Configuration.

        Returns
        -------
        int or None
            1: never falls as the input rises; −1: never rises; 0: does not depend on it;
            None: nothing is promised.
        """
        ...


@runtime_checkable
class GivesDerivatives(Protocol):
    """A check that knows derivatives of its outputs."""

    def derivatives(self, inputs: Inputs, config: Config) -> Mapping[tuple[str, str], Array]:
        """Return partial derivatives of a batch.

        Returns
        -------
        mapping of (str, str) to ndarray, shape (n,)
            (output, input) → derivative in the ports' units, components of points named `port.x`;
            NaN where there is none. Pairs that are missing are differentiated numerically.
        """
        ...
