"""A decision's options side by side as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tracker.cli.page import Cell, Page, Row
from tracker.cli.text.status import required_text, value_and_unit
from tracker.services.views import FindingView
from tracker.services.weighing_views import CostRow, JudgedRow, OptionColumn, WeighView

__all__ = ["weigh_text"]


def weigh_text(page: Page, view: WeighView) -> None:
    """Write the options in columns: what is found and what it costs; then each in words."""
    page.text(f"{view.decision}  {view.question}", word="bold")
    page.text(view.state)
    if not view.options:
        page.text("It has no options to weigh.")
        return
    differing = [each for each in view.rows if each.differs]
    page.heading("Where they differ")
    page.columns([*_heads(page, view.options), *_judged(page, differing), *_costs(view.costs)])
    same = [each for each in view.rows if not each.differs]
    if same:
        page.heading("The same under all of them")
        page.rows([row[:2] for row in _judged(page, same)])
    for each in view.options:
        _option(page, each)
    page.blank()
    page.text(view.caution)


def _heads(page: Page, options: Sequence[OptionColumn]) -> Iterator[Row]:
    yield ["", *(Cell(each.key, "bold") for each in options)]
    if any(each.chosen for each in options):
        yield ["", *("applied" if each.chosen else "" for each in options)]
    yield ["standing", *(page.sign(each.standing) for each in options)]


def _judged(page: Page, rows: Sequence[JudgedRow]) -> Iterator[Row]:
    """Yield what is judged, what the decision answers for first."""
    for row in rows:
        yield [
            f"{row.judge} {required_text(row.cells[0])}",
            *(_found(page, each) for each in row.cells),
        ]


def _found(page: Page, finding: FindingView) -> Cell:
    accepted = f"(accepted by {finding.deviation})" if finding.deviation else ""
    return page.sign(finding.verdict, value_and_unit(finding), accepted)


def _costs(rows: Sequence[CostRow]) -> Iterator[Row]:
    for row in rows:
        cells = (
            f"{text} {row.unit}" if value is not None else text
            for text, value in zip(row.cells, row.values, strict=True)
        )
        yield [f"{row.key} {row.title}", *cells]


def _option(page: Page, option: OptionColumn) -> None:
    page.heading(option.key, option.title)
    told = {
        "states": "; ".join(option.sets),
        "killed by": option.kills,
        "would break": ", ".join(option.breaks),
        "would restore": ", ".join(option.restores),
        "against it": option.against,
    }
    page.rows([[label, text] for label, text in told.items() if text])
