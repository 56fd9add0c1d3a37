"""A small mill with tickets of two weeks, its agreement, and the persons who pay."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from canewright.accounts.pay_office import PayOffice
from canewright.accounts.pay_people import ADMINISTER, APPROVE, OWN, PREPARE, People, Signed
from canewright.store import NewConsignment, NewReading, Store
from web.mill_plant import plant

FIRST = dt.date(2026, 7, 6)
SECRET = "three white stones"  # noqa: S105 (opens nothing outside these tests)
OFFICER, ACCOUNTANT, CHEMIST = "cane supply officer", "accountant", "factory chemist"
GROWERS = ("farm 1", "farm 2")
AGREEMENT = """
[season]
name = "2026"
first_day = 2026-07-06
last_day = 2026-07-19

[schemes.main]
scheme = "classic CCS price"
relative = "additive"
season_mean = "13.20"
[[schemes.main.terms]]
from = 2026-07-06
sugar_price = "420.00"
constant = "0.578"
[schemes.main.final]
sugar_price = "430.00"
constant = "0.578"

[[agreements]]
growers = "all"
scheme = "main"

[[periods]]
from = 2026-07-06
to = 2026-07-12
advance = "0.70"
[[periods]]
from = 2026-07-13
to = 2026-07-19
advance = "0.90"

[[levies]]
name = "research levy"
rate = "0.35"

[mill]
recovery = "90"
sugar_price = "430"
"""


def no_chance(count: int) -> bytes:
    """Octets that anybody could guess; a test needs no other."""
    return bytes(range(count))


def _reading(day: dt.date, place: str, quantity: str, value: float, unit: str) -> NewReading:
    when = dt.datetime.combine(day, dt.time(2), tzinfo=dt.UTC)
    return NewReading(day, place, quantity, value, unit, "good", when, "shift chemist", "deliveries.csv row 2")


def add_tickets(store: Store, day: dt.date, count: int = 4) -> None:
    """Consignments of a day, two for each grower; the last one has no juice sample."""
    readings, notes = [], []
    when = dt.datetime.combine(day, dt.time(3), tzinfo=dt.UTC)
    for number in range(count):
        ticket = f"{day:%m%d}-{number + 1}"
        place = f"ticket {ticket}"
        notes.append(
            NewConsignment(day, ticket, GROWERS[number % 2], f"{number % 2 + 1}-{number}", "green", when, "row 2")
        )
        readings.append(_reading(day, place, "gross mass", 46.5 + number, "t"))
        readings.append(_reading(day, place, "tare mass", 11.5, "t"))
        if number < count - 1:
            readings.append(_reading(day, place, "refractometer brix", 20.1 + 0.3 * number, "%"))
            readings.append(_reading(day, place, "temperature", 22.0, "°C"))
            readings.append(_reading(day, place, "polarimeter reading", 74.0 + number, "°Z"))
    store.add_batch(day, "importer", [], readings, notes)


@dataclass
class Paying:
    """A pay office and the persons signed in."""

    office: PayOffice
    people: People
    officer: Signed
    accountant: Signed
    chemist: Signed
    grower: Signed

    def agree(self, text: str = AGREEMENT, reason: str = "signed") -> None:
        """Enter an agreement."""
        self.office.enter_agreement(self.officer, text, reason)

    def close(self, number: int, version: int = 1) -> None:
        """Two approve, one closes."""
        self.office.approve(self.officer, "2026", number, version)
        self.office.approve(self.accountant, "2026", number, version)
        self.office.close(self.accountant, "2026", number, version)


def open_office(store: Store) -> Paying:
    """Persons recorded, tickets of two days stored; no agreement yet."""
    people = People(store, no_chance)
    officer = people.record(None, OFFICER, [ADMINISTER, PREPARE, APPROVE], SECRET, "takes up the post")
    accountant = people.record(officer, ACCOUNTANT, [APPROVE], SECRET, "takes up the post")
    chemist = people.record(officer, CHEMIST, ["read"], SECRET, "looks on")
    grower = people.record(officer, "Ada of farm 1", [OWN], SECRET, "asked for it", "farm 1")
    add_tickets(store, FIRST)
    add_tickets(store, FIRST + dt.timedelta(days=8))
    return Paying(PayOffice(store, plant().description), people, officer, accountant, chemist, grower)
