"""The database itself refuses to change or remove what was recorded, whoever asks."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from canewright.store import ImportedFile, Store
from store.samples import DAY, a_consignment, a_decided_season, a_reading, a_trial, close, fill_cane, fill_harvest, raw

TABLES = (
    "reading",
    "consignment",
    "batch",
    "batch_file",
    "plant_version",
    "closed_day",
    "season",
    "proposal",
    "decision",
    "register_entry",
    "consignment_note",
    "sample_ruling",
    "grower_access",
    "trial",
    "trial_note",
    "harvest_plan",
)


@pytest.fixture
def folder(store: Store, tmp_path: Path) -> Path:
    """A business with a row in every table, a correction and a reopened day among them."""
    load = [a_consignment(), a_consignment("1043")]
    store.add_batch(DAY, "lab clerk", [ImportedFile("meters.csv", "a" * 64, 2)], [a_reading(0), a_reading(1)], load)
    store.add_reading(a_reading(2, entry_key="form 7"))
    store.correct(1, 5.0, "chief chemist", "typed wrong")
    store.correct_consignment(1, "cane office", "swapped", grower="farm 2")
    fill_cane(store)
    fill_harvest(store)
    close(store)
    a_decided_season(store)
    store.reopen_day(DAY, "chief chemist", "late composite")
    store.keep_trial(a_trial(), "looks worth a week")
    return tmp_path


def contents(folder: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table."""
    connection = raw(folder)
    found = {table: connection.execute(f"SELECT * FROM {table}").fetchall() for table in TABLES}
    connection.close()
    return found


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("act", ["update", "delete", "replace", "upsert", "ignore nothing"])
def test_raw_sql_cannot_change_or_remove_a_row(folder: Path, table: str, act: str) -> None:
    before = contents(folder)
    assert all(before.values())
    connection = raw(folder)
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
    key = columns[0]
    statements = {
        "update": f"UPDATE {table} SET {columns[1]} = {columns[1]}",
        "delete": f"DELETE FROM {table}",
        "replace": f"INSERT OR REPLACE INTO {table} SELECT * FROM {table} LIMIT 1",
        "upsert": f"INSERT INTO {table} SELECT * FROM {table} WHERE true LIMIT 1 "
        f"ON CONFLICT ({key}) DO UPDATE SET {columns[1]} = NULL",
        "ignore nothing": f"UPDATE OR IGNORE {table} SET {columns[1]} = NULL",
    }
    with pytest.raises(sqlite3.IntegrityError, match=f"{table} is append-only"):
        connection.execute(statements[act])
    connection.close()
    assert contents(folder) == before


@pytest.mark.parametrize(
    ("table", "changed"),
    [
        ("reading", "entry_key = 'form 7'"),
        ("reading", "supersedes = 1"),
        ("reading", "entry_key IS NULL AND supersedes IS NULL"),
        ("consignment", "supersedes = 1"),
        ("consignment", "supersedes IS NULL AND ticket = '1043'"),
        ("batch_file", "true"),
        ("register_entry", "supersedes = 1"),
        ("register_entry", "supersedes IS NULL"),
        ("consignment_note", "supersedes = 1"),
        ("consignment_note", "supersedes IS NULL"),
        ("grower_access", "supersedes = 1"),
        ("grower_access", "supersedes IS NULL"),
        ("harvest_plan", "supersedes = 1"),
        ("harvest_plan", "supersedes IS NULL"),
        ("closed_day", "status = 'reopened'"),
        ("closed_day", "status = 'closed'"),
        ("proposal", "true"),
        ("decision", "true"),
    ],
)
def test_a_replacing_insert_under_a_new_number_cannot_push_a_row_out(folder: Path, table: str, changed: str) -> None:
    before = contents(folder)
    connection = raw(folder)
    columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")][1:]
    listed = ", ".join(columns)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        connection.execute(
            f"INSERT OR REPLACE INTO {table} (id, {listed}) SELECT 9000, {listed} FROM {table} WHERE {changed} LIMIT 1"
        )
    connection.close()
    assert contents(folder) == before


@pytest.mark.parametrize(
    ("column", "value"),
    [("quality", "'doubtful'"), ("value", "NULL"), ("reason", "'no correction'")],
)
def test_the_tables_refuse_rows_that_make_no_sense(folder: Path, column: str, value: str) -> None:
    connection = raw(folder)
    names = [row[1] for row in connection.execute("PRAGMA table_info(reading)")]
    chosen = ", ".join({"id": "9000", "taken_at": "'2026-01-01 00:00:00'", column: value}.get(n, n) for n in names)
    with pytest.raises(sqlite3.IntegrityError, match="CHECK constraint failed"):
        connection.execute(f"INSERT INTO reading SELECT {chosen} FROM reading WHERE id = 2")
    connection.close()


def test_the_store_keeps_its_promises_about_the_disk(store: Store) -> None:
    store.add_reading(a_reading())
    condition = store.condition()
    assert (condition.journal, condition.synchronous, condition.foreign_keys) == ("wal", "full", "on")
    assert condition.database == "sqlite"
    assert condition.faults == ()


def test_every_connection_of_the_pool_keeps_them(store: Store) -> None:
    with store._engine.connect() as one, store._writer.connect() as other:
        for connection in (one, other):
            assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
            assert connection.exec_driver_sql("PRAGMA synchronous").scalar() == 2
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_a_writer_takes_the_lock_before_it_reads(store: Store, tmp_path: Path) -> None:
    other = sqlite3.connect(tmp_path / "business.db", isolation_level=None, timeout=0)
    with store._writer.begin() as connection:
        connection.exec_driver_sql("SELECT 1")
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
    other.execute("BEGIN IMMEDIATE")
    other.close()
