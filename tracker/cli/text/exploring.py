"""Headroom, drivers and spread as text."""

from __future__ import annotations

from collections.abc import Sequence

from tracker.cli.page import Cell, Page
from tracker.services.explore_views import (
    ChanceView,
    DriversView,
    DriverView,
    HeadroomView,
    IntervalView,
    OwnerView,
    ScatterView,
    SpreadView,
    SummaryView,
)

__all__ = ["drivers_text", "headroom_text", "spread_text"]

_MOST_OWNERS = 3
_WEAK = 0.005


def headroom_text(page: Page, view: HeadroomView) -> None:
    """Write how far values may move."""
    page.text("How far each may move by itself until a decision that stands is broken or unproven:")
    for each in view.intervals:
        _interval(page, each)
    if not view.intervals:
        page.text("Nothing is adjustable: give quantities a range.", indent=2)
    page.blank()
    page.text(view.caution)


def _interval(page: Page, each: IntervalView) -> None:
    page.heading(each.key, f"{each.text} {each.unit}".rstrip())
    if each.kept or each.lost:
        page.rows([["stands with", _values(each.kept)], ["breaks with", _values(each.lost)]])
        return
    rows: list[list[Cell | str]] = [
        _end("down to", each.low_text, each.unit, each.breaks_low, each.because_low),
        _end("up to", each.high_text, each.unit, each.breaks_high, each.because_high),
    ]
    page.rows([["", _surety(each), "", ""], *rows], fold=1)


def _values(values: Sequence[object]) -> str:
    words = {True: "yes", False: "no"}
    return ", ".join(words.get(each, str(each)) for each in values) or "none"  # type: ignore[call-overload] # any value


def _end(
    side: str, text: str, unit: str, breaks: Sequence[str], because: Sequence[str]
) -> list[Cell | str]:
    number = text if text == "any" else f"{text} {unit}".rstrip()
    if not breaks:
        return [side, number, "nothing breaks", ""]
    why = f"on {', '.join(because)}" if because else "on a value that becomes unknown"
    return [side, number, f"then {', '.join(breaks)}", why]


def _surety(each: IntervalView) -> str:
    if not each.decisions:
        return "no decision that stands depends on it"
    if each.certified:
        return "certified"
    return f"sampled, at most {each.resolution:.3g} {each.unit}".rstrip() + " apart"


def drivers_text(page: Page, view: DriversView) -> None:
    """Write what a verdict depends on."""
    now = f"{view.text} {view.unit}".rstrip()
    page.text(f"{view.requirement}: {view.subject} is {now}, {view.verdict}.", word="bold")
    page.blank()
    page.rows([[each.key, each.words, _slope(each)] for each in view.drivers])
    if not view.drivers:
        page.text("It depends on no other value.", indent=2)
    page.blank()
    page.text(
        "Slopes hold at the present values and close to them. Effects are those of a tolerance, "
        "else of half an adjustable range, else of 1 % of a value's size or of 1 mm."
    )
    page.text(view.caution)


def _slope(each: DriverView) -> str:
    return f"{each.slope_text} {each.slope_unit}" if each.slope_text else ""


def spread_text(page: Page, view: SpreadView) -> None:
    """Write how likely everything is to stand."""
    page.text(f"{view.n} samples, seed {view.seed}; intervals hold {100 * view.confidence:g} %")
    if not view.reached:
        page.text(f"Not yet known to ±{100 * view.half_width:g} %: ask for more samples.")
    page.heading("Decisions", "how likely each is to stand")
    ranked = sorted(view.decisions, key=lambda each: each.p_stands)
    page.rows([_chance(page, each) for each in ranked], fold=2)
    _summaries(page, view.quantities)
    page.heading("Tolerances")
    page.rows([_tolerance(each) for each in view.scatter])
    if view.idle:
        page.text("Without effect, being no known number from outside: " + ", ".join(view.idle), 2)
    if view.correlated:
        page.heading("Scatter together", "coefficient; whose scatter makes a risk is not told")
        page.rows([[each.one, each.other, f"{each.coefficient:g}"] for each in view.correlated])
    if view.unpaired:
        page.text("Correlated with what does not scatter: " + ", ".join(view.unpaired), 2)
    page.blank()
    page.text(view.caution)


def _tolerance(each: ScatterView) -> list[Cell | str]:
    width = f"{each.text} ± {each.half_width:g} {each.unit}".rstrip()
    return [each.key, width, each.shape, each.meaning]


def _chance(page: Page, each: ChanceView) -> list[Cell | str]:
    percent = f"{100 * each.p_stands:.4g} %"
    between = f"{100 * each.low:.4g} to {100 * each.high:.4g} %"
    return [page.sign(each.standing), each.key, percent, between, _owners(each.owners)]


def _owners(owners: Sequence[OwnerView]) -> str:
    strong = [each for each in owners[:_MOST_OWNERS] if each.total > _WEAK]
    return ", ".join(f"{each.key} {100 * each.total:.0f} %" for each in strong)


def _summaries(page: Page, summaries: Sequence[SummaryView]) -> None:
    moving = [each for each in summaries if each.deviation]
    if moving:
        page.heading("Judged values", "mean, standard uncertainty, interval, share missed")
        page.rows([_summary(each) for each in moving], fold=1)


def _summary(each: SummaryView) -> list[Cell | str]:
    return [
        each.judge,
        f"{each.mean:.6g} {each.unit}".rstrip(),
        f"u {each.deviation:.3g}",
        f"{each.low:.6g} to {each.high:.6g}",
        f"missed {100 * each.missed:.3g} %" if each.missed else "",
        _owners(each.owners),
    ]
