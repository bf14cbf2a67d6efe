"""Taking a file in: a path, what it would do, a reason."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.message import Message

from tracker.errors import BadValueError, InputError
from tracker.evaluate.engine import Cancel
from tracker.exchange.files import read_bytes
from tracker.exchange.table_files import KINDS, TableStyle
from tracker.exchange.taking import TAKEN, format_of, read_file, take_in, try_file
from tracker.services.change_views import Committed
from tracker.services.session import Session
from tracker.services.wording import visible
from tracker.tui.layout.taking_in import Preview, preview_lines
from tracker.tui.messages import Stored
from tracker.tui.plain import plain, problems
from tracker.tui.screens.paths import PathForm
from tracker.tui.widgets.field import PickField

__all__ = ["TakeInScreen", "preview"]

_BY_HEADER = "as headed"
_NO, _YES = "no", "yes"
_DELIMITERS = {_BY_HEADER: "", "comma": ",", "semicolon": ";", "tab": "\t"}
_FIELDS = {
    "--into": "into",
    "--table": "table",
    "--create": "table",
    "--kind": "table",
    "mapped": "mapped",
}
"""What an error is about → the field in which it is put right."""


class Previewed(Message):
    """What a file would do has been worked out."""

    def __init__(self, view: Preview) -> None:
        super().__init__()
        self.view = view


def _style_of(typed: Mapping[str, str]) -> TableStyle:
    """Return how a table is written, from what the form's fields hold.

    Raises
    ------
    BadValueError
        A column by another name is not written HEADER=COLUMN, or stands twice.
    """
    kind = typed.get("kind", _BY_HEADER)
    return TableStyle(
        delimiter=_DELIMITERS[typed.get("delimiter", _BY_HEADER)],
        decimal_comma=typed.get("comma") == _YES,
        kind="" if kind == _BY_HEADER else kind,
        table=typed.get("table", "").strip(),
        create=typed.get("create") == _YES,
        mapped=_mapped(typed.get("mapped", "")),
    )


def _mapped(text: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for part in filter(None, map(str.strip, text.split(";"))):
        header, sign, column = (each.strip() for each in part.partition("="))
        if not header or not sign or header in found:
            wrong = "stands twice" if header in found and sign else "is not HEADER=COLUMN"
            remedy = "Write HEADER=COLUMN; HEADER= with a semicolon between two of them"
            raise BadValueError(f"{part[:80]!r} {wrong}", field="mapped", remedy=remedy)
        found[header] = column
    return found


def preview(
    session: Session,
    path: Path,
    typed: Mapping[str, str],
    into: str,
    cancel: Cancel | None = None,
) -> Preview:
    """Work out what taking a file in would do."""
    name, counts, updates = visible(path.name), Counter[str](), False
    try:
        form = format_of(path.name, "", TAKEN)
        found = read_file(read_bytes(path), path.name, form, session, _style_of(typed))
        counts.update(visible(str(_kind(each))) for each in found.documents)
        updates = found.updates
        ripple = try_file(session, found, into, cancel)
    except InputError as error:
        told = tuple(plain(each) for each in problems(error))
        return Preview(name=name, counts=counts, updates=updates, problems=told)
    return Preview(name=name, counts=counts, updates=updates, ripple=ripple)


def _kind(document: Any) -> object:  # noqa: ANN401 - whatever a file holds
    return document.get("kind", "quantity") if isinstance(document, dict) else "?"


def _taken(
    session: Session, path: Path, typed: Mapping[str, str], into: str, why: str
) -> Committed:
    form = format_of(path.name, "", TAKEN)
    found = read_file(read_bytes(path), path.name, form, session, _style_of(typed))
    return take_in(session, found, why, into)


class TakeInScreen(PathForm):
    """Asks which file is taken in, and shows what that would do."""

    CAUTIOUS = True
    SUFFIXES: ClassVar[tuple[str, ...]] = tuple(f".{each}" for each in TAKEN)

    def __init__(self) -> None:
        super().__init__("take in a file")

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Take in a file"

    def heading(self) -> str:
        """Return what the form is about."""
        return "Items (.json), or a table of requirements, points, quantities or rows (.csv)"

    def fields(self) -> ComposeResult:
        """Compose the path and how the file is read."""
        yield self.path_field("File")
        yield self._pick("kind", "A table holds", (_BY_HEADER, *KINDS))
        yield self.line("table", "Rows of quantity")
        yield self._pick("create", "Make that quantity", (_NO, _YES))
        yield self._pick("delimiter", "Between cells", tuple(_DELIMITERS))
        yield self._pick("comma", "Numbers as 12,5", (_NO, _YES))
        yield self.line("mapped", "HEADER=COLUMN; …")
        yield self.line("into", "Into DECISION/option")
        yield self.line("why", "Why")

    def _pick(self, name: str, label: str, words: tuple[str, ...]) -> PickField:
        value = self.typed.get(name, words[0])
        return PickField(self.host.face, name, label, words, value, tail="")

    def _into(self) -> str:
        return self.typed.get("into", "").strip()

    def changed(self, name: str) -> None:
        """Look at the file anew."""
        if name != "why":
            super().changed("path")

    def looked(self) -> None:
        """Show what the file would do; where there is none yet, what the folder holds."""
        path = self.path()
        names = {each.raw for each in self._entries.entries if not each.folder}
        if self._raw.get(self._typed_path, self._typed_path) not in names:
            self.host.drop_latest()
            self.show_entries()
            return
        typed, into = dict(self.typed), self._into()

        def job(session: Session, cancel: Cancel) -> Preview:
            return preview(session, path, typed, into, cancel)

        self.host.ask_latest(self, job, Previewed)

    @on(Previewed)
    def _show(self, event: Previewed) -> None:
        event.stop()
        view, face = event.view, self.host.face
        self.roll("below").show(lambda width: preview_lines(view, width, face), keep=False)

    def store(self) -> None:
        """Ask for the file to be taken in."""
        path = self.path()
        why = self.typed.get("why", "").strip() or f"import {visible(path.name)}"
        job = partial(_taken, path=path, typed=dict(self.typed), into=self._into(), why=why)
        self.host.ask(self, job, Stored)

    def field_of(self, error: InputError) -> str:
        """Return the field an error is about; what is wrong in the file stands below."""
        return _FIELDS.get(error.field, "")
