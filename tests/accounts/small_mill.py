"""A five-mill train with six readings a day, as a plant, as files and as books: small, so that a day closes at once."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from canewright.accounts.books import Books
from canewright.accounts.intake import import_day, read_day
from canewright.accounts.measuring import expected_points
from canewright.plant.plant import Plant
from canewright.store import Store
from plant.milling_train import TEXT as TRAIN

MONDAY, TUESDAY, WEDNESDAY = (dt.date(2031, 7, d) for d in (14, 15, 16))
HEAD = """[plant]
name = "small mill"
cut_hour = 6
zone = "Etc/GMT-10"
season_start = 2031-07-14
"""
METERS = """
[[meters]]
tag = "cane scale"
stream = "cane.cane"
quantity = "mass"
uncertainty = "0.2 %"

[[meters]]
tag = "juice scale"
stream = "screen.screened"
quantity = "mass"
uncertainty = "0.4 %"

[[meters]]
tag = "water meter"
stream = "imbibition.water"
quantity = "mass"
uncertainty = "1 %"

[[meters]]
tag = "juice brix"
stream = "screen.screened"
quantity = "refractometer brix"
uncertainty = 0.08
file = "laboratory"
sample = "mixed juice"

[[meters]]
tag = "juice pol"
stream = "screen.screened"
quantity = "pol"
uncertainty = 0.06
file = "laboratory"
sample = "mixed juice"

[[meters]]
tag = "bagasse pol"
stream = "mill 5.bagasse"
quantity = "pol"
uncertainty = 0.1
file = "laboratory"
sample = "bagasse"

[[meters]]
tag = "bagasse moisture"
stream = "mill 5.bagasse"
quantity = "moisture"
uncertainty = 0.5
file = "laboratory"
sample = "bagasse"

[sheet.targets]
"pol extraction" = 96.0

[sheet.better]
"pol extraction" = "higher"
"""
TEXT = TRAIN.replace('[plant]\nname = "reference train"\n', HEAD) + METERS
TEXT = TEXT.replace("on_fibre = 220", "on_fibre = { value = 220, uncertainty = 60 }")
METER_FILE = ("cane scale", "juice scale", "water meter")
Row = Sequence[object]


@cache
def small() -> Plant:
    """The small mill."""
    return Plant.from_text(TEXT)


@cache
def truth(hours: float, on_fibre: float) -> tuple[tuple[str, float], ...]:
    """What each meter would read of a day."""
    state = small().predict({"sections.mill.hours": hours, "imbibition.on_fibre": on_fibre})
    return tuple((m.tag, state.measured(m.stream, m.quantity)) for m in small().description.meters)


def rows_of(day: dt.date, true: Mapping[str, float], hours: float) -> dict[str, list[Row]]:
    """The rows of a day's files by file, without headers."""
    end = f"{day + dt.timedelta(days=1)} 05:00"
    weights: list[Row] = [(end, tag, f"{true[tag]:.2f}", "t", "good", "shift chemist") for tag in METER_FILE]
    dried = 1000.0 - 10.0 * true["bagasse moisture"]
    analyses = [
        ("mixed juice", "refractometer reading", true["juice brix"], "%"),
        ("mixed juice", "temperature at the refractometer", 20.0, "°C"),
        ("mixed juice", "pol", true["juice pol"], "%"),
        ("bagasse", "pol", true["bagasse pol"], "%"),
        ("bagasse", "mass before drying", 1000.0, "g"),
        ("bagasse", "mass after drying", dried, "g"),
    ]
    analysed: list[Row] = [(end, s, d, 0, f"{v:.3f}", u, "good", "shift chemist") for s, d, v, u in analyses]
    stop = dt.datetime.combine(day, dt.time(6)) + dt.timedelta(hours=hours)
    ran: list[Row] = [("mill", f"{day} 06:00", f"{stop:%Y-%m-%d %H:%M}", "running")]
    if hours < 24:
        ran.append(("mill", f"{stop:%Y-%m-%d %H:%M}", f"{day + dt.timedelta(days=1)} 06:00", "no cane"))
    return {"meters.csv": weights, "laboratory.csv": analysed, "hours.csv": ran}


HEADERS = {
    "meters.csv": ("time", "meter", "value", "unit", "quality", "by"),
    "laboratory.csv": ("time", "sample", "determination", "duplicate", "value", "unit", "quality", "by"),
    "hours.csv": ("section", "from", "to", "what"),
}


def write_files(folder: Path, rows: Mapping[str, Sequence[Row]]) -> Path:
    """The files of a day in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, listed in rows.items():
        with (folder / name).open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([HEADERS[name], *listed])
    return folder


def write_day(folder: Path, day: dt.date, hours: float = 24.0, on_fibre: float = 220.0) -> Path:
    """The files of a good day."""
    return write_files(folder, rows_of(day, dict(truth(hours, on_fibre)), hours))


def take_in(books: Books, folder: Path, day: dt.date) -> tuple[str, ...]:
    """Import a day's files; the notes on them."""
    d = books.description
    files = read_day(folder, day, expected_points(d), d.cut_hour, d.zone, sections=list(d.sections))
    return import_day(books.store, files, "shift chemist").notes


def now() -> dt.datetime:
    """A standing clock."""
    return dt.datetime(2031, 7, 20, 1, tzinfo=dt.UTC)


@contextmanager
def opened(folder: Path) -> Iterator[Books]:
    """The books of a folder."""
    with Store.open(folder, now=now) as store:
        yield Books(small(), store)
