"""Tooling cost against a published batch-cost model and a published break-even table."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tracker.contract.kit import Subject
from whybone_chassis.tooling_budget import CHECK


def unit_costs(set_cost: float, life: float, piece: float, volumes: list[float]) -> np.ndarray:
    """Cost per vehicle of a vehicle that consists of one part, over the volume."""
    subject = Subject(
        check=CHECK,
        rows=[{"volume_per_year": volume, "years": 1.0} for volume in volumes],
        tables={"parts": [("part", "", set_cost, life, piece, 1, False, False, 0.0, "")]},
    )
    outputs = CHECK.compute(subject.batch(subject.draw(len(volumes))), {})
    assert not outputs.problems
    costs: np.ndarray = outputs.values["cost_per_vehicle"]
    return costs


# A tool-maker's published break-even table: 5 000 + 20 a piece against 25 000 + 16 a piece.
BREAK_EVEN = [
    (500, 30.0, 66.0),
    (1_000, 25.0, 41.0),
    (2_500, 22.0, 26.0),
    (5_000, 21.0, 21.0),
    (10_000, 20.5, 18.5),
]


@pytest.mark.parametrize(("volume", "cheap_tool", "dear_tool"), BREAK_EVEN)
def test_published_break_even_table(volume: float, cheap_tool: float, dear_tool: float) -> None:
    endless = 1e9
    assert unit_costs(5_000, endless, 20, [volume])[0] == pytest.approx(cheap_tool, rel=1e-15)
    assert unit_costs(25_000, endless, 16, [volume])[0] == pytest.approx(dear_tool, rel=1e-15)


def test_published_break_even_lies_at_5000_pieces() -> None:
    around = [4_999.0, 5_000.0, 5_001.0]
    difference = unit_costs(5_000, 1e9, 20, around) - unit_costs(25_000, 1e9, 16, around)
    assert np.sign(np.round(difference, 12)).tolist() == [-1.0, 0.0, 1.0]


# Ashby, Materials Selection in Mechanical Design, batch cost: the tooling term is
# (C_t / n) · ceil(n / n_t), here with C_t 12 000 and n_t 1 000.
TOOL, LIFE = 12_000.0, 1_000.0


def test_batch_cost_steps_at_multiples_of_the_tool_life() -> None:
    for count in range(1, 6):
        at, after = unit_costs(TOOL, LIFE, 0.0, [count * LIFE, count * LIFE + 1])
        assert at == pytest.approx(TOOL / LIFE, rel=1e-15)
        assert after == pytest.approx(TOOL * (count + 1) / (count * LIFE + 1), rel=1e-15)


def test_batch_cost_has_the_published_asymptotes() -> None:
    few, many = unit_costs(TOOL, LIFE, 3.0, [1.0, 1e7 + 1])
    assert few == TOOL + 3.0  # one piece carries the whole tool
    assert many == pytest.approx(TOOL / LIFE + 3.0, rel=1e-3)  # many carry C_t / n_t each


def test_batch_cost_is_the_published_term_between_the_steps() -> None:
    volumes = [float(each) for each in np.random.default_rng(5).integers(1, 20_000, 500)]
    wanted = [TOOL / n * math.ceil(n / LIFE) for n in volumes]
    assert unit_costs(TOOL, LIFE, 0.0, volumes) == pytest.approx(wanted, rel=1e-15)
