"""A season of the small mill with a bagasse weigher: the juice scale reads more and more from the fifteenth day on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import numpy as np

from accounts.small_mill import MONDAY, TEXT, now, rows_of, take_in, truth, write_files
from canewright.accounts.books import Books
from canewright.plant.plant import Plant
from canewright.store import Store

WEIGHED = TEXT.replace(
    "[sheet.targets]",
    '[[meters]]\ntag = "bagasse scale"\nstream = "mill 5.bagasse"\nquantity = "mass"\nuncertainty = "0.8 %"\n\n'
    "[sheet.targets]",
)

DAYS, BEGINS, RATE = 40, 15, 0.1
"""Days of the season, the first with an error, and the error's growth in % a day."""
NOISE = {"cane scale": 0.0014, "juice scale": 0.0028, "water meter": 0.007, "bagasse scale": 0.0056}
ANALYSES = {"juice brix": 0.05, "juice pol": 0.04, "bagasse pol": 0.07, "bagasse moisture": 0.35}


@cache
def weighed() -> Plant:
    """The small mill with a bagasse weigher."""
    return Plant.from_text(WEIGHED)


@contextmanager
def opened(folder: Path) -> Iterator[Books]:
    """The books of a folder."""
    with Store.open(folder, now=now) as store:
        yield Books(weighed(), store)


def day_of(number: int) -> dt.date:
    """The date of a day of the season, counted from 0."""
    return MONDAY + dt.timedelta(days=number)


def error_of(number: int) -> float:
    """How much more the juice scale reads on a day, %."""
    return RATE * max(0, number - BEGINS + 1)


@cache
def _bagasse() -> float:
    state = weighed().predict({"sections.mill.hours": 24.0, "imbibition.on_fibre": 220.0})
    return state.measured("mill 5.bagasse", "mass")


def read_on(number: int, seed: int, *, faulty: bool = True) -> dict[str, float]:
    """What the meters read on a day: the truth with noise, the juice scale with its error."""
    chance = np.random.default_rng([seed, number])
    read = dict(truth(24.0, 220.0)) | {"bagasse scale": _bagasse()}
    for tag, u in NOISE.items():
        read[tag] *= 1.0 + u * chance.standard_normal()
    for tag, u in ANALYSES.items():
        read[tag] += u * chance.standard_normal()
    if faulty:
        read["juice scale"] *= 1.0 + 0.01 * error_of(number)
    return read


def close_season(books: Books, folder: Path, *, faulty: bool = True, seed: int = 1, count: int = DAYS) -> None:
    """Import and close the days of the season."""
    for number in range(count):
        day = day_of(number)
        read = read_on(number, seed, faulty=faulty)
        rows = rows_of(day, read, 24.0)
        end = rows["meters.csv"][0][0]
        weight = (end, "bagasse scale", f"{read['bagasse scale']:.2f}", "t", "good", "shift chemist")
        files = write_files(folder / day.isoformat(), {**rows, "meters.csv": [*rows["meters.csv"], weight]})
        take_in(books, files, day)
        books.close(day, "chief chemist")
