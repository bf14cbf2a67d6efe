"""What declarations prove about the way from a source to a decision."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from tests.property.planted import Trendy
from tests.property.toy_checks import GRADES, Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.evaluate.engine import Engine
from tracker.explore.sources import source_at
from tracker.explore.trends import reach_of
from tracker.model.values import CellKind, Column, Kind

Pair = tuple[str, str]


def toy(key: str, trends: Mapping[Pair, int], *, inputs: Any = None, outputs: Any = None) -> Toy:  # noqa: ANN401 - ports
    return Trendy(
        key,
        inputs or (port("a"), port("b", optional=True)),
        outputs or (port("out"),),
        lambda a, b=0.0: {"out": a - b},
        trends=trends,
    )


def chain(first: Mapping[Pair, int], second: Mapping[Pair, int], **more: Any) -> Engine:  # noqa: ANN401 - ports
    """q → A → y, and (q, y) → B → z; R judges z under D, which carries B."""
    shelf = Shelf({"A": toy("A", first), "B": toy("B", second, **more)})
    return engine_of(
        decision("D", serves=("R",)),
        decision("E"),
        quantity("q", 1.0),
        quantity("y"),
        quantity("z"),
        requirement("R", "z", -9.0, 9.0),
        use("A", "A", {"a": "q"}, {"out": "y"}, decision="E"),
        use("B", "B", {"a": "q", "b": "y"}, {"out": "z"}),
        shelf=shelf,
    )


UP, DOWN = {("out", "a"): 1}, {("out", "a"): -1}


@pytest.mark.parametrize(
    ("first", "second", "certified"),
    [
        (UP, {("out", "a"): 1, ("out", "b"): -1}, False),  # the two ways pull against each other
        (DOWN, {("out", "a"): 1, ("out", "b"): -1}, True),
        (UP, {("out", "a"): 0, ("out", "b"): -1}, True),
        (UP, {("out", "a"): 1}, False),  # nothing is said of the other way
        ({}, {("out", "a"): 1, ("out", "b"): 1}, False),
        (UP, {("out", "a"): 0, ("out", "b"): 0}, True),
    ],
)
def test_both_ways_must_agree(
    first: Mapping[Pair, int], second: Mapping[Pair, int], certified: bool
) -> None:
    engine = chain(first, second)
    reach = reach_of(engine, source_at(engine, "q"))
    assert reach.concerns(engine, "D")
    assert reach.certifies(engine, "D") is certified


def test_a_check_that_declares_nothing_certifies_nothing() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("q", 1.0),
        quantity("y"),
        requirement("R", "y", upper=9.0),
        use("C", "halve", {"a": "q"}, {"out": "y"}),
    )
    assert not reach_of(engine, source_at(engine, "q")).certifies(engine, "D")


def test_a_quantity_judged_directly_needs_no_declaration() -> None:
    engine = engine_of(
        decision("D", serves=("R",)), quantity("q", 1.0), requirement("R", "q", upper=9.0)
    )
    reach = reach_of(engine, source_at(engine, "q"))
    assert reach.concerns(engine, "D")
    assert reach.certifies(engine, "D")


def test_an_output_that_is_a_choice_certifies_nothing_and_an_optional_one_does() -> None:
    """Nothing optional begins to exist where trends are declared: the contract says so."""
    for out in (port("out", optional=True), port("out", Kind.CHOICE, choices=GRADES)):
        kind = Kind.CHOICE if out.choices else Kind.REAL
        shelf = Shelf({"A": toy("A", UP, inputs=(port("a"),), outputs=(out,))})
        judged = {"allowed": ("low",)} if out.choices else {"upper": 9.0}
        engine = engine_of(
            decision("D", serves=("R",)),
            quantity("q", 1.0),
            quantity("y", kind=kind, choices=out.choices),
            requirement("R", "y", **judged),
            use("A", "A", {"a": "q"}, {"out": "y"}),
            shelf=shelf,
        )
        certified = reach_of(engine, source_at(engine, "q")).certifies(engine, "D")
        assert certified is out.optional


def test_components_go_their_own_ways() -> None:
    made = Trendy(
        "A",
        (port("p", Kind.POINT),),
        (port("out", Kind.POINT),),
        lambda p: {"out": p * 1.0},
        trends={("out.x", "p.x"): 1, ("out.y", "p.x"): 0, ("out.z", "p.x"): 0},
    )
    engine = engine_of(
        decision("D", serves=("R", "S")),
        quantity("p", (1.0, 2.0, 3.0), Kind.POINT),
        quantity("y", kind=Kind.POINT),
        requirement("R", "y|x", upper=9.0),
        requirement("S", "p|y", upper=9.0),
        use("A", "A", {"p": "p"}, {"out": "y"}),
        shelf=Shelf({"A": made}),
    )
    along = reach_of(engine, source_at(engine, "p", "x"))
    assert along.certifies(engine, "D")
    assert along.trends[engine.graph.index["y", "x"]] == (1,)
    assert engine.graph.index["p", "y"] not in along.trends
    assert not reach_of(engine, source_at(engine, "p", "y")).certifies(engine, "D")


def test_a_cell_is_certified_only_where_it_is_judged_itself() -> None:
    columns = (Column("name", CellKind.TEXT), Column("n", CellKind.REAL))
    engine = engine_of(
        decision("D", serves=("R",)),
        decision("E", serves=("S",)),
        quantity("t", (("a", 4.0),), Kind.TABLE, columns=columns),
        requirement("R", "t|[a].n", upper=9.0),
        requirement("S", "t|[1].n", upper=9.0),
    )
    reach = reach_of(engine, source_at(engine, "t", "[a].n"))
    assert reach.certifies(engine, "D")
    assert not reach.certifies(engine, "E")  # the same cell by another name


def test_a_table_or_choice_input_is_never_promised() -> None:
    columns = (Column("name", CellKind.TEXT), Column("amount", CellKind.REAL))
    from tests.property.toy_checks import METRE
    from tracker.contract.check import PortColumn

    made = Trendy(
        "A",
        (port("t", Kind.TABLE, columns=(PortColumn("amount", "", CellKind.REAL, "m"),)),),
        (port("out"),),
        lambda t: {"out": t.reals("amount")[:1]},
        trends={("out", "t"): 1},
    )
    columns = (columns[0], Column("amount", CellKind.REAL, METRE))
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("t", (("a", 4.0),), Kind.TABLE, columns=columns),
        quantity("y"),
        requirement("R", "y", upper=9.0),
        use("A", "A", {"t": "t"}, {"out": "y"}),
        shelf=Shelf({"A": made}),
    )
    assert not reach_of(engine, source_at(engine, "t", "[a].amount")).certifies(engine, "D")


@pytest.mark.parametrize(
    ("declared", "certified"), [({("out", "a"): -1}, True), ({("out", "a"): 1}, False), ({}, False)]
)
def test_a_value_that_follows_its_own_bound(declared: Mapping[Pair, int], certified: bool) -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("y"),
        requirement("R", "y", upper=9.0),
        use("A", "A", {"a": "R|upper"}, {"out": "y"}),
        shelf=Shelf({"A": toy("A", declared)}),
    )
    assert reach_of(engine, source_at(engine, "R", "upper")).certifies(engine, "D") is certified


def test_a_bound_that_only_judges_is_certified() -> None:
    engine = engine_of(
        decision("D", serves=("R",)), quantity("q", 1.0), requirement("R", "q", upper=9.0)
    )
    reach = reach_of(engine, source_at(engine, "R", "upper"))
    assert reach.concerns(engine, "D")
    assert reach.certifies(engine, "D")
