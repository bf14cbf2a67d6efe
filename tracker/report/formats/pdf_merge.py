"""Parts of a document, each a PDF of its own, put together into one.

Pages, tags, named destinations and page labels of the parts become those of the whole (ISO 32000-2,
7.7.3, 14.7, 12.3.2.4 and 12.4.2). A link to `#name` becomes a jump to the destination of that name,
whichever part holds it.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from tracker.report.formats.pdf_tags import add_tags

if TYPE_CHECKING:
    from pikepdf import Dictionary, Pdf

__all__ = ["Volume"]


class Volume:
    """A growing document: the parts of the body first, what leads them in at the end."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []
        self._places: dict[str, tuple[int, list[Any]]] = {}
        self.pages = 0

    def add(self, data: bytes) -> None:
        """Take the next part of the body."""
        import pikepdf

        with pikepdf.open(io.BytesIO(data)) as part:
            numbers = {page.objgen: place for place, page in enumerate(part.pages, self.pages)}
            for name, target in _named(part):
                where = [float(each) for each in (target[2], target[3])]
                self._places[name] = numbers[target[0].objgen], where
        self.pages += len(numbers)
        self._parts.append(data)

    def page_of(self, name: str) -> int:
        """Return the number of the page that holds a named place."""
        return self._places[name][0] + 1

    def bound(self, front: bytes, outline: Sequence[tuple[int, str, str]]) -> bytes:
        """Put the front before the body and return the whole.

        Parameters
        ----------
        front : bytes
            What leads in, a PDF too.
        outline : sequence of (level, title, name)
            Entries of the outline in reading order, 1 the highest level.
        """
        import pikepdf

        with pikepdf.open(io.BytesIO(front)) as whole:
            lead = len(whole.pages)
            for number, data in enumerate(self._parts, 1):
                with pikepdf.open(io.BytesIO(data)) as part:
                    add_tags(whole, part, f"p{number}-")
            self._finish(whole, lead, outline)
            held = io.BytesIO()
            whole.save(
                held,
                deterministic_id=True,
                object_stream_mode=pikepdf.ObjectStreamMode.generate,
            )
        return held.getvalue()

    def _finish(self, whole: Pdf, lead: int, outline: Sequence[tuple[int, str, str]]) -> None:
        """Make destinations, links, outline and page labels those of the whole."""
        from pikepdf import Array, Dictionary, Name, String

        pages = [page.obj for page in whole.pages]
        targets = {
            name: Array([pages[lead + page], Name.XYZ, *where, 0])
            for name, (page, where) in self._places.items()
        }
        names = [each for name in sorted(targets) for each in (String(name), targets[name])]
        whole.Root.Names = Dictionary(Dests=Dictionary(Names=Array(names)))
        for page in pages:
            _jump(page, targets)
        labels = [0, Dictionary(S=Name.r), lead, Dictionary(S=Name.D)]
        whole.Root.PageLabels = Dictionary(Nums=Array(labels))
        if "/StructTreeRoot" in whole.Root:
            whole.Root.MarkInfo = Dictionary(Marked=True)
        _set_outline(whole, [(level, title, targets[name]) for level, title, name in outline])


def _named(part: Pdf) -> Iterator[tuple[str, Any]]:
    """Yield the named destinations of a part; the typesetter writes them as one flat list."""
    root: Any = part.Root
    names = root.Names.Dests.Names if "/Names" in root else []
    for place in range(0, len(names), 2):
        yield str(names[place]), names[place + 1]


def _jump(page: Dictionary, targets: dict[str, Any]) -> None:
    from pikepdf import Name, String

    annotations: Any = page.get("/Annots", [])
    for annotation in annotations:
        name = str(annotation.A.URI).removeprefix("#")
        if name in targets:
            del annotation[Name.A]
            annotation[Name.Dest] = String(name)


def _set_outline(whole: Pdf, entries: Sequence[tuple[int, str, Any]]) -> None:
    from pikepdf import Name, OutlineItem

    if Name.Outlines in whole.Root:
        del whole.Root[Name.Outlines]
    with whole.open_outline() as outline:
        above = [outline.root]
        for level, title, target in entries:
            item = OutlineItem(title, target)
            del above[level:]
            above[level - 1].append(item)
            above.append(item.children)
