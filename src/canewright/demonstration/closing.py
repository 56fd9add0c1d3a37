"""The invented season closed day by day from its files: what the accounts say, with no knowledge of the truth.

Files are read, checked and stored as any day's are; readings become the day's figures, are reconciled, diagnosed and
checked by the functions that close a day. What is left out for speed is what a person opens only to ask: the trees of
the figures, the second reconciliation without the first suspect, and the stored day sheet. Days named in ``wholly``
are closed in full all the same, and so is what a late correction touches.
"""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from canewright.accounts.attention import sugar_price
from canewright.accounts.books import Books
from canewright.accounts.charts import OutOfLine, PastDay
from canewright.accounts.checking import Checked, Checks
from canewright.accounts.intake import import_day, read_day
from canewright.accounts.ledgers import Interval, intervals, restored, weighers
from canewright.accounts.measuring import MeasuredDay, expected_points
from canewright.accounts.reckoning import Sheet, day_settings
from canewright.accounts.trends import LOSS
from canewright.engine import NotSolved
from canewright.plant.diagnosis import Diagnosis, diagnose
from canewright.plant.plant import Plant, Reconciled, State
from canewright.plant.stocktaking import ledgers_of, movements_of
from canewright.store import Store

PLANT_FILE, DAYS, CORRECTIONS = "plant.toml", "days", "corrections.csv"
BY, CHEMIST, WHY = "demo analyst", "chief chemist", "result of the retained sample"
HARDLY_LESS = 0.9
"""Readings whose test is this near to the first suspect's are told with it."""
AT_ENTRY, AT_CLOSE = "at entry", "at close"
Say = Callable[[int, int], None]


@dataclass(frozen=True)
class Alarm:
    """Something that a day's sheet or entry drew attention to: about what (likeliest first), its size, in words."""

    when: str
    about: tuple[str, ...]
    says: str
    size: float | None = None
    unit: str = ""


@dataclass(frozen=True)
class SeasonDay:
    """One closed day: number in the season, alarms, figures with covariance, what was read and is out of line."""

    number: int
    date: dt.date
    alarms: tuple[Alarm, ...]
    sums: Mapping[str, Mapping[str, Any]]
    read: Mapping[str, float]
    lines: tuple[OutOfLine, ...]
    not_solved: str = ""


@dataclass
class Season:
    """A closed season: its days, what the ledgers restore, and what late corrections did."""

    days: list[SeasonDay] = field(default_factory=list)
    intervals: Sequence[Interval] = ()
    restored: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    notes: Mapping[dt.date, Sequence[str]] = field(default_factory=dict)
    kept_as_published: bool | None = None


def close_season(folder: Path, work: Path, say: Say = lambda done, of: None, assembled: Plant | None = None) -> Season:
    """Close the days of a season's folder in order; ``work`` takes its store of readings.

    ``assembled`` spares the equations where this very description was assembled before.

    Raises DescriptionFaults, IntakeErrors or a store error, as closing a day does. A day that cannot be reconciled is
    kept with the reason.
    """
    text = (folder / PLANT_FILE).read_text(encoding="utf-8")
    plant = assembled if assembled is not None and assembled.description.text == text else Plant.from_text(text)
    begin = plant.description.data["plant"]["season_start"]
    clock = _Clock(begin)
    with Store.open(work, now=clock) as store:
        closing = _Closing(Books(plant, store), folder, begin, clock)
        return closing.season(say)


class _Clock:
    """The moment at which things are stored: the morning after the day that is being closed."""

    def __init__(self, begin: dt.date) -> None:
        self.day = begin

    def __call__(self) -> dt.datetime:
        return dt.datetime.combine(self.day + dt.timedelta(days=1), dt.time(2), tzinfo=dt.UTC)


class _Closing:
    """A season in the course of being closed."""

    def __init__(self, books: Books, folder: Path, begin: dt.date, clock: _Clock) -> None:
        self.books, self.plant, self.folder, self.begin, self.clock = books, books.plant, folder, begin, clock
        self.sheet, self.start = Sheet.of(books.plant), books.plant.predict()
        self.checks = Checks(books.description, books.store, begin, sugar_price(books.description))
        self.points = expected_points(books.description)
        self.past: list[PastDay] = []
        self.corrections = list(_corrections(folder / CORRECTIONS))
        touched = {c["day"] for c in self.corrections} | {c["entered"] for c in self.corrections}
        self.wholly = {dt.date.fromisoformat(d) for d in touched}
        self.result = Season()

    def season(self, say: Say) -> Season:
        folders = sorted(p for p in (self.folder / DAYS).iterdir() if p.is_dir())
        notes: dict[dt.date, Sequence[str]] = {}
        for done, each in enumerate(folders, start=1):
            day = dt.date.fromisoformat(each.name)
            self.clock.day = day
            self.result.days.append(self._day(day, each, notes))
            say(done, len(folders))
        self.result.notes = notes
        if folders:
            self._restore(dt.date.fromisoformat(folders[-1].name))
        return self.result

    def _day(self, day: dt.date, files: Path, notes: dict[dt.date, Sequence[str]]) -> SeasonDay:
        description = self.books.description
        read = read_day(
            files, day, self.points, description.cut_hour, description.zone, sections=list(description.sections)
        )
        report = import_day(self.books.store, read, BY)
        alarms = [Alarm(AT_ENTRY, (_named(said),), said) for said in report.alarms]
        number = (day - self.begin).days + 1
        if day in self.wholly:
            self._correct(day)
            notes[day] = self.books.close(day, CHEMIST).figures["notes"]
        measured = self.books.measured(day)
        try:
            reconciled = self._reconciled(measured)
        except NotSolved as lack:
            return SeasonDay(number, day, tuple(alarms), {}, measured.values, (), str(lack))
        rows = {r["name"]: r for r in self.sheet.rows(reconciled, measured.determinations)}
        alarms += _suspected(reconciled, diagnose(self.plant, reconciled))
        loss = float(rows[LOSS]["value"]) if LOSS in rows else None
        checked = self.checks.of(day, measured.values, reconciled.state, self.past, loss)
        alarms += [Alarm(AT_CLOSE, a.about, a.what, a.size, a.unit) for a in checked.matters]
        self._remember(day, measured, rows, checked)
        return SeasonDay(number, day, tuple(alarms), rows, measured.values, checked.lines)

    def _reconciled(self, measured: MeasuredDay) -> Reconciled:
        settings = day_settings(self.plant, measured)
        begin: State = self.plant.predict(settings, self.start)
        return self.plant.reconcile(measured.values, settings, begin, determinations=measured.determinations)

    def _remember(
        self, day: dt.date, measured: MeasuredDay, rows: Mapping[str, Mapping[str, Any]], checked: Checked
    ) -> None:
        losses = {LOSS: (float(rows[LOSS]["value"]), float(rows[LOSS]["uncertainty"]))} if LOSS in rows else {}
        self.past.append(PastDay(day, measured.values, frozenset(checked.out), losses))

    def _correct(self, day: dt.date) -> None:
        """Enter the late corrections of the day: open the old day with a reason, correct, and close it again."""
        due = [c for c in self.corrections if c["entered"] == day.isoformat()]
        for old_day in sorted({dt.date.fromisoformat(c["day"]) for c in due}):
            published = self.books.published(old_day).figures
            self.books.reopen(old_day, CHEMIST, WHY)
            standing = self.books.store.readings(old_day)
            for c in (c for c in due if c["day"] == old_day.isoformat()):
                reading = next(
                    r for r in standing
                    if (r.place, r.quantity) == (c["sample"], c["determination"]) and _local(r, self.plant) == c["time"]
                )  # fmt: skip
                self.books.store.correct(reading.id, float(c["value"]), c["by"], WHY)
            self.books.close(old_day, CHEMIST, WHY)
            kept = self.books.published(old_day, 1).figures
            self.result.kept_as_published = dict(kept) == dict(published)

    def _restore(self, last: dt.date) -> None:
        """What the stores' ledgers say of the weighers up to the last day."""
        parts, whole = list[Interval](), dict[str, tuple[float, float]]()
        data = self.books.description.data
        for ledger in ledgers_of(data):
            scales = weighers(ledger, self.books.description.meters, movements_of(data))
            entries, stocks = self.checks.entries(ledger, last), self.checks.stocks(ledger, last)
            mine = intervals(ledger, scales, entries, stocks, self.begin, last)
            parts += mine
            whole |= restored(mine)
        self.result.intervals, self.result.restored = parts, whole


def _local(reading: Any, plant: Plant) -> str:
    from zoneinfo import ZoneInfo

    return f"{reading.taken_at.astimezone(ZoneInfo(plant.description.zone)):%Y-%m-%d %H:%M}"


def _corrections(path: Path) -> Iterator[dict[str, str]]:
    if path.is_file():
        with path.open(encoding="utf-8", newline="") as file:
            yield from csv.DictReader(file)


def _named(said: str) -> str:
    """The water that an alarm at entry speaks of."""
    return said.partition(": ")[0]


def _suspected(reconciled: Reconciled, diagnosis: Diagnosis) -> list[Alarm]:
    """What the tests of the day and the diagnosis suspect, as one alarm each."""
    flagged = [s for s in reconciled.result.suspicions if s.flagged]
    found = []
    if flagged:
        first = flagged[0]
        near = tuple(s.name for s in flagged if s.test > HARDLY_LESS * first.test)
        found.append(Alarm(AT_CLOSE, near, f"{first.name} is the first suspect", first.bias))
    named = [*diagnosis.suspects, *diagnosis.ties]
    if diagnosis.suspects:
        about = tuple(s.name for s in named)
        found.append(Alarm(AT_CLOSE, about, "; ".join(s.says for s in diagnosis.suspects), diagnosis.suspects[0].size))
    return found
