"""The version of a store's tables: made and brought up to date by migrations alone."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, inspect, text

from tracker.errors import StoreError

__all__ = ["MIGRATIONS", "SCHEMA", "migrate", "version_of"]

SCHEMA = "r0002"
"""The migration whose tables this version of whybone reads and writes."""

MIGRATIONS = Path(__file__).parent / "migrations"


def version_of(connection: Connection) -> str:
    """Return the version of the tables; empty when there are none of ours."""
    if not inspect(connection).has_table("alembic_version"):
        return ""
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar() or ""


def migrate(
    connection: Connection, *, item: str = "", scripts: Path = MIGRATIONS, to: str = SCHEMA
) -> None:
    """Bring the tables to a version, within the connection's transaction.

    Parameters
    ----------
    item : str
        Named in the error.
    scripts : Path
        Folder of the migrations.

    Raises
    ------
    StoreError
        The tables are of a version that is not known here.
    """
    from alembic import command
    from alembic.config import Config
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, to)
    except CommandError as error:
        raise StoreError(
            f"its tables are of version {version_of(connection)!r}, which is not known here",
            item=item,
            remedy="Open it with the version of whybone that made it, or a newer one",
        ) from error
