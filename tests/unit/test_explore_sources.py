"""What can be moved by itself, and what says why it cannot."""

from __future__ import annotations

import pytest

from tests.property.toy_checks import MM
from tests.unit.small_world import decision, engine_of, quantity, requirement, settled, use
from tracker.errors import BadValueError, BindingError, SourceError
from tracker.evaluate.engine import Engine
from tracker.explore.sources import adjustables, bounds, source_at, sources_at
from tracker.model.parts import Range
from tracker.model.values import CellKind, Column, Kind

COLUMNS = (Column("name", CellKind.TEXT), Column("n", CellKind.REAL, MM))


@pytest.fixture
def engine() -> Engine:
    return engine_of(
        settled(decision("D", {"a": {"owned": 2.0}}, serves=("R", "G")), "a"),
        quantity("q", 3.0, unit=MM, low=1.0, high=9.0),
        quantity("owned", low=0.0),
        quantity("out", low=0.0),
        quantity("gone", low=0.0),
        quantity("n", 3, Kind.INTEGER, high=7.0),
        quantity("c", "mid", Kind.CHOICE, choices=("low", "mid")),
        quantity("p", (1.0, 2.0, 3.0), Kind.POINT, low=-5.0, high=5.0),
        quantity("t", (("a", 4.0),), Kind.TABLE, columns=COLUMNS, low=0.0),
        requirement("R", "q", 1, 5.0),
        requirement("G", "c", allowed=("mid",)),
        use("C", "halve", {"a": "q"}, {"out": "out"}),
    )


def test_a_quantity_moves_in_its_range(engine: Engine) -> None:
    source = source_at(engine, "q")
    assert (source.value, source.low, source.high) == (3.0, 1.0, 9.0)
    assert (source.unit, source.number) == (MM, 3.0)


def test_what_an_option_set_moves_too(engine: Engine) -> None:
    assert source_at(engine, "owned").value == 2.0


def test_a_component_has_the_range_of_its_point(engine: Engine) -> None:
    assert [(e.part, e.value, e.low) for e in sources_at(engine, "p")] == [
        ("x", 1.0, -5.0),
        ("y", 2.0, -5.0),
        ("z", 3.0, -5.0),
    ]


def test_a_cell_has_no_range(engine: Engine) -> None:
    source = source_at(engine, "t", "[a].n")
    assert (source.value, source.low, source.unit) == (4.0, None, MM)


def test_a_bound_stops_at_the_other(engine: Engine) -> None:
    lower, upper = sources_at(engine, "R")
    assert (lower.part, lower.value, lower.low, lower.high) == ("lower", 1.0, None, 5.0)
    assert (upper.part, upper.value, upper.low, upper.high) == ("upper", 5.0, 1.0, None)
    guard = source_at(engine, "R", "guard")
    assert (guard.value, guard.low) == (0.1, 0.0)


def test_everything_adjustable(engine: Engine) -> None:
    found = [(each.id, each.part) for each in adjustables(engine)]
    assert found == [("q", ""), ("owned", ""), ("n", ""), ("p", "x"), ("p", "y"), ("p", "z")]
    assert [(each.id, each.part) for each in bounds(engine)] == [("R", "lower"), ("R", "upper")]


@pytest.mark.parametrize(
    ("key", "part", "error", "words"),
    [
        ("out", "", SourceError, "computed by check C"),
        ("gone", "", BadValueError, "has no value now"),
        ("t", "[b].n", BadValueError, "has no value now"),
        ("p", "", BadValueError, "does not move whole"),
        ("t", "", BadValueError, "does not move whole"),
        ("q", "x", BindingError, "no part"),
        ("D", "", BadValueError, "holds no value"),
        ("nobody", "", BadValueError, "holds no value"),
        ("R", "scale", BindingError, "moves by its bounds"),
        ("R", "target", BadValueError, "has no target bound"),
        ("G", "upper", BadValueError, "has no upper bound"),
    ],
)
def test_what_cannot_move_says_why(
    engine: Engine, key: str, part: str, error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        source_at(engine, key, part)


def test_a_component_may_have_a_range_of_its_own() -> None:
    """It is meant for that component wherever that is now; the others keep the point's."""
    own = {"x": Range(low=4.0, high=6.0), "z": Range(low=2.0, high=3.5)}
    engine = engine_of(
        quantity("p", (1.0, 2.0, 3.0), Kind.POINT, low=-5.0, high=5.0, part_ranges=own),
        quantity("r", (1.0, 2.0, 3.0), Kind.POINT, part_ranges={"y": Range(low=0.0, high=9.0)}),
    )
    assert [(each.id, each.part, each.low, each.high) for each in adjustables(engine)] == [
        ("p", "x", 4.0, 6.0),
        ("p", "y", -5.0, 5.0),
        ("p", "z", 2.0, 3.5),
        ("r", "y", 0.0, 9.0),
    ]
    assert source_at(engine, "r", "x").low is None
