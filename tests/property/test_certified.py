"""What is certified through random formulas holds at every value of a dense scan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.plugins.test_formula import EXPRESSIONS, FORMULA, PLAIN, config
from tests.property.toy_checks import Shelf
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.contract.check import Config, Inputs, Manifest, Outputs
from tracker.contract.faults import ConfigError
from tracker.evaluate.engine import Engine
from tracker.explore.assessing import STRAINED
from tracker.explore.candidates import Candidates
from tracker.explore.headroom import headroom
from tracker.explore.sources import source_at

NAMES = ("a", "b", "c")
_SCAN = 4001


@dataclass(frozen=True)
class Fixed:
    """The formula check with its configuration."""

    settings: dict[str, str]

    def manifest(self, config: Config) -> Manifest:
        return FORMULA.manifest(self.settings)

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        return FORMULA.compute(inputs, self.settings)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002 - the contract's
        found: int | None = FORMULA.monotone(output, input, self.settings)  # type: ignore[attr-defined] # it declares
        return found


def programme(text: str, positive: set[str], values: list[float], half: float) -> Engine | None:
    """Return a programme that judges a formula of three numbers; None where it has no value."""
    formula = {**config(f"{text} + 0 * (a + b + c)", PLAIN), "positive": ", ".join(positive)}
    try:
        FORMULA.manifest(formula)
    except ConfigError:  # a constant part or an exponent out of bounds
        return None
    row = {name: np.array([value]) for name, value in zip(NAMES, values, strict=True)}
    outputs = FORMULA.compute(row, formula)
    if outputs.problems:
        return None
    middle = float(outputs.values["result"][0])
    return engine_of(
        decision("D", serves=("R",)),
        *(
            quantity(each, value, low=-4.0, high=9.0)
            for each, value in zip(NAMES, values, strict=True)
        ),
        quantity("y"),
        requirement("R", "y", middle - half, middle + half),
        use("C", "f", {each: each for each in NAMES}, {"result": "y"}),
        shelf=Shelf({"f": cast("Any", Fixed(formula))}),
    )


@settings(max_examples=250, deadline=None)
@given(
    text=EXPRESSIONS,
    positive=st.sets(st.sampled_from(NAMES)),
    values=st.lists(st.integers(-40, 90).map(lambda each: each / 10), min_size=3, max_size=3),
    half=st.sampled_from([0.1, 1.0, 10.0]),
)
def test_certified_stretches_stand_throughout(
    text: str, positive: set[str], values: list[float], half: float
) -> None:
    engine = programme(text, positive, values, half)
    if engine is None:
        return
    for held in headroom(engine, [source_at(engine, each) for each in NAMES], points=8):
        if not held.certified or not held.decisions:
            continue
        low, high = held.low.at, held.high.at
        assert low is not None
        assert high is not None
        rows = Candidates(engine, _SCAN)
        rows.put(held.source, np.linspace(low, high, _SCAN))
        assert (rows.assess().standing("D") <= STRAINED).all(), (held.source.id, low, high)
        for end in (held.low, held.high):
            if end.beyond is not None:
                beyond = Candidates(engine, 1)
                beyond.put(held.source, end.beyond)
                assert (beyond.assess().standing("D") > STRAINED).all(), end
