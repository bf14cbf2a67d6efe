"""What a gate is walked through with, and the frozen content of baselines with its guards.

Revision ID: r0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0002"
down_revision = "r0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the new tables and columns; no row that is there is touched."""
    _content()
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()
    _columns()
    _quantities()
    _decisions()
    _gates()
    _baselines()


def _text(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), nullable=null)


def _texts(*names: str) -> list[sa.Column[str]]:
    return [_text(name) for name in names]


def _number(name: str) -> sa.Column[float]:
    return sa.Column(name, sa.Double(), nullable=True)


def _whole(name: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), autoincrement=False, nullable=False)


def _bound(name: str) -> list[sa.Column[float] | sa.Column[str]]:
    return [_number(name), _text(f"{name}_typed", null=True)]


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


def _content() -> None:
    op.create_table(
        "baseline_content",
        _text("sha256"),
        _whole("size"),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_baseline_content"),
    )


def _guard_sqlite() -> None:
    """Refuse updates, deletes, and inserts that would replace a row without deleting it."""
    refuse = "BEGIN SELECT RAISE(ABORT, 'a baseline is written once'); END"
    for verb in ("update", "delete"):
        op.execute(
            f"CREATE TRIGGER baseline_content_no_{verb} BEFORE {verb} ON baseline_content {refuse}"
        )
    twice = "WHEN NEW.sha256 IN (SELECT sha256 FROM baseline_content)"
    op.execute(
        "CREATE TRIGGER baseline_content_no_replace BEFORE INSERT ON baseline_content "
        f"{twice} {refuse}"
    )


def _guard_postgresql() -> None:
    """Refuse updates, deletes and truncation."""
    op.execute(
        "CREATE FUNCTION baseline_is_written_once() RETURNS trigger LANGUAGE plpgsql AS $$ "
        "BEGIN RAISE EXCEPTION 'a baseline is written once'; END $$"
    )
    for verb in ("update", "delete", "truncate"):
        op.execute(
            f"CREATE TRIGGER baseline_content_no_{verb} BEFORE {verb} ON baseline_content "
            "FOR EACH STATEMENT EXECUTE FUNCTION baseline_is_written_once()"
        )


def _columns() -> None:
    later = {
        "requirement": ("rationale", "priority", "risk"),
        "decision": ("superseded_by_id",),
    }
    for table, names in later.items():
        for name in names:
            op.add_column(
                table, sa.Column(name, sa.Text(), nullable=False, server_default=sa.text("''"))
            )


def _quantities() -> None:
    _projected(
        "quantity_range", *_texts("quantity_id", "part"), _number("low"), _number("high"), key=2
    )
    _projected(
        "quantity_correlation",
        *_texts("quantity_id", "other_id"),
        _number("coefficient"),
        key=2,
    )


def _decisions() -> None:
    _listed("decision_participant", "decision_id", "participant")
    _mapped("decision_dissent", "decision_id", "person", "reason")
    _listed("decision_assumption", "decision_id", "assumption")
    _projected(
        "decision_review",
        _text("decision_id"),
        _whole("position"),
        *_texts("reviewer", "outcome", "reason", "at"),
        key=2,
    )


def _gates() -> None:
    _mapped("gate_criterion", "gate_id", "criterion", "setting")
    _projected(
        "deviation",
        *_texts("id", "key", "requirement_id", "reason", "approver", "extent"),
        *_bound("lower"),
        *_bound("upper"),
        *_texts("expires_id", "consequences", "decision_id"),
        key=1,
    )
    _projected(
        "action",
        *_texts("id", "key", "title", "owner", "gate_id", "closed", "closed_on"),
        key=1,
    )
    _listed("action_about", "action_id", "about_id")
    _projected("evidence", *_texts("id", "key", "title", "place", "sha256", "dated", "note"), key=1)
    _listed("evidence_about", "evidence_id", "about_id")
    _projected(
        "risk",
        *_texts("id", "key", "title", "likelihood", "consequence", "owner"),
        *_texts("gate_id", "response", "closed"),
        key=1,
    )
    _listed("risk_about", "risk_id", "about_id")


def _baselines() -> None:
    _projected(
        "baseline",
        *_texts("id", "key", "gate_id"),
        _whole("revision"),
        *_texts("head", "content", "ready"),
        key=1,
    )
    _mapped("baseline_criterion", "baseline_id", "criterion", "result")
    _mapped("baseline_version", "baseline_id", "name", "version")
