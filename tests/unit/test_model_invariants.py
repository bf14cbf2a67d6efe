"""What no stored programme may contain: each refusal names item, field and remedy."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.property.toy_checks import METRE, MM
from tests.unit.small_world import INFO, decision, quantity, requirement, settled, use
from tracker.errors import InputError
from tracker.model.changes import Entry
from tracker.model.invariants import check_entries, referrers
from tracker.model.programme import Programme
from tracker.model.records import (
    Basis,
    Bound,
    DecisionState,
    Gate,
    Record,
    Setting,
    Tolerance,
)
from tracker.model.values import CellKind, Column, Kind

COLUMNS = (Column("part", CellKind.TEXT), Column("mass"), Column("own", CellKind.FLAG))
GATE = Gate(id="G", key="G", title="First", date="2031-01-31")
Q = quantity("q", 1.0)
GRADE = quantity("grade", "b", Kind.CHOICE, choices=("a", "b"))
PARTS = quantity("parts", (("arm", 1.0, True),), Kind.TABLE, columns=COLUMNS)
C = use("C", "add", {"a": "q"}, {"out": "made"})
BASE: tuple[Record, ...] = (
    INFO,
    GATE,
    Q,
    quantity("free"),
    quantity("own"),
    quantity("made"),
    GRADE,
    quantity("flag", value=True, kind=Kind.FLAG),
    quantity("hub", (1.0, 2.0, 3.0), Kind.POINT),
    PARTS,
    requirement("R", "q", 0.0, 2.0),
    decision("D", {"a": {"own": 1.0}, "b": {"own": None}}, serves=("R",), gate="G"),
    decision("E", rests_on=("D",)),
    C,
)


def put(*after: Record) -> None:
    """Check a change that puts records, in place of those of the same id."""
    programme = Programme(BASE)
    entries = [Entry(programme.get(each.id), each) for each in after]
    programme.apply(entries)
    check_entries(programme, entries)


def remove(*keys: str) -> None:
    programme = Programme(BASE)
    entries = [Entry(programme.get(key), None) for key in keys]
    programme.apply(entries)
    check_entries(programme, entries)


def at(key: str) -> Record:
    return next(each for each in BASE if each.id == key)


def test_the_programme_itself_is_sound() -> None:
    programme = Programme(BASE)
    check_entries(programme, [Entry(None, each) for each in BASE])


@pytest.mark.parametrize(
    "after",
    [
        requirement("S", "hub|z", upper=4.0, parents=("R",), gate="G"),
        requirement("S", "parts|[arm].mass", upper=4.0),
        requirement("S", "parts|[9].own", allowed=("yes",)),
        requirement("S", "grade", allowed=("a",)),
        requirement("S", "flag", allowed=("yes", "no")),
        requirement("S", "q", 1.0, 1.0, scale=Bound(value=0.5), guard=0.0),
        requirement("S", "q", 0.0, scale=Bound(value=0.5), target=Bound(value=9.0)),
        quantity("n", low=1.0, high=1.0, tolerance=Tolerance(half_width=0.0)),
        replace(quantity("n"), given=Setting(reason="nobody knows")),
        replace(Q, key="renamed", title="two words"),
        settled(decision("E", {"a": {}, "b": {}}), "a"),
        replace(settled(decision("E"), "a"), state=DecisionState.LEANING, rationale=""),
        use("C2", "add", {"a": "R|lower"}, literals={"b": 1.0}),
        replace(INFO, currency="USD"),
    ],
)
def test_what_is_sound_passes(after: Record) -> None:
    put(after)


BAD_QUANTITIES = [
    (quantity("n", kind=Kind.CHOICE), "a choice needs its choices", "n", "choices"),
    (quantity("n", kind=Kind.TABLE), "a table needs its columns", "n", "columns"),
    (
        quantity("n", kind=Kind.TABLE, columns=(Column("a"), Column("a"))),
        "two columns share a name",
        "n",
        "columns",
    ),
    (quantity("n", "red"), "'red' is not a number", "n", "value"),
    (quantity("n", math.nan), "the number is not finite", "n", "value"),
    (replace(quantity("n"), given=Setting()), "an unknown needs its reason", "n", "value"),
    (
        replace(quantity("n"), given=Setting(value=1.0, basis=Basis(dated="2031-13-01"))),
        "'2031-13-01' is not a date",
        "n",
        "dated",
    ),
    (
        replace(quantity("n"), given=Setting(value=1.0, basis=Basis(dated="20310101"))),
        "'20310101' is not a date",
        "n",
        "dated",
    ),
    (quantity("n", low=2.0, high=1.0), "the range is upside down", "n", "low"),
    (quantity("n", low=math.nan), "the number is not finite", "n", "low"),
    (quantity("n", high=math.inf), "the number is not finite", "n", "high"),
    (
        quantity("n", tolerance=Tolerance(half_width=-1.0)),
        "a tolerance is not negative",
        "n",
        "tolerance",
    ),
    (
        quantity("n", tolerance=Tolerance(half_width=math.nan)),
        "a tolerance is not negative",
        "n",
        "tolerance",
    ),
    (replace(quantity("n"), title="a\nb"), "character 2 is a control character", "n", "title"),
    (quantity("a b"), "'a b' is not a key", "a b", "key"),
    (replace(quantity("n"), key="q"), "the key is taken", "q", "key"),
    (replace(Q, unit=MM), "the unit of an item stays as it was made", "q", "unit"),
    (replace(Q, kind=Kind.FLAG, given=None), "the kind of an item stays", "q", "kind"),
    (replace(GRADE, choices=("b",)), "the choices of an item stays", "grade", "choices"),
    (replace(PARTS, columns=COLUMNS[:2]), "the columns of an item stays", "parts", "columns"),
]
BAD_REQUIREMENTS = [
    (requirement("S", "hub", 1.0), "cannot judge hub as a whole", "S", "quantity"),
    (requirement("S", "parts", 1.0), "cannot judge parts as a whole", "S", "quantity"),
    (requirement("S", "hub|w", 1.0), "cannot judge hub.w", "S", "quantity"),
    (requirement("S", "q|x", 1.0), "cannot judge q.x", "S", "quantity"),
    (requirement("S", "parts|[1].part", 1.0), "cannot judge parts", "S", "quantity"),
    (requirement("S", "parts|[1].none", 1.0), "cannot judge parts", "S", "quantity"),
    (requirement("S", "q"), "a number needs a lower or an upper bound", "S", "lower"),
    (requirement("S", "q", 1.0, allowed=("yes",)), "a number needs a lower", "S", "lower"),
    (requirement("S", "q", 2.0, 1.0), "upside down: lower is above upper", "S", "lower"),
    (requirement("S", "q", math.nan), "the number is not finite", "S", "lower"),
    (requirement("S", "q", 1.0, math.inf), "the number is not finite", "S", "upper"),
    (requirement("S", "q", 1.0, target=Bound(value=math.nan)), "not finite", "S", "target"),
    (requirement("S", "q", 1.0, scale=Bound(value=math.inf)), "not finite", "S", "scale"),
    (requirement("S", "q", 1.0, scale=Bound(value=0.0)), "greater than zero", "S", "scale"),
    (requirement("S", "q", 1.0, guard=1.0), "a share from 0 to below 1", "S", "guard"),
    (requirement("S", "q", 1.0, guard=math.nan), "a share from 0 to below 1", "S", "guard"),
    (requirement("S", "q", 1.0, 1.0), "the band has no width", "S", "scale"),
    (requirement("S", "q", 0.0), "the band has no width", "S", "scale"),
    (requirement("S", "q", upper=0.0), "the band has no width", "S", "scale"),
    (requirement("S", "grade", allowed=("c",)), "must list the allowed values", "S", "allowed"),
    (requirement("S", "grade"), "must list the allowed values", "S", "allowed"),
    (requirement("S", "flag", 1.0, allowed=("yes",)), "and no bounds", "S", "allowed"),
    (requirement("S", "flag", allowed=("maybe",)), "must list the allowed", "S", "allowed"),
    (requirement("R", "q", 0.0, 2.0, parents=("R",)), "derive from itself", "R", "parents"),
    (requirement("S", "gone", 1.0), "no quantity has the id gone", "", ""),
    (requirement("S", "q", 1.0, parents=("D",)), "no requirement has the id D", "", ""),
    (requirement("S", "q", 1.0, gate="q"), "no gate has the id q", "", ""),
]
OPEN = decision("F", {"a": {}, "b": {}})
BAD_DECISIONS = [
    (replace(decision("F"), question=" "), "a decision asks a question", "F", "question"),
    (decision("F", serves=("q",)), "no requirement has the id q", "", ""),
    (decision("F", rests_on=("q",)), "no decision has the id q", "", ""),
    (decision("F", gate="q"), "no gate has the id q", "", ""),
    (decision("F", {"a b": {}}), "'a b' is not a key", "F", "option"),
    (
        replace(OPEN, options=(OPEN.options[0], OPEN.options[0])),
        "two options share a key",
        "F",
        "options",
    ),
    (
        decision("F", {"a": {"free": 1.0}}, owns=()),
        "sets a quantity the decision does not own",
        "F",
        "",
    ),
    (decision("F", {"a": {"free": "x"}}), "'x' is not a number", "F/a", "value"),
    (decision("F", {"a": {"gone": 1.0}}), "no quantity has the id gone", "", ""),
    (replace(OPEN, chosen="F-a"), "that is open has no applied option", "F", ""),
    (replace(OPEN, chosen="nothing"), "that is open has no applied option", "F", ""),
    (replace(OPEN, state=DecisionState.LEANING), "leaning has one applied option", "F", ""),
    (
        replace(settled(OPEN, "a"), rationale=" "),
        "cannot settle without a rationale",
        "F",
        "rationale",
    ),
    (replace(settled(OPEN, "a"), against={}), "without a reason against b", "F", "against"),
    (decision("D", {"a": {"own": 1.0}}, rests_on=("E",)), "rest on itself", "D", "rests_on"),
]
BAD_CHECKS = [
    (use("F", "add", decision="q"), "no decision has the id q", "", ""),
    (use("F", "add", outputs={"out": "R"}), "no quantity has the id R", "", ""),
    (use("F", "add", {"a": "D"}), "points at nothing that has a value", "F", "a"),
    (use("F", "add", {"a": "gone"}), "points at nothing that has a value", "F", "a"),
    (use("F", "add", {"a": "q"}, literals={"a": 1.0}), "the input is bound twice", "F", "a"),
    (use("F", "add", outputs={"out": "q"}), "check F and a given value", "q", ""),
    (use("F", "add", outputs={"out": "made"}), "check C and check F", "made", ""),
    (use("F", "add", outputs={"out": "own"}), "decision D and check F", "own", ""),
    (use("F", "add", outputs={"out": "free", "two": "free"}), "check F and check F", "free", ""),
    (decision("F", {"a": {"made": 1.0}}), "decision F and check C", "made", ""),
    (decision("F", {"a": {"own": 1.0}}), "decision D and decision F", "own", ""),
    (decision("F", {"a": {"free": 1.0}}, owns=("free", "free")), "and decision F", "free", ""),
    (quantity("own", 1.0), "decision D and a given value", "own", ""),
    (quantity("made", 1.0), "check C and a given value", "made", ""),
]
BAD_REST = [
    (replace(GATE, date="31.01.2031"), "'31.01.2031' is not a date", "G", "date"),
    (replace(INFO, currency="euro"), "'euro' is not an ISO 4217 code", "P", "currency"),
    (replace(INFO, id="P2", key="P2"), "the programme has a name already", "P2", ""),
    (quantity("R", 1.0), "the kind of an item stays as it was made", "R", "kind"),
    (requirement("q", "hub|x", 1.0), "the kind of an item stays as it was made", "q", "kind"),
]


@pytest.mark.parametrize(
    ("after", "says", "item", "field"),
    [*BAD_QUANTITIES, *BAD_REQUIREMENTS, *BAD_DECISIONS, *BAD_CHECKS, *BAD_REST],
)
def test_what_is_not_sound_is_refused(after: Record, says: str, item: str, field: str) -> None:
    with pytest.raises(InputError) as refused:
        put(after)
    assert says in refused.value.message
    assert (refused.value.item, refused.value.field) == (item, field)


@pytest.mark.parametrize(
    ("after", "remedy"),
    [
        (replace(Q, unit=METRE), "Add a new item and withdraw this one"),
        (requirement("S", "q", 0.0), "equal bounds and a single bound of 0 need one"),
        (requirement("S", "grade", allowed=("c",)), "Possible: a, b"),
        (requirement("S", "hub", 1.0), "Judge a number, a choice, a flag, one component"),
        (replace(settled(OPEN, "a"), rationale=""), "Say why with --why"),
        (replace(settled(OPEN, "a"), against={}), "Add --against OPTION=REASON for each"),
        (quantity("made", 1.0), "given, owned by one decision or computed by one check"),
        (replace(GATE, date="soon"), "Write YYYY-MM-DD"),
        (replace(quantity("n"), key="q"), "Choose another key"),
        (replace(quantity("n"), given=Setting()), "Say why"),
    ],
)
def test_a_refusal_says_what_to_do(after: Record, remedy: str) -> None:
    with pytest.raises(InputError) as refused:
        put(after)
    assert remedy in refused.value.remedy


@pytest.mark.parametrize(
    ("key", "users"),
    [("q", "R, C"), ("own", "D"), ("made", "C"), ("R", "D"), ("D", "E, C"), ("G", "D")],
)
def test_what_is_used_stays(key: str, users: str) -> None:
    with pytest.raises(InputError) as refused:
        remove(key)
    assert refused.value.message == f"it is still used by {users}"
    assert refused.value.item == key
    assert refused.value.remedy == "Change or remove those first"


def test_the_programme_keeps_its_name() -> None:
    with pytest.raises(InputError, match="a programme keeps its name and its money"):
        remove("P")


def test_what_nobody_uses_goes() -> None:
    remove("free")
    remove("C", "made", "E", "D", "R", "own", "q", "G")


def test_a_source_can_move_in_one_change() -> None:
    put(quantity("made", 1.0), replace(C, outputs={}))
    put(replace(Q, given=None), use("F", "add", outputs={"out": "q"}))


def test_a_longer_ring_of_decisions_is_refused() -> None:
    ring = [decision("F", rests_on=("H",)), decision("H", rests_on=("I",))]
    put(*ring, decision("I"))
    with pytest.raises(InputError, match="rest on itself by way of others"):
        put(*ring, decision("I", rests_on=("F", "D")))


def test_two_paths_to_one_decision_are_no_ring() -> None:
    put(
        decision("F", rests_on=("H", "I")),
        decision("H", rests_on=("D",)),
        decision("I", rests_on=("D",)),
    )


def test_a_record_refers_to_what_it_needs() -> None:
    assert set(referrers(at("C"))) == {"D", "q", "made"}
    assert set(referrers(at("D"))) == {"own", "R", "G"}
    assert set(referrers(requirement("S", "q", 1.0, parents=("R",), gate="G"))) == {"q", "R", "G"}
    assert set(referrers(INFO)) == set()
