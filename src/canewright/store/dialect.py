"""Everything that differs between databases, in one place: connecting, locking, triggers, health.

SQLite is used with a write-ahead log and full synchronous commits, so that what was acknowledged survives the loss of
power, as far as the disk keeps its promises.
"""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, DateTime, Dialect, Engine, create_engine, event
from sqlalchemy.types import TypeDecorator

BUSY_SECONDS = 15
PAUSE_SECONDS = 0.02
WRITING = "canewright_writing"
"""Name of the execution option that marks a connection as a writer."""
_SYNCHRONOUS = {0: "off", 1: "normal", 2: "full", 3: "extra"}


class UtcDateTime(TypeDecorator[dt.datetime]):
    """A moment in UTC; databases without time zones hold it without the zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        """Into the database. Raises ValueError for a moment without a zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a time zone cannot be stored")
        in_utc = value.astimezone(dt.UTC)
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: dt.datetime | None, dialect: Dialect) -> dt.datetime | None:
        """Out of the database."""
        if value is None:
            return None
        return value.replace(tzinfo=dt.UTC) if value.tzinfo is None else value.astimezone(dt.UTC)


def plain_json(data: Any) -> str:
    """JSON text without NaN or infinity, which some databases refuse. Raises ValueError for those."""
    return json.dumps(data, allow_nan=False, ensure_ascii=False)


def connect_sqlite(file: Path) -> Engine:
    """An engine on a SQLite file: write-ahead log, full synchronous, foreign keys, waiting for other writers."""
    engine = create_engine(
        URL.create("sqlite", database=str(file)),
        json_serializer=plain_json,
        connect_args={"timeout": BUSY_SECONDS},
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def writer(engine: Engine) -> Engine:
    """The same engine, whose transactions take the write lock at their start."""
    return engine.execution_options(**{WRITING: True})


def _prepare(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # our own BEGIN, so that a writer locks before it reads
    connection.execute(f"PRAGMA busy_timeout={BUSY_SECONDS * 1000}").fetchall()
    _into_write_ahead(connection)
    for pragma in (
        "synchronous=FULL",
        "foreign_keys=ON",
        "recursive_triggers=ON",  # so that a REPLACE runs into the delete trigger
        "trusted_schema=OFF",
    ):
        connection.execute(f"PRAGMA {pragma}").fetchall()


def _into_write_ahead(connection: Any) -> None:
    """Switch the file to the write-ahead log; SQLite does not wait by itself when several make the switch at once."""
    for attempt in range(int(BUSY_SECONDS / PAUSE_SECONDS) + 1):
        if attempt:
            time.sleep(PAUSE_SECONDS)
        try:
            connection.execute("PRAGMA journal_mode=WAL").fetchall()
        except sqlite3.OperationalError as problem:
            if not is_busy(problem):
                raise
            last = problem
        else:
            return
    raise last


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get(WRITING, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def is_busy(error: Exception) -> bool:
    """Whether a database error only says that another program holds the lock."""
    text = str(error).lower()
    return "database is locked" in text or "could not obtain lock" in text or "deadlock detected" in text


def condition(connection: Connection) -> dict[str, str]:
    """Name, version and durability settings of the database behind a connection, in words."""
    if connection.dialect.name == "sqlite":

        def pragma(name: str) -> Any:
            return connection.exec_driver_sql(f"PRAGMA {name}").scalar()

        version = str(connection.exec_driver_sql("SELECT sqlite_version()").scalar())
        return {
            "database": "sqlite",
            "version": version,
            "journal": str(pragma("journal_mode")),
            "synchronous": _SYNCHRONOUS.get(int(pragma("synchronous")), "unknown"),
            "foreign_keys": "on" if pragma("foreign_keys") else "off",
        }
    return {
        "database": connection.dialect.name,
        "version": ".".join(str(n) for n in connection.dialect.server_version_info or ()),
        "journal": "write-ahead",
        "synchronous": str(connection.exec_driver_sql("SHOW synchronous_commit").scalar()),
        "foreign_keys": "on",
    }


def faults(connection: Connection) -> tuple[str, ...]:
    """What the database finds wrong with its own file; empty when it is whole or cannot be asked."""
    if connection.dialect.name != "sqlite":
        return ()
    found = [str(row[0]) for row in connection.exec_driver_sql("PRAGMA integrity_check")]
    orphans = [
        f"row {row[1]} of {row[0]} points nowhere" for row in connection.exec_driver_sql("PRAGMA foreign_key_check")
    ]
    return tuple(line for line in found if line != "ok") + tuple(orphans)


def append_only(dialect: str, table: str, unique: Sequence[str]) -> list[str]:
    """Statements that make a table refuse every change and removal of a row.

    ``unique`` are the table's unique keys as conditions between a stored row and ``NEW``, needed where the database
    has an insert that silently replaces rows.
    """
    message = f"{table} is append-only: enter a correction instead"
    if dialect == "sqlite":
        refuse = f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
        taken = " OR ".join(f"EXISTS (SELECT 1 FROM {table} AS old WHERE {key})" for key in unique)
        return [
            f"CREATE TRIGGER {table}_keeps_rows BEFORE UPDATE ON {table} {refuse}",
            f"CREATE TRIGGER {table}_keeps_all BEFORE DELETE ON {table} {refuse}",
            f"CREATE TRIGGER {table}_never_replaces BEFORE INSERT ON {table} WHEN {taken} {refuse}",
        ]
    refuse = f"{table}_refuse"
    call = f"EXECUTE FUNCTION {refuse}()"
    body = f"BEGIN RAISE EXCEPTION '{message}'; END"
    return [
        f"CREATE FUNCTION {refuse}() RETURNS trigger LANGUAGE plpgsql AS $$ {body} $$",
        f"CREATE TRIGGER {table}_keeps_rows BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW {call}",
        f"CREATE TRIGGER {table}_keeps_all BEFORE TRUNCATE ON {table} {call}",
    ]


def no_longer_append_only(dialect: str, table: str) -> list[str]:
    """Statements that undo ``append_only``, for a migration backwards; the table itself is dropped by the caller."""
    names = [f"{table}_keeps_rows", f"{table}_keeps_all"]
    if dialect == "sqlite":
        return [f"DROP TRIGGER {name}" for name in (*names, f"{table}_never_replaces")]
    return [*(f"DROP TRIGGER {name} ON {table}" for name in names), f"DROP FUNCTION {table}_refuse()"]
