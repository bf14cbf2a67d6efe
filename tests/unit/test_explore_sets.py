"""Option sets: counting far beyond enumeration, limits, reasons, goals."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.property.toy_checks import TOYS, Shelf, Toy, port
from tests.unit.small_world import INFO, decision, engine_of, quantity, requirement, settled, use
from tracker.contract.check import Array, Outputs
from tracker.errors import BadValueError, CancelledError
from tracker.evaluate.engine import Engine
from tracker.explore.option_best import Target
from tracker.explore.option_reasons import Killed, killed
from tracker.explore.option_sets import OptionSets, SetPlan, option_sets
from tracker.explore.option_tables import Table
from tracker.explore.option_walk import Limit, Walker
from tracker.model.programme import Programme
from tracker.model.records import DecisionState, Record
from tracker.model.values import CellKind, Column, Kind


def numbers(count: int) -> dict[str, float]:
    return {f"o{place}": float(place) for place in range(count)}


def choosing(key: str, values: Mapping[str, Any]) -> list[Record]:
    """Return an open decision that sets one quantity, called as it with a q."""
    return [quantity(f"q{key}"), decision(key, {n: {f"q{key}": v} for n, v in values.items()})]


def total(key: str, *sources: str) -> tuple[Record, Record]:
    """Return a quantity and the check that adds two into it."""
    inputs = dict(zip("ab", sources, strict=False))
    return quantity(key), use(f"C{key}", "add", inputs, {"out": key}, decision="A")


def dead(found: OptionSets) -> dict[tuple[str, str], Killed]:
    return {
        (
            found.decisions[each.decision].key,
            found.decisions[each.decision].options[each.option].key,
        ): each
        for each in found.killed
    }


def test_single_decisions_are_multiplied_and_not_enumerated() -> None:
    """12 decisions with 10 options each, of which 7 keep the requirement: 7¹² of 10¹²."""
    records: list[Record] = []
    for place in range(12):
        records += choosing(f"D{place}", numbers(10))
        records.append(requirement(f"R{place}", f"qD{place}", upper=6.0))
    found = option_sets(engine_of(*records))
    assert (found.total, found.count) == (10**12, 7**12)
    assert found.evaluated == 120
    assert found.total // found.evaluated >= 10**6
    assert len(found.groups) == 12
    assert len(found.killed) == 36
    assert all(not each.others and not each.conflicts[0].choices for each in found.killed)
    assert len(found.sets) == 10
    assert found.sets[0].margin == 1.0


def test_a_chain_of_decisions_is_counted_along_the_chain() -> None:
    """40 decisions, neighbours not both large: counted by the powers of a transfer matrix."""
    records: list[Record] = []
    for place in range(40):
        records += choosing("A" if place == 0 else f"D{place}", numbers(5))
    keys = ["A", *(f"D{place}" for place in range(1, 40))]
    for left, right in itertools.pairwise(keys):
        records += total(f"t{left}", f"q{left}", f"q{right}")
        records.append(requirement(f"R{left}", f"t{left}", upper=5.0))
    found = option_sets(engine_of(*records), SetPlan(most=3))
    fits = np.array([[int(a + b <= 5) for a in range(5)] for b in range(5)], dtype=object)
    ways = np.array([1] * 5, dtype=object)
    for _ in range(39):
        ways = fits.dot(ways)
    assert found.count == ways.sum()
    assert found.count > 10**20
    assert found.total == 5**40
    assert found.evaluated == 39 * 25
    assert [each.margin for each in found.sets] == [1.0, 0.8, 0.8]
    assert len(found.groups) == 1
    assert not found.killed


def test_a_group_too_large_is_refused_with_its_decisions_named() -> None:
    records = [each for key in "ABCD" for each in choosing(key, numbers(4))]
    records += [*total("ab", "qA", "qB"), *total("abc", "ab", "qC"), *total("abcd", "abc", "qD")]
    engine = engine_of(*records, requirement("R", "abcd", upper=3.0))
    assert option_sets(engine).count == 35  # 4 + 4 - 1 choose 4: the sums up to 3
    with pytest.raises(BadValueError, match=r"depends on A, B, C, D: 256 combinations") as told:
        option_sets(engine, SetPlan(limit=255))
    assert "limit of 255" in str(told.value)
    assert told.value.field == "limit"
    assert option_sets(engine, SetPlan(limit=256)).count == 35


def test_a_requirement_on_too_many_decisions_is_refused_before_any_work() -> None:
    records = [
        each for key in ["A", *(f"D{n}" for n in range(63))] for each in choosing(key, numbers(2))
    ]
    last = "qA"
    for place in range(63):
        records += total(f"t{place}", last, f"qD{place}")
        last = f"t{place}"
    engine = engine_of(*records, requirement("R", last, upper=3.0))
    with pytest.raises(BadValueError, match="18446744073709551616 combinations"):
        option_sets(engine)


def test_requirements_on_fewer_decisions_prune_those_on_more() -> None:
    records = [each for key in "ABC" for each in choosing(key, numbers(10))]
    records += [requirement(f"R{key}", f"q{key}", upper=1.0) for key in "ABC"]
    records += [*total("ab", "qA", "qB"), *total("abc", "ab", "qC")]
    records += [requirement("RAB", "ab", upper=1.0), requirement("RABC", "abc", upper=1.0)]
    found = option_sets(engine_of(*records))
    assert found.evaluated == 30 + 4 + 6
    assert found.count == 4


def test_why_an_option_is_dead() -> None:
    """With b too high, only a1 and a2 are left over, and they each meet another obstacle."""
    engine = engine_of(
        *choosing("A", {"low": 1.0, "high": 4.0, "over": 9.0, "none": None}),
        *choosing("B", {"b1": 2.0, "b2": 3.0, "b3": 8.0}),
        *total("ab", "qA", "qB"),
        requirement("RA", "qA", upper=5.0),
        requirement("RB", "qB", upper=5.0),
        requirement("RAB", "ab", upper=5.5),
    )
    found = option_sets(engine)
    assert (found.total, found.count) == (12, 2)
    why = dead(found)
    assert set(why) == {("A", "high"), ("A", "over"), ("A", "none"), ("B", "b3")}
    name = [judge.id for judge in engine.graph.judges]
    over, none, high = (why["A", each] for each in ("over", "none", "high"))
    assert (over.others, name[over.conflicts[0].judge], over.conflicts[0].missed) == (
        (),
        "RA",
        True,
    )
    assert (none.others, none.conflicts[0].missed, none.conflicts[0].choices) == ((), False, ())
    assert high.others == (1,)
    told = [(name[each.judge], each.choices, each.itself) for each in high.conflicts]
    assert told == [
        ("RAB", ((1, 0),), True),
        ("RAB", ((1, 1),), True),
        ("RB", ((1, 2),), False),
    ]
    assert high.smallest


def pairs_that_differ(*scope: int) -> Table:
    flags = np.array([False, True, True, False])
    nobody = np.zeros(4, dtype=np.intp)
    return Table(scope, (2, 2), np.arange(4), flags, nobody, ~flags, np.ones(4), nobody)


def test_where_a_smaller_reason_cannot_be_held_it_is_said_so() -> None:
    """Fewer requirements may leave more combinations than the limit, where all of them do not."""
    tables = [pairs_that_differ(0, 1), pairs_that_differ(0, 2), pairs_that_differ(1, 2)]
    exact = killed(Walker((2, 2, 2), tables, Limit(100)), (0, 1, 2), 0, 0)
    assert (exact.others, exact.smallest) == ((1, 2), True)
    unsure = killed(Walker((2, 2, 2), tables, Limit(1)), (0, 1, 2), 0, 0)
    assert (unsure.others, unsure.smallest) == ((1, 2), False)


def test_many_conflicts_are_cut_short() -> None:
    records = [*choosing("A", {"a": 9.0, "b": 0.0}), *choosing("B", numbers(40))]
    records += [*total("ab", "qA", "qB"), requirement("RAB", "ab", upper=8.5)]
    found = option_sets(engine_of(*records))
    cut = dead(found)["A", "a"]
    assert (len(cut.conflicts), cut.left_out) == (24, 16)


def alike(key: str, left: str, right: str, **band: float) -> list[Record]:
    """Return a check that gives 1 where two inputs are the same, else 0, and its requirement."""
    made = use(f"C{key}", "same", {"i0": left, "i1": right}, {"out": key}, decision="A")
    return [quantity(key), made, requirement(f"R{key}", key, **band)]


def _same(i0: Array, i1: Array) -> Mapping[str, Array]:
    return {"out": (i0 == i1).astype(np.float64)}


def ring(size: int, *more: Record) -> Engine:
    """Return decisions that must be the same around a ring, but for one pair that must not."""
    toys = {**TOYS, "same": Toy("same", (port("i0"), port("i1")), (port("out"),), _same)}
    keys = ["A", *(f"D{place}" for place in range(1, size))]
    records: list[Record] = [INFO]
    for key in keys:
        records += choosing(key, numbers(2))
    for left, right in itertools.pairwise(keys):
        records += alike(f"s{left}", f"q{left}", f"q{right}", lower=0.5)
    records += alike("last", "qA", f"q{keys[-1]}", upper=0.5)
    return Engine(Shelf(toys), Programme([*records, *more]))


def test_a_reason_that_takes_all_decisions() -> None:
    found = option_sets(ring(5))
    assert found.count == 0
    assert len(found.killed) == 10
    assert all(len(each.others) == 4 and each.smallest for each in found.killed)


def test_a_reason_among_too_many_to_try_is_still_one() -> None:
    """Around 13 decisions none can be left out, which proves that there is no smaller reason."""
    found = option_sets(ring(13))
    assert found.count == 0
    assert all(len(each.others) == 12 and each.smallest for each in found.killed)


def test_a_reason_that_is_only_known_to_have_nothing_left_over() -> None:
    tail = [*total("tail", "qA", "qZ"), requirement("Rtail", "tail", upper=9.0)]
    whole = ring(13, *choosing("Z", numbers(2)), *tail)
    found = option_sets(whole, SetPlan(most=1))
    first = next(each for each in found.killed if found.decisions[each.decision].key == "A")
    assert len(first.others) == 12
    assert not first.smallest


@pytest.mark.parametrize(
    ("key", "part", "largest", "best"),
    [("cost", "", False, 5.0), ("cost", "", True, 9.0), ("spot", "y", False, 1.0)],
)
def test_goals(key: str, part: str, largest: bool, best: float) -> None:
    engine = engine_of(
        *choosing("A", {"a": 1.0, "b": 2.0, "c": 50.0}),
        decision(
            "B",
            {"x": {"qB": 4.0, "spot": (0.0, 3.0, 0.0)}, "y": {"qB": 7.0, "spot": (0.0, 1.0, 0.0)}},
        ),
        quantity("qB"),
        quantity("spot", kind=Kind.POINT),
        *total("cost", "qA", "qB"),
        requirement("R", "qA", upper=10.0),
    )
    found = option_sets(engine, SetPlan(target=Target(key, part, largest=largest), most=2))
    assert found.sets[0].value == best
    assert found.evaluated == 3 + (2 if part else 4)
    assert [each.key for each in found.decisions] == ["A", "B"]


def test_an_unknown_goal_comes_last() -> None:
    engine = engine_of(*choosing("A", {"a": None, "b": 2.0}), quantity("gone"))
    found = option_sets(engine, SetPlan(target=Target("qA")))
    assert [each.value for each in found.sets] == [2.0, None]
    nowhere = option_sets(engine, SetPlan(target=Target("gone")))
    assert [each.value for each in nowhere.sets] == [None, None]
    assert nowhere.evaluated == 1


def test_a_goal_that_depends_on_too_much_is_refused_by_name() -> None:
    records = [each for key in "ABCD" for each in choosing(key, numbers(4))]
    records += [*total("ab", "qA", "qB"), *total("abc", "ab", "qC"), *total("cost", "abc", "qD")]
    engine = engine_of(*records)
    assert option_sets(engine, SetPlan(limit=100)).count == 256
    with pytest.raises(BadValueError, match="cost depends on A, B, C, D: 256 combinations"):
        option_sets(engine, SetPlan(target=Target("cost"), limit=100))


@pytest.mark.parametrize(("key", "part"), [("c", ""), ("p", ""), ("p", "q"), ("t", "[a].amount")])
def test_a_goal_is_a_number(key: str, part: str) -> None:
    engine = engine_of(
        *choosing("A", numbers(2)),
        quantity("c", "low", Kind.CHOICE, choices=("low", "high")),
        quantity("p", (0.0, 0.0, 0.0), Kind.POINT),
        quantity(
            "t",
            (("a", 1.0),),
            Kind.TABLE,
            columns=(Column("name", CellKind.TEXT), Column("amount", CellKind.REAL)),
        ),
    )
    with pytest.raises(BadValueError, match="no number to make small or large"):
        option_sets(engine, SetPlan(target=Target(key, part)))


def test_nothing_open_and_nothing_to_choose() -> None:
    made = replace(decision("A", {"a": {}}), state=DecisionState.LEANING, chosen="A-a")
    with pytest.raises(BadValueError, match="no decision is open") as told:
        option_sets(engine_of(made))
    assert "leaning" in told.value.remedy
    assert option_sets(engine_of(made), SetPlan(leaning=True)).total == 1
    with pytest.raises(BadValueError, match="no decision is open") as told:
        option_sets(engine_of(settled(made, "a")), SetPlan(leaning=True))
    assert "leaning" not in told.value.remedy
    with pytest.raises(BadValueError, match="has no options"):
        option_sets(engine_of(decision("A", {})))


def test_what_no_choice_here_changes_is_told_apart() -> None:
    gone = replace(decision("W"), state=DecisionState.WITHDRAWN)
    engine = engine_of(
        *choosing("A", numbers(2)),
        gone,
        decision("K", {"k": {}}),
        *(quantity(each, 0.2) for each in "xy"),
        *(quantity(each) for each in ("hx", "hy", "hq")),
        use("CX", "halve", {"a": "x"}, {"out": "hx"}, decision="K"),
        use("CY", "halve", {"a": "y"}, {"out": "hy"}, decision="W"),
        use("CQ", "halve", {"a": "qA"}, {"out": "hq"}, decision="W"),
        requirement("RX", "x", upper=0.1),
        requirement("RY", "y", upper=0.3),
    )
    found = option_sets(engine)
    assert [engine.graph.judges[each].id for each in found.beside] == ["RX", "CX"]
    assert found.count == 2  # a withdrawn decision's rule asks nothing of anybody


def test_a_rule_with_nothing_to_judge_rules_nothing_out() -> None:
    engine = engine_of(
        *choosing("A", {"a": 0.0, "b": 9.0, "c": 1.0}),
        quantity("x"),
        quantity("y"),
        use("I", "inverse", {"a": "qA"}, {"inverse": "x", "twice": "y"}, decision="A"),
    )
    found = option_sets(engine)
    assert found.count == 2
    assert list(dead(found)) == [("A", "b")]
    assert [each.closest for each in found.sets] == [None, 0]


def test_it_tells_how_far_it_got_and_can_be_stopped_anywhere() -> None:
    records = [*choosing("A", numbers(3)), *choosing("B", numbers(3)), *total("ab", "qA", "qB")]
    engine = engine_of(
        *records, requirement("RA", "qA", upper=1.5), requirement("R", "ab", upper=2.0)
    )
    told: list[str] = []
    whole = option_sets(engine, progress=told.append)
    assert told[0] == "3 combinations evaluated, 1 of 2 groups of requirements asked"
    assert told[-1].endswith("looking for the best")
    before = list(engine.state.slots)
    for stop in range(200):
        asked = iter(range(stop))
        try:
            found = option_sets(engine, cancel=lambda asked=asked: next(asked, None) is None)  # type: ignore[misc] # binds the loop's
        except CancelledError:
            continue
        assert found == whole
        break
    assert 5 < stop < 199
    assert list(map(id, engine.state.slots)) == list(map(id, before))


def _counting(seen: list[int]) -> Toy:
    def keep(a: Array) -> Outputs:
        seen.append(len(a))
        return Outputs({"out": a})

    return Toy("count", (port("a"),), (port("out"),), keep)


def test_combinations_are_evaluated_in_batches() -> None:
    seen: list[int] = []
    shelf = Shelf({**TOYS, "count": _counting(seen)})
    records: Sequence[Record] = [each for key in "ABC" for each in choosing(key, numbers(30))]
    engine = engine_of(
        *records,
        *total("ab", "qA", "qB"),
        *total("abc", "ab", "qC"),
        quantity("out"),
        use("K", "count", {"a": "abc"}, {"out": "out"}, decision="A"),
        requirement("R", "out", upper=3.5),
        shelf=shelf,
    )
    seen.clear()
    found = option_sets(engine)
    assert found.evaluated == 27_000
    assert seen == [16_384, 27_000 - 16_384]
    assert found.count == 20  # 3 + 3 choose 3
