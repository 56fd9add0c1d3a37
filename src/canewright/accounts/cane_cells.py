"""A large file into typed columns at once; only the cells that are wrong are looked at one by one."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import polars as pl

from canewright.accounts.faults import LISTED, BadRow, Faults, IntakeErrors
from canewright.accounts.formats import LONGEST_TEXT, Column, FileFormat, Problem
from canewright.accounts.sheets import read_header
from canewright.store.records import QUALITIES

ROW = "row"
"""Column of the row number as a spreadsheet counts, the header being 1."""
WORDS = ("text", "choice", "quality")
NEEDED = ("good", "estimated")
_Describe = Callable[[dict[str, Any]], Problem]


@dataclass
class Bad:
    """Faults found column by column, told in order of rows; all are counted, the first ones are described."""

    form: FileFormat
    found: list[tuple[int, str, Problem]] = field(default_factory=list)
    total: int = 0

    def where(self, frame: pl.DataFrame, wrong: pl.Expr, column: str, describe: _Describe) -> None:
        """Note every row of the frame for which the condition holds."""
        rows = frame.filter(wrong.fill_null(value=False))
        self.total += rows.height
        self.found += [(row[ROW], column, describe(row)) for row in rows.sort(ROW).head(LISTED).iter_rows(named=True)]

    def raise_any(self) -> None:
        """Raise IntakeErrors with the faults in order of rows."""
        if self.total:
            rows = [
                BadRow(self.form.name, row, column, p.found, p.accepted, p.do)
                for row, column, p in sorted(self.found, key=lambda each: (each[0], each[1]))[:LISTED]
            ]
            raise IntakeErrors(rows, self.total)


def read_columns(form: FileFormat, data: bytes, bad: Bad) -> pl.DataFrame:
    """The rows of a file with typed columns, by the names of the columns, and the row number.

    Wrong cells are noted in ``bad`` and become null. Raises IntakeErrors when the header is wrong or the file is not
    text in rows.
    """
    faults = Faults()
    order = read_header(form, data, faults)
    faults.raise_any()
    texts = _texts(form, data, order or [], bad)
    values = texts.select(ROW)
    for column in form.columns:
        text, value = _values(texts[column.name], column)
        texts, values = texts.with_columns(text), values.with_columns(value)
    for column in form.columns:
        _note(texts, values, column, bad)
    return values


def _texts(form: FileFormat, data: bytes, order: list[Column], bad: Bad) -> pl.DataFrame:
    names = [column.name for column in order]
    try:
        frame = pl.read_csv(io.BytesIO(data), has_header=True, new_columns=names, infer_schema=False)
    except pl.exceptions.PolarsError:
        _ragged(form, data, len(names), bad)
        frame = _whole_rows(data, names)
    words = [pl.col(column.name).str.strip_chars().replace("", None) for column in order if column.kind in WORDS]
    frame = frame.with_columns(words).with_row_index(ROW, offset=2)
    return frame.filter(~pl.all_horizontal(pl.exclude(ROW).is_null()))


def _rows_of(data: bytes) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True)


def _ragged(form: FileFormat, data: bytes, wanted: int, bad: Bad) -> None:
    """Rows with another number of cells than the header, each by its own."""
    number = 1
    try:
        for number, cells in enumerate(_rows_of(data), start=1):
            if len(cells) > wanted:
                hint = "write decimals with a point, not a comma; put a name with a comma between quotation marks"
                problem = Problem(f"{len(cells)} cells", f"{wanted} cells, one for each header", hint)
                bad.total += 1
                bad.found.append((number, "", problem))
    except csv.Error as trouble:
        hint = "look for a quotation mark without its partner in this row and below"
        broken = BadRow(form.name, number + 1, "", f"a broken row ({trouble})", "comma-separated values", hint)
        raise IntakeErrors([broken], 1) from trouble


def _whole_rows(data: bytes, names: list[str]) -> pl.DataFrame:
    return pl.read_csv(
        io.BytesIO(data), has_header=True, new_columns=names, infer_schema=False, truncate_ragged_lines=True
    )


def _values(texts: pl.Series, column: Column) -> tuple[pl.Series, pl.Series]:
    """Cells and values of a column; where cells cannot be read they are tried again without the spaces around them."""

    def typed(cells: pl.Series) -> pl.Series:
        return cells.to_frame().select(_typed(pl.col(column.name), column).alias(column.name)).to_series()

    found = typed(texts)
    if column.kind in WORDS or found.null_count() == texts.null_count():
        return texts, found
    bare = texts.to_frame().select(pl.col(column.name).str.strip_chars().replace("", None)).to_series()
    return bare, typed(bare)


def _typed(text: pl.Expr, column: Column) -> pl.Expr:
    """The value of a cell, null where it cannot be read."""
    if column.kind == "number":
        value = text.cast(pl.Float64, strict=False)
        return pl.when(value.is_finite() & value.is_between(column.low, column.high)).then(value)
    if column.kind == "date":
        return text.str.to_date("%Y-%m-%d", strict=False)
    if column.kind == "time":
        return (text + ":00").str.head(19).str.to_datetime("%Y-%m-%d %H:%M:%S", strict=False, time_unit="us")
    if column.kind in {"choice", "quality"}:
        return pl.when(text.is_in(column.choices or QUALITIES)).then(text)
    return pl.when(text.str.len_chars() <= LONGEST_TEXT).then(text)


def _note(texts: pl.DataFrame, values: pl.DataFrame, column: Column, bad: Bad) -> None:
    """Note the cells of a column that are blank where they may not be, or are not accepted."""
    name = column.name
    both = texts.select(ROW, pl.col(name).alias("text")).with_columns(values[name].alias("value"))
    unreadable = pl.col("value").is_null() & pl.col("text").is_not_null()
    bad.where(both, unreadable, column.header, lambda row: _problem(column, row["text"]))
    if column.blank == "never":
        empty = Problem("nothing", column.accepted, "fill in the cell")
        bad.where(both, pl.col("text").is_null(), column.header, lambda row: empty)
    if column.blank == "when bad or missing":
        both = both.with_columns(values["quality"])
        bad.where(
            both, pl.col("text").is_null() & pl.col("quality").is_in(NEEDED), column.header,
            lambda row: Problem(
                "nothing", f"a number, as the quality is {row['quality']}", "fill in the value or give quality missing"
            ),
        )  # fmt: skip
        bad.where(
            both, pl.col("text").is_not_null() & (pl.col("quality") == "missing"), column.header,
            lambda row: Problem(
                f"{row['text']} with quality missing", "no value", "empty the cell, or give the quality as bad"
            ),
        )  # fmt: skip


def _problem(column: Column, text: str) -> Problem:
    found = column.read(text)
    if isinstance(found, Problem):
        return found
    return Problem(f"'{text}'", column.accepted, "write it as the example in the dictionary of files")
