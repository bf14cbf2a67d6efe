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
from tracker.exchange.item_files import ItemFile, items_text
from tracker.exchange.table_files import KINDS, TableStyle
from tracker.exchange.taking import TAKEN, format_of, read_file, take_in, try_file
from tracker.report.history.exporting import HISTORY_FORMATS, exported_history
from tracker.services.session import Reading
from tracker.services.wording import visible

__all__ = ["export_command", "import_command"]

_DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t"}
_FORMATS = ("json", *HISTORY_FORMATS)
_BINARY = ("pdf", "xlsx", "csv.zip")


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
    found = _read(session, file, format_of(file, named or "", TAKEN), style)
    if check:
        work.tell(try_file(session, found, into), ripple_json, ripple_text)
        return
    reason = why or f"import {visible(Path(file).name)}"
    work.tell(take_in(session, found, reason, into), committed_json, committed_text)


def _read(reading: Reading, file: str, form: str, style: TableStyle) -> ItemFile:
    data = sys.stdin.buffer.read() if file == "-" else read_bytes(Path(file))
    return read_file(data, Path(file).name, form, reading, style)


@click.command("export", cls=Command)
@click.argument("file", metavar="FILE|-")
@click.option("--format", "named", type=click.Choice(_FORMATS), help="Else by FILE's name.")
@click.option("--item", default="", metavar="KEY", help="Only one item.")
@click.option(
    "--area", default="", metavar="KEY", help="Only an item and all that is up- and downstream."
)
@click.option("--from", "first", default="", metavar="WHEN", help="Only changes from then on.")
@click.option("--to", "last", default="", metavar="WHEN", help="As it was then, and no later.")
@click.option("--force", is_flag=True, help="Replace a file of that name.")
@click.pass_obj
def export_command(work: Work, /, file: str, named: str | None, force: bool, **wanted: str) -> None:
    """Write the decision history or the items into a file, or to standard output.

    How FILE ends says what is written. WHEN is a revision, a date, a baseline or a gate.

    \b
    .md .html .pdf   the decision history to read: requirements, decisions with
                     options, reasons and findings, and all changes
    .xlsx .csv.zip   the same as tables, in one workbook or one file each
    .csv             its changes alone
    .history.json    the same as data
    .prov.json       what every record was derived from, by whom (W3C PROV)
    .graphml         the graph of the items
    .json            the items, to import them again

    Under --json, a FILE of - cannot hold both the export and the answer and is refused.
    """  # noqa: D301 - click reads the backspace as "do not rewrap"
    form = format_of(file, named or "", _FORMATS)
    if file == "-" and work.json:
        raise FileFormatError(
            "standard output holds the JSON answer already", item="-", remedy="Name a file"
        )
    reading, data = _exported(work.reading(), form, **wanted)
    if file == "-":
        _put_out(work, form, data)
        return
    write_whole(Path(file), data, overwrite=force)
    done = {"file": file, "format": form, "revision": reading.head.revision}
    work.tell({**done, "head": reading.head.hash}, dict[str, Any], _exported_text)


def _exported(
    reading: Reading, form: str, *, item: str, area: str, first: str, last: str
) -> tuple[Reading, bytes]:
    """Return an export, and what it was made from."""
    if form == "json":
        if item or area or first or last:
            raise FileFormatError(
                "items are written whole, as they are",
                item="--format json",
                remedy="Say --format history.json for part of the history as data",
            )
        return reading, items_text(reading).encode()
    return exported_history(reading, form, item=item, area=area, first=first, last=last)


def _put_out(work: Work, form: str, data: bytes) -> None:
    """Write an export to standard output: as text where it is one to read, else byte by byte."""
    if form in ("md", "json"):
        emit(sys.stdout, data.decode(), work.look)
    elif form in _BINARY and sys.stdout.isatty():
        raise FileFormatError(
            "a terminal cannot show it", item="-", field="FILE", remedy="Name a file"
        )
    else:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()


def _exported_text(page: Page, done: dict[str, Any]) -> None:
    page.text(visible(f"Wrote {done['file']} at revision {done['revision']}, head {done['head']}"))
