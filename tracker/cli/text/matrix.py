"""The dependency matrix as text: block by block, what each item needs and what passes."""

from __future__ import annotations

from itertools import groupby

from tracker.cli.page import Cell, Page, Row
from tracker.services.pictures.dependency_views import DependencyView, LinkCell

__all__ = ["matrix_text"]


def matrix_text(page: Page, view: DependencyView) -> None:
    """Write the items level by level: those that stand alone, then those that need each other."""
    page.text(
        f"{len(view.items)} {view.of}s, {len(view.cells)} dependencies; "
        "each level needs only those before it:"
    )
    needs: dict[int, list[str]] = {}
    for cell in view.cells:
        needs.setdefault(cell.row, []).append(_need(view, cell))
    rows: dict[str, Row] = {
        item.key: [Cell(item.key, "bold"), page.sign(item.sign), ", ".join(needs.get(at, []))]
        for at, item in enumerate(view.items)
    }
    for level, found in groupby(view.blocks, key=lambda block: block.level):
        blocks = list(found)
        page.heading(f"Level {level}")
        page.rows([rows[each.keys[0]] for each in blocks if len(each.keys) == 1], fold=2)
        for ring in (each for each in blocks if len(each.keys) > 1):
            page.text(f"{len(ring.keys)} that need each other:", indent=2)
            page.rows([rows[key] for key in ring.keys], indent=4, fold=2)


def _need(view: DependencyView, link: LinkCell) -> str:
    """Name what is needed, and what passes."""
    key = view.items[link.column].key
    count = len(link.quantities)
    parts = [f"{count} value{'' if count == 1 else 's'}"] if count else []
    parts += ["rests on it"] if link.rests_on else []
    return f"{key} ({', '.join(parts)})"
