"""The promises about trends and derivatives: good declarations keep them, false ones do not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pytest

from tracker.contract.check import (
    Absence,
    Array,
    Config,
    Inputs,
    Kind,
    Manifest,
    Outputs,
    Port,
    Problem,
)
from tracker.contract.kit import BrokenPromise, Subject
from tracker.contract.kit_slopes import promise_derivatives_right, promise_trends_kept

Pair = tuple[str, str]


def port(key: str, kind: Kind = Kind.REAL, **more: Any) -> Port:  # noqa: ANN401 - fields of Port
    return Port(key=key, title=key, doc="", kind=kind, **more)


@dataclass
class Declaring:
    """out = a² + n − p.z, where a > −2; big = out > 0."""

    trends: Mapping[Pair, int] = field(default_factory=dict)
    slopes: Mapping[Pair, float] = field(default_factory=dict)
    hole: bool = False

    def manifest(self, config: Config) -> Manifest:
        return Manifest(
            key="declaring",
            version="1",
            title="",
            purpose="",
            inputs=(
                port("a"),
                port("n", Kind.INTEGER),
                port("p", Kind.POINT),
                port("spare", optional=True),
            ),
            outputs=(port("out"), port("tip", Kind.POINT), port("big", Kind.FLAG)),
        )

    def compute(self, inputs: Inputs, config: Config) -> Outputs:
        a, n, p = inputs["a"], inputs["n"], inputs["p"]
        out = a**2 + n - p[:, 2]
        problems = [Problem((a > 1.0) & (a < 2.0), "a hole")] if self.hole else []
        return Outputs({"out": out, "tip": p * 2.0, "big": out > 0}, problems)

    def monotone(self, output: str, input: str, config: Config) -> int | None:  # noqa: A002 - the contract's
        return self.trends.get((output, input))

    def derivatives(self, inputs: Inputs, config: Config) -> Mapping[Pair, Array]:
        a = inputs["a"]
        given = {pair: np.full(len(a), slope) for pair, slope in self.slopes.items()}
        return {("out", "a"): 2 * a, **given}


def subject(check: Any, low: float = 0.0) -> Subject:  # noqa: ANN401 - a check
    def draw(dice: np.random.Generator) -> dict[str, Any]:
        point = dice.uniform(-5, 5, 3).tolist()
        return {"a": dice.uniform(low, 3.0), "n": int(dice.integers(0, 9)), "p": point}

    return Subject(check=check, rows=draw)


GOOD = {
    ("out", "a"): 1,
    ("out", "n"): 1,
    ("out", "p.z"): -1,
    ("out", "p.x"): 0,
    ("tip.x", "p.x"): 1,
    ("tip.x", "a"): 0,
    ("big", "a"): 1,
}


def test_good_declarations_are_kept() -> None:
    promise_trends_kept(subject(Declaring(GOOD)))
    promise_derivatives_right(
        subject(Declaring(slopes={("out", "p.z"): -1.0, ("tip.y", "p.y"): 2}))
    )


@pytest.mark.parametrize(
    ("trends", "words"),
    [
        ({("out", "a"): -1}, "'out' should fall with 'a'"),
        ({("out", "p.z"): 1}, "'out' should rise with 'p.z'"),
        ({("out", "n"): 0}, "'out' should stay with 'n'"),
        ({("big", "a"): -1}, "'big' should fall with 'a'"),
        ({("out", "a"): 2}, "the trend of 'out' by 'a' is 2"),
    ],
)
def test_false_trends_are_told(trends: Mapping[Pair, int], words: str) -> None:
    with pytest.raises(BrokenPromise, match=words):
        promise_trends_kept(subject(Declaring(trends)))


def test_a_trend_that_turns_is_told() -> None:
    with pytest.raises(BrokenPromise, match="should rise"):
        promise_trends_kept(subject(Declaring({("out", "a"): 1}), low=-3.0))


def test_a_hole_between_answers_is_told() -> None:
    with pytest.raises(BrokenPromise, match="no answer between two rows"):
        promise_trends_kept(subject(Declaring({("out", "a"): 1}, hole=True)))


def test_an_output_that_begins_to_exist_is_told() -> None:
    class Appearing(Declaring):
        def manifest(self, config: Config) -> Manifest:
            told = Declaring.manifest(self, config)
            return replace(told, outputs=(*told.outputs, port("far", optional=True)))

        def compute(self, inputs: Inputs, config: Config) -> Outputs:
            found = Declaring.compute(self, inputs, config)
            near = Absence("far", inputs[self.by] < 4, "it is not far")
            return Outputs({**found.values, "far": inputs["a"]}, found.problems, [near])

        by = "n"

    with pytest.raises(BrokenPromise, match="'far' begins to exist with 'n'"):
        promise_trends_kept(subject(Appearing({("out", "n"): 1})))
    promise_trends_kept(subject(Appearing({("out", "a"): 1})))


@pytest.mark.parametrize(
    ("slopes", "words"),
    [
        ({("out", "p.z"): 1.0}, "the derivative of 'out' by 'p.z'"),
        ({("out", "n"): 1.0}, "no such real port"),
        ({("nothing", "a"): 1.0}, "no such real port"),
    ],
)
def test_false_derivatives_are_told(slopes: Mapping[Pair, float], words: str) -> None:
    with pytest.raises(BrokenPromise, match=words):
        promise_derivatives_right(subject(Declaring(slopes=slopes)))


def test_a_derivative_has_a_number_for_each_row() -> None:
    class Short(Declaring):
        def derivatives(self, inputs: Inputs, config: Config) -> Mapping[Pair, Array]:
            return {("out", "a"): 2 * inputs["a"][:1]}

    with pytest.raises(BrokenPromise, match="not one number for each row"):
        promise_derivatives_right(subject(Short()))


class Silent:
    """A check that declares nothing."""

    manifest = Declaring.manifest
    compute = Declaring.compute
    hole = False


def test_who_declares_nothing_promises_nothing() -> None:
    promise_trends_kept(subject(Silent()))
    promise_derivatives_right(subject(Silent()))
