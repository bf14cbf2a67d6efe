"""The journal by month and author, whole or in stretches."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.services.pictured import drawn_session
from tracker.services.actions import add_items, set_values
from tracker.services.pictures.timeline import timeline
from tracker.services.session import Session


def told_over(session: Session, moments: list[tuple[str, str]]) -> None:
    """Make a change at each moment."""
    for number, (at, author) in enumerate(moments):
        session.tools = replace(session.tools, clock=lambda at=at: at)  # type: ignore[misc] # each its own
        session.author = author
        set_values(session, {"way": f"{5 + number} cm"}, "another way")


def test_changes_are_counted_by_month_and_author() -> None:
    session = drawn_session()
    told_over(
        session,
        [
            ("2031-01-31T23:59:59Z", "Ben"),
            ("2031-02-01T00:00:00Z", "Ann"),
            ("2031-04-02T08:00:00Z", "Ann"),
        ],
    )
    view = timeline(session)
    assert [(each.month, each.authors, each.first, each.last) for each in view.months] == [
        ("2031-01", (("Ann", 3), ("Ben", 1)), 1, 4),
        ("2031-02", (("Ann", 1),), 5, 5),
        ("2031-04", (("Ann", 1),), 6, 6),
    ]
    assert view.months[0].count == 4
    assert view.read == view.revision == 6


def test_reading_in_stretches_gives_the_same() -> None:
    session = drawn_session()
    told_over(session, [("2031-01-20T08:00:00Z", "Ben"), ("2031-03-01T08:00:00Z", "Ann")])
    part = timeline(session, most=2)
    assert (part.read, part.revision) == (2, 5)
    assert timeline(session, timeline(session, part, most=2)) == timeline(session)


def test_gates_come_by_date() -> None:
    session = drawn_session()
    gate = {"kind": "gate", "key": "G0", "title": "Start", "date": "2030-12-01"}
    add_items(session, [gate], "a gate before all")
    marks = [(each.key, each.title, each.date) for each in timeline(session).gates]
    assert marks == [("G0", "Start", "2030-12-01"), ("G1", "Concept", "2031-03-01")]
