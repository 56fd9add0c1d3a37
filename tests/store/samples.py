"""What the tests of the store share: a clock that is told the time, and readings of an invented mill."""

from __future__ import annotations

import datetime as dt
import sqlite3
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from canewright.store import (
    DayOfImport,
    ImportedFile,
    NewConsignment,
    NewNote,
    NewProposal,
    NewReading,
    NewRegisterEntry,
    NewTrial,
    Season,
    Store,
)

DAY = dt.date(2026, 7, 14)
START = dt.datetime(2026, 7, 14, 20, 0, tzinfo=dt.UTC)
"""06:00 of the next morning at a plant ten hours ahead of UTC; any moment will do."""


@dataclass
class Clock:
    """A clock that moves on one second each time it is read."""

    moment: dt.datetime = field(default=START)

    def __call__(self) -> dt.datetime:
        """The next second."""
        self.moment += dt.timedelta(seconds=1)
        return self.moment


def a_reading(number: int = 0, **changes: Any) -> NewReading:
    """A mixed-juice mass reading; each number is another minute of the day."""
    usual: dict[str, Any] = {
        "day": DAY,
        "place": "W2",
        "quantity": "mass",
        "value": 410.0 + number,
        "unit": "t",
        "quality": "good",
        "taken_at": dt.datetime(2026, 7, 13, 20, 0, tzinfo=dt.UTC) + dt.timedelta(minutes=number),
        "taken_by": "shift chemist",
        "source": "keyboard",
    }
    return NewReading(**(usual | changes))


def a_consignment(ticket: str = "1042", **changes: Any) -> NewConsignment:
    """A consignment of cane."""
    usual: dict[str, Any] = {
        "day": DAY,
        "ticket": ticket,
        "grower": "farm 17",
        "block": "17-3",
        "fibre_class": "green late",
        "tip_at": dt.datetime(2026, 7, 13, 22, 30, tzinfo=dt.UTC),
        "source": "deliveries.csv row 2",
    }
    return NewConsignment(**(usual | changes))


def a_trial(**changes: Any) -> NewTrial:
    """A what-if trial with a figure of its answer."""
    row = {"name": "pol extraction", "unit": "%", "group": "mill", "decimals": 2, "base": 96.0, "then": 96.2}
    usual: dict[str, Any] = {
        "day": DAY,
        "by": "chief chemist",
        "name": "more imbibition",
        "changes": {"imbibition.on_fibre": 230.0},
        "result": {"changes": [], "rows": [row | {"change": 0.2, "uncertainty": 0.04}], "warnings": []},
        "plant_text": "[plant]",
    }
    return NewTrial(**(usual | changes))


def close(store: Store, used: tuple[int, ...] = (), day: dt.date = DAY) -> None:
    """Close the day with one figure."""
    store.close_day(day, "chief chemist", PLANT, {"cane": {"value": 1.0}}, {"pol": 14.7}, used)


PLANT = "[plant]\nname = 'trial'\n"


def a_season(store: Store, version: int = 1) -> Season:
    """A smoothed season that proposes a correction of the day."""
    figures = [{"name": "cane", "published": 1.0, "proposed": 1.1}]
    wrong = NewProposal(DAY, version, figures, [{"name": "W2", "kind": "gain", "value": 3.0, "uncertainty": 0.3}])
    return store.add_season(DAY, DAY, "chief chemist", PLANT, {"days": [DAY.isoformat()]}, [wrong])


def a_decided_season(store: Store) -> None:
    """A season whose proposal was declined."""
    a_season(store)
    store.decide(store.proposals()[-1].id, "declined", "chief chemist", "the weigher was checked")


def raw(folder: Path) -> sqlite3.Connection:
    """The file opened behind the store's back, with none of its settings."""
    return sqlite3.connect(folder / "business.db", isolation_level=None)


def a_note(ticket: str = "2001", **changes: Any) -> NewNote:
    """A consignment note."""
    usual: dict[str, Any] = {
        "day": DAY,
        "ticket": ticket,
        "harvest_group": "group 3",
        "carrier": "mill railway",
        "cut_at": dt.datetime(2026, 7, 13, 12, 0, tzinfo=dt.UTC),
        "arrived_at": dt.datetime(2026, 7, 13, 21, 0, tzinfo=dt.UTC),
        "sampled_from": None,
        "sampled_to": None,
        "source": "season.csv row 2",
        "bins": ("b1", "b2"),
    }
    return NewNote(**(usual | changes))


def an_entry(key: str = "17-3", **changes: Any) -> NewRegisterEntry:
    """An entry of the block register."""
    usual: dict[str, Any] = {
        "register": "block",
        "key": key,
        "valid_from": dt.date(2026, 1, 1),
        "details": {"area": 12.5, "variety": "early 1"},
        "source": "blocks.csv row 2",
    }
    return NewRegisterEntry(**(usual | changes))


def fill_cane(store: Store) -> None:
    """A row, and where there may be one a correction, in every table of the cane supply; the day must be open."""
    file = ImportedFile("season.csv", "c" * 64, 1)
    store.add_days("cane office", [DayOfImport(DAY, [file], (), [a_consignment("2001")], [a_note()])])
    store.correct_note(1, {"carrier": "lorry"}, "cane office", "hauled by road")
    store.rule_on_sample(DAY, "2001", "rejected", "juice spilt", "chief chemist")
    store.add_register_entries([an_entry(), an_entry("17-4")], "cane office")
    store.correct_register_entry(1, dt.date(2026, 1, 1), {"area": 12.0}, "cane office", "measured again")
    store.grant_access("farm 17", "A. Grower", "a long key", "cane office")
    store.withdraw_access(1, "cane office", "key lost")


def fill_harvest(store: Store) -> None:
    """A harvest plan, and the plan that replaced it."""
    store.add_harvest_plan("2026", DAY, {"value": 1.5}, "planner", None)
    store.add_harvest_plan("2026", DAY, {"value": 1.25}, "planner", "rain")
