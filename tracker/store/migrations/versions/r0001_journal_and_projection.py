"""The journal with its guards, and the projection of the head.

Revision ID: r0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0001"
down_revision = None
branch_labels = None
depends_on = None

JOURNAL = ("journal_change", "journal_entry")


def upgrade() -> None:
    """Make all tables."""
    _journal()
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()
    _head()
    _programme()
    _quantities()
    _requirements()
    _decisions()
    _checks()


def _text(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), nullable=null)


def _texts(*names: str) -> list[sa.Column[str]]:
    return [_text(name) for name in names]


def _numbers(*names: str) -> list[sa.Column[float]]:
    return [sa.Column(name, sa.Double(), nullable=True) for name in names]


def _whole(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), autoincrement=False, nullable=False)


def _value() -> list[sa.Column[float] | sa.Column[str]]:
    return [*_numbers("number", "x", "y", "z"), _text("text", null=True)]


def _setting() -> list[sa.Column[float] | sa.Column[str]]:
    names = ("typed", "basis", "basis_source", "basis_dated", "unknown_reason")
    return [*_value(), *(_text(name, null=True) for name in names)]


def _bound(name: str) -> list[sa.Column[float] | sa.Column[str]]:
    return [*_numbers(name), _text(f"{name}_typed", null=True)]


def _projected(
    name: str, *columns: sa.Column[float] | sa.Column[str] | sa.Column[int], key: int
) -> None:
    """Make a readable table whose first column is the owner, and first `key` columns its key."""
    owner = columns[0].name
    op.create_table(
        name,
        *columns,
        sa.PrimaryKeyConstraint(*(each.name for each in columns[:key]), name=f"pk_{name}"),
        sa.ForeignKeyConstraint(
            [owner], ["record.id"], name=f"fk_{name}_{owner}_record", ondelete="CASCADE"
        ),
    )


def _listed(name: str, owner: str, content: str) -> None:
    _projected(name, _text(owner), _whole("position"), _text(content), key=2)


def _mapped(name: str, owner: str, subject: str, content: str) -> None:
    _projected(name, _text(owner), _text(subject), _text(content), key=2)


def _journal() -> None:
    op.create_table(
        "journal_change",
        _whole("revision"),
        *_texts("hash", "at", "author", "reason"),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("revision", name="pk_journal_change"),
    )
    op.create_table(
        "journal_entry",
        _whole("revision"),
        _whole("position"),
        *_texts("kind", "record_id"),
        _whole("shape"),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("revision", "position", name="pk_journal_entry"),
        sa.ForeignKeyConstraint(
            ["revision"],
            ["journal_change.revision"],
            name="fk_journal_entry_revision_journal_change",
        ),
    )
    op.create_index(
        op.f("ix_journal_entry_record_id_revision"), "journal_entry", ["record_id", "revision"]
    )


def _guard_sqlite() -> None:
    """Refuse updates, deletes, and inserts that would replace a row without deleting it."""
    same = {
        "journal_change": "NEW.revision IN (SELECT revision FROM journal_change)",
        "journal_entry": "(NEW.revision, NEW.position) IN "
        "(SELECT revision, position FROM journal_entry)",
    }
    refuse = "BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END"
    for table in JOURNAL:
        for verb in ("update", "delete"):
            op.execute(f"CREATE TRIGGER {table}_no_{verb} BEFORE {verb} ON {table} {refuse}")
        op.execute(
            f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} "
            f"WHEN {same[table]} {refuse}"
        )


def _guard_postgresql() -> None:
    """Refuse updates, deletes and truncation."""
    op.execute(
        "CREATE FUNCTION journal_is_append_only() RETURNS trigger LANGUAGE plpgsql AS $$ "
        "BEGIN RAISE EXCEPTION 'the journal is append-only'; END $$"
    )
    for table in JOURNAL:
        for verb in ("update", "delete", "truncate"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{verb} BEFORE {verb} ON {table} "
                "FOR EACH STATEMENT EXECUTE FUNCTION journal_is_append_only()"
            )


def _head() -> None:
    head = op.create_table(
        "head",
        _whole("single"),
        _whole("revision"),
        _text("hash"),
        _whole("records"),
        _text("digest"),
        sa.PrimaryKeyConstraint("single", name="pk_head"),
        sa.CheckConstraint("single = 1", name=op.f("ck_head_one_row")),
    )
    none = "0" * 64
    op.bulk_insert(head, [{"single": 1, "revision": 0, "hash": none, "records": 0, "digest": none}])
    op.create_table(
        "record",
        *_texts("id", "kind"),
        _whole("shape"),
        _text("key"),
        _whole("added_revision"),
        _whole("added_entry"),
        _text("body"),
        sa.PrimaryKeyConstraint("id", name="pk_record"),
        sa.UniqueConstraint("key", name="uq_record_key"),
    )


def _programme() -> None:
    _projected("programme", *_texts("id", "key", "title", "currency"), key=1)
    _projected("gate", *_texts("id", "key", "title", "date"), key=1)


def _quantities() -> None:
    _projected(
        "quantity",
        *_texts("id", "key", "title", "kind", "unit"),
        *_numbers("low", "high", "tolerance"),
        _text("tolerance_shape", null=True),
        *_setting(),
        key=1,
    )
    _listed("quantity_choice", "quantity_id", "choice")
    _projected(
        "quantity_column",
        _text("quantity_id"),
        _whole("position"),
        *_texts("name", "kind", "unit"),
        key=2,
    )


def _requirements() -> None:
    _projected(
        "requirement",
        *_texts("id", "key", "statement", "quantity_id", "part"),
        *_bound("lower"),
        *_bound("upper"),
        *_bound("target"),
        *_bound("scale"),
        *_numbers("guard"),
        *_texts("source", "owner", "verification", "gate_id"),
        key=1,
    )
    _listed("requirement_allowed", "requirement_id", "allowed")
    _listed("requirement_parent", "requirement_id", "parent_id")


def _decisions() -> None:
    texts = _texts("id", "key", "question", "state", "chosen_id", "rationale", "owner", "gate_id")
    _projected("decision", *texts, key=1)
    _projected(
        "decision_option",
        _text("decision_id"),
        _whole("position"),
        *_texts("id", "key", "title", "notes"),
        key=2,
    )
    _projected(
        "option_setting",
        _text("decision_id"),
        _whole("option_position"),
        *_texts("quantity_id", "option_id"),
        *_setting(),
        key=3,
    )
    _listed("decision_owns", "decision_id", "quantity_id")
    _listed("decision_serves", "decision_id", "requirement_id")
    _listed("decision_rests_on", "decision_id", "rests_on_id")
    _mapped("decision_against", "decision_id", "option_id", "reason")
    footing = _texts("decision_id", "aspect", "subject", "content")
    _projected("decision_footing", *footing, key=3)


def _checks() -> None:
    _projected("bound_check", *_texts("id", "key", "title", "plugin", "decision_id"), key=1)
    _mapped("check_config", "check_id", "name", "content")
    _projected("check_input", *_texts("check_id", "port", "source_id", "part"), key=2)
    _projected("check_literal", *_texts("check_id", "port"), *_value(), _text("typed"), key=2)
    _mapped("check_output", "check_id", "port", "quantity_id")
