"""Who needs whom, through which quantities, and in which blocks."""

from __future__ import annotations

import pytest

from tests.unit.services.pictured import MORE, drawn_session
from tracker.errors import InputError
from tracker.services.actions import add_items, amend_item, withdraw
from tracker.services.pictures.dependency import dependency
from tracker.services.pictures.dependency_views import DependencyView, LinkCell
from tracker.services.session import Session


@pytest.fixture
def session() -> Session:
    return drawn_session()


def links(view: DependencyView) -> dict[tuple[str, str], LinkCell]:
    return {(view.items[each.row].key, view.items[each.column].key): each for each in view.cells}


def test_a_decision_needs_what_its_checks_take_in_and_what_it_rests_on(session: Session) -> None:
    found = links(dependency(session))
    assert set(found) == {("D-RAMP", "D-TOP"), ("D-IDLE", "D-TOP"), ("D-IDLE", "D-RAMP")}
    assert found["D-RAMP", "D-TOP"].quantities == ("top",)
    assert not found["D-RAMP", "D-TOP"].rests_on
    assert found["D-IDLE", "D-RAMP"] == LinkCell(row=2, column=1, quantities=(), rests_on=True)


def test_items_come_in_an_order_they_can_be_settled_in(session: Session) -> None:
    view = dependency(session)
    assert [(each.key, each.level, each.block) for each in view.items] == [
        ("D-TOP", 0, 0), ("D-RAMP", 1, 1), ("D-IDLE", 2, 2)
    ]  # fmt: skip
    assert [each.keys for each in view.blocks] == [("D-TOP",), ("D-RAMP",), ("D-IDLE",)]
    assert view.items[1].sign == "stands"
    assert view.items[1].title == "Which ramp?"
    assert set(view.items[1].reads) == {"way", "slope", "foot", "top", "colour", "force"}


def test_what_needs_each_other_is_one_block(session: Session) -> None:
    """The back ramp stands on a copy the idle decision computes, which rests on the ramp."""
    add_items(session, MORE, "another ramp")
    (block,) = dependency(session).blocks
    assert set(block.keys) == {"D-TOP", "D-RAMP", "D-IDLE"}
    assert ("D-TOP", "D-IDLE") in links(dependency(session))
    assert links(dependency(session))["D-TOP", "D-IDLE"].quantities == ("copy",)


def test_a_requirement_ties_who_serves_it_to_who_computes_what_it_judges(session: Session) -> None:
    amend_item(session, "D-TOP", {"serves": ["R-TOP", "R-FORCE"]}, "it decides on the force too")
    assert links(dependency(session))["D-TOP", "D-RAMP"].quantities == ("force",)


def test_withdrawn_decisions_are_left_out(session: Session) -> None:
    withdraw(session, "D-IDLE", "nothing else")
    assert [each.key for each in dependency(session).items] == ["D-TOP", "D-RAMP"]


def test_checks_need_what_other_checks_compute(session: Session) -> None:
    add_items(session, MORE, "another ramp")
    view = dependency(session, "check")
    assert links(view)["C-BACK", "C-COPY"].quantities == ("copy",)
    assert len(view.cells) == 1
    assert {each.key: each.level for each in view.items} == {"C-RAMP": 0, "C-COPY": 0, "C-BACK": 1}
    assert view.items[0].sign == "current"


def test_there_is_no_other_matrix(session: Session) -> None:
    with pytest.raises(InputError, match="no dependency matrix of 'gate'"):
        dependency(session, "gate")
