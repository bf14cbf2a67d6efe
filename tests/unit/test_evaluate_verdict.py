"""Margins by their definition: distance to the nearest bound as a share of the band's scale."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.property.toy_checks import DEG_C, KELVIN, METRE, MM
from tests.unit.small_world import requirement
from tracker.evaluate.verdict import (
    UNJUDGED,
    Band,
    Judgement,
    Verdict,
    band_of,
    judge_number,
    judge_text,
)
from tracker.model.records import Bound
from tracker.model.units import Unit, conversion

MET, TIGHT, MISSED = Verdict.MET, Verdict.TIGHT, Verdict.MISSED


@pytest.mark.parametrize(
    ("value", "band", "wanted"),
    [
        # two-sided: the scale is half the width
        (5.0, Band(0.0, 10.0), Judgement(MET, 1.0, 5.0, "lower")),
        (8.0, Band(0.0, 10.0), Judgement(MET, 0.4, 2.0, "upper")),
        (0.25, Band(0.0, 10.0), Judgement(TIGHT, 0.05, 0.25, "lower")),
        (10.0, Band(0.0, 10.0), Judgement(TIGHT, 0.0, 0.0, "upper")),
        (12.5, Band(0.0, 10.0), Judgement(MISSED, -0.5, -2.5, "upper")),
        (-5.0, Band(0.0, 10.0), Judgement(MISSED, -1.0, -5.0, "lower")),
        # a scale beside two bounds that differ is not needed, and not used
        (2.0, Band(0.0, 10.0, scale=1.0), Judgement(MET, 0.4, 2.0, "lower")),
        # one-sided: the scale is the bound's size
        (250.0, Band(lower=200.0), Judgement(MET, 0.25, 50.0, "lower")),
        (-15.0, Band(upper=-10.0), Judgement(MET, 0.5, 5.0, "upper")),
        (190.0, Band(lower=200.0), Judgement(MISSED, -0.05, -10.0, "lower")),
        # one-sided with a scale of its own
        (3.0, Band(lower=0.0, scale=10.0), Judgement(MET, 0.3, 3.0, "lower")),
        (0.5, Band(lower=0.0, scale=10.0), Judgement(TIGHT, 0.05, 0.5, "lower")),
        # equal bounds
        (4.0, Band(4.0, 4.0, scale=2.0, guard=0.0), Judgement(MET, 0.0, 0.0, "lower")),
        (4.5, Band(4.0, 4.0, scale=2.0), Judgement(MISSED, -0.25, -0.5, "upper")),
        # without any scale there is no margin, and nothing is tight
        (1.0, Band(lower=0.0), Judgement(MET, None, 1.0, "lower")),
        (4.0, Band(4.0, 4.0), Judgement(MET, None, 0.0, "lower")),
        (-1.0, Band(lower=0.0), Judgement(MISSED, None, -1.0, "lower")),
    ],
)
def test_a_number_is_judged_against_its_nearest_bound(
    value: float, band: Band, wanted: Judgement
) -> None:
    assert judge_number(value, band) == wanted


@pytest.mark.parametrize(
    ("guard", "verdict"), [(0.0, MET), (0.2, MET), (0.2000001, TIGHT), (0.9, TIGHT)]
)
def test_a_margin_that_equals_the_guard_is_met(guard: float, verdict: Verdict) -> None:
    assert judge_number(9.0, Band(0.0, 10.0, guard=guard)).verdict is verdict


def test_a_band_without_bounds_judges_no_number() -> None:
    assert judge_number(1.0, Band()) == UNJUDGED


@given(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6), st.floats(-2e6, 2e6))
def test_a_margin_is_negative_outside_and_at_most_one(
    lower: float, upper: float, value: float
) -> None:
    assume(upper - lower > 1e-6)
    judged = judge_number(value, Band(lower, upper))
    assert judged.margin is not None
    assert judged.margin <= 1.0 + 1e-9
    assert (judged.verdict is MISSED) == (value < lower or value > upper)
    assert (judged.margin < 0) == (judged.verdict is MISSED)


def test_texts_are_met_or_missed() -> None:
    band = Band(allowed=("cast", "forged"))
    assert judge_text("cast", band) == Judgement(MET)
    assert judge_text("milled", band) == Judgement(MISSED)


def test_a_requirement_states_its_band() -> None:
    bare = requirement("R", "q", 1.0, 2.0, scale=Bound(value=3.0), guard=0.2)
    assert band_of(bare) == Band(1.0, 2.0, 3.0, 0.2)
    assert band_of(requirement("R", "q", allowed=("yes",))) == Band(allowed=("yes",))


def test_a_footing_keeps_everything_that_is_judged() -> None:
    assert Band(1.0, None, 3.0, 0.2, ("a",)).facts() == (1.0, None, 3.0, 0.2, "a")


@pytest.mark.parametrize(
    ("band", "source", "target", "wanted"),
    [
        (Band(0.5, 2.0, 0.25, 0.2), METRE, MM, Band(500.0, 2000.0, 250.0, 0.2)),
        (Band(lower=1.0), METRE, MM, Band(lower=1000.0)),
        (Band(upper=1.0), METRE, MM, Band(upper=1000.0)),
        # a scale is a difference: it gets no offset (BIPM, SI Brochure, 9th ed., 2.3.1)
        (Band(20.0, 80.0, 5.0), DEG_C, KELVIN, Band(293.15, 353.15, 5.0)),
        (Band(1.0, 2.0), MM, MM, Band(1.0, 2.0)),
    ],
)
def test_a_band_converts(band: Band, source: Unit, target: Unit, wanted: Band) -> None:
    found = band.convert(conversion(source, target))
    for name in ("lower", "upper", "scale"):
        assert getattr(found, name) == pytest.approx(getattr(wanted, name))
    assert found.guard == wanted.guard
