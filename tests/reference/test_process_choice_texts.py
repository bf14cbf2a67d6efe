"""The process choice against a published break-even table and a published batch-cost model."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tracker.contract.kit import Subject
from whybone_chassis.process_choice import CHECK

Process = tuple[Any, ...]


def process(set_cost: float, life: float, each: float, *further: float) -> Process:
    mass, price, scrap, rate, hourly = further or (0.0,) * 5
    return ("", set_cost, life, each, 0.0, False, mass, price, scrap, rate, hourly)


def found(rivals: list[Process], volumes: list[float]) -> dict[str, np.ndarray]:
    rows = [{"volume_per_year": volume, "years": 1.0} for volume in volumes]
    subject = Subject(check=CHECK, rows=rows, tables={"processes": rivals})
    outputs = CHECK.compute(subject.batch(rows), {})
    assert not outputs.problems
    return dict(outputs.values)


# A tool-maker's published break-even table: 5 000 + 20 a piece against 25 000 + 16 a piece (read).
CHEAP_TOOL, DEAR_TOOL = process(5_000, 1e9, 20.0), process(25_000, 1e9, 16.0)
TABLE = [
    (500, 30.0, 66.0),
    (1_000, 25.0, 41.0),
    (2_500, 22.0, 26.0),
    (5_000, 21.0, 21.0),
    (10_000, 20.5, 18.5),
]


@pytest.mark.parametrize(("volume", "cheap", "dear"), TABLE)
def test_published_unit_costs(volume: float, cheap: float, dear: float) -> None:
    for rival, unit in ((CHEAP_TOOL, cheap), (DEAR_TOOL, dear)):
        assert found([rival], [volume])["unit_cost"][0] == pytest.approx(unit, rel=1e-14)
    both = found([CHEAP_TOOL, DEAR_TOOL], [volume])
    assert both["unit_cost"][0] == pytest.approx(min(cheap, dear), rel=1e-14)
    assert both["advantage"][0] == pytest.approx(abs(cheap - dear), abs=1e-12)


def test_published_break_even() -> None:
    values = found([CHEAP_TOOL, DEAR_TOOL], [1_000.0, 10_000.0])
    assert values["cheapest"].tolist() == [1, 2]
    assert values["break_even_above"][0] == pytest.approx(5_000.0, rel=1e-14)
    assert values["break_even_below"][1] == pytest.approx(5_000.0, rel=1e-14)


# Ashby, Materials Selection in Mechanical Design, batch cost (read): m·C_m/(1 − f) +
# (C_t/n)·ceil(n/n_t) + C_h/ṅ. The figures are made up.
MASS, PRICE, SCRAP, TOOLS, LIFE, RATE, HOURLY = 1.4, 2.5, 0.3, 12_000.0, 1_000.0, 40.0, 90.0


def batch_cost(count: float) -> float:
    return MASS * PRICE / (1 - SCRAP) + TOOLS / count * math.ceil(count / LIFE) + HOURLY / RATE


def test_batch_cost_model() -> None:
    volumes = [float(each) for each in np.random.default_rng(3).integers(1, 9_000, 300)]
    rival = process(TOOLS, LIFE, 0.0, MASS, PRICE, SCRAP, RATE, HOURLY)
    unit = found([rival], volumes)["unit_cost"]
    assert unit == pytest.approx([batch_cost(volume) for volume in volumes], rel=1e-14)


def test_batch_cost_steps_at_multiples_of_the_tool_life_and_has_its_asymptotes() -> None:
    rival = process(TOOLS, LIFE, 0.0, MASS, PRICE, SCRAP, RATE, HOURLY)
    floor = MASS * PRICE / (1 - SCRAP) + HOURLY / RATE
    unit = found([rival], [1.0, LIFE, LIFE + 1, 2 * LIFE, 1e6 + 1])["unit_cost"]
    assert unit[0] == pytest.approx(TOOLS + floor, rel=1e-14)
    assert unit[1] == pytest.approx(TOOLS / LIFE + floor, rel=1e-14)
    assert unit[2] == pytest.approx(2 * TOOLS / (LIFE + 1) + floor, rel=1e-14)
    assert unit[3] == pytest.approx(unit[1], rel=1e-14)
    assert unit[4] == pytest.approx(TOOLS / LIFE + floor, rel=1e-3)
