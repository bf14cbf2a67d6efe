"""Conversions between units."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.property.toy_checks import DEG_C, EUR, KELVIN, METRE, MM, USD
from tracker.errors import DimensionError
from tracker.model.units import ONE, Unit, conversion

TURN = Unit("rev", (("angle", Fraction(1)),), 6.283185307179586)
LEAD = Unit("mm/rev", (("angle", Fraction(-1)), ("length", Fraction(1))), 0.001 / TURN.scale)
DEG_F = Unit("°F", DEG_C.dimension, 5 / 9, 459.67 * 5 / 9)


def test_the_same_unit_needs_no_conversion() -> None:
    assert conversion(MM, MM) is None
    assert conversion(MM, Unit("0.001 m", MM.dimension, 0.001)) is None


def test_lengths_convert() -> None:
    to_mm = conversion(METRE, MM)
    assert to_mm is not None
    assert to_mm(1.25) == pytest.approx(1250.0, rel=1e-15)
    assert to_mm.span(0.5) == pytest.approx(500.0, rel=1e-15)


@pytest.mark.parametrize(
    ("source", "target", "value", "wanted"),
    [
        # BIPM, SI Brochure, 9th ed., 2.3.1: t/°C = T/K − 273.15
        (DEG_C, KELVIN, 20.0, 293.15),
        (KELVIN, DEG_C, 0.0, -273.15),
        # NIST SP 811, B.8: t/°C = (t/°F − 32)/1.8
        (DEG_F, DEG_C, 212.0, 100.0),
        (DEG_C, DEG_F, -40.0, -40.0),
    ],
)
def test_temperatures_convert_with_their_offset(
    source: Unit, target: Unit, value: float, wanted: float
) -> None:
    convert = conversion(source, target)
    assert convert is not None
    assert convert(value) == pytest.approx(wanted, abs=1e-9)


def test_a_temperature_difference_has_no_offset() -> None:
    to_kelvin = conversion(DEG_C, KELVIN)
    assert to_kelvin is not None
    assert to_kelvin.span(5.0) == 5.0


@pytest.mark.parametrize(
    ("source", "target"), [(EUR, USD), (LEAD, MM), (MM, ONE), (ONE, TURN), (KELVIN, MM)]
)
def test_what_measures_something_else_is_refused(source: Unit, target: Unit) -> None:
    with pytest.raises(DimensionError) as refused:
        conversion(source, target, item="C1", field="width")
    error = refused.value
    assert (error.item, error.field) == ("C1", "width")
    assert source.describe() in error.message
    assert target.describe() in error.remedy


@pytest.mark.parametrize(
    ("unit", "code"),
    [
        (EUR, "EUR"),
        (MM, ""),
        (ONE, ""),
        (Unit("EUR²", (("money:EUR", Fraction(2)),)), ""),
        (Unit("EUR/m", (("length", Fraction(-1)), ("money:EUR", Fraction(1)))), ""),
    ],
)
def test_only_plain_money_has_a_currency(unit: Unit, code: str) -> None:
    assert unit.money == code


def test_a_unit_describes_itself() -> None:
    assert (MM.describe(), ONE.describe()) == ("mm", "a pure number")
