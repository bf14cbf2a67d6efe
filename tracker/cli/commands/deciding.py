"""lean, settle, reopen, review, withdraw, supersede: answering a decision."""

from __future__ import annotations

import click

from tracker.cli.as_json import committed_json
from tracker.cli.options import Command
from tracker.cli.text.ripple import committed_text
from tracker.cli.typed import pairs_of
from tracker.cli.work import Work
from tracker.errors import BadValueError
from tracker.model.records import Outcome
from tracker.services.actions import lean, reopen, review, settle, supersede, withdraw

__all__ = [
    "lean_command",
    "reopen_command",
    "review_command",
    "settle_command",
    "supersede_command",
    "withdraw_command",
]

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
@click.option(
    "--outcome",
    default="confirmed",
    metavar="TEXT",
    show_default=True,
    help="What came of it: confirmed, or reopen needed.",
)
@click.pass_obj
def review_command(work: Work, decision: str, why: str, outcome: str) -> None:
    """Look again at a settled DECISION whose ground moved, and say what came of it.

    Confirmed, it stands on the ground as it is now. Where reopening is needed, what moved keeps
    showing until it is reopened or confirmed.
    """
    receipt = review(work.session(), decision, why, outcome=_outcome(outcome))
    work.tell(receipt, committed_json, committed_text)


def _outcome(text: str) -> Outcome:
    try:
        return Outcome(text)
    except ValueError:
        raise BadValueError(
            f"{text[:40]!r} is no outcome of a review",
            field="--outcome",
            remedy="Say " + " or ".join(Outcome),
        ) from None


@click.command("withdraw", cls=Command)
@click.argument("decision")
@_WHY
@click.pass_obj
def withdraw_command(work: Work, decision: str, why: str) -> None:
    """Take a DECISION out of play; what its options set becomes unknown."""
    work.tell(withdraw(work.session(), decision, why), committed_json, committed_text)


@click.command("supersede", cls=Command)
@click.argument("old")
@click.argument("new")
@_WHY
@click.pass_obj
def supersede_command(work: Work, old: str, new: str, why: str) -> None:
    """Let the decision NEW take the place of OLD, which is withdrawn.

    What OLD owned is free then: NEW may set it.
    """
    work.tell(supersede(work.session(), old, new, why), committed_json, committed_text)
