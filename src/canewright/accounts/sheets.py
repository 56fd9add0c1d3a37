"""One file of the day into rows: encoding, header, cells, times within the factory day."""

from __future__ import annotations

import csv
import datetime as dt
import difflib
import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from canewright.accounts.dayfiles import FactoryDay
from canewright.accounts.faults import Faults
from canewright.accounts.formats import PLACE_COLUMN, Column, FileFormat, Problem, shown
from canewright.quantity import UnknownUnit, convert

STEP = 5000
"""Rows between two reports of progress."""
HEADER_ROW = 1
Progress = Callable[[str, int], None]
"""Called with the file's name and the rows read so far."""
Cells = dict[str, Any]


@dataclass(frozen=True)
class Sheet:
    """The rows of a file that are right by themselves, with their numbers.

    ``firsts`` are the cells of the first declared column in all rows, refused ones too; None without a right header.
    """

    rows: list[tuple[int, Cells]]
    firsts: set[str] | None


def read_sheet(
    form: FileFormat, data: bytes, window: FactoryDay | None, faults: Faults, progress: Progress | None = None
) -> Sheet:
    """Read a file; every fault is noted. Times must lie in the factory day ``window``, where one is given."""
    text = _decoded(form, data, faults)
    if text is None:
        return Sheet([], None)
    lines = _lines(form, text, faults, progress)
    header = next(lines, None)
    if header is None:
        faults.add(form.name, 0, "", Problem("an empty file", "a header row and data rows", _header_hint(form)))
        return Sheet([], None)
    order = _ordered(form, header[1], lines, faults)
    if order is None:
        return Sheet([], None)
    place = order.index(form.columns[0])
    rows: list[tuple[int, Cells]] = []
    firsts: set[str] = set()
    for number, cells in lines:
        firsts.update(cells[place : place + 1])
        row = _row(form, order, number, cells, window, faults)
        if row is not None:
            rows.append((number, row))
    return Sheet(rows, firsts)


def read_header(form: FileFormat, data: bytes, faults: Faults) -> list[Column] | None:
    """The columns of a file in its own order, from its first rows; None, with the faults noted, when they are wrong."""
    text = _decoded(form, data, faults)
    if text is None:
        return None
    first_rows = text[: text.find("\n", text.find("\n") + 1) + 1 or None]
    lines = _lines(form, first_rows, faults, None)
    header = next(lines, None)
    if header is None:
        faults.add(form.name, 0, "", Problem("an empty file", "a header row and data rows", _header_hint(form)))
        return None
    return _ordered(form, header[1], lines, faults)


def _lines(form: FileFormat, text: str, faults: Faults, progress: Progress | None) -> Iterator[tuple[int, list[str]]]:
    """The rows that are not blank, as a spreadsheet numbers them."""
    number = 0
    try:
        for number, line in enumerate(csv.reader(io.StringIO(text, newline=""), strict=True), start=HEADER_ROW):
            cells = [cell.strip() for cell in line]
            if progress is not None and number % STEP == 0:
                progress(form.name, number)
            if any(cells):
                yield number, cells
    except csv.Error as trouble:
        hint = "look for a quotation mark without its partner in this row and below"
        faults.add(form.name, number + 1, "", Problem(f"a broken row ({trouble})", "comma-separated values", hint))
    if progress is not None:
        progress(form.name, number)


def _decoded(form: FileFormat, data: bytes, faults: Faults) -> str | None:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        row = data[: trouble.start].count(b"\n") + HEADER_ROW
        what = Problem(
            f"byte {data[trouble.start]:#04x}, which is not UTF-8", "text in UTF-8", "save the file as CSV UTF-8"
        )
        faults.add(form.name, row, "", what)
        return None


def _header_hint(form: FileFormat) -> str:
    written = io.StringIO()
    csv.writer(written, lineterminator="").writerow(form.headers)
    return f"begin the file with the row {written.getvalue()}"


def _ordered(
    form: FileFormat, cells: list[str], lines: Iterator[tuple[int, list[str]]], faults: Faults
) -> list[Column] | None:
    """The columns in the file's own order; None when the header is wrong."""
    known = {column.header: column for column in form.columns}
    wrong = [cell for cell in cells if cell not in known]
    missing = [header for header in known if header not in cells]
    twice = sorted({cell for cell in cells if cells.count(cell) > 1 and cell in known})
    if not (wrong or missing or twice):
        return [known[cell] for cell in cells]
    if len(cells) == 1 and any(mark in cells[0] for mark in ";\t"):
        what = Problem(f"'{shown(cells[0])}'", "columns separated by commas", "save the file as CSV UTF-8 with commas")
        faults.add(form.name, HEADER_ROW, "", what)
        return None
    _, first = next(lines, (0, list[str]()))
    for header in missing:
        faults.add(form.name, HEADER_ROW, header, _missing_header(form, known[header], cells, wrong, first))
    for cell in wrong if not missing else []:
        what = Problem(f"the further column '{shown(cell)}'", ", ".join(known), "remove the column")
        faults.add(form.name, HEADER_ROW, shown(cell), what)
    for cell in twice:
        faults.add(form.name, HEADER_ROW, cell, Problem("the header twice", "each header once", "remove one column"))
    return None


def _missing_header(form: FileFormat, column: Column, cells: list[str], wrong: list[str], first: list[str]) -> Problem:
    same = [cell for cell in wrong if column.unit and cell.split(",")[0].strip() == column.name]
    if same:
        found = same[0].partition(",")[2].strip()
        if not found:
            hint = (
                f'keep name and unit in one cell: in a plain text file write "{column.header}" with the quotation marks'
            )
            return Problem(f"the header '{shown(same[0])}' without a unit", f"the header '{column.header}'", hint)
        place = cells.index(same[0])
        hint = _conversion(found, column.unit, first[place].strip() if place < len(first) else "")
        return Problem(f"the header '{shown(same[0])}'", f"the header '{column.header}'", hint)
    near = difflib.get_close_matches(column.header, wrong, 1)
    found_words = f"the header '{shown(near[0])}'" if near else "no such column"
    return Problem(found_words, f"the header '{column.header}'", _header_hint(form))


def _conversion(found: str, wanted: str, cell: str) -> str:
    try:
        value = float(cell)
        return f"give the column in {wanted}: {cell} {found} in row 2 is {convert(value, found, wanted):.7g} {wanted}"
    except (UnknownUnit, ValueError):
        pass
    try:
        return f"give the column in {wanted}: 1 {found} is {convert(1.0, found, wanted):.7g} {wanted}"
    except (UnknownUnit, ValueError):
        return f"give the column in {wanted}"


def _row(
    form: FileFormat,
    order: list[Column],
    number: int,
    cells: list[str],
    window: FactoryDay | None,
    faults: Faults,
) -> Cells | None:
    if len(cells) != len(order):
        hint = "write decimals with a point, not a comma; put a name with a comma between quotation marks"
        what = Problem(f"{len(cells)} cells", f"{len(order)} cells, one for each header", hint)
        faults.add(form.name, number, "", what)
        return None
    given = dict(zip((column.name for column in order), cells, strict=True))
    if form.name in PLACE_COLUMN and not any(given[name] for name in ("time", "value", "quality", "by")):
        return None  # a template row left untouched
    row: Cells = {}
    right = True
    for column in order:
        value = column.read(given[column.name])
        if window is not None and column.kind == "time" and not isinstance(value, Problem):
            value = _in_window(form, column, value, given[column.name], window)
        if isinstance(value, Problem):
            faults.add(form.name, number, column.header, value)
            right = False
        row[column.name] = value
    return row if right else None


def _in_window(
    form: FileFormat, column: Column, moment: dt.datetime, text: str, window: FactoryDay
) -> dt.datetime | Problem:
    if moment.tzinfo is None:
        local = moment.replace(tzinfo=window.zone)
        if local.utcoffset() != local.replace(fold=1).utcoffset():
            return _clock_change(local, text)
        moment = local
    in_utc = moment.astimezone(dt.UTC)
    last = window.end.astimezone(dt.UTC) + dt.timedelta(hours=form.grace_hours)
    inside = window.start <= in_utc < last or (in_utc == last and form.at_the_cut == "this day")
    if inside:
        return in_utc
    late = f" (and {form.grace_hours} h after)" if form.grace_hours else ""
    hint = "correct the time, or put the row with the files of its own day"
    return Problem(f"'{text}'", f"a time in the factory day {window.day}: {window}{late}", hint)


def _clock_change(local: dt.datetime, text: str) -> Problem:
    exists = local.astimezone(dt.UTC).astimezone(local.tzinfo).replace(tzinfo=None) == local.replace(tzinfo=None)
    first, second = (local.replace(fold=fold).strftime("%z") for fold in (0, 1))
    if exists:
        accepted = f"one of the two hours of the clock change: {text}{first} or {text}{second}"
        return Problem(f"'{text}', which came twice that night", accepted, "add the offset from UTC to the time")
    return Problem(f"'{text}', which the clock change left out", "a time the clock showed", "correct the time")
