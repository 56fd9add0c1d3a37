"""What truly happened in an invented season, read back for the score; nothing that closes a day may read it."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from canewright.demonstration.faults import Fault
from canewright.demonstration.season import FAULTS_FILE, READINGS, SLIPS, STATES, SeasonRefused


@dataclass(frozen=True)
class Truth:
    """Planted faults, mistyped results (day, tag, error), true totals by day and figure, readings by day and tag."""

    faults: tuple[Fault, ...]
    slips: tuple[tuple[int, str, float], ...]
    totals: Mapping[tuple[int, str], tuple[float, ...]]
    readings: Mapping[tuple[int, str], float]

    def over(self, figure: str, days: Sequence[int]) -> tuple[float, ...]:
        """A figure's totals summed over days."""
        return tuple(map(sum, zip(*(self.totals[d, figure] for d in days), strict=True)))


def _rows(path: Path) -> list[dict[str, str]]:
    if not path.is_file():
        raise SeasonRefused(f"{path} is not a file; give the folder of truth that was made with the season")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _number(text: str) -> float | None:
    return float(text) if text else None


def read_truth(folder: Path) -> Truth:
    """The truth of a season. Raises SeasonRefused where the folder does not hold it."""
    faults = tuple(
        Fault(
            r["id"], r["says"], int(r["first"]), int(r["last"]), tuple(r["about"].split("; ")),
            int(r["deadline"]) - int(r["first"]) + 1, _number(r["size"]), r["unit"], _number(r["bound"]),
            r["must be found"] == "True",
        )
        for r in _rows(folder / FAULTS_FILE)
    )  # fmt: skip
    slips = tuple((int(r["day"]), r["tag"], float(r["error"])) for r in _rows(folder / SLIPS))
    totals = {(int(r["day"]), r["figure"]): tuple(map(float, r["totals"].split())) for r in _rows(folder / STATES)}
    readings = {(int(r["day"]), r["tag"]): float(r["true"]) for r in _rows(folder / READINGS)}
    return Truth(faults, slips, totals, readings)
