"""Entering and correcting readings and consignments."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from canewright.store import (
    AlreadyCorrected,
    BadEntry,
    ConflictingReading,
    DayClosed,
    EntryKeyReused,
    FileAlreadyImported,
    ImportedFile,
    NotABusiness,
    ReasonMissing,
    RepeatedTicket,
    Store,
    StoreFailed,
    UnknownConsignment,
    UnknownReading,
)
from store.samples import DAY, START, Clock, a_consignment, a_reading, close

FILE = ImportedFile("meters.csv", "a" * 64, 2)


def test_a_reading_comes_back_as_it_was_entered_with_the_moment_of_entry(store: Store) -> None:
    new = a_reading(value=412.375)
    stored = store.add_reading(new)
    assert store.readings(DAY) == (stored,)
    assert (stored.value, stored.unit, stored.place, stored.taken_at) == (412.375, "t", "W2", new.taken_at)
    assert stored.entered_at == START + dt.timedelta(seconds=1)
    assert (stored.batch_id, stored.supersedes, stored.reason) == (None, None, None)


def test_times_are_kept_in_utc_whatever_zone_they_were_given_in(store: Store) -> None:
    local = dt.datetime(2026, 7, 14, 9, 15, tzinfo=dt.timezone(dt.timedelta(hours=10)))
    assert store.add_reading(a_reading(taken_at=local)).taken_at.isoformat() == "2026-07-13T23:15:00+00:00"


def test_every_float_comes_back_to_the_last_bit(store: Store) -> None:
    awkward = (0.1 + 0.2, 5e-324, 1.7976931348623157e308, 1 / 3)
    stored = [store.add_reading(a_reading(n, value=v)).id for n, v in enumerate(awkward)]
    assert [store.reading(n).value.hex() for n in stored] == [v.hex() for v in awkward]  # type: ignore[union-attr]


def test_the_same_entry_key_sent_again_is_stored_once_even_after_the_day_is_closed(store: Store) -> None:
    new = a_reading(entry_key="form 7")
    first = store.add_reading(new)
    assert store.add_reading(new) == first
    close(store, (first.id,))
    assert store.add_reading(new) == first
    assert len(store.readings(DAY)) == 1


def test_an_entry_key_cannot_carry_another_value(store: Store) -> None:
    store.add_reading(a_reading(entry_key="form 7"))
    with pytest.raises(EntryKeyReused, match="says something else"):
        store.add_reading(a_reading(entry_key="form 7", value=1.0))
    assert [r.value for r in store.readings(DAY)] == [410.0]


def test_a_second_reading_of_the_same_moment_must_be_a_correction(store: Store) -> None:
    store.add_reading(a_reading())
    with pytest.raises(ConflictingReading, match=r"stored as reading 1.*correction with a reason"):
        store.add_reading(a_reading(value=500.0))
    assert len(store.readings(DAY)) == 1


@pytest.mark.parametrize("changes", [{"duplicate": 1}, {"place": "W3"}, {"quantity": "temperature"}])
def test_another_place_quantity_or_duplicate_is_another_reading(store: Store, changes: dict[str, Any]) -> None:
    store.add_reading(a_reading())
    store.add_reading(a_reading(**changes))
    assert len(store.readings(DAY)) == 2


def test_a_correction_stands_in_place_of_the_reading_which_stays_readable(store: Store) -> None:
    old = store.add_reading(a_reading(value=12.87))
    new = store.correct(old.id, 18.27, "chief chemist", "digits swapped")
    assert store.readings(DAY) == (new,)
    assert store.former_readings(DAY) == (old,)
    assert store.history(old.id) == store.history(new.id) == (old, new)
    assert (new.supersedes, new.reason, new.value, new.unit, new.taken_at) == (
        old.id, "digits swapped", 18.27, "t", old.taken_at,
    )  # fmt: skip


def test_a_reading_is_corrected_only_once_and_the_message_names_the_newest(store: Store) -> None:
    old = store.add_reading(a_reading())
    new = store.correct(old.id, 1.0, "chief chemist", "wrong meter")
    with pytest.raises(AlreadyCorrected, match=f"corrected by reading {new.id}"):
        store.correct(old.id, 2.0, "chief chemist", "wrong meter")
    last = store.correct(new.id, 2.0, "chief chemist", "wrong again")
    assert [r.value for r in store.history(new.id)] == [410.0, 1.0, 2.0]
    assert store.readings(DAY) == (last,)


def test_a_reading_can_be_withdrawn_as_missing(store: Store) -> None:
    old = store.add_reading(a_reading())
    gone = store.correct(old.id, None, "chief chemist", "entered for the wrong meter", quality="missing")
    assert store.readings(DAY) == (gone,)
    assert gone.value is None


def test_a_correction_sent_twice_with_its_key_is_stored_once(store: Store) -> None:
    old = store.add_reading(a_reading())
    first = store.correct(old.id, 1.0, "chief chemist", "typed wrong", entry_key="form 8")
    assert store.correct(old.id, 1.0, "chief chemist", "typed wrong", entry_key="form 8") == first
    with pytest.raises(EntryKeyReused):
        store.correct(old.id, 2.0, "chief chemist", "typed wrong", entry_key="form 8")


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_correction_needs_a_reason(store: Store, reason: str) -> None:
    old = store.add_reading(a_reading())
    with pytest.raises(ReasonMissing, match="say why"):
        store.correct(old.id, 1.0, "chief chemist", reason)
    assert store.readings(DAY) == (old,)


def test_unknown_numbers_are_named(store: Store) -> None:
    for act in (store.history, store.reading):
        with pytest.raises(UnknownReading, match="no reading number 99"):
            act(99)
    with pytest.raises(UnknownReading, match="99"):
        store.correct(99, 1.0, "chief chemist", "typed wrong")
    with pytest.raises(UnknownConsignment, match="99"):
        store.consignment_history(99)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"value": float("nan")}, "not a finite number"),
        ({"value": float("inf")}, "not a finite number"),
        ({"value": None}, "no value"),
        ({"quality": "missing"}, "cannot have a value"),
        ({"quality": "doubtful"}, "give one of good, bad, missing, estimated"),
        ({"place": " "}, "place is empty"),
        ({"place": "W\n2"}, "printable"),
        ({"unit": ""}, "unit is empty"),
        ({"taken_by": ""}, "taken by is empty"),
        ({"duplicate": -1}, "Duplicate number -1"),
        ({"taken_at": dt.datetime(2026, 7, 14, 9, 0)}, "no time zone"),  # noqa: DTZ001
        ({"day": dt.datetime(2026, 7, 14, 9, 0, tzinfo=dt.UTC)}, "factory day alone"),
        ({"entry_key": ""}, "entry key is empty"),
    ],
)
def test_a_reading_that_makes_no_sense_is_refused(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(BadEntry, match=says):
        a_reading(**changes)


def test_a_correction_that_makes_no_sense_is_refused(store: Store) -> None:
    old = store.add_reading(a_reading())
    for value in (None, float("nan")):
        with pytest.raises(BadEntry):
            store.correct(old.id, value, "chief chemist", "typed wrong")
    with pytest.raises(BadEntry, match="person correcting is empty"):
        store.correct(old.id, 1.0, "", "typed wrong")
    assert store.readings(DAY) == (old,)


def test_a_clock_without_a_zone_is_refused(tmp_path: Path) -> None:
    with (
        Store.open(tmp_path, now=lambda: dt.datetime(2026, 7, 14)) as store,  # noqa: DTZ001
        pytest.raises(BadEntry, match="must be UTC"),
    ):
        store.add_reading(a_reading())


def test_an_import_is_stored_whole_with_its_files(store: Store) -> None:
    batch = store.add_batch(DAY, "lab clerk", [FILE], [a_reading(0), a_reading(1)], [a_consignment()])
    assert store.batches(DAY) == (batch,)
    assert (batch.by, batch.files, batch.rows) == ("lab clerk", (FILE,), 2)
    assert {r.batch_id for r in store.readings(DAY)} == {batch.id}
    assert [c.ticket for c in store.consignments(DAY)] == ["1042"]


def test_an_import_with_one_bad_row_stores_nothing(store: Store) -> None:
    store.add_reading(a_reading(1))
    with pytest.raises(ConflictingReading):
        store.add_batch(DAY, "lab clerk", [FILE], [a_reading(0), a_reading(1)], [a_consignment()])
    with pytest.raises(ConflictingReading, match="repeats"):
        store.add_batch(DAY, "lab clerk", [FILE], [a_reading(5), a_reading(5)])
    with pytest.raises(RepeatedTicket):
        store.add_batch(DAY, "lab clerk", [FILE], [a_reading(0)], [a_consignment(), a_consignment()])
    with pytest.raises(BadEntry, match="own day"):
        store.add_batch(DAY, "lab clerk", [FILE], [a_reading(0), a_reading(2, day=dt.date(2026, 7, 15))])
    assert (len(store.readings(DAY)), store.consignments(DAY), store.batches(DAY)) == (1, (), ())


def test_a_long_list_of_conflicts_is_counted(store: Store) -> None:
    store.add_batch(DAY, "lab clerk", [FILE], [a_reading(n) for n in range(9)])
    with pytest.raises(ConflictingReading, match="and 4 more"):
        store.add_batch(DAY, "lab clerk", [], [a_reading(n) for n in range(9)])


def test_the_same_file_contents_are_taken_once_a_day_whatever_the_name(store: Store) -> None:
    store.add_batch(DAY, "lab clerk", [FILE], [a_reading(0)])
    renamed = ImportedFile("copy of meters.csv", FILE.sha256, 2)
    with pytest.raises(
        FileAlreadyImported, match=r"copy of meters.csv were imported for 2026-07-14 before, by lab clerk"
    ):
        store.add_batch(DAY, "lab clerk", [renamed], [a_reading(1)])
    with pytest.raises(FileAlreadyImported, match="same contents"):
        store.add_batch(DAY, "x", [ImportedFile("a.csv", "b" * 64, 1), ImportedFile("b.csv", "b" * 64, 1)])
    next_day = dt.date(2026, 7, 15)
    store.add_batch(next_day, "lab clerk", [FILE], [a_reading(0, day=next_day)])
    assert len(store.readings(DAY)) == 1


def test_a_second_different_import_adds_to_the_day(store: Store) -> None:
    store.add_batch(DAY, "lab clerk", [FILE], [a_reading(0)])
    store.add_batch(DAY, "lab clerk", [ImportedFile("laboratory.csv", "b" * 64, 1)], [a_reading(1)])
    assert [b.id for b in store.batches(DAY)] == [1, 2]
    assert len(store.readings(DAY)) == 2


def test_a_ticket_counts_once_a_season(store: Store) -> None:
    store.add_batch(DAY, "lab clerk", [FILE], [], [a_consignment()])
    later = dt.date(2026, 9, 1)
    with pytest.raises(RepeatedTicket, match="ticket 1042 is stored already, for 2026-07-14"):
        store.add_batch(later, "lab clerk", [], [], [a_consignment(day=later)])
    next_season = dt.date(2027, 7, 14)
    store.add_batch(next_season, "lab clerk", [], [], [a_consignment(day=next_season)])
    assert len(store.consignments(next_season)) == 1


def test_a_consignment_is_corrected_by_a_newer_one(store: Store) -> None:
    store.add_batch(DAY, "lab clerk", [FILE], [], [a_consignment()])
    (old,) = store.consignments(DAY)
    new = store.correct_consignment(old.id, "cane office", "two notes swapped", grower="farm 18")
    assert store.consignments(DAY) == (new,)
    assert (new.grower, new.block, new.ticket, new.tip_at) == ("farm 18", old.block, old.ticket, old.tip_at)
    assert store.consignment_history(old.id) == (old, new)
    with pytest.raises(AlreadyCorrected):
        store.correct_consignment(old.id, "cane office", "again", grower="farm 19")
    with pytest.raises(ReasonMissing):
        store.correct_consignment(new.id, "cane office", " ", grower="farm 19")


def test_a_closed_day_takes_nothing_until_it_is_reopened(store: Store) -> None:
    store.add_batch(DAY, "lab clerk", [FILE], [a_reading()], [a_consignment()])
    (old,), (load,) = store.readings(DAY), store.consignments(DAY)
    close(store, (old.id,))
    for act in (
        lambda: store.add_reading(a_reading(1)),
        lambda: store.add_batch(DAY, "lab clerk", [], [a_reading(1)]),
        lambda: store.correct(old.id, 1.0, "chief chemist", "typed wrong"),
        lambda: store.correct_consignment(load.id, "cane office", "swapped", grower="x"),
    ):
        with pytest.raises(DayClosed, match=r"2026-07-14 is closed .version 1.*Reopen"):
            act()
    store.reopen_day(DAY, "chief chemist", "late composite")
    store.correct(old.id, 1.0, "chief chemist", "typed wrong")
    assert [r.value for r in store.readings(DAY)] == [1.0]


def test_the_readings_of_one_place_over_days(store: Store) -> None:
    days = [DAY + dt.timedelta(days=n) for n in range(3)]
    for number, day in enumerate(days):
        store.add_reading(a_reading(number * 1440, day=day))
        store.add_reading(a_reading(number * 1440, day=day, place="W3"))
    store.correct(1, 7.0, "chief chemist", "typed wrong")
    assert [(r.day, r.value) for r in store.readings_of("W2", "mass", days[0], days[1])] == [
        (days[0], 7.0), (days[1], 1850.0),
    ]  # fmt: skip


def test_create_refuses_a_folder_that_holds_a_business(store: Store, tmp_path: Path) -> None:
    with pytest.raises(NotABusiness, match="exists already"):
        Store.create(tmp_path, now=Clock())


def test_a_damaged_or_foreign_file_is_refused_in_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "business.db").write_bytes(b"this is a letter, not a database\n" * 200)
    with pytest.raises(NotABusiness, match=r"cannot be opened: file is not a database"):
        Store.open(tmp_path, now=Clock())


def test_a_folder_that_cannot_be_made_is_refused_in_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file, not a folder", encoding="utf-8")
    with pytest.raises(NotABusiness, match="may be written"):
        Store.open(tmp_path / "taken", now=Clock())


def test_after_a_failed_write_nothing_more_is_accepted_until_the_business_is_opened_again(tmp_path: Path) -> None:
    with Store.create(tmp_path, now=Clock()) as store:
        store.add_reading(a_reading(0))
        with store._engine.connect() as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
            connection.exec_driver_sql(f"PRAGMA max_page_count={pages}")
        many = [a_reading(n) for n in range(1, 3000)]
        with pytest.raises(StoreFailed, match=r"disk is full.*not stored"):
            store.add_batch(DAY, "lab clerk", [FILE], many)
        with pytest.raises(StoreFailed, match="open the business again"):
            store.add_reading(a_reading(1))
        assert len(store.readings(DAY)) == 1
    with Store.open(tmp_path, now=Clock()) as store:
        store.add_batch(DAY, "lab clerk", [FILE], many)
        assert len(store.readings(DAY)) == 3000
        assert store.condition().faults == ()
