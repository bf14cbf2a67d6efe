"""What must hold in every stored programme, whoever wrote it.

`check_entries` looks at a programme after a change: at each record the change puts, at what it
removes and, where sources moved, at the programme as a whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from tracker.errors import (
    BadTextError,
    BadValueError,
    DecisionError,
    DuplicateKeyError,
    InUseError,
    SourceError,
    UnknownKeyError,
)
from tracker.model.address import cell_of, check_key
from tracker.model.changes import Entry
from tracker.model.codec import to_plain
from tracker.model.gate_rules import check_kept, check_walked
from tracker.model.programme import Programme
from tracker.model.quantity_rules import check_quantity, check_setting
from tracker.model.records import (
    Action,
    Baseline,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Evidence,
    Gate,
    ProgrammeInfo,
    Quantity,
    Record,
    Requirement,
    Risk,
)
from tracker.model.single_source import check_sources
from tracker.model.texts import check_currency, check_said, check_texts
from tracker.model.values import AXES, Kind, canonical

__all__ = ["check_entries", "referrers"]


def check_entries(programme: Programme, entries: Sequence[Entry]) -> None:
    """Check a programme to which entries have been applied.

    Raises
    ------
    InputError
        The first invariant that does not hold.
    """
    for each in entries:
        check_kept(each)
        if each.after is None:
            _check_gone(programme, each)
        else:
            _check_key(programme, each)
            _check_shape(each)
            _check_record(programme, each.after)
    if any(_moves_sources(each) for each in entries):
        check_sources(programme, {each.id for each in entries})


def _moves_sources(entry: Entry) -> bool:
    before, after = entry.before, entry.after
    match after:
        case Quantity():
            return not (isinstance(before, Quantity) and before.given) and after.given is not None
        case Decision():
            return not isinstance(before, Decision) or _owning(before) != _owning(after)
        case CheckUse():
            return not isinstance(before, CheckUse) or before.outputs != after.outputs
        case _:
            return False


def _owning(decision: Decision) -> tuple[bool, tuple[str, ...]]:
    """Return what counts for who owns what: others may take over from a withdrawn decision."""
    return decision.state is DecisionState.WITHDRAWN, decision.owns


def _check_gone(programme: Programme, entry: Entry) -> None:
    if isinstance(entry.before, ProgrammeInfo):
        raise InUseError("a programme keeps its name and its money", item=entry.record.key)
    users = [record.key for record in programme if entry.id in set(referrers(record))]
    if users:
        raise InUseError(
            "it is still used by " + ", ".join(users[:5]),
            item=entry.record.key,
            remedy="Change or remove those first",
        )


def _check_key(programme: Programme, entry: Entry) -> None:
    record = entry.record
    if entry.before is not None and entry.before.key == record.key:
        return
    check_key(record.key, item=record.key)
    if programme.holders(record.key) > 1:
        raise DuplicateKeyError(
            "the key is taken", item=record.key, field="key", remedy="Choose another key"
        )


def _check_shape(entry: Entry) -> None:
    """Refuse another kind of item, or of value, under the same id: others were bound to it."""
    before, after = entry.before, entry.after
    if before is None or after is None:
        return
    fixed = ("kind", "unit", "choices", "columns") if isinstance(before, Quantity) else ()
    moved = [each for each in fixed if getattr(before, each) != getattr(after, each, None)]
    if type(before) is not type(after) or moved:
        raise BadValueError(
            f"the {moved[0] if moved else 'kind'} of an item stays as it was made",
            item=before.key,
            field=moved[0] if moved else "kind",
            remedy="Add a new item and withdraw this one",
        )


def referrers(record: Record) -> Iterator[str]:
    """Return the ids a record refers to."""
    match record:
        case Requirement():
            yield from (record.quantity, *record.parents, *_some(record.gate))
        case Decision():
            yield from (*record.owns, *record.serves, *record.rests_on)
            yield from (*_some(record.gate), *_some(record.superseded_by))
        case CheckUse():
            yield record.decision
            yield from (ref.id for ref in record.inputs.values())
            yield from record.outputs.values()
        case Quantity():
            yield from record.correlated
        case Deviation():
            yield from (record.requirement, record.expires, *_some(record.decision))
        case Action() | Risk():
            yield from (*record.about, *_some(record.gate))
        case Evidence():
            yield from record.about
        case Baseline():
            yield record.gate
        case _:
            return


def _some(text: str) -> tuple[str, ...]:
    return (text,) if text else ()


def _check_record(programme: Programme, record: Record) -> None:
    check_texts(to_plain(record), item=record.key)
    match record:
        case ProgrammeInfo():
            _check_info(programme, record)
        case Quantity():
            check_quantity(programme, record)
        case Requirement():
            _check_requirement(programme, record)
        case Decision():
            _check_decision(programme, record)
        case CheckUse():
            _check_use(programme, record)
        case _:
            check_walked(programme, record)


def _check_info(programme: Programme, info: ProgrammeInfo) -> None:
    check_currency(info.currency, item=info.key)
    if sum(1 for _ in programme.of(ProgrammeInfo)) > 1:
        raise DuplicateKeyError(
            "the programme has a name already", item=info.key, remedy="Amend the one it has"
        )


def _check_requirement(programme: Programme, requirement: Requirement) -> None:
    quantity = programme.at(requirement.quantity, Quantity)
    _check_parents(programme, requirement)
    if requirement.gate:
        programme.at(requirement.gate, Gate)
    if _judged_kind(quantity, requirement) in (Kind.CHOICE, Kind.FLAG):
        _check_allowed(quantity, requirement)
    else:
        _check_band(requirement)


def _judged_kind(quantity: Quantity, requirement: Requirement) -> Kind:
    part = requirement.part
    if not part and quantity.kind not in (Kind.POINT, Kind.TABLE):
        return quantity.kind
    if quantity.kind is Kind.POINT and part in AXES:
        return Kind.REAL
    cell = cell_of(part)
    if quantity.kind is Kind.TABLE and cell is not None:
        kinds = {column.name: column.kind.value for column in quantity.columns}
        if kinds.get(cell[1], "text") != "text":
            return Kind(kinds[cell[1]])
    raise BadValueError(
        f"a requirement cannot judge {quantity.key}{'.' if part else ' as a whole'}{part}",
        item=requirement.key,
        field="quantity",
        remedy="Judge a number, a choice, a flag, one component or one cell",
    )


def _check_allowed(quantity: Quantity, requirement: Requirement) -> None:
    possible = quantity.choices if quantity.kind is Kind.CHOICE else ("yes", "no")
    strangers = [each for each in requirement.allowed if each not in possible]
    bounded = requirement.lower or requirement.upper
    if strangers or bounded or not requirement.allowed:
        raise BadValueError(
            "it must list the allowed values and no bounds",
            item=requirement.key,
            field="allowed",
            remedy="Possible: " + ", ".join(possible),
        )


def _check_band(requirement: Requirement) -> None:
    lower, upper, scale = requirement.lower, requirement.upper, requirement.scale
    if requirement.allowed or (lower is None and upper is None):
        raise BadValueError(
            "a number needs a lower or an upper bound", item=requirement.key, field="lower"
        )
    for name in ("lower", "upper", "target", "scale"):
        bound = getattr(requirement, name)
        if bound is not None:
            canonical(bound.value, Kind.REAL, item=requirement.key, field=name)
    if lower is not None and upper is not None and lower.value > upper.value:
        raise BadValueError(
            "the band is upside down: lower is above upper", item=requirement.key, field="lower"
        )
    if scale is not None and scale.value <= 0:
        raise BadValueError("a scale is greater than zero", item=requirement.key, field="scale")
    if not 0 <= requirement.guard < 1:
        raise BadValueError(
            "a guard is a share from 0 to below 1", item=requirement.key, field="guard"
        )
    if scale is None and _needs_scale(requirement):
        raise BadValueError(
            "the band has no width to measure a margin against",
            item=requirement.key,
            field="scale",
            remedy="Give a scale: equal bounds and a single bound of 0 need one",
        )


def _needs_scale(requirement: Requirement) -> bool:
    lower, upper = requirement.lower, requirement.upper
    if lower is not None and upper is not None:
        return lower.value == upper.value
    return (lower or upper) is not None and (lower or upper).value == 0  # type: ignore[union-attr] # one is set


def _check_decision(programme: Programme, decision: Decision) -> None:
    for each in decision.serves:
        programme.at(each, Requirement)
    for each in decision.rests_on:
        programme.at(each, Decision)
    if decision.gate:
        programme.at(decision.gate, Gate)
    if not decision.question.strip():
        raise BadTextError("a decision asks a question", item=decision.key, field="question")
    _check_options(programme, decision)
    _check_state(decision)
    _check_resting(programme, decision)
    _check_told(decision)
    _check_superseded(programme, decision)


def _check_told(decision: Decision) -> None:
    """Refuse a participant, an assumption, a dissent or a review that says nothing."""
    told = [
        *(("participants", each) for each in decision.participants),
        *(("assumptions", each) for each in decision.assumptions),
        *(("dissent", text) for pair in decision.dissent.items() for text in pair),
        *(("reviews", text) for each in decision.reviews for text in (each.by, each.reason)),
    ]
    for field, text in told:
        check_said(text, item=decision.key, field=field)


def _check_superseded(programme: Programme, decision: Decision) -> None:
    if not decision.superseded_by:
        return
    if decision.state is not DecisionState.WITHDRAWN:
        raise DecisionError(
            f"a decision that is {decision.state} is superseded by none",
            item=decision.key,
            field="superseded_by",
        )
    after = _reach(
        (decision.superseded_by,),
        lambda each: _some(programme.at(each, Decision).superseded_by),
    )
    if decision.id in after:
        raise DecisionError(
            "it would be superseded by itself", item=decision.key, field="superseded_by"
        )


def _check_parents(programme: Programme, requirement: Requirement) -> None:
    """Refuse a ring of requirements that derive from each other."""
    above = _reach(requirement.parents, lambda each: programme.at(each, Requirement).parents)
    if requirement.id in above:
        raise BadValueError(
            "it would derive from itself by way of others", item=requirement.key, field="parents"
        )


def _check_resting(programme: Programme, decision: Decision) -> None:
    """Refuse a ring of decisions that rest on each other."""
    below = _reach(decision.rests_on, lambda each: programme.at(each, Decision).rests_on)
    if decision.id in below:
        raise DecisionError(
            "it would rest on itself by way of others", item=decision.key, field="rests_on"
        )


def _reach(start: Iterable[str], onward: Callable[[str], Iterable[str]]) -> set[str]:
    """Return everything reached from a start, the start included."""
    seen, queue = set[str](), list(start)
    while queue:
        each = queue.pop()
        if each not in seen:
            seen.add(each)
            queue.extend(onward(each))
    return seen


def _check_options(programme: Programme, decision: Decision) -> None:
    keys = [check_key(each.key, item=decision.key, field="option") for each in decision.options]
    if len(set(keys)) != len(keys):
        raise DuplicateKeyError("two options share a key", item=decision.key, field="options")
    for option in decision.options:
        for each, setting in option.settings.items():
            if each not in decision.owns:
                raise DecisionError(
                    f"option {option.key} sets a quantity the decision does not own",
                    item=decision.key,
                )
            where = f"{decision.key}/{option.key}"
            check_setting(programme.at(each, Quantity), setting, where, "value")


def _check_state(decision: Decision) -> None:
    applied = decision.applied is not None
    wants = decision.state in (DecisionState.LEANING, DecisionState.SETTLED)
    if applied is not wants or (decision.chosen and not applied):
        raise DecisionError(
            f"a decision that is {decision.state} has {'one' if wants else 'no'} applied option",
            item=decision.key,
        )
    if decision.state is not DecisionState.SETTLED:
        return
    if not decision.rationale.strip():
        raise DecisionError(
            "it cannot settle without a rationale",
            item=decision.key,
            field="rationale",
            remedy="Say why with --why",
        )
    bare = [
        each.key
        for each in decision.options
        if each.id != decision.chosen and not decision.against.get(each.id, "").strip()
    ]
    if bare:
        raise DecisionError(
            "it cannot settle without a reason against " + ", ".join(bare),
            item=decision.key,
            field="against",
            remedy="Add --against OPTION=REASON for each",
        )


def _check_use(programme: Programme, use: CheckUse) -> None:
    programme.at(use.decision, Decision)
    for each in use.outputs.values():
        programme.at(each, Quantity)
    for port, ref in use.inputs.items():
        if not isinstance(programme.get(ref.id), Quantity | Requirement):
            raise UnknownKeyError("it points at nothing that has a value", item=use.key, field=port)
    twice = sorted(set(use.inputs) & set(use.literals))
    if twice:
        raise SourceError("the input is bound twice", item=use.key, field=twice[0])
