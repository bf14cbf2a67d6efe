"""Which pictures an item has, where the design stands on them, and what bands they show."""

from __future__ import annotations

import pytest

from tests.unit.services.pictured import MORE, drawn_session
from tests.unit.services.small import near
from tracker.errors import UnknownKeyError
from tracker.services.actions import add_items, set_values
from tracker.services.pictures.picturing import pictures
from tracker.services.pictures.views import PictureView
from tracker.services.session import Session


@pytest.fixture
def session() -> Session:
    return drawn_session()


def by_key(session: Session, key: str) -> dict[str, PictureView]:
    return {each.figure.key: each for each in pictures(session, key).pictures}


def test_a_check_has_its_curves_and_sketches_and_no_listing(session: Session) -> None:
    view = pictures(session, "C-RAMP")
    keys = [each.figure.key for each in view.pictures]
    assert keys == ["plain", "force", "steps", "spare", "unused", "side"]
    assert view.revision == 3
    assert {each.check for each in view.pictures} == {"C-RAMP"}
    assert view.pictures[0].title == "The ramp"


def test_the_present_point_is_told_in_the_units_of_the_axes(session: Session) -> None:
    """4 cm of way at 2 N/mm: 40 mm and 80 N, kept as 0.08 kN."""
    shown = by_key(session, "C-RAMP")
    assert (shown["force"].across, shown["force"].up) == (near(40.0), near(80.0))
    assert (shown["plain"].across, shown["plain"].up) == (0.5, None)


def test_a_port_that_is_no_number_now_leaves_it_to_the_axis(session: Session) -> None:
    shown = by_key(session, "C-RAMP")
    assert shown["steps"].up == 3.0  # a count is no place on an axis, the figure says so itself
    assert shown["spare"].up is None  # it does not exist
    assert (shown["unused"].across, shown["unused"].up) == (None, None)  # a point; not bound


def test_bands_are_shown_in_the_units_of_the_axes(session: Session) -> None:
    shown = by_key(session, "C-RAMP")
    bands = {(each.judge, each.axis): each for each in shown["force"].bands}
    force, way = bands["R-FORCE", "up"], bands["R-WAY", "across"]
    assert (force.lower, force.upper, force.verdict) == (None, near(100.0), "met")
    assert (way.lower, way.upper, way.verdict) == (near(30.0), None, "met")
    assert bands["C-RAMP.force", "up"].lower == near(10.0)
    assert len(bands) == 3
    assert [each.judge for each in shown["steps"].bands] == ["R-WAY", "R-STEPS"]
    assert not shown["plain"].bands


def test_the_programmes_money_is_named(session: Session) -> None:
    assert by_key(session, "C-RAMP")["plain"].figure.up.unit == "EUR/piece"


def test_what_shows_the_quantity_comes_first(session: Session) -> None:
    for key in ("force", "R-FORCE"):
        assert pictures(session, key).pictures[0].figure.key == "force"
    keys = [each.figure.key for each in pictures(session, "way").pictures]
    assert keys == ["force", "steps", "spare", "plain", "unused", "side"]


def test_a_decision_shows_its_checks_and_an_input_what_takes_it_in(session: Session) -> None:
    assert len(by_key(session, "D-RAMP")) == len(by_key(session, "C-RAMP"))
    add_items(session, MORE, "another ramp")
    assert {each.check for each in pictures(session, "slope").pictures} == {"C-BACK", "C-RAMP"}
    assert {each.check for each in pictures(session, "top").pictures} == {"C-RAMP"}


def test_an_item_without_pictures_says_why(session: Session) -> None:
    assert pictures(session, "G1").why_none == "no check computes it or takes it in"
    assert pictures(session, "alone").why_none == "no check computes it or takes it in"
    assert pictures(session, "D-IDLE").why_none == "draws nothing: C-COPY"
    set_values(session, {"slope": ""}, "not known any more")
    assert pictures(session, "C-RAMP").why_none.startswith("C-RAMP is waiting: slope")
    assert pictures(session, "R-FORCE").pictures == ()


def test_a_band_of_choices_is_not_drawn(session: Session) -> None:
    assert by_key(session, "colour")["plain"].bands == ()


def test_an_unknown_key_is_refused(session: Session) -> None:
    with pytest.raises(UnknownKeyError, match="nothing is called 'nobody'"):
        pictures(session, "nobody")
