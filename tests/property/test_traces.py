"""Recalling against computing, on random programmes and edits."""

from __future__ import annotations

import contextlib
import json

import rfc8785
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.property.engine_edits import random_edit
from tests.property.engine_oracle import picture
from tests.property.programmes import Chooser, Seeded, allowed, first_records
from tests.property.toy_checks import TOYS, Shelf
from tests.unit.traced import CodedShelf, MemoryTraces
from tracker.errors import CycleError
from tracker.evaluate.engine import Engine
from tracker.evaluate.running import FAILED
from tracker.evaluate.slots import Unknown
from tracker.model.codec import from_plain, to_plain
from tracker.model.programme import Programme
from tracker.model.records import kind_of

_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]


def reread(programme: Programme) -> Programme:
    """Return the programme as a store gives it back."""
    return Programme(
        from_plain(kind_of(each), json.loads(rfc8785.dumps(to_plain(each)))) for each in programme
    )


def raising(engine: Engine) -> set[str]:
    """Name the checks that raised: they leave no trace."""
    return {
        node.id
        for node, block in zip(engine.graph.nodes, engine.state.blocks, strict=True)
        if isinstance(block, Unknown) and block.reason.startswith(FAILED) and block.cause == node.id
    }


@settings(max_examples=60, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 10_000), st.integers(0, 80))
def test_every_opening_is_what_a_pass_from_scratch_gives_and_the_second_runs_nothing(
    seed: int, edits: int
) -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))
    engine = Engine(shelf, Programme(first_records()), traces=traces)
    choose = Chooser(Seeded(seed), engine)
    ran: set[str] = set()
    for _ in range(edits):
        entries = random_edit(choose)
        if allowed(engine.programme, entries):
            with contextlib.suppress(CycleError):
                ran.update(engine.advance(entries).ran)
    engine.keep_traces(ran)
    opened = Engine(shelf, reread(engine.programme), traces=traces)
    scratch = Engine(Shelf(TOYS), reread(engine.programme))
    assert picture(opened) == picture(scratch)
    assert set(opened.opening.ran) == raising(scratch)
    assert sorted([*opened.opening.ran, *opened.opening.recalled]) == sorted(scratch.opening.ran)


@settings(max_examples=25, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 10_000))
def test_an_edit_recalls_or_runs_exactly_what_it_would_run_without_traces(seed: int) -> None:
    traces, shelf = MemoryTraces(), CodedShelf(Shelf(TOYS))
    plain = Engine(Shelf(TOYS), Programme(first_records()))
    engine = Engine(shelf, Programme(first_records()), traces=traces)
    choose = Chooser(Seeded(seed), plain)
    for _ in range(80):
        entries = random_edit(choose)
        if not allowed(plain.programme, entries):
            continue
        try:
            expected = plain.advance(entries)
        except CycleError:
            continue
        choose.history.append(entries)
        report = engine.advance(entries)
        assert sorted([*report.ran, *report.recalled]) == sorted(expected.ran)
        assert sorted(report.rebound) == sorted(expected.rebound)
        assert picture(engine) == picture(plain)
