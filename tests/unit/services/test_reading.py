"""Typed text and JSON data into values."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.services.small import UNITS, toy_tools
from tracker.errors import BadUnitError, BadValueError, DimensionError, InputError
from tracker.evaluate.binding import Measure
from tracker.model.units import ONE
from tracker.model.values import CellKind, Column, Kind
from tracker.services.reading import read_port, read_real, read_span, read_value

MM, KG = UNITS.read("mm"), UNITS.read("kg")
TABLE = Measure(
    Kind.TABLE,
    columns=(
        Column("part", CellKind.TEXT),
        Column("mass", CellKind.REAL, KG),
        Column("count", CellKind.INTEGER),
        Column("spare", CellKind.FLAG),
    ),
)


def read(raw: object, measure: Measure) -> tuple[Any, str]:
    return read_value(raw, measure, UNITS, item="it")


@pytest.mark.parametrize(
    ("raw", "measure", "value", "typed"),
    [
        ("12.5", Measure(Kind.REAL, MM), 12.5, "12.5"),
        (" 1.25 cm ", Measure(Kind.REAL, MM), 12.5, "1.25 cm"),
        (12.5, Measure(Kind.REAL, MM), 12.5, ""),
        (-0.0, Measure(Kind.REAL, MM), 0.0, ""),
        ("20 degC", Measure(Kind.REAL, UNITS.read("K")), 293.15, "20 degC"),
        ("7", Measure(Kind.INTEGER), 7, "7"),
        (7.0, Measure(Kind.INTEGER), 7, ""),
        ("left", Measure(Kind.CHOICE, choices=("left", "right")), "left", "left"),
        (" Yes ", Measure(Kind.FLAG), True, "Yes"),
        ("false", Measure(Kind.FLAG), False, "false"),
        (True, Measure(Kind.FLAG), True, ""),
        ("[1, 2, 3] cm", Measure(Kind.POINT, MM), (10.0, 20.0, 30.0), "[1, 2, 3] cm"),
        ([1, 2.5, 3], Measure(Kind.POINT, MM), (1.0, 2.5, 3.0), ""),
    ],
)
def test_values_are_read_in_the_items_unit(
    raw: object, measure: Measure, value: object, typed: str
) -> None:
    got = read(raw, measure)
    assert got == (value, typed)
    assert type(got[0]) is type(value)


@pytest.mark.parametrize(
    ("raw", "measure", "error"),
    [
        ("12 kg", Measure(Kind.REAL, MM), DimensionError),
        ("12 furrlongs", Measure(Kind.REAL, MM), BadUnitError),
        ("", Measure(Kind.REAL, MM), BadValueError),
        ("twelve", Measure(Kind.REAL, MM), BadValueError),
        ("nan", Measure(Kind.REAL, MM), BadValueError),
        (float("inf"), Measure(Kind.REAL, MM), BadValueError),
        (None, Measure(Kind.REAL, MM), BadValueError),
        (True, Measure(Kind.REAL, MM), BadValueError),
        ("[1, 2, 3]", Measure(Kind.REAL, MM), BadValueError),
        ("1.5", Measure(Kind.INTEGER), BadValueError),
        ("up", Measure(Kind.CHOICE, choices=("left",)), BadValueError),
        (1, Measure(Kind.FLAG), BadValueError),
        ("maybe", Measure(Kind.FLAG), BadValueError),
        ("12", Measure(Kind.POINT, MM), BadValueError),
        ([1, 2], Measure(Kind.POINT, MM), BadValueError),
        ("a,b", TABLE, BadValueError),
        ({"part": "arm"}, TABLE, BadValueError),
        ([5], TABLE, BadValueError),
        ([["arm", 1.0, 2]], TABLE, BadValueError),
        ([["arm", 1.0, 2.5, False]], TABLE, BadValueError),
    ],
)
def test_what_is_no_such_value_is_refused_by_name(
    raw: object, measure: Measure, error: type[InputError]
) -> None:
    with pytest.raises(error) as caught:
        read(raw, measure)
    assert caught.value.item == "it"
    assert caught.value.field.startswith("value")


def test_rows_are_lists_or_objects_with_units_in_their_cells() -> None:
    rows = [
        ["arm", "500 lb", "2", "yes"],
        {"part": "stop", "spare": False, "count": 4, "mass": "2e-4 t"},
    ]
    value, typed = read(rows, TABLE)
    # NIST SP 811, appendix B.8: 1 lb = 0.453 592 37 kg.
    assert value == (("arm", pytest.approx(226.796185), 2, True), ("stop", 0.2, 4, False))
    assert typed == ""


def test_every_wrong_column_of_a_row_is_named() -> None:
    with pytest.raises(BadValueError) as caught:
        read([{"part": "arm", "weight": 1, "mass": 2, "spare": True}], TABLE)
    said = str(caught.value)
    assert "row 1" in said
    assert "no column 'weight'" in said
    assert "'count' is missing" in said
    assert "part, mass, count, spare" in said


def test_a_wrong_cell_is_named_by_row_and_column() -> None:
    with pytest.raises(DimensionError) as caught:
        read([["arm", 1, 1, True], ["stop", "3 mm", 1, True]], TABLE)
    assert caught.value.field == "value row 2 mass"


def test_a_real_gives_number_and_text() -> None:
    assert read_real("2 cm", MM, UNITS, item="it", field="low") == (20.0, "2 cm")


@pytest.mark.parametrize(
    ("raw", "unit", "span"),
    [
        ("2 K", "degC", 2.0),
        ("2 degC", "K", 2.0),
        ("0.5", "degC", 0.5),
        (0.5, "degC", 0.5),
        ("1 cm", "mm", 10.0),
    ],
)
def test_a_span_has_no_offset(raw: object, unit: str, span: float) -> None:
    got = read_span(raw, UNITS.read(unit), UNITS, item="it", field="tolerance")
    assert got == pytest.approx(span)


@pytest.mark.parametrize(
    ("raw", "error"),
    [("[1, 2, 3]", BadValueError), ("2 kg", DimensionError), (None, BadValueError)],
)
def test_a_span_of_another_kind_is_refused(raw: object, error: type[InputError]) -> None:
    with pytest.raises(error) as caught:
        read_span(raw, MM, UNITS, item="it", field="tolerance")
    assert (caught.value.item, caught.value.field) == ("it", "tolerance")


def test_a_port_takes_its_own_units_choices_and_column_defaults() -> None:
    loaded = toy_tools().catalogue.load("parts-list", {}, "EUR")
    rows = [{"part": "arm", "mass": "1e-3 t"}]
    value, _ = read_port(rows, loaded, loaded.inputs["parts"], UNITS, item="case 1")
    assert value == (("arm", 1.0, 1, False),)
    value, typed = read_port("[1, 0, 0] cm", loaded, loaded.inputs["at"], UNITS, item="case 1")
    assert (value, typed) == ((10.0, 0.0, 0.0), "[1, 0, 0] cm")
    with pytest.raises(BadValueError) as caught:
        read_port("up", loaded, loaded.inputs["side"], UNITS, item="case 1")
    assert (caught.value.item, caught.value.field) == ("case 1", "side")


def test_a_pure_number_takes_no_unit() -> None:
    with pytest.raises(DimensionError):
        read("3 mm", Measure(Kind.REAL, ONE))
