"""The garbage collector is held off while a graph is built, and is then as it was."""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest

from tests.bench.modular import Modules, shelf
from tracker.evaluate.collecting import collector_held
from tracker.evaluate.engine import Engine
from tracker.model.changes import Entry
from tracker.model.records import CheckUse


@pytest.fixture(params=[True, False], ids=["on", "off"])
def collecting(request: pytest.FixtureRequest) -> Iterator[bool]:
    """Whether the collector is on."""
    before = gc.isenabled()
    wanted: bool = request.param
    (gc.enable if wanted else gc.disable)()
    yield wanted
    (gc.enable if before else gc.disable)()


def test_it_is_off_inside_and_then_as_it_was(collecting: bool) -> None:
    with collector_held():
        assert not gc.isenabled()
    assert gc.isenabled() is collecting


def test_an_error_leaves_it_as_it_was(collecting: bool) -> None:
    with pytest.raises(ValueError, match="no good"), collector_held():
        raise ValueError("no good")
    assert gc.isenabled() is collecting


def test_a_trial_that_reshapes_the_graph_is_not_walked() -> None:
    """A thousand checks bring tens of thousands of objects; the collector wakes every 700."""
    engine = Engine(shelf(), Modules(10).programme())
    edit = (Entry(engine.programme.at("cq0-99", CheckUse), None),)
    walks: list[str] = []

    def count(phase: str, _: dict[str, int]) -> None:
        walks.append(phase)

    gc.collect()
    gc.callbacks.append(count)
    try:
        with engine.trial(edit) as report:
            pass
    finally:
        gc.callbacks.remove(count)
    assert len(report.rebound) == 0
    assert walks.count("start") <= 5
