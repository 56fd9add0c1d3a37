"""What past, ledgers and waters say, on the way from the files to the day sheet of a small mill."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest

from accounts.small_mill import MONDAY, TEXT, TUESDAY, WEDNESDAY, now, rows_of, truth, write_day, write_files
from canewright.accounts.books import Books
from canewright.accounts.intake import import_day, read_day
from canewright.accounts.measuring import expected_points
from canewright.plant.plant import Plant
from canewright.store import Store

TABLES = """
[movements]
"bagasse received" = "0.2 %"
"bagasse sent" = "0.2 %"

[[ledgers]]
store = "bagasse heap"
opening = 500
receipts = ["bagasse received"]
issues = ["bagasse sent"]
survey = 1.0

[[traces]]
sample = "imbibition water"
stream = "imbibition.water"
limit = 20
to_boilers = true
"""


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The small mill with a watched water and a heap kept by book."""
    return Plant.from_text(TEXT + TABLES)


@pytest.fixture
def books(plant: Plant, tmp_path: Path) -> Iterator[Books]:
    """Books without a day."""
    with Store.open(tmp_path / "business", now=now) as store:
        yield Books(plant, store)


def take_in(books: Books, folder: Path, day: dt.date) -> tuple[str, ...]:
    """Import a day's files; what speaks at once."""
    d = books.description
    files = read_day(folder, day, expected_points(d), d.cut_hour, d.zone, sections=list(d.sections))
    return import_day(books.store, files, "shift chemist").alarms


def day_with(folder: Path, day: dt.date, sugar: float) -> Path:
    """The files of a good day with sugar found in the imbibition water."""
    rows = rows_of(day, dict(truth(24.0, 220.0)), 24.0)
    end = f"{day + dt.timedelta(days=1)} 05:00"
    rows["laboratory.csv"].append((end, "imbibition water", "sugar", 0, f"{sugar:g}", "mg/kg", "good", "analyst"))
    return write_files(folder, rows)


def moved(rows: list[tuple[str, float]], folder: Path, day: dt.date, stock: float | None) -> Path:
    """The files of a good day with loads and a stock of the heap."""
    files = rows_of(day, dict(truth(24.0, 220.0)), 24.0)
    for hour, (tag, mass) in enumerate(rows, start=8):
        files["meters.csv"].append((f"{day} {hour:02d}:00", tag, f"{mass:.2f}", "t", "good", "weighbridge"))
    written = write_files(folder, files)
    if stock is not None:
        end = f"{day + dt.timedelta(days=1)} 05:00"
        (written / "stocks.csv").write_text(
            f"time,store,value,unit,quality,by\n{end},bagasse heap,{stock:g},t,good,clerk\n", encoding="utf-8"
        )
    return written


def test_sugar_above_the_limit_speaks_at_import_and_on_the_sheet(books: Books, tmp_path: Path) -> None:
    said = take_in(books, day_with(tmp_path / "monday", MONDAY, 45.0), MONDAY)
    assert len(said) == 1
    assert "imbibition water: sugar 45 mg/kg is above its limit of 20 mg/kg" in said[0]
    matters = books.close(MONDAY, "chemist").figures["attention"]
    (water,) = [m for m in matters if m["about"] == ["imbibition water"]]
    assert water["what"] == "sugar in imbibition water"
    assert "divert" in water["act"]


def test_clean_water_says_nothing(books: Books, tmp_path: Path) -> None:
    assert take_in(books, day_with(tmp_path / "monday", MONDAY, 3.0), MONDAY) == ()
    assert not [m for m in books.close(MONDAY, "c").figures["attention"] if "imbibition water" in m["about"]]


def test_a_load_entered_twice_is_told_at_the_stock_take(books: Books, tmp_path: Path) -> None:
    take_in(books, moved([("bagasse received", 87.44)], tmp_path / "a", MONDAY, None), MONDAY)
    loads = [("bagasse received", 87.44), ("bagasse sent", 40.0), ("bagasse sent", 41.5)]
    take_in(books, moved(loads, tmp_path / "b", TUESDAY, 506.0), TUESDAY)
    books.close(MONDAY, "chemist")
    matters = books.close(TUESDAY, "chemist").figures["attention"]
    (gap,) = [m for m in matters if "than its book" in m["what"]]
    assert gap["about"][0] == "bagasse received"
    assert "and the same again on 2031-07-15" in gap["why"]


def test_a_day_closed_again_is_told_once_on_the_next_sheet(books: Books, tmp_path: Path) -> None:
    for day in (MONDAY, TUESDAY, WEDNESDAY):
        take_in(books, write_day(tmp_path / day.isoformat(), day), day)
    books.close(MONDAY, "chemist")
    books.reopen(MONDAY, "chemist", "slip of the juice scale misread")
    scale = next(r for r in books.store.readings(MONDAY) if r.place == "juice scale")
    books.store.correct(scale.id, float(scale.value or 0.0) * 0.99, "chemist", "slip misread")
    books.close(MONDAY, "chemist", "slip of the juice scale misread")
    note = next(n for n in books.close(TUESDAY, "chemist").figures["notes"] if "closed again" in n)
    assert "2031-07-14 was closed again by chemist (slip of the juice scale misread)" in note
    assert "version 1 stays readable" in note
    assert "juice scale, mass:" in note
    assert "mixed juice " in note
    assert not [n for n in books.close(WEDNESDAY, "chemist").figures["notes"] if "closed again" in n]
