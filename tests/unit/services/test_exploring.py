"""Headroom, drivers and spread of the small programme, against numbers worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.unit.services.small import near
from tracker.errors import BadKeyError, BadValueError, InputError, UnknownKeyError
from tracker.explore.drivers import Swing
from tracker.explore.drivers import drivers as find_drivers
from tracker.model.records import Requirement
from tracker.model.units import ONE
from tracker.services.actions import try_values
from tracker.services.explore_views import HeadroomView
from tracker.services.exploring import Plan, _driver, drivers, headroom, spread
from tracker.services.session import Session
from tracker.services.wording import CAUTION


def test_how_far_the_load_may_rise(settled: Session) -> None:
    """16 N·m on an arm of 120 mm allow 133.3 N; the range of the load begins at 50 N."""
    view = headroom(settled, "load")
    each = view.intervals[0]
    assert (each.key, each.value, each.unit, each.text) == ("load", 100.0, "N", "100")
    assert (each.low, each.low_text, each.breaks_low) == (50.0, "50", ())
    assert each.high == near(16 / 0.12)
    assert (each.breaks_high, each.because_high) == (("D-ARM",), ("R-TORQUE",))
    assert not each.certified
    assert each.resolution == pytest.approx(150 / 128)
    assert (view.caution, view.revision) == (CAUTION, settled.head.revision)
    assert view.standing == ("D-ARM", "D-MASS")
    stretch = each.decisions[0]
    assert (stretch.key, stretch.breaks_low, stretch.breaks_high) == ("D-ARM", False, True)


def test_the_ends_are_what_a_trial_finds(settled: Session) -> None:
    high = headroom(settled, "load").intervals[0].high
    assert high is not None
    assert try_values(settled, {"load": high}).broken == ()
    assert try_values(settled, {"load": high * (1 + 1e-12)}).broken == ("D-ARM",)


def test_bounds_components_choices_and_flags(settled: Session) -> None:
    bound = headroom(settled, "R-TORQUE.upper").intervals[0]
    assert (bound.key, bound.low, bound.certified) == ("R-TORQUE.upper", near(12.0), True)
    assert (bound.high, bound.high_text) == (None, "any")
    assert [each.key for each in headroom(settled, "hub").intervals] == ["hub.x", "hub.y", "hub.z"]
    assert headroom(settled, "side").intervals[0].kept == ("left", "right")
    cell = headroom(settled, "parts[arm].mass").intervals[0]
    assert (cell.high, cell.because_high) == (near(2.0), ("C-MASS.slack",))


def test_everything_at_once(settled: Session) -> None:
    keys = [each.key for each in headroom(settled, points=16).intervals]
    assert keys[0] == "load"
    assert {"R-TORQUE.upper", "R-HUB.lower", "R-HUB.upper", "R-MASS.upper"} <= set(keys)


@pytest.mark.parametrize(
    ("key", "error", "words"),
    [
        ("nobody", UnknownKeyError, "nothing is called"),
        ("torque", InputError, "computed by check C-LEVER"),
        ("D-ARM/long.arm", BadKeyError, "moves as the quantity itself"),
        ("tread", InputError, "no value now"),
        ("load.q", InputError, "no part"),
        ("D-ARM", BadValueError, "holds no value"),
    ],
)
def test_what_cannot_be_asked(
    settled: Session, key: str, error: type[InputError], words: str
) -> None:
    with pytest.raises(error, match=words):
        headroom(settled, key)


def test_nothing_is_stored(settled: Session) -> None:
    before = settled.head
    assert isinstance(headroom(settled), HeadroomView)
    spread(settled, Plan(half_width=0.5, owner_samples=64))
    assert settled.store.head() == settled.head == before


def test_what_drives_the_torque(settled: Session) -> None:
    """M = F r: 0.12 N·m a newton, 0.1 N·m a millimetre; ±5 N makes 0.6 N·m."""
    view = drivers(settled, "R-TORQUE")
    assert (view.requirement, view.subject, view.text, view.unit) == (
        "R-TORQUE",
        "torque",
        "12",
        "N*m",
    )
    found = {each.key: each for each in view.drivers}
    assert found["load"].slope == near(0.12)
    assert (found["load"].slope_unit, found["load"].by) == ("N*m per N", "tolerance")
    assert found["load"].effect == near(0.6)
    assert found["load"].words == (
        "+5 N (tolerance) raises torque by 0.6 N*m, 3.8 % of the band's scale"
    )
    assert found["arm"].slope == near(0.1)
    assert found["arm"].by == "1 % of its size"
    assert view.drivers[0].key == "load"


def test_drivers_of_what_is_no_requirement(settled: Session) -> None:
    with pytest.raises(InputError):
        drivers(settled, "load")


def test_how_likely_the_arm_is_to_hold(settled: Session) -> None:
    """±5 N normal is u = 2.5 N; 16 N·m are (133.3 − 100)/2.5 = 13 standard deviations away."""
    view = spread(settled, Plan(half_width=0.01, owner_samples=256))
    chance = next(each for each in view.decisions if each.key == "D-ARM")
    assert (chance.p_stands, chance.standing, chance.n) == (1.0, "stands", view.n)
    torque = next(each for each in view.quantities if each.judge == "R-TORQUE")
    assert torque.deviation == pytest.approx(0.12 * 2.5, rel=0.01)
    assert torque.mean == pytest.approx(12.0, abs=0.01)
    assert (torque.subject, torque.required, torque.missed) == ("torque", "at most 16 N*m", 0.0)
    assert sum(torque.counts) == view.n
    assert [each.key for each in torque.owners] == ["load"]
    assert view.scatter[0].meaning == "± is 2 standard deviations and covers 95.45 %"
    assert (view.reached, view.idle) == (True, ())


def test_a_value_without_a_slope_says_so(settled: Session) -> None:
    """An angle that may only be what it is: the lever has no answer beside it."""
    found = find_drivers(settled.engine, settled.programme.named("R-TORQUE", Requirement).id)[0]
    lonely = replace(found, slope=math.nan, doubt=math.nan, effect=math.nan)
    view = _driver(settled, lonely, "torque", ONE)
    assert (view.slope, view.doubt, view.effect, view.share) == (None, None, None, None)
    assert view.words == "torque has no slope here"
    assert view.slope_text == ""
    unranked = replace(found, slope=-387.654, swing=None, effect=None, by=Swing.NOTHING)
    view = _driver(settled, unranked, "torque", ONE)
    assert view.words == "more of it lowers torque; not ranked: it has neither tolerance nor range"
    assert (view.slope_text, view.effect) == ("−387.7", None)
    large = replace(found, slope=0.5, effect=2.5, share=3.87654)
    assert _driver(settled, large, "torque", ONE).words == (
        "+5 N (tolerance) raises torque by 2.5, 390 % of the band's scale"
    )
    level = _driver(settled, replace(found, slope=0.0), "torque", ONE)
    assert level.words == "torque does not feel a small change of it"
