"""The tables move forwards and backwards with data in them, and are what the queries think they are."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from canewright.store import ImportedFile, NotABusiness, Store, migrate
from canewright.store.dialect import connect_sqlite
from canewright.store.tables import METADATA
from store.pay_samples import fill_payments
from store.samples import (
    DAY,
    Clock,
    a_consignment,
    a_decided_season,
    a_reading,
    a_trial,
    close,
    fill_cane,
    fill_harvest,
    raw,
)

TABLES = tuple(METADATA.tables)


def fill_first(store: Store) -> None:
    """A row in every table of the first step, with a correction and a reopened day."""
    files = [ImportedFile("meters.csv", "a" * 64, 2)]
    store.add_batch(DAY, "lab clerk", files, [a_reading(n) for n in range(20)], [a_consignment()])
    store.correct(3, 5.0, "chief chemist", "typed wrong")
    close(store, (1, 2))
    close(store, day=DAY - dt.timedelta(days=1))
    store.reopen_day(DAY - dt.timedelta(days=1), "chief chemist", "late composite")


FILLED_BY: dict[str, Callable[[Store], object]] = {
    "0005": fill_cane,
    "0001": fill_first,
    "0003": a_decided_season,
    "0004": lambda store: store.keep_trial(a_trial(), "looks worth a week"),
    "0006": fill_payments,
    "0007": fill_harvest,
}
"""What fills the tables that a step makes; a step that is not here makes none. Cane comes before its day is closed."""


def fill(store: Store, before: str = "9999") -> None:
    """A row in every table that the steps before this one make."""
    for step, filler in FILLED_BY.items():
        if step < before:
            filler(store)


def contents(folder: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table that is there."""
    connection = raw(folder)
    there = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    found = {table: connection.execute(f"SELECT * FROM {table}").fetchall() for table in TABLES if table in there}
    connection.close()
    return found


def indexes(folder: Path) -> set[str]:
    """The named indexes of the file."""
    connection = raw(folder)
    found = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'index'")}
    connection.close()
    return found


def test_the_tables_made_are_those_the_queries_expect(store: Store) -> None:
    with store._engine.connect() as connection:
        differences = compare_metadata(MigrationContext.configure(connection), METADATA)
    assert differences == []


def test_the_steps_known_are_those_in_the_folder(store: Store) -> None:
    script = ScriptDirectory.from_config(migrate._config())
    assert script.get_heads() == [migrate.HEAD]
    assert tuple(s.revision for s in reversed(list(script.walk_revisions()))) == migrate.REVISIONS
    assert store.condition().revision == migrate.HEAD


@pytest.mark.parametrize("step", migrate.REVISIONS[1:])
def test_filled_records_go_back_before_a_step_and_forth_without_losing_a_row(
    store: Store, tmp_path: Path, step: str
) -> None:
    fill(store, before=step)
    before, known = contents(tmp_path), indexes(tmp_path)
    with store._writer.begin() as connection:
        migrate.move(connection, migrate.REVISIONS[migrate.REVISIONS.index(step) - 1])
    left = contents(tmp_path)
    assert all(left.values())
    assert left == {table: rows for table, rows in before.items() if table in left}
    assert not any(rows for table, rows in before.items() if table not in left)
    assert indexes(tmp_path) < known
    with Store.open(tmp_path, now=Clock()) as again:
        assert again.condition().revision == migrate.HEAD
        assert len(again.history(3)) == 2
    assert contents(tmp_path) == before
    assert indexes(tmp_path) == known


@pytest.mark.parametrize("step", FILLED_BY)
def test_a_step_back_that_would_destroy_rows_is_refused_whole(store: Store, tmp_path: Path, step: str) -> None:
    for filled, filler in FILLED_BY.items():
        if filled in {"0001", step}:
            filler(store)
    before = contents(tmp_path)
    earlier = [s for s in migrate.REVISIONS if s < step]
    with pytest.raises(RuntimeError, match="which this step would destroy"), store._writer.begin() as connection:
        migrate.move(connection, earlier[-1] if earlier else "base")
    assert contents(tmp_path) == before
    assert store.condition().revision == migrate.HEAD


def test_every_table_can_be_filled(store: Store, tmp_path: Path) -> None:
    fill(store)
    assert set(contents(tmp_path)) == set(TABLES)
    assert all(contents(tmp_path).values())


def test_empty_records_go_back_to_nothing_and_forth_again(store: Store, tmp_path: Path) -> None:
    with store._writer.begin() as connection:
        migrate.move(connection, "base")
    connection_left = raw(tmp_path)
    left = {row[0] for row in connection_left.execute("SELECT name FROM sqlite_master WHERE name NOT LIKE 'sqlite%'")}
    connection_left.close()
    assert left == {"alembic_version"}
    with store._writer.begin() as connection:
        migrate.move(connection, migrate.HEAD)
    fill(store)
    assert all(contents(tmp_path).values())


def test_records_of_a_newer_version_are_refused(store: Store, tmp_path: Path) -> None:
    fill(store)
    connection = raw(tmp_path)
    connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    before = contents(tmp_path)
    with pytest.raises(NotABusiness, match=r"stand at step 9999.*newer version"):
        Store.open(tmp_path, now=Clock())
    assert contents(tmp_path) == before


def test_a_database_of_something_else_is_left_alone(tmp_path: Path) -> None:
    connection = raw(tmp_path)
    connection.execute("CREATE TABLE letters (text TEXT)")
    connection.close()
    with pytest.raises(NotABusiness, match="something else"):
        Store.open(tmp_path, now=Clock())
    connection = raw(tmp_path)
    assert [row[0] for row in connection.execute("SELECT name FROM sqlite_master")] == ["letters"]
    connection.close()


def test_a_migration_that_breaks_off_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(migrate, "HEAD", "0999")
    with pytest.raises(Exception, match="0999"):
        Store.open(tmp_path, now=Clock())
    connection = raw(tmp_path)
    assert connection.execute("SELECT count(*) FROM sqlite_master").fetchone() == (0,)
    connection.close()


def test_the_steps_can_be_printed_for_a_server_database() -> None:
    text = migrate.as_sql("postgresql")
    for table in TABLES:
        assert f"CREATE TABLE {table} (" in text
        assert f"BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW" in text
        assert f"BEFORE TRUNCATE ON {table}" in text
    assert "TIMESTAMP WITH TIME ZONE" in text
    assert "WHERE supersedes IS NULL" in text
    for word in ("RAISE(ABORT", "PRAGMA", "AUTOINCREMENT"):
        assert word not in text


def test_opening_twice_at_once_is_harmless(tmp_path: Path) -> None:
    with Store.open(tmp_path, now=Clock()) as one, Store.open(tmp_path, now=Clock()) as other:
        one.add_reading(a_reading(0))
        other.add_reading(a_reading(1))
        assert one.readings(DAY) == other.readings(DAY)
    engine = connect_sqlite(tmp_path / "business.db")
    migrate.bring_up_to_date(engine)
    engine.dispose()
