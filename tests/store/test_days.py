"""Closing and reopening days."""

from __future__ import annotations

import datetime as dt
import hashlib

import pytest

from canewright.quantity import Figure, Source
from canewright.store import (
    BadEntry,
    DayClosed,
    NothingToReopen,
    ReadingsChanged,
    ReasonMissing,
    Store,
    UnknownReading,
)
from store.samples import DAY, a_reading, close

PLANT = "[plant]\nname = 'trial'\n"


def test_a_closed_day_keeps_plant_figures_state_and_readings_as_they_were(store: Store) -> None:
    used = store.add_reading(a_reading()).id
    leaf = Figure("mixed juice", 410.1, "t", 1.6, reading=f"reading {used}")
    tree = Figure("pol in juice", 59.4397, "t/h", 0.2, how="mass × pol", inputs=(Source(leaf, 0.145, 1.0),))
    day = store.close_day(DAY, "chief chemist", PLANT, {tree.name: tree.to_json()}, {"scaled": [1e-12, None]}, [used])
    assert store.closed(DAY) == day
    assert (day.version, day.status, day.plant_text, day.readings_used) == (1, "closed", PLANT, (used,))
    assert day.plant_sha256 == hashlib.sha256(PLANT.encode()).hexdigest()
    assert Figure.from_json(day.figures["pol in juice"]) == tree
    assert day.state == {"scaled": [1e-12, None]}


def test_a_day_never_closed_has_no_closing(store: Store) -> None:
    assert store.closed(DAY) is None
    assert not store.is_closed(DAY)
    assert store.closings(DAY) == ()


def test_reopening_keeps_the_version_readable_and_the_next_closing_is_the_next_version(store: Store) -> None:
    close(store)
    before = store.closed(DAY)
    reopened = store.reopen_day(DAY, "chief chemist", "late molasses composite")
    assert reopened.status == "reopened"
    assert not store.is_closed(DAY)
    close(store)
    assert store.is_closed(DAY)
    first, second = store.closings(DAY)
    assert before is not None
    assert (first.version, first.figures, first.at, first.by) == (1, before.figures, before.at, before.by)
    assert first.reopened is not None
    assert first.reopened.reason == "late molasses composite"
    assert (second.version, second.reopened) == (2, None)
    assert store.closed(DAY, 1) == first
    assert store.closed(DAY) == second
    assert store.closed(DAY, 3) is None


def test_a_closed_day_is_not_closed_twice(store: Store) -> None:
    close(store)
    with pytest.raises(DayClosed, match="version 1"):
        close(store)
    assert len(store.closings(DAY)) == 1


def test_nothing_to_reopen(store: Store) -> None:
    with pytest.raises(NothingToReopen, match="2026-07-14 is not closed"):
        store.reopen_day(DAY, "chief chemist", "why not")
    close(store)
    store.reopen_day(DAY, "chief chemist", "late composite")
    with pytest.raises(NothingToReopen):
        store.reopen_day(DAY, "chief chemist", "once more")


def test_reopening_needs_a_reason_and_a_name(store: Store) -> None:
    close(store)
    with pytest.raises(ReasonMissing, match="say why"):
        store.reopen_day(DAY, "chief chemist", "  ")
    with pytest.raises(BadEntry, match="person reopening"):
        store.reopen_day(DAY, "", "late composite")
    assert store.is_closed(DAY)


def test_a_closing_from_a_reading_corrected_meanwhile_is_refused(store: Store) -> None:
    old = store.add_reading(a_reading())
    new = store.correct(old.id, 1.0, "chief chemist", "typed wrong")
    with pytest.raises(ReadingsChanged, match=f"Reading {old.id} was corrected by reading {new.id}"):
        close(store, (old.id,))
    close(store, (new.id,))
    assert store.is_closed(DAY)


def test_a_closing_from_an_unknown_reading_is_refused(store: Store) -> None:
    with pytest.raises(UnknownReading, match="names reading 41"):
        close(store, (41,))
    assert store.closed(DAY) is None


def test_a_closing_may_name_very_many_readings(store: Store) -> None:
    store.add_batch(DAY, "lab clerk", [], [a_reading(n) for n in range(1201)])
    numbers = tuple(r.id for r in store.readings(DAY))
    close(store, numbers)
    day = store.closed(DAY)
    assert day is not None
    assert day.readings_used == numbers


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), {1, 2}, object()])
def test_figures_that_cannot_be_kept_as_plain_data_are_refused(store: Store, bad: object) -> None:
    with pytest.raises(BadEntry, match="figures of the day cannot be kept"):
        store.close_day(DAY, "chief chemist", PLANT, {"x": bad}, {}, [])
    with pytest.raises(BadEntry, match="state of the day cannot be kept"):
        store.close_day(DAY, "chief chemist", PLANT, {}, {"x": bad}, [])
    assert store.closed(DAY) is None


def test_the_newest_closing_of_each_day_in_a_period(store: Store) -> None:
    days = [DAY + dt.timedelta(days=n) for n in range(4)]
    for day in days:
        close(store, day=day)
    store.reopen_day(days[1], "chief chemist", "late composite")
    store.reopen_day(days[2], "chief chemist", "late composite")
    close(store, day=days[2])
    found = store.closed_days(days[1], days[3])
    assert [(d.day, d.version, d.status) for d in found] == [
        (days[1], 1, "reopened"),
        (days[2], 2, "closed"),
        (days[3], 1, "closed"),
    ]
    assert store.days() == tuple(days)


def test_a_plant_description_used_often_is_kept_once(store: Store) -> None:
    for n in range(3):
        close(store, day=DAY + dt.timedelta(days=n))
    store.close_day(DAY + dt.timedelta(days=9), "chief chemist", "other", {}, {}, [])
    first, second = store.plant_versions()
    assert (first.text, second.text) == (PLANT, "other")
    assert first.first_used < second.first_used
