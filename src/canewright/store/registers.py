"""Registers: what holds from which day on. Two times are kept: from when it holds, and when it was entered."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Row

from canewright.store.cane_records import NewRegisterEntry, RegisterEntry
from canewright.store.dialect import plain_json
from canewright.store.errors import AlreadyCorrected, BadEntry, ConflictingReading, ReasonMissing, UnknownEntry
from canewright.store.records import check_name
from canewright.store.rows import insert
from canewright.store.tables import register_entry

_newer = register_entry.alias("newer")


def add(connection: Connection, new: Sequence[NewRegisterEntry], by: str, now: dt.datetime) -> int:
    """Store entries, all or none; gives their number. Raises BadEntry, ConflictingReading for a day that is taken."""
    check_name("name of the person entering", by)
    stored = {(e.register, e.key, e.valid_from): e for e in standing(connection)}
    for each in new:
        _refuse_unwritable(each.details)
        there = stored.get((each.register, each.key, each.valid_from))
        if there is not None:
            raise ConflictingReading(
                f"{each.source}: {each.register} {each.key} has an entry from {each.valid_from} already (entry "
                f"{there.id}); correct that entry with a reason."
            )
    if new:
        connection.execute(sa.insert(register_entry), [_as_row(each, by, now) for each in new])
    return len(new)


def _refuse_unwritable(details: Mapping[str, Any] | None) -> None:
    try:
        plain_json(None if details is None else dict(details))
    except (TypeError, ValueError) as problem:
        raise BadEntry(f"The entry cannot be kept: {problem}. Give plain names and finite numbers.") from problem


def _as_row(new: NewRegisterEntry, by: str, now: dt.datetime) -> dict[str, Any]:
    return {
        "register": new.register,
        "key": new.key,
        "valid_from": new.valid_from,
        "details": None if new.details is None else dict(new.details),
        "entered_by": by,
        "entered_at": now,
        "source": new.source,
        "supersedes": None,
        "reason": None,
    }


def standing(connection: Connection, register: str | None = None) -> tuple[RegisterEntry, ...]:
    """The entries that stand, of one register or all, by key and the day from which they hold."""
    superseded = sa.exists().where(_newer.c.supersedes == register_entry.c.id)
    query = sa.select(register_entry).where(~superseded)
    if register is not None:
        query = query.where(register_entry.c.register == register)
    ordered = query.order_by(register_entry.c.register, register_entry.c.key, register_entry.c.valid_from)
    return tuple(_entry_of(row) for row in connection.execute(ordered))


def history(connection: Connection, register: str, key: str) -> tuple[RegisterEntry, ...]:
    """Every entry ever made of a key, corrected ones too, in order of entering. Raises UnknownEntry."""
    of_key = (register_entry.c.register == register) & (register_entry.c.key == key)
    rows = connection.execute(sa.select(register_entry).where(of_key).order_by(register_entry.c.id)).all()
    if not rows:
        raise UnknownEntry(f"There is no {register} '{key}' in the register.")
    return tuple(_entry_of(row) for row in rows)


def one(connection: Connection, number: int) -> RegisterEntry:
    """An entry by its number. Raises UnknownEntry."""
    row = connection.execute(sa.select(register_entry).where(register_entry.c.id == number)).one_or_none()
    if row is None:
        raise UnknownEntry(f"There is no register entry number {number}.")
    return _entry_of(row)


def correct(
    connection: Connection,
    number: int,
    valid_from: dt.date,
    details: Mapping[str, Any] | None,
    by: str,
    reason: str,
    now: dt.datetime,
) -> RegisterEntry:
    """Store an entry in place of one that stands. Raises UnknownEntry, ReasonMissing, AlreadyCorrected, BadEntry."""
    old = one(connection, number)
    if not reason.strip():
        raise ReasonMissing(
            f"Entry {number} of {old.register} {old.key} cannot be corrected without a reason; say why."
        )
    check_name("name of the person correcting", by)
    _refuse_unwritable(details)
    newer = connection.execute(sa.select(register_entry.c.id).where(register_entry.c.supersedes == number)).scalar()
    if newer is not None:
        raise AlreadyCorrected(f"Entry {number} was corrected before; correct entry {newer} instead.")
    for other in standing(connection, old.register):
        if (other.key, other.valid_from) == (old.key, valid_from) and other.id != number:
            raise ConflictingReading(
                f"{old.register} {old.key} has another entry from {valid_from} (entry {other.id}); correct that one."
            )
    new = NewRegisterEntry(old.register, old.key, valid_from, details, "keyboard")
    row = {**_as_row(new, by, now), "supersedes": number, "reason": reason}
    return one(connection, insert(connection, register_entry, row))


def _entry_of(row: Row[Any]) -> RegisterEntry:
    return RegisterEntry(
        row.id, row.register, row.key, row.valid_from, row.details, row.entered_by, row.entered_at, row.source,
        row.supersedes, row.reason,
    )  # fmt: skip
