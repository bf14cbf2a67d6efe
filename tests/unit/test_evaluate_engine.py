"""The engine: what runs, what stops, and that trials, breaks and failures leave no trace."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from tests.property.engine_oracle import picture
from tests.property.toy_checks import TOYS, Shelf
from tests.unit.small_world import (
    INFO,
    change,
    decision,
    engine_of,
    finding,
    held,
    quantity,
    requirement,
    settled,
    use,
)
from tracker.errors import CancelledError, CycleError, StaleChangeError
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Unknown
from tracker.evaluate.standing import Standing
from tracker.evaluate.verdict import Verdict
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import Bound, Gate, Record, Ref
from tracker.model.values import Kind

D = decision("D")


def chain(length: int) -> list[Record]:
    """q0 → c1 → q1 → c2 → …, each check adding w."""
    records: list[Record] = [D, quantity("q0", 1.0), quantity("w", 1.0)]
    for number in range(1, length + 1):
        records.append(quantity(f"q{number}"))
        inputs = {"a": f"q{number - 1}", "b": "w"}
        records.append(use(f"c{number}", "add", inputs, {"out": f"q{number}"}))
    return records


def entry(engine: Engine, after: Record) -> Entry:
    return Entry(engine.programme.get(after.id), after)


def test_an_edit_runs_its_cone_in_order() -> None:
    engine = engine_of(*chain(4), use("aside", "add", {"a": "w"}))
    report = change(engine, quantity("q0", 5.0))
    assert report.ran == ["c1", "c2", "c3", "c4"]
    assert held(engine, "q4") == 9.0
    assert list(report.slots) == [(f"q{number}", "") for number in range(5)]


def test_the_order_of_records_does_not_matter() -> None:
    engine = engine_of(*reversed(chain(4)))
    assert change(engine, quantity("q0", 5.0)).ran == ["c1", "c2", "c3", "c4"]


def test_work_stops_where_an_output_keeps_its_bits() -> None:
    engine = engine_of(
        D,
        quantity("q", 2.0),
        quantity("s"),
        quantity("t"),
        use("S", "step", {"a": "q"}, {"out": "s"}),
        use("T", "add", {"a": "s"}, {"out": "t"}),
    )
    assert change(engine, quantity("q", 7.0)).ran == ["S"]
    assert change(engine, quantity("q", 0.0)).ran == ["S", "T"]
    assert change(engine, replace(quantity("q", 0.0), title="the same")).ran == []


def test_a_check_with_two_paths_to_the_edit_runs_once() -> None:
    engine = engine_of(
        D,
        quantity("q", 1.0),
        quantity("l"),
        quantity("r"),
        use("L", "add", {"a": "q"}, {"out": "l"}),
        use("R", "add", {"a": "q"}, {"out": "r"}),
        use("B", "add", {"a": "l", "b": "r"}),
        use("A", "add", {"a": "q", "b": "q"}),
    )
    assert sorted(change(engine, quantity("q", 2.0)).ran) == ["A", "B", "L", "R"]


def test_unknown_spreads_with_its_first_cause() -> None:
    engine = engine_of(*chain(3))
    report = change(engine, quantity("w"))
    assert report.ran == []
    assert held(engine, "q3") == Unknown("no value is given", "w")
    change(engine, quantity("q0"))
    assert held(engine, "q3") == Unknown("no value is given", "q0")
    assert change(engine, quantity("q0", 1.0), quantity("w", 1.0)).ran == ["c1", "c2", "c3"]


def test_a_band_that_moves_is_judged_without_running_anything() -> None:
    bare = requirement("R", "q1", 1.0, 3.0)
    engine = engine_of(*chain(1)[1:], decision("D", serves=("R",)), bare)
    assert finding(engine, "R").judgement.verdict is Verdict.MET
    report = change(engine, replace(bare, upper=Bound(value=1.5)))
    assert report.ran == []
    assert list(report.findings) == [("R", "")]
    assert finding(engine, "R").judgement.verdict is Verdict.MISSED
    before = report.standings["D"]
    assert before is not None
    assert (before.standing, engine.state.standings["D"].standing) == (
        Standing.STANDS,
        Standing.BROKEN,
    )


def test_a_requirement_on_a_choice_or_a_flag_is_met_or_missed() -> None:
    engine = engine_of(
        quantity("grade", "b", Kind.CHOICE, choices=("a", "b")),
        quantity("flag", value=False, kind=Kind.FLAG),
        requirement("R", "grade", allowed=("b",)),
        requirement("S", "flag", allowed=("yes",)),
    )
    assert finding(engine, "R").judgement.verdict is Verdict.MET
    assert finding(engine, "S").judgement.verdict is Verdict.MISSED
    assert finding(engine, "S").judgement.margin is None


def test_gates_and_words_move_nothing() -> None:
    engine = engine_of(*chain(2))
    before = engine.graph
    gate = Gate(id="G", key="G", title="First", date="2031-01-31")
    for after in (
        gate,
        replace(gate, title="1st"),
        replace(D, question="Why?"),
        replace(INFO, title="T"),
    ):
        report = change(engine, after)
        assert (report.ran, report.slots, report.standings) == ([], {}, {})
    engine.advance([Entry(replace(gate, title="1st"), None)])
    assert engine.graph is before


def test_new_structure_runs_only_what_is_new_or_reads_something_else() -> None:
    engine = engine_of(*chain(3))
    change(engine, requirement("R", "q3", upper=9.0))
    report = change(engine, quantity("x"), use("X", "add", {"a": "q3"}, {"out": "x"}))
    assert report.ran == ["X"]
    assert report.slots == {("x", ""): None}
    assert report.findings == {}
    report = change(engine, use("X", "add", {"a": "q1"}, {"out": "x"}))
    assert report.ran == ["X"]
    report = change(engine, use("c2", "add", {"a": "q1", "b": "q0"}, {"out": "q2"}))
    assert report.ran == ["c2"]  # its output keeps its bits
    assert report.slots == {}


def test_what_loses_its_check_has_no_value() -> None:
    engine = engine_of(*chain(2))
    gone = engine.programme.get("c1")
    report = engine.advance([Entry(gone, None)])
    assert report.ran == []
    assert held(engine, "q2") == Unknown("no value is given", "q1")


def test_a_renamed_check_with_a_fault_keeps_what_it_says() -> None:
    engine = engine_of(D, quantity("q", 1.0), quantity("r"), use("C", "add", {}, {"out": "r"}))
    before = held(engine, "r")
    change(engine, replace(use("C", "add", {}, {"out": "r"}), key="other"))
    assert held(engine, "r") == before
    assert before == Unknown("a: the input is not bound. Bind it: the a", "C")


def test_a_missing_plugin_is_named() -> None:
    engine = engine_of(*chain(2), shelf=Shelf({}))
    assert held(engine, "q2") == Unknown("add: no such check is installed", "c2")


RINGS = [
    ([use("c1", "add", {"a": "q1"}, {"out": "q1"})], "c1"),
    ([use("c1", "add", {"a": "q2", "b": "w"}, {"out": "q1"})], "c1 → c2"),
    (
        [
            quantity("hub", kind=Kind.POINT),
            quantity("x"),
            use("M", "move", {"p": "hub", "d": "x"}, {"out": "hub"}),
        ],
        "M",
    ),
    # also where one of the bindings in the ring does not hold now
    ([use("c1", "gone", {"a": "q2"}, {"out": "q1"})], "c1 → c2"),
    ([use("c1", "add", {"z": "q3"}, {"out": "q1"})], "c1 → c2 → c3"),
]


@pytest.mark.parametrize(("after", "path"), RINGS)
def test_a_ring_is_refused_with_its_path(after: Sequence[Record], path: str) -> None:
    engine = engine_of(*chain(3))
    before = picture(engine)
    with pytest.raises(CycleError) as refused:
        change(engine, *after)
    told = refused.value.message.removeprefix("checks would feed each other: ").split(" → ")
    assert " → ".join(sorted(told[:-1])) == path
    assert (refused.value.item, told[-1]) == (told[0], told[0])
    assert refused.value.remedy
    assert picture(engine) == before
    assert change(engine, quantity("q0", 2.0)).ran == ["c1", "c2", "c3"]


EDITS = [
    pytest.param(lambda e: [entry(e, quantity("q0", 5.0))], id="a value"),
    pytest.param(
        lambda e: [entry(e, use("c2", "halve", {"a": "w"}, {"out": "q2"}))], id="structure"
    ),
    pytest.param(lambda e: [Entry(e.programme.get("c1"), None)], id="a removal"),
    pytest.param(lambda e: [entry(e, settled(D, "a")), entry(e, quantity("w"))], id="several"),
]


@pytest.mark.parametrize("edit", EDITS)
@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_break_leaves_no_trace(edit, after: int) -> None:  # type: ignore[no-untyped-def] # noqa: ANN001 - a lambda from EDITS
    engine = engine_of(*chain(4), requirement("R", "q4", upper=3.0))
    before, asked = picture(engine), iter(range(after))
    try:
        engine.advance(edit(engine), lambda: next(asked, None) is None)
    except CancelledError:
        assert picture(engine) == before
    else:
        assert picture(engine) != before


def test_a_break_while_loading_stops() -> None:
    with pytest.raises(CancelledError):
        Engine(Shelf(TOYS), Programme([INFO, *chain(3)]), lambda: True)


def test_a_cancel_that_never_comes_changes_nothing() -> None:
    engine, other = engine_of(*chain(3)), engine_of(*chain(3))
    for each, cancel in ((engine, None), (other, lambda: False)):
        each.advance([entry(each, quantity("q0", 4.0))], cancel)
    assert picture(engine) == picture(other)


@pytest.mark.parametrize("edit", EDITS)
def test_a_trial_leaves_no_trace(edit) -> None:  # type: ignore[no-untyped-def] # noqa: ANN001 - a lambda from EDITS
    engine = engine_of(*chain(4), requirement("R", "q4", upper=3.0))
    before, graph, slots = picture(engine), engine.graph, list(engine.state.slots)
    with engine.trial(edit(engine)):
        assert picture(engine) != before
    assert picture(engine) == before
    assert engine.graph is graph
    assert all(one is other for one, other in zip(slots, engine.state.slots, strict=True))


@pytest.mark.parametrize("edit", EDITS)
def test_a_trial_that_fails_inside_leaves_no_trace(edit) -> None:  # type: ignore[no-untyped-def] # noqa: ANN001 - a lambda from EDITS
    engine = engine_of(*chain(4))
    before = picture(engine)
    with pytest.raises(ZeroDivisionError), engine.trial(edit(engine)):
        raise ZeroDivisionError
    assert picture(engine) == before


def test_trials_nest() -> None:
    engine = engine_of(*chain(2))
    with engine.trial([entry(engine, quantity("q0", 2.0))]):
        middle = picture(engine)
        with engine.trial([entry(engine, use("c1", "halve", {"a": "q0"}, {"out": "q1"}))]):
            with engine.trial([entry(engine, quantity("w", 0.5))]):
                assert held(engine, "q2") == 1.5
            assert held(engine, "q2") == 2.0
        assert picture(engine) == middle
        assert held(engine, "q2") == 4.0
    assert held(engine, "q2") == 3.0


def test_a_trial_gives_what_the_edit_gives() -> None:
    engine = engine_of(*chain(3), requirement("R", "q3", upper=3.0))
    edit = [entry(engine, quantity("q0", 2.0))]
    with engine.trial(edit) as tried:
        within, ran = picture(engine), tried.ran
    assert engine.advance(edit).ran == ran
    assert picture(engine) == within


def test_an_edit_based_on_another_record_is_refused() -> None:
    engine = engine_of(*chain(1))
    before = picture(engine)
    with pytest.raises(StaleChangeError):
        engine.advance([Entry(quantity("q0", 9.0), quantity("q0", 2.0))])
    with pytest.raises(StaleChangeError), engine.trial([Entry(quantity("q0", 9.0), None)]):
        pass
    assert picture(engine) == before


def test_an_engine_of_nothing_works() -> None:
    engine = Engine(Shelf(TOYS), Programme())
    assert picture(engine).records == []
    change(engine, INFO, quantity("q", 1.0))
    assert held(engine, "q") == 1.0


def test_checks_bound_before_the_programme_has_a_name_know_no_money() -> None:
    engine = Engine(Shelf(TOYS), Programme(chain(1)))
    assert held(engine, "q1") == 2.0


def test_a_decision_that_is_put_elsewhere_takes_its_checks_along() -> None:
    bound = use("C", "halve", {"a": "q"})
    engine = engine_of(D, decision("E"), quantity("q", 4.0), bound)
    report = change(engine, replace(bound, decision="E"))
    standings = {key: held.standing for key, held in engine.state.standings.items()}
    assert standings == {"D": Standing.UNPROVEN, "E": Standing.STANDS}
    assert set(report.standings) == {"D", "E"}
    assert report.ran == []  # what it computes does not depend on who carries it


def test_two_checks_can_change_places() -> None:
    engine = engine_of(
        D,
        quantity("q", 4.0),
        quantity("l"),
        quantity("r"),
        use("A", "add", {"a": "q"}, {"out": "l"}),
        use("H", "halve", {"a": "q"}, {"out": "r"}),
    )
    report = change(
        engine,
        use("A", "add", {"a": "q"}, {"out": "r"}),
        use("H", "halve", {"a": "q"}, {"out": "l"}),
    )
    assert (held(engine, "l"), held(engine, "r")) == (2.0, 4.0)
    assert sorted(report.ran) == ["A", "H"]


def test_a_rebound_input_is_read_anew() -> None:
    engine = engine_of(*chain(1), quantity("z", 9.0))
    bound = use("c1", "add", {"a": "q0", "b": "w"}, {"out": "q1"})
    change(engine, replace(bound, inputs={**bound.inputs, "b": Ref(id="z")}))
    assert held(engine, "q1") == 10.0
