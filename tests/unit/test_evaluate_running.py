"""Whatever a check does, the engine goes on and says why there is no value."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NoReturn

import numpy as np
import pytest

from tests.property.toy_checks import GRADES, TOYS, Shelf, Toy, port
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
from tracker.contract.check import Absence, Array, Outputs, Port, Problem, Rule
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Absent, Unknown
from tracker.evaluate.standing import Standing, StandingOf
from tracker.evaluate.verdict import Verdict
from tracker.model.records import Record
from tracker.model.values import Kind

REAL, CHOICE = port("out"), port("out", Kind.CHOICE, choices=GRADES)
POINT, WHOLE, FLAG = port("out", Kind.POINT), port("out", Kind.INTEGER), port("out", Kind.FLAG)
YES = np.array([True])


def run(function: Callable[..., Any], out: Port = REAL, *more: Port) -> Engine:
    """Return an engine in which a check made of the function reads q and gives r."""
    toy = Toy("stranger", (port("a"),), (out, *more), function)
    choices = out.choices
    made: list[Record] = [quantity("r", kind=out.kind, choices=choices)]
    made += [quantity(each.key, kind=each.kind) for each in more]
    bound = use("C", "stranger", {"a": "q"}, {"out": "r"} | {each.key: each.key for each in more})
    return engine_of(
        decision("D"), quantity("q", 2.0), *made, bound, shelf=Shelf({**TOYS, "stranger": toy})
    )


def reason(function: Callable[..., Any], out: Port = REAL) -> str:
    """Return why r is unknown; the check itself is always the cause."""
    found = held(run(function, out), "r")
    assert isinstance(found, Unknown)
    assert found.cause == "C"
    return found.reason


@pytest.mark.parametrize(
    ("out", "result", "says"),
    [
        (REAL, np.array([math.nan]), "out is not finite"),
        (REAL, np.array([math.inf]), "out is not finite"),
        (POINT, np.array([[0.0, math.nan, 0.0]]), "out is not finite"),
        (POINT, np.array([[math.inf, -math.inf, 0.0]]), "out is not finite"),
        (REAL, np.array([1.0, 2.0]), "out came back as float64 of shape (2,)"),
        (REAL, np.array(1.0), "out came back as float64 of shape ()"),
        (REAL, np.array([[1.0]]), "out came back as float64 of shape (1, 1)"),
        (REAL, np.array([1]), "out came back as int64 of shape (1,)"),
        (REAL, np.array([1.0], dtype=np.float32), "out came back as float32 of shape (1,)"),
        (REAL, np.array([1.0], dtype=">f8"), "out came back as >f8 of shape (1,)"),
        (REAL, np.array(["1.0"]), "out came back as <U3 of shape (1,)"),
        (REAL, np.ma.array([1.0], mask=[True]), "out came back as float64 of shape (1,)"),
        (REAL, [1.0], "out came back as list"),
        (REAL, 1.0, "out came back as float"),
        (REAL, None, "out came back as nothing"),
        (WHOLE, np.array([1.0]), "out came back as float64 of shape (1,)"),
        (FLAG, np.array([1]), "out came back as int64 of shape (1,)"),
        (CHOICE, np.array([3]), "out is not one of its choices"),
        (CHOICE, np.array([-1]), "out is not one of its choices"),
        (POINT, np.array([1.0, 2.0, 3.0]), "out came back as float64 of shape (3,)"),
    ],
)
def test_a_result_that_is_none_is_unknown(out: Port, result: object, says: str) -> None:
    assert reason(lambda a: {"out": result}, out) == says  # noqa: ARG005 - a's name is the port's


def test_a_missing_output_is_unknown() -> None:
    assert reason(lambda a: {}) == "out came back as nothing"  # noqa: ARG005 - a's name is the port's


@pytest.mark.parametrize(
    "result", [np.array([[1.7e308, 1.7e308, 1.7e308]]), np.array([[-1.7e308, -1.7e308, 0.0]])]
)
def test_large_finite_points_are_values(result: Array) -> None:
    engine = run(lambda a: {"out": result}, POINT)  # noqa: ARG005 - a's name is the port's
    assert held(engine, "r") == tuple(result[0].tolist())


@pytest.mark.parametrize(
    ("out", "result"), [(REAL, np.array([-0.0])), (POINT, np.array([[-0.0, 1.0, -0.0]]))]
)
def test_a_negative_zero_loses_its_sign(out: Port, result: Array) -> None:
    engine = run(lambda a: {"out": result}, out)  # noqa: ARG005 - a's name is the port's
    slot = engine.state.slots[engine.graph.index["r", ""]]
    assert isinstance(slot, np.ndarray)
    assert not np.signbit(slot).any()
    assert not slot.flags.writeable


def test_what_a_check_keeps_and_changes_does_not_reach_the_graph() -> None:
    whole = np.array([7.0, 8.0])
    engine = run(lambda a: {"out": whole[:1]})  # noqa: ARG005 - a's name is the port's
    whole[0] = 9.0
    assert held(engine, "r") == 7.0


def test_an_input_handed_on_is_a_value() -> None:
    engine = run(lambda a: {"out": a})
    assert held(engine, "r") == 2.0
    change(engine, quantity("q", 3.0))
    assert held(engine, "r") == 3.0


class MuteError(Exception):
    """An exception that cannot say what it is."""

    def __str__(self) -> NoReturn:
        raise ValueError("no text either")


def raising(error: BaseException) -> Callable[..., NoReturn]:
    def function(a: object) -> NoReturn:
        raise error

    return function


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (ValueError("no root"), "the check failed: ValueError: no root"),
        (MemoryError(), "the check failed: MemoryError: "),
        (SystemExit(3), "the check failed: SystemExit: 3"),
        (GeneratorExit("gone"), "the check failed: GeneratorExit: gone"),
        (MuteError(), "the check failed: MuteError"),
        (
            ValueError("\x1b[31m[@click=app.quit]"),
            "the check failed: ValueError: \x1b[31m[@click=app.quit]",
        ),
    ],
)
def test_an_exception_is_a_reason(error: BaseException, says: str) -> None:
    assert reason(raising(error)) == says


def test_a_long_exception_text_is_cut() -> None:
    assert len(reason(raising(ValueError("x" * 10**6)))) < 500


def test_the_users_break_passes() -> None:
    with pytest.raises(KeyboardInterrupt):
        run(raising(KeyboardInterrupt()))


def test_a_check_that_recurses_without_end_is_unknown() -> None:
    def forever(a: object) -> object:
        return forever(a)

    assert reason(forever).startswith("the check failed: RecursionError")


def test_inputs_cannot_be_changed() -> None:
    def greedy(a: Array) -> dict[str, Array]:
        a += 1.0
        return {"out": a}

    engine = run(greedy)
    assert held(engine, "q") == 2.0
    found = held(engine, "r")
    assert isinstance(found, Unknown)
    assert "read-only" in found.reason


def test_a_check_that_divides_by_zero_warns_nobody() -> None:
    assert reason(lambda a: {"out": a / 0.0}) == "out is not finite"


@pytest.mark.parametrize(
    "outputs",
    [
        "text",
        None,
        Outputs({"out": np.array([1.0])}, problems=[None]),  # type: ignore[list-item] # a stranger's
        Outputs({"out": np.array([1.0])}, problems=[Problem(np.array([]), "none")]),
        Outputs(None),  # type: ignore[arg-type] # a stranger's
    ],
)
def test_outputs_that_are_none_are_a_failure(outputs: Any) -> None:  # noqa: ANN401 - a stranger's
    toy = Toy("stranger", (port("a"),), (REAL,), lambda a: outputs)  # noqa: ARG005 - a's name is the port's
    toy.compute = lambda inputs, config: outputs  # type: ignore[method-assign] # noqa: ARG005 - as it is
    records = (decision("D"), quantity("q", 1.0), quantity("r"))
    bound = use("C", "stranger", {"a": "q"}, {"out": "r"})
    found = held(engine_of(*records, bound, shelf=Shelf({"stranger": toy})), "r")
    assert isinstance(found, Unknown)
    assert found.reason.startswith("the check failed")


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ("no solution", "no solution"),
        (np.array([1.0, 2.0]), "[1. 2.]"),
        ("x" * 1000, "x" * 400),
    ],
)
def test_a_problem_gives_its_reason_as_text(told: Any, says: str) -> None:  # noqa: ANN401 - a stranger's
    outputs = Outputs({"out": np.array([1.0])}, [Problem(YES, told)])
    engine = run(lambda a: outputs)  # noqa: ARG005 - a's name is the port's
    assert held(engine, "r") == Unknown(says, "C")
    change(engine, quantity("q", 5.0))
    assert held(engine, "r") == Unknown(says, "C")


def test_a_problem_may_be_about_one_output_or_another_row() -> None:
    engine = run(
        lambda a: Outputs(
            {"out": a, "two": a},
            [Problem(YES, "it slips", ("two",)), Problem(~YES, "another row")],
        ),
        REAL,
        port("two"),
    )
    assert held(engine, "r") == 2.0
    assert held(engine, "two") == Unknown("it slips", "C")
    assert engine.state.blocks == [Unknown("it slips", "C")]


def test_the_first_unknown_output_is_why_a_check_gave_not_everything() -> None:
    engine = run(lambda a: {"out": a / 0, "two": None}, REAL, port("two"))
    assert engine.state.blocks == [Unknown("out is not finite", "C")]
    assert held(engine, "two") == Unknown("two came back as nothing", "C")


def test_an_optional_output_may_be_absent_with_its_reason() -> None:
    optional = port("out", optional=True)
    outputs = Outputs({}, absences=[Absence("out", YES, "parallel links")])
    engine = run(lambda a: outputs, optional)  # noqa: ARG005 - a's name is the port's
    assert held(engine, "r") == Absent("parallel links")
    assert engine.state.blocks == [None]
    assert engine.state.standings["D"].unset is None


@pytest.mark.parametrize(
    ("absence", "says"),
    [
        (Absence("out", YES, "parallel links"), "out may not be absent: parallel links"),
        (Absence("out", ~YES, "another row"), "out came back as nothing"),
        (Absence("other", YES, "another port"), "out came back as nothing"),
    ],
)
def test_no_other_output_may_be_absent(absence: Absence, says: str) -> None:
    assert reason(lambda a: Outputs({}, absences=[absence])) == says  # noqa: ARG005 - a's name is the port's


def test_a_rule_on_an_absent_output_counts_against_nobody() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        decision("E"),
        quantity("q", 0.0),
        requirement("R", "q", upper=4.0),
        use("C", "inverse", {"a": "q"}),
        use("X", "inverse", {"a": "q"}, decision="E"),
    )
    judged = finding(engine, "C", "inverse")
    assert judged.judgement.verdict is Verdict.UNKNOWN
    assert judged.moot
    assert judged.reason == "it does not exist here: a is zero"
    assert engine.state.standings["D"] == StandingOf(Standing.STANDS)
    assert engine.state.standings["E"] == StandingOf(Standing.UNPROVEN)  # nothing judges it
    change(engine, quantity("q", 3.0))
    assert finding(engine, "C", "inverse").judgement.verdict is Verdict.MISSED
    assert engine.state.standings["D"].standing is Standing.BROKEN


def test_a_requirement_on_an_absent_output_is_not_proven() -> None:
    engine = engine_of(
        decision("D", serves=("R",)),
        quantity("q", 0.0),
        quantity("inv"),
        requirement("R", "inv", 0.5),
        use("C", "inverse", {"a": "q"}, {"inverse": "inv"}),
    )
    assert not finding(engine, "R").moot
    assert engine.state.standings["D"].standing is Standing.UNPROVEN


def test_a_rule_on_a_flag_and_on_a_choice_judges_words() -> None:
    engine = engine_of(decision("D"), quantity("q", 1.0), use("C", "grade", {"a": "q"}))
    assert finding(engine, "C", "good").judgement.verdict is Verdict.MET
    assert finding(engine, "C", "grade").judgement.verdict is Verdict.MET
    change(engine, quantity("q", -3.0))
    assert finding(engine, "C", "good").judgement.verdict is Verdict.MISSED
    assert finding(engine, "C", "grade").judgement.verdict is Verdict.MISSED


def test_a_rule_on_an_output_without_a_value_is_unknown() -> None:
    rule = Rule(output="out", lower=0.0, scale=1.0, reason="it must", source="a drawing")
    toy = Toy("stranger", (port("a"),), (REAL,), lambda a: {"out": a / 0}, (rule,))
    bound = use("C", "stranger", {"a": "q"})
    engine = engine_of(decision("D"), quantity("q", 1.0), bound, shelf=Shelf({"stranger": toy}))
    judged = finding(engine, "C", "out")
    assert (judged.reason, judged.cause, judged.moot) == ("out is not finite", "C", False)
