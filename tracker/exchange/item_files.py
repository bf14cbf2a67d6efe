"""Files of items: JSON in and out.

A file is what `items_text` writes::

    {"format": "whybone-items", "version": 1, "programme": {"title", "currency"},
     "revision", "head", "caution", "items": [{"kind", "key", …}, …]}

or a bare list of items.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from tracker.errors import FileFormatError, InputError, ManyProblemsError, WhyboneError
from tracker.exchange.files import decode
from tracker.exchange.json_text import read_json, write_json
from tracker.model.records import RECORD_TYPES, Baseline, ProgrammeInfo, kind_of
from tracker.services.documents import document_of
from tracker.services.session import Reading
from tracker.services.wording import CAUTION

__all__ = ["FORMAT", "ItemFile", "items_text", "read_items"]

FORMAT = "whybone-items"
_VERSION = 1
_NAMES = {"format", "version", "programme", "revision", "head", "caution", "items"}

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemFile:
    """What a file holds.

    Parameters
    ----------
    documents : tuple of mapping
        Item documents.
    places : tuple of str
        Where each one stands: `line 7`, `item 3`.
    columns : mapping of str to str
        Columns of a table and how the file names them; empty for JSON.
    updates : bool
        Whether the quantities it holds may exist already.
    """

    documents: tuple[Document, ...]
    places: tuple[str, ...]
    columns: Mapping[str, str] = field(default_factory=dict)
    updates: bool = False

    @contextmanager
    def naming_places(self) -> Iterator[None]:
        """Name place and column in every error raised inside a `with` block."""
        try:
            yield
        except ManyProblemsError as several:
            self._locate(several.problems)
            raise
        except InputError as problem:
            self._locate([problem])
            raise

    def _locate(self, problems: Iterable[WhyboneError]) -> None:
        places = {
            str(document.get("key")): place
            for document, place in zip(self.documents, self.places, strict=True)
            if place and isinstance(document, Mapping)
        }
        for problem in problems:
            if problem.item in places:
                problem.item = f"{places[problem.item]}, {problem.item}"
            if problem.field in self.columns:
                problem.field = f"column {self.columns[problem.field]}"


def read_items(data: bytes, name: str, reading: Reading) -> ItemFile:
    """Read a JSON file of items.

    Raises
    ------
    FileFormatError
        It is not such a file, or it counts in another money than the programme.
    """
    found = read_json(decode(data, name), item=name)
    document = {"items": found} if isinstance(found, list) else found
    if not isinstance(document, dict) or not isinstance(document.get("items"), list):
        raise FileFormatError(
            "it holds no items", item=name, field="items", remedy='Write {"items": [{…}, …]}'
        )
    _check_envelope(document, name, reading)
    items = document["items"]
    return ItemFile(
        documents=tuple(items),
        places=tuple(f"item {number}" for number in range(1, len(items) + 1)),
    )


def _check_envelope(document: Mapping[str, Any], name: str, reading: Reading) -> None:
    strangers = sorted(set(document) - _NAMES)
    if strangers:
        raise FileFormatError(
            f"there is no field {strangers[0][:40]!r}", item=name, remedy="Take it out"
        )
    said = document.get("format", FORMAT), document.get("version", _VERSION)
    if said != (FORMAT, _VERSION):
        raise FileFormatError(
            f"it is of format {str(said[0])[:40]}, version {str(said[1])[:40]}",
            item=name,
            field="format",
            remedy=f"This version reads {FORMAT}, version {_VERSION}",
        )
    programme, info = document.get("programme", {}), reading.programme.info
    currency = programme.get("currency") if isinstance(programme, dict) else programme
    if currency is not None and info is not None and currency != info.currency:
        raise FileFormatError(
            f"it counts in {str(currency)[:40]}, this programme in {info.currency}",
            item=name,
            field="programme.currency",
            remedy="Import it into a programme of that money",
        )


def items_text(reading: Reading) -> str:
    """Write a programme's items as JSON, in an order that an import reproduces.

    Baselines stay behind: what they froze is in this journal and no other.
    """
    programme, info = reading.programme, reading.programme.info
    kinds = list(RECORD_TYPES)
    records = sorted(programme, key=lambda each: kinds.index(kind_of(each)))
    items = [
        document_of(programme, each)
        for each in records
        if not isinstance(each, ProgrammeInfo | Baseline)
    ]
    return write_json(
        {
            "format": FORMAT,
            "version": _VERSION,
            "programme": {"title": info.title, "currency": info.currency} if info else {},
            "revision": reading.head.revision,
            "head": reading.head.hash,
            "caution": CAUTION,
            "items": items,
        }
    )
