"""A day's files as plain typed rows, and what an import makes of them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from canewright.accounts.formats import Expected
from canewright.store import Batch, ImportedFile, Quality


@dataclass(frozen=True)
class FactoryDay:
    """A factory day: from the cut of its date to the next cut, by the clock of the plant."""

    day: dt.date
    cut_hour: int
    zone: ZoneInfo

    @property
    def start(self) -> dt.datetime:
        """The cut that begins the day."""
        return dt.datetime.combine(self.day, dt.time(self.cut_hour), tzinfo=self.zone)

    @property
    def end(self) -> dt.datetime:
        """The cut that ends the day."""
        return dt.datetime.combine(self.day + dt.timedelta(days=1), dt.time(self.cut_hour), tzinfo=self.zone)

    def __str__(self) -> str:
        """From when to when."""
        return f"{self.start:%Y-%m-%d %H:%M} to {self.end:%Y-%m-%d %H:%M}, {self.zone.key}"


@dataclass(frozen=True)
class Delivery:
    """A consignment as weighed: gross and tare in t."""

    row: int
    ticket: str
    grower: str
    block: str
    fibre_class: str
    tip_at: dt.datetime
    gross: float
    tare: float


@dataclass(frozen=True)
class JuiceSample:
    """First-expressed juice of a consignment: refractometer brix %, °C, polarimeter reading °Z."""

    row: int
    ticket: str
    sampled_at: dt.datetime
    brix: float | None
    temperature: float | None
    polarimeter: float | None
    quality: Quality


@dataclass(frozen=True)
class PointReading:
    """A determination, meter reading or stock that the plant description expects."""

    row: int
    expected: Expected
    duplicate: int
    time: dt.datetime
    value: float | None
    quality: Quality
    by: str


@dataclass(frozen=True)
class Hours:
    """A period in which a section ran or stood; ``what`` is ``running`` or the cause of the stop."""

    row: int
    section: str
    start: dt.datetime
    end: dt.datetime
    what: str

    @property
    def length(self) -> float:
        """Length in h."""
        return (self.end - self.start) / dt.timedelta(hours=1)


@dataclass(frozen=True)
class DayFiles:
    """A day's files, read and found right. ``notes`` say what is absent; it is no fault."""

    day: dt.date
    files: tuple[ImportedFile, ...]
    deliveries: tuple[Delivery, ...]
    juice: tuple[JuiceSample, ...]
    laboratory: tuple[PointReading, ...]
    meters: tuple[PointReading, ...]
    stocks: tuple[PointReading, ...]
    hours: tuple[Hours, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class FileReport:
    """What an import makes of one file; ``repeated`` when its very contents were imported before."""

    name: str
    rows: int
    added: int
    unchanged: int
    repeated: bool


@dataclass(frozen=True)
class ImportReport:
    """What an import stores, or would store when ``batch`` is None. Counts are of readings and consignments.

    ``alarms`` are readings that speak at once, at whatever hour they come.
    """

    day: dt.date
    files: tuple[FileReport, ...]
    readings: int
    consignments: int
    notes: tuple[str, ...]
    batch: Batch | None
    alarms: tuple[str, ...] = ()
