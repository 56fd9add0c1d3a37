"""Consignment notes and rulings on juice samples, beside the consignments and readings they belong to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Row

from canewright.store import days
from canewright.store.cane_records import NewNote, Note, Ruling, SampleRuling, check_ruling
from canewright.store.errors import AlreadyCorrected, ReasonMissing, UnknownEntry
from canewright.store.records import check_name
from canewright.store.rows import insert
from canewright.store.tables import consignment, consignment_note, reading, register_entry, sample_ruling

_newer = consignment_note.alias("newer")


def add_many(connection: Connection, new: Sequence[NewNote], by: str, batch_id: int, now: dt.datetime) -> None:
    """Store the notes of an import."""
    if new:
        rows = [{**_as_row(each, by, now), "batch_id": batch_id} for each in new]
        connection.execute(sa.insert(consignment_note), rows)


def _as_row(new: NewNote, by: str, now: dt.datetime) -> dict[str, Any]:
    return {
        "day": new.day,
        "ticket": new.ticket,
        "harvest_group": new.harvest_group,
        "carrier": new.carrier,
        "cut_at": new.cut_at,
        "arrived_at": new.arrived_at,
        "sampled_from": new.sampled_from,
        "sampled_to": new.sampled_to,
        "bins": list(new.bins) or None,
        "entered_by": by,
        "entered_at": now,
        "source": new.source,
        "supersedes": None,
        "reason": None,
    }


def between(connection: Connection, first: dt.date, last: dt.date) -> tuple[Note, ...]:
    """The notes of days that stand, in order of day and ticket."""
    superseded = sa.exists().where(_newer.c.supersedes == consignment_note.c.id)
    query = sa.select(consignment_note).where(consignment_note.c.day.between(first, last), ~superseded)
    ordered = query.order_by(consignment_note.c.day, consignment_note.c.id)
    return tuple(_note_of(row) for row in connection.execute(ordered))


def correct(
    connection: Connection, number: int, changes: dict[str, Any], by: str, reason: str, now: dt.datetime
) -> Note:
    """Store a note in place of one that stands. Raises UnknownEntry, ReasonMissing, AlreadyCorrected, DayClosed."""
    old = _one(connection, number)
    if not reason.strip():
        raise ReasonMissing(f"The note of ticket {old.ticket} cannot be corrected without a reason; say why.")
    check_name("name of the person correcting", by)
    days.refuse_when_closed(connection, old.day)
    taken = connection.execute(sa.select(consignment_note.c.id).where(consignment_note.c.supersedes == number)).scalar()
    if taken is not None:
        raise AlreadyCorrected(f"The note of ticket {old.ticket} was corrected before; correct note {taken} instead.")
    kept = {name: getattr(old, name) for name in NewNote.__dataclass_fields__}
    new = replace(NewNote(**(kept | {"source": "keyboard"})), **changes)
    row = {**_as_row(new, by, now), "supersedes": number, "reason": reason, "batch_id": None}
    return _one(connection, insert(connection, consignment_note, row))


def _one(connection: Connection, number: int) -> Note:
    row = connection.execute(sa.select(consignment_note).where(consignment_note.c.id == number)).one_or_none()
    if row is None:
        raise UnknownEntry(f"There is no consignment note number {number}.")
    return _note_of(row)


def _note_of(row: Row[Any]) -> Note:
    return Note(
        row.id, row.day, row.ticket, row.harvest_group, row.carrier, row.cut_at, row.arrived_at, row.sampled_from,
        row.sampled_to, tuple(row.bins or ()), row.entered_by, row.entered_at,
        row.source, row.batch_id, row.supersedes, row.reason,
    )  # fmt: skip


def rule(
    connection: Connection, day: dt.date, ticket: str, ruling: Ruling, says: str, by: str, now: dt.datetime
) -> SampleRuling:
    """Store a ruling on a sample; the latest one counts. Raises BadEntry, DayClosed."""
    check_ruling(ruling, says)
    check_name("name of the person ruling", by)
    check_name("ticket", ticket)
    days.refuse_when_closed(connection, day)
    row = {"day": day, "ticket": ticket, "ruling": ruling, "says": says, "entered_by": by, "entered_at": now}
    return SampleRuling(insert(connection, sample_ruling, row), day, ticket, ruling, says, by, now)


def rulings(connection: Connection, first: dt.date, last: dt.date) -> tuple[SampleRuling, ...]:
    """Every ruling of days, oldest first."""
    query = sa.select(sample_ruling).where(sample_ruling.c.day.between(first, last)).order_by(sample_ruling.c.id)
    return tuple(
        SampleRuling(r.id, r.day, r.ticket, r.ruling, r.says, r.entered_by, r.entered_at)
        for r in connection.execute(query)
    )


def newest(connection: Connection) -> tuple[int, ...]:
    """The newest number of readings, consignments, notes, rulings and register entries; 0 where there is none."""
    tables = (reading, consignment, consignment_note, sample_ruling, register_entry)
    return tuple(connection.execute(sa.select(sa.func.max(table.c.id))).scalar() or 0 for table in tables)
