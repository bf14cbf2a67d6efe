"""How the bench measures again, and what the results page says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.bench.__main__ import ROWS
from tests.bench.harness import Measured, Row, machine, measure
from tests.bench.page import Run, line_of, page
from tests.bench.reasons import REASONS

RUN = Run("2026-01-02 03:04 UTC", {"processor": "A", "cores": "2"}, (0.5, 1.5), quick=False)
GOOD = Measured(Row("quick-one", 1.1, 1.2, "2 ms against 1 ms"), (1.0, 1.1, 1.3))
BAD = Measured(Row("slow-one", 2.0, 1.5, "4 ms against 2 ms", of="wall time"), (2.0,))
GAIN = Measured(Row("gain", 1234567.0, 100.0, "many", at_least=True, of="counts"), (1234567.0,))
WORDS = {
    "quick-one": "One thing ÷ another.\n\nMore of it.",
    "slow-one": "This ÷ that.",
    "gain": "Loop ÷ batch.",
}


def written(*rows: Measured, reasons: dict[str, str] | None = None, run: Run = RUN) -> str:
    return page(run, rows, WORDS, reasons or {})


def test_a_row_is_measured_again_until_it_took_long() -> None:
    ratios, times = iter([1.0, 3.0, 2.0, 9.0]), iter([0.0, 10.0, 19.0, 21.0])
    found = measure(lambda: Row("r", next(ratios), 1.0, ""), 5, lambda: next(times))
    assert found.ratios == (1.0, 3.0, 2.0)
    assert found.row.ratio == 2.0
    assert found.spread == pytest.approx(1.0)


@pytest.mark.parametrize(("repeat", "count"), [(1, 1), (3, 3)])
def test_a_quick_row_is_measured_as_often_as_asked(repeat: int, count: int) -> None:
    found = measure(lambda: Row("r", 1.0, 1.0, ""), repeat, lambda: 0.0)
    assert len(found.ratios) == count
    assert found.plain()["ratios"] == [1.0] * count


def test_a_row_knows_which_way_its_aim_lies() -> None:
    assert [each.row.met for each in (GOOD, BAD, GAIN)] == [True, False, True]
    assert line_of(GOOD).split()[:5] == ["quick-one", "1.100", "≤", "1.2", "met"]
    assert line_of(BAD).split()[:5] == ["slow-one", "2.000", "≤", "1.5", "MISSED"]
    assert line_of(GAIN).split()[2:5] == ["≥", "100", "met"]


def test_the_page_has_every_row_with_its_aim_and_spread() -> None:
    text = written(GOOD, BAD, GAIN)
    assert "| quick-one | 1.1 | processor time | ≤ 1.2 | met | 1 to 1.3 in 3 |" in text
    assert "| slow-one | 2 | wall time | ≤ 1.5 | MISSED | once |" in text
    assert "| gain | 1 234 567 | counts | ≥ 100 | met | once |" in text
    assert "- **quick-one**: One thing ÷ another. 2 ms against 1 ms." in text
    assert "More of it" not in text


def test_the_page_describes_machine_time_and_noise() -> None:
    text = written(GOOD, BAD)
    flat = " ".join(text.split())
    assert "Begun 2026-01-02 03:04 UTC, a full run." in text
    assert "- processor: A\n- cores: 2\n" in text
    assert "Load average 0.5 before and 1.5 after." in flat
    assert "1 rows were measured more than once" in flat
    assert "lay 27 % of the ratio in the median, 27 % at worst" in flat
    assert "more than once" not in written(BAD)
    quick = Run(RUN.began, RUN.machine, RUN.loads, quick=True)
    assert "a quick run" in written(GOOD, run=quick)


def test_a_missed_row_says_why_and_a_met_one_does_not() -> None:
    reasons = {"slow-one": "It waits\n    for something.", "quick-one": "Not shown."}
    text = written(GOOD, BAD, reasons=reasons)
    assert "**slow-one**: It waits for something." in text
    assert "Not shown" not in text
    assert "**slow-one**: The cause is not known yet." in written(BAD)
    assert "## Aims missed\n\nNone." in written(GOOD)


def test_reasons_name_rows_and_every_row_says_what_it_measures() -> None:
    assert set(REASONS) <= set(ROWS)
    for row in ROWS.values():
        assert str(row.__doc__).splitlines()[0].endswith("."), row


def test_the_machine_is_described_and_not_named() -> None:
    told = machine()
    assert list(told) == ["processor", "cores", "memory", "system", "python", "numpy", "blas"]
    assert all(told.values())
    assert re.fullmatch(r"\d+ GiB", told["memory"])
    host = Path("/etc/hostname")
    name = host.read_text(encoding="utf-8").strip() if host.is_file() else ""
    assert not name or name not in " ".join(told.values())
