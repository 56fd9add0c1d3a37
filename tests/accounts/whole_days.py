"""The files of a day for any plant, filled in as its instruments would read a state, with or without errors."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path

from canewright.accounts.formats import write_templates
from canewright.accounts.measuring import expected_points
from canewright.analysis.colour import icumsa_colour
from canewright.plant.description import Meter
from canewright.plant.plant import Plant, State

PURITY_BRIX = 15.0
COLOUR_BRIX, CELL = 5.0, 1.0


def readings_of(plant: Plant, state: State, error: Callable[[Meter, float], float] | None = None) -> dict[str, float]:
    """What each meter reads of a state, by tag; ``error`` gives what is added to the true value."""
    found = {}
    for meter in plant.description.meters:
        true = state.measured(meter.stream, meter.quantity)
        found[meter.tag] = true + (error(meter, true) if error else 0.0)
    return found


def fill_day(folder: Path, plant: Plant, readings: Mapping[str, float], day: dt.date, hours: float = 22.0) -> Path:
    """Blank files as a person gets them, filled with these readings; every section runs ``hours``."""
    write_templates(folder, expected_points(plant.description))
    end = f"{day + dt.timedelta(days=1)} 05:00"
    raws = {place: value for tag, value in readings.items() for place, value in _raws(plant, tag, value)}
    for name, column in (("meters.csv", "meter"), ("laboratory.csv", "sample")):
        path = folder / name
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file)
            headers, rows = list(reader.fieldnames or []), list(reader)
        for row in rows:
            value = raws[row[column], row.get("determination", "")]
            row.update({"time": end, "value": f"{value:.9g}", "quality": "good", "by": "analyst"})
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, headers)
            writer.writeheader()
            writer.writerows(rows)
    stop = dt.datetime.combine(day, dt.time(6)) + dt.timedelta(hours=hours)
    with (folder / "hours.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)  # type: ignore[assignment]
        writer.writerow(("section", "from", "to", "what"))  # type: ignore[arg-type]
        for section in plant.description.sections:
            writer.writerow((section, f"{day} 06:00", f"{stop:%Y-%m-%d %H:%M}", "running"))  # type: ignore[arg-type]
    return folder


def _raws(plant: Plant, tag: str, value: float) -> list[tuple[tuple[str, str], float]]:
    """The raw readings that an analyst would write down for a determination of this value."""
    meter = next(m for m in plant.description.meters if m.tag == tag)
    if meter.file != "laboratory":
        return [((tag, ""), value)]
    listed = {
        "refractometer brix": [
            ("refractometer reading", value / (1.0 + meter.dilution)),
            ("temperature at the refractometer", 20.0),
        ],
        "moisture": [("mass before drying", 1000.0), ("mass after drying", 1000.0 - 10.0 * value)],
        "colour": [
            ("absorbance at 420 nm", _absorbance(value)),
            ("cell length", _cell(value)),
            ("brix of the colour solution", COLOUR_BRIX),
        ],
        "apparent purity": [
            ("pol of the purity solution", value * PURITY_BRIX / 100.0),
            ("brix of the purity solution", PURITY_BRIX),
        ],
    }.get(meter.quantity, [(meter.quantity, value)])
    return [((meter.sample, name), raw) for name, raw in listed]


def _cell(colour: float) -> float:
    """A cell in which the absorbance is readable."""
    return 10.0 if colour < 500 else CELL


def _absorbance(colour: float) -> float:
    cell = _cell(colour)
    return colour / float(icumsa_colour(1.0, cell, COLOUR_BRIX))
