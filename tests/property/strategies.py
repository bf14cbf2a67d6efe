"""Hypothesis strategies for records, values and histories, shared by all tests."""

from __future__ import annotations

import dataclasses
import unicodedata
from fractions import Fraction

from hypothesis import strategies as st

from tracker.model.changes import Draft, Entry
from tracker.model.records import (
    Action,
    Baseline,
    Basis,
    BasisKind,
    Bound,
    CheckUse,
    Decision,
    DecisionState,
    Deviation,
    Evidence,
    Footing,
    Gate,
    Level,
    Literal,
    Option,
    Outcome,
    ProgrammeInfo,
    Quantity,
    Range,
    Record,
    Ref,
    Requirement,
    Review,
    Risk,
    Setting,
    Tolerance,
    ToleranceShape,
    Verification,
)
from tracker.model.units import ONE, Unit
from tracker.model.values import CellKind, Column, Kind

NASTY = (
    "",
    "'; DROP TABLE record; --",
    '"quoted" \\ back\\slash \\u0000',
    "[R-12] stiffness [N/mm] [@click=app.bell]",
    "line\nbreak\r\ttab\x0b\x1b[31m\x7f\x85",
    "\u202eright to left\u2066",
    "\u2028line\u2029paragraph\ufeff",
    "ｅ\u0301\u0341 Ω Å ﬁ",
    "\U0001f9f0\U0010ffff\ue000\uffff",
    "%s %(x)s {0} ${y} ?1 :name",
    "NULL",
    "1e400",
)
"""Texts that upset a program which puts text into SQL, markup, formats or canonical JSON."""

texts = st.sampled_from(NASTY) | st.text(
    st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=40
)
"""Any text that can be stored: no NUL, no lone surrogates."""

ids = st.uuids(version=4).map(lambda each: each.hex)


def _is_key(text: str) -> bool:
    return unicodedata.is_normalized("NFC", text)


keys = st.from_regex(r"[^\W_][\w-]{0,15}", fullmatch=True).filter(_is_key)
"""Keys by the grammar."""

numbers = (
    st.floats(allow_nan=False, allow_infinity=False)
    | st.sampled_from([1e20, 1e21, 1e22, -1e16, 2.0**53, 5e-324, 1e-7, 1.7976931348623157e308])
).map(lambda each: each + 0.0)
"""Finite floats without a negative zero."""

whole_numbers = st.integers(-(2**53) + 1, 2**53 - 1)

units = st.sampled_from(
    [
        ONE,
        Unit("mm", (("length", Fraction(1)),), 0.001),
        Unit("degC", (("temperature", Fraction(1)),), 1.0, 273.15),
        Unit("mm/rev", (("angle", Fraction(-1)), ("length", Fraction(1))), 0.001),
        Unit("V/sqrt(Hz)", (("voltage", Fraction(1)), ("time", Fraction(1, 2)))),
    ]
)

columns = st.builds(Column, texts, st.sampled_from(CellKind), units)

_cells = {
    CellKind.TEXT: texts,
    CellKind.REAL: numbers,
    CellKind.INTEGER: whole_numbers,
    CellKind.FLAG: st.booleans(),
}
_points = st.tuples(numbers, numbers, numbers)


def tables(of: tuple[Column, ...]) -> st.SearchStrategy[tuple[tuple[object, ...], ...]]:
    """Tables of given columns."""
    rows = st.tuples(*(_cells[column.kind] for column in of))
    return st.lists(rows, max_size=4).map(tuple)


values = st.one_of(
    numbers,
    whole_numbers,
    st.booleans(),
    texts,
    _points,
    st.lists(columns, min_size=1, max_size=3).map(tuple).flatmap(tables),
)
"""Values of any kind."""

bases = st.builds(Basis, kind=st.sampled_from(BasisKind), source=texts, dated=texts)
settings = st.builds(Setting, value=st.none() | values, typed=texts, basis=bases, reason=texts)
bounds = st.builds(Bound, value=numbers, typed=texts)
tolerances = st.builds(Tolerance, half_width=numbers, shape=st.sampled_from(ToleranceShape))


def _some(
    each: st.SearchStrategy[str], *, unique: bool = False
) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(each, max_size=3, unique=unique).map(tuple)


infos = st.builds(ProgrammeInfo, id=ids, key=keys, title=texts, currency=texts)
_noted = st.dictionaries(texts, texts, max_size=2)
levels = st.sampled_from(Level)
gates = st.builds(Gate, id=ids, key=keys, title=texts, date=texts, criteria=_noted)
quantities = st.builds(
    Quantity,
    id=ids,
    key=keys,
    title=texts,
    kind=st.sampled_from(Kind),
    unit=units,
    choices=_some(texts),
    columns=st.lists(columns, max_size=3).map(tuple),
    given=st.none() | settings,
    tolerance=st.none() | tolerances,
    low=st.none() | numbers,
    high=st.none() | numbers,
    part_ranges=st.dictionaries(texts, st.builds(Range, low=numbers, high=numbers), max_size=2),
    correlated=st.dictionaries(ids, numbers, max_size=2),
)
requirements = st.builds(
    Requirement,
    id=ids,
    key=keys,
    statement=texts,
    quantity=ids,
    part=texts,
    lower=st.none() | bounds,
    upper=st.none() | bounds,
    target=st.none() | bounds,
    scale=st.none() | bounds,
    guard=numbers,
    allowed=_some(texts),
    source=texts,
    owner=texts,
    verification=st.sampled_from(Verification),
    parents=_some(ids),
    gate=ids | st.just(""),
    rationale=texts,
    priority=st.none() | levels,
    risk=texts,
)
options = st.builds(
    Option,
    id=ids,
    key=keys,
    title=texts,
    notes=texts,
    settings=st.dictionaries(ids, settings, max_size=3),
)
_stood = st.lists(st.none() | numbers | whole_numbers | st.booleans() | texts, max_size=5)
footings = st.builds(
    Footing,
    bands=st.dictionaries(ids, _stood.map(tuple), max_size=2),
    values=st.dictionaries(texts, st.none() | values, max_size=2),
    choices=st.dictionaries(ids, ids | st.just(""), max_size=2),
    checks=st.dictionaries(ids, texts, max_size=2),
)
reviews = st.builds(Review, by=texts, outcome=st.sampled_from(Outcome), reason=texts, on=texts)
decisions = st.builds(
    Decision,
    id=ids,
    key=keys,
    question=texts,
    options=st.lists(options, max_size=3).map(tuple),
    owns=_some(ids),
    serves=_some(ids),
    rests_on=_some(ids),
    state=st.sampled_from(DecisionState),
    chosen=ids | st.just(""),
    rationale=texts,
    against=st.dictionaries(ids, texts, max_size=3),
    owner=texts,
    gate=ids | st.just(""),
    footing=st.none() | footings,
    participants=_some(texts),
    dissent=_noted,
    assumptions=_some(texts),
    superseded_by=ids | st.just(""),
    reviews=st.lists(reviews, max_size=2).map(tuple),
)
checks = st.builds(
    CheckUse,
    id=ids,
    key=keys,
    title=texts,
    plugin=keys,
    decision=ids,
    config=st.dictionaries(texts, texts, max_size=2),
    inputs=st.dictionaries(texts, st.builds(Ref, id=ids, part=texts), max_size=3),
    literals=st.dictionaries(texts, st.builds(Literal, value=values, typed=texts), max_size=2),
    outputs=st.dictionaries(texts, ids, max_size=3),
)

deviations = st.builds(
    Deviation,
    id=ids,
    key=keys,
    requirement=ids,
    reason=texts,
    approver=texts,
    extent=texts,
    expires=ids,
    lower=st.none() | bounds,
    upper=st.none() | bounds,
    consequences=texts,
    decision=ids | st.just(""),
)
actions = st.builds(
    Action,
    id=ids,
    key=keys,
    title=texts,
    owner=texts,
    gate=ids | st.just(""),
    about=_some(ids),
    closed=texts,
    closed_on=texts,
)
evidences = st.builds(
    Evidence,
    id=ids,
    key=keys,
    title=texts,
    place=texts,
    dated=texts,
    about=_some(ids),
    sha256=texts,
    note=texts,
)
risks = st.builds(
    Risk,
    id=ids,
    key=keys,
    title=texts,
    likelihood=levels,
    consequence=levels,
    about=_some(ids),
    owner=texts,
    gate=ids | st.just(""),
    response=texts,
    closed=texts,
)
baselines = st.builds(
    Baseline,
    id=ids,
    key=keys,
    gate=ids,
    revision=whole_numbers,
    head=texts,
    content=texts,
    ready=st.booleans(),
    criteria=_noted,
    versions=_noted,
)

_changing: st.SearchStrategy[Record] = st.one_of(
    *(infos, gates, quantities, requirements, decisions, checks),
    *(deviations, actions, evidences, risks),
)
records: st.SearchStrategy[Record] = _changing | baselines
"""Records of every kind. What they refer to need not exist."""

_BY_TYPE: dict[type[Record], st.SearchStrategy[Record]] = {
    ProgrammeInfo: infos,
    Gate: gates,
    Quantity: quantities,
    Requirement: requirements,
    Decision: decisions,
    CheckUse: checks,
    Deviation: deviations,
    Action: actions,
    Evidence: evidences,
    Risk: risks,
}


@st.composite
def histories(draw: st.DrawFn, *, most: int = 6) -> list[Draft]:
    """Drafts that follow one another from an empty store: records come, change, go, come back.

    Baselines, which neither change nor go, are left out.
    """
    present: dict[str, Record] = {}
    gone: dict[str, Record] = {}
    drafts = []
    for number in range(draw(st.integers(1, most))):
        entries = []
        for _ in range(draw(st.integers(0, 4))):
            entry = draw(_entries(present, gone))
            entries.append(entry)
            if entry.after is None:
                gone[entry.id] = present.pop(entry.id)
            else:
                present[entry.id] = entry.after
                gone.pop(entry.id, None)
        drafts.append(
            Draft(
                author=draw(texts),
                at=f"2031-05-{number + 1:02}T08:00:00Z",
                reason=draw(texts),
                based_on=draw(st.integers(0, number)),
                undoes=draw(st.integers(0, number)),
                entries=tuple(entries),
            )
        )
    return drafts


@st.composite
def _entries(draw: st.DrawFn, present: dict[str, Record], gone: dict[str, Record]) -> Entry:
    taken = {each.key for each in present.values()}
    back = [each for each in gone.values() if each.key not in taken]
    can = ["add", *(["alter", "remove"] if present else []), *(["restore"] if back else [])]
    what = draw(st.sampled_from(can))
    if what == "add":
        known = present.keys() | gone.keys()
        return Entry(
            None,
            draw(_changing.filter(lambda each: each.key not in taken and each.id not in known)),
        )
    if what == "restore":
        return Entry(None, draw(st.sampled_from(back)))
    before = present[draw(st.sampled_from(sorted(present)))]
    if what == "remove":
        return Entry(before, None)
    other = draw(_BY_TYPE[type(before)])
    key = before.key if other.key in taken else other.key
    return Entry(before, dataclasses.replace(other, id=before.id, key=key))
