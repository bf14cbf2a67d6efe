"""Random edits of a programme, as the entries a session would hand to its engine.

An edit may be empty, or one that a programme refuses: whoever applies it asks `allowed` first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from tests.property.gate_edits import accept, accept_otherwise, freeze, move_gate
from tests.property.programmes import Chooser
from tests.property.toy_checks import DEG_C, EUR, GRADES, KELVIN, METRE, MM, TOYS, UNITS, USD
from tracker.contract.check import MONEY, Port
from tracker.evaluate.footing import take_footing
from tracker.model.changes import Entry, inverse, merged
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
from tracker.model.units import ONE, Unit
from tracker.model.values import AXES, CellKind, Column, Kind

__all__ = ["random_edit"]

Entries = tuple[Entry, ...]
_MOST = 100  # records; above this, more goes than comes
_COLUMNS = (
    (Column("name", CellKind.TEXT), Column("amount", CellKind.REAL, METRE)),
    (
        Column("name", CellKind.TEXT),
        Column("amount", CellKind.REAL, MM),
        Column("times", CellKind.INTEGER),
        Column("counted", CellKind.FLAG),
    ),
    (Column("times", CellKind.INTEGER), Column("amount", CellKind.INTEGER)),
)
_UNITS = (*(ONE,) * 8, MM, METRE, METRE, EUR, USD, DEG_C, KELVIN)
_CHOICES = (GRADES, GRADES, ("high", "low"), ("low", "other"))
_CELLS = ("[first].amount", "[2].amount", "[1].times", "[third].counted", "[9].amount")


def random_edit(choose: Chooser) -> Entries:
    """Return an edit; one in eight is two in one change."""
    entries = _one(choose)
    return merged(entries if choose.dice.whole(1, 8) > 1 else (*entries, *_one(choose)))


def _one(choose: Chooser) -> Entries:
    full = len(choose.engine.programme) > _MOST
    return choose.dice.pick(_WHEN_FULL if full else _EDITS)(choose)


# -- adding ----------------------------------------------------------------------------------------


def _quantity(choose: Chooser, kind: Kind | None = None, unit: Unit | None = None) -> Quantity:
    each = choose.new_id("q")
    kind = kind or choose.dice.pick((*Kind, Kind.REAL, Kind.REAL, Kind.REAL))
    units = _UNITS if kind in (Kind.REAL, Kind.POINT) else (ONE,)
    return Quantity(
        id=each,
        key=each,
        title="",
        kind=kind,
        unit=unit or choose.dice.pick(units),
        choices=choose.dice.pick(_CHOICES) if kind is Kind.CHOICE else (),
        columns=choose.dice.pick(_COLUMNS) if kind is Kind.TABLE else (),
    )


def _add_quantity(choose: Chooser) -> Entries:
    quantity = _quantity(choose)
    given = choose.setting(quantity) if choose.chance(95) else None
    return (Entry(None, replace(quantity, given=given)),)


def _add_decision(choose: Chooser) -> Entries:
    each = choose.new_id("d")
    owned = [_quantity(choose) for _ in range(choose.dice.whole(0, 2))]
    options = tuple(
        Option(id=f"{each}-{name}", key=name, title="", settings=_settings(choose, owned))
        for name in ("a", "b", "c")[: choose.dice.whole(1, 3)]
    )
    decision = Decision(
        id=each,
        key=each,
        question="Which?",
        options=options,
        owns=tuple(one.id for one in owned),
        serves=choose.several(Requirement, 2),
        rests_on=choose.several(Decision, 2),
    )
    return (*(Entry(None, one) for one in owned), Entry(None, decision))


def _settings(choose: Chooser, owned: Sequence[Quantity]) -> dict[str, Setting]:
    return {each.id: choose.setting(each) for each in owned if choose.chance(85)}


def _add_requirement(choose: Chooser) -> Entries:
    quantity, decision = choose.some(Quantity), choose.some(Decision)
    if quantity is None or decision is None:
        return ()
    each, part = choose.new_id("r"), ""
    if quantity.kind is Kind.POINT:
        part = choose.dice.pick(AXES)
    if quantity.kind is Kind.TABLE:
        part = choose.dice.pick(_CELLS)
    bare = Requirement(id=each, key=each, statement="It must", quantity=quantity.id, part=part)
    served = Entry(decision, replace(decision, serves=(*decision.serves, each)))
    return (Entry(None, _banded(choose, bare)), served)[: choose.dice.whole(1, 2)]


def _banded(choose: Chooser, requirement: Requirement) -> Requirement:
    quantity = choose.engine.programme.at(requirement.quantity, Quantity)
    if quantity.kind in (Kind.CHOICE, Kind.FLAG) or requirement.part.endswith("counted"):
        return replace(requirement, allowed=(choose.dice.pick(quantity.choices or ("yes", "no")),))
    lower, upper = choose.bound(), choose.bound()
    if lower and upper and lower.value > upper.value:
        lower, upper = upper, lower
    return replace(
        requirement,
        lower=lower,
        upper=upper,
        target=choose.bound(),
        scale=Bound(value=2.0) if choose.chance(60) else None,
        guard=choose.dice.pick((0.0, 0.1, 0.5)),
    )


def _add_check(choose: Chooser) -> Entries:
    toy, each = TOYS[choose.dice.pick(sorted(TOYS))], choose.new_id("c")
    decision = choose.some(Decision)
    if decision is None:
        return ()
    made = {}
    for out in toy.outputs:
        if choose.chance(75):
            unit = _unit_of(out) if choose.chance(96) else None
            quantity = _quantity(choose, out.kind, unit)
            made[out.key] = replace(quantity, choices=out.choices)
    use = CheckUse(
        id=each,
        key=each,
        title="",
        plugin=toy.key,
        decision=decision.id,
        outputs={key: one.id for key, one in made.items()},
    )
    bound, fed = _bound(choose, use)
    return (*(Entry(None, one) for one in (*made.values(), *fed)), Entry(None, bound))


def _unit_of(port: Port) -> Unit:
    return UNITS[port.unit.replace(MONEY, "EUR")]


def _bound(choose: Chooser, use: CheckUse) -> tuple[CheckUse, list[Quantity]]:
    """Bind a check's inputs anew, some of them to new quantities."""
    inputs: dict[str, Ref] = {}
    literals: dict[str, Literal] = {}
    fed: list[Quantity] = []
    for port in TOYS[use.plugin].inputs:
        if port.kind is Kind.REAL and choose.chance(12):
            literals[port.key] = Literal(value=choose.number())
        elif not (port.optional and choose.chance(30)):
            ref = None if choose.chance(15) else _source(choose, port)
            if ref is None:
                fed.append(_feed(choose, port))
                ref = Ref(id=fed[-1].id)
            inputs[port.key] = ref
    return replace(use, inputs=inputs, literals=literals), fed


def _feed(choose: Chooser, port: Port) -> Quantity:
    """Return a new given quantity that fits an input."""
    quantity = replace(_quantity(choose, port.kind, _unit_of(port)), choices=port.choices)
    if port.columns:
        quantity = replace(quantity, columns=choose.dice.pick(_COLUMNS[:2]))
    return replace(quantity, given=choose.setting(quantity))


def _source(choose: Chooser, port: Port) -> Ref | None:
    """Return something an input can be bound to; now and then it does not fit."""
    wanted = None if choose.chance(2) else _unit_of(port).dimension
    fits = [
        ref
        for ref, kind, unit in _values(choose)
        if kind is port.kind and (wanted is None or unit is None or unit.dimension == wanted)
    ]
    return choose.dice.pick(fits) if fits else None


def _values(choose: Chooser) -> Iterator[tuple[Ref, Kind, Unit | None]]:
    """Give everything that has a value, with its kind and, where that is plain, its unit."""
    for each in choose.engine.programme.of(Quantity):
        yield Ref(id=each.id), each.kind, each.unit
        if each.kind is Kind.POINT:
            yield Ref(id=each.id, part=choose.dice.pick(AXES)), Kind.REAL, each.unit
        if each.kind is Kind.INTEGER:
            yield Ref(id=each.id), Kind.REAL, each.unit
        if each.kind is Kind.TABLE:
            yield Ref(id=each.id, part=choose.dice.pick(_CELLS)), Kind.REAL, None
    for one in choose.engine.programme.of(Requirement):
        part = choose.dice.pick(("lower", "upper", "target", "guard"))
        yield Ref(id=one.id, part=part), Kind.REAL, None


# -- changing values -------------------------------------------------------------------------------


def _set(choose: Chooser) -> Entries:
    """Set a given value, mostly one that a check reads."""
    read = {ref.id for use in choose.engine.programme.of(CheckUse) for ref in use.inputs.values()}
    anything = choose.chance(20)
    quantity = choose.some(
        Quantity, lambda each: each.given is not None and (anything or each.id in read)
    )
    if quantity is None:
        return ()
    return (Entry(quantity, replace(quantity, given=choose.setting(quantity))),)


def _give_or_take(choose: Chooser) -> Entries:
    """Give a value where there is none, or take it away; often refused as a second source."""
    quantity = choose.some(Quantity)
    if quantity is None:
        return ()
    given = choose.setting(quantity) if quantity.given is None else None
    return (Entry(quantity, replace(quantity, given=given)),)


def _state_otherwise(choose: Chooser) -> Entries:
    """Let an option state something else, or leave something out."""
    decision = choose.some(Decision, lambda each: bool(each.owns))
    if decision is None:
        return ()
    owned = [choose.engine.programme.at(each, Quantity) for each in decision.owns]
    changed = choose.dice.pick(decision.options)
    after = replace(changed, settings=_settings(choose, owned))
    options = tuple(after if each is changed else each for each in decision.options)
    return (Entry(decision, replace(decision, options=options)),)


def _change_band(choose: Chooser) -> Entries:
    requirement = choose.some(Requirement)
    return () if requirement is None else (Entry(requirement, _banded(choose, requirement)),)


def _rename(choose: Chooser) -> Entries:
    record: Record = choose.dice.pick(list(choose.engine.programme))
    return (Entry(record, replace(record, key=choose.new_id("k"))),)


def _change_money(choose: Chooser) -> Entries:
    info = choose.engine.programme.at("P", ProgrammeInfo)
    return (Entry(info, replace(info, currency=choose.dice.pick(("EUR", "USD")))),)


# -- deciding --------------------------------------------------------------------------------------


def _lean(choose: Chooser) -> Entries:
    decision = choose.some(Decision)
    if decision is None:
        return ()
    option = choose.dice.pick(decision.options)
    after = replace(decision, state=DecisionState.LEANING, chosen=option.id, footing=None)
    return (Entry(decision, after),)


def _settle(choose: Chooser) -> Entries:
    decision = choose.some(Decision)
    if decision is None:
        return ()
    option = choose.dice.pick(decision.options)
    against = {each.id: "no" for each in decision.options if each is not option}
    after = replace(
        decision,
        state=DecisionState.SETTLED,
        chosen=option.id,
        rationale="because",
        against=against,
        footing=None,
    )
    engine = choose.engine
    with engine.trial((Entry(decision, after),)):
        footing = take_footing(engine.programme, engine.graph, engine.state.slots, decision.id)
    return (Entry(decision, replace(after, footing=footing)),)


def _unsettle(choose: Chooser) -> Entries:
    decision = choose.some(Decision)
    if decision is None:
        return ()
    state = choose.dice.pick((DecisionState.OPEN, DecisionState.WITHDRAWN))
    return (Entry(decision, replace(decision, state=state, chosen="", footing=None)),)


# -- changing the structure ------------------------------------------------------------------------


def _rebind(choose: Chooser) -> Entries:
    use = choose.some(CheckUse)
    if use is None:
        return ()
    what = choose.dice.whole(1, 10)
    if what <= 6:
        bound, fed = _bound(choose, use)
        return (*(Entry(None, one) for one in fed), Entry(use, bound))
    if what <= 8:
        other = choose.some(Decision)
        return () if other is None else (Entry(use, replace(use, decision=other.id)),)
    return (Entry(use, replace(use, outputs=_other_outputs(choose, use))),)


def _other_outputs(choose: Chooser, use: CheckUse) -> dict[str, str]:
    quantity = choose.some(Quantity)
    ports = [each.key for each in TOYS[use.plugin].outputs]
    outputs = dict(use.outputs)
    outputs.pop(choose.dice.pick(ports), None)
    if quantity is not None and choose.chance(50):
        outputs[choose.dice.pick(ports)] = quantity.id
    return outputs


def _relink(choose: Chooser) -> Entries:
    decision = choose.some(Decision)
    if decision is None:
        return ()
    after = replace(
        decision, serves=choose.several(Requirement, 3), rests_on=choose.several(Decision, 2)
    )
    return (Entry(decision, after),)


def _own_otherwise(choose: Chooser) -> Entries:
    """Let a decision own one quantity more or fewer."""
    decision, quantity = choose.some(Decision), choose.some(Quantity)
    if decision is None or quantity is None:
        return ()
    owns = tuple(each for each in decision.owns if each != quantity.id)
    if owns == decision.owns:
        owns = (*owns, quantity.id)
    options = tuple(
        replace(each, settings={one: held for one, held in each.settings.items() if one in owns})
        for each in decision.options
    )
    return (Entry(decision, replace(decision, owns=owns, options=options)),)


def _judge_another(choose: Chooser) -> Entries:
    requirement = choose.some(Requirement)
    quantity = choose.some(Quantity, lambda each: each.kind in (Kind.REAL, Kind.INTEGER))
    if requirement is None or quantity is None:
        return ()
    after = replace(requirement, quantity=quantity.id, part="", allowed=())
    return (Entry(requirement, replace(after, lower=Bound(value=0.5), upper=None)),)


def _remove(choose: Chooser) -> Entries:
    kind = choose.dice.pick((*(Quantity,) * 6, Requirement, Decision, CheckUse, Gate, Deviation))
    record = choose.some(kind)
    if record is None:
        return ()
    if kind is CheckUse and choose.chance(50):  # with what it computes
        made = [choose.engine.programme.at(each, Quantity) for each in record.outputs.values()]
        return (Entry(record, None), *(Entry(each, None) for each in made))
    return (Entry(record, None),)


def _undo(choose: Chooser) -> Entries:
    return inverse(choose.dice.pick(choose.history[-8:])) if choose.history else ()


_Edit = Callable[[Chooser], Entries]
_VALUES: tuple[_Edit, ...] = (
    *(_set,) * 12, _give_or_take, *(_state_otherwise,) * 3, *(_change_band,) * 4, _rename,
    *(_lean,) * 3, *(_settle,) * 3, _unsettle, *(_undo,) * 3, *(accept_otherwise,) * 2,
)  # fmt: skip
_STRUCTURE: tuple[_Edit, ...] = (
    *(_rebind,) * 3, _relink, *(_own_otherwise,) * 2, _judge_another, _change_money, _remove,
    *(accept,) * 3, freeze, move_gate,
)  # fmt: skip
_ADDING: tuple[_Edit, ...] = (
    *(_add_quantity,) * 3, _add_decision, *(_add_requirement,) * 2, *(_add_check,) * 6,
)  # fmt: skip
_EDITS = (*_VALUES, *_STRUCTURE, *_ADDING)
_WHEN_FULL = (*_VALUES, *_STRUCTURE, *(_remove,) * 12)
