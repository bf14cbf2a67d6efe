"""The database triggers that keep what is written once from being changed."""

from __future__ import annotations

from sqlalchemy import Connection, text

from tracker.store.tables import WRITTEN_ONCE

__all__ = ["missing_guards"]

_WANTED = {
    "sqlite": ("update", "delete", "replace"),
    "postgresql": ("update", "delete", "truncate"),
}
_NAMES = {
    "sqlite": text("SELECT name FROM sqlite_master WHERE type = 'trigger'"),
    "postgresql": text(
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D' "
        "AND tgrelid IN (to_regclass('journal_change'), to_regclass('journal_entry'), "
        "to_regclass('baseline_content'))"
    ),
}


def missing_guards(connection: Connection) -> list[str]:
    """Return the names of the triggers that should be there and are not."""
    dialect = connection.dialect.name
    there = set(connection.execute(_NAMES[dialect]).scalars())
    wanted = (f"{table.name}_no_{verb}" for table in WRITTEN_ONCE for verb in _WANTED[dialect])
    return [name for name in wanted if name not in there]
