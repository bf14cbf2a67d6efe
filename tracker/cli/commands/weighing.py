"""weigh: a decision's options side by side."""

from __future__ import annotations

import click

from tracker.cli.as_json import plain
from tracker.cli.options import Command
from tracker.cli.text.weighing import weigh_text
from tracker.cli.work import Work
from tracker.services.weighing import weigh

__all__ = ["weigh_command"]


@click.command("weigh", cls=Command)
@click.argument("decision")
@click.pass_obj
def weigh_command(work: Work, decision: str) -> None:
    """Set the options of a DECISION beside each other.

    Each is applied in a trial of its own: what is found for every requirement and rule it touches,
    what else would break or stand again, what it costs.
    """
    work.tell(weigh(work.reading(), decision), plain, weigh_text)
