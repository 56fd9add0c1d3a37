"""Kept trials as tables: side by side, and as files for other programs."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from canewright.plant.what_if import shows
from canewright.store import Trial


@dataclass(frozen=True)
class Compared:
    """A figure over several trials: each one's change from its own base, with the standard uncertainty."""

    name: str
    unit: str
    group: str
    decimals: int
    changes: tuple[tuple[float, float | None] | None, ...]


def compared(trials: Sequence[Trial]) -> list[Compared]:
    """Every figure that changed in any of these trials, in the order of the first that tells it."""
    rows: dict[str, dict[str, Any]] = {}
    for trial in trials:
        for row in trial.result["rows"]:
            if shows(row["change"], row["decimals"]):
                rows.setdefault(row["name"], row)
    return [
        Compared(name, row["unit"], row["group"], row["decimals"], tuple(_change(t, name) for t in trials))
        for name, row in rows.items()
    ]


def _change(trial: Trial, name: str) -> tuple[float, float | None] | None:
    row = next((r for r in trial.result["rows"] if r["name"] == name), None)
    return None if row is None or row["change"] is None else (float(row["change"]), row["uncertainty"])


def trials_json(trials: Sequence[Trial]) -> str:
    """Trials with answers and notes as JSON."""
    return json.dumps([trial_data(t) for t in trials], ensure_ascii=False, indent=1)


def trial_data(trial: Trial) -> dict[str, Any]:
    """A trial as plain data."""
    return {
        "trial": trial.id,
        "name": trial.name,
        "day": trial.day.isoformat(),
        "by": trial.by,
        "at": trial.at.isoformat(timespec="seconds"),
        "changes": dict(trial.changes),
        "result": dict(trial.result),
        "plant": trial.plant_sha256,
        "notes": [{"by": n.by, "at": n.at.isoformat(timespec="seconds"), "text": n.text} for n in trial.notes],
    }


HEAD = (
    "trial", "name", "day", "by", "at", "changes", "figure", "unit", "base", "then", "change",
    "standard uncertainty of the change", "notes",
)  # fmt: skip


def trials_csv(trials: Sequence[Trial]) -> str:
    """Trials as CSV: one row for each figure of each trial."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\n")
    writer.writerow(HEAD)
    for t in trials:
        changes = "; ".join(f"{name} = {value:g}" for name, value in t.changes.items())
        notes = "; ".join(f"{n.by}, {n.at:%Y-%m-%d %H:%M} UTC: {n.text}" for n in t.notes)
        told = (t.id, t.name, t.day.isoformat(), t.by, t.at.isoformat(timespec="seconds"), changes)
        for r in t.result["rows"]:
            cells = ("name", "unit", "base", "then", "change", "uncertainty")
            writer.writerow([*map(_safe, told), *(_safe(r[c]) for c in cells), _safe(notes)])
    return written.getvalue()


def _safe(cell: object) -> object:
    """A text that a spreadsheet would take for a formula gets an apostrophe in front."""
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in {"=", "+", "-", "@", "\t", "\r"} else cell
