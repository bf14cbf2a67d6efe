"""Entries: one record before and after."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.small_world import quantity
from tracker.model.changes import Entry, inverse, merged

A = quantity("a", 1.0)
A2 = replace(A, title="two")
A3 = replace(A, title="three")
B = quantity("b", 1.0)


def test_an_entry_is_about_the_record_after_or_else_before() -> None:
    assert Entry(A, A2).record is A2
    assert Entry(A, None).record is A
    assert Entry(None, A).id == "a"
    assert Entry(None, A).kind == "quantity"


def test_the_inverse_takes_back_last_first() -> None:
    assert inverse([Entry(A, A2), Entry(None, B)]) == (Entry(B, None), Entry(A2, A))


def test_several_entries_on_a_record_fold_into_one() -> None:
    entries = [Entry(A, A2), Entry(None, B), Entry(A2, A3)]
    assert merged(entries) == (Entry(A, A3), Entry(None, B))


def test_what_changes_nothing_is_dropped() -> None:
    assert merged([Entry(A, A2), Entry(A2, A), Entry(None, B), Entry(B, None)]) == ()
