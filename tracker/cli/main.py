"""The command line: its group of commands, and what becomes of errors."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Mapping, Sequence

import click

from tracker.cli.failing import bug, report, usage_error
from tracker.cli.lazy import LazyGroup
from tracker.cli.options import shared_options
from tracker.cli.terminal import ClosedOutputError
from tracker.cli.version import VERSION
from tracker.cli.work import OpenUi, Work
from tracker.errors import WhyboneError

__all__ = ["COMMANDS", "INTERRUPTED", "run"]

INTERRUPTED = 130
"""Exit code after Ctrl+C."""

_UNHEARD = 1

_PLACE = "tracker.cli.commands."
COMMANDS: Mapping[str, tuple[str, str]] = {
    "demo": (_PLACE + "making", "Make the demo programme and open it."),
    "new": (_PLACE + "making", "Make a new, empty programme."),
    "open": (_PLACE + "making", "Open the terminal UI."),
    "status": (_PLACE + "looking", "What stands, what is broken or shifted, what is due."),
    "show": (_PLACE + "showing", "One item with its whole why."),
    "list": (_PLACE + "looking", "All items of one kind."),
    "set": (_PLACE + "changing", "Set values, bounds or what options state."),
    "try": (_PLACE + "changing", "What a change would do; nothing is stored."),
    "weigh": (_PLACE + "weighing", "The options of a decision side by side."),
    "headroom": (_PLACE + "exploring", "How far a value may move, and what breaks first."),
    "drivers": (_PLACE + "exploring", "Which values a verdict depends on most."),
    "spread": (_PLACE + "exploring", "How likely each decision is to stand, given tolerances."),
    "sets": (_PLACE + "option_sets", "Which combinations of open options are alive."),
    "mend": (_PLACE + "mending", "The smallest edits that make a decision stand again."),
    "why": (_PLACE + "mending", "Which changes together explain a missed verdict."),
    "matrix": (_PLACE + "matrix", "What depends on what, and what has to be settled together."),
    "add": (_PLACE + "changing", "Add an item."),
    "amend": (_PLACE + "changing", "Change fields of an item."),
    "lean": (_PLACE + "deciding", "Apply an option provisionally."),
    "settle": (_PLACE + "deciding", "Settle a decision with its reasons."),
    "reopen": (_PLACE + "deciding", "Open a settled or withdrawn decision again."),
    "review": (_PLACE + "deciding", "Look again at a settled decision whose ground moved."),
    "withdraw": (_PLACE + "deciding", "Take a decision out of play."),
    "supersede": (_PLACE + "deciding", "Let another decision take the place of one."),
    "gate": (_PLACE + "gates", "Gates: readiness, freezing, packs."),
    "undo": (_PLACE + "changing", "Take a change back, by a new change."),
    "log": (_PLACE + "history", "Who changed what, when and why."),
    "at": (_PLACE + "history", "Look at an earlier revision."),
    "compare": (_PLACE + "history", "Two revisions side by side."),
    "audit": (_PLACE + "history", "Prove that the journal and the tables hold."),
    "checks": (_PLACE + "checking", "The installed checks: ports, units, sources, cautions."),
    "serve": (_PLACE + "serving", "The terminal UI in a browser on this machine."),
    "calc": (_PLACE + "checking", "Run one check on its own, without a programme."),
    "import": (_PLACE + "files", "Add items from a CSV or JSON file."),
    "export": (_PLACE + "files", "Write the decision history or the items into a file."),
}
"""Command → module and one line of help."""

_HELP = """Keep the why of a chassis programme.

Exit codes: 0 fine; 1 the answer is bad news; 2 bad input; 3 somebody else's change stands in the
way; 4 the store is damaged or out of reach; 70 an error in whybone itself; 130 stopped with
Ctrl+C.

With --json standard output is one JSON document in every case: the answer, or
{"error": {"code", "message", "item", "field", "remedy"}}, with "problems" where there are several.
"""


def _show_version(ctx: click.Context, _: click.Parameter, value: bool) -> None:
    if value:
        click.echo(f"whybone {VERSION}")
        ctx.exit()


def _version_option() -> click.Option:
    return click.Option(
        ["--version"],
        is_flag=True,
        is_eager=True,
        expose_value=False,
        callback=_show_version,
        help="Show the version and exit.",
    )


def _group() -> LazyGroup:
    return LazyGroup(
        "whybone",
        table=COMMANDS,
        help=_HELP,
        params=[*shared_options(), _version_option()],
        context_settings={"help_option_names": ["-h", "--help"]},
    )


def run(argv: Sequence[str], *, open_ui: OpenUi) -> int:
    """Run a command line and return its exit code; no error gets past this.

    Parameters
    ----------
    argv : sequence of str
        Arguments without the program's name.
    open_ui : callable
        Opens the terminal UI on a location for an author.
    """
    work = Work(open_ui)
    args = list(argv) or ["--help"]
    try:
        return _run(work, args)
    except ClosedOutputError as error:
        return _unheard(error)
    finally:
        work.close()


def _run(work: Work, args: list[str]) -> int:
    try:
        code = _group().main(args=args, prog_name="whybone", standalone_mode=False, obj=work)
    except (click.Abort, KeyboardInterrupt):
        sys.stderr.write("whybone: stopped\n")
        return INTERRUPTED
    except SystemExit:  # click leaves like this, and only when standard output is closed
        return _UNHEARD
    except ClosedOutputError:
        raise
    except Exception as error:  # noqa: BLE001 - told in one message, never as a traceback
        work.json = work.json or "--json" in args
        return _failed(work, error)
    return code if isinstance(code, int) else 0


def _failed(work: Work, error: Exception) -> int:
    if isinstance(error, WhyboneError):
        return report(work, error)
    if isinstance(error, click.ClickException):
        return report(work, usage_error(error))
    if os.environ.get("WHYBONE_TRACEBACK"):
        raise error
    return report(work, bug(error))


def _unheard(error: ClosedOutputError) -> int:
    """Stop writing to standard output: it is full, or whoever read it is gone."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if error.errno != errno.EPIPE:
        sys.stderr.write(f"whybone: standard output cannot be written ({error.strerror})\n")
    return _UNHEARD
