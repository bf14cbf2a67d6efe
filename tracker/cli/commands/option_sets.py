"""sets: which combinations of open options are alive."""

from __future__ import annotations

import click

from tracker.cli.as_json import plain
from tracker.cli.options import Command
from tracker.cli.progress import progressing
from tracker.cli.text.option_sets import sets_text
from tracker.cli.work import Work
from tracker.services.set_search import LIMIT, option_sets

__all__ = ["sets_command"]


@click.command("sets", cls=Command)
@click.option("--smallest", metavar="ADDRESS", default="", help="Best is what makes this small.")
@click.option("--largest", metavar="ADDRESS", default="", help="Best is what makes this large.")
@click.option("--leaning", is_flag=True, help="Take in decisions that only lean to an option.")
@click.option(
    "--most",
    default=10,
    type=click.IntRange(0, 10_000),
    show_default=True,
    help="Combinations to list.",
)
@click.option(
    "--limit",
    default=LIMIT,
    type=click.IntRange(1, 2**31),
    show_default=True,
    help="Combinations of one group to look at together.",
)
@click.pass_obj
def sets_command(
    work: Work, smallest: str, largest: str, leaning: bool, most: int, limit: int
) -> int:
    """Show which combinations of open options meet every requirement that depends on them.

    Without --smallest or --largest the best are those with the largest least margin. Exit code 1
    if there is none at all.
    """
    with progressing() as tell:
        view = option_sets(
            work.reading(),
            smallest=smallest,
            largest=largest,
            leaning=leaning,
            most=most,
            limit=limit,
            progress=tell,
        )
    work.tell(view, plain, sets_text)
    return 0 if view.count else 1
