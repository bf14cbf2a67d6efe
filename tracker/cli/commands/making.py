"""demo, new, open: making programmes and opening them."""

from __future__ import annotations

import os
import shlex
import sys
from pathlib import Path
from typing import Any

import click

from tracker.cli.as_json import status_json
from tracker.cli.options import Command
from tracker.cli.page import Page
from tracker.cli.text.status import ranked, status_text
from tracker.cli.work import Work
from tracker.errors import InputError
from tracker.services.overview import overview
from tracker.services.views import Overview
from tracker.services.wording import visible

__all__ = ["demo_command", "new_command", "open_command"]

_CURRENCY = "EUR"
_LINEAR = click.option(
    "--linear",
    is_flag=True,
    envvar="WHYBONE_LINEAR",
    help="Talk line by line, redrawing nothing: for screen readers.",
)


@click.command("demo", cls=Command)
@click.argument("directory", required=False, metavar="[DIR]")
@click.option("--no-ui", is_flag=True, help="Print its status instead of opening the terminal UI.")
@_LINEAR
@click.pass_obj
def demo_command(work: Work, directory: str | None, no_ui: bool, linear: bool) -> None:
    """Make the demo programme in DIR (else here) and open it.

    A demo programme that is there already is opened as it is, with whatever was changed in it. Off
    a terminal, and under --json, its status is printed.
    """
    from demo_program.story import FILE_NAME, make_demo

    place = Path(directory or ".") / FILE_NAME
    if not place.exists():
        make_demo(place.parent)
    work.program = str(place)
    if no_ui or work.json or not (linear or _on_terminal()):
        work.tell(overview(work.reading()), status_json, _demo_text)
    else:
        work.open_ui(work.program, work.author, _linear(asked=linear))


def _demo_text(page: Page, view: Overview) -> None:
    status_text(page, view)
    page.heading("Try next")
    worst = ranked(view.decisions)[0]
    for command in (f"show {worst.key}", "log", "open"):
        page.text(f"whybone --program {shlex.quote(view.store)} {command}", indent=2)


@click.command("new", cls=Command)
@click.argument("path", metavar="PATH_OR_URL")
@click.option("--title", metavar="TEXT", help="What the programme is called; else the file's name.")
@click.option(
    "--currency",
    default=_CURRENCY,
    show_default=True,
    metavar="CODE",
    help="Money it counts in, an ISO 4217 code.",
)
@click.pass_obj
def new_command(work: Work, path: str, title: str | None, currency: str) -> None:
    """Make a new, empty programme in a file or a PostgreSQL database."""
    from tracker.bootstrap import make_programme

    name = title or Path(path.rpartition("/")[2]).stem
    session = make_programme(path, name, currency, who=work.author)
    work.closing(session)
    made = {
        "program": session.store.name,
        "title": name,
        "currency": currency,
        "revision": session.head.revision,
        "head": session.head.hash,
    }
    work.tell(made, dict[str, Any], _made_text)


def _made_text(page: Page, made: dict[str, Any]) -> None:
    page.text(visible(f"Made {made['program']}: {made['title']}, money in {made['currency']}."))
    page.text(f"Open it with: whybone --program {shlex.quote(made['program'])} open")


@click.command("open", cls=Command)
@_LINEAR
@click.pass_obj
def open_command(work: Work, linear: bool) -> None:
    """Open the terminal UI on the programme."""
    if work.json or not (linear or _on_terminal() or "TEXTUAL_DRIVER" in os.environ):
        raise InputError(
            "the terminal UI needs a terminal",
            remedy="`whybone status` prints the same; --linear talks line by line",
        )
    work.open_ui(work.location, work.author, _linear(asked=linear))


def _linear(*, asked: bool) -> bool:
    """Tell whether to go line by line: a terminal that can do nothing else asks for it, too."""
    return asked or os.environ.get("TERM") == "dumb"


def _on_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()
