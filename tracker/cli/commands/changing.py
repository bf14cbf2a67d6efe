"""set, try, add, amend, undo: values and items."""

from __future__ import annotations

from collections.abc import Sequence

import click

from tracker.cli.as_json import committed_json, ripple_json
from tracker.cli.options import Command
from tracker.cli.text.ripple import committed_text, ripple_text
from tracker.cli.typed import edits_of, fields_of, pairs_of, revision_of
from tracker.cli.work import Work
from tracker.errors import BadValueError
from tracker.model.records import Basis, BasisKind, Decision
from tracker.services.actions import (
    add_items,
    adopt,
    amend_item,
    try_trial,
    undo,
)
from tracker.services.session import Reading

__all__ = ["add_command", "amend_command", "set_command", "try_command", "undo_command"]

_VALUES = """An address is KEY, KEY.x, KEY[row].column, REQUIREMENT.lower (upper, target, scale,
guard, allowed) or DECISION/option.KEY. A value is a number with or without a unit, a point
'[x, y, z] mm', a choice, yes or no, or rows as JSON; an empty one takes the value or bound away.
DECISION=OPTION is the same as --lean DECISION=OPTION."""


def _basis(kind: str, source: str, dated: str) -> Basis:
    try:
        return Basis(kind=BasisKind(kind), source=source, dated=dated)
    except ValueError:
        raise BadValueError(
            f"{kind[:40]!r} is no basis", field="--basis", remedy="Say " + ", ".join(BasisKind)
        ) from None


def _trial(reading: Reading, edits: Sequence[str], leans: Sequence[str]) -> dict[str, object]:
    """Put values and options to lean to into one trial.

    Raises
    ------
    UnknownKeyError
        What should lean is no decision.
    BadValueError
        A word is no pair, a name stands twice, or there is none at all.
    """
    options = pairs_of(leans, "DECISION=OPTION")
    for each in options:
        reading.programme.named(each, Decision)
    pairs_of([*edits, *leans], "KEY=VALUE")  # refuses a decision that stands among both
    if not edits and not leans:
        raise BadValueError(
            "nothing is to be changed", remedy="Write ADDRESS=VALUE, or --lean DECISION=OPTION"
        )
    return {**edits_of(edits), **options}


_lean_option = click.option(
    "--lean",
    "leans",
    multiple=True,
    metavar="DECISION=OPTION",
    help="Lean to an option as well; a settled decision is reopened. May stand several times.",
)


@click.command("set", cls=Command, epilog=_VALUES)
@click.argument("edits", nargs=-1, metavar="ADDRESS=VALUE...")
@_lean_option
@click.option("--why", default="", metavar="TEXT", help="The reason; always needed.")
@click.option(
    "--basis",
    default="guess",
    metavar="HOW",
    show_default=True,
    help="How well the value is known: guess, estimate, calculated, quoted or measured.",
)
@click.option("--source", default="", metavar="TEXT", help="Where the value comes from.")
@click.option("--dated", default="", metavar="YYYY-MM-DD", help="Date of that source.")
@click.pass_obj
def set_command(
    work: Work,
    edits: tuple[str, ...],
    leans: tuple[str, ...],
    why: str,
    basis: str,
    source: str,
    dated: str,
) -> None:
    """Set values, bounds, what options state and which options apply, in one change.

    It does what `try` with the same words shows.
    """
    session = work.session()
    wanted = _trial(session, edits, leans)
    receipt = adopt(session, wanted, why, _basis(basis, source, dated))
    work.tell(receipt, committed_json, committed_text)


@click.command("try", cls=Command, epilog=_VALUES)
@click.argument("edits", nargs=-1, metavar="ADDRESS=VALUE...")
@_lean_option
@click.pass_obj
def try_command(work: Work, edits: tuple[str, ...], leans: tuple[str, ...]) -> int:
    """Show what a change would do; nothing is stored.

    Exits 1 if a decision would newly break.
    """
    reading = work.reading()
    ripple = try_trial(reading, _trial(reading, edits, leans))
    work.tell(ripple, ripple_json, ripple_text)
    return 1 if ripple.broken else 0


_FIELDS = """A value is text, or JSON when it begins with { or with [ and then [, { or a quote.
References are keys; numbers may carry a unit; lists of texts may be written with commas."""


@click.command("add", cls=Command, epilog=_FIELDS)
@click.argument("kind")
@click.argument("key")
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE...")
@click.option(
    "--why", default="", metavar="TEXT", help="The reason; says what was added if not told."
)
@click.pass_obj
def add_command(work: Work, kind: str, key: str, fields: tuple[str, ...], why: str) -> None:
    """Add an item of a KIND under a KEY.

    \b
    quantity     title type unit choices columns value unknown basis source dated
                 tolerance tolerance_shape low high ranges correlated
    requirement  statement quantity lower upper target scale guard allowed source
                 owner verification parents gate rationale priority risk
    decision     question options sets serves rests_on owner gate participants
                 dissent assumptions state chosen rationale against
                 superseded_by reviews
    check        title check decision config inputs outputs
    gate         title date criteria
    deviation    requirement reason approver extent lower upper expires
                 consequences decision
    action       title owner gate about closed closed_on
    evidence     title about place sha256 dated note
    risk         title about owner gate likelihood consequence response closed

    \b
    A file that is evidence is read for its SHA-256 if none is given.
    """  # noqa: D301 - click reads the backspace as "do not rewrap"
    document = {**fields_of(fields), "kind": kind, "key": key}
    receipt = add_items(work.session(), [document], why or f"add {kind} {key}")
    work.tell(receipt, committed_json, committed_text)


@click.command("amend", cls=Command, epilog=_FIELDS)
@click.argument("key")
@click.argument("fields", nargs=-1, required=True, metavar="FIELD=VALUE...")
@click.option("--why", default="", metavar="TEXT", help="The reason; always needed.")
@click.pass_obj
def amend_command(work: Work, key: str, fields: tuple[str, ...], why: str) -> None:
    """Change fields of an item; fields not named stay.

    The fields are those of `add`; key=NEW gives the item another key, and every reference follows.
    """
    receipt = amend_item(work.session(), key, fields_of(fields), why)
    work.tell(receipt, committed_json, committed_text)


@click.command("undo", cls=Command)
@click.argument("revision", required=False)
@click.pass_obj
def undo_command(work: Work, revision: str | None) -> None:
    """Take back the change of a REVISION, or the author's latest one not yet undone.

    Undoing is a change of its own; undoing an undo does the change again.
    """
    number = None if revision is None else revision_of(revision)
    work.tell(undo(work.session(), number), committed_json, committed_text)
