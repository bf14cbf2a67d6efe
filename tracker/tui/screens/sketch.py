"""The corner as a sketch: a point is moved with the arrow keys, and everything follows."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.message import Message

from tracker.evaluate.engine import Cancel
from tracker.services.pictures.views import CornerView, PointView
from tracker.services.session import Session
from tracker.tui.layout.corner import CornerLook, corner_lines, corner_under
from tracker.tui.layout.paper import Line, Paper
from tracker.tui.nudging import STEPS, Asked, Cornered, draw_corner, nudged, typed_at
from tracker.tui.screens.picture import PicturePage
from tracker.tui.widgets.pane import Pane

__all__ = ["SketchScreen"]

Point = tuple[float, float, float]


class Sketched(Message):
    """The corner has been drawn."""

    def __init__(self, what: Cornered) -> None:
        super().__init__()
        self.what = what


class SketchScreen(PicturePage):
    """A corner's views, its points, and the curves that follow them.

    Parameters
    ----------
    key : str
        The item the corner has to do with.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "nudge('up', 1)", "move the point", key_display="arrows"),
        Binding("down", "nudge('up', -1)", "move down", show=False),
        Binding("left", "nudge('across', -1)", "move left", show=False),
        Binding("right", "nudge('across', 1)", "move right", show=False),
        Binding("plus,equals_sign", "step(1)", "longer steps", show=False),
        Binding("minus", "step(-1)", "shorter steps", show=False),
        Binding("space", "view(1)", "next view"),
        Binding("tab", "point(1)", "next point"),
        Binding("shift+tab", "point(-1)", "point before", show=False),
        Binding("full_stop", "follow(1)", "next curves"),
        Binding("comma", "follow(-1)", "curves before", show=False),
        Binding("home", "put_back", "put the point back", show=False),
        Binding("enter", "go_to_trial", "to the trial"),
    ]

    def __init__(self, key: str) -> None:
        super().__init__()
        self.key = key
        self._what: Cornered | None = None
        self._chosen = ""
        self._moved: dict[str, Point] = {}
        self._view = 0
        self._step = STEPS.index(1.0)
        self._follower = 0
        self._way = 1
        self._tries = 0

    def name_of_page(self) -> str:
        """Return what the title line calls the page."""
        return f"Corner around {self.key}"

    def freshen(self) -> None:
        """Draw again when the trial was changed elsewhere, too."""
        if self.revision == self.host.where.revision:
            self._moved.clear()
            self.load()
        super().freshen()

    def load(self) -> None:
        """Ask for the corner, with the trial as it is now."""
        trial = self.host.trial
        asked = Asked(
            key=self.key,
            show=(self._following(),) if self._following() else (),
            edits=trial.edits,
            documents=trial.documents,
            held=self._what,
        )

        def job(session: Session, cancel: Cancel) -> Cornered:
            return draw_corner(session, asked, cancel)

        self.host.ask_latest(self, job, Sketched)

    def _following(self) -> str:
        followers = self._what.stored.followers if self._what else ()
        return followers[self._follower % len(followers)][0] if followers else ""

    @on(Sketched)
    def _show(self, event: Sketched) -> None:
        event.stop()
        what = self._what = event.what
        self.revision = what.stored.revision
        if not self._chosen:
            self._chosen = self._first(what.stored)
        self._take_trial(what)
        self._draw()
        self.refresh_bindings()
        if (
            self._following()
            and not what.stored.curves
            and self._tries < len(what.stored.followers)
        ):
            self._tries += 1  # this one draws no curve: look at the next
            self._follower += self._way if what.show else 0
            self.load()

    def _first(self, view: CornerView) -> str:
        """Return the point to begin with: the item itself where it is one that can be moved."""
        movable = [each.key for each in view.points if each.address]
        return self.key if self.key in movable else next(iter(movable), "")

    def _take_trial(self, what: Cornered) -> None:
        """Take up points from where a trial has them already."""
        if what.tried is None:
            return
        for each in what.tried.points:
            self._moved.setdefault(each.key, each.at)

    @property
    def _point(self) -> PointView | None:
        points = self._what.stored.points if self._what else ()
        return next((each for each in points if each.key == self._chosen and each.address), None)

    def _at(self, point: PointView) -> Point:
        return self._moved.get(point.key, point.at)

    def _draw(self) -> None:
        self.pane.draw(self._lay)

    def _lay(self, width: int, height: int) -> list[Line]:
        look, face = self._look, self.host.face
        if look is not None:
            return corner_lines(look, width, height, face)
        paper = Paper(width, face)
        if self._what is not None:
            paper.text(f"No sketch: {self._what.stored.why_none}.", "quiet")
        return paper.lines

    @property
    def _look(self) -> CornerLook | None:
        what, point = self._what, self._point
        if what is None or not what.stored.sketches:
            return None
        return CornerLook(
            stored=what.stored,
            tried=what.tried,
            ripple=what.ripple,
            chosen=point,
            at=self._at(point) if point else (0.0, 0.0, 0.0),
            view=self._view % len(what.stored.sketches),
            step=STEPS[self._step],
            why=what.why,
        )

    def why_not(self, action: str) -> str:
        """Say why an action cannot be done now."""
        name = action.partition("(")[0]
        if self._what is None:
            return "it is still being drawn" if name in _NEEDS_SKETCH else ""
        if name in _NEEDS_SKETCH and not self._what.stored.sketches:
            return "there is no sketch"
        if name in _NEEDS_POINT and self._point is None:
            return "no point here can be moved"
        return ""

    def action_nudge(self, axis: str, sense: int) -> None:
        """Move the point by a step along an axis of the view."""
        point, what = self._point, self._what
        if not self.allowed("nudge") or point is None or what is None:
            return
        figure = what.stored.sketches[self._view % len(what.stored.sketches)]
        name = figure.up.along if axis == "up" else figure.across.along
        self._put(point, nudged(self._at(point), name, sense * STEPS[self._step]))

    def _put(self, point: PointView, at: Point) -> None:
        """Put a point somewhere, in the trial."""
        assert self._what is not None  # noqa: S101 - a point comes from what was drawn
        self._moved[point.key] = at
        settable = self._what.settables.get(point.address)
        if settable is not None:
            own = [each * point.scale for each in at]
            there = (own[0], own[1], own[2])
            typed = settable.now if at == point.at else typed_at(there, point.unit)
            self.host.trial.add(settable, typed)
        self._draw()
        self.load()

    def action_put_back(self) -> None:
        """Put the point back where it is stored."""
        point = self._point
        if self.allowed("put_back") and point is not None:
            self._put(point, point.at)

    def action_step(self, by: int) -> None:
        """Take longer or shorter steps."""
        self._step = min(max(self._step + by, 0), len(STEPS) - 1)
        self._draw()

    def action_view(self, by: int) -> None:
        """Let the arrow keys follow the next view."""
        if self.allowed("view"):
            self._view += by
            self._draw()

    def action_point(self, by: int) -> None:
        """Take the next point that can be moved."""
        if not self.allowed("point") or self._what is None:
            return
        keys = [each.key for each in self._what.stored.points if each.address]
        self._chosen = keys[(keys.index(self._chosen) + by) % len(keys)]
        self._draw()

    def action_follow(self, by: int) -> None:
        """Show the curves of the next check that depends on the points."""
        if self.allowed("follow"):
            self._way, self._tries = by, 0
            self._follower += by
            self.load()

    async def action_go_to_trial(self) -> None:
        """Go to the trial with the point."""
        point = self._point
        if not self.allowed("go_to_trial") or point is None or self._what is None:
            return
        settable = self._what.settables.get(point.address)
        await self.host.open_trial((settable,) if settable else (), point.address)

    @on(Pane.Pressed)
    def _pointed(self, event: Pane.Pressed) -> None:
        """Take the point, and let the arrow keys follow the view, that was clicked."""
        event.stop()
        look = self._look
        if look is None:
            return
        cell = event.column, event.row
        view, key = corner_under(look, self.pane.room, cell, self.host.face)
        if view is None:
            self.action_follow(1)
            return
        self._view = view
        self._chosen = key or self._chosen
        self._draw()


_NEEDS_SKETCH = ("view", "follow", "step", "nudge", "point", "put_back", "go_to_trial")
_NEEDS_POINT = ("nudge", "point", "put_back", "go_to_trial")
