"""Keys to growers' own pages. Only a hash of a key is kept; a withdrawn key stays on record with the reason."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from canewright.store.cane_records import Access
from canewright.store.errors import AlreadyCorrected, ReasonMissing, UnknownEntry
from canewright.store.records import check_name
from canewright.store.rows import insert
from canewright.store.tables import grower_access

_newer = grower_access.alias("newer")


def hashed(key: str) -> str:
    """What is kept of a key. Keys are long and drawn at random, so that a plain hash of one cannot be guessed back."""
    return hashlib.sha256(key.encode("utf-8")).hexdigest()


def grant(connection: Connection, grower: str, given_to: str, key: str, by: str, now: dt.datetime) -> Access:
    """Store the hash of a key for a grower. Raises BadEntry."""
    for what, text in (("grower", grower), ("name of the person given the key", given_to), ("name of who gives", by)):
        check_name(what, text)
    row = {
        "grower": grower,
        "given_to": given_to,
        "key_hash": hashed(key),
        "entered_by": by,
        "entered_at": now,
        "supersedes": None,
        "reason": None,
    }
    return Access(insert(connection, grower_access, row), grower, given_to, by, now, None)


def withdraw(connection: Connection, number: int, by: str, reason: str, now: dt.datetime) -> None:
    """End an access. Raises UnknownEntry, ReasonMissing, AlreadyCorrected."""
    found = next((each for each in listed(connection) if each.id == number), None)
    if found is None:
        raise UnknownEntry(f"There is no access number {number}.")
    if not reason.strip():
        raise ReasonMissing(f"Access {number} cannot be withdrawn without a reason; say why.")
    check_name("name of the person withdrawing", by)
    if found.withdrawn is not None:
        raise AlreadyCorrected(f"Access {number} was withdrawn before: {found.withdrawn}.")
    row = {
        "grower": found.grower,
        "given_to": found.given_to,
        "key_hash": None,
        "entered_by": by,
        "entered_at": now,
        "supersedes": number,
        "reason": reason,
    }
    insert(connection, grower_access, row)


def listed(connection: Connection) -> tuple[Access, ...]:
    """Every access ever given, oldest first."""
    return _read(connection, grower_access.c.supersedes.is_(None))


def opened_by(connection: Connection, key: str) -> Access | None:
    """The access that a key opens; None for a wrong or withdrawn key."""
    found = _read(connection, grower_access.c.key_hash == hashed(key))
    return next((each for each in found if each.withdrawn is None), None)


def _read(connection: Connection, *conditions: sa.ColumnElement[bool]) -> tuple[Access, ...]:
    joined = grower_access.outerjoin(_newer, _newer.c.supersedes == grower_access.c.id)
    columns: tuple[Any, ...] = (grower_access, _newer.c.reason.label("withdrawn"))
    query = sa.select(*columns).select_from(joined).where(*conditions).order_by(grower_access.c.id)
    return tuple(
        Access(r.id, r.grower, r.given_to, r.entered_by, r.entered_at, r.withdrawn) for r in connection.execute(query)
    )
