"""The working copy of a programme: finding records, moving forward and back."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.small_world import INFO, decision, quantity, requirement, use
from tracker.errors import StaleChangeError, UnknownKeyError
from tracker.model.changes import Entry
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, Decision, ProgrammeInfo, Quantity, Record, Requirement

A, B, C = quantity("a", 1.0), quantity("b", 2.0), quantity("c", 3.0)


def names(programme: Programme) -> list[str]:
    return [each.id for each in programme]


def test_records_are_found_by_id_and_by_key() -> None:
    other = replace(A, key="alpha")
    programme = Programme([other, B])
    assert programme.get("a") is other
    assert programme.find("alpha") is other
    assert programme.find("a") is None
    assert programme.get("alpha") is None
    assert len(programme) == 2
    assert "a" in programme
    assert "alpha" not in programme


def test_records_of_a_type_come_in_the_order_they_were_added() -> None:
    programme = Programme([C, INFO, A, decision("D")])
    assert [each.id for each in programme.of(Quantity)] == ["c", "a"]
    assert programme.info is INFO
    assert Programme().info is None


def test_records_of_a_type_follow_every_change() -> None:
    programme = Programme([INFO, A, B])
    assert list(programme.of(Quantity)) == [A, B]
    moved = replace(B, title="moved")
    entries = (Entry(A, None), Entry(B, moved), Entry(None, C))
    programme.apply(entries)
    assert list(programme.of(Quantity)) == [moved, C]
    programme.take_back(entries)
    assert list(programme.of(Quantity)) == [A, B]
    assert programme.info is INFO


def test_at_wants_the_right_type() -> None:
    programme = Programme([A])
    assert programme.at("a", Quantity) is A
    with pytest.raises(UnknownKeyError, match="no requirement has the id a"):
        programme.at("a", Requirement)
    with pytest.raises(UnknownKeyError, match="no quantity has the id x"):
        programme.at("x", Quantity)


def test_named_wants_the_right_type_and_says_what_it_is() -> None:
    programme = Programme([A, INFO, use("C1", "add")])
    assert programme.named("a", Quantity) is A
    with pytest.raises(UnknownKeyError, match="a is a quantity, not a decision"):
        programme.named("a", Decision)
    with pytest.raises(UnknownKeyError, match="no check is called 'x'"):
        programme.named("x", CheckUse)
    with pytest.raises(UnknownKeyError, match="C1 is a check, not a programme"):
        programme.named("C1", ProgrammeInfo)


def test_entries_add_change_and_remove() -> None:
    programme = Programme([A, B])
    changed = replace(A, title="changed")
    programme.apply([Entry(A, changed), Entry(B, None), Entry(None, C)])
    assert list(programme) == [changed, C]
    assert programme.find("b") is None


def test_entries_apply_all_or_not_at_all() -> None:
    programme = Programme([A, B])
    with pytest.raises(StaleChangeError) as refused:
        programme.apply([Entry(A, None), Entry(None, C), Entry(replace(B, title="old"), None)])
    assert refused.value.item == "b"
    assert list(programme) == [A, B]
    assert programme.find("c") is None


def test_what_is_taken_back_returns_to_its_place() -> None:
    programme = Programme([A, B, C])
    entries = [Entry(A, None), Entry(B, replace(B, key="beta")), Entry(None, quantity("d"))]
    programme.apply(entries)
    programme.take_back(entries)
    assert list(programme) == [A, B, C]
    assert programme.find("b") is B
    assert programme.find("beta") is None


def test_taking_back_nests() -> None:
    programme = Programme([A, B, C])
    outer = [Entry(A, None)]
    inner = [Entry(None, A), Entry(C, None)]
    programme.apply(outer)
    programme.apply(inner)
    assert names(programme) == ["b", "a"]
    programme.take_back(inner)
    assert names(programme) == ["b", "c"]
    programme.take_back(outer)
    assert names(programme) == ["a", "b", "c"]


def test_what_is_added_again_comes_last() -> None:
    programme = Programme([A, B])
    programme.apply([Entry(A, None)])
    programme.apply([Entry(None, A)])
    assert names(programme) == ["b", "a"]


def test_two_keys_can_change_places() -> None:
    programme = Programme([A, B])
    entries = [Entry(A, replace(A, key="b")), Entry(B, replace(B, key="a"))]
    programme.apply(entries)
    found = [programme.find(key) for key in ("a", "b")]
    assert [each.id for each in found if each] == ["b", "a"]
    programme.take_back(entries)
    assert [programme.find(key) for key in ("a", "b")] == [A, B]


def test_a_taken_key_shows_and_does_no_harm_once_taken_back() -> None:
    programme = Programme([A])
    intruder: Record = replace(requirement("r", "a", 1.0), key="a")
    entries = [Entry(None, intruder)]
    programme.apply(entries)
    assert programme.holders("a") == 2
    programme.take_back(entries)
    assert programme.holders("a") == 1
    assert programme.holders("b") == 0
    assert programme.find("a") is A


def test_a_copy_goes_its_own_way() -> None:
    programme = Programme([A, B])
    twin = programme.copy()
    removal = [Entry(A, None)]
    twin.apply(removal)
    assert names(programme) == ["a", "b"]
    assert programme.find("a") is A
    twin.take_back(removal)
    assert names(twin) == ["a", "b"]
