"""Item documents of what a gate is walked through with into records."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NoReturn

from tracker.errors import BadValueError
from tracker.evaluate.binding import part_measure
from tracker.model.records import (
    RECORD_TYPES,
    Action,
    Baseline,
    Bound,
    Deviation,
    Evidence,
    Gate,
    Level,
    Quantity,
    Requirement,
    Risk,
)
from tracker.services.building import Builder, bound_of, gate_id, ids_of
from tracker.services.fields import Fields
from tracker.services.gates.criteria import settings_of
from tracker.services.gates.evidence import is_address

__all__ = ["refuse_baseline", "to_action", "to_deviation", "to_evidence", "to_gate", "to_risk"]

Document = Mapping[str, Any]
_ANY = tuple(each for each in RECORD_TYPES if each != "programme")
_SHOWN = ("requirement", "decision", "quantity", "check")


def to_gate(builder: Builder, document: Document) -> Gate:
    """Build a gate.

    Raises
    ------
    BadValueError
        It asks for a criterion there is none of, or for something one cannot be.
    """
    fields = Fields(document, {"title", "date", "criteria"})
    settings_of(fields.text_mapping("criteria"), fields.key)
    return Gate(
        id=builder.own_id(fields.key),
        key=fields.key,
        title=fields.text("title", required=True),
        date=fields.text("date", required=True),
        criteria=fields.text_mapping("criteria"),
    )


_DEVIATION = {
    "requirement", "reason", "approver", "extent", "lower", "upper", "expires", "consequences",
    "decision",
}  # fmt: skip


def to_deviation(builder: Builder, document: Document) -> Deviation:
    """Build a deviation.

    Raises
    ------
    BadValueError
        It accepts no more than the requirement does, or would have expired already.
    """
    fields = Fields(document, _DEVIATION)
    key = fields.text("requirement", required=True)
    requirement = builder.record(key, Requirement, fields.key, "requirement")
    bounds = {name: _accepted(builder, fields, name, requirement) for name in ("lower", "upper")}
    decision = fields.text("decision")
    gate = fields.text("expires", required=True)
    expires = builder.record(gate, Gate, fields.key, "expires")
    _refuse_expired(builder, fields.key, expires)
    return Deviation(
        id=builder.own_id(fields.key),
        key=fields.key,
        requirement=requirement.id,
        reason=fields.text("reason", required=True),
        approver=fields.text("approver", required=True),
        extent=fields.text("extent", required=True),
        expires=expires.id,
        consequences=fields.text("consequences"),
        decision=builder.id_of(decision, ("decision",), fields.key, "decision") if decision else "",
        **bounds,
    )


def _accepted(
    builder: Builder, fields: Fields, name: str, requirement: Requirement
) -> Bound | None:
    """Read how far a value may go; it must be further than the requirement lets it."""
    if fields.raw(name) is None:
        return None
    quantity = builder.known(requirement.quantity, Quantity)
    found = bound_of(builder, fields, name, part_measure(quantity, requirement.part).unit)
    held: Bound | None = getattr(requirement, name)
    if found is None or held is None:
        raise BadValueError(
            f"{requirement.key} has no {name} bound that could be missed",
            item=fields.key,
            field=name,
            remedy="Leave it out",
        )
    further = found.value < held.value if name == "lower" else found.value > held.value
    if not further:
        raise BadValueError(
            f"{requirement.key} itself lets the value go that far",
            item=fields.key,
            field=name,
            remedy="Say how far the value may go beyond the bound",
        )
    return found


def _refuse_expired(builder: Builder, key: str, expires: Gate) -> None:
    """Refuse a gate at which it would have expired, unless that is what it says already."""
    held = builder.reading.programme.get(builder.own_id(key))
    if isinstance(held, Deviation) and held.expires == expires.id:
        return
    for each in builder.reading.programme.of(Baseline):
        gate = builder.reading.programme.at(each.gate, Gate)
        if gate.id == expires.id or gate.date > expires.date:
            raise BadValueError(
                f"{gate.key} is frozen as {each.key}, so it would have expired",
                item=key,
                field="expires",
                remedy="Name a gate that is still to come",
            )


def _about(builder: Builder, fields: Fields, kinds: tuple[str, ...] = _ANY) -> tuple[str, ...]:
    return ids_of(builder, fields, "about", kinds)


def to_action(builder: Builder, document: Document) -> Action:
    """Build an action; one that is closed without a date is closed today."""
    fields = Fields(document, {"title", "owner", "gate", "about", "closed", "closed_on"})
    closed = fields.text("closed")
    today = builder.reading.tools.clock()[:10] if closed else ""
    return Action(
        id=builder.own_id(fields.key),
        key=fields.key,
        title=fields.text("title", required=True),
        owner=fields.text("owner"),
        gate=gate_id(builder, fields),
        about=_about(builder, fields),
        closed=closed,
        closed_on=fields.text("closed_on") or today,
    )


def to_evidence(builder: Builder, document: Document) -> Evidence:
    """Build a piece of evidence, dated today and with the hash of its file where not told."""
    fields = Fields(document, {"title", "about", "place", "sha256", "dated", "note"})
    place = fields.text("place", required=True)
    return Evidence(
        id=builder.own_id(fields.key),
        key=fields.key,
        title=fields.text("title", required=True),
        about=_about(builder, fields, _SHOWN),
        place=place,
        sha256=fields.text("sha256").lower() or _digest(builder, place),
        dated=fields.text("dated") or builder.reading.tools.clock()[:10],
        note=fields.text("note"),
    )


def _digest(builder: Builder, place: str) -> str:
    files = builder.reading.tools.files
    return "" if files is None or is_address(place) else files.digest(place) or ""


_RISK = {"title", "about", "owner", "gate", "likelihood", "consequence", "response", "closed"}


def to_risk(builder: Builder, document: Document) -> Risk:
    """Build a risk; its likelihood and consequence are medium when not told."""
    fields = Fields(document, _RISK)
    return Risk(
        id=builder.own_id(fields.key),
        key=fields.key,
        title=fields.text("title", required=True),
        likelihood=fields.choice("likelihood", Level, Level.MEDIUM),
        consequence=fields.choice("consequence", Level, Level.MEDIUM),
        about=_about(builder, fields),
        owner=fields.text("owner"),
        gate=gate_id(builder, fields),
        response=fields.text("response"),
        closed=fields.text("closed"),
    )


def refuse_baseline(builder: Builder, document: Document) -> NoReturn:  # noqa: ARG001 - one shape for all builders
    """Refuse a baseline that was not frozen here.

    Raises
    ------
    BadValueError
        Always.
    """
    raise BadValueError(
        "a baseline is neither added nor amended by hand",
        item=str(document.get("key", ""))[:80],
        field="kind",
        remedy="Freeze a gate: what was shown is kept with it",
    )
