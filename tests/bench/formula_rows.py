"""Row about formulae: what the engineer writes against the same numpy by hand."""

from __future__ import annotations

import numpy as np

from tests.bench.harness import Row, timed
from tests.plugins.test_formula import BY_HAND, FORMULA, NAMES, config

__all__ = ["formula"]


def formula(*, quick: bool) -> Row:
    """Slowest of a few formulae over 100,000 rows ÷ the same numpy written by hand."""
    generator = np.random.default_rng(2)
    columns = {name: generator.uniform(1.0, 9.0, 100_000) for name in NAMES}
    worst, note = 0.0, ""
    for text, inputs, unit, by_hand in BY_HAND:
        settings = config(text, inputs, unit)
        ours, theirs = [], []
        for _ in range(5 if quick else 15):
            ours.append(timed(lambda s=settings: FORMULA.compute(columns, s)))  # type: ignore[misc] # mypy cannot infer a lambda with a default
            theirs.append(timed(lambda hand=by_hand: hand(columns)))  # type: ignore[misc] # as above
        if min(ours) / min(theirs) > worst:  # other work on the machine only ever adds
            worst = min(ours) / min(theirs)
            note = f"{min(ours) * 1e3:.2f} ms against {min(theirs) * 1e3:.2f} ms for {text}"
    return Row("formula", worst, 3.0, note)
