"""A corner with one of its points being moved: its views, the curves that follow, what it does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.contract.figure import Figure
from tracker.services.change_views import Ripple
from tracker.services.pictures.views import CornerView, PictureView, PointView
from tracker.tui.face import Face
from tracker.tui.layout.curves import runs_up, worth_closer
from tracker.tui.layout.gallery import Exhibit, exhibit_lines
from tracker.tui.layout.paper import Line, Span, tone_of
from tracker.tui.layout.ripple import ripple_words
from tracker.tui.layout.sketch import Sketch, Spot, extent_of, sketch_lines, spot_under
from tracker.tui.layout.tiles import beside
from tracker.tui.nudging import along

__all__ = ["CornerLook", "corner_lines", "corner_under"]

_GAP = 2
_WIDE, _HIGH = 110, 34
_VIEWS = 3
_CURVE_WIDTH = 56
Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerLook:
    """What to lay out.

    Parameters
    ----------
    stored, tried : CornerView
        The corner as stored, and under the trial where something is tried.
    chosen : PointView or None
        The point being moved.
    at : tuple of float
        Where it is now, ahead of what has been worked out.
    view : int
        The view whose axes the arrow keys follow.
    step : float
        How far a key moves it.
    first : int
        The first curve to show.
    why : str
        Why the trial is not drawn.
    """

    stored: CornerView
    tried: CornerView | None
    ripple: Ripple | None
    chosen: PointView | None
    at: Point
    view: int
    step: float
    first: int = 0
    why: str = ""

    @property
    def now(self) -> CornerView:
        """What is drawn."""
        return self.tried or self.stored


def corner_lines(look: CornerLook, width: int, height: int, face: Face) -> list[Line]:
    """Lay out a corner: all views where there is room for them, else the one being moved in."""
    told = _told(look, width, face)
    room = height - len(told)
    tiles = _tiles(look, width, room)
    blocks = [_view(look, at, tiles.width, tiles.height, face) for at in tiles.views]
    if tiles.curves_below:
        views = beside(blocks, tiles.width)
        views += [Line()] * (tiles.height - len(views))
        drawn = [*views, *_curves(look, width, room - tiles.height, face)]
    else:
        curve = _curve(look, look.first, width - _GAP - tiles.width, room, face)
        drawn = _unequal(blocks[0], tiles.width, curve)
    return [*drawn[:room], *[Line()] * (room - len(drawn)), *told]


@dataclass(frozen=True, slots=True)
class _Tiles:
    """Which views stand side by side, how wide and how high each is.

    Parameters
    ----------
    curves_below : bool
        Whether the curves are below them; beside them when not.
    """

    views: range
    width: int
    height: int
    curves_below: bool = False


def _tiles(look: CornerLook, width: int, room: int) -> _Tiles:
    if width < _WIDE or room < _HIGH:
        return _Tiles(range(look.view, look.view + 1), (width - _GAP) * 11 // 20, room)
    count = min(len(look.now.sketches), _VIEWS)
    first = max(look.view - _VIEWS + 1, 0)
    each = (width - _GAP * (count - 1)) // count
    return _Tiles(range(first, first + count), each, room * 11 // 20, curves_below=True)


def corner_under(
    look: CornerLook, size: tuple[int, int], cell: tuple[int, int], face: Face
) -> tuple[int | None, str]:
    """Return the view that a cell is in, and the point that can be moved there.

    Parameters
    ----------
    size : tuple of int
        Width and height the corner is laid out for.
    cell : tuple of int
        Column and row in it.
    """
    width, height = size
    tiles = _tiles(look, width, height - len(_told(look, width, face)))
    number, column = divmod(cell[0], tiles.width + _GAP)
    if number >= len(tiles.views) or cell[1] >= tiles.height:
        return None, ""
    view = tiles.views[number]
    sketch, room = _sketch(look, view), (tiles.width, tiles.height - 1)
    return view, spot_under(sketch, room, (column, cell[1] - 1), face)


def _unequal(left: Sequence[Line], width: int, right: Sequence[Line]) -> list[Line]:
    rows = max(len(left), len(right))
    padded = [*left, *[Line()] * (rows - len(left))]
    others = [*right, *[Line()] * (rows - len(right))]
    gap = Span(" " * _GAP)
    return [
        Line((*beside([[one]], width)[0].spans, gap, *other.spans))
        for one, other in zip(padded, others, strict=True)
    ]


def _view(look: CornerLook, at: int, width: int, height: int, face: Face) -> list[Line]:
    sketch = _sketch(look, at)
    chosen = at == look.view
    marker = face.marker if chosen else " "
    title = face.clip(f"{marker} {at + 1}/{len(look.now.sketches)} {sketch.figure.title}", width)
    return [
        Line((Span(title, "head" if chosen else "strong"),)),
        *sketch_lines(sketch, width, height - 1, face),
    ]


def _sketch(look: CornerLook, at: int) -> Sketch:
    figure = look.now.sketches[at]
    stored = look.stored.sketches[at] if at < len(look.stored.sketches) else figure
    return Sketch(
        figure,
        before=stored if look.tried is not None else None,
        spots=_spots(look, figure),
        extent=_both(stored, figure),
    )


def _both(one: Figure, other: Figure) -> tuple[float, float, float, float] | None:
    """Return what holds two figures."""
    ends = [each for each in map(extent_of, (one, other)) if each is not None]
    if not ends:
        return None
    left, right, bottom, top = zip(*ends, strict=True)
    return min(left), max(right), min(bottom), max(top)


def _spots(look: CornerLook, figure: Figure) -> tuple[Spot, ...]:
    spots = []
    tried = {each.key: each.at for each in look.now.points}
    for point in look.stored.points:
        chosen = look.chosen is not None and point.key == look.chosen.key
        if point.address:
            at = look.at if chosen else tried.get(point.key, point.at)
            (one, first), (other, second) = along(figure.across.along), along(figure.up.along)
            spots.append(Spot(first * at[one], second * at[other], point.key, chosen=chosen))
    return tuple(spots)


def _curves(look: CornerLook, width: int, height: int, face: Face) -> list[Line]:
    count = max(min((width + _GAP) // (_CURVE_WIDTH + _GAP), len(look.now.curves)), 1)
    each = (width - _GAP * (count - 1)) // count
    blocks = [_curve(look, look.first + number, each, height - 1, face) for number in range(count)]
    return [Line(), *beside(blocks, each)]


def _curve(look: CornerLook, at: int, width: int, height: int, face: Face) -> list[Line]:
    if not look.now.curves:
        text = face.clip("no curve to show here", width)
        return [Line((Span(text, "quiet"),))]
    picture = look.now.curves[at % len(look.now.curves)]
    before = None if look.tried is None else _stored(look, picture)
    cursor = picture.up if runs_up(picture.figure) else picture.across
    exhibit = Exhibit(picture, before, cursor, worth_closer(picture))
    return exhibit_lines(exhibit, f"{picture.check}: ", width, height, face, chosen=False)


def _stored(look: CornerLook, picture: PictureView) -> PictureView | None:
    name = (picture.check, picture.figure.key)
    found = (each for each in look.stored.curves if (each.check, each.figure.key) == name)
    return next(found, None)


def _told(look: CornerLook, width: int, face: Face) -> list[Line]:
    """Tell which point is where, what the keys do, and what moving it does."""
    point = look.chosen
    if point is None:
        text = "; ".join(dict.fromkeys(each.why_not for each in look.stored.points))
        return [_line(f"No point here can be moved: {text}", "quiet", width, face)]
    x, y, z = look.at
    place = f"{point.key}  x {x:.6g}  y {y:.6g}  z {z:.6g}"
    moved = [
        f"{axis} {new - old:+.6g}"
        for axis, new, old in zip("xyz", look.at, point.at, strict=True)
        if new != old
    ]
    if moved:
        place += f"   ({', '.join(moved)} from stored)"
    figure = look.now.sketches[look.view]
    keys = (
        f"step {look.step:g} {figure.up.unit}   up/down: {figure.up.title}   "
        f"left/right: {figure.across.title}"
    )
    return [
        _line(f"{place}   {point.title}", "near", width, face),
        _line(keys, "quiet", width, face),
        *_done(look, width, face),
    ]


def _done(look: CornerLook, width: int, face: Face) -> list[Line]:
    """Tell what the trial does: to decisions, and to the finding it moves most."""
    if look.why:
        return [_line(f"Not worked out: {look.why}", "bad", width, face), Line()]
    if look.ripple is None:
        return [_line("Nothing is tried: this is what is stored.", "quiet", width, face), Line()]
    words = ripple_words(look.ripple) or "no decision changes its standing or its ground"
    bad = bool(look.ripple.broken)
    lines = [_line(f"The trial: {words}", "bad" if bad else "strong", width, face)]
    worst = next((each.after for each in look.ripple.findings if each.after is not None), None)
    if worst is None:
        return [*lines, Line()]
    text = f"{worst.judge} {worst.text} {worst.unit} {worst.distance_text}: {worst.statement}"
    sign = face.sign(worst.verdict)
    return [
        *lines,
        Line(
            (
                Span(sign + "  ", tone_of(worst.verdict)),
                Span(face.clip(text, max(width - len(sign) - 2, 0))),
            )
        ),
    ]


def _line(text: str, tone: str, width: int, face: Face) -> Line:
    return Line((Span(face.clip(text, width), tone),))
