"""Seasons as they were smoothed, the corrections of closed days that they propose, and who decided what on each.

Nothing here changes a closed day. An accepted proposal reopens its day and closes it again, in one act with the
decision; what it knew of meters and settings then counts for the day until the acceptance is withdrawn.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection, Row

from canewright.store import days
from canewright.store.dialect import plain_json
from canewright.store.errors import BadEntry, CannotDecide, ReasonMissing, UnknownProposal
from canewright.store.records import Act, Decision, NewProposal, Proposal, Season, check_name
from canewright.store.tables import closed_day, decision, plant_version, proposal, season


def add(
    connection: Connection,
    span: tuple[dt.date, dt.date],
    by: str,
    plant_text: str,
    course: dict[str, Any],
    proposals: Sequence[NewProposal],
    now: dt.datetime,
) -> Season:
    """Store a smoothed season with what it proposes. Raises BadEntry."""
    check_name("name of the person smoothing", by)
    for what, data in (
        ("course", course),
        *((f"proposal for {p.day}", {"f": p.figures, "k": p.knowledge}) for p in proposals),
    ):
        try:
            plain_json(data)
        except (TypeError, ValueError) as problem:
            raise BadEntry(f"The {what} of the season cannot be kept: {problem}. Give plain data.") from problem
    row = {
        "first": span[0], "last": span[1], "entered_by": by, "entered_at": now,
        "plant_sha256": days.keep_plant(connection, plant_text, now), "course": course,
    }  # fmt: skip
    number = connection.execute(sa.insert(season).returning(season.c.id), row).scalar_one()
    for p in proposals:
        made = {
            "season_id": number,
            "day": p.day,
            "version": p.version,
            "figures": list(p.figures),
            "knowledge": list(p.knowledge),
        }
        connection.execute(sa.insert(proposal), made)
    return _season_of(connection.execute(_seasons().where(season.c.id == number)).one())


def _seasons() -> sa.Select[Any]:
    return sa.select(season, plant_version.c.text.label("plant_text")).join(plant_version)


def _season_of(row: Row[Any]) -> Season:
    return Season(row.id, row.first, row.last, row.entered_by, row.entered_at, row.plant_text, row.course)


def newest(connection: Connection, number: int | None = None) -> Season | None:
    """A smoothed season by number, else the newest; None when there is none."""
    query = _seasons().order_by(season.c.id.desc()).limit(1)
    if number is not None:
        query = query.where(season.c.id == number)
    row = connection.execute(query).first()
    return None if row is None else _season_of(row)


# --- proposals --------------------------------------------------------------------------------------------------------


def proposals(connection: Connection, day: dt.date | None = None) -> tuple[Proposal, ...]:
    """Every proposal, or those for a day, oldest first, each with how it stands."""
    query = sa.select(proposal, season.c.entered_by, season.c.entered_at).join(season).order_by(proposal.c.id)
    if day is not None:
        query = query.where(proposal.c.day == day)
    rows = connection.execute(query).all()
    acts: dict[int, list[Decision]] = {}
    for row in connection.execute(sa.select(decision).order_by(decision.c.id)):
        acts.setdefault(row.proposal_id, []).append(Decision(row.act, row.entered_by, row.entered_at, row.reason))
    last = {row.day: row.id for row in rows}
    standing = _standing_versions(connection)
    return tuple(
        Proposal(
            row.id, row.season_id, row.day, row.version, tuple(row.figures), tuple(row.knowledge), row.entered_by,
            row.entered_at, _stands(row, acts.get(row.id, []), last, standing), tuple(acts.get(row.id, [])),
        )
        for row in rows
    )  # fmt: skip


def _standing_versions(connection: Connection) -> dict[dt.date, int]:
    """The standing version of every day that is closed."""
    found: dict[dt.date, int] = {}
    for row in connection.execute(
        sa.select(closed_day.c.day, closed_day.c.version, closed_day.c.status).order_by(closed_day.c.id)
    ):
        if row.status == "closed":
            found[row.day] = row.version
        else:
            found.pop(row.day, None)
    return found


def _stands(row: Row[Any], acts: Sequence[Decision], last: dict[dt.date, int], standing: dict[dt.date, int]) -> str:
    """open, accepted, declined, withdrawn; replaced by a newer one; or past, where the day was closed anew since."""
    if acts:
        return acts[-1].act
    if last[row.day] != row.id:
        return "replaced"
    return "open" if standing.get(row.day) == row.version else "past"


def one(connection: Connection, number: int) -> Proposal:
    """A proposal by its number. Raises UnknownProposal."""
    found = next((p for p in proposals(connection) if p.id == number), None)
    if found is None:
        raise UnknownProposal(f"There is no proposal {number}; canewright season proposals lists those there are.")
    return found


def in_force(connection: Connection, day: dt.date) -> Proposal | None:
    """The proposal whose knowledge counts for a day: the one accepted last, unless withdrawn."""
    accepted = [p for p in proposals(connection, day) if p.status == "accepted"]
    return max(accepted, key=lambda p: p.decisions[-1].at, default=None)


def decide(
    connection: Connection, number: int, act: Act, by: str, reason: str, again: days.Closing | None, now: dt.datetime
) -> Proposal:
    """Record a decision; with ``again`` the day is reopened and closed so in the same act.

    Raises UnknownProposal, CannotDecide, ReasonMissing, BadEntry, and what closing raises.
    """
    found = one(connection, number)
    check_name("name of the person deciding", by)
    if not reason.strip():
        raise ReasonMissing(f"Proposal {number} cannot be {act} without a reason; say why.")
    wanted = "accepted" if act == "withdrawn" else "open"
    if found.status != wanted:
        raise CannotDecide(f"Proposal {number} for {found.day} is {_told(found.status)}; it cannot be {act}.")
    connection.execute(
        sa.insert(decision),
        {"proposal_id": number, "act": act, "entered_by": by, "entered_at": now, "reason": reason},
    )
    if again is not None:
        days.reopen(connection, found.day, by, reason, now)
        days.close(connection, again, now)
    return one(connection, number)


def _told(status: str) -> str:
    return {
        "replaced": "replaced by a newer one",
        "past": "past: the day was reopened or closed again since",
    }.get(status, f"{status} already" if status != "open" else "not decided yet")
