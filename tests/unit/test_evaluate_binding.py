"""Bindings: units, kinds, choices and tables on their way into a check and out of it."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from tests.property.toy_checks import DEG_C, EUR, GRADES, KELVIN, METRE, MM, USD, port
from tests.unit.probe import Probe, fault
from tests.unit.small_world import (
    change,
    decision,
    engine_of,
    finding,
    held,
    quantity,
    requirement,
    use,
)
from tracker.contract.check import Array, Port, PortColumn, Rule
from tracker.evaluate.slots import Unknown
from tracker.evaluate.verdict import Verdict
from tracker.model.records import ProgrammeInfo, Record
from tracker.model.units import ONE, Unit
from tracker.model.values import CellKind, Column, Kind, Value

NAME = Column("name", CellKind.TEXT)
TABLE = port(
    "t", Kind.TABLE, columns=(PortColumn("name", "row", CellKind.TEXT), PortColumn("mass", "mass"))
)
LEAD = Unit("mm/rev", (("angle", Fraction(-1)), ("length", Fraction(1))), 0.001 / (2 * math.pi))


@pytest.mark.parametrize(
    ("unit", "value", "port_unit", "seen"),
    [
        (MM, 1250.0, "m", 1.25),
        (METRE, 1.25, "mm", 1250.0),
        (METRE, 1.25, "m", 1.25),
        (DEG_C, 20.0, "K", 293.15),  # BIPM, SI Brochure, 9th ed., 2.3.1
        (KELVIN, 0.0, "°C", -273.15),
        (ONE, 0.5, "", 0.5),
    ],
)
def test_a_real_reaches_the_check_in_its_unit(
    unit: Unit, value: float, port_unit: str, seen: float
) -> None:
    probe = Probe(port("a", unit=port_unit))
    probe.engine(quantity("q", value, unit=unit), inputs={"a": "q"})
    assert probe.seen["a"].item() == pytest.approx(seen, rel=1e-14)
    assert probe.seen["a"].shape == (1,)
    assert not probe.seen["a"].flags.writeable


@pytest.mark.parametrize(
    ("unit", "port_unit"), [(LEAD, "mm"), (ONE, "mm"), (USD, "EUR"), (MM, "K")]
)
def test_another_dimension_is_refused(unit: Unit, port_unit: str) -> None:
    probe = Probe(port("a", unit=port_unit))
    engine = probe.engine(quantity("q", 1.0, unit=unit), inputs={"a": "q"}, outputs={})
    assert "does not measure the same thing as" in fault(engine)
    assert "C, a:" in fault(engine)


def test_money_is_the_programmes_and_never_converted() -> None:
    records = (
        decision("D"),
        quantity("rate", 2.0, unit=EUR),
        quantity("n", 3.0),
        quantity("cost", unit=EUR),
        use("C", "price", {"a": "n", "rate": "rate"}, {"out": "cost"}),
    )
    engine = engine_of(*records)
    assert held(engine, "cost") == 6.0
    report = change(engine, ProgrammeInfo(id="P", key="P", title="Toy", currency="USD"))
    assert report.ran == []
    gone = held(engine, "cost")
    assert isinstance(gone, Unknown)
    assert "EUR does not measure the same thing as USD" in gone.reason
    assert gone.cause == "C"


def test_a_point_and_its_components_convert() -> None:
    probe = Probe(port("p", Kind.POINT, "m"), port("z", unit="m"))
    probe.engine(
        quantity("hub", (1000.0, 2.0, -3.0), Kind.POINT, unit=MM), inputs={"p": "hub", "z": "hub|z"}
    )
    assert probe.seen["p"].tolist() == [pytest.approx([1.0, 0.002, -0.003])]
    assert probe.seen["z"].tolist() == [pytest.approx(-0.003)]


@pytest.mark.parametrize(("unit", "seen"), [(ONE, 3.0), (METRE, 3000.0)])
def test_a_whole_number_widens_to_a_real(unit: Unit, seen: float) -> None:
    probe = Probe(port("a", unit="mm" if unit is METRE else ""))
    probe.engine(quantity("n", 3, Kind.INTEGER, unit=unit), inputs={"a": "n"})
    assert probe.seen["a"].dtype == np.float64
    assert probe.seen["a"].item() == seen


def test_a_whole_number_is_never_scaled() -> None:
    probe = Probe(port("n", Kind.INTEGER, "mm"))
    engine = probe.engine(quantity("n", 3, Kind.INTEGER, unit=METRE), inputs={"n": "n"})
    assert "a whole number of m is not converted to mm" in fault(engine)
    engine = probe.engine(quantity("n", 3, Kind.INTEGER, unit=MM), inputs={"n": "n"})
    assert probe.seen["n"].tolist() == [3]


@pytest.mark.parametrize(
    ("kind", "value", "port_kind"),
    [
        (Kind.REAL, 1.0, Kind.INTEGER),
        (Kind.REAL, 1.0, Kind.FLAG),
        (Kind.FLAG, True, Kind.REAL),
        (Kind.POINT, (1.0, 2.0, 3.0), Kind.REAL),
    ],
)
def test_another_kind_is_refused(kind: Kind, value: Value, port_kind: Kind) -> None:
    probe = Probe(port("a", port_kind))
    engine = probe.engine(quantity("q", value, kind), inputs={"a": "q"})
    assert f"a {kind} cannot feed a {port_kind}" in fault(engine)


@pytest.mark.parametrize(
    ("choices", "value", "code"),
    [(GRADES, "high", 2), (("high", "low"), "high", 2), (("high", "low"), "low", 0)],
)
def test_a_choice_reaches_the_check_in_its_codes(
    choices: tuple[str, ...], value: str, code: int
) -> None:
    probe = Probe(port("grade", Kind.CHOICE, choices=GRADES))
    probe.engine(quantity("q", value, Kind.CHOICE, choices=choices), inputs={"grade": "q"})
    assert probe.seen["grade"].tolist() == [code]
    assert probe.seen["grade"].dtype == np.int64


def test_a_choice_the_check_does_not_know_is_refused() -> None:
    probe = Probe(port("grade", Kind.CHOICE, choices=GRADES))
    odd = quantity("q", "low", Kind.CHOICE, choices=("low", "odd"))
    engine = probe.engine(odd, inputs={"grade": "q"})
    assert "does not know the choice 'odd'. It knows low, mid, high" in fault(engine)


def test_a_flag_reaches_the_check_as_it_is() -> None:
    probe = Probe(port("on", Kind.FLAG))
    probe.engine(quantity("q", value=True, kind=Kind.FLAG), inputs={"on": "q"})
    assert probe.seen["on"].tolist() == [True]


def test_literals_reach_the_check_in_its_form() -> None:
    ports = (
        port("a"),
        port("n", Kind.INTEGER),
        port("on", Kind.FLAG),
        port("grade", Kind.CHOICE, choices=GRADES),
        port("p", Kind.POINT),
        TABLE,
    )
    probe = Probe(*ports)
    rows = (("arm", -0.0),)
    literals = {"a": 2, "n": 3, "on": True, "grade": "mid", "p": (1.0, 2.0, 3.0), "t": rows}
    probe.engine(literals=literals)
    seen = probe.seen
    assert [seen[each].tolist() for each in ("a", "n", "on", "grade")] == [[2.0], [3], [True], [1]]
    assert seen["p"].tolist() == [[1.0, 2.0, 3.0]]
    assert seen["t"].texts("name") == ("arm",)
    assert math.copysign(1.0, seen["t"].reals("mass")[0]) == 1.0
    with pytest.raises(TypeError):
        seen["t"].columns["mass"] = np.zeros(1)


@pytest.mark.parametrize(
    ("ports", "literal", "says"),
    [
        (port("a", Kind.CHOICE, choices=GRADES), "odd", "'odd' is not one of its choices"),
        (port("a"), "x", "'x' is not a number"),
        (port("a", Kind.POINT), (1.0, 2.0), "a point has three numbers"),
    ],
)
def test_a_literal_the_port_no_longer_takes_is_a_fault(
    ports: Port, literal: Value, says: str
) -> None:
    engine = Probe(ports).engine(literals={"a": literal})
    assert says in fault(engine)


def test_an_optional_input_is_bound_defaulted_or_missing() -> None:
    ports = (port("a", optional=True), port("b", optional=True, default=4))
    probe = Probe(*ports)
    probe.engine()
    assert {key: array.tolist() for key, array in probe.seen.items()} == {"b": [4.0]}
    probe.engine(quantity("q", 1.0), inputs={"a": "q", "b": "q"})
    assert {key: array.tolist() for key, array in probe.seen.items()} == {"a": [1.0], "b": [1.0]}


def test_an_optional_input_whose_source_is_absent_is_missing_or_defaulted() -> None:
    ports = (port("a", optional=True), port("b", optional=True, default=4))
    probe = Probe(*ports)
    records = (
        quantity("q", 0.0),
        quantity("inv"),
        use("I", "inverse", {"a": "q"}, {"inverse": "inv"}),
    )
    probe.engine(*records, inputs={"a": "inv", "b": "inv"})
    assert {key: array.tolist() for key, array in probe.seen.items()} == {"b": [4.0]}


def test_a_required_input_must_exist() -> None:
    probe = Probe(port("a"))
    records = (
        quantity("q", 0.0),
        quantity("inv"),
        use("I", "inverse", {"a": "q"}, {"inverse": "inv"}),
    )
    engine = probe.engine(*records, quantity("r"), inputs={"a": "inv"}, outputs={"out": "r"})
    assert held(engine, "r") == Unknown("a does not exist: a is zero", "C")


def test_an_unknown_optional_input_blocks_too() -> None:
    probe = Probe(port("a", optional=True))
    engine = probe.engine(quantity("q"), quantity("r"), inputs={"a": "q"}, outputs={"out": "r"})
    assert held(engine, "r") == Unknown("no value is given", "q")
    assert probe.seen == {}


def test_a_value_too_large_in_the_checks_unit_blocks() -> None:
    probe = Probe(port("a", unit="mm"))
    engine = probe.engine(
        quantity("q", 1e308, unit=METRE), quantity("r"), inputs={"a": "q"}, outputs={"out": "r"}
    )
    assert held(engine, "r") == Unknown("a is too large in the check's unit", "C")
    probe = Probe(port("p", Kind.POINT, "mm"))
    engine = probe.engine(
        quantity("hub", (1e308, 0.0, 0.0), Kind.POINT, unit=METRE), inputs={"p": "hub"}
    )
    assert engine.state.blocks == [Unknown("p is too large in the check's unit", "C")]


@pytest.mark.parametrize(
    ("bound", "says"),
    [
        ({"inputs": {}}, "a: the input is not bound. Bind it: the a"),
        ({"inputs": {"a": "q", "b": "q"}}, "probe has no input 'b'. Its inputs: a"),
        ({"literals": {"a": 1.0, "c": 1.0}}, "probe has no input 'c'"),
        (
            {"inputs": {"a": "q"}, "outputs": {"b": "r"}},
            "probe has no output 'b'. Its outputs: out",
        ),
        ({"inputs": {"a": "q|x"}}, "a real has no part 'x'"),
        ({"inputs": {"a": "q|[x"}}, "is not a cell"),
        (
            {"inputs": {"a": "R|statement"}},
            "a requirement has no part 'statement'. Use lower, upper",
        ),
        ({"inputs": {"a": "T|[1].none"}}, "the table has no value column 'none'"),
        ({"inputs": {"a": "T|[1].name"}}, "the table has no value column 'name'"),
        ({"inputs": {"a": "gone"}}, "points at something that no longer exists"),
        ({"inputs": {"a": "q"}, "outputs": {"out": "F"}}, "the real out cannot set a flag"),
        ({"inputs": {"a": "q"}, "outputs": {"out": "M"}}, "does not measure the same thing"),
    ],
)
def test_a_binding_that_does_not_hold_is_a_fault(bound: dict[str, Any], says: str) -> None:
    engine = Probe(port("a")).engine(
        quantity("q", 1.0),
        quantity("r"),
        quantity("M", unit=MM),
        quantity("F", kind=Kind.FLAG),
        quantity("T", (("a",),), Kind.TABLE, columns=(NAME,)),
        requirement("R", "q", 0.5),
        **bound,
    )
    assert says in fault(engine)
    block = engine.state.blocks[0]
    assert block is not None
    assert block.cause == "C"
    assert fault(engine).endswith(block.reason)


def test_the_bounds_of_a_requirement_are_inputs_in_their_unit() -> None:
    probe = Probe(port("a", unit="mm"), port("g"))
    engine = probe.engine(
        quantity("q", 1.0, unit=METRE),
        requirement("R", "q", 0.5),
        inputs={"a": "R|lower", "g": "R|guard"},
    )
    assert (probe.seen["a"].item(), probe.seen["g"].item()) == (500.0, 0.1)
    change(engine, requirement("R", "q", 2, guard=0.2))
    assert (probe.seen["a"].item(), probe.seen["g"].item()) == (2000.0, 0.2)
    report = change(engine, requirement("R", "q", upper=2.0, guard=0.2))
    assert report.ran == []
    assert engine.state.blocks == [Unknown("it has no lower bound", "R")]


@pytest.mark.parametrize(
    ("out", "result", "made", "value"),
    [
        (port("out", unit="m"), np.array([1.5]), quantity("r", unit=MM), 1500.0),
        (port("out", unit="K"), np.array([293.15]), quantity("r", unit=DEG_C), 20.0),
        (port("out", Kind.INTEGER), np.array([3]), quantity("r", kind=Kind.INTEGER), 3),
        (port("out", Kind.INTEGER), np.array([3]), quantity("r"), 3.0),
        (port("out", Kind.INTEGER, "m"), np.array([3]), quantity("r", unit=MM), 3000.0),
        (port("out", Kind.FLAG), np.array([True]), quantity("r", kind=Kind.FLAG), True),
        (
            port("out", Kind.CHOICE, choices=GRADES),
            np.array([2]),
            quantity("r", kind=Kind.CHOICE, choices=GRADES),
            "high",
        ),
        (
            port("out", Kind.POINT, "m"),
            np.array([[1.0, -0.0, 2.0]]),
            quantity("r", kind=Kind.POINT, unit=MM),
            (1000.0, 0.0, 2000.0),
        ),
    ],
)
def test_an_output_arrives_in_the_unit_of_its_quantity(
    out: Port,
    result: Array,
    made: Record,
    value: object,
) -> None:
    probe = Probe(out=out)
    probe.result = result
    engine = probe.engine(made, outputs={"out": "r"})
    found = held(engine, "r")
    assert type(found) is type(value)
    assert found == pytest.approx(value) if not isinstance(value, str) else found == value


@pytest.mark.parametrize(
    ("out", "made", "says"),
    [
        (port("out", Kind.INTEGER, "m"), quantity("r", kind=Kind.INTEGER, unit=MM), "whole number"),
        (
            port("out", Kind.CHOICE, choices=GRADES),
            quantity("r", kind=Kind.CHOICE, choices=("low", "high")),
            "its choices are not the check's. low, mid, high",
        ),
        (
            port("out", Kind.TABLE, columns=TABLE.columns),
            quantity("r", kind=Kind.TABLE, columns=(NAME,)),
            "a table output cannot be bound",
        ),
    ],
)
def test_an_output_that_does_not_fit_is_refused(out: Port, made: Record, says: str) -> None:
    engine = Probe(out=out).engine(made, outputs={"out": "r"})
    assert says in fault(engine)


@pytest.mark.parametrize("bound", [True, False])
def test_a_rule_judges_its_output_bound_or_not_in_the_right_unit(bound: bool) -> None:
    rule = Rule(output="out", lower=0.5, upper=2.0, reason="it fits", source="a drawing")
    probe = Probe(out=port("out", unit="m"), rules=(rule,))
    probe.result = np.array([1.25])
    made = [quantity("r", unit=MM)] if bound else []
    engine = probe.engine(*made, outputs={"out": "r"} if bound else {})
    judged = finding(engine, "C", "out").judgement
    assert judged.verdict is Verdict.MET
    assert judged.margin == pytest.approx(1.0)
    assert judged.distance == pytest.approx(750.0 if bound else 0.75)
    assert engine.graph.judges[0].measure.unit.text == ("mm" if bound else "m")


def test_two_rules_on_one_output_are_two_findings() -> None:
    engine = engine_of(
        decision("D"),
        quantity("n", 3, Kind.INTEGER),
        use("C", "count", {"n": "n", "m": "n"}),
    )
    assert finding(engine, "C", "whole").judgement.bound == "lower"
    assert finding(engine, "C", "whole 2").judgement.bound == "upper"
    report = change(engine, quantity("n", 4, Kind.INTEGER))
    assert set(report.findings) == {("C", "whole"), ("C", "whole 2")}
