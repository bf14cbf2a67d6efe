"""The tooling budget: exact arithmetic, the trade's common figures, an invented worked example."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from tracker.contract.check import Outputs
from tracker.contract.faults import ConfigError
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject
from whybone_chassis.tooling_budget import CHECK, DEFAULT_GATES
from whybone_chassis.tooling_sums import tool_sets

# part, process, set_cost, set_life, piece_cost, per_vehicle, carried, both sides, lead, gate
PartRow = tuple[str, str, float, float, float, int, bool, bool, float, str]
Tables = Mapping[str, Sequence[Sequence[Any]]]


def part(  # noqa: PLR0913  a row of the table
    name: str,
    set_cost: float,
    life: float,
    each: float,
    count: int,
    *,
    carried: bool = False,
    both: bool = False,
    lead: float = 0.0,
    gate: str = "tooling",
) -> PartRow:
    return (name, "", set_cost, life, each, count, carried, both, lead, gate)


def answer(tables: Tables, row: Row, config: Mapping[str, str]) -> Outputs:
    subject = Subject(check=CHECK, rows=[row], tables=tables, config=config)
    return CHECK.compute(subject.batch([row]), config)


def run(tables: Tables, **row: object) -> Outputs:
    return answer(tables, row, {})


def totals(tables: Tables, **row: object) -> dict[str, float]:
    outputs = run(tables, **row)
    assert not outputs.problems
    return {key: float(values[0]) for key, values in outputs.values.items()}


def draw_figures(tables: Tables, **row: object) -> dict[str, Figure]:
    subject = Subject(check=CHECK, rows=[row], tables=tables)
    return {figure.key: figure for figure in CHECK.figures(subject.batch([row]), {})}


# An invented small-series vehicle: every figure is made up for this example.
EXAMPLE = (
    part("knuckle", 78_000, 60_000, 46, 2, lead=30, gate="design"),
    part("upper arm", 128_000, 80_000, 31, 2, both=True, lead=36, gate="design"),
    part("rear lower arm", 64_000, 100_000, 58, 2, lead=20),
    part("front subframe", 92_000, 30_000, 140, 1, lead=24),
    part("lower front link", 3_800, 200_000, 14, 2, both=True, lead=8),
    part("lower rear link", 8_600, 200_000, 21, 2, both=True, lead=8),
    part("rear upper links", 3_800, 200_000, 9, 4, both=True, lead=8),
    part("integral link", 3_800, 200_000, 8, 2, both=True, lead=8),
    part("tie rod", 40_000, 50_000, 24, 2, carried=True),
    part("ball joint", 0, 0, 16, 4, carried=True, gate=""),
    part("steering gear", 1_400_000, 100_000, 265, 1, carried=True, gate=""),
)
PRODUCTION: dict[str, Any] = {"volume_per_year": 3_500.0, "years": 6.0}


def test_worked_example_of_an_invented_vehicle() -> None:
    found = totals({"parts": EXAMPLE}, **PRODUCTION)
    assert found["tooling_total"] == 524_000
    assert found["tooling_per_vehicle"] == pytest.approx(524_000 / 21_000, rel=1e-15)
    assert round(found["tooling_per_vehicle"], 2) == 24.95
    assert found["piece_cost_per_vehicle"] == 909
    assert found["cost_per_vehicle"] == pytest.approx(909 + 524_000 / 21_000, rel=1e-15)
    assert found["tool_sets"] == 2 + 1 + 2 + 1 + 4
    assert found["one_offs_total"] == 0
    # Each shared part would need a second tool: one more upper arm die and four more profiles.
    assert found["saved_by_both_sides"] == 128_000 + 3_800 + 8_600 + 3_800 + 3_800
    assert found["saved_by_carry_over"] == 2 * 40_000 + 1_400_000


def test_worked_example_with_an_upper_arm_for_each_side() -> None:
    parts = [each if each[0] != "upper arm" else (*each[:7], False, *each[8:]) for each in EXAMPLE]
    assert totals({"parts": parts}, **PRODUCTION)["tooling_total"] == 652_000


def exact_sets(volume: int, years: int, count: int, life: int, *, both: bool) -> int:
    sides = 1 if count == 1 or both else 2
    return sides * math.ceil(Fraction(volume * years * count, sides * life))


@pytest.mark.parametrize("both", [True, False])
@pytest.mark.parametrize("count", [1, 2, 4])
def test_tool_sets_match_exact_arithmetic(count: int, *, both: bool) -> None:
    generator = np.random.default_rng(3)
    for _ in range(300):
        volume, years, life = (int(each) for each in generator.integers(1, (9_000, 12, 9_000)))
        row = {"volume_per_year": float(volume), "years": float(years)}
        found = totals({"parts": [part("arm", 1.0, life, 0.0, count, both=both)]}, **row)
        assert found["tool_sets"] == exact_sets(volume, years, count, life, both=both)


def test_demand_of_exactly_one_life_needs_one_set_in_whatever_unit_it_was_typed() -> None:
    # 0.1 · 3 is not 0.3 in binary; the same demand must not buy another set for its rounding.
    demand = np.array([0.1 * 3, 0.3, 0.3 * (1 - 2e-16)]) * 1e5
    assert demand[0] / demand[1] > 1.0
    assert tool_sets(demand, np.ones(3), np.full(3, 0.3 * 1e5)).tolist() == [1.0] * 3


def test_one_piece_more_than_a_life_needs_another_set() -> None:
    lives = np.array([1e3, 1e5, 1e7])
    assert tool_sets(lives + 1, np.ones(3), lives).tolist() == [2.0] * 3
    assert tool_sets(np.ones(3), np.ones(3), lives).tolist() == [1.0] * 3


def test_part_that_fits_both_sides_needs_one_tool_for_two_parts() -> None:
    """Common practice, no source."""
    shared = totals({"parts": [part("link", 4_000, 1e6, 10, 2, both=True)]}, **PRODUCTION)
    handed = totals({"parts": [part("link", 4_000, 1e6, 10, 2)]}, **PRODUCTION)
    assert (shared["tool_sets"], handed["tool_sets"]) == (1, 2)
    assert shared["saved_by_both_sides"] == handed["tooling_total"] - shared["tooling_total"]


def test_single_part_needs_one_tool_though_it_fits_no_other_side() -> None:
    found = totals({"parts": [part("subframe", 92_000, 30_000, 1, 1, both=True)]}, **PRODUCTION)
    assert found["tool_sets"] == 1
    assert found["saved_by_both_sides"] == 0


def test_gear_of_ones_own_costs_well_over_a_million_to_tool() -> None:
    """Common practice, no source: housing, rack, pinion and valve tools, fixtures and gauges."""
    own = part("steering gear", 1_250_000, 100_000, 310, 1)
    bought = part("steering gear", 1_250_000, 100_000, 265, 1, carried=True)
    fixtures = [("end-of-line bench", 150_000.0, "pilot")]
    with_own = totals({"parts": [own], "one_offs": fixtures}, **PRODUCTION)
    with_bought = totals({"parts": [bought]}, **PRODUCTION)
    assert with_own["tooling_total"] == 1_400_000
    assert with_own["one_offs_total"] == 150_000
    assert with_own["tooling_per_vehicle"] > 60  # at a small-series volume it never pays back
    assert with_bought["tooling_total"] == 0
    assert with_bought["saved_by_carry_over"] == 1_250_000


def test_forging_all_links_of_an_axle_costs_half_a_million_to_a_million() -> None:
    """Common practice, no source: 100,000 to 200,000 a set, left and right apart."""
    single = totals({"parts": [part("front", 125_000, 80_000, 30, 2)]}, **PRODUCTION)
    assert 100_000 <= single["tooling_total"] / single["tool_sets"] <= 200_000
    two = [part(name, 125_000, 80_000, 30, 2) for name in ("front", "rear")]
    three = [part(name, 165_000, 80_000, 30, 2) for name in ("upper", "front", "rear")]
    for links in (two, three):
        assert 5e5 <= totals({"parts": links}, **PRODUCTION)["tooling_total"] <= 1e6


def test_extruded_links_cost_a_fiftieth_of_forged_ones() -> None:
    """Common practice, no source: a die for a simple link about 4,000, a longer one to 10,000."""
    extruded = [
        part("front", 4_000, 200_000, 14, 2, both=True),
        part("rear", 10_000, 200_000, 21, 2, both=True),
    ]
    forged = [part(name, 150_000, 80_000, 30, 2) for name in ("front", "rear")]
    saving = totals({"parts": forged}, **PRODUCTION)["tooling_total"]
    assert totals({"parts": extruded}, **PRODUCTION)["tooling_total"] * 40 < saving


DATES = [
    ("launch", "2028-06-01"),
    ("design", "2026-09-30"),
    ("tooling", "2027-03-31"),
]
ONE_OFFS = [("gauges", 20_000.0, "design"), ("samples", 15_000.0, "launch")]


@pytest.mark.parametrize(
    ("gate", "wanted"),
    [("concept", 0), ("design", 304_000), ("tooling", 544_000), ("pilot", 544_000)],
)
def test_tooling_to_a_gate_in_the_configured_order(gate: str, wanted: float) -> None:
    found = totals({"parts": EXAMPLE, "one_offs": ONE_OFFS}, gate=gate, **PRODUCTION)
    assert found["tooling_to_gate"] == wanted


def test_last_gate_holds_the_whole_budget() -> None:
    found = totals({"parts": EXAMPLE, "one_offs": ONE_OFFS}, gate="launch", **PRODUCTION)
    assert found["tooling_to_gate"] == found["tooling_total"] == 559_000


def test_dates_decide_the_order_and_the_first_order() -> None:
    tables = {"parts": EXAMPLE, "one_offs": ONE_OFFS, "gates": DATES}
    design = totals(tables, gate="design", **PRODUCTION)
    assert design["tooling_to_gate"] == 304_000
    assert design["order_lead"] == 36  # the upper arm, due at that gate itself
    tooling = totals(tables, gate="tooling", **PRODUCTION)
    apart = (date(2027, 3, 31) - date(2026, 9, 30)).days / 7
    assert tooling["order_lead"] == pytest.approx(apart + 36, rel=1e-12)


def test_gate_names_come_from_the_configuration() -> None:
    config = {"gates": "G1, G2"}
    (gate,) = (port for port in CHECK.manifest(config).inputs if port.key == "gate")
    assert gate.choices == ("G1", "G2")
    parts = [part("arm", 5.0, 1e6, 0.0, 1, gate="G1"), part("link", 3.0, 1e6, 0.0, 1, gate="G2")]
    outputs = answer({"parts": parts}, {"gate": "G1", **PRODUCTION}, config)
    assert outputs.values["tooling_to_gate"][0] == 5.0


@pytest.mark.parametrize(
    ("config", "field", "word"),
    [
        ({"gates": "a,,b"}, "gates", "empty"),
        ({"gates": "a,b,a"}, "gates", "twice"),
        ({"gate": "a"}, "gate", "no such field"),
    ],
)
def test_wrong_configuration_is_named(config: dict[str, str], field: str, word: str) -> None:
    with pytest.raises(ConfigError) as caught:
        CHECK.manifest(config)
    assert word in caught.value.fields[field]


def test_several_wrong_fields_are_named_at_once() -> None:
    with pytest.raises(ConfigError) as caught:
        CHECK.manifest({"gates": "", "speed": "fast"})
    assert set(caught.value.fields) == {"gates", "speed"}


def test_without_a_gate_its_outputs_are_absent() -> None:
    outputs = run({"parts": EXAMPLE}, **PRODUCTION)
    assert {absence.port for absence in outputs.absences} == {"tooling_to_gate", "order_lead"}
    assert all("no gate is asked for" in absence.reason for absence in outputs.absences)


def test_without_dates_or_tools_the_first_order_is_absent() -> None:
    (undated,) = run({"parts": EXAMPLE}, gate="design", **PRODUCTION).absences
    assert undated.reason == "no gate dates are given"
    tables = {"parts": EXAMPLE[2:], "gates": DATES}
    (idle,) = run(tables, gate="design", **PRODUCTION).absences
    assert idle.reason == "no tool is due by the gate"
    (empty,) = run({"parts": [], "gates": DATES}, gate="design", **PRODUCTION).absences
    assert empty.reason == "no tool is due by the gate"


def test_empty_gate_table_counts_as_none() -> None:
    outputs = run({"parts": EXAMPLE, "gates": []}, gate="design", **PRODUCTION)
    assert outputs.values["tooling_to_gate"][0] == 156_000 + 128_000


@pytest.mark.parametrize(
    ("tables", "word", "port"),
    [
        ({"parts": [part("arm", 5, 1, 1, 0)]}, "arm: per_vehicle", "tooling_total"),
        ({"parts": [part("arm", -5, 1, 1, 1)]}, "arm: a cost", "tooling_total"),
        ({"parts": [part("arm", 5, 0, 1, 1)]}, "arm: it has a set cost but", "tooling_total"),
        (
            {"parts": [part("arm", 5, 0, 1, 1, carried=True)]},
            "no set life",
            "saved_by_carry_over",
        ),
        ({"parts": [part("arm", 5, 1, 1, 1, lead=-1)]}, "arm: lead_weeks", "order_lead"),
        ({"parts": [], "one_offs": [("x", -1.0, "")]}, "one-off", "tooling_total"),
        ({"parts": [part("arm", 5, 1e6, 1, 1, gate="?")]}, "arm is due at '?'", "tooling_to_gate"),
        ({"parts": [], "gates": [("design", "soon")]}, "'soon' is no date", "tooling_to_gate"),
        (
            {"parts": [], "gates": [("design", "2026-01-01"), ("design", "2027-01-01")]},
            "twice",
            "order_lead",
        ),
        ({"parts": [], "gates": [("other", "2026-01-01")]}, "not among the gates", "order_lead"),
    ],
)
def test_wrong_table_is_named(tables: Tables, word: str, port: str) -> None:
    outputs = run(tables, gate="design", **PRODUCTION)
    matching = [each for each in outputs.problems if word in each.reason]
    assert matching
    assert any(not each.ports or port in each.ports for each in matching)


def test_wrong_life_leaves_the_pieces_known() -> None:
    outputs = run({"parts": [part("arm", 5, 0, 7, 2)]}, **PRODUCTION)
    assert all("piece_cost_per_vehicle" not in each.ports for each in outputs.problems)
    assert outputs.values["piece_cost_per_vehicle"][0] == 14


def test_figures_add_up_and_list_the_orders() -> None:
    tables = {"parts": EXAMPLE, "one_offs": ONE_OFFS, "gates": DATES}
    figures = draw_figures(tables, **PRODUCTION)
    by_gate = figures["spend-by-gate"].series
    assert by_gate[0].labels == ("design", "tooling", "launch", "no gate")
    assert list(by_gate[0].y) == [284_000, 240_000, 0, 0]
    assert list(by_gate[1].y) == [20_000, 0, 15_000, 0]
    (by_part,) = figures["spend-by-part"].series
    assert sum(by_part.y) == 524_000
    assert by_part.labels[0] == "knuckle"
    listing = {series.title: series.labels for series in figures["order-by"].series}
    assert listing["part"][:2] == ("upper arm", "knuckle")
    assert listing["order by"][0] == "2026-01-21"  # 36 weeks before 2026-09-30
    assert listing["sets"][:2] == ("1", "2")


def test_listing_without_dates_says_so() -> None:
    parts = [part("arm", 5, 1e6, 1, 1), part("link", 5, 1e6, 1, 1, lead=1e9)]
    figures = draw_figures({"parts": parts}, **PRODUCTION)
    assert figures["order-by"].series[0].labels == ("no date", "no date")
    dated = draw_figures({"parts": parts, "gates": DATES}, **PRODUCTION)
    assert dated["order-by"].series[0].labels == ("2027-03-31", "no date")


def test_listing_of_no_tools_is_empty() -> None:
    figures = draw_figures({"parts": []}, **PRODUCTION)
    assert [series.labels for series in figures["order-by"].series] == [()] * 5


def draw(generator: np.random.Generator) -> Row:
    return {
        "volume_per_year": float(generator.integers(100, 90_000)),
        "years": float(generator.uniform(0.5, 12.0)),
        "gate": str(generator.choice(DEFAULT_GATES[1:3])),
    }


CASES: dict[str, Tables] = {
    "plain": {"parts": EXAMPLE},
    "full": {"parts": EXAMPLE, "one_offs": ONE_OFFS, "gates": DATES},
    "long": {"parts": [part(f"p{n}", 1e3 + n / 7, 1e4 + n, n / 3, 1 + n % 4) for n in range(300)]},
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, case: str) -> None:
    money = {"money": 4.0, "piece": 1.0, "vehicle": 1.0, "year": 1.0, "week": 1.0}
    subject = Subject(
        check=CHECK,
        rows=draw,
        tables=CASES[case],
        degenerate=[
            {"volume_per_year": 0.0},
            {"years": 0.0},
            {"years": -1.0},
            {"volume_per_year": 1e300, "years": 1e300},
            {"volume_per_year": 1e200},
            {"parts": [part("arm", 5, 1e6, 1, 0)]},
            {"parts": [part("arm", 5, 0, 1, 1)]},
        ],
        scalings=[money, {**money, "year": 2.0, "week": 2.0}][: 1 if "gates" in CASES[case] else 2],
    )
    PROMISES[promise](subject)
