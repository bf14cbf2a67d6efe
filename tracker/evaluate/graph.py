"""The compiled graph: slots, checks in topological order, and who depends on what."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tracker.errors import InputError
from tracker.evaluate.binding import Emit, Gather, Measure, RuleBand
from tracker.evaluate.deviations import Cover
from tracker.evaluate.plugin import Loaded

__all__ = ["Graph", "Judge", "Node"]


@dataclass(slots=True)
class Node:
    """A bound check, compiled.

    Parameters
    ----------
    fault : InputError or None
        Why the binding does not hold.
    reason : str
        The same in words that name no key, since keys may change.
    outputs : tuple of int
        Slots it writes, the slots of unbound rule outputs included.
    """

    id: str
    loaded: Loaded | None
    signature: tuple[object, ...]
    constants: dict[str, Any] = field(default_factory=dict)
    gathers: tuple[Gather, ...] = ()
    emits: tuple[Emit, ...] = ()
    rules: tuple[RuleBand, ...] = ()
    outputs: tuple[int, ...] = ()
    fault: InputError | None = None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Judge:
    """A requirement, or a rule of a check, bound to the slot it judges.

    Parameters
    ----------
    id : str
        Requirement or check id.
    rule : RuleBand or None
        None for a requirement: its band is read when judging, since bounds move.
    output : str
        Names the rule within its check: the output port, numbered from its second rule on. Empty
        for a requirement.
    covers : tuple of Cover
        Deviations in force on a requirement.
    """

    id: str
    slot: int
    measure: Measure
    rule: RuleBand | None = None
    output: str = ""
    covers: tuple[Cover, ...] = ()


@dataclass(slots=True)
class Graph:
    """Structure of a programme, compiled.

    Parameters
    ----------
    index : mapping
        (record id, part) → slot. An unbound rule output sits under (check id, `port:key`).
    parts : mapping
        Slot → projections (slot, part) that follow it.
    nodes : list of Node
        Checks in topological order.
    readers : list of list of int
        Slot → positions in `nodes` of the checks that read it directly.
    judges : list of Judge
        Everything that judges a slot.
    judged_by : list of list of int
        Slot → positions in `judges`.
    watched_by : list of list of str
        Slot → ids of decisions whose footing includes it.
    stakes : mapping
        Decision id → positions in `judges` of what it serves and of its checks' rules.
    carried_at : mapping
        Decision id → positions in `nodes` of its checks.
    fingerprints : mapping
        Check id → how it is bound, as a footing keeps it; as far as asked for.
    """

    index: dict[tuple[str, str], int] = field(default_factory=dict)
    keys: list[tuple[str, str]] = field(default_factory=list)
    parts: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    nodes: list[Node] = field(default_factory=list)
    position: dict[str, int] = field(default_factory=dict)
    readers: list[list[int]] = field(default_factory=list)
    writer: dict[int, str] = field(default_factory=dict)
    judges: list[Judge] = field(default_factory=list)
    judged_by: list[list[int]] = field(default_factory=list)
    judges_of: dict[str, list[int]] = field(default_factory=dict)
    watched_by: list[list[str]] = field(default_factory=list)
    watch: dict[str, list[int]] = field(default_factory=dict)
    owner: dict[str, str] = field(default_factory=dict)
    carried: dict[str, list[str]] = field(default_factory=dict)
    carried_at: dict[str, list[int]] = field(default_factory=dict)
    stakes: dict[str, list[int]] = field(default_factory=dict)
    served_by: dict[str, list[str]] = field(default_factory=dict)
    borne_by: dict[str, list[str]] = field(default_factory=dict)
    fingerprints: dict[str, str] = field(default_factory=dict)

    def slot(self, record_id: str, part: str = "") -> int:
        """Return the slot of an address, adding it (and its projection) when new."""
        found = self.index.get((record_id, part))
        if found is not None:
            return found
        slot = self.index[record_id, part] = len(self.keys)
        self.keys.append((record_id, part))
        self.readers.append([])
        self.judged_by.append([])
        self.watched_by.append([])
        return slot

    def projected(self, record_id: str, part: str) -> int:
        """Return the slot of a quantity's component or cell, kept in step with the quantity."""
        if (record_id, part) not in self.index:
            self.parts.setdefault(self.slot(record_id), []).append(
                (self.slot(record_id, part), part)
            )
        return self.index[record_id, part]
