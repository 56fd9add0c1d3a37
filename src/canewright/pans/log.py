"""A logged strike from a CSV file: what was let in over time, and what was read; every bad row named.

One row is a moment. What was let in (feed, movement water, steam opening, absolute pressure) holds from its row to the
next. Readings may be left blank. A row whose time is ``±`` gives the standard uncertainty of each reading of its
column.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from canewright.pans import motion

Vector = NDArray[np.float64]
TIME, SEEDED = "time, min", "seeded"
DRIVES = {
    "movement water, t/h": ("water rate", 0.0, 200.0, 1.0),
    "steam opening, %": ("opening", 0.0, 100.0, 0.01),
    "absolute pressure, kPa": ("pressure", 3.0, 101.0, 1.0),
}
"""Columns of what was let in besides feeds: input, least, most, and factor to the input's unit."""
READINGS = {
    "volume, m³": ("volume", 0.5, 0.1, 400.0),
    "brix, %": ("brix", 0.3, 20.0, 99.0),
    "temperature, °C": ("temperature", 0.5, 20.0, 110.0),
    "mother liquor purity, %": ("liquor purity", 0.5, 5.0, 100.0),
    "mother liquor brix, %": ("liquor brix", 0.3, 20.0, 95.0),
    "supersaturation": ("supersaturation", 0.02, 0.3, 1.8),
    "steam, t/h": ("steam rate", 0.3, 0.0, 500.0),
    "crystal on massecuite, %": ("crystal on massecuite", 1.5, 0.0, 75.0),
    "mean size, mm": ("mean size", 0.03, 0.0, 5.0),
}
"""Columns of readings: what of the strike they read, standard uncertainty where none is given, least, most."""
MOST_FAULTS = 50


class LogFaults(ValueError):
    """A log that cannot be used; ``faults`` lists every one found, by row and column."""

    def __init__(self, faults: Sequence[str]) -> None:
        """Keep the faults."""
        self.faults = tuple(faults)
        super().__init__("\n".join(faults))


@dataclass(frozen=True)
class Log:
    """A logged strike: moments (min), inputs from each to the next (a column each), readings with their moments."""

    times: Vector
    inputs: Mapping[str, Vector]
    readings: Mapping[str, Vector]
    uncertainties: Mapping[str, float]

    @property
    def lengths(self) -> Vector:
        """Minutes from each moment to the next."""
        return np.diff(self.times)

    @property
    def count(self) -> int:
        """Readings that there are."""
        return sum(int(np.isfinite(column).sum()) for column in self.readings.values())


def feed_column(number: int) -> str:
    """The column of a feed."""
    return f"feed {number}, t/h"


def columns(feeds: int) -> list[str]:
    """Every column that a log may have."""
    return [TIME, SEEDED, *(feed_column(i) for i in range(1, feeds + 1)), *DRIVES, *READINGS]


def read_log(text: str, feeds: int) -> Log:
    """A log of a strike with so many feeds.

    Raises LogFaults listing every fault by row and column.
    """
    try:
        rows = list(csv.reader(io.StringIO(text, newline=None)))
    except csv.Error as problem:
        raise LogFaults([f"the file is no table: {problem}; accepted: a CSV file"]) from None
    if not rows:
        raise LogFaults(["the file is empty; accepted: a header and one row for each moment"])
    header = [cell.strip().lstrip("\ufeff") for cell in rows[0]]
    faults = _header_faults(header, feeds)
    if faults:
        raise LogFaults(faults)
    spread, body = [], []
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(header):
            faults.append(f"row {number}: found {len(row)} cells; accepted: {len(header)}, as the header has")
        elif row[header.index(TIME)].strip() == "±":
            spread.append((number, row))
        else:
            body.append((number, row))
    table = {name: np.array([_number(name, n, row[k], faults) for n, row in body]) for k, name in enumerate(header)}
    sds = _spreads(header, spread, faults)
    _time_faults(table, [n for n, _ in body], faults)
    if faults:
        more = [f"and {len(faults) - MOST_FAULTS} more"] if len(faults) > MOST_FAULTS else []
        raise LogFaults(faults[:MOST_FAULTS] + more)
    return _log(table, sds, feeds)


def _header_faults(header: Sequence[str], feeds: int) -> list[str]:
    known = columns(feeds)
    faults = [f"header: found '{name[:60]}'; accepted: {', '.join(known)}" for name in header if name not in known]
    faults += [
        f"header: '{name}' stands twice; accepted: once" for name in sorted(set(header)) if header.count(name) > 1
    ]
    needed = [TIME, SEEDED, feed_column(1), "steam opening, %", "absolute pressure, kPa"]
    faults += [f"header: '{name}' is wanting" for name in needed if name not in header]
    if not set(READINGS) & set(header):
        faults.append(f"header: no reading to fit to; accepted: at least one of {', '.join(READINGS)}")
    return faults


def _limits(name: str) -> tuple[float, float]:
    if name in DRIVES:
        return DRIVES[name][1:3]
    if name in READINGS:
        return READINGS[name][2:4]
    return {TIME: (0.0, 3000.0), SEEDED: (0.0, 1.0)}.get(name, (0.0, 500.0))


def _number(name: str, number: int, cell: str, faults: list[str]) -> float:
    low, high = _limits(name)
    if name in READINGS and not cell.strip():
        return math.nan
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not low <= value <= high or (name == SEEDED and value not in {0.0, 1.0}):
        accepted = "0 before seeding, 1 after" if name == SEEDED else f"a number from {low:g} to {high:g}"
        faults.append(f"row {number}, {name}: found '{cell.strip()[:40]}'; accepted: {accepted}")
    return value


def _spreads(header: Sequence[str], rows: Sequence[tuple[int, list[str]]], faults: list[str]) -> dict[str, float]:
    sds = {name: READINGS[name][1] for name in header if name in READINGS}
    for number, row in rows:
        for name, cell in zip(header, row, strict=True):
            if name in READINGS and cell.strip():
                try:
                    sds[name] = float(cell)
                except ValueError:
                    sds[name] = math.nan
                if not 0.0 < sds[name] < math.inf:
                    faults.append(f"row {number}, {name}: found '{cell.strip()[:40]}'; accepted: a number above 0")
    return sds


def _time_faults(table: Mapping[str, Vector], numbers: Sequence[int], faults: list[str]) -> None:
    times, seeded = table[TIME], table[SEEDED]
    if len(times) < 4:
        faults.append(f"found {len(times)} moments; accepted: at least 4")
        return
    faults.extend(
        f"row {numbers[k + 1]}, {TIME}: found {times[k + 1]:g}; accepted: more than {times[k]:g} of the row above"
        for k in np.flatnonzero(np.diff(times) <= 0.0).tolist()
    )
    faults.extend(
        f"row {numbers[k + 1]}, {SEEDED}: found 0 after 1; accepted: 1 from the seeding on"
        for k in np.flatnonzero(np.diff(seeded) < 0.0).tolist()
    )
    if not (seeded == 1.0).any():
        faults.append(f"{SEEDED}: found only 0; accepted: 1 from the row at which the pan was seeded")


def _log(table: Mapping[str, Vector], sds: Mapping[str, float], feeds: int) -> Log:
    count = len(table[TIME])
    inputs = {"seeded": table[SEEDED]}
    for name, (drive, _, _, factor) in DRIVES.items():
        inputs[drive] = factor * table.get(name, np.zeros(count))
    for i in range(1, feeds + 1):
        inputs[motion.feeding(i)] = table.get(feed_column(i), np.zeros(count))
    readings = {name: table[name] for name in READINGS if name in table}
    return Log(table[TIME] - table[TIME][0], inputs, readings, sds)
