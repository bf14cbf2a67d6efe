"""status, list: a programme at a glance."""

from __future__ import annotations

import click

from tracker.cli.as_json import listing_json, status_json
from tracker.cli.options import Command
from tracker.cli.text.status import listing_text, status_text
from tracker.cli.work import Work
from tracker.services.overview import listing, overview

__all__ = ["list_command", "status_command"]


@click.command("status", cls=Command)
@click.pass_obj
def status_command(work: Work) -> None:
    """Show requirements, decisions and checks at a glance, worst first.

    Exits 0 whatever it shows; `try` and `calc` tell bad news by their exit code.
    """
    work.tell(overview(work.reading()), status_json, status_text)


@click.command("list", cls=Command)
@click.argument("kind")
@click.pass_obj
def list_command(work: Work, kind: str) -> None:
    """List all items of a KIND.

    Kinds: requirement, decision, quantity, check, gate, deviation, action, evidence, risk,
    baseline.
    """
    work.tell(listing(work.reading(), kind), listing_json, listing_text)
