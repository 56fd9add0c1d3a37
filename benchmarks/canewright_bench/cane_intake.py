"""A file of a million deliveries with 37 bad rows: read, checked against the registers, refused with all named."""

from __future__ import annotations

import io
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from canewright.accounts.cane_deliveries import Site, read_season, season_csv
from canewright.accounts.cane_formats import SEASON_DELIVERIES
from canewright.accounts.cane_notes import Known
from canewright.accounts.cane_registers import read_registers
from canewright.accounts.faults import IntakeErrors
from canewright.accounts.formats import Problem
from canewright.cane.demo_district import district, registers_of
from canewright.cane.demo_season import season
from canewright.cane.registers import Registers
from canewright_bench.timing import Result, against, timed

BAD_ROWS = 37
LOOKED_AT = 20_000
"""Rows at which the rival's loop is timed; the whole file is that many times as long."""
SITE = Site(6, ZoneInfo("Etc/GMT-10"))
MOMENTS = ("cut", "arrived", "tipped", "sampled from", "sampled to")


def refused(rows: int, repeats: int) -> Result:
    """The measurement."""
    data, known = _file(rows), Known(_registers())
    ours = timed(lambda: _named(data, known), repeats)
    if ours.gave != BAD_ROWS:
        raise SystemExit(f"{ours.gave} of {BAD_ROWS} bad rows were named")
    rival = against("pandas and a loop over rows, cells only", lambda: _by_loop(data, rows), lambda _: "", 1, long=1e9)
    share = min(LOOKED_AT, rows) / rows
    scaled = type(rival)(
        rival.name, None if rival.seconds is None else rival.seconds / share, f"{share:.1%} of the rows"
    )
    floor = timed(lambda: pl.read_csv(io.BytesIO(data), infer_schema=False), repeats)
    note = f"{rows} rows, {len(data) / 1e6:.0f} MB of text, all {BAD_ROWS} bad rows named, nothing kept"
    return Result("cane.refused", ours.seconds, rows, (scaled,), floor.seconds, (note,))


def _registers() -> Registers:
    tables = registers_of(district())
    tables["agreements.csv"] = tables["agreements.csv"].with_columns(until=pl.lit("2090-12-31"))
    return Registers(read_registers({name: table.write_csv().encode() for name, table in tables.items()}, ()).new)


def _file(rows: int) -> bytes:
    one = pl.read_csv(season_csv(season(faults=()).recorded).encode(), infer_schema=False)
    years = -(-rows // one.height)
    cells = pl.concat([_year(one, n) for n in range(years)]).head(rows)
    wrong = pl.int_range(pl.len()) % (rows // BAD_ROWS) == 0
    first = pl.int_range(pl.len()) < BAD_ROWS * (rows // BAD_ROWS)
    return (
        cells.with_columns(grower=pl.when(wrong & first).then(pl.lit("farm 17")).otherwise(pl.col("grower")))
        .write_csv()
        .encode()
    )


def _year(cells: pl.DataFrame, number: int) -> pl.DataFrame:
    later = pl.duration(days=364 * number)
    return cells.with_columns(
        pl.format("{}/{}", "ticket", pl.lit(number)).alias("ticket"),
        (pl.col("factory day").str.to_date() + later).dt.strftime("%Y-%m-%d"),
        *((pl.col(name).str.to_datetime() + later).dt.strftime("%Y-%m-%d %H:%M:%S").alias(name) for name in MOMENTS),
    )


def _named(data: bytes, known: Known) -> int:
    try:
        read_season(data, SEASON_DELIVERIES.name, known, SITE)
    except IntakeErrors as errors:
        return errors.total
    return 0


def _by_loop(data: bytes, rows: int) -> int:
    """Every cell of every row judged by the column's own check, as a plain program does."""
    import pandas as pd

    frame: Any = pd.read_csv(io.BytesIO(data), dtype=str, keep_default_na=False, nrows=min(LOOKED_AT, rows))
    columns = {column.header: column for column in SEASON_DELIVERIES.columns}
    return sum(
        isinstance(columns[header].read(text), Problem)
        for row in frame.to_dict("records")
        for header, text in row.items()
    )
