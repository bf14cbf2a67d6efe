"""The journal over time: a bar for each month, filled by who made the changes, with the gates."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size

from tracker.services.pictures.timeline import GateMark, Month, TimelineView
from tracker.tui.face import Face
from tracker.tui.layout.canvas import Canvas
from tracker.tui.layout.paper import Line, Span

__all__ = ["TimelineLook", "authors_of", "month_under", "months_of", "timeline_lines"]

_FILLS = ("█▓▒░▚▞▤▥", "#=+o%x*~")
_TONES = ("key", "head", "moved", "open", "good", "near", "strong", "quiet")
_LEAST, _WIDEST = 2, 6
_LEAST_ROWS = 3
_SCALE = 5
_GATE_ROWS = 2
_FOOT = 3  # axis, months, years
_YEAR = len("2026")


@dataclass(frozen=True, slots=True)
class TimelineLook:
    """What to lay out.

    Parameters
    ----------
    months : sequence of str
        All months shown, without a gap.
    at : int
        The month at the cursor.
    """

    view: TimelineView
    months: Sequence[str]
    at: int


def months_of(view: TimelineView) -> list[str]:
    """Return every month from the first change or gate to the last."""
    known = [each.month for each in view.months] + [each.date[:7] for each in view.gates]
    if not known:
        return []
    (year, month), end = map(int, min(known).split("-")), max(known)
    found = [min(known)]
    while found[-1] < end:
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)  # noqa: PLR2004 - December
        found.append(f"{year:04d}-{month:02d}")
    return found


def authors_of(view: TimelineView) -> list[tuple[str, int]]:
    """Return who made how many changes, most first."""
    counts: dict[str, int] = {}
    for month in view.months:
        for name, count in month.authors:
            counts[name] = counts.get(name, 0) + count
    return sorted(counts.items(), key=lambda each: (-each[1], each[0]))


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where months stand: `first` is the leftmost one shown, each takes `size` cells."""

    first: int
    size: int
    shown: int

    def start(self, at: int) -> int:
        return (at - self.first) * self.size


def _frame(look: TimelineLook, width: int) -> _Frame:
    room = max(width - _SCALE, 1)
    size = min(max(room // max(len(look.months), 1), _LEAST), _WIDEST)
    shown = max(room // size, 1)
    first = min(max(look.at - shown // 2, 0), max(len(look.months) - shown, 0))
    return _Frame(first, size, min(shown, len(look.months)))


def month_under(look: TimelineLook, width: int, column: int) -> int | None:
    """Return the month a column of the picture belongs to."""
    frame = _frame(look, width)
    at = frame.first + (column - _SCALE) // frame.size
    return (
        at if column >= _SCALE and at < min(frame.first + frame.shown, len(look.months)) else None
    )


def timeline_lines(look: TimelineLook, width: int, height: int, face: Face) -> list[Line]:
    """Lay out the timeline.

    Returns
    -------
    list of Line
        Who made the changes, the bars with their scale, the months and years, and the gates.
    """
    if not look.months:
        return [
            Line((Span(face.clip("The journal is empty and no gate has a date.", width), "quiet"),))
        ]
    frame = _frame(look, width)
    rows = max(height - 1 - _FOOT - _GATE_ROWS, _LEAST_ROWS)
    return [
        _legend(look.view, width, face),
        *_bars(look, frame, rows, face),
        *_foot(look, frame, face),
        *_gates(look, frame, width, face),
    ]


def _fill(number: int, face: Face) -> tuple[str, str]:
    return _FILLS[int(face.ascii_only)][number % len(_TONES)], _TONES[number % len(_TONES)]


def _legend(view: TimelineView, width: int, face: Face) -> Line:
    spans: list[Span] = []
    left = width
    for number, (name, count) in enumerate(authors_of(view)):
        char, tone = _fill(number, face)
        text = face.clip(f"{name} {count}   ", left - 2)
        spans += [Span(char + " ", tone), Span(text)]
        left -= 2 + cell_len(text)
        if left < _SCALE:
            break
    if view.read < view.revision:
        spans.append(Span(face.clip(f"read {view.read} of {view.revision}", max(left, 0)), "quiet"))
    return Line(tuple(spans))


def _bars(look: TimelineLook, frame: _Frame, rows: int, face: Face) -> Iterator[Line]:
    by_month = {each.month: each for each in look.view.months}
    tallest = max((each.count for each in look.view.months), default=1)
    names = [name for name, _ in authors_of(look.view)]
    canvas = Canvas(frame.shown * frame.size, rows, face)
    side, cursor = ("|", ":") if face.ascii_only else ("│", "┊")
    for at in range(frame.first, frame.first + frame.shown):
        start = frame.start(at)
        for each in look.view.gates:
            if each.date[:7] == look.months[at]:
                for row in range(rows):
                    canvas.shade(start, row, cursor, "near")
        if at == look.at:
            for row in range(rows):
                canvas.shade(start + frame.size - 1, row, side, "strong")
        month = by_month.get(look.months[at])
        if month is not None:
            _bar(canvas, month, start, (frame.size, tallest, rows), names, face)
    for row in range(rows):
        label = str(tallest) if row == 0 else ("0" if row == rows - 1 else "")
        yield Line((Span(label.rjust(_SCALE - 1) + side, "quiet"), *canvas.spans(row)))


def _bar(
    canvas: Canvas,
    month: Month,
    start: int,
    size: tuple[int, int, int],
    names: Sequence[str],
    face: Face,
) -> None:
    """Stack who made the changes, each in the rows that its share comes to."""
    wide, tallest, rows = size
    high = max(round(month.count / tallest * rows), 1)
    counts = dict(month.authors)
    owners = [name for name in names for _ in range(counts.get(name, 0))]
    for row in range(high):
        name = owners[min(row * len(owners) // high, len(owners) - 1)]
        char, tone = _fill(names.index(name), face)
        canvas.write(start, rows - 1 - row, char * max(wide - 1, 1), tone)


def _foot(look: TimelineLook, frame: _Frame, face: Face) -> Iterator[Line]:
    line, corner, mark = ("-", "+", "^") if face.ascii_only else ("─", "└", "▲")
    span = range(frame.first, frame.first + frame.shown)
    cells = [line] * (frame.shown * frame.size)
    cells[frame.start(look.at)] = mark
    yield Line((Span(" " * (_SCALE - 1) + corner + "".join(cells), "quiet"),))
    months = "".join(_month(look.months[at], frame.size) for at in span)
    yield Line((Span(" " * _SCALE + months, "quiet"),))
    years, free = "", 0
    for at in span:
        start = frame.start(at)
        if start >= free and (at == frame.first or look.months[at].endswith("-01")):
            years = years.ljust(start) + look.months[at][:_YEAR]
            free = start + _YEAR + 1
    yield Line((Span(" " * _SCALE + years, "quiet"),))


def _month(month: str, size: int) -> str:
    """Write a month below its bar; where bars are narrow, the first of each quarter."""
    number = month[5:]
    return (number if size > _LEAST or int(number) % 3 == 1 else "").ljust(size)


def _gates(look: TimelineLook, frame: _Frame, width: int, face: Face) -> Iterator[Line]:
    """Name the gates below their months, over two lines so that neighbours keep apart."""
    mark = "^" if face.ascii_only else "△"
    rows = [""] * _GATE_ROWS
    for each in look.view.gates:
        at = look.months.index(each.date[:7])
        if not frame.first <= at < frame.first + frame.shown:
            continue
        start = _SCALE + frame.start(at)
        for number, text in enumerate(rows):
            if cell_len(text) < start:
                told = face.clip(f"{mark} {_told(each)}", max(width - start, 0))
                rows[number] = set_cell_size(text, start) + told
                break
    for text in rows:
        yield Line((Span(text, "near"),))


def _told(gate: GateMark) -> str:
    return f"{gate.key} {gate.date} {gate.title}"
