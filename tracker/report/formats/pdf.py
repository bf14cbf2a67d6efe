"""A document as PDF, typeset with the fonts that come with the typesetter alone.

Every text reaches the typesetter as data, never as markup. Its date is the moment the document
speaks of, and no clock, locale or font of the machine is looked at, so that the bytes are the same
everywhere.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from importlib.resources import files
from typing import Any

from tracker.report.document import Document, Table, sections_of
from tracker.report.formats.pdf_merge import Volume
from tracker.report.formats.pdf_parts import Parts, shared
from tracker.report.formats.pdf_text import flat, one_line

__all__ = ["TAGGED", "pdf"]

TAGGED = 60_000
"""Most table cells of a document whose structure is tagged and whose cells are linked: tags and
links of more take more memory than the pages. HTML has them at any length."""


def pdf(document: Document) -> bytes:
    """Write a document as PDF: outline, contents, page labels; tags and links up to `TAGGED`."""
    bare = _cells(document) > TAGGED
    parts, volume = Parts(document, bare=bare), Volume()
    typesetter = _Typesetter(document, tagged=not bare)
    for blocks in parts.body():
        body = {"front": False, "first": volume.pages + 1, "blocks": blocks}
        volume.add(typesetter.typeset(body))
    front = typesetter.typeset(
        {
            "front": True,
            "blocks": parts.front(),
            "contents": _contents(document, volume),
            "pages": f"{volume.pages} behind the contents",
        }
    )
    outline = [(level, flat(each.title), each.anchor) for level, each in sections_of(document)]
    return volume.bound(front, outline)


def _contents(document: Document, volume: Volume) -> list[dict[str, Any]]:
    return [
        {
            "level": level,
            "title": one_line(section.title),
            "anchor": section.anchor,
            "page": str(volume.page_of(section.anchor)),
        }
        for level, section in sections_of(document)
        if section.listed
    ]


def _cells(document: Document) -> int:
    blocks = (block for _, section in sections_of(document) for block in section.blocks)
    return sum(len(each.rows) * len(each.columns) for each in blocks if isinstance(each, Table))


class _Typesetter:
    """The template with what every part of one document says."""

    def __init__(self, document: Document, *, tagged: bool) -> None:
        self._template = files("tracker.report.formats").joinpath("pdf.typ").read_bytes()
        self._shared = shared(document)
        self._moment = datetime.fromisoformat(document.moment)
        self._tagged = tagged

    def typeset(self, data: Mapping[str, Any]) -> bytes:
        """Typeset one part."""
        import typst

        return typst.compile(
            self._template,
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps({**self._shared, **data}, ensure_ascii=False)},
            timestamp=self._moment,
            pdf_tags=self._tagged,
        )
