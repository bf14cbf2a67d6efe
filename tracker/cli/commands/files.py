"""import, export: items and the decision history as files."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from tracker.cli.as_json import committed_json, ripple_json
from tracker.cli.options import Command
from tracker.cli.page import Page
from tracker.cli.terminal import emit
from tracker.cli.text.ripple import committed_text, ripple_text
from tracker.cli.work import Work
from tracker.errors import FileFormatError
from tracker.exchange.files import read_bytes, write_whole
from tracker.exchange.item_files import ItemFile, TableStyle, items_text, read_items, read_table
from tracker.report.decision_history import decision_history
from tracker.services.actions import add_items, try_items
from tracker.services.session import Reading
from tracker.services.wording import visible

__all__ = ["export_command", "import_command"]

_DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t"}
_WRITERS = {"md": decision_history, "json": items_text}


def _format_of(file: str, named: str | None, known: tuple[str, ...]) -> str:
    """Return the format of a file: as named, else by the end of its name."""
    found = named or Path(file).suffix.removeprefix(".").lower()
    if found not in known:
        raise FileFormatError(
            "its name does not say what it holds",
            item=file,
            field="--format",
            remedy="Say --format " + " or ".join(known),
        )
    return found


@click.command("import", cls=Command)
@click.argument("file", metavar="FILE|-")
@click.option("--format", "named", type=click.Choice(["csv", "json"]), help="Else by FILE's name.")
@click.option("--check", is_flag=True, help="Say what would be added; store nothing.")
@click.option(
    "--delimiter",
    type=click.Choice(list(_DELIMITERS)),
    help="What stands between the cells of a table; else as its header shows.",
)
@click.option("--decimal-comma", is_flag=True, help="Numbers in the table are written 12,5.")
@click.option("--why", default="", metavar="TEXT", help="The reason; else that it was imported.")
@click.pass_obj
def import_command(
    work: Work,
    file: str,
    named: str | None,
    check: bool,
    delimiter: str | None,
    decimal_comma: bool,
    why: str,
) -> None:
    """Add the items of a file in one change: all of them, or none and every reason why.

    \b
    A .csv file is a table of requirements in UTF-8, with a header. Columns: key,
    statement, quantity (needed), type, unit, lower, upper, target, guard, scale,
    allowed, source, owner, verification, parents, gate. A quantity that does not
    exist yet is made from its row. Cells may be divided by commas, semicolons or
    tabs; entries of allowed and parents by comma, semicolon or |. Empty lines
    and lines that begin with # are skipped.

    A .json file is what `export` writes, or a list of item objects.
    """  # noqa: D301 - click reads the backspace as "do not rewrap"
    session = work.session()
    style = TableStyle(delimiter=_DELIMITERS.get(delimiter or "", ""), decimal_comma=decimal_comma)
    found = _read(session, file, _format_of(file, named, ("csv", "json")), style)
    with found.naming_places():
        if check:
            tried = try_items(session, found.documents, found.places)
            work.tell(tried, ripple_json, ripple_text)
        else:
            reason = why or f"import {visible(Path(file).name)}"
            receipt = add_items(session, found.documents, reason, found.places)
            work.tell(receipt, committed_json, committed_text)


def _read(reading: Reading, file: str, form: str, style: TableStyle) -> ItemFile:
    data = sys.stdin.buffer.read() if file == "-" else read_bytes(Path(file))
    name = Path(file).name
    if form == "csv":
        return read_table(data, name, reading, style)
    return read_items(data, name, reading)


@click.command("export", cls=Command)
@click.argument("file", metavar="FILE|-")
@click.option("--format", "named", type=click.Choice(["md", "json"]), help="Else by FILE's name.")
@click.option("--force", is_flag=True, help="Replace a file of that name.")
@click.pass_obj
def export_command(work: Work, file: str, named: str | None, force: bool) -> None:
    """Write the decision history (.md) or the items (.json) into a file, or to standard output.

    Under --json, a FILE of - cannot hold both the export and the answer and is refused.
    """
    form = _format_of(file, named, ("md", "json"))
    if file == "-" and work.json:
        raise FileFormatError(
            "standard output holds the JSON answer already", item="-", remedy="Name a file"
        )
    reading = work.reading()
    text = _WRITERS[form](reading)
    if file == "-":
        emit(sys.stdout, text, work.look)
        return
    write_whole(Path(file), text, overwrite=force)
    done = {"file": file, "format": form, "revision": reading.head.revision}
    work.tell({**done, "head": reading.head.hash}, dict[str, Any], _exported_text)


def _exported_text(page: Page, done: dict[str, Any]) -> None:
    page.text(visible(f"Wrote {done['file']} at revision {done['revision']}, head {done['head']}"))
