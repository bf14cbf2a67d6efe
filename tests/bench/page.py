"""The bench as text: one line a row on the terminal, and the page that is kept with the code."""

from __future__ import annotations

import statistics
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from tests.bench.harness import Measured

__all__ = ["Run", "line_of", "page"]

_COMMAND = "python -m tests.bench --repeat 5 --page tests/bench/RESULTS.md"
_INTRO = (
    f"Written by `{_COMMAND}`; do not edit. Every row is a ratio of two times (or counts) taken in "
    "turn in one run, so that a slow or busy machine slows both: of processor time where there is "
    "only computing, of wall time where a disk, a terminal or another process is waited for. How "
    'to read the rows: `DEVELOPERS.md`, under "Reading the bench".'
)
_UNEXPLAINED = "The cause is not known yet."


@dataclass(frozen=True)
class Run:
    """When and where the rows were measured.

    Parameters
    ----------
    began : str
        UTC.
    machine : mapping of str to str
        What it is made of.
    loads : sequence of float
        Load averages before and after.
    """

    began: str
    machine: Mapping[str, str]
    loads: Sequence[float]
    quick: bool


def line_of(found: Measured) -> str:
    """Write a row as one line."""
    row = found.row
    sign, met = ("≥" if row.at_least else "≤"), ("met" if row.met else "MISSED")
    return f"{row.name:<24} {row.ratio:8.3f}  {sign} {row.aim:<6g} {met:<7} {row.note}"


def page(
    run: Run,
    rows: Sequence[Measured],
    words: Mapping[str, str],
    reasons: Mapping[str, str],
) -> str:
    """Write the results page, in Markdown.

    Parameters
    ----------
    words : mapping of str to str
        Row → what it measures.
    reasons : mapping of str to str
        Row → why it misses its aim.
    """
    parts = [
        f"# Results of the bench\n\n{_filled(_INTRO)}",
        _machine(run),
        _filled(_noise(run, rows)),
        "## Table\n\n" + "\n".join(_table(rows)),
        "## Aims missed\n\n" + "\n\n".join(_missed(rows, reasons)),
        "## Behind the ratios\n\n" + "\n".join(_behind(rows, words)),
    ]
    return "\n\n".join(parts) + "\n"


def _filled(text: str) -> str:
    return textwrap.fill(text, 100, break_on_hyphens=False, break_long_words=False)


def _machine(run: Run) -> str:
    facts = "\n".join(f"- {name}: {text}" for name, text in run.machine.items())
    size = "a quick run, with fewer rounds and smaller programmes" if run.quick else "a full run"
    return f"## Machine\n\nBegun {run.began}, {size}.\n\n{facts}"


def _noise(run: Run, rows: Sequence[Measured]) -> str:
    """Say how noisy the run was."""
    again = [found.spread for found in rows if len(found.ratios) > 1]
    loads = " before and ".join(f"{each:.1f}" for each in run.loads)
    text = f"Load average {loads} after."
    if again:
        text += (
            f" {len(again)} rows were measured more than once: between their lowest and highest "
            f"ratio lay {100 * statistics.median(again):.0f} % of the ratio in the median, "
            f"{100 * max(again):.0f} % at worst. The table shows the one in the middle."
        )
    return text


def _table(rows: Sequence[Measured]) -> Iterator[str]:
    yield "| row | ratio | of | aim | | lowest to highest |"
    yield "| --- | ---: | --- | ---: | --- | --- |"
    for found in rows:
        row = found.row
        aim = f"{'≥' if row.at_least else '≤'} {_number(row.aim)}"
        met = "met" if row.met else "MISSED"
        yield f"| {row.name} | {_number(row.ratio)} | {row.of} | {aim} | {met} | {_ends(found)} |"


def _ends(found: Measured) -> str:
    if len(found.ratios) == 1:
        return "once"
    low, high = (_number(each) for each in (min(found.ratios), max(found.ratios)))
    return f"{low} to {high} in {len(found.ratios)}"


def _number(value: float) -> str:
    """Write a ratio with four digits, those of a whole number in full."""
    return f"{value:,.0f}".replace(",", " ") if value >= 1_000 else f"{value:.4g}"


def _missed(rows: Sequence[Measured], reasons: Mapping[str, str]) -> Iterator[str]:
    missed = [found.row for found in rows if not found.row.met]
    if not missed:
        yield "None."
    for row in missed:
        why = " ".join(reasons.get(row.name, _UNEXPLAINED).split())
        yield _filled(f"**{row.name}**: {why}")


def _behind(rows: Sequence[Measured], words: Mapping[str, str]) -> Iterator[str]:
    for found in rows:
        name = found.row.name
        what = words[name].partition("\n")[0]
        yield f"- **{name}**: {what} {found.row.note}."
