"""What the tests of the store share: a clock that is told the time, and readings of an invented mill."""

from __future__ import annotations

import datetime as dt
import sqlite3
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from canewright.store import NewConsignment, NewReading, NewTrial, Store

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
    store.close_day(day, "chief chemist", "[plant]\nname = 'trial'\n", {"cane": {"value": 1.0}}, {"pol": 14.7}, used)


def raw(folder: Path) -> sqlite3.Connection:
    """The file opened behind the store's back, with none of its settings."""
    return sqlite3.connect(folder / "business.db", isolation_level=None)
