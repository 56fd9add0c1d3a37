"""Rows of the tables into records."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Row, Table

from canewright.store.records import Batch, Consignment, ImportedFile, Reading


def insert(connection: Connection, table: Table, row: dict[str, Any]) -> int:
    """Store one row and give its number."""
    number: int = connection.execute(sa.insert(table).values(row).returning(table.c.id)).scalar_one()
    return number


def reading_of(row: Row[Any]) -> Reading:
    """A reading from its row."""
    return Reading(
        id=row.id,
        day=row.day,
        place=row.place,
        quantity=row.quantity,
        value=row.value,
        unit=row.unit,
        quality=row.quality,
        taken_at=row.taken_at,
        taken_by=row.taken_by,
        entered_at=row.entered_at,
        source=row.source,
        duplicate=row.duplicate,
        batch_id=row.batch_id,
        supersedes=row.supersedes,
        reason=row.reason,
        entry_key=row.entry_key,
    )


def consignment_of(row: Row[Any]) -> Consignment:
    """A consignment from its row."""
    return Consignment(
        id=row.id,
        day=row.day,
        ticket=row.ticket,
        grower=row.grower,
        block=row.block,
        fibre_class=row.fibre_class,
        tip_at=row.tip_at,
        entered_by=row.entered_by,
        entered_at=row.entered_at,
        source=row.source,
        batch_id=row.batch_id,
        supersedes=row.supersedes,
        reason=row.reason,
    )


def batch_of(row: Row[Any], files: list[Row[Any]]) -> Batch:
    """An import from its row and the rows of its files."""
    listed = tuple(ImportedFile(each.name, each.sha256, each.row_count) for each in files)
    return Batch(row.id, row.day, row.entered_by, row.entered_at, listed, row.row_count)
