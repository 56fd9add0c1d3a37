"""Harvest plans as they were made. The newest of a season stands; earlier ones stay readable."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Row

from canewright.store.cane_records import StoredPlan
from canewright.store.dialect import plain_json
from canewright.store.errors import BadEntry, ReasonMissing
from canewright.store.records import check_name
from canewright.store.rows import insert
from canewright.store.tables import harvest_plan


def add(
    connection: Connection,
    season: str,
    made_for: dt.date,
    body: Mapping[str, Any],
    by: str,
    reason: str | None,
    now: dt.datetime,
) -> StoredPlan:
    """Store a plan in place of the one that stands. Raises ReasonMissing where there is one, BadEntry."""
    check_name("name of the person planning", by)
    check_name("season", season)
    try:
        plain_json(dict(body))
    except (TypeError, ValueError) as problem:
        raise BadEntry(f"The plan cannot be kept: {problem}. Give plain names and finite numbers.") from problem
    former = of_season(connection, season)
    if former and not (reason or "").strip():
        raise ReasonMissing(f"Season {season} has plan {former[-1].id}; say why it is planned again.")
    row = {
        "season": season, "made_for": made_for, "body": dict(body), "entered_by": by, "entered_at": now,
        "supersedes": former[-1].id if former else None, "reason": reason if former else None,
    }  # fmt: skip
    insert(connection, harvest_plan, row)
    return of_season(connection, season)[-1]


def of_season(connection: Connection, season: str) -> tuple[StoredPlan, ...]:
    """Every plan of a season, the standing one last."""
    query = sa.select(harvest_plan).where(harvest_plan.c.season == season).order_by(harvest_plan.c.id)
    return tuple(_plan_of(row) for row in connection.execute(query))


def _plan_of(row: Row[Any]) -> StoredPlan:
    return StoredPlan(
        row.id, row.season, row.made_for, row.body, row.entered_by, row.entered_at, row.supersedes, row.reason
    )
