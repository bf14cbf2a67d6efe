"""weigh: options in columns, as text and as JSON."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from tests.integration.cli.conftest import Cli
from tracker.cli.page import Page
from tracker.cli.terminal import Look
from tracker.cli.text.weighing import weigh_text
from tracker.services.views import FindingView
from tracker.services.weighing_views import CostRow, JudgedRow, OptionColumn, WeighView
from tracker.services.wording import CAUTION


def test_options_stand_in_columns(cli: Cli, head: Callable[[], str]) -> None:
    """Option a leaves 12 mm to the disc and b 6 mm, where 8 mm are asked for."""
    before = head()
    told = cli("weigh", "D-1")
    assert told.code == 0
    lines = [" ".join(each.split()) for each in told.out.splitlines()]
    assert lines[:2] == ["D-1 Which arm?", "leaning"]
    assert lines[3:8] == [
        "Where they differ",
        "a b",
        "applied",
        "standing ■ stands ⊠ broken",
        "GAP-1 at least 8 mm ● met 12 mm ✕ missed 6 mm",
    ]
    assert "COST-1 at most 200 000 EUR ● met 78 000 EUR" in lines
    assert "states gap = 6 mm (guess)" in lines
    assert any(each.startswith("killed by GAP-1 missed: 6 mm") for each in lines)
    assert lines[-1] == CAUTION
    assert head() == before


def test_weigh_as_json(cli: Cli) -> None:
    told = cli("weigh", "D-1", "--json").json
    assert (told["decision"], told["state"], told["caution"]) == ("D-1", "leaning", CAUTION)
    assert [each["key"] for each in told["options"]] == ["a", "b"]
    assert [each["standing"] for each in told["options"]] == ["stands", "broken"]
    gap = next(each for each in told["rows"] if each["judge"] == "GAP-1")
    assert [each["value"] for each in gap["cells"]] == [12.0, 6.0]
    assert gap["differs"]


def test_an_earlier_revision_is_weighed_as_it_was(cli: Cli) -> None:
    now = cli("weigh", "D-1").out
    cli("set", "D-1/b.gap=9 mm", "--why", "measured again")
    assert "9 mm" in cli("weigh", "D-1").out
    assert cli("at", "3", "weigh", "D-1").out == now


@pytest.mark.parametrize(
    ("key", "said"), [("D-9", "no decision is called 'D-9'"), ("width", "width is a quantity")]
)
def test_only_decisions_are_weighed(cli: Cli, key: str, said: str) -> None:
    told = cli("weigh", key)
    assert told.code == 2
    assert said in told.err


def test_without_options_there_is_nothing_to_weigh(cli: Cli) -> None:
    assert cli("add", "decision", "D-2", "question=What else?").code == 0
    assert "It has no options to weigh." in cli("weigh", "D-2").out


def finding(verdict: str, text: str, deviation: str = "") -> FindingView:
    return FindingView(
        judge="R", rule=False, statement="", subject="q", required="at least 1", verdict=verdict,
        value=1.0, text=text, unit="mm", lower=1.0, upper=None, target=None, margin=None,
        distance=None, distance_text="", bound="", reason="", deviation=deviation,
    )  # fmt: skip


@pytest.fixture
def view() -> WeighView:
    option = OptionColumn(
        key="one", title="First", chosen=False, standing="strained", sets=(), breaks=("D-7",),
        restores=("D-8", "D-9"), kills="", against="too heavy",
    )  # fmt: skip
    return WeighView(
        revision=1,
        decision="D",
        question="Which?",
        state="open",
        options=(option, replace(option, key="other", breaks=())),
        rows=(
            JudgedRow(
                judge="R", own=True, differs=True,
                cells=(finding("missed", "0.5", "DEV-1"), finding("met", "2")),
            ),
        ),
        costs=(
            CostRow(
                key="tool", title="Tool", unit="EUR", cells=("900", "—"), values=(900.0, None),
                cheapest=(False, False),
            ),
        ),
        caution="Take care.",
    )  # fmt: skip


def test_costs_deviations_and_what_else_would_break(view: WeighView) -> None:
    page = Page(Look())
    weigh_text(page, view)
    lines = [" ".join(each.split()) for each in str(page).splitlines()]
    assert "R at least 1 ✕ missed 0.5 mm (accepted by DEV-1) ● met 2 mm" in lines
    assert "tool Tool 900 EUR —" in lines
    assert lines.count("would break D-7") == 1
    assert lines.count("would restore D-8, D-9") == 2
    assert lines.count("against it too heavy") == 2
    assert "applied" not in lines


def test_on_a_narrow_terminal_columns_go_below_each_other(view: WeighView) -> None:
    page = Page(Look(width=60))
    weigh_text(page, view)
    lines = str(page).splitlines()
    assert max(map(len, lines)) <= 60
    heads = [each.split() for each in lines if each.split() in (["one"], ["other"])]
    assert heads == [["one"], ["other"]]
    assert sum(each.startswith("  R at least 1") for each in lines) == 2
