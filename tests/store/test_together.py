"""Several people at once: everyone's readings are stored, once each."""

from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from canewright.store import ConflictingReading, Store, StoreBusy, dialect
from store.samples import DAY, Clock, a_reading


def test_readings_entered_by_several_people_at_once_are_all_stored(store: Store) -> None:
    def enter(person: int) -> None:
        for number in range(20):
            store.add_reading(a_reading(number, place=f"meter {person}", entry_key=f"{person}/{number}"))

    with ThreadPoolExecutor(4) as people:
        list(people.map(enter, range(4)))
    assert len(store.readings(DAY)) == 80
    assert store.condition().faults == ()


def test_the_same_save_sent_by_several_at_once_is_stored_once(store: Store) -> None:
    new = a_reading(entry_key="form 7")
    with ThreadPoolExecutor(4) as people:
        stored = set(people.map(lambda _: store.add_reading(new), range(12)))
    assert len(stored) == 1
    assert len(store.readings(DAY)) == 1


def test_only_one_of_several_equal_readings_is_taken(store: Store) -> None:
    def enter(number: int) -> bool:
        try:
            store.add_reading(a_reading(value=float(number)))
        except ConflictingReading:
            return False
        return True

    with ThreadPoolExecutor(4) as people:
        assert sum(people.map(enter, range(12))) == 1
    assert len(store.readings(DAY)) == 1


def test_a_new_business_opened_by_several_programs_at_once_is_made_once(tmp_path: Path) -> None:
    def begin(number: int) -> None:
        with Store.open(tmp_path, now=Clock()) as mine:
            mine.add_reading(a_reading(number))

    with ThreadPoolExecutor(4) as programs:
        list(programs.map(begin, range(8)))
    with Store.open(tmp_path, now=Clock()) as after:
        assert len(after.readings(DAY)) == 8
        assert after.condition().faults == ()


def test_records_held_by_another_program_say_so_and_take_the_entry_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dialect, "BUSY_SECONDS", 0)
    with Store.open(tmp_path, now=Clock()) as store:
        other = sqlite3.connect(tmp_path / "business.db", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreBusy, match=r"nothing was stored\. Try again"):
            store.add_reading(a_reading())
        other.execute("ROLLBACK")
        other.close()
        store.add_reading(a_reading())
        assert len(store.readings(DAY)) == 1
