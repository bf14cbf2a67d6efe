"""Why a check ran, or why it did not, as its page tells it; and what is kept for the next time."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.unit.services.memory import MemoryStore
from tests.unit.services.small import UNITS, empty_session, small_session, toy_tools
from tests.unit.services.toys import CHECKS
from tests.unit.traced import MemoryTraces
from tracker.contract.check import Config
from tracker.evaluate.plugin import Loaded
from tracker.host.catalogue import EntryPoints
from tracker.model.changes import Entry
from tracker.model.records import Quantity, Setting
from tracker.services.actions import (
    add_items,
    amend_item,
    lean,
    set_values,
    settle,
    undo,
    withdraw,
)
from tracker.services.item import item_page
from tracker.services.run_views import MovedView, RunView, run_facts
from tracker.services.session import Session, Tools, past


class CodedCatalogue(EntryPoints):
    """The small checks, their code known."""

    def load(self, plugin: str, config: Config, currency: str) -> Loaded:
        return replace(super().load(plugin, config, currency), code="code")


def tracing_tools(traces: MemoryTraces) -> Tools:
    catalogue = CodedCatalogue(UNITS, CHECKS)
    return replace(toy_tools(), catalogue=catalogue, traces=traces)


def ran(session: Any, key: str) -> RunView:  # noqa: ANN401 - a Session or a Reading
    found = item_page(session, key).ran
    assert found is not None
    return found


def facts(session: Any, key: str) -> dict[str, str]:  # noqa: ANN401 - a Session or a Reading
    return dict(run_facts(item_page(session, key).ran))


def test_only_checks_run(settled: Session) -> None:
    assert item_page(settled, "load").ran is None
    assert item_page(settled, "D-ARM").ran is None
    assert facts(settled, "D-ARM") == {}


def test_what_is_handed_on_does_not_tell_of_this_machine(settled: Session) -> None:
    """The facts of a page go into documents, which must not differ with what was recalled."""
    again = Session(settled.store, toy_tools(), "Ann")
    assert ran(again, "C-LEVER") != ran(settled, "C-LEVER")
    assert item_page(again, "C-LEVER").facts == item_page(settled, "C-LEVER").facts


def test_an_input_that_moved_is_named_with_both_its_values(settled: Session) -> None:
    set_values(settled, {"load": "101 N"}, "heavier")
    revision = settled.head.revision
    view = ran(settled, "C-LEVER")
    moved = MovedView(port="force", subject="load", before="100 N", after="101 N")
    assert view == RunView(
        how="ran",
        when="change",
        revision=revision,
        why="force (load) went from 100 N to 101 N",
        moved=(moved,),
    )
    told = facts(settled, "C-LEVER")
    assert told["ran"] == f"at revision {revision}: force (load) went from 100 N to 101 N"
    assert "since then" not in told
    set_values(settled, {"side": "right"}, "elsewhere")
    assert ran(settled, "C-LEVER").since == f"no input changed after revision {revision}"
    assert facts(settled, "C-LEVER")["since then"] == ran(settled, "C-LEVER").since
    parts = ran(settled, "C-MASS")
    assert parts.why == "side (side) went from left to right"


def test_inputs_of_every_kind_and_none(settled: Session) -> None:
    rows = [["arm", "1.6 kg", 2, False]]
    set_values(settled, {"parts": rows, "hub": "[0, 601, 300] mm", "R-CELL.upper": "2.5 kg"}, "all")
    moved = ran(settled, "C-MASS").moved
    assert [(each.port, each.subject, each.before, each.after) for each in moved] == [
        ("parts", "parts", "2 rows", "1 row"),
        ("limit", "R-CELL.upper", "2 kg", "2.5 kg"),
        ("at", "hub", "[0, 600, 300] mm", "[0, 601, 300] mm"),
    ]


def test_what_was_unknown_before(small: Session) -> None:
    waiting = ran(small, "C-LEVER")
    assert waiting == RunView(
        how="not run", why="arm (arm) is unknown: D-ARM: the decision is open"
    )
    assert facts(small, "C-LEVER")["not run"] == waiting.why
    lean(small, "D-ARM", "short")
    assert ran(small, "C-LEVER").why == "arm (arm) went from unknown to 120 mm"
    withdraw(small, "D-ARM", "no arm")
    assert ran(small, "C-LEVER").how == "not run"


def test_a_new_a_changed_and_a_faulty_binding(settled: Session) -> None:
    lengths = [
        {"kind": "quantity", "key": key, "title": key, "unit": "mm", "value": "3 mm"}
        for key in ("p", "p2")
    ] + [{"kind": "quantity", "key": "r", "title": "r", "unit": "mm"}]
    check = {
        "kind": "check",
        "key": "C-NEW",
        "check": "relay",
        "decision": "D-MASS",
        "inputs": {"x": "p"},
        "outputs": {"y": "r"},
    }
    add_items(settled, [*lengths, check], "new")
    assert ran(settled, "C-NEW").why == "it was added"
    amend_item(settled, "C-NEW", {"inputs": {"x": "p2"}}, "other")
    view = ran(settled, "C-NEW")
    assert view.why == "its binding or configuration changed, or what it is bound to"
    assert (view.when, view.revision, view.moved) == ("change", settled.head.revision, ())
    broken = Session(settled.store, replace(toy_tools(), catalogue=EntryPoints(UNITS, {})), "Ann")
    view = ran(broken, "C-NEW")
    assert view.how == "not run"
    assert view.why.startswith("the binding does not hold: relay: no such check is installed")


def test_a_value_too_large_for_the_check(empty: Session) -> None:
    documents: list[dict[str, object]] = [
        {"kind": "decision", "key": "D-ARM", "question": "?"},
        {"kind": "quantity", "key": "p", "title": "p", "unit": "km", "value": 1e307},
        {"kind": "quantity", "key": "r", "title": "r", "unit": "mm"},
        {"kind": "check", "key": "C", "check": "relay", "decision": "D-ARM",
         "inputs": {"x": "p"}, "outputs": {"y": "r"}},
    ]  # fmt: skip
    add_items(empty, documents, "all")
    assert ran(empty, "C").why == "x is too large in the check's unit"


def test_on_opening(settled: Session) -> None:
    plain = Session(settled.store, toy_tools(), "Ann")
    view = ran(plain, "C-LEVER")
    assert (view.how, view.when, view.revision) == ("ran", "opening", settled.head.revision)
    assert view.why == "results of earlier runs are not kept"
    assert view.since == (
        f"nothing it reads was changed after revision {settled.head.revision - 1}, "
        "directly or further up"
    )
    assert facts(plain, "C-LEVER")["ran"] == (
        f"on opening at revision {settled.head.revision}: results of earlier runs are not kept"
    )
    unknown_code = replace(toy_tools(), traces=MemoryTraces())
    view = ran(Session(settled.store, unknown_code, "Ann"), "C-LEVER")
    assert view.why.startswith("nobody can tell whether its code is still the same")
    set_values(plain, {"side": "right"}, "elsewhere")
    assert ran(plain, "C-LEVER").since == f"no input changed after revision {view.revision}"


def test_what_was_computed_is_recalled_at_the_next_opening(settled: Session) -> None:
    traces = MemoryTraces()
    first = Session(settled.store, tracing_tools(traces), "Ann")
    assert ran(first, "C-LEVER").why.startswith("no earlier result with the same inputs")
    assert traces.flushed == 1
    set_values(first, {"load": "101 N"}, "heavier")
    first.close()
    assert (traces.flushed, traces.closed) == (2, 1)
    again = Session(settled.store, tracing_tools(traces), "Ann")
    assert again.engine.opening.ran == []
    view = ran(again, "C-LEVER")
    assert (view.how, view.when, view.revision) == ("recalled", "opening", again.head.revision)
    assert view.why.startswith("the same inputs, configuration and version were computed before")
    assert facts(again, "C-LEVER")["recalled"].startswith("on opening at revision")
    earlier = past(again, again.head.revision - 1)
    assert earlier.engine.opening.ran == []  # it was computed when it was the present
    view = ran(earlier, "C-LEVER")
    assert view.revision == earlier.head.revision
    assert view.since.startswith(f"nothing it reads was changed after revision {view.revision - 1}")


def test_a_change_of_a_binding_recalls_too(settled: Session) -> None:
    traces = MemoryTraces()
    session = Session(settled.store, tracing_tools(traces), "Ann")
    amend_item(
        session,
        "C-LEVER",
        {"inputs": {"force": "load", "arm": "arm", "angle": {"value": "60 deg"}}},
        "tilted",
    )
    assert ran(session, "C-LEVER").how == "ran"
    undo(session)
    view = ran(session, "C-LEVER")
    assert (view.how, view.when, view.revision) == ("recalled", "change", session.head.revision)


def test_what_others_changed_is_told_too(store: MemoryStore) -> None:
    mine = small_session(store)
    settle(mine, "D-ARM", "short", "It holds", {"long": "It bends", "later": "Too late"})
    theirs = Session(store, toy_tools(), "Bob")
    set_values(theirs, {"load": "102 N"}, "heavier")
    assert mine.refresh()
    assert ran(mine, "C-LEVER").why == "force (load) went from 100 N to 102 N"


def test_a_change_that_is_tried_out_is_no_run(small: Session) -> None:
    load = small.programme.named("load", Quantity)
    unset = Entry(load, replace(load, given=Setting(reason="not known")))
    small.commit([unset], "x")
    lean(small, "D-ARM", "short")
    known = Entry(unset.after, replace(load, given=Setting(value=5.0)))
    with small.trying([known]):
        view = ran(small, "C-LEVER")
        assert (view.how, view.why) == ("ran", "a change is being tried out")
        assert facts(small, "C-LEVER")["ran"] == "a change is being tried out"
    assert ran(small, "C-LEVER").how == "not run"


def test_a_refused_change_is_no_run(settled: Session, store: MemoryStore) -> None:
    before = ran(settled, "C-LEVER")
    store.failing = "commit"
    with pytest.raises(Exception, match="sync failed"):
        set_values(settled, {"load": "150 N"}, "x")
    assert ran(settled, "C-LEVER") == before


def test_closing_releases_the_store_whatever_happens(store: MemoryStore) -> None:
    class BrokenTraces(MemoryTraces):
        def close(self) -> None:
            raise RuntimeError("out of order")

    session = Session(store, tracing_tools(BrokenTraces()), "Ann")
    with pytest.raises(RuntimeError):
        session.close()
    assert store.closed
    plain = empty_session(MemoryStore())
    plain.close()
    assert plain.store.closed  # type: ignore[attr-defined] # a MemoryStore


def test_what_it_stems_from_goes_all_the_way_up(empty: Session) -> None:
    """The check reads two values of one decision, one of them through another check."""
    settings = {"load": "5 N", "reach": "80 mm"}
    documents: list[dict[str, object]] = [
        {"kind": "quantity", "key": "load", "title": "load", "unit": "N"},
        {"kind": "quantity", "key": "reach", "title": "reach", "unit": "mm"},
        {"kind": "quantity", "key": "arm", "title": "arm", "unit": "mm"},
        {"kind": "quantity", "key": "other", "title": "other", "unit": "mm"},
        {"kind": "quantity", "key": "torque", "title": "torque", "unit": "N*m"},
        {"kind": "decision", "key": "D", "question": "?",
         "options": [{"key": "one", "title": "One", "settings": settings}]},
        {"kind": "check", "key": "C-PASS", "check": "relay", "decision": "D",
         "inputs": {"x": "reach"}, "outputs": {"y": "arm"}},
        {"kind": "check", "key": "C", "check": "lever", "decision": "D",
         "inputs": {"force": "load", "arm": "arm"}, "outputs": {"torque": "torque"}},
    ]  # fmt: skip
    add_items(empty, documents, "all")
    lean(empty, "D", "one")
    set_values(empty, {"other": "1 mm"}, "beside it")
    again = Session(empty.store, toy_tools(), "Ann")
    for key in ("C", "C-PASS"):
        assert ran(again, key).since == (
            f"nothing it reads was changed after revision {again.head.revision - 1}, "
            "directly or further up"
        )
