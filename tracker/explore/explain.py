"""Why a verdict is not met any more: the smallest set of changes that, put back, has it met again.

What can be put back: given values, options and what they state, and bands. What checks there are
and how they are bound is left as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import comb

from tracker.evaluate.engine import Cancel, Engine
from tracker.evaluate.verdict import Verdict, band_of
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import (
    Decision,
    DecisionState,
    Quantity,
    Record,
    Requirement,
    Setting,
)

__all__ = ["Difference", "Explanation", "explain", "is_met"]

MOST = 4096
"""Sets tried before giving up on the smallest."""

Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Difference:
    """Something upstream that differs from what it was.

    Parameters
    ----------
    id : str
        The quantity; the decision that applied another option; the requirement with another band.
    record : Record
        What the programme would hold with it put back; with a setting, the decision as it was.
    setting : str
        Quantity whose setting alone is put back into the option applied; else empty.
    """

    id: str
    record: Record
    setting: str = ""


@dataclass(frozen=True, slots=True)
class Explanation:
    """What explains a verdict.

    Parameters
    ----------
    sets : tuple of tuple of Difference
        Smallest sets that, put back, have it met again.
    smallest : bool
        Whether no smaller set does; else no part of the one found does.
    changed : tuple of Difference
        All that could be put back.
    checks : tuple of str
        Ids of checks upstream that are new or bound otherwise.
    """

    sets: tuple[tuple[Difference, ...], ...]
    smallest: bool
    changed: tuple[Difference, ...]
    checks: tuple[str, ...]


def is_met(engine: Engine, requirement_id: str) -> bool:
    """Tell whether a requirement is met, tightly or not; one that is not there is not."""
    places = engine.graph.judges_of.get(requirement_id, ())
    findings = [engine.state.findings[place] for place in places]
    good = (Verdict.MET, Verdict.TIGHT)
    return any(each is not None and each.judgement.verdict in good for each in findings)


def explain(
    engine: Engine,
    then: Programme,
    requirement_id: str,
    *,
    cancel: Cancel | None = None,
    progress: Progress | None = None,
) -> Explanation:
    """Find what explains that a requirement is not met any more.

    Parameters
    ----------
    engine : Engine
        The present; trials leave no trace on it.
    then : Programme
        The records when it was met.
    requirement_id : str
        The requirement.
    cancel : callable, optional
        Asked between checks.
    progress : callable, optional
        Told in words how far it got.

    Raises
    ------
    CancelledError
        `cancel` asked to stop.
    """
    sources, checks = _upstream(engine, requirement_id)
    changed = tuple(_differences(engine, then, sources))
    trial = _Trial(engine, requirement_id, cancel, progress)
    sets, smallest = trial.smallest(changed)
    return Explanation(
        sets,
        smallest,
        changed,
        tuple(each for each in checks if engine.programme.get(each) != then.get(each)),
    )


def _upstream(engine: Engine, requirement_id: str) -> tuple[list[str], list[str]]:
    """Return the records and checks a requirement's verdict hangs on."""
    graph = engine.graph
    wanted = {graph.judges[place].slot for place in graph.judges_of[requirement_id]}
    records, checks = {requirement_id: None}, []
    whole = {slot: base for base, parts in graph.parts.items() for slot, _ in parts}
    for node in reversed(graph.nodes):  # in topological order: readers come later
        wanted |= {whole[slot] for slot in wanted if slot in whole}
        if wanted.intersection(node.outputs):
            checks.append(node.id)
            wanted.update(gather.slot for gather in node.gathers)
    records.update(dict.fromkeys(graph.keys[slot][0] for slot in sorted(wanted)))
    return list(records), checks[::-1]


def _differences(engine: Engine, then: Programme, sources: Sequence[str]) -> Iterator[Difference]:
    owners: dict[str, list[str]] = {}
    for each in sources:
        now, old = engine.programme.get(each), then.get(each)
        owner = engine.graph.owner.get(each)
        if owner is not None:
            owners.setdefault(owner, []).append(each)
        elif isinstance(now, Quantity) and isinstance(old, Quantity):
            if now.unit == old.unit and _value(now.given) != _value(old.given):
                yield Difference(each, replace(now, given=old.given))
        elif (
            isinstance(now, Requirement)
            and isinstance(old, Requirement)
            and (now.quantity, now.part) == (old.quantity, old.part)
            and band_of(now) != band_of(old)
        ):
            yield Difference(each, _with_band(now, old))
    for owner, owned in owners.items():
        yield from _decided(engine, then, owner, owned)


def _value(setting: Setting | None) -> object:
    return None if setting is None else setting.value


def _with_band(now: Requirement, old: Requirement) -> Requirement:
    return replace(
        now,
        lower=old.lower,
        upper=old.upper,
        scale=old.scale,
        guard=old.guard,
        allowed=old.allowed,
    )


def _decided(
    engine: Engine, then: Programme, owner: str, owned: Sequence[str]
) -> Iterator[Difference]:
    now, old = engine.programme.at(owner, Decision), then.get(owner)
    if not isinstance(old, Decision) or not set(owned) <= set(old.owns):
        return
    if now.chosen != old.chosen:
        if now.owns == old.owns:
            yield Difference(owner, _with_choice(now, old))
        return
    for each in owned:
        if _value(_stated(now, each)) != _value(_stated(old, each)):
            yield Difference(each, old, setting=each)


def _stated(decision: Decision, quantity: str) -> Setting | None:
    return decision.applied.settings.get(quantity) if decision.applied else None


def _with_choice(now: Decision, old: Decision) -> Decision:
    state = DecisionState.LEANING if old.chosen else DecisionState.OPEN
    return replace(now, chosen=old.chosen, options=old.options, state=state, footing=None)


@dataclass(frozen=True, slots=True)
class _Trial:
    """Puts differences back and looks at the verdict."""

    engine: Engine
    requirement: str
    cancel: Cancel | None
    progress: Progress | None

    def smallest(
        self, changed: Sequence[Difference]
    ) -> tuple[tuple[tuple[Difference, ...], ...], bool]:
        """Return the smallest sets that do, and whether no smaller one can."""
        tried = 0
        for size in range(1, len(changed) + 1):
            tried += comb(len(changed), size)
            if tried > MOST:
                return self._shrunk(changed)
            found = [each for each in combinations(changed, size) if self.meets(each)]
            if self.progress is not None:
                self.progress(f"all sets of up to {size} of {len(changed)} changes tried")
            if found:
                return tuple(found), True
        return (), True

    def _shrunk(
        self, changed: Sequence[Difference]
    ) -> tuple[tuple[tuple[Difference, ...], ...], bool]:
        """Leave out of all changes whatever is not needed."""
        if not self.meets(changed):
            return (), False
        kept = list(changed)
        for each in changed:
            without = [one for one in kept if one is not each]
            if self.meets(without):
                kept = without
        return (tuple(kept),), False

    def meets(self, back: Sequence[Difference]) -> bool:
        with self.engine.trial(self._entries(back), self.cancel):
            return is_met(self.engine, self.requirement)

    def _entries(self, back: Sequence[Difference]) -> list[Entry]:
        records: dict[str, Record] = {}
        for each in back:
            record = each.record
            if each.setting and isinstance(record, Decision):
                held = records.get(record.id) or self.engine.programme.get(record.id)
                record = _with_setting(held, record, each.setting)
            records[record.id] = record
        return [Entry(self.engine.programme.get(each), one) for each, one in records.items()]


def _with_setting(now: Record | None, old: Decision, quantity: str) -> Decision:
    """Put one setting of the applied option back."""
    assert isinstance(now, Decision)  # noqa: S101 - a record keeps its kind
    stated = _stated(old, quantity)
    options = []
    for each in now.options:
        settings = dict(each.settings)
        if each.id == now.chosen:
            settings.pop(quantity, None)
            settings |= {} if stated is None else {quantity: stated}
        options.append(replace(each, settings=settings))
    return replace(now, options=tuple(options))
