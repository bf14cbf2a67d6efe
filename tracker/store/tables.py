"""The tables of a programme's store.

Two hold the journal, `journal_change` and `journal_entry`. All others are the projection of the
head revision: `head` and `record` are what the program reads, the rest is for people with an SQL
prompt. Every projected table but `head` begins with the id of the record its rows belong to.

Stated values: `number` holds reals and integers in the quantity's unit, `x`, `y`, `z` a point,
`text` a choice, a flag (yes, no) or a table (JSON rows); all are empty when it is unknown.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
)

__all__ = [
    "METADATA",
    "READABLE",
    "bound_check",
    "check_config",
    "check_input",
    "check_literal",
    "check_output",
    "decision",
    "decision_against",
    "decision_footing",
    "decision_option",
    "decision_owns",
    "decision_rests_on",
    "decision_serves",
    "gate",
    "head",
    "journal_change",
    "journal_entry",
    "option_setting",
    "programme",
    "quantity",
    "quantity_choice",
    "quantity_column",
    "record",
    "requirement",
    "requirement_allowed",
    "requirement_parent",
]

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _text(name: str) -> Column[str]:
    return Column(name, Text, nullable=False)


def _maybe_text(name: str) -> Column[str]:
    return Column(name, Text)


def _number(name: str) -> Column[float]:
    return Column(name, Double)


def _whole(name: str) -> Column[int]:
    return Column(name, Integer, nullable=False)


def _part(name: str) -> Column[str]:
    """Make a text column of the primary key."""
    return Column(name, Text, primary_key=True)


def _place(name: str = "position") -> Column[int]:
    """Make a number column of the primary key."""
    return Column(name, Integer, primary_key=True, autoincrement=False)


def _owner(name: str) -> Column[str]:
    """Make the first column: whose rows they are. They go when the record's own row goes."""
    return Column(name, Text, ForeignKey("record.id", ondelete="CASCADE"), primary_key=True)


def _value() -> tuple[Column[float] | Column[str], ...]:
    return (*(_number(name) for name in ("number", "x", "y", "z")), _maybe_text("text"))


def _setting() -> tuple[Column[float] | Column[str], ...]:
    names = ("typed", "basis", "basis_source", "basis_dated", "unknown_reason")
    return (*_value(), *(_maybe_text(name) for name in names))


def _bound(name: str) -> tuple[Column[float] | Column[str], ...]:
    return (_number(name), _maybe_text(f"{name}_typed"))


journal_change = Table(
    "journal_change",
    METADATA,
    _place("revision"),
    _text("hash"),
    _text("at"),
    _text("author"),
    _text("reason"),
    Column("body", LargeBinary, nullable=False),
)

journal_entry = Table(
    "journal_entry",
    METADATA,
    Column(
        "revision",
        Integer,
        ForeignKey("journal_change.revision"),
        primary_key=True,
        autoincrement=False,
    ),
    _place(),
    _text("kind"),
    _text("record_id"),
    _whole("shape"),
    Column("body", LargeBinary, nullable=False),
    Index(None, "record_id", "revision"),
)

head = Table(
    "head",
    METADATA,
    _place("single"),
    _whole("revision"),
    _text("hash"),
    _whole("records"),
    _text("digest"),
    CheckConstraint("single = 1", name="one_row"),
)

record = Table(
    "record",
    METADATA,
    _part("id"),
    _text("kind"),
    _whole("shape"),
    Column("key", Text, nullable=False, unique=True),
    _whole("added_revision"),
    _whole("added_entry"),
    _text("body"),
)

programme = Table(
    "programme", METADATA, _owner("id"), _text("key"), _text("title"), _text("currency")
)

gate = Table("gate", METADATA, _owner("id"), _text("key"), _text("title"), _text("date"))

quantity = Table(
    "quantity",
    METADATA,
    _owner("id"),
    _text("key"),
    _text("title"),
    _text("kind"),
    _text("unit"),
    _number("low"),
    _number("high"),
    _number("tolerance"),
    _maybe_text("tolerance_shape"),
    *_setting(),
)

quantity_choice = Table(
    "quantity_choice", METADATA, _owner("quantity_id"), _place(), _text("choice")
)

quantity_column = Table(
    "quantity_column",
    METADATA,
    _owner("quantity_id"),
    _place(),
    _text("name"),
    _text("kind"),
    _text("unit"),
)

requirement = Table(
    "requirement",
    METADATA,
    _owner("id"),
    _text("key"),
    _text("statement"),
    _text("quantity_id"),
    _text("part"),
    *_bound("lower"),
    *_bound("upper"),
    *_bound("target"),
    *_bound("scale"),
    _number("guard"),
    _text("source"),
    _text("owner"),
    _text("verification"),
    _text("gate_id"),
)

requirement_allowed = Table(
    "requirement_allowed", METADATA, _owner("requirement_id"), _place(), _text("allowed")
)

requirement_parent = Table(
    "requirement_parent", METADATA, _owner("requirement_id"), _place(), _text("parent_id")
)

decision = Table(
    "decision",
    METADATA,
    _owner("id"),
    _text("key"),
    _text("question"),
    _text("state"),
    _text("chosen_id"),
    _text("rationale"),
    _text("owner"),
    _text("gate_id"),
)

decision_option = Table(
    "decision_option",
    METADATA,
    _owner("decision_id"),
    _place(),
    _text("id"),
    _text("key"),
    _text("title"),
    _text("notes"),
)

option_setting = Table(
    "option_setting",
    METADATA,
    _owner("decision_id"),
    _place("option_position"),
    _part("quantity_id"),
    _text("option_id"),
    *_setting(),
)

decision_owns = Table(
    "decision_owns", METADATA, _owner("decision_id"), _place(), _text("quantity_id")
)

decision_serves = Table(
    "decision_serves", METADATA, _owner("decision_id"), _place(), _text("requirement_id")
)

decision_rests_on = Table(
    "decision_rests_on", METADATA, _owner("decision_id"), _place(), _text("rests_on_id")
)

decision_against = Table(
    "decision_against", METADATA, _owner("decision_id"), _part("option_id"), _text("reason")
)

decision_footing = Table(
    "decision_footing",
    METADATA,
    _owner("decision_id"),
    _part("aspect"),
    _part("subject"),
    _text("content"),
)

bound_check = Table(
    "bound_check",
    METADATA,
    _owner("id"),
    _text("key"),
    _text("title"),
    _text("plugin"),
    _text("decision_id"),
)

check_config = Table("check_config", METADATA, _owner("check_id"), _part("name"), _text("content"))

check_input = Table(
    "check_input",
    METADATA,
    _owner("check_id"),
    _part("port"),
    _text("source_id"),
    _text("part"),
)

check_literal = Table(
    "check_literal", METADATA, _owner("check_id"), _part("port"), *_value(), _text("typed")
)

check_output = Table(
    "check_output", METADATA, _owner("check_id"), _part("port"), _text("quantity_id")
)

READABLE = tuple(
    table
    for table in METADATA.tables.values()
    if table not in {journal_change, journal_entry, head, record}
)
"""The normalised tables: every row belongs to the record its first column names."""
