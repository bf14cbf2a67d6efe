"""Why a verdict is not met: the smallest sets of changes that, put back, have it met again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.errors import CancelledError
from tracker.evaluate.engine import Engine
from tracker.explore.explain import Explanation, explain, is_met
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import Decision, DecisionState, Record, Setting
from tracker.model.values import Kind


def leaning(made: Decision, option: str) -> Decision:
    chosen = next(each for each in made.options if each.key == option)
    return replace(made, state=DecisionState.LEANING, chosen=chosen.id)


OWNED = decision("O", {"a": {"u": 1.0, "v": 1.0}, "b": {"u": 3.0, "v": 1.0}})
START: list[Record] = [
    decision("D", serves=("R",)),
    quantity("p", 1.0),
    quantity("q", 1.0),
    quantity("idle", 1.0),
    leaning(OWNED, "a"),
    quantity("u"),
    quantity("v"),
    quantity("pq"),
    quantity("uv"),
    quantity("sum"),
    requirement("R", "sum", None, 5.0),
    use("C1", "add", {"a": "p", "b": "q"}, {"out": "pq"}),
    use("C2", "add", {"a": "u", "b": "v"}, {"out": "uv"}),
    use("C3", "add", {"a": "pq", "b": "uv"}, {"out": "sum"}),
]
"""The sum of p, q, u and v, at most 5; it starts at 4."""


def changed(engine: Engine, *after: Record) -> None:
    engine.advance([Entry(engine.programme.get(each.id), each) for each in after])


def explained(*after: Record, start: Sequence[Record] = START) -> Explanation:
    engine = engine_of(*start)
    assert is_met(engine, "R")
    changed(engine, *after)
    assert not is_met(engine, "R")
    before = engine.state.slots.copy()
    found = explain(engine, Programme(list(start)), "R")
    assert engine.state.slots == before
    return found


def names(found: Explanation) -> list[set[str]]:
    return [{each.setting or each.id for each in one} for one in found.sets]


def test_one_value_explains_it() -> None:
    found = explained(quantity("p", 9.0), quantity("q", 1.5), quantity("idle", 7.0))
    assert names(found) == [{"p"}]
    assert found.smallest
    assert {each.id for each in found.changed} == {"p", "q"}
    assert found.checks == ()


def test_either_of_two_explains_it() -> None:
    assert names(explained(quantity("p", 1.8), quantity("q", 1.8))) == [{"p"}, {"q"}]


def test_two_together_explain_it() -> None:
    found = explained(quantity("p", 9.0), quantity("q", 9.0))
    assert names(found) == [{"p", "q"}]


def test_another_option_explains_it() -> None:
    assert names(explained(leaning(OWNED, "b"))) == [{"O"}]


def test_what_the_option_states_explains_it() -> None:
    options = tuple(
        replace(each, settings={**each.settings, "u": Setting(value=4.0), "v": Setting(value=1.5)})
        for each in OWNED.options
    )
    found = explained(leaning(replace(OWNED, options=options), "a"))
    assert names(found) == [{"u"}]
    assert {each.setting for each in found.changed} == {"u", "v"}


def test_what_two_settings_of_one_option_explain_together() -> None:
    options = tuple(
        replace(each, settings={"u": Setting(value=4.0), "v": Setting(value=4.0)})
        for each in OWNED.options
    )
    assert names(explained(leaning(replace(OWNED, options=options), "a"))) == [{"u", "v"}]


def test_a_setting_that_was_not_stated_cannot_have_met_it() -> None:
    options = tuple(replace(each, settings={"u": Setting(value=9.0)}) for each in OWNED.options)
    found = explained(leaning(replace(OWNED, options=options), "a"))
    assert names(found) == [{"u", "v"}]


def test_a_decision_that_was_open_is_put_back_open() -> None:
    start = [each for each in START if each.id not in ("C2", "C3", "uv")]
    start += [use("C3", "add", {"a": "pq"}, {"out": "sum"}), use("C4", "halve", {"a": "u"})]
    engine = engine_of(*start)
    changed(engine, quantity("p", 9.0))
    assert names(explain(engine, Programme(start), "R")) == [{"p"}]
    back = explained(leaning(OWNED, "b"), quantity("p", 4.5))
    assert names(back) == [{"O", "p"}]


def test_a_tighter_band_explains_it() -> None:
    found = explained(requirement("R", "sum", None, 3.0))
    assert names(found) == [{"R"}]


def test_another_check_is_named_where_no_value_explains_it() -> None:
    other = use("C3", "add", {"a": "pq", "b": "pq"}, {"out": "sum"})
    found = explained(quantity("p", 4.0), other, quantity("q", 1.2))
    assert found.checks == ("C3",)
    assert names(found) == [{"p"}]
    nothing = explained(use("C3", "price", {"a": "pq"}, {"out": "sum"}))
    assert (nothing.sets, nothing.smallest, nothing.changed) == ((), True, ())


def test_what_changed_its_nature_is_not_put_back() -> None:
    """A decision that owned nothing then, and one that owned less."""
    start = [each for each in START if each.id != "O"]
    plain = [*start, leaning(decision("O", {"a": {"v": 1.0}}), "a")]
    plain = [quantity("u", 1.0) if each.id == "u" else each for each in plain]
    found = explained(*(each for each in START if each.id == "u"), leaning(OWNED, "b"), start=plain)
    assert found.sets == ()
    more = decision("O", {"a": {"u": 1.0, "v": 1.0}, "b": {"u": 9.0, "v": 1.0, "w": 1.0}})
    grown = explained(leaning(more, "b"), quantity("w"))
    assert grown.changed == ()


def test_an_option_taken_back_while_open() -> None:
    """Nothing is applied now: what was leaned to is put back."""
    found = explained(replace(OWNED, state=DecisionState.OPEN, chosen=""))
    assert names(found) == [{"O"}]


def test_many_changes_are_shrunk_instead() -> None:
    many = 14
    start: list[Record] = [
        decision("D", serves=("R",)),
        quantity("s0", 0.0),
        *(quantity(f"p{each}", 1.0) for each in range(many)),
        *(quantity(f"s{each + 1}") for each in range(many)),
        requirement("R", f"s{many}", None, 20.0),
        *(
            use(f"C{each}", "add", {"a": f"s{each}", "b": f"p{each}"}, {"out": f"s{each + 1}"})
            for each in range(many)
        ),
    ]
    found = explained(*(quantity(f"p{each}", 9.0) for each in range(many)), start=start)
    assert not found.smallest
    assert [len(each) for each in found.sets] == [14]  # 13 put back leave 13 + 9
    other = use("C0", "price", {"a": "s0"}, {"out": "s1"})
    hopeless = explained(*(quantity(f"p{e}", 9.0) for e in range(many)), other, start=start)
    assert (hopeless.sets, hopeless.smallest) == ((), False)
    looser = requirement("R", f"s{many}", None, 40.0)
    easier = [looser if each.id == "R" else each for each in start]
    some = explained(*(quantity(f"p{each}", 9.0) for each in range(many)), start=easier)
    assert [len(each) for each in some.sets] == [11]  # 11 · 1 + 3 · 9 = 38


def test_points_go_back_whole() -> None:
    start: list[Record] = [
        decision("D", serves=("R",)),
        quantity("p", (0.0, 0.0, 1.0), Kind.POINT),
        requirement("R", "p|z", None, 2.0),
    ]
    found = explained(quantity("p", (0.0, 5.0, 3.0), Kind.POINT), start=start)
    assert names(found) == [{"p"}]


def test_what_is_not_there_is_not_met() -> None:
    assert not is_met(engine_of(decision("D")), "R")


def test_it_tells_how_far_it_got_and_stops_when_asked() -> None:
    engine = engine_of(*START)
    changed(engine, quantity("p", 9.0), quantity("q", 9.0))
    told: list[str] = []
    explain(engine, Programme(START), "R", progress=told.append)
    assert told == [
        "all sets of up to 1 of 2 changes tried",
        "all sets of up to 2 of 2 changes tried",
    ]
    with pytest.raises(CancelledError):
        explain(engine, Programme(START), "R", cancel=lambda: True)
