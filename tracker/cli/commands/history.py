"""log, at, compare, audit: the journal and the revisions in it."""

from __future__ import annotations

from collections.abc import Mapping

import click

from tracker.cli.as_json import audit_json, comparison_json, journal_json
from tracker.cli.lazy import LazyGroup
from tracker.cli.options import Command, shared_options
from tracker.cli.progress import progressing
from tracker.cli.text.ripple import audit_text, comparison_text, journal_text
from tracker.cli.typed import head_of, revision_of
from tracker.cli.work import Work
from tracker.errors import StoreError
from tracker.services.journal import compare, journal_page, revision_named

__all__ = ["PAST", "at_command", "audit_command", "compare_command", "log_command"]

_PLACE = "tracker.cli.commands."
PAST: Mapping[str, tuple[str, str]] = {
    "status": (_PLACE + "looking", "What stood then."),
    "show": (_PLACE + "showing", "One item as it was."),
    "list": (_PLACE + "looking", "All items of one kind as they were."),
    "weigh": (_PLACE + "weighing", "The options of a decision as they were."),
    "headroom": (_PLACE + "exploring", "How far a value could move then."),
    "drivers": (_PLACE + "exploring", "What a verdict depended on most."),
    "spread": (_PLACE + "exploring", "How likely each decision was to stand."),
    "sets": (_PLACE + "option_sets", "Which combinations of options were alive."),
    "mend": (_PLACE + "mending", "What would have mended a decision then."),
    "why": (_PLACE + "mending", "Why a verdict was missed then."),
    "gate": (_PLACE + "earlier_gates", "How ready the gates were."),
    "log": (_PLACE + "history", "The journal up to then."),
    "export": (_PLACE + "files", "The decision history or the items as they were."),
}
"""Commands that work at an earlier revision."""


@click.command("log", cls=Command)
@click.option("--limit", default=50, type=click.IntRange(1), show_default=True, help="How many.")
@click.option("--before", metavar="REVISION", help="Only changes before this revision.")
@click.pass_obj
def log_command(work: Work, limit: int, before: str | None) -> None:
    """Show who changed what, when and why, newest first."""
    upto = None if before is None else revision_of(before)
    work.tell(journal_page(work.reading(), limit, upto), journal_json, journal_text)


@click.group("at", cls=LazyGroup, table=PAST, params=None, no_args_is_help=False)
@click.argument("revision")
@click.pass_obj
def at_command(work: Work, revision: str) -> None:
    """Look at an earlier REVISION, read-only: at 12 show KEY."""
    work.revision = revision_of(revision)


at_command.params.extend(shared_options())


@click.command("compare", cls=Command)
@click.argument("earlier")
@click.argument("later")
@click.pass_obj
def compare_command(work: Work, earlier: str, later: str) -> None:
    """Say in engineering words what differs between two revisions, baselines or gates.

    A gate stands for what was frozen at it last. Items come worst first, each with the changes that
    led there.
    """
    reading = work.reading()
    first, second = (revision_named(reading, each) for each in (earlier, later))
    with progressing() as tell:
        tell(f"replaying revisions {first} and {second}")
        view = compare(reading, first, second)
    work.tell(view, comparison_json, comparison_text)


@click.command("audit", cls=Command)
@click.option("--expect", metavar="HEAD", help="A head hash the journal must contain.")
@click.pass_obj
def audit_command(work: Work, expect: str | None) -> int:
    """Replay the journal from empty and compare every byte and every table with it.

    Exits 4 if anything does not hold.
    """
    from tracker.bootstrap import audit

    with progressing() as tell:
        tell("replaying the journal from revision 1")
        report = audit(work.location, "" if expect is None else head_of(expect))
    work.tell(report, audit_json, audit_text)
    return 0 if report.ok else StoreError.exit_code
