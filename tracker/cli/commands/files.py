"""import, export: items and the decision history as files."""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from tracker.cli.as_json import committed_json, ripple_json
from tracker.cli.options import Command
from tracker.cli.page import Page
from tracker.cli.terminal import emit
from tracker.cli.text.ripple import committed_text, ripple_text
from tracker.cli.typed import pairs_of
from tracker.cli.work import Work
from tracker.errors import FileFormatError
from tracker.exchange.files import read_bytes, write_whole
from tracker.exchange.item_files import ItemFile, items_text, read_items
from tracker.exchange.table_files import KINDS, TableStyle, read_table
from tracker.report.decision_history import decision_history
from tracker.services.actions import add_items, try_items, try_update, update_items
from tracker.services.change_views import Committed, Ripple
from tracker.services.session import Reading, Session
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


def _table_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options that say how a table is written, handed on as one `TableStyle`."""

    @click.option(
        "--kind", type=click.Choice(KINDS), help="What it holds; else as its header shows."
    )
    @click.option("--table", default="", metavar="KEY", help="The quantity whose rows it holds.")
    @click.option("--create", is_flag=True, help="Make that quantity of the file.")
    @click.option(
        "--map",
        "mapped",
        multiple=True,
        metavar="HEADER=COLUMN",
        help="A column by another name; --map HEADER= leaves one unread.",
    )
    @click.option(
        "--delimiter",
        type=click.Choice(list(_DELIMITERS)),
        help="What stands between the cells; else as its header shows.",
    )
    @click.option("--decimal-comma", is_flag=True, help="Numbers are written 12,5.")
    @functools.wraps(command)
    def bundled(
        *args: Any,  # noqa: ANN401 - handed on
        kind: str | None,
        mapped: tuple[str, ...],
        delimiter: str | None,
        **rest: Any,  # noqa: ANN401 - handed on
    ) -> None:
        style = TableStyle(
            kind=kind or "",
            delimiter=_DELIMITERS.get(delimiter or "", ""),
            mapped=pairs_of(mapped, "HEADER=COLUMN"),
            **{name: rest.pop(name) for name in ("table", "create", "decimal_comma")},
        )
        command(*args, style=style, **rest)

    return bundled


@click.command("import", cls=Command)
@click.argument("file", metavar="FILE|-")
@click.option("--format", "named", type=click.Choice(["csv", "json"]), help="Else by FILE's name.")
@click.option("--check", is_flag=True, help="Say what would be added or set; store nothing.")
@click.option(
    "--into", default="", metavar="DECISION/OPTION", help="Let an option state the values."
)
@_table_options
@click.option("--why", default="", metavar="TEXT", help="The reason; else that it was imported.")
@click.pass_obj
def import_command(
    work: Work, file: str, named: str | None, check: bool, into: str, style: TableStyle, why: str
) -> None:
    """Take in a file in one change: all of it, or nothing and every reason why.

    A .json file is what `export` writes, or a list of item objects; all of them are new.

    A .csv file is a table in UTF-8 with a header, its cells divided by commas, semicolons or tabs.
    Empty lines and lines that begin with # are skipped. Names of columns are read in capital or
    small letters; a unit may stand behind them, as in z [mm], z (mm) or z/mm, and a cell may have
    its own.

    \b
    requirements  key, statement, quantity (needed), type, unit, lower, upper,
                  target, guard, scale, allowed, source, owner, verification,
                  parents, gate
    points        key, x, y, z (needed), unit, title, basis, source, dated
    quantities    key (needed), title, type, unit, value, tolerance, low, high,
                  basis, source, dated
    table         the columns of the quantity that --table names, all of them

    Requirements are new; a quantity they name and that does not exist yet is made from the row.
    Points and quantities may exist: a filled cell then sets, an empty one leaves what there is, and
    a new value without basis is a guess. The rows of a table replace those there are.

    \b
    Other names   id (key), units (unit), description (title), reference (source),
                  date (dated), point (key of points), nominal and tol (value and
                  tolerance of quantities)

    With --create a column with a unit is real, and [text], [integer], [real] or [flag] behind a
    name say the kind; where neither stands and the cells leave a doubt, the import asks.
    """  # noqa: D301 - click reads the backspace as "do not rewrap"
    session = work.session()
    found = _read(session, file, _format_of(file, named, ("csv", "json")), style)
    if into and not found.updates:
        raise FileFormatError(
            "only points, quantities and tables go into an option", item=file, field="--into"
        )
    reason = why or f"import {visible(Path(file).name)}"
    with found.naming_places():
        if check:
            tried = _tried(session, found, into)
            work.tell(tried, ripple_json, ripple_text)
        else:
            work.tell(_stored(session, found, into, reason), committed_json, committed_text)


def _tried(reading: Reading, found: ItemFile, into: str) -> Ripple:
    if found.updates:
        return try_update(reading, found.documents, found.places, into)
    return try_items(reading, found.documents, found.places)


def _stored(session: Session, found: ItemFile, into: str, reason: str) -> Committed:
    if found.updates:
        return update_items(session, found.documents, reason, found.places, into)
    return add_items(session, found.documents, reason, found.places)


def _read(reading: Reading, file: str, form: str, style: TableStyle) -> ItemFile:
    if form == "json" and style != TableStyle():
        raise FileFormatError(
            "a file of items is no table", item=file, remedy="Leave out what is said about tables"
        )
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
