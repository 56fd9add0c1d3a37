"""Imports and consignments: all of a batch is stored, or nothing."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from canewright.store import notes, readings
from canewright.store.cane_records import NewNote
from canewright.store.days import refuse_when_closed
from canewright.store.errors import (
    AlreadyCorrected,
    BadEntry,
    FileAlreadyImported,
    ReasonMissing,
    RepeatedTicket,
    UnknownConsignment,
)
from canewright.store.records import (
    Batch,
    Consignment,
    ImportedFile,
    NewConsignment,
    NewReading,
    check_day,
    check_name,
)
from canewright.store.rows import batch_of, consignment_of, insert
from canewright.store.tables import batch, batch_file, consignment

TICKETS_START_AGAIN = dt.timedelta(days=200)
"""Ticket numbers may start again with a new season, never sooner than this (common practice, no source)."""
_newer = consignment.alias("newer")


def add(
    connection: Connection,
    day: dt.date,
    by: str,
    files: Sequence[ImportedFile],
    new_readings: Sequence[NewReading],
    new_consignments: Sequence[NewConsignment],
    now: dt.datetime,
) -> Batch:
    """Store an import. Raises BadEntry, DayClosed, FileAlreadyImported, ConflictingReading, RepeatedTicket."""
    check_name("name of the person importing", by)
    _refuse_repeated_tickets(connection, new_consignments)
    return _add_day(connection, by, DayOfImport(day, files, new_readings, new_consignments), now)


@dataclass(frozen=True)
class DayOfImport:
    """What an import brings for one day."""

    day: dt.date
    files: Sequence[ImportedFile]
    readings: Sequence[NewReading] = ()
    consignments: Sequence[NewConsignment] = ()
    notes: Sequence[NewNote] = ()


def add_days(
    connection: Connection,
    by: str,
    parts: Sequence[DayOfImport],
    now: dt.datetime,
    progress: Callable[[dt.date, int], None] | None = None,
) -> tuple[Batch, ...]:
    """Store an import of several days as one act. ``progress`` is told each day and how many are done.

    Raises BadEntry, DayClosed, FileAlreadyImported, ConflictingReading, RepeatedTicket.
    """
    check_name("name of the person importing", by)
    _refuse_repeated_tickets(connection, [each for part in parts for each in part.consignments])
    stored = []
    for number, part in enumerate(parts, start=1):
        stored.append(_add_day(connection, by, part, now))
        if progress is not None:
            progress(part.day, number)
    return tuple(stored)


def _add_day(connection: Connection, by: str, part: DayOfImport, now: dt.datetime) -> Batch:
    day, files, new_readings, new_consignments = part.day, part.files, part.readings, part.consignments
    check_day(day)
    _refuse_other_days(part)
    refuse_when_closed(connection, day)
    _refuse_same_files(connection, day, files)
    readings.refuse_conflicts(connection, day, new_readings)
    rows = sum(each.rows for each in files)
    number = insert(connection, batch, {"day": day, "entered_by": by, "entered_at": now, "row_count": rows})
    for each in files:
        line = {"batch_id": number, "day": day, "name": each.name, "sha256": each.sha256, "row_count": each.rows}
        connection.execute(sa.insert(batch_file), line)
    readings.add_many(connection, new_readings, number, now)
    if new_consignments:
        lines = [{**_as_row(each, by, now), "batch_id": number} for each in new_consignments]
        connection.execute(sa.insert(consignment), lines)
    notes.add_many(connection, part.notes, by, number, now)
    return Batch(number, day, by, now, tuple(files), rows)


def _refuse_other_days(part: DayOfImport) -> None:
    every: tuple[NewReading | NewConsignment | NewNote, ...] = (*part.readings, *part.consignments, *part.notes)
    for each in every:
        if each.day != part.day:
            raise BadEntry(f"{each.source} belongs to {each.day}, not to {part.day}; import it for its own day.")


def _refuse_same_files(connection: Connection, day: dt.date, files: Sequence[ImportedFile]) -> None:
    repeated = [sha for sha, count in Counter(each.sha256 for each in files).items() if count > 1]
    if repeated:
        names = ", ".join(each.name for each in files if each.sha256 in repeated)
        raise FileAlreadyImported(f"{names} have the same contents; leave one out.")
    known = files_of_day(connection, day)
    for each in files:
        if each.sha256 in known:
            before = known[each.sha256]
            raise FileAlreadyImported(
                f"The contents of {each.name} were imported for {day} before, by {before.by} on "
                f"{before.at:%Y-%m-%d %H:%M} UTC (import {before.id}). Leave the file out, or correct single readings."
            )


def files_of_day(connection: Connection, day: dt.date) -> dict[str, Batch]:
    """The imports of a day by the SHA-256 of each file's contents."""
    return {each.sha256: one for one in of_day(connection, day) for each in one.files}


def of_day(connection: Connection, day: dt.date) -> tuple[Batch, ...]:
    """The imports of a day, oldest first."""
    rows = connection.execute(sa.select(batch).where(batch.c.day == day).order_by(batch.c.id)).all()
    query = sa.select(batch_file).where(batch_file.c.day == day).order_by(batch_file.c.id)
    files = list(connection.execute(query))
    return tuple(batch_of(row, [f for f in files if f.batch_id == row.id]) for row in rows)


def _refuse_repeated_tickets(connection: Connection, new: Sequence[NewConsignment]) -> None:
    if not new:
        return
    first, last = min(each.day for each in new), max(each.day for each in new)
    near = consignment.c.day.between(first - TICKETS_START_AGAIN, last + TICKETS_START_AGAIN)
    query = sa.select(consignment.c.ticket, consignment.c.day).where(near, consignment.c.supersedes.is_(None))
    known: dict[str, list[dt.date]] = {}
    for row in connection.execute(query):
        known.setdefault(row.ticket, []).append(row.day)
    for each in new:
        before = [day for day in known.get(each.ticket, ()) if abs(day - each.day) <= TICKETS_START_AGAIN]
        if before:
            raise RepeatedTicket(
                f"{each.source}: ticket {each.ticket} is stored already, for {before[0]}. "
                "A ticket counts once; correct the stored consignment, or give this load its own ticket."
            )
        known.setdefault(each.ticket, []).append(each.day)


def _as_row(new: NewConsignment, by: str, now: dt.datetime) -> dict[str, Any]:
    return {
        "day": new.day,
        "ticket": new.ticket,
        "grower": new.grower,
        "block": new.block,
        "fibre_class": new.fibre_class,
        "tip_at": new.tip_at,
        "entered_by": by,
        "entered_at": now,
        "source": new.source,
        "supersedes": None,
        "reason": None,
    }


def consignments(connection: Connection, day: dt.date) -> tuple[Consignment, ...]:
    """The consignments of a day that stand, in order of tipping."""
    superseded = sa.exists().where(_newer.c.supersedes == consignment.c.id)
    query = sa.select(consignment).where(consignment.c.day == day, ~superseded)
    ordered = query.order_by(consignment.c.tip_at, consignment.c.id)
    return tuple(consignment_of(row) for row in connection.execute(ordered))


def consignments_between(connection: Connection, first: dt.date, last: dt.date) -> tuple[Consignment, ...]:
    """The consignments of days that stand, in order of tipping."""
    superseded = sa.exists().where(_newer.c.supersedes == consignment.c.id)
    query = sa.select(consignment).where(consignment.c.day.between(first, last), ~superseded)
    return tuple(
        consignment_of(row) for row in connection.execute(query.order_by(consignment.c.tip_at, consignment.c.id))
    )


def delivered_days(connection: Connection) -> tuple[dt.date, dt.date] | None:
    """The first and last day with consignments; None when there are none."""
    first, last = connection.execute(sa.select(sa.func.min(consignment.c.day), sa.func.max(consignment.c.day))).one()
    return None if first is None else (first, last)


def one_consignment(connection: Connection, number: int) -> Consignment:
    """A consignment by its number. Raises UnknownConsignment."""
    row = connection.execute(sa.select(consignment).where(consignment.c.id == number)).one_or_none()
    if row is None:
        raise UnknownConsignment(f"There is no consignment number {number}.")
    return consignment_of(row)


def _successor(connection: Connection, number: int) -> Consignment | None:
    row = connection.execute(sa.select(consignment).where(consignment.c.supersedes == number)).one_or_none()
    return None if row is None else consignment_of(row)


def consignment_history(connection: Connection, number: int) -> tuple[Consignment, ...]:
    """A consignment with all it corrects and all that correct it, oldest first. Raises UnknownConsignment."""
    oldest = one_consignment(connection, number)
    while oldest.supersedes is not None:
        oldest = one_consignment(connection, oldest.supersedes)
    chain = [oldest]
    while (following := _successor(connection, chain[-1].id)) is not None:
        chain.append(following)
    return tuple(chain)


def correct_consignment(
    connection: Connection, number: int, by: str, reason: str, changes: dict[str, str], now: dt.datetime
) -> Consignment:
    """Store a consignment in place of one that stands, with another grower, block or fibre class.

    Raises UnknownConsignment, ReasonMissing, BadEntry, DayClosed, AlreadyCorrected.
    """
    old = one_consignment(connection, number)
    if not reason.strip():
        raise ReasonMissing(f"Ticket {old.ticket} cannot be corrected without a reason; say why.")
    check_name("name of the person correcting", by)
    refuse_when_closed(connection, old.day)
    newer = _successor(connection, number)
    if newer is not None:
        raise AlreadyCorrected(f"Ticket {old.ticket} was corrected before; correct consignment {newer.id} instead.")
    plain = NewConsignment(old.day, old.ticket, old.grower, old.block, old.fibre_class, old.tip_at, "keyboard")
    new = replace(plain, **changes)  # type: ignore[arg-type]  # names and types are fixed by the caller's signature
    row = {**_as_row(new, by, now), "supersedes": number, "reason": reason, "batch_id": None}
    return one_consignment(connection, insert(connection, consignment, row))
