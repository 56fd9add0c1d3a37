"""Closing a day and opening it again; every closing stays readable as it was published."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Row

from canewright.store.dialect import plain_json
from canewright.store.errors import (
    BadEntry,
    DayClosed,
    NothingToReopen,
    ReadingsChanged,
    ReasonMissing,
    UnknownReading,
)
from canewright.store.records import ClosedDay, PlantVersion, Reopening, check_day, check_name
from canewright.store.tables import closed_day, consignment, plant_version, reading

ASKED_AT_ONCE = 500
"""Numbers per question, below every database's limit on parameters."""
_opened = closed_day.alias("opened")


def is_closed(connection: Connection, day: dt.date) -> bool:
    """Whether a closing of the day stands."""
    latest = _latest_version(connection, day)
    return bool(latest) and not _is_reopened(connection, day, latest)


def refuse_when_closed(connection: Connection, day: dt.date) -> None:
    """Raises DayClosed when the day is closed."""
    latest = _latest_version(connection, day)
    if latest and not _is_reopened(connection, day, latest):
        raise DayClosed(
            f"{day} is closed (version {latest}). Reopen the day with a reason before anything of it is entered, "
            "corrected or closed again."
        )


def _latest_version(connection: Connection, day: dt.date) -> int:
    query = sa.select(sa.func.max(closed_day.c.version)).where(closed_day.c.day == day)
    return connection.execute(query).scalar() or 0


def _is_reopened(connection: Connection, day: dt.date, version: int) -> bool:
    query = sa.select(closed_day.c.id).where(
        closed_day.c.day == day, closed_day.c.version == version, closed_day.c.status == "reopened"
    )
    return connection.execute(query).scalar() is not None


@dataclass(frozen=True)
class Closing:
    """What is kept when a day is closed."""

    day: dt.date
    by: str
    plant_text: str
    figures: Mapping[str, Any]
    state: Mapping[str, Any]
    readings_used: Sequence[int]
    reason: str | None


def close(connection: Connection, closing: Closing, now: dt.datetime) -> ClosedDay:
    """Store a closing as the next version.

    Raises BadEntry, DayClosed, UnknownReading, ReadingsChanged.
    """
    check_name("name of the person closing", closing.by)
    check_day(closing.day)
    _refuse_unwritable(closing.figures, closing.state)
    refuse_when_closed(connection, closing.day)
    _refuse_stale(connection, closing.readings_used)
    version = _latest_version(connection, closing.day) + 1
    row = {
        "day": closing.day,
        "version": version,
        "status": "closed",
        "entered_by": closing.by,
        "entered_at": now,
        "reason": closing.reason,
        "plant_sha256": keep_plant(connection, closing.plant_text, now),
        "figures": dict(closing.figures),
        "state": dict(closing.state),
        "readings_used": [int(n) for n in closing.readings_used],
    }
    connection.execute(sa.insert(closed_day), row)
    return _one(connection, closing.day, version)


def _one(connection: Connection, day: dt.date, version: int) -> ClosedDay:
    row = connection.execute(_query(closed_day.c.day == day, closed_day.c.version == version)).one()
    return _closed_day_of(row)


def _refuse_unwritable(figures: Mapping[str, Any], state: Mapping[str, Any]) -> None:
    for what, data in (("figures", figures), ("state", state)):
        try:
            plain_json(dict(data))
        except (TypeError, ValueError) as problem:
            raise BadEntry(
                f"The {what} of the day cannot be kept: {problem}. Give plain data with finite numbers, and None where "
                "there is no value."
            ) from problem


def _refuse_stale(connection: Connection, numbers: Sequence[int]) -> None:
    wanted = sorted(set(numbers))
    for start in range(0, len(wanted), ASKED_AT_ONCE):
        part = wanted[start : start + ASKED_AT_ONCE]
        found = {row.id for row in connection.execute(sa.select(reading.c.id).where(reading.c.id.in_(part)))}
        unknown = [n for n in part if n not in found]
        if unknown:
            raise UnknownReading(f"The closing names reading {unknown[0]}, which does not exist.")
        query = sa.select(reading.c.id, reading.c.supersedes).where(reading.c.supersedes.in_(part))
        newer = connection.execute(query.order_by(reading.c.id)).first()
        if newer is not None:
            raise ReadingsChanged(
                f"Reading {newer.supersedes} was corrected by reading {newer.id} while the day was being computed. "
                "Compute the day again, then close it."
            )


def keep_plant(connection: Connection, text: str, now: dt.datetime) -> str:
    """Keep a plant description unless it is there already; what it is found by."""
    sha256 = hashlib.sha256(text.encode("utf-8")).hexdigest()
    query = sa.select(plant_version.c.sha256).where(plant_version.c.sha256 == sha256)
    if connection.execute(query).scalar() is None:
        connection.execute(sa.insert(plant_version), {"sha256": sha256, "text": text, "first_used": now})
    return sha256


def reopen(connection: Connection, day: dt.date, by: str, reason: str, now: dt.datetime) -> ClosedDay:
    """Open the standing version again; it stays readable. Raises NothingToReopen, ReasonMissing, BadEntry."""
    version = _latest_version(connection, day)
    if not version or _is_reopened(connection, day, version):
        raise NothingToReopen(f"{day} is not closed; there is nothing to reopen.")
    if not reason.strip():
        raise ReasonMissing(f"{day} cannot be reopened without a reason; say why.")
    check_name("name of the person reopening", by)
    row = {
        "day": day,
        "version": version,
        "status": "reopened",
        "entered_by": by,
        "entered_at": now,
        "reason": reason,
        "plant_sha256": None,
        "figures": None,
        "state": None,
        "readings_used": None,
    }
    connection.execute(sa.insert(closed_day), row)
    return _one(connection, day, version)


def _query(*conditions: sa.ColumnElement[bool]) -> sa.Select[Any]:
    same = sa.and_(
        _opened.c.day == closed_day.c.day, _opened.c.version == closed_day.c.version, _opened.c.status == "reopened"
    )
    joined = closed_day.join(plant_version).outerjoin(_opened, same)
    columns = (
        closed_day,
        plant_version.c.text.label("plant_text"),
        _opened.c.entered_by.label("opened_by"),
        _opened.c.entered_at.label("opened_at"),
        _opened.c.reason.label("opened_why"),
    )
    return sa.select(*columns).select_from(joined).where(closed_day.c.status == "closed", *conditions)


def _closed_day_of(row: Row[Any]) -> ClosedDay:
    reopened = None if row.opened_by is None else Reopening(row.opened_by, row.opened_at, row.opened_why)
    return ClosedDay(
        day=row.day,
        version=row.version,
        by=row.entered_by,
        at=row.entered_at,
        reason=row.reason,
        plant_text=row.plant_text,
        plant_sha256=row.plant_sha256,
        figures=row.figures,
        state=row.state,
        readings_used=tuple(row.readings_used),
        reopened=reopened,
    )


def closed(connection: Connection, day: dt.date, version: int | None) -> ClosedDay | None:
    """A closing of the day by version, or the newest; None when there is none."""
    query = _query(closed_day.c.day == day).order_by(closed_day.c.version.desc()).limit(1)
    if version is not None:
        query = query.where(closed_day.c.version == version)
    row = connection.execute(query).first()
    return None if row is None else _closed_day_of(row)


def versions(connection: Connection, day: dt.date) -> tuple[ClosedDay, ...]:
    """Every closing of a day, oldest first."""
    query = _query(closed_day.c.day == day).order_by(closed_day.c.version)
    return tuple(_closed_day_of(row) for row in connection.execute(query))


def closed_days(connection: Connection, first: dt.date, last: dt.date) -> tuple[ClosedDay, ...]:
    """The newest closing of each day from first to last, both included, in order of days."""
    later = closed_day.alias("later")
    newest = sa.select(sa.func.max(later.c.version)).where(later.c.day == closed_day.c.day).scalar_subquery()
    within = closed_day.c.day.between(first, last)
    query = _query(within, closed_day.c.version == newest).order_by(closed_day.c.day)
    return tuple(_closed_day_of(row) for row in connection.execute(query))


def days(connection: Connection) -> tuple[dt.date, ...]:
    """Every day of which anything is stored, in order."""
    tables = (reading, consignment, closed_day)
    found: set[dt.date] = set()
    for table in tables:
        found |= set(connection.execute(sa.select(table.c.day).distinct()).scalars())
    return tuple(sorted(found))


def plant_versions(connection: Connection) -> tuple[PlantVersion, ...]:
    """Every plant description a day was closed with, in order of first use."""
    query = sa.select(plant_version).order_by(plant_version.c.first_used, plant_version.c.sha256)
    return tuple(PlantVersion(row.sha256, row.text, row.first_used) for row in connection.execute(query))
