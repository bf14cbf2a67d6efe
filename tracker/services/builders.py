"""One item document into one record."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from tracker.errors import BadValueError, DecisionError, UnknownKeyError
from tracker.evaluate.binding import Measure, part_measure
from tracker.model.address import parse_address
from tracker.model.records import (
    Basis,
    BasisKind,
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Level,
    Literal,
    Option,
    Outcome,
    ProgrammeInfo,
    Quantity,
    Range,
    Record,
    Ref,
    Requirement,
    Review,
    Setting,
    Tolerance,
    ToleranceShape,
    Verification,
)
from tracker.model.units import ONE, Unit
from tracker.model.values import CellKind, Column, Kind
from tracker.services.building import Builder, about, bound_of, gate_id, ids_of
from tracker.services.fields import Fields
from tracker.services.gate_builders import (
    refuse_baseline,
    to_action,
    to_deviation,
    to_evidence,
    to_gate,
    to_risk,
)
from tracker.services.reading import read_port, read_real, read_span, read_value

__all__ = ["BUILDERS"]

Document = Mapping[str, Any]


def _programme(builder: Builder, document: Document) -> ProgrammeInfo:
    fields = Fields(document, {"title", "currency"})
    return ProgrammeInfo(
        id=builder.own_id(fields.key),
        key=fields.key,
        title=fields.text("title", required=True),
        currency=fields.text("currency", required=True),
    )


_STATED = {"value", "unknown", "basis", "source", "dated"}
_QUANTITY = {
    "title", "type", "unit", "choices", "columns", "tolerance", "tolerance_shape", "low", "high",
    "ranges", "correlated", *_STATED,
}  # fmt: skip


def _quantity(builder: Builder, document: Document) -> Quantity:
    fields = Fields(document, _QUANTITY)
    kind = fields.choice("type", Kind, Kind.REAL)
    unit = builder.unit(fields.text("unit"), fields.key, "unit")
    measure = Measure(kind, unit, fields.texts("choices"), _columns(builder, fields))
    half = fields.raw("tolerance")
    return Quantity(
        id=builder.own_id(fields.key),
        key=fields.key,
        title=fields.text("title", required=True),
        kind=kind,
        unit=measure.unit,
        choices=measure.choices,
        columns=measure.columns,
        given=_setting(builder, fields, measure, fields.key),
        tolerance=None if half is None else _tolerance(builder, fields, half, measure.unit),
        low=_real(builder, fields, "low", measure.unit),
        high=_real(builder, fields, "high", measure.unit),
        part_ranges={
            part: _range(builder, fields.key, part, ends, measure.unit)
            for part, ends in fields.mapping("ranges").items()
        },
        correlated=_correlated(builder, fields),
    )


def _range(builder: Builder, item: str, part: str, ends: object, unit: Unit) -> Range:
    field = f"ranges.{part}"
    if not isinstance(ends, Sequence) or isinstance(ends, str) or len(ends) != 2:  # noqa: PLR2004 - low and high
        raise BadValueError(
            "a range has two ends", item=item, field=field, remedy='Write ["200 mm", "230 mm"]'
        )
    units = builder.reading.tools.units
    low, high = (read_real(each, unit, units, item=item, field=field)[0] for each in ends)
    return Range(low=low, high=high)


def _correlated(builder: Builder, fields: Fields) -> dict[str, float]:
    """Read correlation coefficients by the key of the other quantity."""
    units, found = builder.reading.tools.units, {}
    for key, raw in fields.mapping("correlated").items():
        other = builder.id_of(key, ("quantity",), fields.key, "correlated")
        found[other] = read_real(raw, ONE, units, item=fields.key, field=f"correlated.{key}")[0]
    return found


def _tolerance(builder: Builder, fields: Fields, half: object, unit: Unit) -> Tolerance:
    units = builder.reading.tools.units
    width = read_span(half, unit, units, item=fields.key, field="tolerance")
    shape = fields.choice("tolerance_shape", ToleranceShape, ToleranceShape.RECTANGULAR)
    return Tolerance(half_width=width, shape=shape)


def _real(builder: Builder, fields: Fields, name: str, unit: Unit) -> float | None:
    raw = fields.raw(name)
    if raw is None:
        return None
    return read_real(raw, unit, builder.reading.tools.units, item=fields.key, field=name)[0]


def _columns(builder: Builder, fields: Fields) -> tuple[Column, ...]:
    columns = []
    for number, each in enumerate(fields.sequence("columns"), 1):
        inner = Fields({"key": fields.key, **each}, {"name", "type", "unit"}, f"columns {number}")
        kind = inner.choice("type", CellKind, CellKind.REAL)
        unit = builder.unit(inner.text("unit"), fields.key, f"columns {number} unit")
        columns.append(Column(inner.text("name", required=True), kind, unit))
    return tuple(columns)


def _setting(builder: Builder, fields: Fields, measure: Measure, item: str) -> Setting | None:
    """Read a stated value with its basis; None when the document states nothing."""
    raw, reason = fields.raw("value"), fields.text("unknown")
    if raw is not None and reason:
        raise BadValueError(
            "it is stated and unknown at once",
            item=item,
            field="unknown",
            remedy="Leave out either value or unknown",
        )
    basis = Basis(
        kind=fields.choice("basis", BasisKind, BasisKind.GUESS),
        source=fields.text("source"),
        dated=fields.text("dated"),
    )
    if raw is None:
        return Setting(basis=basis, reason=reason) if reason else None
    value, typed = read_value(raw, measure, builder.reading.tools.units, item=item)
    return Setting(value=value, typed=typed, basis=basis)


_REQUIREMENT = {
    "statement", "quantity", "lower", "upper", "target", "scale", "guard", "allowed", "source",
    "owner", "verification", "parents", "gate", "rationale", "priority", "risk",
}  # fmt: skip


def _requirement(builder: Builder, document: Document) -> Requirement:
    fields = Fields(document, _REQUIREMENT)
    with about(fields.key, "quantity"):
        address = parse_address(fields.text("quantity", required=True))
        quantity = builder.quantity(address.key, fields.key, "quantity")
        unit = part_measure(quantity, address.part).unit
    units = builder.reading.tools.units
    guard = fields.raw("guard")
    scale = fields.raw("scale")
    return Requirement(
        id=builder.own_id(fields.key),
        key=fields.key,
        statement=fields.text("statement", required=True),
        quantity=quantity.id,
        part=address.part,
        lower=bound_of(builder, fields, "lower", unit),
        upper=bound_of(builder, fields, "upper", unit),
        target=bound_of(builder, fields, "target", unit),
        scale=None
        if scale is None
        else Bound(value=read_span(scale, unit, units, item=fields.key, field="scale")),
        guard=0.1
        if guard is None
        else read_real(guard, ONE, units, item=fields.key, field="guard")[0],
        allowed=fields.texts("allowed"),
        source=fields.text("source"),
        owner=fields.text("owner"),
        verification=fields.choice("verification", Verification, Verification.ANALYSIS),
        parents=ids_of(builder, fields, "parents", ("requirement",)),
        gate=gate_id(builder, fields),
        rationale=fields.text("rationale"),
        priority=fields.choice("priority", Level, Level.MEDIUM) if fields.raw("priority") else None,
        risk=fields.text("risk"),
    )


_DECISION = {
    "question", "options", "sets", "serves", "rests_on", "owner", "gate",
    "state", "chosen", "rationale", "against", "participants", "dissent", "assumptions",
    "superseded_by", "reviews",
}  # fmt: skip


def _decision(builder: Builder, document: Document) -> Decision:
    fields = Fields(document, _DECISION)
    held = builder.held(fields.key)
    options = fields.sequence("options")
    owns = _owned(builder, fields, options)
    made = tuple(_option(builder, fields.key, each, owns, held) for each in options)
    return Decision(
        id=builder.own_id(fields.key),
        key=fields.key,
        question=fields.text("question", required=True),
        options=made,
        owns=owns,
        serves=ids_of(builder, fields, "serves", ("requirement",)),
        rests_on=ids_of(builder, fields, "rests_on", ("decision",)),
        owner=fields.text("owner"),
        gate=gate_id(builder, fields),
        participants=fields.texts("participants"),
        dissent=fields.text_mapping("dissent"),
        assumptions=fields.sentences("assumptions"),
        **(_decided(builder, fields, made) if held is None else _still_decided(held, made)),
    )


def _decided(builder: Builder, fields: Fields, options: Sequence[Option]) -> dict[str, Any]:
    """Read what deciding has added to a decision that comes from elsewhere."""
    after = fields.text("superseded_by")
    return {
        "state": fields.choice("state", DecisionState, DecisionState.OPEN),
        "chosen": _option_id(fields, options, fields.text("chosen"), "chosen"),
        "rationale": fields.text("rationale"),
        "against": {
            _option_id(fields, options, each, "against"): str(reason)
            for each, reason in fields.mapping("against").items()
        },
        "superseded_by": builder.id_of(after, ("decision",), fields.key, "superseded_by")
        if after
        else "",
        "reviews": tuple(_review(fields.key, each) for each in fields.sequence("reviews")),
    }


def _review(item: str, document: Document) -> Review:
    fields = Fields(document, {"by", "outcome", "reason", "on"}, "reviews", item=item)
    return Review(
        by=fields.text("by", required=True),
        outcome=fields.choice("outcome", Outcome, Outcome.CONFIRMED),
        reason=fields.text("reason", required=True),
        on=fields.text("on", required=True),
    )


def _still_decided(held: Decision, options: Sequence[Option]) -> dict[str, Any]:
    """Return what deciding has added to a decision: an amendment keeps it."""
    applied = held.applied
    if applied is not None and applied.id not in {each.id for each in options}:
        raise DecisionError(
            f"its applied option {applied.key} cannot be taken away",
            item=held.key,
            field="options",
            remedy="Lean to another option first",
        )
    names = (
        *("state", "chosen", "rationale", "against", "footing"),
        *("superseded_by", "reviews"),
    )
    return {name: getattr(held, name) for name in names}


def _option_id(fields: Fields, options: Sequence[Option], key: str, where: str) -> str:
    """Return the id of an option by its key; an empty key names none."""
    found = next((each.id for each in options if each.key == key), "")
    if key and not found:
        raise UnknownKeyError(
            f"it has no option {key[:80]!r}",
            item=fields.key,
            field=where,
            remedy="Options: " + ", ".join(each.key for each in options),
        )
    return found


def _owned(builder: Builder, fields: Fields, options: Sequence[Document]) -> tuple[str, ...]:
    keys = dict.fromkeys(fields.texts("sets"))
    for each in options:
        option = Fields(each, None, item=f"{fields.key}/{each.get('key', '?')}")
        keys.update(dict.fromkeys(option.mapping("settings")))
    return tuple(builder.id_of(key, ("quantity",), fields.key, "options") for key in keys)


def _option(
    builder: Builder, item: str, document: Document, owns: Sequence[str], held: Decision | None
) -> Option:
    where = f"{item}/{document.get('key', '?')}"
    fields = Fields(document, {"title", "notes", "settings"}, item=where)
    old = next((each.id for each in held.options if each.key == fields.key), "") if held else ""
    settings = {}
    for key, raw in fields.mapping("settings").items():
        quantity = builder.quantity(key, where, "settings")
        measure = part_measure(quantity, "")
        stated = raw if isinstance(raw, Mapping) else {"value": raw}
        address = f"{where}.{key}"
        setting = _setting(builder, Fields(stated, _STATED, item=address), measure, address)
        if setting is not None:
            settings[quantity.id] = setting
    return Option(
        id=old or builder.reading.tools.ids(),
        key=fields.key,
        title=fields.text("title", required=True),
        notes=fields.text("notes"),
        settings={each: settings[each] for each in owns if each in settings},
    )


_CHECK = {"title", "check", "decision", "config", "inputs", "outputs"}


def _check(builder: Builder, document: Document) -> CheckUse:
    fields = Fields(document, _CHECK)
    plugin = fields.text("check", required=True)
    config = {name: str(text) for name, text in fields.mapping("config").items()}
    inputs, literals = _bindings(builder, fields, plugin, config)
    decision = fields.text("decision", required=True)
    return CheckUse(
        id=builder.own_id(fields.key),
        key=fields.key,
        title=fields.text("title") or plugin,
        plugin=plugin,
        decision=builder.id_of(decision, ("decision",), fields.key, "decision"),
        config=config,
        inputs=inputs,
        literals=literals,
        outputs={
            port: builder.id_of(str(key), ("quantity",), fields.key, port)
            for port, key in fields.mapping("outputs").items()
        },
    )


def _bindings(
    builder: Builder, fields: Fields, plugin: str, config: Mapping[str, str]
) -> tuple[dict[str, Ref], dict[str, Literal]]:
    """Split inputs: a text is an address; a number or `{"value": …}` states the value itself."""
    info = builder.reading.programme.info
    tools = builder.reading.tools
    loaded = tools.catalogue.load(plugin, config, info.currency if info else "")
    refs, literals = {}, {}
    for name, raw in fields.mapping("inputs").items():
        if isinstance(raw, str):
            with about(fields.key, name):
                address = parse_address(raw)
            refs[name] = Ref(
                id=builder.id_of(address.key, ("quantity", "requirement"), fields.key, name),
                part=address.part,
            )
            continue
        port = loaded.inputs.get(name)
        if port is None:
            raise UnknownKeyError(
                f"{plugin} has no input {name!r}",
                item=fields.key,
                field=name,
                remedy="Its inputs: " + ", ".join(loaded.inputs),
            )
        stated = raw["value"] if isinstance(raw, dict) and "value" in raw else raw
        value, typed = read_port(stated, loaded, port, tools.units, item=fields.key)
        literals[name] = Literal(value=value, typed=typed)
    return refs, literals


BUILDERS: Mapping[str, Callable[[Builder, Document], Record]] = {
    "programme": _programme,
    "gate": to_gate,
    "quantity": _quantity,
    "requirement": _requirement,
    "decision": _decision,
    "check": _check,
    "deviation": to_deviation,
    "action": to_action,
    "evidence": to_evidence,
    "risk": to_risk,
    "baseline": refuse_baseline,
}
