"""What was computed before is recalled to the bit, and only where it is the same computation."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, NoReturn

import numpy as np
import pytest

from tests.property.engine_oracle import picture
from tests.property.toy_checks import EUR, GRADES, METRE, MM, TOYS, USD, Shelf, Toy, port
from tests.unit.small_world import INFO, change, decision, held, quantity, use
from tests.unit.traced import CodedShelf, MemoryTraces, traced
from tracker.contract.check import Absence, Array, Outputs, Port, PortColumn, Problem, Table
from tracker.errors import CancelledError
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Absent, Unknown
from tracker.evaluate.tracing import decoded, trace_key
from tracker.model.programme import Programme
from tracker.model.records import ProgrammeInfo, Record
from tracker.model.values import CellKind, Column, Kind, Value

TABLE = port(
    "t",
    Kind.TABLE,
    columns=(PortColumn("name", "row", CellKind.TEXT), PortColumn("mass", "mass", default=1.0)),
)
EVERYTHING = (
    port("a", unit="m"),
    port("b", optional=True),
    port("d", optional=True, default=1.0),
    port("n", Kind.INTEGER),
    port("on", Kind.FLAG),
    port("g", Kind.CHOICE, choices=GRADES),
    port("p", Kind.POINT, "m"),
    TABLE,
)
OUT = (port("out", unit="m"), port("more", optional=True))
COLUMNS = (Column("name", CellKind.TEXT), Column("mass"))
VALUES: Mapping[str, tuple[Value, Kind, dict[str, Any]]] = {
    "a": (2.0, Kind.REAL, {"unit": METRE}),
    "b": (3.0, Kind.REAL, {}),
    "n": (4, Kind.INTEGER, {}),
    "on": (True, Kind.FLAG, {}),
    "g": ("mid", Kind.CHOICE, {"choices": GRADES}),
    "p": ((1.0, 2.0, 3.0), Kind.POINT, {"unit": METRE}),
    "t": ((("arm", 1.5), ("hub", 2.0)), Kind.TABLE, {"columns": COLUMNS}),
}


def everything(**_: object) -> Mapping[str, Array]:
    return {"out": np.array([0.1]), "more": np.array([2.0])}


BIG = Toy("big", EVERYTHING, OUT, everything)


def key(
    values: Mapping[str, Any] | None = None,
    *,
    toy: Toy = BIG,
    code: str = "code",
    info: ProgrammeInfo = INFO,
    unbound: tuple[str, ...] = (),
    unit: Any = METRE,  # noqa: ANN401 - a Unit
    units: Mapping[str, Any] | None = None,
    **bound: Any,  # noqa: ANN401 - fields of CheckUse
) -> bytes | None:
    """Return the key of one check that reads a value of every kind."""
    told = {name: (values or {}).get(name, each[0]) for name, each in VALUES.items()}
    records: list[Record] = [
        quantity(f"q-{name}", told[name], VALUES[name][1], **{**VALUES[name][2], **unit_of})
        for name in told
        for unit_of in ([{"unit": (units or {})[name]}] if name in (units or {}) else [{}])
    ]
    inputs = {name: f"q-{name}" for name in told if name not in unbound}
    outputs = bound.pop("outputs", {"out": "r"})
    results = [quantity("r", unit=unit), quantity("s")]
    made = use("C", toy.key, inputs, outputs, **bound)
    shelf = CodedShelf(Shelf({toy.key: toy}), code)
    engine = traced(MemoryTraces(), shelf, info, decision("D"), *records, *results, made)
    node = engine.graph.nodes[0]
    assert node.fault is None, node.reason
    return trace_key(engine.programme, node, engine.state.slots)


@pytest.mark.parametrize(
    "otherwise",
    [
        {"code": "edited"},
        {"toy": replace(BIG, version="2")},
        {"toy": replace(BIG, key="large")},
        {"info": replace(INFO, currency="USD")},
        {"values": {"a": float(np.nextafter(2.0, 3.0))}},
        {"values": {"b": 3.5}},
        {"values": {"n": 5}},
        {"values": {"on": False}},
        {"values": {"g": "low"}},
        {"values": {"p": (1.0, 2.0, 3.5)}},
        {"values": {"p": (2.0, 1.0, 3.0)}},
        {"values": {"t": (("arm", 1.5), ("hub", 2.5))}},
        {"values": {"t": (("arm", 1.5), ("bolt", 2.0))}},
        {"values": {"t": (("hub", 2.0), ("arm", 1.5))}},
        {"values": {"t": (("arm", 1.5),)}},
        {"values": {"t": ()}},
        {"unbound": ("b",)},
        {"literals": {"d": 2.0}},
        {"outputs": {"out": "r", "more": "s"}},
        {"outputs": {"more": "s"}},
        {"outputs": {}},
        {"unit": MM},
        {"units": {"a": MM}},
    ],
    ids="-".join,
)
def test_every_ingredient_is_part_of_the_key(otherwise: Any) -> None:  # noqa: ANN401 - arguments of key
    assert key() == key()
    assert key(**otherwise) not in (None, key())


def test_the_configuration_is_part_of_the_key() -> None:
    engine = traced(MemoryTraces(), CodedShelf(Shelf(TOYS)), *records_of("add"))
    node = engine.graph.nodes[0]
    assert node.loaded is not None
    keys = set()
    for config in ({}, {"a": "b"}, {"a": "c"}, {"b": "b"}, {"a": "b", "c": "d"}):
        node.loaded = replace(node.loaded, config=config)
        keys.add(trace_key(engine.programme, node, engine.state.slots))
    assert len(keys) == 5


@pytest.mark.parametrize(
    ("same", "says"),
    [
        ({"values": {"a": 2000.0}, "units": {"a": MM}}, "the unit it comes in"),
        ({"literals": {"d": 1.0}}, "a literal that says what the default says"),
    ],
)
def test_what_does_not_reach_the_check_is_not(same: Any, says: str) -> None:  # noqa: ANN401 - arguments of key
    assert key(**same) == key(), says


def records_of(plugin: str, a: float | None = 2.0, **more: object) -> tuple[Record, ...]:
    bound = use("C", plugin, {"a": "q"}, {"out": "r"}, **more)
    return (INFO, decision("D"), quantity("q", a), quantity("r"), bound)


def test_a_check_that_cannot_run_or_is_of_unknown_code_has_no_key() -> None:
    for shelf, records in (
        (CodedShelf(Shelf(TOYS)), records_of("add", None)),
        (CodedShelf(Shelf(TOYS)), records_of("nowhere")),
        (CodedShelf(Shelf(TOYS), ""), records_of("add")),
    ):
        traces = MemoryTraces()
        engine = traced(traces, shelf, *records)
        assert trace_key(engine.programme, engine.graph.nodes[0], engine.state.slots) is None
        assert traces.asked == 0
        assert traces.kept == {}


# -- what is recalled ------------------------------------------------------------------------------

A = port("a")
ODD = "odd \ud800 \x1b[31m \u202e ü"


def told(**values: Array) -> Callable[..., Mapping[str, Array]]:
    return lambda a: values  # noqa: ARG005 - a's name is the port's


def problem(a: Array) -> Outputs:
    return Outputs({"out": a}, [Problem(np.array([True]), ODD)])


def absence(a: Array) -> Outputs:
    return Outputs({"out": a}, absences=[Absence("out", np.array([True]), ODD)])


@pytest.mark.parametrize(
    ("out", "function"),
    [
        (port("out"), told(out=np.array([0.1 + 0.2]))),
        (port("out"), told(out=np.array([-0.0]))),
        (port("out"), told(out=np.array([5e-324]))),
        (port("out", Kind.INTEGER), told(out=np.array([-(2**62) + 1]))),
        (port("out", Kind.FLAG), told(out=np.array([True]))),
        (port("out", Kind.CHOICE, choices=GRADES), told(out=np.array([2]))),
        (port("out", Kind.POINT), told(out=np.array([[1.0, -1e-300, 0.1]]))),
        (port("out"), problem),
        (port("out", optional=True), absence),
        (port("out"), absence),
        (port("out"), told(out=np.array([1.0, 2.0]))),
        (port("out"), told(out=np.array([np.nan]))),
        (port("out"), told()),
        (port("out", unit="mm"), told(out=np.array([0.3]))),
    ],
)
def test_whatever_a_check_says_comes_back_to_the_bit(
    out: Port, function: Callable[..., Any]
) -> None:
    toy = Toy("probe", (A,), (out, port("two", optional=True)), function)
    into: dict[str, Any] = {"unit": METRE} if out.unit else {}
    target = quantity("r", kind=out.kind, choices=out.choices, **into)
    bound = use("C", "probe", {"a": "q"}, {"out": "r"})
    records = (INFO, decision("D"), quantity("q", 2.0), target, bound)
    traces, shelf = MemoryTraces(), CodedShelf(Shelf({"probe": toy}))
    first = traced(traces, shelf, *records)
    assert (first.opening.ran, first.opening.recalled, toy.calls) == (["C"], [], 1)
    second = traced(traces, shelf, *records)
    assert (second.opening.ran, second.opening.recalled, toy.calls) == ([], ["C"], 1)
    assert picture(first) == picture(second)
    plain = Engine(Shelf({"probe": toy}), Programme(records))
    assert picture(plain) == picture(second)


def test_the_cause_is_the_check_that_is_there_now() -> None:
    toy = Toy("probe", (A,), (port("out"),), problem)
    traces, shelf = MemoryTraces(), CodedShelf(Shelf({"probe": toy}))
    traced(traces, shelf, *records_of("probe"))
    other = replace(use("C2", "probe", {"a": "q"}, {"out": "r"}))
    engine = traced(traces, shelf, INFO, decision("D"), quantity("q", 2.0), quantity("r"), other)
    assert toy.calls == 1
    assert held(engine, "r") == Unknown(ODD, "C2")


def test_a_check_that_raised_is_run_again() -> None:
    def fails(a: object) -> NoReturn:
        raise MemoryError

    toy = Toy("probe", (A,), (port("out"),), fails)
    traces, shelf = MemoryTraces(), CodedShelf(Shelf({"probe": toy}))
    for calls in (1, 2):
        engine = traced(traces, shelf, *records_of("probe"))
        engine.keep_traces(["C"])
        assert toy.calls == calls
        assert traces.kept == {}


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"nonsense",
        b"{}",
        b"7",
        b"[]",
        b"[7]",
        b'[["value"]]',
        b'[["value", 7]]',
        b'[["value", "xy"]]',
        b'[["value", "00"]]',
        b'[["value", "00000000000000000000000000000000"]]',
        b'[["absent", "an output that has to be there"]]',
        b'[["guess", "0000000000000000"]]',
        b'[["unknown", "one"], ["unknown", "two"]]',
        b"\xff",
    ],
)
def test_what_is_no_trace_of_the_check_is_computed(body: bytes) -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))
    engine = traced(traces, shelf, *records_of("step"))
    assert decoded(engine.graph.nodes[0], body) is None
    good = dict(traces.kept)
    traces.kept = dict.fromkeys(good, body)
    again = traced(traces, shelf, *records_of("step"))
    assert again.opening.ran == ["C"]
    assert picture(again) == picture(engine)
    assert traces.kept == good
    assert json.loads(next(iter(good.values()))) == [["value", np.array([2.0]).tobytes().hex()]]


# -- when traces are asked and kept ----------------------------------------------------------------


def test_an_edit_of_values_goes_without_and_a_new_graph_does_not() -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))
    engine = traced(traces, shelf, *records_of("add"))
    assert traces.asked == 1
    report = change(engine, quantity("q", 3.0))
    assert (report.ran, report.recalled, traces.asked, len(traces.kept)) == (["C"], [], 1, 1)
    bound = use("C", "add", {"a": "q"}, {"out": "r"}, literals={"b": 1.0})
    report = change(engine, bound)
    assert (report.ran, report.recalled, report.rebound) == (["C"], [], ["C"])
    assert (traces.asked, len(traces.kept)) == (2, 2)
    report = change(engine, use("C", "add", {"a": "q"}, {"out": "r"}))
    assert (report.ran, traces.asked) == (["C"], 3)  # 3.0 alone was never computed in a new graph
    report = change(engine, bound)
    assert (report.ran, report.recalled) == ([], ["C"])
    assert held(engine, "r") == 4.0


def test_what_edits_computed_is_kept_when_asked_for() -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))
    engine = traced(traces, shelf, *records_of("halve"))
    for value in (3.0, -4.0, 5.0):
        change(engine, quantity("q", value))
    engine.keep_traces(["C", "gone"])
    assert len(traces.kept) == 2
    again = traced(traces, shelf, *records_of("halve", 5.0))
    assert (again.opening.ran, again.opening.recalled) == ([], ["C"])
    assert held(again, "r") == 2.5
    change(engine, quantity("q", -4.0))
    engine.keep_traces(["C"])
    again = traced(traces, shelf, *records_of("halve", -4.0))
    assert (again.opening.ran, held(again, "r")) == ([], Unknown("a is negative", "C"))
    plain = Engine(Shelf(TOYS), Programme(records_of("halve")))
    plain.keep_traces(["C"])  # there is nobody to keep them


def test_an_absent_input_is_not_a_missing_one() -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))

    def made(a: float) -> Engine:
        return traced(
            traces,
            shelf,
            INFO,
            decision("D"),
            *(quantity(each) for each in ("i", "r")),
            quantity("q", a),
            use("C1", "inverse", {"a": "q"}, {"inverse": "i"}),
            use("C2", "add", {"a": "q", "b": "i"}, {"out": "r"}),
        )

    assert made(0.0).opening.ran == ["C1", "C2"]
    again = made(0.0)
    assert again.opening.recalled == ["C1", "C2"]
    assert held(again, "i") == Absent("a is zero")
    assert held(again, "r") == 0.0
    assert made(2.0).opening.ran == ["C1", "C2"]


def test_a_value_too_large_for_the_check_has_no_key() -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))
    far, near = (quantity("q", value, unit=METRE) for value in (1.7e308, 1.0))
    bound = use("C", "add-mm", {"a": "q", "b": "q"}, {"out": "r"})
    records = (INFO, decision("D"), quantity("r", unit=METRE), bound)
    engine = traced(traces, shelf, *records, near)
    change(engine, far)
    engine.keep_traces(["C"])
    assert len(traces.kept) == 1
    assert traced(traces, shelf, *records, far).opening.ran == []


def test_recalling_can_be_stopped() -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))
    traced(traces, shelf, *records_of("add"))
    with pytest.raises(CancelledError):
        Engine(shelf, Programme(records_of("add")), lambda: True, traces)


def test_money_of_another_currency_is_another_computation() -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))

    def made(currency: str, unit: Any) -> Engine:  # noqa: ANN401 - a Unit
        return traced(
            traces,
            shelf,
            replace(INFO, currency=currency),
            decision("D"),
            quantity("q", 2.0),
            quantity("rate", 3.0, unit=unit),
            quantity("r", unit=unit),
            use("C", "price", {"a": "q", "rate": "rate"}, {"out": "r"}),
        )

    assert made("EUR", EUR).opening.ran == ["C"]
    assert made("USD", USD).opening.ran == ["C"]
    assert made("EUR", EUR).opening.recalled == ["C"]


def test_a_table_reaches_the_key_by_what_the_check_gets() -> None:
    seen: list[Table] = []

    def look(t: Table) -> Mapping[str, Array]:
        seen.append(t)
        return {"out": np.array([1.0])}

    toy = Toy("look", (TABLE,), (port("out"),), look)
    shelf, traces = CodedShelf(Shelf({"look": toy})), MemoryTraces()

    def made(columns: tuple[Column, ...], rows: Value) -> Engine:
        table = quantity("t", rows, Kind.TABLE, columns=columns)
        bound = use("C", "look", {"t": "t"}, {"out": "r"})
        return traced(traces, shelf, INFO, decision("D"), table, quantity("r"), bound)

    made(COLUMNS, (("arm", 1.0),))
    note = Column("note", CellKind.TEXT)
    assert made((COLUMNS[0], note), (("arm", "x"),)).opening.recalled == ["C"]  # by the default
    assert made((COLUMNS[0], note), (("hub", "x"),)).opening.ran == ["C"]
    assert len(seen) == 2
