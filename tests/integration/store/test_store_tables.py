"""The current state is there to be read with plain SQL."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import text

from tests.integration.store.programmes import TRACK, commit, draft, edit, fill
from tracker.model.changes import Entry
from tracker.store.sql_store import SqlStore
from tracker.store.tables import METADATA, READABLE

QUESTIONS = [
    (
        (
            "SELECT key, number, unit, low, high, tolerance, tolerance_shape, typed, basis, "
            "basis_source, basis_dated FROM quantity WHERE key = 'track'"
        ),
        [("track", 1502.0, "mm", 1400.0, 1600.0, 2.0, "rectangular", "1502.0 mm", "guess", "", "")],
    ),
    ("SELECT number, text, typed FROM quantity WHERE key = 'lower_outer'", [(None, None, None)]),
    ("SELECT text FROM quantity WHERE key = 'abs'", [("yes",)]),
    (
        "SELECT text FROM quantity WHERE key = 'loads'",
        [('[["braking",4200],["kerb",9000.5]]',)],
    ),
    (
        (
            "SELECT o.key, s.x, s.y, s.z, s.unknown_reason FROM decision d "
            "JOIN decision_option o ON o.decision_id = d.id "
            "JOIN option_setting s ON s.decision_id = d.id AND s.option_id = o.id "
            "JOIN quantity q ON q.id = s.quantity_id AND q.key = 'lower_outer' ORDER BY o.position"
        ),
        [("wide", 1.0, -2.5, 1e20, ""), ("slim", None, None, None, "not drawn")],
    ),
    (
        (
            "SELECT d.key, r.key, r.upper, r.upper_typed, g.date FROM decision d "
            "JOIN decision_serves s ON s.decision_id = d.id "
            "JOIN requirement r ON r.id = s.requirement_id LEFT JOIN gate g ON g.id = r.gate_id"
        ),
        [("D-1", "R-1", 1550.0, "1.55 m", "2031-09-30")],
    ),
    (
        (
            "SELECT c.key, i.port, q.key, i.part FROM bound_check c "
            "JOIN check_input i ON i.check_id = c.id JOIN quantity q ON q.id = i.source_id "
            "ORDER BY i.port"
        ),
        [("C-1", "a", "track", ""), ("C-1", "b", "lower_outer", "y")],
    ),
    ("SELECT port, number, typed FROM check_literal", [("g", 9.81, "9.81")]),
    (
        "SELECT aspect, subject, content FROM decision_footing ORDER BY aspect",
        [
            ("band", "r", "[null,1550]"),
            ("check", "c", '"k 1"'),
            ("choice", "d0", '""'),
            ("value", "t", "1500"),
        ],
    ),
    (
        (
            "SELECT v.key, r.key, v.upper, v.upper_typed, g.key, v.approver FROM deviation v "
            "JOIN requirement r ON r.id = v.requirement_id JOIN gate g ON g.id = v.expires_id"
        ),
        [("DEV-1", "R-2", 1510.0, "1510 mm", "G2", "chief engineer")],
    ),
    (
        (
            "SELECT a.key, a.closed_on, r.key FROM action a "
            "JOIN action_about b ON b.action_id = a.id JOIN record r ON r.id = b.about_id "
            "ORDER BY b.position"
        ),
        [("A-1", "2031-04-01", "track"), ("A-1", "2031-04-01", "R-2")],
    ),
    ("SELECT likelihood, consequence, closed FROM risk", [("low", "high", "it did not")]),
    ("SELECT place, dated, note FROM evidence", [("reports/buck.pdf", "2031-04-01", "page 4")]),
    (
        (
            "SELECT b.key, b.ready, c.result, v.version, n.size FROM baseline b "
            "JOIN baseline_criterion c ON c.baseline_id = b.id "
            "JOIN baseline_version v ON v.baseline_id = b.id "
            "JOIN baseline_content n ON n.sha256 = b.content"
        ),
        [("B-1", "yes", "met", "1.0", 23)],
    ),
    (
        "SELECT reviewer, outcome, at FROM decision_review",
        [("chassis", "reopen needed", "2031-03-01T00:00:00Z")],
    ),
    ("SELECT part, low, high FROM quantity_range", [("y", 700.0, 740.0)]),
    (
        "SELECT rationale, priority FROM requirement WHERE key = 'R-2'",
        [("range of the van", "high")],
    ),
    ("SELECT name, kind, unit FROM quantity_column WHERE position = 2", [("fz", "real", "N")]),
    (
        "SELECT revision, author, at, reason FROM journal_change ORDER BY revision DESC LIMIT 1",
        [(3, "an engineer", "2031-05-06T07:08:09Z", "step 2")],
    ),
    ("SELECT revision, records FROM head", [(3, 19)]),
]


@pytest.mark.parametrize(("query", "answer"), QUESTIONS)
def test_plain_sql_answers(store: SqlStore, query: str, answer: list[tuple[object, ...]]) -> None:
    fill(store)
    with store._backend.engine.connect() as connection:
        assert [tuple(row) for row in connection.execute(text(query))] == answer


def test_the_record_table_holds_canonical_json(store: SqlStore) -> None:
    fill(store)
    with store._backend.engine.connect() as connection:
        query = "SELECT body FROM record WHERE key = 'track'"
        body = connection.execute(text(query)).scalar_one()
    assert json.loads(body)["given"]["value"] == 1502
    assert body == json.dumps(json.loads(body), sort_keys=True, separators=(",", ":"))


def test_every_table_but_five_belongs_to_records() -> None:
    rest = set(METADATA.tables) - {table.name for table in READABLE}
    assert rest == {"journal_change", "journal_entry", "baseline_content", "head", "record"}
    for table in READABLE:
        (owner,) = table.c[0].foreign_keys
        assert (owner.target_fullname, owner.ondelete) == ("record.id", "CASCADE")


def test_only_the_rows_of_touched_records_are_rewritten(store: SqlStore) -> None:
    """Rows that nothing touched keep their place in the file (row id, or PostgreSQL's ctid)."""
    fill(store, edits=0)
    place = "rowid" if store._backend.engine.dialect.name == "sqlite" else "ctid"

    def places() -> dict[tuple[str, str], list[str]]:
        with store._backend.engine.connect() as connection:
            return {
                (table.name, str(row[0])): [str(row[1]), str(row[2])]
                for table in (METADATA.tables["record"], *READABLE)
                for row in connection.execute(
                    text(f"SELECT {table.c[0].name}, {place}, * FROM {table.name}")
                )
            }

    before = places()
    commit(store, draft(edit(TRACK, 1.0)[1]))
    moved = {owner for (_, owner), where in places().items() if where != before[_, owner]}
    assert moved <= {TRACK.id}
    commit(store, draft(Entry(edit(TRACK, 1.0)[0], None)))
    assert {key for key in before if key not in places()} == {("record", "t"), ("quantity", "t")}
