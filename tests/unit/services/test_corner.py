"""The corner's points: which can be moved and how, and what a trial draws."""

from __future__ import annotations

import pytest

from tests.unit.services.pictured import MORE, drawn_session
from tests.unit.services.small import near
from tracker.errors import InputError
from tracker.services.actions import add_items, settle
from tracker.services.pictures.corner import corner, try_corner, try_pictures
from tracker.services.pictures.views import PointView
from tracker.services.session import Session


@pytest.fixture
def session() -> Session:
    return drawn_session()


def points(session: Session, key: str) -> dict[str, PointView]:
    return {each.key: each for each in corner(session, key).points}


def test_the_check_that_shares_the_points_draws_them(session: Session) -> None:
    for key in ("C-RAMP", "D-RAMP", "R-FORCE", "top", "foot", "way", "C-COPY", "D-IDLE"):
        view = corner(session, key)
        assert view.check == "C-RAMP"
        assert [each.key for each in view.sketches] == ["side"]
        assert view.why_none == ""


def test_a_check_that_draws_is_drawn_by_itself(session: Session) -> None:
    add_items(session, MORE, "another ramp")
    view = corner(session, "C-BACK")
    assert view.check == "C-BACK"
    (point,) = view.points  # the foot is stated in the binding: it is no quantity
    assert (point.key, point.address) == ("copy", "")
    assert point.why_not == "check C-COPY computes it: move what that takes in"


def test_what_has_no_points_has_no_sketch(session: Session) -> None:
    view = corner(session, "alone")
    assert (view.check, view.points, view.sketches, view.followers) == ("", (), (), ())
    assert view.why_none == "no check that takes its points draws the vehicle"


def test_a_given_point_moves_by_its_own_key_in_its_own_unit(session: Session) -> None:
    foot = points(session, "C-RAMP")["foot"]
    assert foot.at == near((10.0, 20.0, 30.0))
    assert foot.own == near((1.0, 2.0, 3.0))
    assert (foot.address, foot.unit, foot.scale) == ("foot", "cm", near(0.1))


def test_a_decided_point_moves_by_its_option_until_it_is_settled(session: Session) -> None:
    top = points(session, "C-RAMP")["top"]
    assert (top.address, top.at, top.own, top.scale) == (
        "D-TOP/low.top", (100.0, 20.0, 60.0), (100.0, 20.0, 60.0), 1.0
    )  # fmt: skip
    settle(session, "D-TOP", "low", "it is low enough", {"high": "too steep"})
    top = points(session, "C-RAMP")["top"]
    assert (top.address, top.why_not) == ("", "decision D-TOP is settled: reopen it first")


def test_curves_of_a_follower_are_drawn_on_demand(session: Session) -> None:
    add_items(session, MORE, "another ramp")
    view = corner(session, "C-RAMP")
    assert view.curves == ()
    assert view.followers == (("C-RAMP", "The ramp"),)  # the copy draws nothing
    drawn = corner(session, "C-RAMP", ("C-RAMP",)).curves
    assert [each.figure.key for each in drawn] == ["plain", "force", "steps", "spare", "unused"]


def test_a_trial_moves_a_point_and_leaves_no_trace(session: Session) -> None:
    before = corner(session, "C-RAMP")
    view, ripple = try_corner(session, "C-RAMP", {"D-TOP/low.top": "[100, 20, 5] mm"})
    assert view.sketches[0].series[0].y == near((30.0, 5.0))
    assert ripple.broken == ("D-TOP",)
    assert corner(session, "C-RAMP") == before


def test_a_trial_draws_pictures_too(session: Session) -> None:
    (force,) = [
        each
        for each in try_pictures(session, "C-RAMP", {"way": "6 cm"}).pictures
        if each.figure.key == "force"
    ]
    assert (force.across, force.up) == (near(60.0), near(120.0))
    assert {each.judge: each.verdict for each in force.bands}["R-FORCE"] == "missed"
    with pytest.raises(InputError):
        try_pictures(session, "C-RAMP", {"way": "six"})
