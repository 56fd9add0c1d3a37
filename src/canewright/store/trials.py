"""Kept trials: a what-if question with its answer as it was, who kept it and when, and the notes added since."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Row

from canewright.store.errors import BadEntry, UnknownTrial
from canewright.store.records import check_day, check_name
from canewright.store.rows import insert
from canewright.store.tables import trial, trial_note

LONGEST_NOTE = 2000
"""Characters of a note."""


@dataclass(frozen=True)
class NewTrial:
    """A trial about to be kept: the day it starts from, a name, the settings changed and the whole answer.

    Raises BadEntry when something is missing or makes no sense.
    """

    day: dt.date
    by: str
    name: str
    changes: Mapping[str, float]
    result: Mapping[str, Any]
    plant_text: str

    def __post_init__(self) -> None:
        """Refuse what makes no sense."""
        check_day(self.day)
        check_name("person", self.by)
        check_name("name of the trial", self.name)
        if not self.changes:
            raise BadEntry("The trial changes nothing; change a setting before it is kept.")


@dataclass(frozen=True)
class TrialNote:
    """A note on a trial."""

    id: int
    by: str
    at: dt.datetime
    text: str


@dataclass(frozen=True)
class Trial:
    """A kept trial with its notes, oldest first."""

    id: int
    day: dt.date
    by: str
    at: dt.datetime
    name: str
    changes: Mapping[str, float]
    result: Mapping[str, Any]
    plant_sha256: str
    notes: tuple[TrialNote, ...]


def keep(connection: Connection, new: NewTrial, note: str, at: dt.datetime) -> Trial:
    """Store a trial, with a first note where one is given."""
    sha256 = hashlib.sha256(new.plant_text.encode()).hexdigest()
    row = {
        "day": new.day, "entered_by": new.by, "entered_at": at, "name": new.name, "changes": dict(new.changes),
        "result": dict(new.result), "plant_sha256": sha256,
    }  # fmt: skip
    number = insert(connection, trial, row)
    if note.strip():
        add_note(connection, number, new.by, note, at)
    return one(connection, number)


def add_note(connection: Connection, number: int, by: str, text: str, at: dt.datetime) -> Trial:
    """Add a note to a trial. Raises UnknownTrial, BadEntry."""
    one(connection, number)
    check_name("person", by)
    said = text.strip()
    if not said or len(said) > LONGEST_NOTE:
        raise BadEntry(f"The note has {len(said)} characters; accepted: 1 to {LONGEST_NOTE}.")
    insert(connection, trial_note, {"trial_id": number, "entered_by": by, "entered_at": at, "text": said})
    return one(connection, number)


def one(connection: Connection, number: int) -> Trial:
    """A trial by its number. Raises UnknownTrial."""
    row = connection.execute(sa.select(trial).where(trial.c.id == number)).one_or_none()
    if row is None:
        raise UnknownTrial(f"No kept trial has the number {number}.")
    return _trial(connection, row)


def listed(connection: Connection, day: dt.date | None = None) -> tuple[Trial, ...]:
    """Every kept trial, the newest first; of one day where asked."""
    query = sa.select(trial).order_by(trial.c.id.desc())
    if day is not None:
        query = query.where(trial.c.day == day)
    return tuple(_trial(connection, row) for row in connection.execute(query).all())


def _trial(connection: Connection, row: Row[Any]) -> Trial:
    query = sa.select(trial_note).where(trial_note.c.trial_id == row.id).order_by(trial_note.c.id)
    notes = tuple(TrialNote(n.id, n.entered_by, n.entered_at, n.text) for n in connection.execute(query))
    return Trial(
        row.id, row.day, row.entered_by, row.entered_at, row.name, row.changes, row.result, row.plant_sha256, notes
    )
