"""Register and delivery files of the invented district, for the tests that import them."""

from __future__ import annotations

import datetime as dt
from functools import cache
from zoneinfo import ZoneInfo

import polars as pl

from cane.demo import the_district
from canewright.accounts.cane_deliveries import Site, season_csv
from canewright.accounts.cane_registers import read_registers
from canewright.cane.demo_district import registers_of
from canewright.cane.demo_season import season
from canewright.cane.registers import Registers

SITE = Site(6, ZoneInfo("Etc/GMT-10"))
SEASON = dt.timedelta(days=364)
MOMENTS = ("cut", "arrived", "tipped", "sampled from", "sampled to")


@cache
def register_files() -> dict[str, bytes]:
    """The register files by name, with agreements for many years."""
    tables = registers_of(the_district())
    tables["agreements.csv"] = tables["agreements.csv"].with_columns(until=pl.lit("2090-12-31"))
    return {name: table.write_csv().encode() for name, table in tables.items()}


@cache
def the_registers() -> Registers:
    """The registers as they would stand after the import."""
    return Registers(read_registers(register_files(), ()).new)


@cache
def good_rows(share: float = 0.01) -> pl.DataFrame:
    """The cells of a file of deliveries without a fault: the first part of the season."""
    recorded = season(the_district(), faults=(), share=share).recorded
    return pl.read_csv(season_csv(recorded).encode(), infer_schema=False)


def many_rows(count: int) -> pl.DataFrame:
    """The cells of a file of this many deliveries without a fault: the season, one year after the other."""
    whole = good_rows(1.0)
    years = [_later(whole, n) for n in range(-(-count // whole.height))]
    return pl.concat(years).head(count)


def _later(cells: pl.DataFrame, years: int) -> pl.DataFrame:
    days = pl.duration(days=SEASON.days * years)
    return cells.with_columns(
        pl.format("{}/{}", "ticket", pl.lit(str(years))).alias("ticket"),
        (pl.col("factory day").str.to_date() + days).dt.strftime("%Y-%m-%d"),
        *((pl.col(name).str.to_datetime() + days).dt.strftime("%Y-%m-%d %H:%M:%S").alias(name) for name in MOMENTS),
    )


def changed(cells: pl.DataFrame, row: int, column: str, text: str | None) -> pl.DataFrame:
    """The cells with one of them changed; ``row`` as a spreadsheet counts, the header being 1."""
    here = pl.int_range(pl.len()) == row - 2
    return cells.with_columns(pl.when(here).then(pl.lit(text)).otherwise(pl.col(column)).alias(column))


def as_file(cells: pl.DataFrame) -> bytes:
    """The cells as a file."""
    return cells.write_csv().encode()
