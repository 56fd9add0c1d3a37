"""What was closed again since the day before was closed: told once on the next day sheet, with what it changed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from canewright.store import ClosedDay, Store

LISTED = 8
"""Figures that one note lists."""


def closed_again(store: Store, day: dt.date, closed: Sequence[ClosedDay]) -> list[str]:
    """A note for each earlier day that was closed again after every other day was closed; ``closed`` as they stand."""
    notes = []
    for one in closed:
        if one.version == 1 or one.day >= day:
            continue
        others = [c.at for c in closed if c.day != one.day and c.day < day and c.version == 1]
        if one.at > max(others, default=one.at - dt.timedelta(seconds=1)):
            before = store.closed(one.day, one.version - 1)
            if before is not None:
                notes.append(_note(store, one, before))
    return notes


def _note(store: Store, one: ClosedDay, before: ClosedDay) -> str:
    why = f" ({one.reason})" if one.reason else ""
    moved = changed(before.figures, one.figures)
    more = f" and {len(moved) - LISTED} more" if len(moved) > LISTED else ""
    corrected = "; ".join(_corrections(store, before))
    return (
        f"{one.day} was closed again by {one.by}{why}; version {before.version} stays readable as it was published. "
        f"Corrected: {corrected or 'no reading'}. Changed: {', '.join(moved[:LISTED]) or 'no figure'}{more}. "
        "Week and season to date have the new figures from this sheet on"
    )


def _corrections(store: Store, before: ClosedDay) -> Iterable[str]:
    """Readings of the day that were corrected after it was closed before."""
    used = set(before.readings_used)
    for old in store.former_readings(before.day):
        if old.id in used:
            new = store.history(old.id)[-1]
            yield f"{old.place}, {old.quantity}: {_shown(old.value)} to {_shown(new.value)} {new.unit}, {new.reason}"


def _shown(value: float | None) -> str:
    return "no value" if value is None else f"{value:g}"


def changed(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """Figures of a day sheet that changed in a digit that is shown, the most changed by its uncertainty first."""
    old = {row["name"]: row for row in before["sheet"]}
    found = []
    for row in after["sheet"]:
        was, now = old.get(row["name"], {}).get("value"), row["value"]
        if was is None or now is None or round(was, row["decimals"]) == round(now, row["decimals"]):
            continue
        d, u = row["decimals"], row["uncertainty"] or abs(now)
        found.append((abs(now - was) / (u or 1.0), f"{row['name']} {was:.{d}f} to {now:.{d}f} {row['unit']}"))
    return [said for _, said in sorted(found, reverse=True)]
