"""Rows of the journal and the page of one change."""

from __future__ import annotations

from tracker.services.change_views import JournalLine
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Line, Paper, row

__all__ = ["change_lines", "journal_row", "waiting_row", "when"]

_REVISION, _WHEN, _AUTHOR, _HASH, _LABEL = 7, 18, 14, 9, 14


def when(at: str) -> str:
    """Write a time to the minute."""
    return f"{at[:16].replace('T', ' ')}Z"


def journal_row(line: JournalLine, width: int, face: Face) -> Line:
    """Lay out a change on one line."""
    rest = width - _REVISION - _WHEN - _AUTHOR - _HASH
    reason = rest // 2
    more = f" (and {len(line.what) - 1} more)" if len(line.what) > 1 else ""
    return row(
        face,
        Cell(str(line.revision), _REVISION, "key"),
        Cell(when(line.at), _WHEN, "quiet"),
        Cell(line.author, _AUTHOR - 1),
        Cell("", 1),
        Cell((line.what[0] if line.what else "") + more, rest - reason - 1),
        Cell("", 1),
        Cell(line.reason, reason - 1, "quiet"),
        Cell("", 1),
        Cell(line.hash[: _HASH - 1], _HASH, "quiet"),
        target=str(line.revision),
    )


def waiting_row(revision: int, width: int, face: Face) -> Line:
    """Lay out a change that has not been read yet."""
    cells = Cell(str(revision), _REVISION, "key"), Cell("…", width - _REVISION, "quiet")
    return row(face, *cells, target=str(revision))


def change_lines(line: JournalLine, width: int, face: Face) -> Fixed:
    """Lay out a change's page."""
    paper = Paper(width, face)
    paper.text(f"Change {line.revision}", "key")
    paper.gap()
    paper.labelled("made by", line.author, _LABEL)
    paper.labelled("at", line.at, _LABEL)
    paper.labelled("hash", line.hash, _LABEL)
    if line.undoes:
        paper.labelled("undoes", f"change {line.undoes}", _LABEL)
    paper.head("Why")
    paper.text(line.reason)
    paper.head("What")
    for each in line.what:
        paper.text(each, indent=2)
    return paper.done()
