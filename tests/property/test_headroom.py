"""Headroom against flip points that are known beforehand."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from tests.property.planted import Case, engine_with, planted
from tracker.evaluate.engine import Engine
from tracker.explore.headroom import Headroom, headroom
from tracker.explore.sources import source_at


@pytest.fixture(scope="module")
def corpus() -> list[Case]:
    return planted()


@pytest.fixture(scope="module")
def engine(corpus: list[Case]) -> Engine:
    return engine_with(corpus)


@pytest.fixture(scope="module")
def found(corpus: list[Case], engine: Engine) -> list[Headroom]:
    sources = [source_at(engine, f"q{number}") for number in range(len(corpus))]
    return headroom(engine, sources)


def off(case: Case, found: Headroom) -> float:
    """Return how far the worse end is from the known flip, as a share of the scale."""
    worst = 0.0
    for known, end, limit in (
        (case.low, found.low, case.range[0]),
        (case.high, found.high, case.range[1]),
    ):
        assert bool(end.breaks) == (known is not None), (case, found)
        wanted = limit if known is None else known
        assert end.at is not None
        worst = max(worst, abs(end.at - wanted) / case.scale)
    return worst


def test_the_corpus_is_large_and_of_all_kinds(corpus: list[Case]) -> None:
    counts = Counter(case.name for case in corpus)
    assert len(corpus) >= 300
    assert all(
        counts[name] == 60
        for name in (
            "linear",
            "quadratic",
            "trigonometric",
            "step",
            "double root",
            "two intervals",
        )
    )


def test_every_flip_is_found(corpus: list[Case], found: list[Headroom]) -> None:
    missed = [
        (case, off(case, held))
        for case, held in zip(corpus, found, strict=True)
        if off(case, held) > case.within
    ]
    assert not missed, (len(missed), missed[:3])


def test_only_declared_lines_are_certified(corpus: list[Case], found: list[Headroom]) -> None:
    for case, held in zip(corpus, found, strict=True):
        assert held.certified is (case.trend is not None)
        assert (held.resolution is None) is held.certified
    assert sum(each.certified for each in found) >= 60


def test_the_last_value_stands_and_the_next_does_not(
    corpus: list[Case], found: list[Headroom]
) -> None:
    for case, held in zip(corpus, found, strict=True):
        for end in (held.low, held.high):
            if end.beyond is None:
                continue
            assert end.at is not None
            assert stands(case, end.at), case
            assert not stands(case, end.beyond), case
            assert abs(end.beyond - end.at) <= max(np.spacing(abs(end.at)), 1e-16 * case.scale) * 2


def stands(case: Case, value: float) -> bool:
    with np.errstate(invalid="ignore"):
        made = case.function(np.array([value]))
    if hasattr(made, "problems"):
        if any(problem.rows[0] for problem in made.problems):
            return False
        made = made.values["out"]
    number = float(made[0])
    above = case.lower is None or number - case.lower >= 0
    return above and (case.upper is None or case.upper - number >= 0)


def test_lines_in_one_pass_give_what_they_give_alone(
    engine: Engine, corpus: list[Case], found: list[Headroom]
) -> None:
    for number in range(0, len(corpus), 17):
        assert headroom(engine, [source_at(engine, f"q{number}")]) == [found[number]]
