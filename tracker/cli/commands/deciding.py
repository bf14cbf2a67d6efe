"""lean, settle, reopen, review, withdraw: answering a decision."""

from __future__ import annotations

import click

from tracker.cli.as_json import committed_json
from tracker.cli.options import Command
from tracker.cli.text.ripple import committed_text
from tracker.cli.typed import pairs_of
from tracker.cli.work import Work
from tracker.services.actions import lean, reopen, review, settle, withdraw

__all__ = ["lean_command", "reopen_command", "review_command", "settle_command", "withdraw_command"]

_WHY = click.option("--why", default="", metavar="TEXT", help="The reason; always needed.")


@click.command("lean", cls=Command)
@click.argument("decision")
@click.argument("option")
@click.option("--why", default="", metavar="TEXT", help="The reason, if there is one to give.")
@click.pass_obj
def lean_command(work: Work, decision: str, option: str, why: str) -> None:
    """Apply an OPTION of a DECISION provisionally."""
    work.tell(lean(work.session(), decision, option, why), committed_json, committed_text)


@click.command("settle", cls=Command)
@click.argument("decision")
@click.argument("option")
@click.option("--why", default="", metavar="TEXT", help="The rationale; always needed.")
@click.option(
    "--against",
    multiple=True,
    metavar="OPTION=TEXT",
    help="The reason against another option; each needs one.",
)
@click.pass_obj
def settle_command(
    work: Work, decision: str, option: str, why: str, against: tuple[str, ...]
) -> None:
    """Settle a DECISION on an OPTION, with the rationale and a reason against each other one.

    Reasons against options that were given earlier stay in force.
    """
    reasons = pairs_of(against, "OPTION=TEXT")
    receipt = settle(work.session(), decision, option, why, reasons)
    work.tell(receipt, committed_json, committed_text)


@click.command("reopen", cls=Command)
@click.argument("decision")
@_WHY
@click.pass_obj
def reopen_command(work: Work, decision: str, why: str) -> None:
    """Open a settled or withdrawn DECISION again; a settled one keeps leaning to its option."""
    work.tell(reopen(work.session(), decision, why), committed_json, committed_text)


@click.command("review", cls=Command)
@click.argument("decision")
@_WHY
@click.pass_obj
def review_command(work: Work, decision: str, why: str) -> None:
    """Confirm a settled DECISION on the ground as it is now, after another look at it."""
    work.tell(review(work.session(), decision, why), committed_json, committed_text)


@click.command("withdraw", cls=Command)
@click.argument("decision")
@_WHY
@click.pass_obj
def withdraw_command(work: Work, decision: str, why: str) -> None:
    """Take a DECISION out of play; what its options set becomes unknown."""
    work.tell(withdraw(work.session(), decision, why), committed_json, committed_text)
