"""The process choice against exact rational arithmetic, scanned piece by piece."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from tracker.contract.check import Outputs
from tracker.contract.faults import ConfigError
from tracker.contract.figure import Figure
from tracker.contract.kit import PROMISES, Row, Subject, table
from whybone_chassis.process_choice import CHECK
from whybone_chassis.process_choice_costs import envelope, rivals_of

Process = tuple[Any, ...]


def process(
    name: str,
    set_cost: float,
    life: float,
    each: float,
    one_off: float = 0.0,
    *,
    both: bool = False,
    material: tuple[float, float, float] = (0.0, 0.0, 0.0),
    work: tuple[float, float] = (0.0, 0.0),
) -> Process:
    mass, price, scrap = material
    rate, hourly = work
    return (name, set_cost, life, each, one_off, both, mass, price, scrap, rate, hourly)


# An invented lower link, made for left and right.
RIVALS = [
    process("forged", 128_000, 80_000, 9.5, both=False),
    process("cut profile", 4_000, 200_000, 14.0, both=True),
    process("fabricated", 11_000, 30_000, 12.2, 3_000, both=True),
]


def answer(rivals: Sequence[Process], **row: object) -> Outputs:
    return named(rivals, {}, **row)


def named(rivals: Sequence[Process], naming: Mapping[str, str], /, **row: object) -> Outputs:
    filled = {"years": 1.0, **row}
    subject = Subject(check=CHECK, rows=[filled], tables={"processes": rivals}, config=naming)
    return CHECK.compute(subject.batch([filled]), naming)


def run(rivals: Sequence[Process], **row: object) -> dict[str, float]:
    outputs = answer(rivals, **row)
    assert not outputs.problems
    return {port: float(values[0]) for port, values in outputs.values.items()}


def exact(rival: Process, pieces: Fraction, *, single: bool) -> Fraction:
    _, set_cost, life, each, one_off, both, *_ = (
        Fraction(cell) if isinstance(cell, int | float) else cell for cell in rival
    )
    sides = 1 if single or both else 2
    sets = sides * math.ceil(pieces / (sides * life)) if set_cost else 0
    return one_off + set_cost * sets + each * pieces


def best_at(rivals: Sequence[Process], pieces: Fraction, *, single: bool) -> set[int]:
    costs = [exact(each, pieces, single=single) for each in rivals]
    return {place for place, cost in enumerate(costs) if cost == min(costs)}


def draw_rivals(generator: np.random.Generator) -> list[Process]:
    return [
        process(
            f"p{number}",
            float(generator.integers(0, 400)) * float(generator.choice([0.0, 1.0, 1.0])),
            float(generator.integers(20, 200)),
            float(generator.integers(1, 12)),
            float(generator.integers(0, 300)),
            both=bool(generator.integers(2)),
        )
        for number in range(int(generator.integers(1, 5)))
    ]


@pytest.mark.parametrize("per_vehicle", [1, 2])
@pytest.mark.parametrize("seed", range(8))
def test_cheapest_and_its_range_match_exact_arithmetic(seed: int, per_vehicle: int) -> None:
    generator = np.random.default_rng(seed)
    rivals = draw_rivals(generator)
    single = per_vehicle == 1
    for volume in generator.integers(1, 700, 8).tolist():
        found = run(rivals, volume_per_year=float(volume), per_vehicle=per_vehicle)
        pieces = Fraction(volume * per_vehicle)
        chosen = int(found["cheapest"]) - 1
        assert chosen in best_at(rivals, pieces, single=single)
        cost = exact(rivals[chosen], pieces, single=single) / pieces
        assert found["unit_cost"] == pytest.approx(float(cost), rel=1e-14)
        ends = [found[f"break_even_{side}"] * per_vehicle for side in ("below", "above")]
        low = 0.0 if math.isnan(ends[0]) else ends[0]
        high = 1_500.0 if math.isnan(ends[1]) else ends[1]
        assert low <= pieces <= high * (1 + 1e-12)
        for each in range(math.floor(low) + 1, math.ceil(high)):
            assert chosen in best_at(rivals, Fraction(each), single=single)
        for end, step in zip(ends, (-1, 1), strict=True):
            if not math.isnan(end):
                past = Fraction(end) + step * Fraction(1, 10**7)
                assert chosen not in best_at(rivals, past, single=single)


def test_worked_example_of_an_invented_link() -> None:
    found = run(RIVALS, volume_per_year=3_500.0, years=6.0, per_vehicle=2)
    pieces = 42_000
    assert found["cheapest"] == 3
    # Fabricated: two sets of 30,000 pieces, and 3,000 once.
    assert found["unit_cost"] == pytest.approx(12.2 + (2 * 11_000 + 3_000) / pieces, rel=1e-14)
    assert found["advantage"] == pytest.approx(14.0 + 4_000 / pieces - found["unit_cost"])
    # At one set up to 30,000 pieces it wins from (11,000 + 3,000 − 4,000)/1.8 pieces on; the
    # second set pays only from 21,000/1.8 on, which is always true past 30,000.
    assert found["break_even_below"] == pytest.approx(10_000 / 1.8 / 12, rel=1e-12)
    assert math.isnan(found["break_even_above"]) or found["break_even_above"] > 3_500


def test_single_piece_needs_no_second_tool() -> None:
    rivals = [process("forged", 1_000, 1e6, 1.0)]
    assert run(rivals, volume_per_year=100.0, per_vehicle=1)["unit_cost"] == 11.0
    assert run(rivals, volume_per_year=50.0, per_vehicle=2)["unit_cost"] == 21.0


def test_parts_of_the_piece_cost_add_up() -> None:
    parts = process("cast", 0, 0, 2.0, material=(3.0, 4.0, 0.25), work=(20.0, 60.0))
    found = run([parts], volume_per_year=10.0)
    assert found["unit_cost"] == pytest.approx(2.0 + 3.0 * 4.0 / 0.75 + 60.0 / 20.0, rel=1e-15)


def test_lone_process_has_no_advantage_and_no_break_even() -> None:
    outputs = answer(RIVALS[:1], volume_per_year=3_500.0)
    assert {each.port: each.reason for each in outputs.absences} == {
        "advantage": "there is no other process",
        "break_even_below": "no other process wins at a lower volume",
        "break_even_above": "no other process wins at a higher volume",
        "volume_room": "no other process wins at any volume",
    }


def test_room_is_the_smaller_share() -> None:
    rivals = [process("a", 0, 0, 10.0), process("b", 100, 1e9, 9.0), process("c", 500, 1e9, 8.0)]
    found = run(rivals, volume_per_year=160.0)
    assert found["break_even_below"] == pytest.approx(100.0)
    assert found["break_even_above"] == pytest.approx(400.0)
    assert found["volume_room"] == pytest.approx(60.0 / 160.0)
    assert run(rivals, volume_per_year=320.0)["volume_room"] == pytest.approx(80.0 / 320.0)
    assert run(rivals, volume_per_year=50.0)["volume_room"] == pytest.approx(1.0)


@pytest.mark.parametrize("turned", [False, True])
def test_at_the_break_even_itself_there_is_no_room(*, turned: bool) -> None:
    rivals = [process("a", 5_000, 1e9, 20.0), process("b", 25_000, 1e9, 16.0)]
    found = run(rivals[::-1] if turned else rivals, volume_per_year=5_000.0)
    assert found["cheapest"] == 1
    assert found["volume_room"] == pytest.approx(0.0, abs=1e-12)
    assert found["advantage"] == pytest.approx(0.0, abs=1e-12)


def test_equal_costs_summed_in_another_order_make_no_break_even() -> None:
    # 0.1 + 0.2 is not 0.3 in binary; two equal processes must not win by turns.
    same = [
        process("a", 0, 0, 0.1, material=(0.2, 1.0, 0.0)),
        process("b", 0, 0, 0.3),
    ]
    outputs = answer(same, volume_per_year=1234.0)
    assert "volume_room" in {absence.port for absence in outputs.absences}
    assert outputs.values["cheapest"][0] == 1


def test_configured_names_tell_the_cheapest_by_name() -> None:
    config = {"processes": "cut profile, forged , fabricated"}
    outputs = named(RIVALS, config, volume_per_year=3_500.0, years=6.0, per_vehicle=2)
    port = CHECK.manifest(config).outputs[-1]
    assert port.choices[outputs.values["cheapest_process"][0]] == "fabricated"
    strange = named([*RIVALS, process("printed", 0, 0, 99.0)], config, volume_per_year=1.0)
    assert strange.problems[0].reason == (
        "process printed: it is not among the configured processes"
    )


@pytest.mark.parametrize(
    ("config", "field", "word"),
    [
        ({"processes": "a,,b"}, "processes", "empty"),
        ({"processes": ""}, "processes", "empty"),
        ({"processes": "a,a"}, "processes", "twice"),
        ({"names": "a"}, "names", "no such field"),
    ],
)
def test_wrong_configuration_is_named(config: dict[str, str], field: str, word: str) -> None:
    with pytest.raises(ConfigError) as caught:
        CHECK.manifest(config)
    assert word in caught.value.fields[field]


@pytest.mark.parametrize(
    ("rivals", "words"),
    [
        ([process("a", -1, 1, 1)], "process a: a cost"),
        ([process("a", 1, 0, 1)], "process a: it has a set cost but its set life"),
        ([process("a", 1, 0.5, 1)], "below one piece"),
        ([process("a", 0, 0, 1, material=(1, 1, 1.0))], "process a: scrap"),
        ([process("a", 0, 0, 1, work=(0, 5))], "process a: it has an hourly cost but no rate"),
        ([process("a", 0, 0, math.nan)], "a cell is not a finite number"),
        ([], "processes must hold 1 to 20 rows"),
        ([process(f"p{n}", 0, 0, n) for n in range(21)], "processes must hold 1 to 20 rows"),
    ],
)
def test_wrong_table_is_named(rivals: list[Process], words: str) -> None:
    outputs = answer(rivals, volume_per_year=100.0)
    assert any(words in each.reason for each in outputs.problems)
    assert outputs.problems[0].ports == ()


def test_volume_past_the_horizon_keeps_its_cost_and_says_how_far_was_looked() -> None:
    rivals = [process("a", 1, 1, 1.0), process("b", 1, 1, 3.0)]
    outputs = answer(rivals, volume_per_year=1e9)
    (problem,) = outputs.problems
    assert problem.reason == "break-even volumes are only looked for up to 10000 pieces"
    assert outputs.values["unit_cost"][0] == 2.0
    assert np.isnan(outputs.values["volume_room"][0])


def test_the_longest_search_ends() -> None:
    """Twenty processes whose tools make one piece, or ten million."""
    generator = np.random.default_rng(1)
    rivals = [
        process(f"p{number}", float(generator.uniform(1, 9)), life, float(generator.uniform(1, 9)))
        for number, life in enumerate([1.0, 1e7] * 10)
    ]
    port = CHECK.manifest({}).inputs[0]
    found = envelope(rivals_of(table(port, rivals), single=True))
    assert np.all(np.diff(found.edges) > 0.0)


def drawn(rivals: Sequence[Process], **row: object) -> dict[str, Figure]:
    filled = {"years": 1.0, **row}
    subject = Subject(check=CHECK, rows=[filled], tables={"processes": rivals})
    return {each.key: each for each in CHECK.figures(subject.batch([filled]), {})}


def test_curves_and_listing_show_who_wins_where() -> None:
    rivals = [process("a", 0, 0, 10.0), process("b", 100, 1e9, 9.0), process("c", 500, 1e9, 8.0)]
    figures = drawn(rivals, volume_per_year=160.0)
    assert [series.title for series in figures["unit-cost"].series] == ["a", "b", "c"]
    assert figures["unit-cost"].series[0].y[0] == pytest.approx(10.0)
    starts, winners = figures["cheapest-by-volume"].series
    assert starts.labels == ("0", "100", "400")
    assert winners.labels == ("a", "b", "c")


def test_nothing_to_draw_without_a_volume_or_a_process() -> None:
    assert drawn(RIVALS, volume_per_year=0.0) == {}
    assert drawn([], volume_per_year=5.0) == {}


def draw(generator: np.random.Generator) -> Row:
    return {
        "volume_per_year": float(generator.integers(100, 60_000)),
        "years": float(generator.uniform(0.5, 12.0)),
        "per_vehicle": int(generator.integers(1, 5)),
    }


@pytest.mark.parametrize("config", [{}, {"processes": "forged,cut profile,fabricated"}])
@pytest.mark.parametrize("promise", PROMISES)
def test_contract(promise: str, config: dict[str, str]) -> None:
    kept = {"piece": 1.0, "vehicle": 1.0}
    subject = Subject(
        check=CHECK,
        rows=draw,
        config=config,
        tables={"processes": RIVALS},
        degenerate=[
            {"volume_per_year": 0.0},
            {"years": -1.0},
            {"per_vehicle": 0},
            {"volume_per_year": 1e300, "years": 1e300},
            {"processes": []},
            {"processes": [process("forged", 1, 0, 1)]},
        ],
        scalings=[
            {**kept, "money": 4.0, "year": 1.0, "kg": 1.0, "h": 1.0},
            {**kept, "money": 0.5, "year": 2.0, "kg": 3.0, "h": 2.0},
        ],
    )
    PROMISES[promise](subject)
