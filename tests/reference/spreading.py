"""Programmes for tests of spread: one function of some scattering sources, judged by one band."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from tests.property.toy_checks import Shelf, Toy, port
from tests.unit.small_world import decision, engine_of, quantity, requirement, use
from tracker.evaluate.engine import Engine
from tracker.model.records import Tolerance, ToleranceShape

__all__ = ["NORMAL", "RECTANGULAR", "TRIANGULAR", "function_of"]

NORMAL, RECTANGULAR, TRIANGULAR = (
    ToleranceShape.NORMAL,
    ToleranceShape.RECTANGULAR,
    ToleranceShape.TRIANGULAR,
)
Input = tuple[float, float, ToleranceShape]
"""Value, half-width and shape."""


def function_of(
    function: Callable[..., Any], inputs: Sequence[Input], lower: float, upper: float
) -> Engine:
    """Return a programme: decision D stands while lower ≤ f(x0, x1, …) ≤ upper."""
    names = [f"x{number}" for number in range(len(inputs))]

    def compute(**given: Any) -> dict[str, Any]:  # noqa: ANN401 - arrays
        return {"y": function(*(given[name] for name in names))}

    toy = Toy("f", tuple(port(name) for name in names), (port("y"),), compute)
    sources = [
        quantity(name, value, tolerance=Tolerance(half_width=half, shape=shape))
        for name, (value, half, shape) in zip(names, inputs, strict=True)
    ]
    return engine_of(
        decision("D", serves=("R",)),
        *sources,
        quantity("y"),
        requirement("R", "y", lower, upper),
        use("C", "f", {name: name for name in names}, {"y": "y"}),
        shelf=Shelf({"f": toy}),
    )
