"""The records as plain frozen objects: what goes into the store and what comes out of it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

from canewright.store.errors import BadEntry

Quality = Literal["good", "bad", "missing", "estimated"]
"""good: to be used; bad: recorded but not to be used; missing: was due, not there; estimated: a person's estimate."""
QUALITIES: tuple[str, ...] = get_args(Quality)
VALUELESS = ("missing", "bad")
"""Qualities with which a reading may have no value."""
LONGEST_NAME = 200
HIGHEST_DUPLICATE = 9


@dataclass(frozen=True)
class NewReading:
    """A reading about to be stored: what a person or instrument recorded.

    ``day`` is the factory day. ``place`` is a meter tag, a sample point or a consignment such as ``ticket 1042``.
    ``duplicate`` is 0 for a single determination, 1 and 2 for duplicate determinations of one sample.
    ``taken_at`` carries a time zone. ``source`` says where it came from: ``meters.csv row 12`` or ``keyboard``.
    ``entry_key`` is unique to one act of entry, so that a save sent twice is stored once.

    Raises BadEntry when something is missing or makes no sense.
    """

    day: dt.date
    place: str
    quantity: str
    value: float | None
    unit: str
    quality: Quality
    taken_at: dt.datetime
    taken_by: str
    source: str
    duplicate: int = 0
    entry_key: str | None = None

    def __post_init__(self) -> None:
        """Refuse what makes no sense."""
        for name in ("place", "quantity", "unit", "taken_by", "source"):
            check_name(name.replace("_", " "), getattr(self, name))
        check_day(self.day)
        check_time("time", self.taken_at)
        check_value(self.value, self.quality, f"{self.place}, {self.quantity}")
        if not 0 <= self.duplicate <= HIGHEST_DUPLICATE:
            raise BadEntry(f"Duplicate number {self.duplicate} is not accepted; give 0 to {HIGHEST_DUPLICATE}.")
        if self.entry_key is not None:
            check_name("entry key", self.entry_key)

    def key(self) -> tuple[str, str, int, dt.datetime]:
        """What makes a reading of a day itself and no other: place, quantity, duplicate number, time in UTC."""
        return (self.place, self.quantity, self.duplicate, self.taken_at.astimezone(dt.UTC))


@dataclass(frozen=True)
class Reading:
    """A stored reading. ``supersedes`` is the number of the reading it corrects, with the ``reason``."""

    id: int
    day: dt.date
    place: str
    quantity: str
    value: float | None
    unit: str
    quality: Quality
    taken_at: dt.datetime
    taken_by: str
    entered_at: dt.datetime
    source: str
    duplicate: int
    batch_id: int | None
    supersedes: int | None
    reason: str | None
    entry_key: str | None

    def key(self) -> tuple[str, str, int, dt.datetime]:
        """What makes a reading of a day itself and no other: place, quantity, duplicate number, time in UTC."""
        return (self.place, self.quantity, self.duplicate, self.taken_at)


@dataclass(frozen=True)
class NewConsignment:
    """A consignment of cane about to be stored; its masses and juice are readings at place ``ticket ...``.

    Raises BadEntry when something is missing.
    """

    day: dt.date
    ticket: str
    grower: str
    block: str
    fibre_class: str
    tip_at: dt.datetime
    source: str

    def __post_init__(self) -> None:
        """Refuse what makes no sense."""
        for name in ("ticket", "grower", "block", "fibre_class", "source"):
            check_name(name.replace("_", " "), getattr(self, name))
        check_day(self.day)
        check_time("tip time", self.tip_at)


@dataclass(frozen=True)
class Consignment:
    """A stored consignment. ``supersedes`` is the number of the one it corrects, with the ``reason``."""

    id: int
    day: dt.date
    ticket: str
    grower: str
    block: str
    fibre_class: str
    tip_at: dt.datetime
    entered_by: str
    entered_at: dt.datetime
    source: str
    batch_id: int | None
    supersedes: int | None
    reason: str | None


@dataclass(frozen=True)
class ImportedFile:
    """One file of an import: its name, the SHA-256 of its contents in hexadecimal, and its number of data rows."""

    name: str
    sha256: str
    rows: int


@dataclass(frozen=True)
class Batch:
    """An import: for which day, by whom, when, and from which files."""

    id: int
    day: dt.date
    by: str
    at: dt.datetime
    files: tuple[ImportedFile, ...]
    rows: int


@dataclass(frozen=True)
class Reopening:
    """Who opened a closed day again, when and why."""

    by: str
    at: dt.datetime
    reason: str


@dataclass(frozen=True)
class ClosedDay:
    """One closing of a day as it was published; versions count the closings from 1.

    ``reopened`` is set when this version was opened again later; the figures stay as they were. ``reason`` may say
    why the day was closed again. ``readings_used`` are numbers of stored readings.
    """

    day: dt.date
    version: int
    by: str
    at: dt.datetime
    reason: str | None
    plant_text: str
    plant_sha256: str
    figures: Mapping[str, Any]
    state: Mapping[str, Any]
    readings_used: tuple[int, ...]
    reopened: Reopening | None

    @property
    def status(self) -> Literal["closed", "reopened"]:
        """Whether this version still stands or was reopened."""
        return "closed" if self.reopened is None else "reopened"


@dataclass(frozen=True)
class PlantVersion:
    """A plant description that a day was closed with."""

    sha256: str
    text: str
    first_used: dt.datetime


Act = Literal["accepted", "declined", "withdrawn"]
"""What a person may do with a proposed correction; an acceptance may be withdrawn."""


@dataclass(frozen=True)
class Season:
    """A season as it was smoothed: its span, who and when, with which description, and its course as plain data."""

    id: int
    first: dt.date
    last: dt.date
    by: str
    at: dt.datetime
    plant_text: str
    course: Mapping[str, Any]


@dataclass(frozen=True)
class NewProposal:
    """A proposed correction of a closed day about to be stored.

    ``version`` is the published version that it would correct, ``figures`` what changes with the reasons, ``knowledge``
    what the other days say of meters and settings.
    """

    day: dt.date
    version: int
    figures: Sequence[Mapping[str, Any]]
    knowledge: Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Decision:
    """What was decided on a proposed correction, by whom, when and why."""

    act: Act
    by: str
    at: dt.datetime
    reason: str


@dataclass(frozen=True)
class Proposal:
    """A stored proposal of a season (by whom, when) with how it stands and every decision on it, oldest first.

    ``status`` is open, accepted, declined, withdrawn, replaced (by a newer one) or past (the day was closed anew).
    """

    id: int
    season: int
    day: dt.date
    version: int
    figures: tuple[Mapping[str, Any], ...]
    knowledge: tuple[Mapping[str, Any], ...]
    by: str
    at: dt.datetime
    status: str
    decisions: tuple[Decision, ...]


@dataclass(frozen=True)
class Condition:
    """How the records are kept and whether they are whole; ``faults`` is empty when they are."""

    database: str
    version: str
    journal: str
    synchronous: str
    foreign_keys: str
    revision: str
    faults: tuple[str, ...]


def check_name(what: str, text: str) -> None:
    """Refuse an empty, overlong or unprintable name. Raises BadEntry."""
    if not text.strip():
        raise BadEntry(f"The {what} is empty; it must be given.")
    if len(text) > LONGEST_NAME or not text.isprintable():
        raise BadEntry(f"The {what} '{text[:40]!s}' is not accepted; give up to {LONGEST_NAME} printable characters.")


def check_day(day: dt.date) -> None:
    """Refuse a moment in place of a day, which would be stored with a time. Raises BadEntry."""
    if isinstance(day, dt.datetime):
        raise BadEntry(f"The day '{day}' carries a time of day; give the factory day alone.")


def check_time(what: str, moment: dt.datetime) -> None:
    """Refuse a time without a zone: it could mean any hour. Raises BadEntry."""
    if moment.tzinfo is None:
        raise BadEntry(f"The {what} {moment} has no time zone; give it in UTC or with the plant's zone.")


def check_value(value: float | None, quality: str, of: str) -> None:
    """Refuse a value that is not a finite number, or one absent though the quality promises it. Raises BadEntry."""
    if quality not in QUALITIES:
        raise BadEntry(f"{of}: quality '{quality}' is not accepted; give one of {', '.join(QUALITIES)}.")
    if value is None and quality not in VALUELESS:
        raise BadEntry(f"{of}: no value; give a number, or say that the reading is missing.")
    if value is not None and quality == "missing":
        raise BadEntry(f"{of}: a missing reading cannot have a value; leave it out, or call the reading bad.")
    if value is not None and not math.isfinite(value):
        raise BadEntry(f"{of}: {value} is not a finite number; give a number, or say that the reading is missing.")
