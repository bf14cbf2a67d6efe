"""Curves and sketches of the checks behind an item, with values read at a cursor."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.contract.figure import FigureKind
from tracker.errors import InputError
from tracker.evaluate.engine import Cancel
from tracker.services.intake import Document
from tracker.services.pictures.corner import try_pictures
from tracker.services.pictures.picturing import pictures
from tracker.services.pictures.views import PicturesView, PictureView
from tracker.services.session import Session
from tracker.tui.layout.curves import runs_up, stops, worth_closer
from tracker.tui.layout.gallery import Exhibit, gallery_lines
from tracker.tui.layout.paper import Line, Paper
from tracker.tui.layout.plot import value_under
from tracker.tui.layout.tiles import grid_for
from tracker.tui.plain import plain
from tracker.tui.screens.picture import PicturePage
from tracker.tui.widgets.pane import Pane

__all__ = ["CurvesScreen"]


@dataclass(frozen=True, slots=True)
class Drawn:
    """Pictures as stored and, while something is tried, under the trial.

    Parameters
    ----------
    why : str
        Why the trial is not drawn.
    """

    stored: PicturesView
    tried: PicturesView | None = None
    why: str = ""


def drawn(
    session: Session,
    key: str,
    edits: Mapping[str, str],
    documents: Sequence[Document],
    cancel: Cancel | None = None,
) -> Drawn:
    """Draw an item's pictures."""
    stored = pictures(session, key)
    if not (edits or documents):
        return Drawn(stored)
    try:
        return Drawn(stored, try_pictures(session, key, edits, documents, cancel))
    except InputError as error:
        return Drawn(stored, why=plain(error))


class Pictured(Message):
    """The pictures have been drawn."""

    def __init__(self, what: Drawn) -> None:
        super().__init__()
        self.what = what


@dataclass(slots=True)
class _Looks:
    """How each picture is looked at."""

    cursors: dict[int, float] = field(default_factory=dict)
    close: dict[int, bool] = field(default_factory=dict)


class CurvesScreen(PicturePage):
    """Curves and sketches.

    Parameters
    ----------
    key : str
        The item whose checks draw them.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "move(-1)", "cursor", key_display="←→"),
        Binding("right", "move(1)", "cursor right", show=False),
        Binding("shift+left", "move(-5)", "cursor left by five", show=False),
        Binding("shift+right", "move(5)", "cursor right by five", show=False),
        Binding("home", "now", "cursor to the present point", show=False),
        Binding("down,tab", "turn(1)", "next picture"),
        Binding("up,shift+tab", "turn(-1)", "picture before", show=False),
        Binding("pagedown,space", "leaf(1)", "next pictures", show=False),
        Binding("pageup", "leaf(-1)", "pictures before", show=False),
        Binding("z", "closer", "closer or whole"),
        Binding("enter", "check", "open the check"),
    ]

    def __init__(self, key: str) -> None:
        super().__init__()
        self.key = key
        self._drawn: Drawn | None = None
        self._chosen = 0
        self._looks = _Looks()

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Curves of {self.key}"

    def freshen(self) -> None:
        """Draw again when a trial goes on, too."""
        if self.revision == self.host.where.revision:
            self.load()
        super().freshen()

    def load(self) -> None:
        """Ask for the pictures."""
        key, trial = self.key, self.host.trial
        edits, documents = trial.edits, trial.documents

        def job(session: Session, cancel: Cancel) -> Drawn:
            return drawn(session, key, edits, documents, cancel)

        self.host.ask_latest(self, job, Pictured)

    @on(Pictured)
    def _show(self, event: Pictured) -> None:
        event.stop()
        self._drawn = event.what
        self.revision = event.what.stored.revision
        self._chosen = min(self._chosen, max(len(self._shown) - 1, 0))
        self._draw()
        self.refresh_bindings()

    @property
    def _shown(self) -> tuple[PictureView, ...]:
        """The pictures under the trial where there is one, else as stored."""
        if self._drawn is None:
            return ()
        return (self._drawn.tried or self._drawn.stored).pictures

    def _exhibit(self, at: int) -> Exhibit:
        picture = self._shown[at]
        cursor = self._looks.cursors.get(at)
        if cursor is None and picture.figure.kind is FigureKind.CURVE:
            cursor = picture.up if runs_up(picture.figure) else picture.across
            if cursor is None:
                places = stops(picture.figure)
                cursor = places[len(places) // 2] if places else None
        close = self._looks.close.get(at, worth_closer(picture))
        return Exhibit(picture, self._before(picture), cursor, close)

    def _before(self, picture: PictureView) -> PictureView | None:
        if self._drawn is None or self._drawn.tried is None:
            return None
        name = (picture.check, picture.figure.key)
        return next(
            (
                each
                for each in self._drawn.stored.pictures
                if (each.check, each.figure.key) == name and each.figure != picture.figure
            ),
            None,
        )

    def _draw(self) -> None:
        self.pane.draw(self._lay)

    def _lay(self, width: int, height: int) -> list[Line]:
        face = self.host.face
        if self._drawn is None:
            return []
        paper = Paper(width, face)
        if self._drawn.why:
            paper.text(f"The trial is not drawn: {self._drawn.why}", "bad")
        elif self._drawn.tried is not None:
            paper.text("The trial is drawn; what is stored is dotted.", "quiet")
        if not self._shown:
            paper.text(f"No picture: {self._drawn.stored.why_none}.", "quiet")
            return paper.lines
        grid = grid_for(len(self._shown), width, height - len(paper.lines))
        exhibits = [self._exhibit(at) for at in range(len(self._shown))]
        return [*paper.lines, *gallery_lines(exhibits, self._chosen, grid, face)]

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        name = action.partition("(")[0]
        if name in ("turn", "leaf", "check", "move", "closer", "now") and not self._shown:
            return "there is no picture"
        curve = bool(self._shown) and (self._shown[self._chosen].figure.kind is FigureKind.CURVE)
        return "" if curve or name not in ("move", "closer", "now") else "it is a sketch"

    def action_move(self, step: int) -> None:
        """Move the cursor along the curves."""
        if not self.allowed("move"):
            return
        exhibit = self._exhibit(self._chosen)
        places = stops(exhibit.picture.figure)
        if not places or exhibit.cursor is None:
            return
        if step > 0:
            at = bisect_right(places, exhibit.cursor) - 1 + step
        else:
            at = bisect_left(places, exhibit.cursor) + step
        self._looks.cursors[self._chosen] = places[min(max(at, 0), len(places) - 1)]
        self._draw()

    def action_now(self) -> None:
        """Move the cursor to the present point."""
        self._looks.cursors.pop(self._chosen, None)
        self._draw()

    def action_closer(self) -> None:
        """Let the first curve alone make the scales, or all of them."""
        if self.allowed("closer"):
            self._looks.close[self._chosen] = not self._exhibit(self._chosen).close
            self._draw()

    def action_turn(self, step: int) -> None:
        """Go to the next picture, or the one before."""
        if self.allowed("turn"):
            self._chosen = (self._chosen + step) % len(self._shown)
            self._draw()
            self.refresh_bindings()

    def action_leaf(self, step: int) -> None:
        """Go to the next pictures that fit, or those before."""
        if self.allowed("leaf"):
            grid = grid_for(len(self._shown), *self.pane.room)
            goal = self._chosen + step * grid.size
            self._chosen = min(max(goal, 0), len(self._shown) - 1)
            self._draw()
            self.refresh_bindings()

    def action_check(self) -> None:
        """Open the check that draws the picture."""
        if self.allowed("check"):
            self.host.open_item(self._shown[self._chosen].check)

    @on(Pane.Pressed)
    def _pointed(self, event: Pane.Pressed) -> None:
        """Choose a picture, and the place to read it at."""
        event.stop()
        if not self._shown:
            return
        width, height = self.pane.room
        told = int(self._drawn is not None and bool(self._drawn.tried or self._drawn.why))
        grid = grid_for(len(self._shown), width, height - told)
        place, column, row = grid.at(event.column, event.row - told)
        at = self._chosen // grid.size * grid.size + place
        if at >= len(self._shown):
            return
        self._chosen = at
        exhibit = self._exhibit(at)
        if exhibit.picture.figure.kind is FigureKind.CURVE:
            below = int(bool(exhibit.picture.bands))
            size = (grid.width, grid.height - 1 - below)
            value = value_under(exhibit.plot, size, (column, row - 1), self.host.face)
            if value is not None:
                self._looks.cursors[at] = value
        self._draw()
        self.refresh_bindings()
