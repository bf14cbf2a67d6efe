"""Values in canonical form."""

from __future__ import annotations

import math

import pytest
from hypothesis import given

from tests.property import strategies as some
from tracker.errors import BadValueError
from tracker.model.units import ONE
from tracker.model.values import WHOLE_LIMIT, CellKind, Column, Kind, canonical, freeze

COLUMNS = (
    Column("name", CellKind.TEXT),
    Column("mass", CellKind.REAL, ONE),
    Column("count", CellKind.INTEGER),
    Column("own", CellKind.FLAG),
)


@pytest.mark.parametrize(
    ("value", "kind", "wanted"),
    [
        (2, Kind.REAL, 2.0),
        (-3, Kind.INTEGER, -3),
        (4.0, Kind.INTEGER, 4),
        (WHOLE_LIMIT, Kind.INTEGER, WHOLE_LIMIT),
        (True, Kind.FLAG, True),
        ("b", Kind.CHOICE, "b"),
        ([1, 2.5, -0.0], Kind.POINT, (1.0, 2.5, 0.0)),
        ([["a", 1, 2.0, False]], Kind.TABLE, (("a", 1.0, 2, False),)),
        ((), Kind.TABLE, ()),
    ],
)
def test_a_value_of_its_kind_comes_into_canonical_form(
    value: object, kind: Kind, wanted: object
) -> None:
    found = canonical(value, kind, choices=("a", "b"), columns=COLUMNS)
    assert repr(found) == repr(wanted)


def test_a_negative_zero_loses_its_sign() -> None:
    found = canonical(-0.0, Kind.REAL)
    assert isinstance(found, float)
    assert math.copysign(1.0, found) == 1.0


@pytest.mark.parametrize(
    ("value", "kind", "says"),
    [
        ("2", Kind.REAL, "'2' is not a number"),
        (True, Kind.REAL, "True is not a number"),
        (None, Kind.REAL, "None is not a number"),
        (math.nan, Kind.REAL, "the number is not finite"),
        (-math.inf, Kind.REAL, "the number is not finite"),
        (10**400, Kind.REAL, "the number is not finite"),
        (1.5, Kind.INTEGER, "1.5 is not a whole number"),
        (2**53, Kind.INTEGER, "the whole number is too large"),
        (2**53 + 1, Kind.INTEGER, "the whole number is too large"),
        (-(2**53), Kind.INTEGER, "the whole number is too large"),
        (1, Kind.FLAG, "1 is not yes or no"),
        ("c", Kind.CHOICE, "'c' is not one of its choices"),
        (0, Kind.CHOICE, "0 is not one of its choices"),
        ([1, 2], Kind.POINT, "a point has three numbers"),
        ("123", Kind.POINT, "a point has three numbers"),
        ("rows", Kind.TABLE, "a table is a list of rows"),
        (["row"], Kind.TABLE, "a row needs 4 cells"),
        ([["a", 1]], Kind.TABLE, "a row needs 4 cells"),
        ([[1, 1, 1, True]], Kind.TABLE, "1 is not text"),
        ([["a", "x", 1, True]], Kind.TABLE, "'x' is not a number"),
        ([["a", 1, 1.5, True]], Kind.TABLE, "1.5 is not a whole number"),
        ([["a", 1, 1, 0]], Kind.TABLE, "0 is not yes or no"),
    ],
)
def test_anything_else_is_refused(value: object, kind: Kind, says: str) -> None:
    with pytest.raises(BadValueError) as refused:
        canonical(value, kind, choices=("a", "b"), columns=COLUMNS, item="Q1")
    assert refused.value.message == says
    assert refused.value.item == "Q1"
    assert refused.value.field.startswith("value")


@pytest.mark.parametrize(
    ("value", "kind", "field"),
    [
        ([1, "x", 3], Kind.POINT, "value.y"),
        ([["a", 1, 1, True], ["b", 1, "x", True]], Kind.TABLE, "value row 2 count"),
    ],
)
def test_a_refusal_names_the_component_or_cell(value: object, kind: Kind, field: str) -> None:
    with pytest.raises(BadValueError) as refused:
        canonical(value, kind, columns=COLUMNS, item="Q1")
    assert refused.value.field == field


@pytest.mark.parametrize(
    ("value", "kind", "remedy"),
    [
        ("c", Kind.CHOICE, "Choose one of: a, b"),
        ([1], Kind.POINT, "Write it as [x, y, z]"),
        ([[]], Kind.TABLE, "Columns: name, mass, count, own"),
        (2**60, Kind.INTEGER, "Keep it within ±9007199254740991"),
    ],
)
def test_a_refusal_says_what_to_do(value: object, kind: Kind, remedy: str) -> None:
    with pytest.raises(BadValueError) as refused:
        canonical(value, kind, choices=("a", "b"), columns=COLUMNS)
    assert refused.value.remedy == remedy


@given(some.numbers)
def test_canonical_form_is_kept(number: float) -> None:
    assert repr(canonical(canonical(number, Kind.REAL), Kind.REAL)) == repr(number)


def test_freezing_makes_tuples_and_keeps_the_rest() -> None:
    assert freeze([1, ["a", [True]], None]) == (1, ("a", (True,)), None)


def test_freezing_takes_a_huge_whole_number_for_the_real_it_was() -> None:
    # RFC 8785 (ECMAScript's Number::toString) writes 1e20 as 100000000000000000000
    assert repr(freeze([10**20, WHOLE_LIMIT])) == f"(1e+20, {WHOLE_LIMIT})"
