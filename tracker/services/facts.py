"""Short fields and long texts of an item."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.evaluate.binding import measure_of
from tracker.evaluate.slots import value_of
from tracker.evaluate.sources import setting_in_force
from tracker.evaluate.verdict import band_of
from tracker.model.records import (
    CheckUse,
    Decision,
    ProgrammeInfo,
    Quantity,
    Record,
    Ref,
    Requirement,
    Setting,
)
from tracker.model.values import Value
from tracker.services.item_records import told_facts, told_paragraphs, walked_facts
from tracker.services.present import (
    address_text,
    check_line,
    decision_line,
    key_of,
    quantity_line,
)
from tracker.services.runs import manifest_of
from tracker.services.session import Reading
from tracker.services.wording import band_text, limits_text, value_with_unit, visible, with_unit

__all__ = ["facts_of", "paragraphs_of", "value_facts"]

_Pair = tuple[str, str]


def value_facts(reading: Reading, record: Record) -> tuple[Value | None, str]:
    """Return value and unit text of a quantity; nothing for other kinds."""
    if not isinstance(record, Quantity):
        return None, ""
    slot = reading.engine.state.slots[reading.engine.graph.index[record.id, ""]]
    return value_of(slot, record.kind, record.choices), record.unit.text


def facts_of(reading: Reading, record: Record) -> tuple[_Pair, ...]:
    """Return the short fields of an item that have something to say."""
    match record:
        case Quantity():
            facts = _quantity(reading, record)
        case Requirement():
            facts = _requirement(reading, record)
        case Decision():
            facts = _decision(reading, record)
        case CheckUse():
            facts = _check(reading, record)
        case ProgrammeInfo():
            facts = iter([("money", record.currency)])
        case _:
            facts = walked_facts(reading, record)
    return tuple((visible(label), visible(text)) for label, text in facts if text)


def _quantity(reading: Reading, quantity: Quantity) -> Iterator[_Pair]:
    line = quantity_line(reading, quantity)
    yield "value", f"{line.text} {line.unit}".strip()
    yield "unknown because", line.reason
    yield "source", line.source
    setting, _ = setting_in_force(reading.programme, reading.engine.graph, quantity)
    if setting is not None:
        yield from _setting(setting)
    if quantity.tolerance:
        half = with_unit(quantity.tolerance.half_width, quantity.unit)
        yield "tolerance", f"± {half} ({quantity.tolerance.shape})"
    if quantity.low is not None or quantity.high is not None:
        yield "may move", limits_text(quantity.low, quantity.high, quantity.unit)
    for part, span in quantity.part_ranges.items():
        yield f"{part} may move", limits_text(span.low, span.high, quantity.unit)
    for other, coefficient in quantity.correlated.items():
        yield f"correlated with {key_of(reading, other)}", f"{coefficient:g}"
    yield "choices", ", ".join(quantity.choices)
    yield "columns", ", ".join(column.name for column in quantity.columns)


def _setting(setting: Setting) -> Iterator[_Pair]:
    yield "typed as", setting.typed
    if setting.value is not None:
        yield "basis", setting.basis.kind.value
    yield "from", setting.basis.source
    yield "dated", setting.basis.dated


def _requirement(reading: Reading, requirement: Requirement) -> Iterator[_Pair]:
    ref = Ref(id=requirement.quantity, part=requirement.part)
    unit = measure_of(reading.programme, ref).unit
    yield "required", band_text(band_of(requirement), unit)
    if requirement.target:
        yield "target", with_unit(requirement.target.value, unit)
    if requirement.scale:
        yield "scale", with_unit(requirement.scale.value, unit)
    if not requirement.allowed:
        yield "guard", f"{requirement.guard * 100:g} % of the band's scale"
    yield "judges", address_text(reading, requirement.quantity, requirement.part)
    yield "verified by", requirement.verification.value
    yield "source", requirement.source
    yield "owner", requirement.owner
    yield "priority", requirement.priority.value if requirement.priority else ""
    yield "derives from", ", ".join(key_of(reading, each) for each in requirement.parents)
    yield "due at", key_of(reading, requirement.gate) if requirement.gate else ""


def _decision(reading: Reading, decision: Decision) -> Iterator[_Pair]:
    line = decision_line(reading, decision)
    yield "state", line.state
    yield "standing", f"{line.standing}: {line.why}" if line.why else line.standing
    yield "chosen", line.chosen
    yield "owner", decision.owner
    yield "due at", line.gate
    yield from told_facts(reading, decision)


def _check(reading: Reading, use: CheckUse) -> Iterator[_Pair]:
    line = check_line(reading, use)
    manifest = manifest_of(reading, use)
    yield "check", f"{use.plugin} {manifest.version}" if manifest else use.plugin
    yield "state", f"{line.state}: {line.message}" if line.message else line.state
    yield "under", line.decision
    yield from sorted(use.config.items())
    yield from _own_inputs(reading, use)


def _own_inputs(reading: Reading, use: CheckUse) -> Iterator[_Pair]:
    """Show the inputs that come from no other item: stated in the binding, or left to default."""
    graph = reading.engine.graph
    loaded = graph.nodes[graph.position[use.id]].loaded
    if loaded is None:
        return
    for name, port in loaded.inputs.items():
        literal, unit = use.literals.get(name), loaded.units[name]
        if literal is not None:
            yield name, value_with_unit(literal.value, port.kind, unit)
        elif port.default is not None and name not in use.inputs:
            yield name, f"{value_with_unit(port.default, port.kind, unit)} (default)"


def paragraphs_of(reading: Reading, record: Record) -> tuple[_Pair, ...]:
    """Return the long texts of an item."""
    match record:
        case Decision():
            pairs = [("rationale", record.rationale)]
            pairs += [
                (f"against {option.key}", record.against.get(option.id, ""))
                for option in record.options
            ]
            pairs += told_paragraphs(record)
        case CheckUse():
            manifest = manifest_of(reading, record)
            pairs = [("purpose", manifest.purpose)] if manifest else []
            pairs += [("source", str(each)) for each in (manifest.sources if manifest else ())]
        case Requirement():
            pairs = [("rationale", record.rationale), ("risk", record.risk)]
        case _:
            pairs = list(told_paragraphs(record))
    return tuple((heading, visible(text)) for heading, text in pairs if text)
