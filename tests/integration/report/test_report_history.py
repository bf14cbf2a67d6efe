"""The decision history: what it holds, and every format it is written in."""

from __future__ import annotations

import csv
import io
import json
import shutil
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from prov.model import ProvDocument
from pypdf import PdfReader

from tests.integration.report.reopened import (
    csv_tables,
    json_values,
    sorted_values,
    table_values,
    xlsx_tables,
)
from tests.integration.report.sample import HOSTILE
from tracker.bootstrap import make_programme, open_session, tools
from tracker.errors import InputError, UnknownKeyError, UnknownRevisionError
from tracker.model.records import CheckUse, Decision, Quantity, Requirement
from tracker.report.document import sections_of
from tracker.report.history.content import HistoryContent, history_of
from tracker.report.history.graph import graph
from tracker.report.history.pages import history_document
from tracker.report.history.provenance import provenance
from tracker.report.history.render import WRITERS
from tracker.report.history.scope import Period, area_of, item_scope, period_of, whole
from tracker.services.actions import add_items, amend_item, reopen, set_values, settle, undo
from tracker.services.session import Session
from tracker.services.wording import visible

NASTY = " ".join(
    " ".join(each for each in HOSTILE if visible(each) == each or "\u202e" in each).split()
)[-450:]
"""Hostile text that a record takes: no control characters, one line, not too long."""

ITEMS: list[dict[str, Any]] = [
    {"kind": "gate", "key": "G1", "title": "Concept", "date": "2031-12-01"},
    {"kind": "quantity", "key": "length", "title": "Length", "unit": "mm", "value": "300 mm"},
    {"kind": "quantity", "key": "width", "title": "Width", "unit": "mm"},
    {"kind": "quantity", "key": "area", "title": "Area", "unit": "mm^2"},
    {"kind": "quantity", "key": "other", "title": NASTY, "unit": "mm", "value": "5 mm"},
    {
        "kind": "requirement",
        "key": "AREA",
        "statement": "It must fit",
        "quantity": "area",
        "upper": "40000 mm^2",
        "gate": "G1",
    },
    {
        "kind": "requirement",
        "key": "OTHER",
        "statement": NASTY,
        "quantity": "other",
        "lower": "1 mm",
    },
    {
        "kind": "decision",
        "key": "D-W",
        "question": "How wide?",
        "serves": ["AREA"],
        "options": [
            {"key": "narrow", "title": "Narrow", "settings": {"width": {"value": "100 mm"}}},
            {"key": "wide", "title": NASTY, "settings": {"width": {"value": "200 mm"}}},
        ],
    },
    {"kind": "decision", "key": "D-O", "question": NASTY, "serves": ["OTHER"]},
    {
        "kind": "check",
        "key": "C-A",
        "check": "formula",
        "decision": "D-W",
        "config": {"expression": "l * w", "inputs": "l: mm, w: mm", "unit": "mm^2"},
        "inputs": {"l": "length", "w": "width"},
        "outputs": {"result": "area"},
    },
    {
        "kind": "deviation",
        "key": "DEV",
        "requirement": "OTHER",
        "reason": "for now",
        "approver": "Cas",
        "extent": "half of it",
        "expires": "G1",
    },
    {"kind": "action", "key": "ACT", "title": "Measure it", "about": ["area"]},
]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A programme with a history over five days: ten changes, one of them undone."""
    place = tmp_path_factory.mktemp("history") / "p.db"
    clock = iter(f"2031-03-0{day}T0{hour}:00:00Z" for day in range(1, 8) for hour in range(2))
    with_tools = replace(tools(), clock=lambda: next(clock))
    session = make_programme(place, "Small", "EUR", who="Ann", with_tools=with_tools)
    add_items(session, ITEMS, NASTY)
    settle(session, "D-W", "narrow", NASTY, {"wide": NASTY})
    session.store.close()
    other = open_session(place, "Ben")
    other.tools = replace(other.tools, clock=lambda: next(clock))
    set_values(other, {"length": "310 mm"}, "longer")
    set_values(other, {"other": "6 mm"}, NASTY)
    undo(other)
    reopen(other, "D-W", "once more")
    settle(other, "D-W", "narrow", "still", {"wide": "too large"})
    amend_item(other, "length", {"key": "long"}, "better name")
    other.store.close()
    return place


@pytest.fixture
def session(made: Path, tmp_path: Path) -> Iterator[Session]:
    found = open_session(shutil.copy(made, tmp_path / "p.db"), "Cas")
    yield found
    found.store.close()


@pytest.fixture
def content(session: Session) -> HistoryContent:
    return history_of(session, whole(), period_of(session))


# --- scope and period -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "last", "wanted"),
    [
        ("", "", (1, 9)),
        ("3", "5", (3, 5)),
        ("2031-03-02", "", (3, 9)),
        ("", "2031-03-02", (1, 4)),
        ("2031-03-02", "2031-03-03", (3, 6)),
        ("2031-02-01", "2032-01-01", (1, 9)),
    ],
)
def test_a_period_is_told_by_revisions_or_dates(
    session: Session, first: str, last: str, wanted: tuple[int, int]
) -> None:
    found = period_of(session, first, last)
    assert (found.first, found.last) == wanted


@pytest.mark.parametrize(
    ("first", "last", "error"),
    [
        ("5", "4", InputError),
        ("0", "", InputError),
        ("10", "", InputError),
        ("2033-01-01", "", InputError),
        ("", "2030-01-01", InputError),
        ("2031-02-30", "", InputError),
        ("no-such", "", UnknownRevisionError),
    ],
)
def test_a_period_without_changes_is_refused(
    session: Session, first: str, last: str, error: type[Exception]
) -> None:
    with pytest.raises(error):
        period_of(session, first, last)


@pytest.mark.parametrize(
    ("key", "wanted"),
    [
        ("long", {"long", "area", "C-A", "AREA", "D-W", "ACT"}),
        ("AREA", {"long", "width", "area", "C-A", "AREA", "D-W", "ACT"}),
        ("D-W", {"width", "area", "C-A", "AREA", "D-W", "ACT"}),
        ("OTHER", {"other", "OTHER", "D-O", "DEV"}),
        ("D-O", {"D-O", "OTHER", "DEV"}),
        ("G1", {"G1"}),
    ],
)
def test_an_area_is_what_a_value_comes_from_and_goes_to(
    session: Session, key: str, wanted: set[str]
) -> None:
    scope = area_of(session.programme, key)
    assert {each.key for each in session.programme if scope.holds(each.id)} == wanted


def test_what_nothing_is_called_is_refused(session: Session) -> None:
    for find in (area_of, item_scope):
        with pytest.raises(UnknownKeyError, match="nothing is called 'nobody'"):
            find(session.programme, "nobody")


# --- content --------------------------------------------------------------------------------------


def test_the_whole_history_holds_every_change(content: HistoryContent, session: Session) -> None:
    changes = list(session.store.changes())
    assert [each.revision for each in content.changes] == [each.revision for each in changes]
    for told, change in zip(content.changes, changes, strict=True):
        assert (told.hash, told.at, told.undoes) == (change.hash, change.at, change.undoes)
        assert told.author == change.author
        assert told.reason == visible(change.reason)
        assert [each.item for each in told.items] == [each.record.key for each in change.entries]
    assert [each.key for each in content.items] == ["D-W", "D-O"]
    assert [each.key for each in content.requirements] == ["AREA", "OTHER"]
    assert (content.revision, content.head) == (session.head.revision, session.head.hash)
    assert content.at == changes[-1].at


def test_a_period_shows_its_end_and_what_happened_within(session: Session) -> None:
    found = history_of(session, whole(), Period(3, 4))
    assert [each.revision for each in found.changes] == [3, 4]
    assert found.revision == 4
    decision = found.items[0]
    assert dict(decision.facts)["state"] == "settled"
    assert [each.revision for each in decision.history] == [3]
    assert decision.shifted
    assert [each.what for each in decision.shifts] == ["length"]


def test_one_item_has_its_page_and_its_changes(session: Session) -> None:
    found = history_of(session, item_scope(session.programme, "long"), period_of(session))
    assert [(each.key, each.kind) for each in found.items] == [("long", "quantity")]
    assert [each.revision for each in found.changes] == [2, 4, 9]
    assert found.requirements == ()
    titles = [each.title for _, each in sections_of(history_document(found))]
    assert titles == ["long: Length", "What stands on it", "History", "Changes"]


def test_an_area_leads_with_its_item(session: Session) -> None:
    found = history_of(session, area_of(session.programme, "AREA"), period_of(session))
    assert [each.key for each in found.items] == ["AREA", "D-W"]
    assert [each.key for each in found.requirements] == ["AREA"]
    assert 5 not in [each.revision for each in found.changes]  # it touched `other` alone


# --- formats --------------------------------------------------------------------------------------


def test_data_workbook_and_files_hold_the_same_values(content: HistoryContent) -> None:
    plain = json.loads(WRITERS["history.json"](content))
    assert plain["format"] == "whybone-history"
    book = xlsx_tables(WRITERS["xlsx"](content))
    files = csv_tables(WRITERS["csv.zip"](content))
    assert sorted_values(table_values(book)) == sorted_values(list(json_values(plain)))
    assert [each[:31] for each in files] == list(book)
    changes = list(csv.reader(io.StringIO(WRITERS["csv"](content).decode(), newline="")))
    assert [row[0] for row in changes[1:]] == [
        str(each["revision"]) for each in plain["changes"] for _ in each["items"]
    ]
    assert {(row[-2], row[-1]) for row in changes[1:]} == {(plain["head"], plain["caution"])}


def test_pages_tell_the_same_in_every_format(content: HistoryContent) -> None:
    document = history_document(content)
    titles = [" ".join(visible(each.title).split()) for _, each in sections_of(document)]
    html = WRITERS["html"](content).decode()
    markdown = WRITERS["md"](content).decode()
    reader = PdfReader(io.BytesIO(WRITERS["pdf"](content)))
    assert set(reader.named_destinations) == {each.anchor for _, each in sections_of(document)}
    assert html.count("<section ") == len(titles)
    assert sum(line.startswith("##") for line in markdown.splitlines()) == len(titles) + 1
    assert content.caution in markdown
    assert content.caution in html


@pytest.mark.parametrize("form", WRITERS)
def test_no_hidden_character_is_in_any_format(content: HistoryContent, form: str) -> None:
    data = WRITERS[form](content)
    parts = [data]
    if data.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = [archive.read(each) for each in archive.namelist()]
    for part in parts:
        for hidden in "\u202e\u2066\u200b\u2028":
            assert hidden.encode() not in part
    assert WRITERS[form](content) == data


# --- provenance -----------------------------------------------------------------------------------

TERMS: dict[str, set[str]] = {
    "wasGeneratedBy": {"prov:entity", "prov:activity", "prov:time"},
    "used": {"prov:activity", "prov:entity"},
    "wasDerivedFrom": {"prov:generatedEntity", "prov:usedEntity", "prov:activity"},
    "wasAttributedTo": {"prov:entity", "prov:agent"},
    "wasAssociatedWith": {"prov:activity", "prov:agent"},
    "wasInvalidatedBy": {"prov:entity", "prov:activity", "prov:time"},
}
"""Relations and their ends (PROV-JSON, W3C Member Submission 24 April 2013, 3.2 and 3.3)."""


def test_provenance_keeps_to_prov_json(session: Session) -> None:
    told = json.loads(provenance(session, whole(), period_of(session)))
    assert set(told) <= {"prefix", "entity", "activity", "agent", *TERMS}
    named = {kind: set(told[kind]) for kind in ("entity", "activity", "agent")}
    for relation, ends in TERMS.items():
        for each in told.get(relation, {}).values():
            assert set(each) == ends
            for end, value in each.items():
                if end != "prov:time":
                    kind = end.removeprefix("prov:").replace("generatedEntity", "entity")
                    assert value in named[kind.replace("usedEntity", "entity")]
    changes = list(session.store.changes())
    entries = [entry for each in changes for entry in each.entries]
    assert len(told["activity"]) == len(changes)
    assert len(told["wasGeneratedBy"]) == sum(1 for each in entries if each.after is not None)
    assert len(told["used"]) == sum(1 for each in entries if each.before is not None)
    assert {each["prov:label"] for each in told["agent"].values()} == {"Ann", "Ben"}


def test_an_independent_reader_takes_the_provenance(session: Session) -> None:
    data = provenance(session, whole(), period_of(session)).decode()
    document = ProvDocument.deserialize(content=data, format="json")
    told = json.loads(data)
    counted = sum(len(each) for name, each in told.items() if name != "prefix")
    assert len(list(document.get_records())) == counted
    again = json.loads(document.serialize(format="json") or "")
    for relation in TERMS:
        assert len(again.get(relation, {})) == len(told.get(relation, {}))


def test_provenance_of_a_period_starts_with_the_versions_it_found(session: Session) -> None:
    scope = item_scope(session.programme, "long")
    told = json.loads(provenance(session, scope, Period(4, 9)))
    record = session.programme.find("long")
    assert record is not None
    names = [f"why:quantity--{record.id}--{revision}" for revision in (2, 4, 9)]
    assert set(told["entity"]) == {"why:journal", *names}
    assert [each["prov:entity"] for each in told["wasGeneratedBy"].values()] == names[1:]
    derived = [
        (each["prov:usedEntity"], each["prov:generatedEntity"])
        for each in told["wasDerivedFrom"].values()
    ]
    assert derived == [(names[0], names[1]), (names[1], names[2])]
    assert told["entity"][names[0]]["why:key"] == "length"
    assert told["entity"][names[2]]["why:key"] == "long"


def test_a_removed_record_is_invalidated(session: Session) -> None:
    undone = session.store.changes()
    assert [each.revision for each in undone if each.undoes] == [6]
    undo(session, 9)
    add_items(session, [{"kind": "gate", "key": "G9", "title": "Last", "date": "2033-01-01"}], "x")
    undo(session)
    told = json.loads(provenance(session, whole(), period_of(session)))
    (gone,) = told["wasInvalidatedBy"].values()
    assert told["entity"][gone["prov:entity"]]["why:key"] == "G9"
    assert told["activity"][gone["prov:activity"]]["why:undoes"] == 11


# --- graph ----------------------------------------------------------------------------------------


def test_a_general_graph_library_reads_the_graph(session: Session) -> None:
    drawn = nx.parse_graphml(graph(session, whole()).decode(), force_multigraph=True)
    programme = session.programme
    keys = {name: fields["key"] for name, fields in drawn.nodes(data=True)}
    assert set(keys) == {each.id for each in programme if each.key != "programme"}
    edges = {
        (keys[source], keys[target], role) for source, target, role in drawn.edges(data="role")
    }
    assert edges == {
        ("long", "C-A", "feeds l"),
        ("width", "C-A", "feeds w"),
        ("C-A", "area", "sets it"),
        ("D-W", "width", "sets it"),
        ("D-W", "C-A", "carries it"),
        ("area", "AREA", "is judged"),
        ("other", "OTHER", "is judged"),
        ("AREA", "D-W", "it serves this"),
        ("OTHER", "D-O", "it serves this"),
        ("G1", "AREA", "it is due there"),
        ("OTHER", "DEV", "it accepts a miss of this"),
        ("G1", "DEV", "it expires there"),
        ("area", "ACT", "it is about this"),
    }
    kinds = {fields["key"]: fields["kind"] for _, fields in drawn.nodes(data=True)}
    for record in programme:
        match record:
            case Quantity() | Requirement() | Decision() | CheckUse():
                assert kinds[record.key] == type(record).__name__.lower().removesuffix("use")
            case _:
                pass
    titles = {fields["key"]: fields["title"] for _, fields in drawn.nodes(data=True)}
    assert titles["other"] == visible(NASTY)
    states = {fields["key"]: fields.get("state") for _, fields in drawn.nodes(data=True)}
    assert states["AREA"] == "met"  # 310 mm × 100 mm = 31 000 mm² of 40 000 mm²
    assert states["area"] is not None
    assert states["area"].startswith("31000 ")


def test_the_graph_of_an_area_has_no_loose_ends(session: Session) -> None:
    drawn = nx.parse_graphml(graph(session, area_of(session.programme, "OTHER")).decode())
    assert {fields["key"] for _, fields in drawn.nodes(data=True)} == {
        "other",
        "OTHER",
        "D-O",
        "DEV",
    }
    assert drawn.number_of_edges() == 3
