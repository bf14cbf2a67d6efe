"""Records of a gate for the small programme, put straight into a change."""

from __future__ import annotations

from tracker.model.changes import Entry
from tracker.model.records import (
    Action,
    Deviation,
    Evidence,
    Level,
    Record,
    Risk,
)
from tracker.services.gates.readiness import gate_page
from tracker.services.gates.views import CriterionView
from tracker.services.session import Reading, Session

__all__ = ["Shelf", "action", "criterion", "deviation", "evidence", "id_of", "put", "risk"]


class Shelf:
    """Files by place, with the digests they are to have."""

    def __init__(self, **digests: str) -> None:
        self.digests = digests

    def digest(self, place: str) -> str | None:
        return self.digests.get(place)


def id_of(session: Session, key: str) -> str:
    record = session.programme.find(key)
    assert record is not None, key
    return record.id


def put(session: Session, *records: Record) -> None:
    """Put records as they are, in one change."""
    entries = [Entry(session.programme.get(each.id), each) for each in records]
    session.commit(entries, "put")


def criterion(session: Reading, gate: str, name: str) -> CriterionView:
    (found,) = [each for each in gate_page(session, gate).criteria if each.name == name]
    return found


def deviation(session: Session, requirement: str, expires: str, **more: object) -> Deviation:
    fields = {"key": "DEV-1", "reason": "Sold so", "approver": "Board", "extent": "A little"}
    return Deviation(
        id=session.tools.ids(),
        requirement=id_of(session, requirement),
        expires=id_of(session, expires),
        **{**fields, **more},  # type: ignore[arg-type] # fields of a deviation
    )


def action(session: Session, gate: str, **more: str) -> Action:
    return Action(
        id=session.tools.ids(),
        key="A-1",
        title="Weigh the arm",
        owner="Bo",
        gate=id_of(session, gate),
        **more,  # type: ignore[arg-type] # texts
    )


def risk(session: Session, gate: str, **more: str) -> Risk:
    return Risk(
        id=session.tools.ids(),
        key="RISK-1",
        title="The tool is late",
        likelihood=Level.MEDIUM,
        consequence=Level.HIGH,
        gate=id_of(session, gate),
        **more,  # type: ignore[arg-type] # texts
    )


def evidence(session: Session, place: str, sha256: str = "") -> Evidence:
    return Evidence(
        id=session.tools.ids(),
        key="E-1",
        title="Rig report",
        place=place,
        sha256=sha256,
        about=(id_of(session, "D-ARM"),),
        dated="2031-01-10",
    )
