"""Row about option sets: combinations known about ÷ combinations evaluated."""

from __future__ import annotations

from itertools import pairwise

from tests.bench.harness import Row, timed
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.evaluate.engine import Engine
from tracker.explore.option_sets import option_sets
from tracker.model.records import Record

__all__ = ["sets_row"]


def sets_row(*, quick: bool) -> Row:
    """Combinations told alive or dead ÷ combinations evaluated for it.

    The decisions form a chain, each sharing a requirement with the next: one group throughout.
    """
    engine = _chain(8 if quick else 14)
    found = []
    seconds = timed(lambda: found.append(option_sets(engine)))
    total, evaluated = found[0].total, found[0].evaluated
    note = f"{found[0].count} of {total} alive, {evaluated} evaluated, in {seconds:.2f} s"
    return Row("sets", total / evaluated, 1e4 if quick else 1e6, note, at_least=True, of="counts")


def _chain(length: int) -> Engine:
    records: list[Record] = []
    keys = [f"D{place}" for place in range(length)]
    for key in keys:
        options = {f"o{value}": {f"q{key}": float(value)} for value in range(10)}
        records += [quantity(f"q{key}"), decision(key, options)]
    for left, right in pairwise(keys):
        inputs, out = {"a": f"q{left}", "b": f"q{right}"}, f"t{left}"
        records += [
            quantity(out),
            use(f"C{left}", "add", inputs, {"out": out}, decision=left),
            requirement(f"R{left}", out, upper=11.0),
        ]
    return engine_of(*records)
