"""mend, why: what would make a decision stand again, and why a verdict is missed."""

from __future__ import annotations

from typing import Any

import click

from tracker.cli.as_json import plain
from tracker.cli.options import Command
from tracker.cli.progress import progressing
from tracker.cli.text.mending import mend_text, why_text
from tracker.cli.work import Work
from tracker.errors import BadValueError
from tracker.services.explaining import why
from tracker.services.mending import mend
from tracker.services.mending_views import MendView

__all__ = ["mend_command", "why_command"]


@click.command("mend", cls=Command)
@click.argument("decision", required=False, default="")
@click.option("--strained", is_flag=True, help="Mend what is strained, too.")
@click.option(
    "--price",
    "prices",
    multiple=True,
    metavar="ADDRESS=COST",
    help="What a move by one unit costs; a move through a whole range costs 1 where not told.",
)
@click.option(
    "--points",
    default=128,
    type=click.IntRange(2, 100_000),
    show_default=True,
    help="Stretches between samples of a range where nothing is proven.",
)
@click.pass_obj
def mend_command(
    work: Work, decision: str, strained: bool, prices: tuple[str, ...], points: int
) -> int:
    """Show the smallest edits that make a broken DECISION stand again and break no other.

    Without DECISION every broken one is mended, each for itself. Only numbers with an adjustable
    range move, and options of what is not settled. Exit code 1: one cannot be mended.
    """
    priced = dict(_price(each) for each in prices)
    with progressing() as tell:
        view = mend(
            work.reading(),
            decision,
            strained=strained,
            prices=priced,
            points=points,
            progress=tell,
        )
    work.tell(view, _mend_json, mend_text)
    return int(view.bad_news)


def _price(text: str) -> tuple[str, float]:
    address, _, cost = text.partition("=")
    try:
        return address, float(cost)
    except ValueError:
        raise BadValueError(
            "it is no number", item=text, field="--price", remedy="Write --price ADDRESS=COST"
        ) from None


def _mend_json(view: MendView) -> dict[str, Any]:
    """Describe the proposals of all decisions, and each decision without them."""
    proposals, decisions = [], []
    for each in view.decisions:
        found = plain(each)
        for proposal in found.pop("proposals"):
            for edit in proposal["edits"]:
                edit["from"], edit["to"] = edit.pop("before"), edit.pop("after")
            proposals.append(proposal)
        decisions.append(found)
    return {
        "revision": view.revision,
        "proposals": proposals,
        "decisions": decisions,
        "caution": view.caution,
    }


@click.command("why", cls=Command)
@click.argument("requirement")
@click.pass_obj
def why_command(work: Work, requirement: str) -> None:
    """Show why a REQUIREMENT is not met any more.

    The smallest set of upstream values that, put back to what they were when it was last met, would
    have it met again.
    """
    with progressing() as tell:
        view = why(work.reading(), requirement, progress=tell)
    work.tell(view, plain, why_text)
