"""Agreements and deliveries of an invented season for the tests of payment."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from canewright.cane.deliveries import Delivery
from canewright.cane.season import Season
from canewright.cane.season_reading import read_season

FIRST = dt.date(2031, 6, 2)
SEASON = """
[season]
name = "2031"
first_day = 2031-06-02
last_day = 2031-06-22

[schemes.main]
scheme = "classic CCS price"
relative = "{relative}"
season_mean = "13.20"
[[schemes.main.terms]]
from = 2031-06-02
sugar_price = "420.00"
constant = "0.578"
[schemes.main.final]
sugar_price = "430.00"
constant = "0.578"

[[agreements]]
growers = "all"
scheme = "main"

[[periods]]
from = 2031-06-02
to = 2031-06-08
advance = "0.70"
[[periods]]
from = 2031-06-09
to = 2031-06-15
advance = "0.80"
[[periods]]
from = 2031-06-16
to = 2031-06-22
advance = "0.90"
{more}
"""
WEEKS = ((1000, 500), (800, 1200), (600, 900))
QUALITIES = (("11.8", "12.6"), ("13.4", "14.1"), ("12.2", "12.9"))
GROWERS = ("Heron Flats", "Long Reach")


def agreement(relative: str = "none", more: str = "") -> Season:
    """The season of three weekly periods."""
    return read_season(SEASON.format(relative=relative, more=more))


def using(
    scheme: str,
    constants: Mapping[str, str],
    version: int = 1,
    relative: str = "none",
    more: str = "",
    rounding: str = "",
) -> Season:
    """A season of one period of three weeks, everybody paid by one scheme."""
    terms = "\n".join(f'{name} = "{value}"' for name, value in constants.items())
    return read_season(
        f"""
[season]
name = "2031"
first_day = 2031-06-02
last_day = 2031-06-22
[rounding]
{rounding}
[schemes.main]
scheme = "{scheme}"
version = {version}
relative = "{relative}"
season_mean = "13.20"
[[schemes.main.terms]]
from = 2031-06-02
{terms}
[schemes.main.final]
{terms}
[[agreements]]
scheme = "main"
[[periods]]
from = 2031-06-02
to = 2031-06-22
{more}
"""
    )


def load(ticket: str, net: str = "36.00", day: int = 0, grower: str = GROWERS[0], **readings: str) -> Delivery:
    """A consignment; readings by name with underscores, CCS as ``ccs``."""
    return read_as(ticket, readings, net, day, grower)


def read_as(
    ticket: str, readings: Mapping[str, str], net: str = "36.00", day: int = 0, grower: str = GROWERS[0]
) -> Delivery:
    """The same with the readings in one table."""
    named = {"CCS" if k == "ccs" else k.replace("_", " "): Decimal(v) for k, v in readings.items()}
    when = FIRST + dt.timedelta(days=day)
    return Delivery(ticket, when, grower, "home farm", "B7", Decimal(net), named, 0.15)


def three_weeks() -> list[Delivery]:
    """Two growers in three weeks: tonnes and CCS of a case worked by hand."""
    return [
        load(f"{week}-{g}", str(WEEKS[week][g]), 7 * week, GROWERS[g], ccs=QUALITIES[week][g])
        for week in range(3)
        for g in range(2)
    ]
