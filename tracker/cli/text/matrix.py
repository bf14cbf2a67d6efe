"""The dependency matrix as text: block by block, what each item needs and what passes."""

from __future__ import annotations

from tracker.cli.page import Cell, Page, Row
from tracker.services.dependency_views import DependencyView, LinkCell

__all__ = ["matrix_text"]


def matrix_text(page: Page, view: DependencyView) -> None:
    """Write the items level by level."""
    page.text(
        f"{len(view.items)} {view.of}s, {len(view.cells)} dependencies; "
        "each level needs only those before it:"
    )
    links: dict[int, list[LinkCell]] = {}
    for cell in view.cells:
        links.setdefault(cell.row, []).append(cell)
    level = -1
    start = 0
    for block in view.blocks:
        if block.level != level:
            level = block.level
            page.heading(f"Level {level}")
        if len(block.keys) > 1:
            page.text(f"{len(block.keys)} that need each other:", indent=2)
        rows: list[Row] = []
        for row in range(start, start + len(block.keys)):
            item = view.items[row]
            needs = ", ".join(_need(view, each) for each in links.get(row, []))
            rows.append([Cell(item.key, "bold"), page.sign(item.sign), needs])
        page.rows(rows, indent=4 if len(block.keys) > 1 else 2, fold=2)
        start += len(block.keys)


def _need(view: DependencyView, link: LinkCell) -> str:
    """Name what is needed, and what passes."""
    key = view.items[link.column].key
    count = len(link.quantities)
    parts = [f"{count} value{'' if count == 1 else 's'}"] if count else []
    parts += ["rests on it"] if link.rests_on else []
    return f"{key} ({', '.join(parts)})"
