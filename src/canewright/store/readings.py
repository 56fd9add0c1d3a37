"""Readings: stored once, corrected by a newer one, never changed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from canewright.store.cane_records import TicketValue
from canewright.store.days import refuse_when_closed
from canewright.store.errors import (
    AlreadyCorrected,
    ConflictingReading,
    EntryKeyReused,
    ReasonMissing,
    UnknownReading,
)
from canewright.store.records import NewReading, Quality, Reading, check_name, check_value
from canewright.store.rows import insert, reading_of
from canewright.store.tables import reading

TICKET = "ticket "
"""Begins the place of a reading on a consignment."""
SHOWN = 5
"""How many conflicts a message lists before it only counts them."""
_newer = reading.alias("newer")


def current(connection: Connection, day: dt.date) -> tuple[Reading, ...]:
    """The readings of a day that stand, in order of time."""
    superseded = sa.exists().where(_newer.c.supersedes == reading.c.id)
    return _read(connection, reading.c.day == day, ~superseded)


def former(connection: Connection, day: dt.date) -> tuple[Reading, ...]:
    """The readings of a day that were corrected since, in order of time."""
    superseded = sa.exists().where(_newer.c.supersedes == reading.c.id)
    return _read(connection, reading.c.day == day, superseded)


def of_place(connection: Connection, place: str, quantity: str, first: dt.date, last: dt.date) -> tuple[Reading, ...]:
    """The standing readings of one place and quantity over days, in order of time."""
    superseded = sa.exists().where(_newer.c.supersedes == reading.c.id)
    within = reading.c.day.between(first, last)
    return _read(connection, reading.c.place == place, reading.c.quantity == quantity, within, ~superseded)


def _read(connection: Connection, *conditions: sa.ColumnElement[bool]) -> tuple[Reading, ...]:
    query = sa.select(reading).where(*conditions).order_by(reading.c.taken_at, reading.c.id)
    return tuple(reading_of(row) for row in connection.execute(query))


def of_tickets(connection: Connection, first: dt.date, last: dt.date) -> list[TicketValue]:
    """The standing readings of consignments over days, bare, in order of storing."""
    superseded = sa.exists().where(_newer.c.supersedes == reading.c.id)
    columns = (reading.c.day, reading.c.place, reading.c.quantity, reading.c.duplicate, reading.c.value)
    query = sa.select(*columns, reading.c.quality, reading.c.id).where(
        reading.c.day.between(first, last), reading.c.place.startswith(TICKET), ~superseded
    )
    cut = len(TICKET)
    return [
        TicketValue(day, place[cut:], *told) for day, place, *told in connection.execute(query.order_by(reading.c.id))
    ]


def one(connection: Connection, reading_id: int) -> Reading:
    """A reading by its number. Raises UnknownReading."""
    row = connection.execute(sa.select(reading).where(reading.c.id == reading_id)).one_or_none()
    if row is None:
        raise UnknownReading(f"There is no reading number {reading_id}.")
    return reading_of(row)


def successor(connection: Connection, reading_id: int) -> Reading | None:
    """The reading that corrects this one, if any."""
    row = connection.execute(sa.select(reading).where(reading.c.supersedes == reading_id)).one_or_none()
    return None if row is None else reading_of(row)


def history(connection: Connection, reading_id: int) -> tuple[Reading, ...]:
    """A reading with all it corrects and all that correct it, oldest first. Raises UnknownReading."""
    oldest = one(connection, reading_id)
    while oldest.supersedes is not None:
        oldest = one(connection, oldest.supersedes)
    chain = [oldest]
    while (following := successor(connection, chain[-1].id)) is not None:
        chain.append(following)
    return tuple(chain)


def add(connection: Connection, new: NewReading, now: dt.datetime) -> Reading:
    """Store one reading; a save sent again with the same entry key gives the stored one back.

    Raises EntryKeyReused, DayClosed, ConflictingReading.
    """
    stored = _by_entry_key(connection, new.entry_key)
    if stored is not None:
        return _same_entry(stored, new)
    refuse_when_closed(connection, new.day)
    refuse_conflicts(connection, new.day, [new])
    return one(connection, insert(connection, reading, {**as_row(new, now), "batch_id": None}))


def _by_entry_key(connection: Connection, entry_key: str | None) -> Reading | None:
    if entry_key is None:
        return None
    row = connection.execute(sa.select(reading).where(reading.c.entry_key == entry_key)).one_or_none()
    return None if row is None else reading_of(row)


def _same_entry(stored: Reading, new: NewReading) -> Reading:
    before = (stored.day, *stored.key(), stored.value, stored.unit, stored.quality, stored.supersedes)
    if before != (new.day, *new.key(), new.value, new.unit, new.quality, None):
        raise _key_reused(stored)
    return stored


def _key_reused(stored: Reading) -> EntryKeyReused:
    return EntryKeyReused(
        f"This entry key belongs to reading {stored.id} ({_named(stored)}), which says something else. "
        "Enter the new value as a new entry or as a correction."
    )


def as_row(new: NewReading, now: dt.datetime) -> dict[str, Any]:
    """A new reading as a row that corrects nothing and came by keyboard."""
    return {
        "day": new.day,
        "place": new.place,
        "quantity": new.quantity,
        "duplicate": new.duplicate,
        "value": None if new.value is None else float(new.value),
        "unit": new.unit,
        "quality": new.quality,
        "taken_at": new.taken_at,
        "taken_by": new.taken_by,
        "entered_at": now,
        "source": new.source,
        "supersedes": None,
        "reason": None,
        "entry_key": new.entry_key,
    }


def add_many(connection: Connection, new: Sequence[NewReading], batch_id: int, now: dt.datetime) -> None:
    """Store the readings of an import, whose conflicts were refused before."""
    if new:
        connection.execute(sa.insert(reading), [{**as_row(each, now), "batch_id": batch_id} for each in new])


def refuse_conflicts(connection: Connection, day: dt.date, new: Iterable[NewReading]) -> None:
    """Refuse readings of a place, quantity, duplicate and time that are stored or come twice.

    Raises ConflictingReading.
    """
    new = list(new)
    query = sa.select(reading).where(reading.c.day == day, reading.c.supersedes.is_(None))
    if len(new) == 1:
        query = query.where(reading.c.place == new[0].place, reading.c.quantity == new[0].quantity)
    stored = {(r.place, r.quantity, r.duplicate, r.taken_at): reading_of(r) for r in connection.execute(query)}
    seen: set[tuple[str, str, int, dt.datetime]] = set()
    clashes: list[str] = []
    for each in new:
        key = each.key()
        if key in stored:
            clashes.append(f"{_named(stored[key])} is stored as reading {stored[key].id}; {each.source} has it again")
        elif key in seen:
            clashes.append(f"{each.source} repeats {each.place}, {each.quantity}, time {key[3]:%Y-%m-%d %H:%M} UTC")
        seen.add(key)
    if clashes:
        more = f"; and {len(clashes) - SHOWN} more" if len(clashes) > SHOWN else ""
        raise ConflictingReading(
            f"{'; '.join(clashes[:SHOWN])}{more}. A stored reading is changed only by a correction with a reason."
        )


def _named(one_reading: Reading) -> str:
    value = "no value" if one_reading.value is None else f"{one_reading.value:.6g} {one_reading.unit}"
    when = f"{one_reading.taken_at:%Y-%m-%d %H:%M} UTC"
    return f"{one_reading.place}, {one_reading.quantity}, {when}: {value} ({one_reading.quality})"


def correct(
    connection: Connection,
    reading_id: int,
    value: float | None,
    quality: Quality,
    by: str,
    reason: str,
    entry_key: str | None,
    now: dt.datetime,
) -> Reading:
    """Store a newer reading in place of one that stands, which keeps its place, quantity, unit and time.

    Raises UnknownReading, ReasonMissing, BadEntry, DayClosed, AlreadyCorrected, EntryKeyReused.
    """
    old = one(connection, reading_id)
    retried = _by_entry_key(connection, entry_key)
    if retried is not None:
        if (retried.supersedes, retried.value, retried.quality) != (old.id, value, quality):
            raise _key_reused(retried)
        return retried
    if not reason.strip():
        raise ReasonMissing(f"Reading {reading_id} ({_named(old)}) cannot be corrected without a reason; say why.")
    check_name("name of the person correcting", by)
    check_value(value, quality, f"{old.place}, {old.quantity}")
    refuse_when_closed(connection, old.day)
    newer = successor(connection, reading_id)
    if newer is not None:
        raise AlreadyCorrected(
            f"Reading {reading_id} was corrected by reading {newer.id} ({_named(newer)}); correct the newest one."
        )
    changed = {"value": None if value is None else float(value), "quality": quality, "taken_by": by, "entered_at": now}
    row = {**_kept(old), **changed, "supersedes": old.id, "reason": reason, "entry_key": entry_key}
    return one(connection, insert(connection, reading, row))


def _kept(old: Reading) -> dict[str, Any]:
    return {
        "day": old.day,
        "place": old.place,
        "quantity": old.quantity,
        "duplicate": old.duplicate,
        "unit": old.unit,
        "taken_at": old.taken_at,
        "source": "keyboard",
        "batch_id": None,
    }
