"""The small mill with prices, handles, limits and a response, so that advice can be asked for at once."""

from __future__ import annotations

import datetime as dt
from functools import cache
from pathlib import Path

from accounts.small_mill import TEXT as MILL
from accounts.small_mill import truth
from canewright.plant.advising import Adviser
from canewright.plant.plant import Plant, Reconciled, State

MONEY = """
[[prices]]
what = "juice"
stream = "screen.screened"
kind = "income"
price = 30
unit = "$/t"

[[prices]]
what = "imbibition water, its evaporation counted"
stream = "imbibition.water"
kind = "cost"
price = 12
unit = "$/t"

[[prices]]
what = "bagasse"
stream = "mill 5.bagasse"
kind = "income"
price = 20
unit = "$/t"

[[prices]]
what = "power bought"
stream = "grid.power"
kind = "cost"
price = 140
unit = "$/MWh"

[[advice.moves]]
setting = "imbibition.on_fibre"
low = 150
high = 300
step = 40
tried = [200, 245]

[[advice.moves]]
setting = "mill 5.moisture"
low = 46
high = 52
step = 2
tried = [48, 51]

[[advice.moves]]
setting = "mill 1.moisture"
low = 50
high = 58
step = 2
tried = [53, 55]

[[advice.responses]]
move = "imbibition.on_fibre"
setting = "mill 5.imbibition_coefficient"
"""
LIMIT = """
[[advice.limits]]
says = "brix of mixed juice"
stream = "screen.screened"
quantity = "refractometer brix"
low = 14.6
probability = 0.9
"""
TEXT = (MILL + MONEY + LIMIT).replace(
    "imbibition_coefficient = 0.76", "imbibition_coefficient = { value = 0.76, uncertainty = 0.04 }"
)


@cache
def advised() -> Plant:
    """The mill."""
    return Plant.from_text(TEXT)


@cache
def adviser() -> Adviser:
    """Its adviser, traced once for all tests."""
    return Adviser(advised())


@cache
def state() -> State:
    """The mill as described."""
    return advised().predict()


@cache
def today() -> Reconciled:
    """A reconciled day on which every meter reads the truth."""
    return advised().reconcile(dict(truth(24.0, 220.0)), start=state())


def with_limit(low: float, more: str = "") -> str:
    """The mill with another limit on brix, and more text behind it."""
    assert TEXT.count("low = 14.6") == 1
    return TEXT.replace("low = 14.6", f"low = {low!r}") + more


def day(number: int) -> dt.date:
    """A day of July."""
    return dt.date(2031, 7, number)


def write(path: Path, text: str = TEXT) -> Path:
    """The description as a file."""
    path.write_text(text, encoding="utf-8")
    return path
