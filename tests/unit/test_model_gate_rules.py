"""What no stored programme may hold of gates, deviations, actions, evidence, risks, baselines."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from tests.unit.small_world import (
    GATE,
    INFO,
    decision,
    deviation,
    quantity,
    requirement,
    settled,
    use,
)
from tracker.errors import InputError, InUseError, SourceError
from tracker.model.changes import Entry
from tracker.model.codec import from_plain, to_plain
from tracker.model.invariants import check_entries, referrers
from tracker.model.programme import Programme
from tracker.model.records import (
    Action,
    Baseline,
    Bound,
    Decision,
    DecisionState,
    Evidence,
    Level,
    Outcome,
    Range,
    Record,
    Requirement,
    Review,
    Risk,
    Setting,
    kind_of,
)
from tracker.model.values import Kind

POINT = quantity("hub", (1.0, 2.0, 3.0), Kind.POINT)
GRADE = quantity("grade", "b", Kind.CHOICE, choices=("a", "b"))
D = decision("D", {"a": {"own": 1.0}}, serves=("R",))
OLD = replace(decision("OLD", {"a": {"was": 1.0}}), state=DecisionState.WITHDRAWN)
FROZEN = Baseline(id="B", key="B", gate="G", revision=3, head="a" * 64, content="b" * 64)
V = deviation("V", "R", upper=3.0)
A = Action(id="A", key="A", title="Measure it", about=("R",), gate="G")
E = Evidence(id="E", key="E", title="Report", place="report.pdf", dated="2031-01-31", about=("R",))
K = Risk(id="K", key="K", title="Late", likelihood=Level.LOW, consequence=Level.HIGH, gate="G")
BASE: tuple[Record, ...] = (
    INFO,
    GATE,
    quantity("q", 1.0),
    quantity("r", 1.0),
    quantity("own"),
    quantity("was"),
    quantity("made"),
    POINT,
    GRADE,
    requirement("R", "q", 0.0, 2.0),
    requirement("T", "grade", allowed=("a",)),
    D,
    OLD,
    use("C", "add", {"a": "q"}, {"out": "made"}),
    V,
    A,
    E,
    K,
    FROZEN,
)


def put(*after: Record) -> None:
    programme = Programme(BASE)
    entries = [Entry(programme.get(each.id), each) for each in after]
    programme.apply(entries)
    check_entries(programme, entries)


def test_the_programme_itself_is_sound() -> None:
    check_entries(Programme(BASE), [Entry(None, each) for each in BASE])


REVIEW = Review(by="Ann", outcome=Outcome.REOPEN, reason="new tyre", on="2031-02-01T08:00:00Z")


@pytest.mark.parametrize(
    "after",
    [
        replace(GATE, criteria={"bases": "quoted", "risks-2": "none open"}),
        replace(V, lower=Bound(value=3.0), upper=Bound(value=3.0), decision="D"),
        replace(V, requirement="T", upper=None),
        replace(A, closed="done\nand noted", closed_on="2031-02-01", about=("R", "K", "C")),
        replace(E, sha256="0a" * 32, about=("R", "D", "q", "C"), place="https://example.org/r"),
        replace(K, closed="it went well", about=("A",)),
        replace(POINT, part_ranges={"x": Range(low=0.0, high=0.0), "z": Range(low=-1, high=2)}),
        replace(quantity("q", 1.0), correlated={"r": -0.999, "hub": 0.0}),
        replace(
            D,
            participants=("Ann", "Bo"),
            dissent={"Bo": "too thin"},
            assumptions=("one wheel, one tyre",),
            reviews=(REVIEW,),
        ),
        replace(OLD, superseded_by="D"),
        replace(requirement("R", "q", 0.0, 2.0), rationale="so", priority=Level.LOW, risk="late"),
    ],
)
def test_what_is_sound_passes(after: Record) -> None:
    put(after)


BAD: list[tuple[Record, str, str, str]] = [
    (replace(GATE, date="2031-1-31"), "'2031-1-31' is not a date", "G", "date"),
    (replace(GATE, criteria={"no such.name": "x"}), "is not a key", "G", "criteria"),
    (replace(GATE, criteria={"bases": " "}), "it is missing", "G", "criteria.bases"),
    (replace(V, reason=" "), "it is missing", "V", "reason"),
    (replace(V, approver=""), "it is missing", "V", "approver"),
    (replace(V, extent=""), "it is missing", "V", "extent"),
    (replace(V, requirement="q"), "no requirement has the id q", "", ""),
    (replace(V, expires="R"), "no gate has the id R", "", ""),
    (replace(V, decision="G"), "no decision has the id G", "", ""),
    (replace(V, upper=Bound(value=math.inf)), "the number is not finite", "V", "upper"),
    (replace(V, lower=Bound(value=4.0)), "lower is above upper", "V", "lower"),
    (replace(V, requirement="T"), "T judges no number", "V", "upper"),
    (replace(A, title=""), "it is missing", "A", "title"),
    (replace(A, about=("gone",)), "it is about nothing there is", "A", "about"),
    (replace(A, gate="R"), "no gate has the id R", "", ""),
    (replace(A, closed="done"), "'' is not a date", "A", "closed_on"),
    (replace(A, closed=" \n", closed_on="2031-02-01"), "it is missing", "A", "closed"),
    (replace(A, closed_on="2031-02-01"), "does not say how", "A", "closed"),
    (replace(E, title=""), "it is missing", "E", "title"),
    (replace(E, place=" "), "it is missing", "E", "place"),
    (replace(E, dated="soon"), "'soon' is not a date", "E", "dated"),
    (replace(E, sha256="AB" * 32), "not a SHA-256", "E", "sha256"),
    (replace(E, about=("K",)), "K is a risk", "E", "about"),
    (replace(E, about=("gone",)), "it is about nothing there is", "E", "about"),
    (replace(K, title=""), "it is missing", "K", "title"),
    (replace(K, about=("gone",)), "it is about nothing there is", "K", "about"),
    (replace(FROZEN, id="B2", key="B2", gate="R"), "no gate has the id R", "", ""),
    (replace(FROZEN, id="B2", key="B2", head="a"), "not a SHA-256", "B2", "head"),
    (replace(FROZEN, id="B2", key="B2", content=""), "not a SHA-256", "B2", "content"),
    (replace(FROZEN, id="B2", key="B2", revision=0), "no revision was frozen", "B2", "revision"),
    (
        replace(quantity("q", 1.0), part_ranges={"x": Range(low=0.0, high=1.0)}),
        "no component 'x' that could have a range",
        "q",
        "ranges",
    ),
    (replace(POINT, part_ranges={"w": Range(low=0.0, high=1.0)}), "no component", "hub", "ranges"),
    (
        replace(POINT, part_ranges={"x": Range(low=2.0, high=1.0)}),
        "the range is upside down",
        "hub",
        "ranges.x",
    ),
    (
        replace(POINT, part_ranges={"x": Range(low=-math.inf, high=1.0)}),
        "the number is not finite",
        "hub",
        "ranges.x",
    ),
    (replace(POINT, correlated={"hub": 0.5}), "correlated with itself", "hub", "correlated"),
    (replace(POINT, correlated={"q": 1.0}), "q is not between −1 and 1", "hub", "correlated"),
    (replace(POINT, correlated={"q": math.nan}), "is not between", "hub", "correlated"),
    (replace(POINT, correlated={"R": 0.5}), "no quantity has the id R", "", ""),
    (replace(D, participants=("",)), "it is missing", "D", "participants"),
    (replace(D, assumptions=(" ",)), "it is missing", "D", "assumptions"),
    (replace(D, dissent={"Bo": ""}), "it is missing", "D", "dissent"),
    (replace(D, dissent={"": "no"}), "it is missing", "D", "dissent"),
    (replace(D, reviews=(replace(REVIEW, reason=""),)), "it is missing", "D", "reviews"),
    (replace(D, reviews=(replace(REVIEW, by=""),)), "it is missing", "D", "reviews"),
    (replace(D, superseded_by="OLD"), "open is superseded by none", "D", "superseded_by"),
    (replace(OLD, superseded_by="R"), "no decision has the id R", "", ""),
    (replace(OLD, superseded_by="OLD"), "superseded by itself", "OLD", "superseded_by"),
]


@pytest.mark.parametrize(("after", "says", "item", "field"), BAD)
def test_what_is_not_sound_is_refused(after: Record, says: str, item: str, field: str) -> None:
    with pytest.raises(InputError) as refused:
        put(after)
    assert says in refused.value.message
    assert (refused.value.item, refused.value.field) == (item, field)


def test_a_ring_of_decisions_that_supersede_each_other_is_refused() -> None:
    gone = replace(decision("NEW"), state=DecisionState.WITHDRAWN, superseded_by="OLD")
    with pytest.raises(InputError, match="superseded by itself"):
        put(gone, replace(OLD, superseded_by="NEW"))


def test_a_correlation_is_stated_once() -> None:
    with pytest.raises(InputError, match="q states the correlation already"):
        put(
            replace(quantity("r", 1.0), correlated={"q": 0.5}),
            replace(quantity("q", 1.0), correlated={"r": 0.5}),
        )


@pytest.mark.parametrize("after", [replace(FROZEN, key="B9"), replace(FROZEN, ready=True), None])
def test_a_baseline_is_never_changed(after: Baseline | None) -> None:
    programme = Programme(BASE)
    entries = [Entry(FROZEN, after)]
    programme.apply(entries)
    with pytest.raises(InUseError, match="never changed or removed") as refused:
        check_entries(programme, entries)
    assert refused.value.item == "B"
    assert "Freeze the gate again" in refused.value.remedy


@pytest.mark.parametrize(
    ("key", "users"),
    [("R", "D, V, A, E"), ("G", "V, A, K, B"), ("D", "C")],
)
def test_what_they_refer_to_stays(key: str, users: str) -> None:
    programme = Programme(BASE)
    entries = [Entry(programme.get(key), None)]
    programme.apply(entries)
    with pytest.raises(InUseError, match=f"still used by {users}"):
        check_entries(programme, entries)


@pytest.mark.parametrize(
    ("record", "ids"),
    [
        (V, ["R", "G"]),
        (replace(V, decision="D"), ["R", "G", "D"]),
        (A, ["R", "G"]),
        (replace(A, gate=""), ["R"]),
        (E, ["R"]),
        (K, ["G"]),
        (FROZEN, ["G"]),
        (replace(POINT, correlated={"q": 0.5}), ["q"]),
        (replace(OLD, superseded_by="D"), ["was", "D"]),
    ],
)
def test_what_they_refer_to(record: Record, ids: list[str]) -> None:
    assert list(referrers(record)) == ids


def test_a_live_decision_or_a_check_takes_over_from_a_withdrawn_one() -> None:
    put(decision("NEW", {"a": {"was": 2.0}}))
    put(use("C2", "add", {"a": "q"}, {"out": "was"}))
    with pytest.raises(SourceError, match="decision OLD and a given value"):
        put(replace(quantity("was"), given=Setting(value=1.0)))
    with pytest.raises(SourceError, match="decision OLD and decision NEW"):
        put(decision("NEW", {"a": {"was": 2.0}}), replace(OLD, state=DecisionState.OPEN))


def test_reopening_is_refused_once_somebody_has_taken_over() -> None:
    programme = Programme([*BASE, decision("NEW", {"a": {"was": 2.0}})])
    entries = [Entry(OLD, replace(OLD, state=DecisionState.OPEN))]
    programme.apply(entries)
    with pytest.raises(SourceError, match="two sources"):
        check_entries(programme, entries)


# ---------------------------------------------------------------- stored without the new fields

OLD_PLAIN: list[tuple[Record, dict[str, Any]]] = [
    (GATE, {"id": "G", "key": "G", "title": "First", "date": "2031-01-31"}),
    (requirement("R", "q", upper=2.0), {}),
    (settled(D, "a"), {}),
    (quantity("q", 1.0), {}),
]
NEW_FIELDS = {
    *("criteria", "part_ranges", "correlated", "rationale", "priority", "risk", "participants"),
    *("dissent", "assumptions", "superseded_by", "reviews"),
}


@pytest.mark.parametrize(("record", "plain"), OLD_PLAIN)
def test_what_is_not_used_is_not_written(record: Record, plain: dict[str, Any]) -> None:
    """So every entry of an older journal keeps its bytes."""
    written = to_plain(record)
    settled_on = {"rationale"} if isinstance(record, Decision) else set()
    assert not (NEW_FIELDS - settled_on) & set(written)
    assert from_plain(kind_of(record), written) == record
    assert not plain or written == plain


def test_a_priority_is_one_of_three_words() -> None:
    held = replace(requirement("R", "q", upper=2.0), priority=Level.HIGH)
    plain = to_plain(held)
    assert plain["priority"] == "high"
    read = from_plain("requirement", plain)
    assert isinstance(read, Requirement)
    assert read.priority is Level.HIGH
