"""A row typed at the keyboard: read, checked with the declarations that check a day's files, and stored."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from canewright.accounts.books import Books
from canewright.accounts.dayfiles import FactoryDay, PointReading
from canewright.accounts.faults import BadRow, IntakeErrors
from canewright.accounts.formats import LABORATORY, METERS, Expected, read_number
from canewright.accounts.intake import read_files
from canewright.accounts.measuring import expected_points
from canewright.accounts.waters import alarm_of
from canewright.store import NewReading, Reading
from canewright.store.records import LONGEST_NAME, QUALITIES

COLUMNS = (1, 2)
"""Columns of the grid: first and second determination; a single determination of the files (0) stands in the first."""
KEYBOARD = "keyboard"
_NUMBER_AND_UNIT = re.compile(r"([+-]?[0-9.][0-9.,']*)\s*([A-Za-z%°µ].*)")
LONGEST_REASON = 500


class RowRefused(Exception):
    """A row that is not stored; the message says what was found, what is accepted, and what to do."""


@dataclass(frozen=True)
class Moment:
    """The time of a sample by the plant's clock, within a factory day."""

    day: FactoryDay
    clock: dt.time

    @property
    def local(self) -> dt.datetime:
        """Date and time; a time up to the cut belongs to the end of the factory day."""
        after_cut = (self.clock.hour, self.clock.minute) > (self.day.cut_hour, 0)
        date = self.day.day if after_cut else self.day.day + dt.timedelta(days=1)
        return dt.datetime.combine(date, self.clock, tzinfo=self.day.zone)

    @property
    def utc(self) -> dt.datetime:
        """The same in UTC, as stored."""
        return self.local.astimezone(dt.UTC)

    @property
    def text(self) -> str:
        """The time of the clock, as in the address."""
        return f"{self.clock:%H:%M}"


def factory_day(books: Books, day: dt.date) -> FactoryDay:
    """The factory day by the plant's clock."""
    return FactoryDay(day, books.description.cut_hour, ZoneInfo(books.description.zone))


def shift_ends(day: FactoryDay) -> tuple[Moment, ...]:
    """The ends of three shifts of eight hours, counted from the cut."""
    return tuple(Moment(day, dt.time((day.cut_hour + 8 * n) % 24)) for n in (1, 2, 3))


def moment_of(day: FactoryDay, text: str) -> Moment:
    """A time written as 14:00. Raises RowRefused for anything else."""
    if re.fullmatch(r"[0-2][0-9]:[0-5][0-9]", text):
        try:
            return Moment(day, dt.time.fromisoformat(text))
        except ValueError:
            pass
    raise RowRefused(f"Found the time '{text[:20]}'; accepted: an hour and minute such as 14:00; correct the time.")


@dataclass(frozen=True)
class Typed:
    """What was typed in one cell: a number or nothing, its unit, and a quality given as a word."""

    number: str
    unit: str
    quality: str


def read_cell(text: str, unit: str) -> Typed:
    """A cell such as ``14.2``, ``72 F``, ``missing`` or ``bad 14.2``; the unit is the row's unless another is typed."""
    words = text.split()
    quality = next((w.lower() for w in words if w.lower() in QUALITIES), "good")
    rest = " ".join(w for w in words if w.lower() not in QUALITIES)
    apart = _NUMBER_AND_UNIT.fullmatch(rest)
    if apart is None or isinstance(read_number(rest), float):
        return Typed(rest, unit, quality)
    return Typed(apart[1], apart[2], quality)


@dataclass(frozen=True)
class Cell:
    """One cell of the grid: what stands, what stood before, and the key of the next entry."""

    column: int
    text: str
    reading: Reading | None
    former: tuple[str, ...]
    key: str


@dataclass(frozen=True)
class GridRow:
    """One expected reading at one time, with its two cells."""

    number: int
    point: Expected
    cells: tuple[Cell, ...]

    @property
    def label(self) -> str:
        """Place and quantity."""
        return f"{self.point.place}, {self.point.quantity}"

    @property
    def alarm(self) -> str:
        """What a stored reading above its limit says at once; empty where none is."""
        stored = [c.reading for c in self.cells if c.reading is not None and c.reading.quality in {"good", "estimated"}]
        above = [r.value for r in stored if r.value is not None and r.value > self.point.alarm]
        return alarm_of(self.point, max(above)) if above else ""

    @property
    def saved(self) -> bool:
        """Whether any cell has a stored reading."""
        return any(cell.reading is not None for cell in self.cells)


def laboratory_points(books: Books) -> list[Expected]:
    """The readings the laboratory is expected to make."""
    return [p for p in expected_points(books.description) if p.file == "laboratory"]


def grid(books: Books, moment: Moment) -> list[GridRow]:
    """Every expected laboratory reading with what is stored for a time."""
    day = moment.day.day
    standing = [r for r in books.store.readings(day) if r.taken_at == moment.utc]
    before = [r for r in books.store.former_readings(day) if r.taken_at == moment.utc]
    return [
        GridRow(i, point, tuple(_cell(moment, point, column, standing, before) for column in COLUMNS))
        for i, point in enumerate(laboratory_points(books), 1)
    ]


def _cell(moment: Moment, point: Expected, column: int, standing: Sequence[Reading], before: Sequence[Reading]) -> Cell:
    numbers = {0, 1} if column == 1 else {column}
    stands = next((r for r in standing if _same(r, point) and r.duplicate in numbers), None)
    former = tuple(_former(r) for r in before if _same(r, point) and r.duplicate in numbers)
    why = "" if stands is None or stands.reason is None else f"; corrected by {stands.taken_by}: {stands.reason}"
    if former and why:
        former = (*former[:-1], former[-1] + why)
    return Cell(column, written(stands), stands, former, entry_key(moment, point, column, stands))


def _same(reading: Reading, point: Expected) -> bool:
    return (reading.place, reading.quantity) == (point.place, point.quantity)


def _former(reading: Reading) -> str:
    return f"was {written(reading)} {reading.unit}, entered by {reading.taken_by}"


def written(reading: Reading | None) -> str:
    """A stored reading as it is typed."""
    if reading is None:
        return ""
    value = "" if reading.value is None else f"{reading.value:.12g}"
    return value if reading.quality == "good" else f"{reading.quality} {value}".strip()


def entry_key(moment: Moment, point: Expected, column: int, stands: Reading | None) -> str:
    """The key of the next entry in a cell: the same until something is stored there, so a repeat is stored once."""
    before = 0 if stands is None else stands.id
    named = "|".join(
        (str(moment.day.day), moment.utc.isoformat(), point.place, point.quantity, str(column), str(before))
    )
    return hashlib.sha256(named.encode()).hexdigest()


@dataclass(frozen=True)
class Entry:
    """A row as sent: cell texts and entry keys by column, and a reason where a stored value is changed."""

    place: str
    quantity: str
    texts: Mapping[int, str]
    keys: Mapping[int, str] = field(default_factory=dict)
    reason: str = ""


def store_row(books: Books, moment: Moment, entry: Entry, person: str) -> GridRow:
    """Check a row and store what is new in it; the row as it stands afterwards.

    Raises RowRefused or a StoreError with a sentence; then nothing of the row was stored, except a first cell when
    the store itself failed between two cells, which sending the row again completes.
    """
    row = _row_of(grid(books, moment), entry)
    changed = {c.column: read_cell(entry.texts.get(c.column, ""), row.point.unit) for c in row.cells}
    for cell in row.cells:
        typed = changed[cell.column]
        if typed == read_cell(cell.text, row.point.unit):
            del changed[cell.column]
        elif cell.reading is not None and not entry.texts.get(cell.column, "").strip():
            raise RowRefused(
                f"{cell.text} is stored and stays; it is not removed by emptying the cell. Write the right value, or "
                "missing, and give the reason."
            )
    checked = _checked(books, moment, row, changed, person)
    _refuse_without_reason(row, checked, entry.reason)
    for cell in row.cells:
        if cell.column in checked:
            _store(books, moment.day.day, cell, checked[cell.column], entry, person)
    return _row_of(grid(books, moment), entry)


def _row_of(rows: Sequence[GridRow], entry: Entry) -> GridRow:
    for row in rows:
        if (row.point.place, row.point.quantity) == (entry.place, entry.quantity):
            return row
    raise RowRefused(
        f"Found '{entry.place[:60]}, {entry.quantity[:60]}'; accepted: a reading that the plant description expects of "
        "the laboratory; open the page again."
    )


def _refuse_without_reason(row: GridRow, checked: Mapping[int, PointReading], reason: str) -> None:
    stored = [c for c in row.cells if c.reading is not None and c.column in checked and not _same_value(c, checked)]
    if stored and not reason.strip():
        was = " and ".join(f"{c.text} {row.point.unit}" for c in stored)
        raise RowRefused(
            f"{was} is stored already; it is changed only with a reason, and the old value stays on view. Write the "
            "reason beside it, or put the old value back."
        )
    if len(reason) > LONGEST_REASON or not reason.isprintable():
        raise RowRefused(f"The reason is not accepted; write up to {LONGEST_REASON} plain characters on one line.")


def _same_value(cell: Cell, checked: Mapping[int, PointReading]) -> bool:
    new, old = checked[cell.column], cell.reading
    return old is not None and (new.value, new.quality) == (old.value, old.quality)


def _store(books: Books, day: dt.date, cell: Cell, new: PointReading, entry: Entry, person: str) -> None:
    """A new reading, or a correction of the one that stands; the same value again is left alone."""
    key = entry.keys.get(cell.column, "")
    key = key if 0 < len(key) <= LONGEST_NAME and key.isprintable() else cell.key
    if cell.reading is None:
        books.store.add_reading(
            NewReading(
                day, new.expected.place, new.expected.quantity, new.value, new.expected.unit, new.quality, new.time,
                person, KEYBOARD, cell.column, key,
            )
        )  # fmt: skip
    elif not _same_value(cell, {cell.column: new}):
        books.store.correct(cell.reading.id, new.value, person, entry.reason, quality=new.quality, entry_key=key)


# --- the check ------------------------------------------------------------------------------------------------------


def _checked(
    books: Books, moment: Moment, row: GridRow, changed: Mapping[int, Typed], person: str
) -> dict[int, PointReading]:
    """The typed cells as readings, after the check that a laboratory file gets together with the stored readings.

    Raises RowRefused with the first fault that these cells cause.
    """
    if not changed:
        return {}
    mine = [_line(moment, row.point, column, typed, person) for column, typed in changed.items()]
    replaced = {c.reading.id for c in row.cells if c.reading is not None and c.column in changed}
    beside = [
        _stored_line(moment, r)
        for r in books.store.readings(moment.day.day)
        if r.taken_at == moment.utc and r.place == row.point.place and r.id not in replaced
    ]
    found = _faults(books, moment, [*mine, *beside])
    own = [f for f in found if f.row <= len(mine) + 1]
    others = [f for f in found if f.row > len(mine) + 1]
    if others and not own:
        known = {(f.column, f.found) for f in _faults(books, moment, beside)}
        own = [f for f in others if (f.column, f.found) not in known]
    if own:
        raise RowRefused(f"Found {own[0].found}; accepted: {own[0].accepted}; {own[0].do}.")
    read = _read(books, moment, mine)
    return dict(zip(changed, read, strict=True))


def _line(moment: Moment, point: Expected, column: int, typed: Typed, person: str) -> list[str]:
    when = f"{moment.local:%Y-%m-%d %H:%M}"
    return [when, point.place, point.quantity, str(column), typed.number, typed.unit, typed.quality, person]


def _stored_line(moment: Moment, reading: Reading) -> list[str]:
    value = "" if reading.value is None else repr(reading.value)
    when = f"{moment.local:%Y-%m-%d %H:%M}"
    named = [when, reading.place, reading.quantity, str(min(reading.duplicate, 2))]
    return [*named, value, reading.unit, reading.quality, reading.taken_by]


def _contents(lines: Sequence[Sequence[str]]) -> dict[str, bytes]:
    text = io.StringIO()
    rows = csv.writer(text)
    rows.writerow(LABORATORY.headers)
    rows.writerows(lines)
    return {LABORATORY.name: text.getvalue().encode(), METERS.name: ",".join(METERS.headers).encode()}


def _parsed(books: Books, moment: Moment, lines: Sequence[Sequence[str]]) -> tuple[PointReading, ...]:
    d = books.description
    wanted = {(line[1], line[2]) for line in lines}
    expected = [p for p in laboratory_points(books) if (p.place, p.quantity) in wanted]
    return read_files(_contents(lines), moment.day.day, expected, d.cut_hour, d.zone).laboratory


def _faults(books: Books, moment: Moment, lines: Sequence[Sequence[str]]) -> tuple[BadRow, ...]:
    try:
        _parsed(books, moment, lines)
    except IntakeErrors as errors:
        return errors.rows
    return ()


def _read(books: Books, moment: Moment, lines: Sequence[Sequence[str]]) -> tuple[PointReading, ...]:
    try:
        return _parsed(books, moment, lines)
    except IntakeErrors as errors:
        raise RowRefused(str(errors.rows[0])) from errors
