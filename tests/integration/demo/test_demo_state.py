"""What the demo programme holds and how it stands: the opening screen, and the README's trial."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest

from tracker.model.records import (
    BasisKind,
    Decision,
    Deviation,
    Quantity,
    Requirement,
    Setting,
    Verification,
)
from tracker.services.actions import lean, reopen, review, try_values
from tracker.services.gates.deviating import Deviations
from tracker.services.item import item_page
from tracker.services.overview import overview
from tracker.services.session import Session
from tracker.services.views import DecisionLine

NAMES = {"Ada", "Bram", "Ilse", "Niko", "Tove"}

# Choices that another engineer might make otherwise: no band rules the rejected option out.
JUDGEMENT = {("D-KNUCKLE", "medium"), ("D-SPRING", "r125")}


def decision(session: Session, key: str) -> DecisionLine:
    return next(each for each in overview(session).decisions if each.key == key)


def value(session: Session, key: str) -> object:
    return item_page(session, key).value


def settings(session: Session) -> list[Setting]:
    given = [each.given for each in session.programme.of(Quantity) if each.given]
    stated = [
        setting
        for each in session.programme.of(Decision)
        for option in each.options
        for setting in option.settings.values()
    ]
    return given + stated


def test_it_is_large_enough_to_be_worth_looking_at(demo: Session) -> None:
    view = overview(demo)
    assert len(view.requirements) >= 25
    assert len(view.decisions) >= 15
    assert view.quantities >= 100
    assert len(view.checks) >= 12
    assert len(view.gates) == 4
    assert view.revision >= 50


def test_every_check_runs(demo: Session) -> None:
    used = overview(demo).checks
    assert {each.state for each in used} == {"current"}
    by_plugin = Counter(each.check for each in used)
    assert by_plugin["steering-sense"] >= 2
    assert by_plugin["tooling-budget"] >= 2


@pytest.mark.parametrize("trim", ["kerb", "laden"])
def test_the_corner_is_drawn_with_its_disc_where_it_stands(demo: Session, trim: str) -> None:
    views = {each.title: each for each in item_page(demo, f"C-AXIS-{trim.upper()}").figures}
    drawn = {
        each.title: each for each in views["Left corner from the side, forward to the right"].series
    }
    disc = drawn["Disc"]
    assert max(disc.x) - min(disc.x) == pytest.approx(value(demo, "disc_diameter"), rel=0.01)
    centre: Any = value(demo, "wheel_centre")
    middle = centre[2] + value(demo, f"trim_{trim}")
    assert (max(disc.y) + min(disc.y)) / 2 == pytest.approx(middle, abs=0.4)  # 21 mm, leant 1°


def test_every_item_says_who_answers_for_it_and_at_which_gate(demo: Session) -> None:
    requirements = list(demo.programme.of(Requirement))
    owned: list[Requirement | Decision] = [*requirements, *demo.programme.of(Decision)]
    for each in owned:
        assert each.owner in NAMES, each.key
        assert each.gate, each.key
    methods = {each.verification for each in requirements}
    assert methods == set(Verification)


def test_every_value_names_its_source_and_its_date(demo: Session) -> None:
    stated = settings(demo)
    # a changed bound has none; a value that a change set without a basis would be a bare guess
    assert all(each.basis.source and each.basis.dated for each in stated if each.value is not None)
    assert {each.basis.kind for each in stated} == set(BasisKind)


def test_decisions_have_alternatives_and_reasons(demo: Session) -> None:
    for each in demo.programme.of(Decision):
        assert 2 <= len(each.options) <= 4, each.key
        reasons = [each.rationale, *each.against.values()] if each.rationale else []
        assert all(len(reason) > 40 for reason in reasons), each.key


def pack_deviations(session: Session) -> dict[str, str]:
    deviations = Deviations(session)
    return {each.key: deviations.state(each) for each in session.programme.of(Deviation)}


def test_the_opening_screen_has_something_of_everything(demo: Session) -> None:
    view = overview(demo)
    standings = Counter(each.standing for each in view.decisions)
    assert standings["stands"] > standings["strained"] >= 2
    assert standings["broken"] == 1
    assert standings["unproven"] >= 1
    assert {each.state for each in view.decisions} == {"open", "leaning", "settled", "withdrawn"}
    verdicts = Counter(each.finding.verdict for each in view.requirements)
    assert verdicts["missed"] == 1
    assert pack_deviations(demo) == {"DEV-TURN": "valid"}
    assert verdicts["met"] > verdicts["tight"] >= 3


@pytest.mark.parametrize("gate", ["G3", "G4"])
def test_something_is_due_at_either_gate_to_come(demo: Session, gate: str) -> None:
    line = next(each for each in overview(demo).gates if each.key == gate)
    assert 0 < line.pending < line.due


def test_a_decision_whose_ground_moved_says_so_and_still_stands(own_demo: Session) -> None:
    shifted = [each.key for each in overview(own_demo).decisions if each.shifted]
    assert shifted == ["D-KNUCKLE"]
    assert decision(own_demo, "D-KNUCKLE").standing == "stands"
    moved = {each.what.partition("[")[0] for each in item_page(own_demo, "D-KNUCKLE").shifts}
    assert {"knuckle_one_offs", "lower_front_outer", "tie_rod_outer"} <= moved
    review(own_demo, "D-KNUCKLE", "Dearer gauges and two links: mass, tools and force still hold")
    assert not decision(own_demo, "D-KNUCKLE").shifted


def test_a_decision_that_waits_for_the_rig_is_unproven(demo: Session) -> None:
    line = decision(demo, "D-BEARING")
    assert line.standing == "unproven"
    assert "rig" in line.why


def test_the_gear_turned_over_steers_the_right_way(demo: Session) -> None:
    assert value(demo, "steering_sense") == 1
    assert value(demo, "pinion_on_driver_side") is True
    assert decision(demo, "D-GEAR").chosen == "b"


def test_the_gear_as_offered_steers_the_wrong_way(own_demo: Session) -> None:
    assert value(own_demo, "fallback_sense") == -1
    assert decision(own_demo, "D-FALLBACK").standing == "broken"
    reopen(own_demo, "D-GEAR", "what if")
    ripple = lean(own_demo, "D-GEAR", "a").ripple
    assert ripple is not None
    assert "D-GEAR" in ripple.broken
    assert value(own_demo, "steering_sense") == -1


def test_a_reason_against_an_option_is_borne_out(demo: Session) -> None:
    for record in demo.programme.of(Decision):
        page = item_page(demo, record.key)
        for option in page.options:
            if option.against and not option.chosen and (record.key, option.key) not in JUDGEMENT:
                assert option.standing == "broken", (record.key, option.key)


def test_raising_the_volume_breaks_two_decisions_and_strains_a_third(demo: Session) -> None:
    """`whybone try VOL.lower=5200`: one frame fixture and one die no longer last."""
    head = demo.store.head()
    ripple = try_values(demo, {"VOL.lower": "5200"})
    assert set(ripple.broken) == {"D-SUBFRAME", "D-UPPER-ARM"}
    assert ripple.strained == ("D-REAR-ARM",)
    assert ripple.unproven == ()
    assert set(ripple.look) >= {"D-SUBFRAME", "D-UPPER-ARM", "D-REAR-ARM"}
    assert 0 < ripple.ran < ripple.checks_total
    after = {each.judge: each.after.value for each in ripple.findings if each.after}
    # 31,200 vehicles: ⌈31 200 / 30 000⌉ fixtures, ⌈62 400 / 60 000⌉ dies, by hand
    assert after["TOOL-SUBFRAME"] == 2 * 92_000
    assert after["TOOL-UPPER"] == 2 * 128_000
    assert after["COST-REAR-ARM"] == pytest.approx(2 * 58 + 4 * 64_000 / 31_200)
    assert demo.store.head() == head == demo.head
    assert decision(demo, "D-SUBFRAME").standing == "stands"
