"""An item between what it hangs on and what hangs on it."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len

from tracker.services.pictures.neighbourhood import NodeView
from tracker.services.views import ItemPage
from tracker.services.wording import SIGNS
from tracker.tui.face import Face
from tracker.tui.layout.paper import Cell, Fixed, Line, Paper, Span, row, tone_of

__all__ = ["middle_lines", "side_lines"]

_ONE_LINE = 50
_INDENT = 2


def side_lines(
    heading: str, nodes: Sequence[NodeView], width: int, face: Face, *, cut: bool = False
) -> Fixed:
    """Lay out one side: each neighbour with its sign or value, and what it is to the one before it.

    Parameters
    ----------
    heading : str
        Stands above.
    cut : bool
        Whether there are more than are shown.
    """
    lines = [Line((Span(face.clip(heading, width), "head"),))]
    for node in nodes:
        lines += _node(node, width, face)
    if not nodes:
        lines.append(Line((Span(face.clip("nothing", width), "quiet"),)))
    if cut:
        lines.append(Line((Span(face.clip("and more than can be shown here", width), "quiet"),)))
    return Fixed(lines)


def _node(node: NodeView, width: int, face: Face) -> list[Line]:
    link = node.link
    indent = " " * (_INDENT * (node.depth - 1))
    symbol = face.symbol(link.text) or ("+" if face.ascii_only else "·")
    lead = f"{indent}{symbol} "
    moved = f" {face.symbol('shifted')}" if node.shifted else ""
    again = " ^" if node.again else ""
    value = "" if link.text in SIGNS else link.text
    tone = tone_of(link.text)
    room = width - cell_len(lead)
    if width >= _ONE_LINE:
        key = max(room * 3 // 10, 1)
        shown = max(room * 3 // 10, 1)
        rest = max(room - key - shown, 0)
        text = value or link.title
        line = row(
            face,
            Cell(link.key + moved + again, key - 1, "key"),
            Cell("", 1),
            Cell(text, shown - 1),
            Cell("", 1),
            Cell(link.role, rest, "quiet"),
        )
        return [Line((Span(lead, tone), *line.spans), link.key)]
    name = face.clip(f"{link.key}{moved}{again}  ", room)
    first = Line(
        (
            Span(lead, tone),
            Span(name, "key"),
            Span(face.clip(value, room - cell_len(name))),
        ),
        link.key,
    )
    role = " " * cell_len(lead) + face.clip(link.role, room)
    return [first, Line((Span(role, "quiet"),))]


def middle_lines(page: ItemPage, trail: Sequence[str], depth: int, width: int, face: Face) -> Fixed:
    """Lay out the item in the middle.

    Parameters
    ----------
    trail : sequence of str
        Keys of the items walked through to get here.
    depth : int
        Steps shown on either side.
    """
    paper = Paper(width, face)
    paper.text(page.kind, "quiet")
    paper.text(page.key, "key")
    if page.sign:
        paper.text(face.sign(page.sign), tone_of(page.sign))
    if page.shifted:
        paper.text(face.sign("shifted"), "moved")
    paper.gap()
    paper.text(page.title, "strong")
    value = dict(page.facts).get("value", "")
    if value:
        paper.text(value)
    for finding in page.findings[:1]:
        paper.text(f"{finding.required}; {finding.distance_text or finding.reason}", "quiet")
    paper.gap()
    paper.text(f"{depth} step{'' if depth == 1 else 's'} shown on either side", "quiet")
    if trail:
        paper.text("walked from " + ", ".join(trail), "quiet")
    return paper.done()
