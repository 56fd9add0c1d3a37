"""A season's deliveries: read from a file and checked whole, stored all or nothing, and taken out again as columns."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from canewright.accounts.cane_cells import ROW, Bad, read_columns
from canewright.accounts.cane_formats import CANE_FORMATS, SEASON_DELIVERIES
from canewright.accounts.cane_notes import Known, check_rows
from canewright.accounts.cane_registers import registers_of
from canewright.accounts.formats import Problem
from canewright.cane.class_fibre import mislabels
from canewright.store import (
    Batch,
    DayOfImport,
    FileAlreadyImported,
    ImportedFile,
    NewConsignment,
    NewNote,
    NewReading,
    Quality,
    Store,
)

JUICE_BRIX, JUICE_POL, FIBRE = "juice brix", "juice pol", "fibre"
TIMES = ("cut", "arrived", "tipped", "sampled from", "sampled to")
FIRST, LAST = dt.date(1900, 1, 1), dt.date(9999, 12, 31)
Say = Callable[[str], None]


@dataclass(frozen=True)
class Site:
    """What a site's clock needs: the hour at which the factory day is cut, and its time zone."""

    cut_hour: int
    zone: ZoneInfo


@dataclass(frozen=True)
class SeasonFile:
    """A file of deliveries found right: its rows with what the registers add, times in UTC, and notes in words."""

    file: ImportedFile
    frame: pl.DataFrame
    notes: tuple[str, ...]


def known_of(store: Store, site: Site) -> Known:
    """What the store knows that new deliveries must agree with."""
    stored = store.consignments_between(FIRST, LAST)
    closed = _closed_days(store)
    last: dict[str, dt.date] = {}
    for each in stored:
        last[each.block] = max(each.day, last.get(each.block, each.day))
    return Known(registers_of(store), site.cut_hour, closed, {each.ticket: each.day for each in stored}, last)


def _closed_days(store: Store) -> frozenset[dt.date]:
    return frozenset(each.day for each in store.closed_days(FIRST, LAST) if each.reopened is None)


def read_season(data: bytes, name: str, known: Known, site: Site) -> SeasonFile:
    """Read and check a file of deliveries. Raises IntakeErrors with every bad row."""
    bad = Bad(SEASON_DELIVERIES)
    frame = check_rows(read_columns(SEASON_DELIVERIES, data, bad), known, bad)
    frame = _in_utc(frame, site, bad)
    bad.raise_any()
    file = ImportedFile(name, hashlib.sha256(data).hexdigest(), frame.height)
    return SeasonFile(file, frame, tuple(_notes(frame)))


def _in_utc(frame: pl.DataFrame, site: Site, bad: Bad) -> pl.DataFrame:
    """Local times into UTC; a time that the clock change left out or gave twice is noted."""
    zone = site.zone.key
    moved = frame.with_columns(
        pl.col(name).dt.replace_time_zone(zone, ambiguous="null", non_existent="null").dt.convert_time_zone("UTC")
        for name in TIMES
    )
    for name in TIMES:
        lost = frame.select(ROW, text=pl.col(name)).with_columns(moved[name].alias("utc"))
        bad.where(
            lost, pl.col("utc").is_null() & pl.col("text").is_not_null(), name,
            lambda row: Problem(
                f"'{row['text']}', in the hour of a clock change", "a time the clock showed once", "move it by minutes"
            ),
        )  # fmt: skip
    return moved


def _notes(frame: pl.DataFrame) -> list[str]:
    """What is no fault but should be known."""
    told = []
    lacking = frame.filter(~pl.col("quality").is_in(["good", "estimated"])).height
    if lacking:
        told.append(f"{lacking} of {frame.height} consignments have no usable juice; the fall-back ladder values them")
    pooled = frame.filter(
        pl.col("sampled from").is_not_null() & pl.struct("sampled from", "sampled to").is_duplicated()
    )
    if pooled.height:
        told.append(f"{pooled.height} consignments share a sample: its result counts for each and is told to each")
    other = frame.filter(pl.col("farm_group") != pl.col("harvest group")).height
    if other:
        told.append(f"{other} consignments were cut by another group than the farm's own")
    labelled = frame.rename({"harvest group": "harvest_group", "fibre class": "fibre_class", "factory day": "day"})
    told += [each.says() for each in mislabels(labelled)]
    return told


def import_season(store: Store, read: SeasonFile, by: str, say: Say | None = None) -> tuple[Batch, ...]:
    """Store a file of deliveries: every day of it, or nothing. Raises the store's errors."""
    first = read.frame["factory day"].min()
    before = store.batches(first) if isinstance(first, dt.date) else ()
    if any(read.file.sha256 == each.sha256 for batch in before for each in batch.files):
        raise FileAlreadyImported(f"{read.file.name} was imported before with the same contents; nothing was stored.")
    parts = []
    for (day,), rows in read.frame.sort("factory day", ROW).group_by(["factory day"], maintain_order=True):
        if isinstance(day, dt.date):
            parts.append(_day(day, rows, read.file, by))

    def told(day: dt.date, number: int) -> None:
        if say is not None:
            say(f"storing {day}, day {number} of {len(parts)}")

    return store.add_days(by, parts, told)


def _day(day: dt.date, rows: pl.DataFrame, file: ImportedFile, by: str) -> DayOfImport:
    readings: list[NewReading] = []
    consignments, notes = [], []
    for row in rows.iter_rows(named=True):
        source = f"{file.name} row {row[ROW]}"
        ticket = row["ticket"]
        consignments.append(
            NewConsignment(day, ticket, row["grower"], row["block"], row["fibre class"], row["tipped"], source)
        )
        bins = tuple(each.strip() for each in (row["bins"] or "").split(";") if each.strip())
        cut, came, began, ended = (row[name] for name in ("cut", "arrived", "sampled from", "sampled to"))
        notes.append(NewNote(day, ticket, row["harvest group"], row["carrier"], cut, came, began, ended, source, bins))
        readings += _readings(day, row, by, source)
    one = ImportedFile(file.name, file.sha256, rows.height)
    return DayOfImport(day, [one], readings, consignments, notes)


def _readings(day: dt.date, row: Mapping[str, Any], by: str, source: str) -> list[NewReading]:
    place, tipped = f"ticket {row['ticket']}", row["tipped"]
    sampled = row["sampled from"] or tipped
    made = [
        NewReading(day, place, name, row[short], "t", "good", tipped, by, source)
        for name, short in (("gross mass", "gross"), ("tare mass", "tare"))
    ]
    for name in (JUICE_BRIX, JUICE_POL):
        quality: Quality = "missing" if row[name] is None else row["quality"]
        made.append(NewReading(day, place, name, row[name], "%", quality, sampled, by, source))
    if row[FIBRE] is not None:
        made.append(NewReading(day, place, FIBRE, row[FIBRE], "%", "good", sampled, by, source))
    return made


def blank_files(names: Sequence[str] = ()) -> dict[str, str]:
    """Header rows of the cane files by name, for a person to fill in; all of them when none is named."""
    wanted = [form for form in CANE_FORMATS if not names or form.name in names]
    return {form.name: ",".join(_quoted(header) for header in form.headers) + "\n" for form in wanted}


def _quoted(header: str) -> str:
    return f'"{header}"' if "," in header else header


def season_csv(recorded: pl.DataFrame) -> str:
    """Recorded consignments of the invented season as the text of a file of deliveries."""
    moments = {"cut": "cut_at", "arrived": "arrived_at", "tipped": "tipped_at"}
    moments |= {"sampled from": "sampled_from", "sampled to": "sampled_to"}
    columns = {
        "ticket": pl.col("ticket"), "factory day": pl.col("day"), "grower": pl.col("grower"), "block": pl.col("block"),
        "harvest group": pl.col("harvest_group"), "carrier": pl.col("carrier"), "fibre class": pl.col("fibre_class"),
        **{name: pl.col(column).dt.strftime("%Y-%m-%d %H:%M:%S") for name, column in moments.items()},
        "gross, t": pl.col("gross_kg") / 1000, "tare, t": pl.col("tare_kg") / 1000, "bins": pl.col("bins"),
        "juice brix, %": pl.col("brix"), "juice pol, %": pl.col("pol"), "fibre, %": pl.col("fibre_measured"),
        "quality": pl.col("quality"),
    }  # fmt: skip
    return recorded.select(expression.alias(name) for name, expression in columns.items()).write_csv()
