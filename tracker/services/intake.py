"""Items described by plain documents into journal entries: the one door for new and amended items.

A document is a JSON object with `kind` and `key`; references are keys, values are texts with units
or JSON numbers. What `export` writes is what this reads. Everything wrong is reported at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from tracker.errors import (
    BadKeyError,
    BadValueError,
    DecisionError,
    DuplicateKeyError,
    InputError,
    ManyProblemsError,
)
from tracker.model.address import check_key
from tracker.model.changes import Entry
from tracker.model.records import RECORD_TYPES, Decision, DecisionState, Record, kind_of
from tracker.services.builders import BUILDERS, Builder
from tracker.services.documents import document_of
from tracker.services.session import Reading

__all__ = ["Document", "amend_entries", "intake_entries"]

Document = Mapping[str, Any]
_ORDER = tuple(RECORD_TYPES)


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
    return tuple(Entry(None, builder.built[each]) for each, _, _ in accepted)


def amend_entries(reading: Reading, key: str, fields: Mapping[str, Any]) -> tuple[Entry, ...]:
    """Turn new fields of an existing item into an entry; fields not named stay.

    Raises
    ------
    InputError
        There is no such item, or a field does not fit.
    """
    before = reading.programme.find(check_key(key))
    if before is None:
        raise BadKeyError(f"nothing is called {key!r}", remedy="Add it first")
    for fixed in ("kind", "type", "unit", "choices", "columns"):
        held = document_of(reading.programme, before).get(fixed)
        if fixed in fields and fields[fixed] != held:
            raise BadValueError(
                f"the {fixed} of an item stays as it was made",
                item=key,
                field=fixed,
                remedy="Add a new item and withdraw this one",
            )
    document = {**document_of(reading.programme, before), **fields}
    builder = Builder(reading)
    builder.reserve(str(document.get("key", key)), before.id)
    after = BUILDERS[kind_of(before)](builder, document)
    _refuse_settled(before, after)
    return (Entry(before, after),)


def _refuse_settled(before: Record, after: Record) -> None:
    if not isinstance(before, Decision) or not isinstance(after, Decision):
        return
    if before.state is DecisionState.SETTLED and before.options != after.options:
        raise DecisionError(
            "the decision is settled", item=before.key, remedy=f"Reopen {before.key} first"
        )


def _claim(builder: Builder, reading: Reading, document: Document) -> str:
    """Reserve the key of a new item and return its id."""
    kind, key = document.get("kind"), document.get("key")
    if kind not in _ORDER:
        raise BadValueError(
            f"{str(kind)[:40]!r} is no kind of item",
            item=str(key)[:80],
            field="kind",
            remedy="Kinds: " + ", ".join(_ORDER),
        )
    check_key(str(key), field="key")
    if builder.reserved(str(key)) or reading.programme.find(str(key)):
        raise DuplicateKeyError(
            "the key is taken", item=str(key), field="key", remedy="Choose another key"
        )
    return builder.reserve(str(key), reading.tools.ids())


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
