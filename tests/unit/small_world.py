"""Short ways to write records and engines; ids are the keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from tests.property.toy_checks import TOYS, Shelf
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Absent, Unknown, value_of
from tracker.evaluate.standing import Finding
from tracker.evaluate.state import Report
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import (
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Gate,
    Literal,
    Option,
    ProgrammeInfo,
    Quantity,
    Record,
    Ref,
    Requirement,
    Setting,
)
from tracker.model.values import Kind, Value

__all__ = [
    "GATE",
    "INFO",
    "change",
    "decision",
    "deviation",
    "engine_of",
    "finding",
    "held",
    "quantity",
    "requirement",
    "settled",
    "use",
]

INFO = ProgrammeInfo(id="P", key="P", title="Toy", currency="EUR")


GATE = Gate(id="G", key="G", title="First", date="2031-01-31")


def quantity(key: str, value: Value | None = None, kind: Kind = Kind.REAL, **more: Any) -> Quantity:  # noqa: ANN401 - fields of Quantity
    given = None if value is None else Setting(value=value)
    return Quantity(id=key, key=key, title="", kind=kind, given=given, **more)


def requirement(
    key: str,
    judged: str,
    lower: float | None = None,
    upper: float | None = None,
    **more: Any,  # noqa: ANN401 - fields of Requirement
) -> Requirement:
    name, _, part = judged.partition("|")
    return Requirement(
        id=key,
        key=key,
        statement="It must",
        quantity=name,
        part=part,
        lower=None if lower is None else Bound(value=lower),
        upper=None if upper is None else Bound(value=upper),
        **more,
    )


def decision(
    key: str,
    options: Mapping[str, Mapping[str, Value | None]] | None = None,
    **more: Any,  # noqa: ANN401 - fields of Decision
) -> Decision:
    """Options by key, each with what it sets; None leaves a quantity stated as unknown."""
    options = {"a": {}} if options is None else options
    made = tuple(
        Option(
            id=f"{key}-{name}",
            key=name,
            title="",
            settings={
                each: Setting(value=value, reason="" if value is not None else "not known yet")
                for each, value in values.items()
            },
        )
        for name, values in options.items()
    )
    owns = tuple(dict.fromkeys(each for values in options.values() for each in values))
    return Decision(id=key, key=key, question="Which?", options=made, **{"owns": owns, **more})


def settled(made: Decision, option: str) -> Decision:
    chosen = next(each for each in made.options if each.key == option)
    return replace(
        made,
        state=DecisionState.SETTLED,
        chosen=chosen.id,
        rationale="because",
        against={each.id: "no" for each in made.options if each is not chosen},
    )


def deviation(
    key: str,
    missed: str,
    lower: float | None = None,
    upper: float | None = None,
    **more: Any,  # noqa: ANN401 - fields of Deviation
) -> Deviation:
    """Accept a miss until the gate G."""
    words = {"reason": "no other way", "approver": "somebody", "extent": "as it says"}
    return Deviation(
        id=key,
        key=key,
        requirement=missed,
        lower=None if lower is None else Bound(value=lower),
        upper=None if upper is None else Bound(value=upper),
        **{"expires": "G", **words, **more},
    )


def use(
    key: str,
    plugin: str,
    inputs: Mapping[str, str] | None = None,
    outputs: Mapping[str, str] | None = None,
    **more: Any,  # noqa: ANN401 - fields of CheckUse
) -> CheckUse:
    """Inputs are ids, with `|part` behind where a part is meant."""
    refs = {}
    for port, source in (inputs or {}).items():
        name, _, part = source.partition("|")
        refs[port] = Ref(id=name, part=part)
    literals = {port: Literal(value=value) for port, value in more.pop("literals", {}).items()}
    fields = {"decision": "D", **more}
    return CheckUse(
        id=key,
        key=key,
        title="",
        plugin=plugin,
        inputs=refs,
        literals=literals,
        outputs=dict(outputs or {}),
        **fields,
    )


def engine_of(*records: Record, shelf: Shelf | None = None) -> Engine:
    return Engine(shelf or Shelf(TOYS), Programme([INFO, *records]))


def change(engine: Engine, *after: Record) -> Report:
    """Put records in place of those of the same id."""
    entries = [Entry(engine.programme.get(each.id), each) for each in after]
    return engine.advance(entries)


def held(engine: Engine, key: str, part: str = "") -> Value | Unknown | Absent | None:
    """Return what a slot holds, as a model value where there is one."""
    slot = engine.state.slots[engine.graph.index[key, part]]
    if isinstance(slot, Unknown | Absent):
        return slot
    record = engine.programme.get(key)
    if isinstance(record, Quantity) and not part:
        return value_of(slot, record.kind, record.choices)
    return value_of(slot, Kind.REAL)


def finding(engine: Engine, key: str, output: str = "") -> Finding:
    """Return the finding of a requirement, or of a rule of a check."""
    places = engine.graph.judges_of[key]
    found = [each for each in places if engine.graph.judges[each].output == output]
    made = engine.state.findings[found[0]]
    assert made is not None
    return made
