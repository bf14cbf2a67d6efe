"""matrix: what depends on what, and what has to be settled together."""

from __future__ import annotations

import click

from tracker.cli.as_json import plain
from tracker.cli.options import Command
from tracker.cli.text.matrix import matrix_text
from tracker.cli.work import Work
from tracker.services.pictures.dependency import KINDS, dependency

__all__ = ["matrix_command"]


@click.command("matrix", cls=Command)
@click.option(
    "--of",
    default=KINDS[0],
    type=click.Choice(KINDS),
    show_default=True,
    help="Of what to show the dependency matrix.",
)
@click.pass_obj
def matrix_command(work: Work, of: str) -> None:
    """Show which decisions, or checks, need which, in an order in which they can be settled.

    Those that need each other in a ring form a block and have to be settled together. Blocks of one
    level do not need each other.
    """
    work.tell(dependency(work.reading(), of), plain, matrix_text)
