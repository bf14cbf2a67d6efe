"""Freezing a gate, and writing what was frozen into files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from tracker.errors import BadValueError, CancelledError, InputError
from tracker.evaluate.engine import Cancel
from tracker.exchange.files import keep_whole
from tracker.services.gates.views import FrozenView, GatePage
from tracker.services.session import Session
from tracker.tui.screens.labour import LabourForm, Tell
from tracker.tui.screens.paths import PathForm
from tracker.tui.widgets.field import PickField

if TYPE_CHECKING:
    from tracker.services.packs.views import PackContent

__all__ = ["FreezeScreen", "PackScreen"]

FORMATS = ("html", "pdf", "md", "xlsx", "csv", "json")
"""What a pack can be written as: what `tracker.report.pack` writes, known without loading it."""

_REPLACED = "are replaced"


class FreezeScreen(LabourForm):
    """Asks why a gate is frozen, where that needs saying.

    Parameters
    ----------
    page : GatePage
        The gate.
    """

    CAUTIOUS = True

    def __init__(self, page: GatePage) -> None:
        super().__init__(f"freeze {page.key}", page.revision)
        self._page = page

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Freeze {self._page.key}"

    def heading(self) -> str:
        """Say what is not met."""
        unmet = ", ".join(each.name for each in self._page.criteria if each.result == "not met")
        if not unmet:
            return "Ready: all it is shown is kept with revision, head hash and versions"
        return f"Not ready: {unmet}. It is frozen only with a reason, and the baseline says so"

    def fields(self) -> ComposeResult:
        """Compose the reason."""
        label = "Why, if you like" if self._page.ready else "Why all the same"
        yield self.lines("why", label)

    def on_mount(self) -> None:
        """Begin."""
        next(iter(self._labelled())).take_focus()

    def begun(self) -> str:
        """Say what is being done."""
        return f"Freezing {self._page.key}"

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> FrozenView:
        """Freeze it."""
        from tracker.services.gates.freezing import freeze_gate

        why = self.typed.get("why", "")
        return freeze_gate(session, self._page.key, why, cancel=cancel, progress=tell)

    def worked(self, answer: FrozenView) -> None:
        """Leave the form."""
        self.host.back()
        state = "ready" if answer.ready else "not ready"
        self.host.say(
            f"{answer.gate} is frozen as {answer.baseline}, {state}, stored as {answer.stored}"
        )


class PackScreen(PathForm, LabourForm):
    """Asks where a pack goes and as what.

    Parameters
    ----------
    page : GatePage
        The gate.
    """

    CAUTIOUS = True
    FOLDERS = True

    def __init__(self, page: GatePage) -> None:
        super().__init__(f"pack {page.key}")
        self._page = page

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Pack {self._page.key}"

    def heading(self) -> str:
        """Say what is written."""
        return f"What was frozen at {self._page.key}, as files; nothing is computed again"

    def fields(self) -> ComposeResult:
        """Compose the folder, the formats and the baseline."""
        yield self.path_field("Folder")
        yield self.line("formats", "Formats", ", ".join(FORMATS))
        yield self.line("baseline", "Baseline", self._page.baselines[0].key)
        yield PickField(
            self.host.face,
            "replace",
            "Other files of that name",
            ("stay", _REPLACED),
            self.typed.get("replace", "stay"),
            tail=" ",
        )

    def begun(self) -> str:
        """Say what is being done."""
        return "Comparing journal, baseline and content"

    def _formats(self) -> list[str]:
        typed = self.typed.get("formats", ", ".join(FORMATS))
        return [each.strip() for each in typed.split(",") if each.strip()]

    def work(self, session: Session, cancel: Cancel, tell: Tell) -> tuple[str, ...]:
        """Write the files."""
        from tracker.services.gates.freezing import frozen_pack

        strangers = [each for each in self._formats() if each not in FORMATS]
        if strangers:
            raise BadValueError(
                f"{strangers[0][:40]!r} is no format of a pack",
                field="formats",
                remedy="Formats: " + ", ".join(FORMATS),
            )
        baseline = self.typed.get("baseline", self._page.baselines[0].key).strip()
        content = frozen_pack(session, self._page.key, baseline)
        files = self._rendered(content, cancel, tell)
        tell("Writing the files")
        for path, data in files.items():
            keep_whole(path, data, overwrite=self.typed.get("replace") == _REPLACED)
        return tuple(each.name for each in files)

    def _rendered(self, content: PackContent, cancel: Cancel, tell: Tell) -> dict[Path, bytes]:
        """Render every format before anything is written."""
        from tracker.report.pack import SUFFIXES, render

        files = {}
        for form in self._formats():
            if cancel():
                raise CancelledError("stopped")
            tell(f"Rendering {form}")
            files[self.path() / f"{content.cover.baseline}{SUFFIXES[form]}"] = render(content, form)
        return files

    def worked(self, answer: tuple[str, ...]) -> None:
        """Say what was written and leave."""
        self.host.back()
        self.host.say(f"Wrote {', '.join(answer)} in {self.path()}")

    def field_of(self, error: InputError) -> str:
        """Return the field an error is about."""
        return error.field or "path"
