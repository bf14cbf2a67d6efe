"""Statements on the path of every commit, rendered once per database.

SQLAlchemy's general way of executing an expression costs several times what SQLite needs to run
it. These few are compiled once and handed to the driver as text, within the transaction that the
connection is in; rows come back as the driver gives them.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any, TypeAlias

from sqlalchemy import Connection, Dialect, Table, insert
from sqlalchemy.exc import DBAPIError
from sqlalchemy.sql.expression import ClauseElement

__all__ = ["Statement", "execute", "insert_rows"]

Statement: TypeAlias = tuple[ClauseElement, tuple[str, ...]]
"""An expression and the names of its parameters, in the order in which it uses them."""


def execute(
    connection: Connection, statement: Statement, rows: Sequence[tuple[object, ...]] = ((),)
) -> list[tuple[Any, ...]]:
    """Execute a statement, once for each row of parameters.

    Parameters
    ----------
    connection : Connection
        In a transaction.
    rows : sequence of tuple
        Values in the order of the statement's names.

    Returns
    -------
    list of tuple
        Rows it returns.

    Raises
    ------
    sqlalchemy.exc.DBAPIError
        As SQLAlchemy would raise it.
    """
    dialect = connection.dialect
    sql = _rendered(statement, dialect.name)
    values: Sequence[Any] = rows
    if not dialect.positional:
        values = [dict(zip(statement[1], row, strict=True)) for row in rows]
    cursor = connection.connection.cursor()
    try:
        if len(values) == 1:
            cursor.execute(sql, values[0])
        else:
            cursor.executemany(sql, values)
        return list(cursor.fetchall()) if cursor.description else []
    except dialect.loaded_dbapi.Error as error:
        raise DBAPIError.instance(sql, None, error, dialect.loaded_dbapi.Error) from error
    finally:
        cursor.close()


def insert_rows(connection: Connection, table: Table, rows: Sequence[tuple[object, ...]]) -> None:
    """Insert rows whose values are in the order of the table's columns."""
    if rows:
        execute(connection, _insert_into(table), rows)


@cache
def _insert_into(table: Table) -> Statement:
    return insert(table), tuple(table.c.keys())


@cache
def _rendered(statement: Statement, dialect: str) -> str:
    expression, names = statement
    return str(expression.compile(dialect=_dialect(dialect), column_keys=list(names)))


@cache
def _dialect(name: str) -> Dialect:
    if name == "sqlite":
        from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite

        return SQLiteDialect_pysqlite(paramstyle="qmark")
    from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg

    return PGDialect_psycopg()  # type: ignore[no-untyped-call]  # SQLAlchemy leaves it bare
