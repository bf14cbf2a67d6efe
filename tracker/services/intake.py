"""Items described by plain documents into journal entries: the one door for new and amended items.

A document is a JSON object with `kind` and `key`; references are keys, values are texts with units
or JSON numbers. What `export` writes is what this reads. Everything wrong is reported at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from tracker.errors import (
    BadKeyError,
    BadValueError,
    DecisionError,
    DuplicateKeyError,
    InputError,
    ManyProblemsError,
    UnknownKeyError,
)
from tracker.model.address import check_key
from tracker.model.changes import Entry
from tracker.model.gate_rules import check_kept
from tracker.model.records import RECORD_TYPES, Decision, DecisionState, Record, kind_of
from tracker.services.builders import BUILDERS
from tracker.services.building import Builder
from tracker.services.deciding import footing_now
from tracker.services.documents import document_of
from tracker.services.session import Reading

__all__ = ["Document", "amend_entries", "intake_entries"]

Document = Mapping[str, Any]
_ORDER = tuple(RECORD_TYPES)
_MADE = "It stays as it was made: add a new item"
_DECIDED = "Lean, settle, reopen or withdraw it"
_FIXED: Mapping[str, Mapping[str, str]] = {
    "quantity": dict.fromkeys(("kind", "type", "unit", "choices", "columns"), _MADE),
    "decision": {
        "kind": _MADE,
        **dict.fromkeys(("state", "chosen", "rationale", "against"), _DECIDED),
        **dict.fromkeys(("superseded_by", "reviews"), "Supersede or review it"),
    },
}


def intake_entries(
    reading: Reading, documents: Sequence[Document], places: Sequence[str] = ()
) -> tuple[Entry, ...]:
    """Turn documents of new items into entries, all or nothing.

    Parameters
    ----------
    documents : sequence of Document
        In any order; they may refer to each other.
    places : sequence of str, optional
        Where each document came from (`line 3`), named in errors.

    Raises
    ------
    InputError
        One thing is wrong.
    ManyProblemsError
        Several things are wrong; each is named with its item and field.
    """
    builder = Builder(reading)
    problems: list[InputError] = []
    accepted = []
    for number, document in enumerate(documents):
        place = places[number] if places else ""
        try:
            accepted.append((_claim(builder, reading, document), document, place))
        except InputError as problem:
            problems.append(_at(problem, place))
    accepted.sort(key=lambda each: _ORDER.index(str(each[1]["kind"])))
    for _, document, place in accepted:
        _collect(problems, place, _building(builder, document))
    _raise(problems)
    return _footed(reading, tuple(Entry(None, builder.built[each]) for each, _, _ in accepted))


def _footed(reading: Reading, entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Let decisions that come in settled stand on what comes in with them."""
    settled = [
        each.after
        for each in entries
        if isinstance(each.after, Decision) and each.after.state is DecisionState.SETTLED
    ]
    if not settled:
        return entries
    with reading.trying(entries):
        footed = {each.id: replace(each, footing=footing_now(reading, each.id)) for each in settled}
    return tuple(Entry(None, footed.get(each.id, each.record)) for each in entries)


def amend_entries(reading: Reading, key: str, fields: Mapping[str, Any]) -> tuple[Entry, ...]:
    """Turn new fields of an existing item into an entry; fields not named stay.

    Raises
    ------
    InputError
        There is no such item, or a field does not fit.
    """
    before = reading.programme.find(check_key(key))
    if before is None:
        raise UnknownKeyError(f"nothing is called {key!r}", remedy="Add it first")
    check_kept(Entry(before, None))
    held = document_of(reading.programme, before)
    _refuse_fixed(held, fields)
    document = {**held, **_restated(fields)}
    builder = Builder(reading)
    builder.claim(str(document.get("key", key)), before.id, kind_of(before))
    after = BUILDERS[kind_of(before)](builder, document)
    _refuse_settled(before, after)
    return (Entry(before, after),)


def _refuse_fixed(held: Document, fields: Document) -> None:
    for fixed, remedy in _FIXED.get(str(held["kind"]), {"kind": _MADE}).items():
        if fixed in fields and (fields[fixed] or None) != held.get(fixed):
            raise BadValueError(
                f"amending does not change the {fixed} of an item",
                item=str(held["key"]),
                field=fixed,
                remedy=remedy,
            )


def _restated(fields: Document) -> Document:
    """Let a value that becomes known or unknown replace what was stated before.

    An action that is opened again loses its date of closing with it, and evidence at another place
    the hash it had.
    """
    if "closed" in fields and not fields["closed"]:
        return {"closed_on": None, **fields}
    if "place" in fields:
        return {"sha256": None, **fields}
    if fields.get("unknown"):
        return {"value": None, **fields}
    return {"unknown": None, **fields} if "value" in fields else fields


def _refuse_settled(before: Record, after: Record) -> None:
    if not isinstance(before, Decision) or not isinstance(after, Decision):
        return
    if before.state is DecisionState.SETTLED and before.options != after.options:
        raise DecisionError(
            "the decision is settled", item=before.key, remedy=f"Reopen {before.key} first"
        )


def _claim(builder: Builder, reading: Reading, document: Document) -> str:
    """Claim the key of a new item and return its id."""
    if not isinstance(document, Mapping):
        raise BadValueError(
            "an item is an object", remedy='Write {"kind": …, "key": …} and its fields'
        )
    kind, key = document.get("kind"), document.get("key")
    if kind not in _ORDER:
        raise BadValueError(
            f"{str(kind)[:40]!r} is no kind of item",
            item=str(key)[:80],
            field="kind",
            remedy="Kinds: " + ", ".join(_ORDER),
        )
    if not isinstance(key, str):
        raise BadKeyError(f"the {kind} has no key", field="key", remedy="Give it one, as text")
    check_key(key)
    if builder.claimed(key) or reading.programme.find(key):
        raise DuplicateKeyError(
            "the key is taken", item=key, field="key", remedy="Choose another key"
        )
    return builder.claim(key, reading.tools.ids(), str(kind))


def _building(builder: Builder, document: Document) -> Callable[[], Record]:
    def build() -> Record:
        record = BUILDERS[str(document["kind"])](builder, document)
        builder.built[record.id] = record
        return record

    return build


def _collect(problems: list[InputError], place: str, build: Callable[[], Record]) -> None:
    try:
        build()
    except ManyProblemsError as several:
        problems.extend(
            _at(each, place) for each in several.problems if isinstance(each, InputError)
        )
    except InputError as problem:
        problems.append(_at(problem, place))


def _at(problem: InputError, place: str) -> InputError:
    if place:
        problem.item = f"{place}, {problem.item}" if problem.item else place
    return problem


def _raise(problems: Iterable[InputError]) -> None:
    found = list(problems)
    if len(found) == 1:
        raise found[0]
    if found:
        raise ManyProblemsError(list(found))
