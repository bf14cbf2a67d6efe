"""Drivers: slopes against derivatives worked out by hand, and how they are ranked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from tests.property.toy_checks import DEG_C, KELVIN, METRE, MM, Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.contract.check import Array, Config, Inputs, Outputs, Problem
from tracker.errors import BadValueError, CancelledError
from tracker.evaluate.engine import Engine
from tracker.explore.drivers import Driver, Swing, drivers
from tracker.model.parts import Range, Tolerance
from tracker.model.values import CellKind, Column, Kind

WIDE = Tolerance(half_width=1.0)


@dataclass
class Knowing(Toy):
    """y = a² b and p ↦ p.x · p.y; knows its derivatives by a, and of the point's."""

    def derivatives(self, inputs: Inputs, config: Config) -> Mapping[tuple[str, str], Array]:
        a, b, p = inputs["a"], inputs["b"], inputs["p"]
        return {
            ("y", "a"): 2 * a * b,
            ("z", "p.x"): p[:, 1],
            ("z", "p.y"): p[:, 0],
            ("unbound", "a"): a,
            ("y", "unfed"): a,
        }


def knowing() -> Engine:
    toy = Knowing(
        "k",
        (port("a", unit="m"), port("b"), port("p", Kind.POINT)),
        (port("y", unit="m"), port("z")),
        lambda a, b, p: {"y": a * a * b, "z": p[:, 0] * p[:, 1]},
    )
    return engine_of(
        decision("D"),
        quantity("a", 3000.0, unit=MM, tolerance=Tolerance(half_width=10.0)),
        quantity("b", 0.5, low=0.0, high=1.0),
        quantity("p", (2.0, 5.0, 7.0), Kind.POINT),
        quantity("y", unit=MM),
        quantity("z"),
        requirement("Y", "y", 0.0, 9000.0),
        requirement("Z", "z", upper=20.0),
        use("C", "k", {"a": "a", "b": "b", "p": "p"}, {"y": "y", "z": "z"}),
        shelf=Shelf({"k": toy}),
    )


def by_name(found: list[Driver]) -> dict[str, Driver]:
    return {f"{each.source.id}{each.source.part}": each for each in found}


def test_slopes_are_in_the_units_of_the_quantities() -> None:
    found = by_name(drivers(knowing(), "Y"))
    a, b = found["a"], found["b"]
    assert a.slope == pytest.approx(2 * 3.0 * 0.5)  # dimensionless: mm per mm
    assert (a.analytic, a.doubt) == (True, 0.0)
    assert b.slope == pytest.approx(9000.0, rel=1e-9)  # mm of y per unit of b
    assert not b.analytic
    assert abs(b.slope - 9000.0) <= b.doubt < 1e-3


def test_swings_and_shares() -> None:
    a, b = (by_name(drivers(knowing(), "Y"))[key] for key in "ab")
    assert (a.swing, a.by) == (10.0, Swing.TOLERANCE)
    assert (b.swing, b.by) == (0.5, Swing.RANGE)
    assert (a.effect, b.effect) == pytest.approx((30.0, 4500.0))
    assert (a.share, b.share) == pytest.approx((30 / 4500, 1.0))


def test_the_strongest_comes_first() -> None:
    assert [each.source.id for each in drivers(knowing(), "Y")][:2] == ["b", "a"]


def test_components_of_a_point_drive_by_themselves() -> None:
    found = by_name(drivers(knowing(), "Z"))
    assert (found["px"].slope, found["py"].slope, found["pz"].slope) == (5.0, 2.0, 0.0)
    assert found["px"].analytic
    assert (found["px"].swing, found["px"].by) == (None, Swing.NOTHING)
    assert (found["px"].effect, found["px"].share) == (None, None)


def test_without_tolerance_or_range_a_coordinate_moves_by_a_millimetre() -> None:
    """However far a point lies from the origin; of the rest only what has a size is measured."""
    names = ("far", "near", "size", "zero", "heat")
    ports = (
        port("far", Kind.POINT, unit="m"),
        port("near", Kind.POINT, unit="mm"),
        port("size", unit="mm"),
        port("zero"),
        port("heat", unit="K"),
    )
    toy = Toy(
        "s",
        ports,
        (port("out"),),
        lambda far, near, size, zero, heat: {
            "out": 1000 * far[:, 0] + near[:, 1] + size + 2 * zero + heat
        },
    )
    engine = engine_of(
        decision("D"),
        quantity("far", (4.0, 0.0, 0.0), Kind.POINT, unit=METRE),
        quantity(
            "near",
            (0.0, 3.0, 0.0),
            Kind.POINT,
            unit=MM,
            high=9.0,
            part_ranges={"y": Range(low=1.0, high=5.0)},
        ),
        quantity("size", 300.0, unit=MM),
        quantity("zero", 0.0),
        quantity("heat", 20.0, unit=DEG_C),
        quantity("y"),
        requirement("R", "y", upper=9000.0),
        use("C", "s", dict(zip(names, names, strict=True)), {"out": "y"}),
        shelf=Shelf({"s": toy}),
    )
    found = drivers(engine, "R")
    assert [(each.source.id + each.source.part, each.by, each.swing) for each in found[:3]] == [
        ("size", Swing.SHARE, pytest.approx(3.0)),
        ("neary", Swing.RANGE, 2.0),
        ("farx", Swing.STEP, pytest.approx(0.001)),
    ]
    assert {each.source.id for each in found if each.effect is None} == {"zero", "heat"}
    assert [each.effect is None for each in found] == sorted(each.effect is None for each in found)


def test_a_length_of_zero_moves_by_a_millimetre_and_progress_is_told() -> None:
    engine = engine_of(
        decision("D"), quantity("q", 0.0, unit=METRE), requirement("R", "q", 1.0, 5.0)
    )
    found = drivers(engine, "R")[0]
    assert (found.swing, found.by) == (0.001, Swing.STEP)
    told: list[str] = []
    drivers(knowing(), "Y", progress=told.append)
    assert told == ["0 checks differentiated, now C"]


def line(function: Any, value: float, **more: Any) -> Engine:  # noqa: ANN401 - a check
    toy = Toy("f", (port("x"),), (port("out"),), function)
    return engine_of(
        decision("D"),
        quantity("q", value, **more),
        quantity("y"),
        requirement("R", "y", -50.0, 50.0),
        use("C", "f", {"x": "q"}, {"out": "y"}),
        shelf=Shelf({"f": toy}),
    )


@pytest.mark.parametrize(
    ("function", "at", "slope"),
    [
        (np.sin, 0.7, np.cos(0.7)),
        (np.exp, 1.5, np.exp(1.5)),
        (lambda x: x**3, 0.0, 0.0),
        (lambda x: x * 0 + 2, 4.0, 0.0),
        (lambda x: 1 / x, 3.0, -1 / 9),
        (lambda x: 100 * x, 1e-6, 100.0),
    ],
)
def test_numeric_slopes_hold_within_their_doubt(function: Any, at: float, slope: float) -> None:  # noqa: ANN401 - a function
    found = drivers(line(lambda x: {"out": function(x)}, at), "R")[0]
    assert abs(found.slope - slope) <= found.doubt + 1e-14
    assert found.doubt <= 1e-6 * max(abs(slope), 1.0)


def test_at_the_edge_of_its_values_the_slope_is_one_sided() -> None:
    def function(x: Array) -> Outputs:
        return Outputs({"out": x * x}, [Problem(x > 3, "no answer")])

    found = drivers(line(function, 3.0), "R")[0]
    assert found.slope == pytest.approx(6.0, abs=1e-6)
    below = drivers(line(lambda x: Outputs({"out": x * x}, [Problem(x < 3, "none")]), 3.0), "R")
    assert below[0].slope == pytest.approx(6.0, abs=1e-6)


def test_a_lonely_value_has_no_slope() -> None:
    def function(x: Array) -> Outputs:
        return Outputs({"out": x * x}, [Problem(x != 3, "no answer")])

    found = drivers(line(function, 3.0), "R")[0]
    assert np.isnan(found.slope)
    assert np.isnan(found.doubt)


def test_slopes_multiply_along_the_way_and_add_over_ways() -> None:
    """z = 2 (x/2) + x = 2 x through a halving and a sum with a literal conversion in between."""
    engine = engine_of(
        decision("D"),
        quantity("x", 3.0),
        *(quantity(each) for each in ("h", "z", "w")),
        requirement("R", "w", upper=9.0),
        use("H", "halve", {"a": "x"}, {"out": "h"}),
        use("Z", "add", {"a": "h", "b": "x"}, {"out": "z"}),
        use("W", "add", {"a": "z", "b": "h"}, {"out": "w"}),
    )
    found = drivers(engine, "R")
    assert [each.source.id for each in found] == ["x"]
    assert found[0].slope == pytest.approx(2.0)


def test_an_offset_of_a_unit_does_not_count() -> None:
    toy = Toy("f", (port("t", unit="K"),), (port("out", unit="K"),), lambda t: {"out": 2 * t})
    engine = engine_of(
        decision("D"),
        quantity("t", 20.0, unit=DEG_C),
        quantity("y", unit=KELVIN),
        requirement("R", "y", upper=900.0),
        use("C", "f", {"t": "t"}, {"out": "y"}),
        shelf=Shelf({"f": toy}),
    )
    assert drivers(engine, "R")[0].slope == pytest.approx(2.0)


def test_bounds_cells_and_components_drive_checks_that_read_them() -> None:
    columns = (Column("name", CellKind.TEXT), Column("n", CellKind.REAL, METRE))
    engine = engine_of(
        decision("D"),
        quantity("p", (1.0, 2.0, 3.0), Kind.POINT),
        quantity(
            "t", (("a", 4.0),), Kind.TABLE, columns=columns, tolerance=Tolerance(half_width=1.0)
        ),
        quantity("q", 5.0),
        *(quantity(each) for each in ("s", "y")),
        requirement("B", "q", upper=6.0),
        requirement("R", "y", upper=100.0),
        use("S", "add", {"a": "p|y", "b": "B|upper"}, {"out": "s"}),
        use("Y", "add-mm", {"a": "t|[a].n", "b": "t|[a].n"}, {}),
        use("Z", "add", {"a": "s", "b": "q"}, {"out": "y"}),
    )
    found = by_name(drivers(engine, "R"))
    assert {name: round(each.slope, 9) for name, each in found.items()} == {
        "py": 1.0,
        "Bupper": 1.0,
        "q": 1.0,
    }
    assert found["Bupper"].swing == pytest.approx(0.06)


def test_a_cell_that_drives_moves_by_a_share_of_itself() -> None:
    columns = (Column("name", CellKind.TEXT), Column("n", CellKind.REAL))
    engine = engine_of(
        decision("D"),
        quantity(
            "t", (("a", 4.0),), Kind.TABLE, columns=columns, tolerance=Tolerance(half_width=1.0)
        ),
        quantity("y"),
        requirement("R", "y", upper=100.0),
        use("C", "halve", {"a": "t|[a].n"}, {"out": "y"}),
    )
    found = drivers(engine, "R")[0]
    assert (found.source.part, found.by) == ("[a].n", Swing.SHARE)
    assert found.swing == pytest.approx(0.04)


def test_whole_numbers_and_choices_have_no_slope_and_stay_out() -> None:
    engine = engine_of(
        decision("D"),
        quantity("n", 3, Kind.INTEGER),
        quantity("c", "mid", Kind.CHOICE, choices=("low", "mid", "high")),
        *(quantity(each) for each in ("h", "y")),
        requirement("R", "y", upper=100.0),
        use("H", "halve", {"a": "n"}, {"out": "h"}),
        use("C", "pick", {"grade": "c", "a": "h"}, {"out": "y"}),
    )
    assert drivers(engine, "R") == []


def test_a_quantity_judged_itself_drives_itself() -> None:
    engine = engine_of(decision("D"), quantity("q", 2.0), requirement("R", "q", 1.0, 1.0 + 4.0))
    found = drivers(engine, "R")[0]
    assert (found.source.id, found.slope, found.analytic) == ("q", 1.0, True)


def test_what_has_no_drivers_says_why() -> None:
    engine = engine_of(
        decision("D"),
        quantity("f", value=True, kind=Kind.FLAG),
        quantity("q"),
        requirement("F", "f", allowed=("yes",)),
        requirement("Q", "q", upper=3.0),
    )
    with pytest.raises(BadValueError, match="judges no number"):
        drivers(engine, "F")
    with pytest.raises(BadValueError, match="not known now"):
        drivers(engine, "Q")


def test_it_can_be_stopped() -> None:
    with pytest.raises(CancelledError):
        drivers(knowing(), "Y", lambda: True)
