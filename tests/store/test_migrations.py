"""The tables move forwards and backwards with data in them, and are what the queries think they are."""

from __future__ import annotations

from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from canewright.store import ImportedFile, NotABusiness, Store, migrate
from canewright.store.dialect import connect_sqlite
from canewright.store.tables import METADATA
from store.samples import DAY, Clock, a_consignment, a_reading, close, fill_cane, raw

TABLES = tuple(METADATA.tables)


CANE = ("register_entry", "consignment_note", "sample_ruling", "grower_access", "harvest_plan")


def fill(store: Store) -> None:
    """A row in every table, with corrections and a reopened day."""
    fill_cane(store)
    fill_older(store)


def fill_older(store: Store) -> None:
    """A row in every table of the first step."""
    files = [ImportedFile("meters.csv", "a" * 64, 2)]
    store.add_batch(DAY, "lab clerk", files, [a_reading(n) for n in range(20)], [a_consignment()])
    store.correct(3, 5.0, "chief chemist", "typed wrong")
    close(store, (1, 2))
    store.reopen_day(DAY, "chief chemist", "late composite")


def contents(folder: Path, tables: tuple[str, ...] = TABLES) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table."""
    connection = raw(folder)
    found = {table: connection.execute(f"SELECT * FROM {table}").fetchall() for table in tables}
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


def test_filled_records_move_one_step_back_and_forth_without_losing_a_row(store: Store, tmp_path: Path) -> None:
    fill_older(store)
    before = contents(tmp_path)
    with store._writer.begin() as connection:
        migrate.move(connection, "0001")
    older = {table: rows for table, rows in before.items() if table not in CANE}
    assert all(older.values())
    assert contents(tmp_path, tuple(older)) == older
    assert "reading_of_place" not in indexes(tmp_path)
    with Store.open(tmp_path, now=Clock()) as again:
        assert again.condition().revision == migrate.HEAD
        assert len(again.history(3)) == 2
    assert contents(tmp_path) == before
    assert "reading_of_place" in indexes(tmp_path)


def test_a_step_that_would_destroy_rows_is_refused_whole(store: Store, tmp_path: Path) -> None:
    fill(store)
    before = contents(tmp_path)
    with pytest.raises(RuntimeError, match="holds 2 rows, which this step would destroy"), store._writer.begin() as c:
        migrate.move(c, "base")
    assert contents(tmp_path) == before
    assert store.condition().revision == migrate.HEAD


@pytest.mark.parametrize("table", CANE)
def test_a_step_back_never_destroys_what_the_cane_office_entered(store: Store, tmp_path: Path, table: str) -> None:
    fill(store)
    before = contents(tmp_path)
    assert before[table]
    with pytest.raises(RuntimeError, match="which this step would destroy"), store._writer.begin() as c:
        migrate.move(c, "0002")
    assert contents(tmp_path) == before


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
    monkeypatch.setattr(migrate, "HEAD", "0003")
    with pytest.raises(Exception, match="0003"):
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
