"""show: one item; a module of its own, because it loads more than a glance needs."""

from __future__ import annotations

import click

from tracker.cli.as_json import item_json
from tracker.cli.options import Command
from tracker.cli.text.item import item_text
from tracker.cli.work import Work
from tracker.services.item import item_page

__all__ = ["show_command"]


@click.command("show", cls=Command)
@click.argument("key")
@click.pass_obj
def show_command(work: Work, key: str) -> None:
    """Show one item with its whole why.

    That is its value with source and basis, findings with margins, options side by side, what it
    stands on, what it bears, and its history.
    """
    work.tell(item_page(work.reading(), key), item_json, item_text)
