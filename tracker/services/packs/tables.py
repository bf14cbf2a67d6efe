"""Requirements, quantities, checks and the matrix between them, as a gate pack lists them."""

from __future__ import annotations

from collections.abc import Iterator

from tracker.model.records import CheckUse, Quantity, Requirement, Setting
from tracker.services.facts import value_facts
from tracker.services.gates.grounds import setting_of
from tracker.services.packs.findings import PackSource
from tracker.services.packs.rounding import rounded_value
from tracker.services.packs.views import (
    PackCheck,
    PackLink,
    PackPort,
    PackQuantity,
    PackRequirement,
)
from tracker.services.present import (
    address_text,
    check_line,
    key_of,
    quantity_line,
)
from tracker.services.runs import manifest_of
from tracker.services.wording import value_text, value_with_unit, visible, with_unit

__all__ = ["check_row", "matrix_of", "quantity_row", "requirement_row"]


def requirement_row(
    source: PackSource, requirement: Requirement, evidence: tuple[str, ...]
) -> PackRequirement:
    """List a requirement with its finding."""
    reading, graph = source.reading, source.reading.engine.graph
    return PackRequirement(
        key=requirement.key,
        statement=visible(requirement.statement),
        rationale=visible(requirement.rationale),
        source=visible(requirement.source),
        owner=visible(requirement.owner),
        priority=requirement.priority.value if requirement.priority else "",
        risk=visible(requirement.risk),
        verification=requirement.verification.value,
        parents=tuple(key_of(reading, each) for each in requirement.parents),
        gate=key_of(reading, requirement.gate) if requirement.gate else "",
        decisions=tuple(key_of(reading, each) for each in graph.served_by.get(requirement.id, ())),
        finding=source.finding(graph.judges_of[requirement.id][0]),
        evidence=evidence,
        revision=source.trace.record(requirement.id),
    )


def matrix_of(
    source: PackSource, row: PackRequirement, requirement: Requirement
) -> Iterator[PackLink]:
    """Link a requirement to the decisions that serve it, and on to quantity and check."""
    reading, graph = source.reading, source.reading.engine.graph
    quantity = reading.programme.at(requirement.quantity, Quantity)
    writer = graph.writer.get(graph.index[quantity.id, ""])
    for decision in row.decisions or ("",):
        yield PackLink(
            requirement=row.key,
            decision=decision,
            quantity=row.finding.subject,
            check=key_of(reading, writer) if writer else "",
            source=quantity_line(reading, quantity).source,
            verdict=row.finding.verdict,
        )


def quantity_row(source: PackSource, quantity: Quantity) -> PackQuantity:
    """List a quantity with its value and where that comes from."""
    reading = source.reading
    line, setting = quantity_line(reading, quantity), setting_of(reading, quantity)
    value, unit = value_facts(reading, quantity)
    if reading.engine.graph.index[quantity.id, ""] in reading.engine.graph.writer:
        value = rounded_value(value)
    known = setting if setting is not None and setting.value is not None else Setting()
    half = quantity.tolerance
    return PackQuantity(
        key=quantity.key,
        title=line.title,
        kind=line.kind,
        value=value,
        text=line.text if value is None else value_text(value, quantity.kind, quantity.unit),
        unit=unit,
        columns=tuple((visible(each.name), each.unit.text) for each in quantity.columns),
        source=line.source,
        basis=known.basis.kind.value if known is setting else "",
        basis_source=visible(known.basis.source),
        dated=known.basis.dated,
        typed=visible(known.typed),
        tolerance=f"± {with_unit(half.half_width, quantity.unit)} ({half.shape})" if half else "",
        reason=line.reason,
        revision=source.trace.value(quantity.id),
    )


def check_row(source: PackSource, use: CheckUse) -> PackCheck:
    """List a bound check with its version, sources and cautions."""
    line, manifest = check_line(source.reading, use), manifest_of(source.reading, use)
    return PackCheck(
        key=line.key,
        title=line.title,
        check=line.check,
        version=visible(manifest.version) if manifest else "",
        decision=line.decision,
        state=line.state,
        message=line.message,
        purpose=visible(manifest.purpose) if manifest else "",
        sources=tuple(visible(str(each)) for each in manifest.sources) if manifest else (),
        cautions=tuple(map(visible, manifest.cautions)) if manifest else (),
        inputs=tuple(_inputs(source, use)),
        outputs=tuple(
            PackPort(port=port, bound=key_of(source.reading, each))
            for port, each in sorted(use.outputs.items())
        ),
        revision=source.trace.record(use.id),
    )


def _inputs(source: PackSource, use: CheckUse) -> Iterator[PackPort]:
    """Return what each input takes; one left to its default is named with it."""
    reading, graph = source.reading, source.reading.engine.graph
    loaded = graph.nodes[graph.position[use.id]].loaded
    for port in loaded.inputs if loaded else sorted({**use.inputs, **use.literals}):
        ref, literal = use.inputs.get(port), use.literals.get(port)
        if ref is not None:
            yield PackPort(port=port, bound=address_text(reading, ref.id, ref.part))
        elif loaded is not None:
            value = literal.value if literal else loaded.inputs[port].default
            text = value_with_unit(value, loaded.inputs[port].kind, loaded.units[port])
            if value is not None:
                yield PackPort(port=port, bound=text if literal else f"{text} (default)")
