"""Rows about the engine: minimality, overhead, edit."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from demo_program.story import make_demo
from tests.bench.harness import Row, ratio
from tests.bench.programmes import AddOne, Shelf, chain
from tests.property.longrun import run
from tracker.bootstrap import open_session
from tracker.evaluate.engine import Engine
from tracker.evaluate.running import gathered
from tracker.model.changes import Entry
from tracker.model.records import Quantity, Setting
from tracker.services.edits import value_entries

__all__ = ["edit", "minimality", "overhead"]


def minimality(*, quick: bool) -> Row:
    """Runs ÷ checks with a truly changed input, counted by independent scratch passes."""
    edits = 500 if quick else 10_000
    result = run(edits=edits, seed=20_260)
    return Row(
        "minimality",
        result.runs / result.expected,
        1.0,
        f"{edits} edits, bit-identical",
        of="counts",
    )


def overhead(*, quick: bool) -> Row:
    """Per-node time of an edit on trivial checks ÷ a loop over the same callables."""
    length = 1_000
    check = AddOne()
    engine = Engine(Shelf({"add-one": check}), chain(length))
    counter = iter(range(10_000_000))

    def edit() -> None:
        before = engine.programme.at("q0", Quantity)
        value = float(next(counter)) + 0.5
        engine.advance([Entry(before, replace(before, given=Setting(value=value)))])

    def loop() -> None:
        array = np.array([float(next(counter)) + 0.5])
        for _ in range(length):
            array = check.compute({"a": array}, {}).values["b"]

    def floats() -> float:
        value = float(next(counter)) + 0.5
        for _ in range(length):
            value = value + 1.0
        return value

    found, high, low = ratio(edit, loop, 20 if quick else 200)
    plain = ratio(floats, floats, 20)[1]
    per = 1e6 / length
    note = (
        f"{high * per:.2f} µs against {low * per:.2f} µs a node; plain floats {plain * per:.3f} µs"
    )
    return Row("overhead", found, 2.5, note)


def edit(*, quick: bool) -> Row:
    """Engine time per recomputed check ÷ calling the same computes directly, on the demo."""
    with tempfile.TemporaryDirectory() as folder:
        session = open_session(make_demo(Path(folder)), "bench")
        engine = session.engine
        edits = {"VOL.lower": "4000"}
        entries = value_entries(session, edits)
        with engine.trial(entries) as report:
            nodes = [engine.graph.nodes[engine.graph.position[each]] for each in report.ran]
            inputs = [gathered(node, engine.state.slots)[0] for node in nodes]
        back = tuple(Entry(each.after, each.before) for each in entries)

        def whole() -> None:
            engine.advance(entries)
            engine.advance(back)

        def direct() -> None:
            for _ in range(2):
                for node, given in zip(nodes, inputs, strict=True):
                    assert node.loaded is not None
                    node.loaded.check.compute(given, node.loaded.config)

        found, high, low = ratio(whole, direct, 20 if quick else 200)
        session.store.close()
    each = 5e5 / len(nodes)
    note = f"{high * each:.0f} µs against {low * each:.0f} µs a check, {len(nodes)} checks"
    return Row("edit", found, 1.3, note)
