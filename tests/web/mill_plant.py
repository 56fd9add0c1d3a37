"""A small mill with three days of readings, for the tests of the pages."""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

from canewright.accounts.books import Books
from canewright.accounts.measuring import RUNNING
from canewright.plant.plant import Plant
from canewright.store import NewConsignment, NewReading, Store

CLOSED = dt.date(2026, 7, 14)
REOPENED = dt.date(2026, 7, 15)
OPEN = dt.date(2026, 7, 16)
ZONE = ZoneInfo("Etc/GMT-10")
HOURS = 21.5
NOISE = {"cane scale": 1.001, "juice scale": 0.998, "bagasse belt": 1.015, "water meter": 0.995}


def now() -> dt.datetime:
    """A standing clock."""
    return dt.datetime(2026, 7, 16, 22, 30, tzinfo=dt.UTC)


@cache
def plant() -> Plant:
    """The mill of ``mill.toml``."""
    return Plant.read(Path(__file__).with_name("mill.toml"))


def _end_of(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day + dt.timedelta(days=1), dt.time(6), tzinfo=ZONE)


@cache
def _truth() -> tuple[tuple[str, float], ...]:
    state = plant().predict({"sections.mill.hours": HOURS})
    return tuple((m.tag, state.measured(m.stream, m.quantity)) for m in plant().description.meters)


def _reading(day: dt.date, place: str, quantity: str, value: float, unit: str) -> NewReading:
    when = _end_of(day)
    return NewReading(day, place, quantity, round(value, 3), unit, "good", when, "shift chemist", "meters.csv row 2")


def _day(day: dt.date) -> list[NewReading]:
    true = dict(_truth())
    weighed = [_reading(day, tag, "mass", true[tag] * by, "t") for tag, by in NOISE.items()]
    brix = true["mixed juice brix"]
    analysed = [
        ("mixed juice", "refractometer reading", brix + 0.02, "%"),
        ("mixed juice", "temperature at the refractometer", 20.0, "°C"),
        ("mixed juice", "pol", true["mixed juice pol"] - 0.03, "%"),
        ("final bagasse", "pol", true["bagasse pol"] + 0.05, "%"),
        ("final bagasse", "mass before drying", 1000.0, "g"),
        ("final bagasse", "mass after drying", 1000.0 - 10.0 * true["bagasse moisture"], "g"),
    ]
    tickets = [
        _reading(day, f"ticket {n}", quantity, value, "t")
        for n in (1, 2)
        for quantity, value in (("gross mass", 47.52 + n), ("tare mass", 11.5))
    ]
    juices = [
        _reading(day, f"ticket {n}", quantity, value, unit)
        for n in (1, 2)
        for quantity, value, unit in (
            ("refractometer brix", 20.4, "%"),
            ("temperature", 22.0, "°C"),
            ("polarimeter reading", 75.2, "°Z"),
        )
    ]
    hours = _reading(day, "mill", RUNNING, HOURS, "h")
    stop = _reading(day, "mill", "stop: mill 2 choked", 24.0 - HOURS, "h")
    return [*weighed, *(_reading(day, *each) for each in analysed), *tickets, *juices, hours, stop]


def _consignments(day: dt.date) -> list[NewConsignment]:
    when = _end_of(day) - dt.timedelta(hours=5)
    return [NewConsignment(day, str(n), f"farm {n}", f"{n}-1", "green", when, "deliveries.csv row 2") for n in (1, 2)]


def fill(store: Store) -> Books:
    """A closed day, a day closed and reopened, and an open day with its readings."""
    books = Books(plant(), store)
    for number, day in enumerate((CLOSED, REOPENED, OPEN)):
        tickets = [] if number else _consignments(day)
        readings = [r for r in _day(day) if not (number and r.place.startswith("ticket "))]
        store.add_batch(day, "importer", [], readings, tickets)
    books.close(CLOSED, "chief chemist")
    books.close(REOPENED, "chief chemist")
    books.reopen(REOPENED, "chief chemist", "late result of the mixed juice")
    return books
