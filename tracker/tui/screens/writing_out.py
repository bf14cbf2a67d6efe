"""Writing a file: where, as what, of how much."""

from __future__ import annotations

from textual.app import ComposeResult

from tracker.errors import FileFormatError, InputError
from tracker.evaluate.engine import Cancel
from tracker.exchange.files import write_whole
from tracker.exchange.item_files import items_text
from tracker.exchange.taking import format_of
from tracker.services.session import Session
from tracker.tui.screens.labour import LabourForm, Tell
from tracker.tui.screens.paths import PathForm
from tracker.tui.widgets.field import PickField

__all__ = ["WriteOutScreen"]

_NO, _YES = "no", "yes"
_PARTS = ("item", "area", "first", "last")


class WriteOutScreen(PathForm, LabourForm):
    """Asks where the history or the items are written."""

    CAUTIOUS = False

    def __init__(self) -> None:
        super().__init__("write a file")

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return "Write a file"

    def heading(self) -> str:
        """Return what the form is about."""
        return (
            "History: .md .html .pdf .xlsx .csv.zip .csv .history.json .prov.json; "
            "graph: .graphml; items: .json"
        )

    def fields(self) -> ComposeResult:
        """Compose the path and what is written."""
        yield self.path_field("File")
        yield self.line("item", "Only item")
        yield self.line("area", "Only around item")
        yield self.line("first", "Changes from")
        yield self.line("last", "As it was at")
        value = self.typed.get("replace", _NO)
        label = "Replace a file there"
        yield PickField(self.host.face, "replace", label, (_NO, _YES), value, tail=" ")

    def begun(self) -> str:
        """Say what is being done."""
        return "Writing"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> int:  # noqa: ARG002 - one piece of work
        """Write it."""
        from tracker.report.history.exporting import HISTORY_FORMATS, exported_history

        path, replace = self.path(), self.typed.get("replace") == _YES
        if path.exists() and not replace:
            raise FileFormatError(
                "there is a file of this name already",
                field="replace",
                remedy="Choose another name, or say that it is replaced",
            )
        form = format_of(path.name, "", ("json", *HISTORY_FORMATS))
        parts = {name: self.typed.get(name, "").strip() for name in _PARTS}
        tell(f"Writing {form}")
        if form == "json":
            _refuse_parts(parts)
            revision, data = session.head.revision, items_text(session).encode()
        else:
            then, data = exported_history(session, form, **parts)
            revision = then.head.revision
        write_whole(path, data, overwrite=replace)
        return revision

    def worked(self, answer: int) -> None:
        """Say what was written and leave."""
        path = self.path()
        self.host.back()
        self.host.say(f"Wrote {path} at revision {answer}")

    def field_of(self, error: InputError) -> str:
        """Return the field an error is about."""
        named = {"--format": "path", "--area": "area", "--from": "first", "--to": "last"}
        return named.get(error.field, error.field) or "path"


def _refuse_parts(parts: dict[str, str]) -> None:
    told = next((name for name, text in parts.items() if text), "")
    if told:
        raise FileFormatError(
            "items are written whole, as they are",
            field=told,
            remedy="End the name in .history.json for part of the history as data",
        )
