"""The bytes of the journal: how a change is written down, and how its parts are read back.

An entry is the canonical bytes of `{"after", "before", "kind", "shape"}`. A change's header is the
canonical bytes of everything else about it: revision, the hash before it, author, time, reason,
what it was based on, what it undoes and the SHA-256 of each entry's bytes in order. The SHA-256 of
the header is the change's hash, so the chain covers every byte.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tracker.model.changes import Draft, Entry
from tracker.model.codec import SHAPES, to_plain
from tracker.model.records import Record
from tracker.services.ports import Head
from tracker.store.canonical import canonical_text, parse, parse_at

__all__ = ["Sealed", "decoded", "parse_header", "seal", "seal_header", "unseal"]

_NONE = "null"
_AFTER, _BEFORE = '{"after":', ',"before":'
_FIELDS = {
    "at": str,
    "author": str,
    "based_on": int,
    "entries": list,
    "previous": str,
    "reason": str,
    "revision": int,
    "undoes": int,
}


@dataclass(frozen=True, slots=True)
class Sealed:
    """An entry as the journal holds it.

    Parameters
    ----------
    kind : str
        Record kind.
    shape : int
        Record-shape version of both records.
    id, key : str
        Of the record; the key is the one after, if there is one.
    before, after : str or None
        Canonical text of the record; None where there is none.
    """

    kind: str
    shape: int
    id: str
    key: str
    before: str | None
    after: str | None

    @property
    def body(self) -> bytes:
        """The bytes that are stored and hashed."""
        after, before = self.after or _NONE, self.before or _NONE
        text = f'{_AFTER}{after}{_BEFORE}{before},"kind":"{self.kind}","shape":{self.shape}}}'
        return text.encode()


def seal(entry: Entry) -> Sealed:
    """Bring an entry into the form that is stored.

    Raises
    ------
    BadValueError, BadTextError
        A record cannot be stored.
    """
    kind = entry.kind
    return Sealed(
        kind, SHAPES[kind], entry.id, entry.record.key, _text(entry.before), _text(entry.after)
    )


def _text(record: Record | None) -> str | None:
    return None if record is None else canonical_text(to_plain(record), item=record.key)


def seal_header(draft: Draft, before: Head, digests: Sequence[str]) -> bytes:
    """Write the header of the change that follows a head.

    Raises
    ------
    BadValueError, BadTextError
        Author, time or reason cannot be stored.
    """
    header = {
        "at": draft.at,
        "author": draft.author,
        "based_on": draft.based_on,
        "entries": list(digests),
        "previous": before.hash,
        "reason": draft.reason,
        "revision": before.revision + 1,
        "undoes": draft.undoes,
    }
    return canonical_text(header, item="the change").encode()


def unseal(body: object) -> Sealed:
    """Read an entry's stored bytes.

    Raises
    ------
    ValueError
        They are not exactly what `Sealed.body` writes.
    """
    text = decoded(body)
    after, end = parse_at(text, len(_AFTER))
    begin = end + len(_BEFORE)
    before, stop = parse_at(text, begin)
    frame = parse("{" + text[stop + 1 :])
    names = [_names_of(each) for each in (after, before) if each is not None]
    match frame:
        case {"kind": str(kind), "shape": int(shape)} if kind in SHAPES:
            pass
        case _:
            raise ValueError("not a record of a known kind")
    if len({record_id for record_id, _ in names}) != 1:
        raise ValueError("not one record")
    sealed = Sealed(
        kind,
        shape,
        *names[0],
        None if before is None else text[begin:stop],
        None if after is None else text[len(_AFTER) : end],
    )
    if sealed.body != body:
        raise ValueError("not in the frame of an entry")
    return sealed


def _names_of(plain: object) -> tuple[str, str]:
    """Return id and key."""
    match plain:
        case {"id": str(record_id), "key": str(key)}:
            return record_id, key
    raise ValueError("a record without an id or a key")


def decoded(body: object) -> str:
    """Return the text of stored bytes; ValueError when they are none, or no UTF-8."""
    if isinstance(body, bytes):
        return body.decode()
    raise ValueError("not bytes")


def parse_header(text: str) -> dict[str, Any]:
    """Read a change's header.

    Raises
    ------
    ValueError
        A field is missing, unknown or of another type.
    """
    header = parse(text)
    if not isinstance(header, dict) or header.keys() != _FIELDS.keys():
        raise ValueError("not the fields of a header")
    wrong = [name for name, kind in _FIELDS.items() if not isinstance(header[name], kind)]
    if wrong:
        raise ValueError(f"{wrong[0]} is not of its type")
    return header
