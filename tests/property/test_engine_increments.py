"""The increments of the engine against passes from scratch, on random programmes and edits."""

from __future__ import annotations

import contextlib
import json

import rfc8785
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.property import longrun
from tests.property.engine_edits import random_edit
from tests.property.engine_oracle import check_edit, picture
from tests.property.programmes import Chooser, Drawn, Seeded, allowed, first_records
from tests.property.toy_checks import TOYS, Shelf
from tracker.errors import CycleError
from tracker.evaluate.engine import Engine
from tracker.evaluate.slots import Unknown
from tracker.model.codec import from_plain, to_plain
from tracker.model.programme import Programme
from tracker.model.records import CheckUse, kind_of

_SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]


def grown(seed: int, edits: int) -> tuple[Engine, Shelf]:
    """Return an engine whose programme has seen some edits; nothing is checked yet."""
    shelf = Shelf(TOYS)
    engine = Engine(shelf, Programme(first_records()))
    choose = Chooser(Seeded(seed), engine)
    for _ in range(edits):
        entries = random_edit(choose)
        if allowed(engine.programme, entries):
            with contextlib.suppress(CycleError):
                engine.advance(entries)
    return engine, shelf


@settings(max_examples=120, deadline=None, suppress_health_check=_SLOW)
@given(st.data(), st.integers(0, 10_000), st.integers(0, 60))
def test_an_edit_gives_what_a_pass_from_scratch_gives(
    data: st.DataObject, seed: int, edits: int
) -> None:
    engine, shelf = grown(seed, edits)
    choose = Chooser(Drawn(data.draw), engine, first="n")
    for _ in range(2):
        entries = random_edit(choose)
        if allowed(engine.programme, entries):
            outcome = check_edit(engine, shelf, entries, stop_after=choose.dice.whole(0, 4))
            if not outcome.ring:
                choose.history.append(entries)


def test_many_edits_run_exactly_the_checks_they_must() -> None:
    result = longrun.run(edits=400, seed=7)
    assert result.runs == result.expected > 150
    assert result.structural > 100
    assert result.rings > 0


@settings(max_examples=15, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 10_000), st.integers(20, 80))
def test_trials_nest(seed: int, edits: int) -> None:
    engine, _ = grown(seed, edits)
    nest(engine, Chooser(Seeded(seed), engine, first="n"), 6)


def nest(engine: Engine, choose: Chooser, depth: int) -> None:
    before = picture(engine)
    entries = random_edit(choose)
    if depth and allowed(engine.programme, entries):
        with contextlib.suppress(CycleError), engine.trial(entries):
            nest(engine, choose, depth - 1)
    assert picture(engine) == before


@settings(max_examples=15, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 10_000), st.sampled_from(sorted(TOYS)))
def test_a_check_that_is_no_longer_installed_leaves_its_outputs_unknown(
    seed: int, plugin: str
) -> None:
    engine, shelf = grown(seed, 80)
    poorer = Engine(shelf.without(plugin), engine.programme.copy())
    for use in engine.programme.of(CheckUse):
        if use.plugin == plugin:
            for each in use.outputs.values():
                slot = poorer.state.slots[poorer.graph.index[each, ""]]
                assert slot == Unknown(f"{plugin}: no such check is installed", use.id)


@settings(max_examples=15, deadline=None, suppress_health_check=_SLOW)
@given(st.integers(0, 10_000))
def test_an_engine_on_records_read_back_from_json_is_the_same(seed: int) -> None:
    engine, shelf = grown(seed, 80)
    read = [
        from_plain(kind_of(each), json.loads(rfc8785.dumps(to_plain(each))))
        for each in engine.programme
    ]
    again = Engine(shelf, Programme(read))
    assert picture(again) == picture(Engine(shelf, engine.programme.copy()))
