"""Reading unit texts: against the SI, against a general unit library, and against hostile text."""

from __future__ import annotations

import subprocess
import sys

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracker.errors import BadUnitError
from tracker.exchange.common_units import COMMON, MONEY_TAILS, look_up
from tracker.exchange.currencies import CURRENCIES
from tracker.exchange.unit_definitions import SYMBOLS
from tracker.exchange.unit_text import MAX_LENGTH
from tracker.exchange.units import PintUnits
from tracker.model.units import NO_CURRENCY, ONE, Unit, conversion


@pytest.fixture(scope="module")
def units() -> PintUnits:
    reader = PintUnits()
    reader.read("mm/h")  # the library is loaded here, not in a timed test
    return reader


@pytest.fixture(scope="module")
def reference() -> pint.UnitRegistry[float]:
    """The unit library with its own definitions: a general reference."""
    return pint.UnitRegistry()


def convert(units: PintUnits, value: float, source: str, target: str) -> float:
    change = conversion(units.read(source), units.read(target))
    return value if change is None else change(value)


# Exact or rounded factors of NIST SP 811, appendix B (recalled), and of the SI brochure.
FACTORS = [
    (1, "in", 25.4, "mm"),
    (1, "ft", 304.8, "mm"),
    (1, "mile", 1.609344, "km"),
    (1, "lb", 0.45359237, "kg"),
    (1, "lbf", 4.448221615, "N"),
    (1, "kgf", 9.80665, "N"),
    (1, "psi", 6894.757, "Pa"),
    (1, "bar", 0.1, "MPa"),
    (1, "g", 9.80665, "m/s²"),
    (1, "kWh", 3.6, "MJ"),
    (1, "L", 1000, "cm^3"),
    (36, "km/h", 10, "m/s"),
    (60, "rpm", 1, "rev/s"),
    (180, "deg", 3.141592653589793, "rad"),
    (1, "rev", 360, "°"),
    (60, "arcmin", 1, "deg"),
    (50, "mm/rev", 50 / 360, "mm/deg"),
    (1, "N/mm", 1, "kN/m"),
    (1, "kNm", 1000, "N·m"),
    (1, "kN/rad", 1000 / 57.29577951308232, "N/deg"),
    (1, "deg/g", 0.1019716213, "deg*s^2/m"),
    (1, "g/(100 deg)", 0.01, "g/deg"),
    (50, "%", 0.5, "1"),
    (1, "year", 365.25, "day"),
    (12, "month", 1, "year"),
    (1, "USD/kg", 1e3, "USD/t"),
    (1, "V", 1, "W/A"),
    (2, "Hz", 2, "1/s"),
]


@pytest.mark.parametrize(("value", "source", "wanted", "target"), FACTORS)
def test_published_factor(
    units: PintUnits, value: float, source: str, wanted: float, target: str
) -> None:
    assert convert(units, value, source, target) == pytest.approx(wanted, rel=2e-7)


@pytest.mark.parametrize(
    ("value", "source", "wanted", "target"),
    [
        (0, "degC", 273.15, "K"),
        (32, "degF", 0, "°C"),
        (212, "°F", 100, "degC"),
        (-40, "degF", -40, "degC"),
    ],
)
def test_temperatures_have_offsets(
    units: PintUnits, value: float, source: str, wanted: float, target: str
) -> None:
    """Fixed points of the Celsius and Fahrenheit scales."""
    assert convert(units, value, source, target) == pytest.approx(wanted, abs=1e-12)


def test_temperatures_in_a_compound_are_differences(units: PintUnits) -> None:
    per_degree = units.read("N/degC")
    assert per_degree.offset == 0.0
    assert conversion(per_degree, units.read("N/K")) is None
    assert conversion(units.read("mm/(degF)"), units.read("mm/K")) is not None


# Names the general library spells or means otherwise, and ours that it lacks.
_OTHERWISE = {"g": "standard_gravity", "rev": "revolution"}
_LACKING = {
    *("vehicle", "vehicles", "piece", "pieces", "pcs", "part", "parts"),
    *("tooth", "teeth", "cycle", "cycles", "Nm", "Nmm", "kNm", "mbar"),
    *CURRENCIES,
}


@pytest.mark.parametrize("symbol", sorted(SYMBOLS - _LACKING))
def test_every_symbol_means_what_the_general_library_says(
    units: PintUnits, reference: pint.UnitRegistry[float], symbol: str
) -> None:
    unit = units.read(symbol)
    theirs = _OTHERWISE.get(symbol, symbol)
    at_one = reference.Quantity(1.0, theirs).to_base_units()
    ours = unit.scale + unit.offset
    assert at_one.magnitude == pytest.approx(ours, rel=1e-12)


@pytest.mark.parametrize("text", [text for text in COMMON if text])
def test_common_unit_equals_the_full_reader(units: PintUnits, text: str) -> None:
    assert COMMON[text] == units._work_out(text)


@pytest.mark.parametrize("tail", MONEY_TAILS)
def test_common_money_equals_the_full_reader(units: PintUnits, tail: str) -> None:
    assert look_up(f"EUR{tail}") == units._work_out(f"EUR{tail}")


def test_every_currency_is_a_dimension_of_its_own(units: PintUnits) -> None:
    found = {code: units.read(code) for code in CURRENCIES}
    assert all(unit.money == code for code, unit in found.items())
    assert len({unit.dimension for unit in found.values()}) == len(CURRENCIES)
    assert NO_CURRENCY in CURRENCIES
    assert units.read("USD/vehicle").money == "USD"
    assert units.read("USD/kg").money == ""


def test_text_is_kept_as_typed_and_empty_is_a_pure_number(units: PintUnits) -> None:
    assert units.read("  N·m² ").text == "N·m²"
    assert units.read(" ") is ONE


@pytest.mark.parametrize(
    "texts",
    [
        ("N*m", "N·m", "N×m", "N⋅m", "N m", "Nm", "m*N"),
        ("m/s^2", "m/s²", "m/s**2", "m*s^-2", "m·s⁻²", "m/s/s", "m / (s s)"),
        ("um", "µm", "μm"),
        ("1/s", "s^-1", "s⁻¹", "Hz"),
        ("deg/m", "°/m", "1/(m/deg)"),
        ("m^0.5", "m**0.5", "m/m^0.5", "m^1.5/m"),
    ],
)
def test_spellings_of_one_unit_agree_to_the_bit(units: PintUnits, texts: tuple[str, ...]) -> None:
    first, *others = (units.read(text) for text in texts)
    for other in others:
        assert (other.dimension, other.scale) == (first.dimension, first.scale)


BAD = [
    ("mm//s", "'/' has nothing before it"),
    ("mm/", "not complete"),
    ("(mm", "not complete"),
    ("mm)", "closes nothing"),
    ("()", "closes nothing"),
    ("*mm", "'*' has nothing before it"),
    ("mm(s)", "a sign is missing"),
    ("m2", "a number belongs into brackets"),
    ("10 mm", "a number belongs into brackets"),
    ("5", "a number belongs into brackets"),
    ("1 mm", "a sign is missing"),
    ("mm 3", "a number belongs into brackets"),
    ("(0 mm)", "'0' is not expected"),
    ("(1.5 mm)", "is not expected"),
    ("(1000000 mm)", "is not expected"),
    ("m^10", "'^' is not expected"),
    ("m^2^3", "'^' is not expected"),
    ("m^0", "'^' is not expected"),
    ("m²³", "'²' is not expected"),
    ("(m)^2", "'^' is not expected"),
    ("mm;", "';' is not expected"),
    ("m\u202e", r"'\\u202e' is not expected"),
    ("m\x1b[31m", r"'\\x1b' is not expected"),
    ("m\ns", r"'\\n' is not expected"),
    ("__import__", "'_' is not expected"),
    ("mg", "'mg' is not a known unit"),
    ("kmm", "'kmm' is not a known unit"),
    ("nan", "not a known unit"),
    ("pi", "not a known unit"),
    ("money", "not a known unit"),
    ("delta_degC", "not a known unit"),
    ("usd", "Did you mean USD?"),
    ("mpa", "Did you mean MPa?"),
    ("km^9" + " km^9" * 11, "out of the range of numbers"),
    ("mm^9" + " mm^9" * 11, "out of the range of numbers"),
]


@pytest.mark.parametrize(("text", "words"), BAD)
def test_bad_text_is_refused_with_its_reason(units: PintUnits, text: str, words: str) -> None:
    with pytest.raises(BadUnitError) as caught:
        units.read(text)
    assert words.replace(r"\\", "\\") in str(caught.value)
    assert caught.value.remedy


def test_gravity_and_mass_are_explained(units: PintUnits) -> None:
    with pytest.raises(BadUnitError, match="g is standard gravity, mass is kg or gram"):
        units.read("mg")


HOSTILE = [
    "m" * 10_000_000,
    "(" * 10_000_000,
    "((((((((((((((((((((m))))))))))))))))))))" * 3,
    "10**10**10",
    "m**999999999",
    "9" * MAX_LENGTH,
    "m^9" + "*m^9" * 14,
    "().__class__.__bases__[0]",
    "[angle]",
    "m*" * 31 + "m",
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_answered_shortly(units: PintUnits, text: str) -> None:
    said = ""
    try:
        units.read(text)
    except BadUnitError as error:
        said = str(error)
    assert len(said) < 400


@settings(deadline=None)  # the machine may be busy
@given(text=st.text(alphabet="mNsdegk°²⁻^*/() 1029.%µ·-", max_size=MAX_LENGTH))
def test_any_text_is_a_unit_or_a_bad_unit(units: PintUnits, text: str) -> None:
    try:
        unit = units.read(text)
    except BadUnitError:
        return
    assert isinstance(unit, Unit)
    assert unit.scale > 0
    assert unit.dimension == tuple(sorted(unit.dimension))


def test_remembered_texts_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tracker.exchange.units._REMEMBERED", 1)
    reader = PintUnits()
    assert reader.read("mm/h") is reader.read("mm/h")
    assert reader.read("mm/day") == reader.read("mm/day")
    assert len(reader._known) == 1


def test_common_units_load_no_unit_library() -> None:
    code = (
        "import sys; from tracker.exchange.units import PintUnits; units = PintUnits();"
        "[units.read(text) for text in ('mm', 'deg/g', 'USD/vehicle', 'week', '')];"
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
