"""The tables of a programme's store.

Two hold the journal, `journal_change` and `journal_entry`, and one, `baseline_content`, the frozen
content of baselines: compressed with zlib, under the SHA-256 of what it is uncompressed. These are
written once. All others are the projection of the
head revision: `head` and `record` are what the program reads, the rest is for people with an SQL
prompt. Every projected table but `head` begins with the id of the record its rows belong to.

Stated values: `number` holds reals and integers in the quantity's unit, `x`, `y`, `z` a point,
`text` a choice, a flag (yes, no) or a table (JSON rows); all are empty when it is unknown.
"""

from __future__ import annotations

from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, Integer, LargeBinary, Table, Text

from tracker.store.columns import (
    METADATA,
    bound,
    later_text,
    maybe_text,
    number,
    owner,
    part,
    place,
    setting,
    text,
    value,
    whole,
)

__all__ = [
    "METADATA",
    "READABLE",
    "WRITTEN_ONCE",
    "action",
    "action_about",
    "baseline",
    "baseline_content",
    "baseline_criterion",
    "baseline_version",
    "bound_check",
    "check_config",
    "check_input",
    "check_literal",
    "check_output",
    "decision",
    "decision_against",
    "decision_assumption",
    "decision_dissent",
    "decision_footing",
    "decision_option",
    "decision_owns",
    "decision_participant",
    "decision_rests_on",
    "decision_review",
    "decision_serves",
    "deviation",
    "evidence",
    "evidence_about",
    "gate",
    "gate_criterion",
    "head",
    "journal_change",
    "journal_entry",
    "option_setting",
    "programme",
    "quantity",
    "quantity_choice",
    "quantity_column",
    "quantity_correlation",
    "quantity_range",
    "record",
    "requirement",
    "requirement_allowed",
    "requirement_parent",
    "risk",
    "risk_about",
]

journal_change = Table(
    "journal_change",
    METADATA,
    place("revision"),
    text("hash"),
    text("at"),
    text("author"),
    text("reason"),
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
    place(),
    text("kind"),
    text("record_id"),
    whole("shape"),
    Column("body", LargeBinary, nullable=False),
    Index(None, "record_id", "revision"),
)

baseline_content = Table(
    "baseline_content",
    METADATA,
    part("sha256"),
    whole("size"),
    Column("body", LargeBinary, nullable=False),
)

head = Table(
    "head",
    METADATA,
    place("single"),
    whole("revision"),
    text("hash"),
    whole("records"),
    text("digest"),
    CheckConstraint("single = 1", name="one_row"),
)

record = Table(
    "record",
    METADATA,
    part("id"),
    text("kind"),
    whole("shape"),
    Column("key", Text, nullable=False, unique=True),
    whole("added_revision"),
    whole("added_entry"),
    text("body"),
)

programme = Table("programme", METADATA, owner("id"), text("key"), text("title"), text("currency"))

gate = Table("gate", METADATA, owner("id"), text("key"), text("title"), text("date"))

gate_criterion = Table(
    "gate_criterion", METADATA, owner("gate_id"), part("criterion"), text("setting")
)

quantity = Table(
    "quantity",
    METADATA,
    owner("id"),
    text("key"),
    text("title"),
    text("kind"),
    text("unit"),
    number("low"),
    number("high"),
    number("tolerance"),
    maybe_text("tolerance_shape"),
    *setting(),
)

quantity_choice = Table("quantity_choice", METADATA, owner("quantity_id"), place(), text("choice"))

quantity_column = Table(
    "quantity_column",
    METADATA,
    owner("quantity_id"),
    place(),
    text("name"),
    text("kind"),
    text("unit"),
)

quantity_range = Table(
    "quantity_range", METADATA, owner("quantity_id"), part("part"), number("low"), number("high")
)

quantity_correlation = Table(
    "quantity_correlation",
    METADATA,
    owner("quantity_id"),
    part("other_id"),
    number("coefficient"),
)

requirement = Table(
    "requirement",
    METADATA,
    owner("id"),
    text("key"),
    text("statement"),
    text("quantity_id"),
    text("part"),
    *bound("lower"),
    *bound("upper"),
    *bound("target"),
    *bound("scale"),
    number("guard"),
    text("source"),
    text("owner"),
    text("verification"),
    text("gate_id"),
    *(later_text(name) for name in ("rationale", "priority", "risk")),
)

requirement_allowed = Table(
    "requirement_allowed", METADATA, owner("requirement_id"), place(), text("allowed")
)

requirement_parent = Table(
    "requirement_parent", METADATA, owner("requirement_id"), place(), text("parent_id")
)

decision = Table(
    "decision",
    METADATA,
    owner("id"),
    text("key"),
    text("question"),
    text("state"),
    text("chosen_id"),
    text("rationale"),
    text("owner"),
    text("gate_id"),
    later_text("superseded_by_id"),
)

decision_option = Table(
    "decision_option",
    METADATA,
    owner("decision_id"),
    place(),
    text("id"),
    text("key"),
    text("title"),
    text("notes"),
)

option_setting = Table(
    "option_setting",
    METADATA,
    owner("decision_id"),
    place("option_position"),
    part("quantity_id"),
    text("option_id"),
    *setting(),
)

decision_owns = Table("decision_owns", METADATA, owner("decision_id"), place(), text("quantity_id"))

decision_serves = Table(
    "decision_serves", METADATA, owner("decision_id"), place(), text("requirement_id")
)

decision_rests_on = Table(
    "decision_rests_on", METADATA, owner("decision_id"), place(), text("rests_on_id")
)

decision_against = Table(
    "decision_against", METADATA, owner("decision_id"), part("option_id"), text("reason")
)

decision_footing = Table(
    "decision_footing",
    METADATA,
    owner("decision_id"),
    part("aspect"),
    part("subject"),
    text("content"),
)

decision_participant = Table(
    "decision_participant", METADATA, owner("decision_id"), place(), text("participant")
)

decision_dissent = Table(
    "decision_dissent", METADATA, owner("decision_id"), part("person"), text("reason")
)

decision_assumption = Table(
    "decision_assumption", METADATA, owner("decision_id"), place(), text("assumption")
)

decision_review = Table(
    "decision_review",
    METADATA,
    owner("decision_id"),
    place(),
    *(text(name) for name in ("reviewer", "outcome", "reason", "at")),
)

bound_check = Table(
    "bound_check",
    METADATA,
    owner("id"),
    text("key"),
    text("title"),
    text("plugin"),
    text("decision_id"),
)

check_config = Table("check_config", METADATA, owner("check_id"), part("name"), text("content"))

check_input = Table(
    "check_input",
    METADATA,
    owner("check_id"),
    part("port"),
    text("source_id"),
    text("part"),
)

check_literal = Table(
    "check_literal", METADATA, owner("check_id"), part("port"), *value(), text("typed")
)

check_output = Table("check_output", METADATA, owner("check_id"), part("port"), text("quantity_id"))

deviation = Table(
    "deviation",
    METADATA,
    owner("id"),
    *(text(name) for name in ("key", "requirement_id", "reason", "approver", "extent")),
    *bound("lower"),
    *bound("upper"),
    *(text(name) for name in ("expires_id", "consequences", "decision_id")),
)

action = Table(
    "action",
    METADATA,
    owner("id"),
    *(text(name) for name in ("key", "title", "owner", "gate_id", "closed", "closed_on")),
)

action_about = Table("action_about", METADATA, owner("action_id"), place(), text("about_id"))

evidence = Table(
    "evidence",
    METADATA,
    owner("id"),
    *(text(name) for name in ("key", "title", "place", "sha256", "dated", "note")),
)

evidence_about = Table("evidence_about", METADATA, owner("evidence_id"), place(), text("about_id"))

risk = Table(
    "risk",
    METADATA,
    owner("id"),
    *(text(name) for name in ("key", "title", "likelihood", "consequence", "owner")),
    *(text(name) for name in ("gate_id", "response", "closed")),
)

risk_about = Table("risk_about", METADATA, owner("risk_id"), place(), text("about_id"))

baseline = Table(
    "baseline",
    METADATA,
    owner("id"),
    *(text(name) for name in ("key", "gate_id")),
    whole("revision"),
    *(text(name) for name in ("head", "content", "ready")),
)

baseline_criterion = Table(
    "baseline_criterion", METADATA, owner("baseline_id"), part("criterion"), text("result")
)

baseline_version = Table(
    "baseline_version", METADATA, owner("baseline_id"), part("name"), text("version")
)

WRITTEN_ONCE = (journal_change, journal_entry, baseline_content)

READABLE = tuple(
    table for table in METADATA.tables.values() if table not in {*WRITTEN_ONCE, head, record}
)
"""The normalised tables: every row belongs to the record its first column names."""
