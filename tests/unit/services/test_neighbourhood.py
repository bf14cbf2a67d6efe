"""An item among its neighbours, as deep as asked."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.pictured import drawn_session
from tracker.errors import UnknownKeyError
from tracker.services.actions import add_items, set_values, settle
from tracker.services.pictures import neighbourhood as module
from tracker.services.pictures.neighbourhood import MOST_DEPTH, NodeView, neighbourhood
from tracker.services.session import Session


@pytest.fixture
def session() -> Session:
    return drawn_session()


def told(nodes: tuple[NodeView, ...]) -> list[tuple[int, str, str]]:
    return [(each.depth, each.link.key, each.link.role) for each in nodes]


def test_one_step_is_what_touches_it(session: Session) -> None:
    view = neighbourhood(session, "force")
    assert (view.kind, view.key, view.depth) == ("quantity", "force", 1)
    assert told(view.above) == [(1, "C-RAMP", "sets it")]
    assert told(view.below) == [(1, "R-FORCE", "judges it")]
    assert not view.cut


def test_deeper_steps_follow_each_neighbour(session: Session) -> None:
    above = neighbourhood(session, "force", 2).above
    assert told(above)[:3] == [
        (1, "C-RAMP", "sets it"), (2, "way", "feeds way"), (2, "slope", "feeds slope")
    ]  # fmt: skip


def test_a_neighbour_met_again_is_not_followed_again(session: Session) -> None:
    """The top is set by D-TOP, and D-TOP serves a requirement on it."""
    below = neighbourhood(session, "D-TOP", MOST_DEPTH + 3).below
    ways = [each for each in below if each.link.key == "C-RAMP"]
    assert [each.again for each in ways] == [False, *[True] * (len(ways) - 1)]
    assert max(each.depth for each in below) <= MOST_DEPTH
    assert any(each.again and each.link.key == "D-TOP" for each in below)


def test_roles_of_one_neighbour_are_joined(session: Session) -> None:
    twice: dict[str, Any] = {
        "kind": "check", "key": "C-TWICE", "title": "Flat", "check": "ramp", "decision": "D-IDLE",
        "inputs": {"way": "way", "slope": "slope", "foot": "foot", "top": "foot"}, "outputs": {},
    }  # fmt: skip
    add_items(session, [twice], "a flat one")
    above = neighbourhood(session, "C-TWICE").above
    assert [(each.link.key, each.link.role) for each in above] == [
        ("way", "feeds way"), ("slope", "feeds slope"), ("foot", "feeds foot, feeds top")
    ]  # fmt: skip


def test_a_shifted_decision_says_so(session: Session) -> None:
    settle(session, "D-RAMP", "wood", "there is wood", {})
    set_values(session, {"slope": "2.1 N/mm"}, "measured")
    above = neighbourhood(session, "D-IDLE").above
    assert [(each.link.key, each.shifted) for each in above] == [("D-RAMP", True)]


def test_more_than_can_be_shown_is_cut(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_MOST", 2)
    view = neighbourhood(session, "C-RAMP")
    assert len(view.above) == 2
    assert view.cut


def test_an_unknown_key_is_refused(session: Session) -> None:
    with pytest.raises(UnknownKeyError):
        neighbourhood(session, "nobody")
