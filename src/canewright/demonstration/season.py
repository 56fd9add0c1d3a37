"""The invented season: its days in the accounts' own files, and in another folder what truly happened."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from canewright.accounts.formats import FORMATS, LABORATORY, STOCKS
from canewright.accounts.specifications import specifications_for
from canewright.accounts.totals import Totals
from canewright.demonstration.course import Course, TrueDay
from canewright.demonstration.faults import (
    CORRECTED,
    ENTRAINED_RATE,
    LATE,
    LEAK_BRIX,
    LEAK_JUICE,
    LEAK_PURITY,
    PURER,
    SEASON_DAYS,
    STRIKES_SHARE,
    Fault,
    Variant,
    drift_of,
    leak_of,
    sized,
)
from canewright.demonstration.information import drift_bound, drift_seen, purity_bound, trace_bound
from canewright.demonstration.instruments import SHIFTS, Instruments, Rows
from canewright.demonstration.noise import season_description
from canewright.demonstration.stores import Stores
from canewright.engine.model import Values
from canewright.plant.plant import Plant
from canewright.quantity import Num, noting_breaches

PLANT_FILE, DAYS, CORRECTIONS = "plant.toml", "days", "corrections.csv"
STATES, FAULTS_FILE, SLIPS, READINGS = "truth_states.csv", "truth_faults.csv", "truth_slips.csv", "truth_readings.csv"
PARTS = 1e6
MILLIGRAMS = "mg/kg"
Say = Callable[[int, int], None]


class SeasonRefused(ValueError):
    """The season cannot be made as asked; the message says what stands in the way and what to do."""


@dataclass(frozen=True)
class Asked:
    """What season is wanted: variant, seed, first and last day, first date."""

    variant: Variant
    seed: int
    first: int = 1
    last: int = SEASON_DAYS


def season_plant(described: Plant, variant: Variant) -> Plant:
    """The demo plant with the season's instruments, stores and waters."""
    return Plant.from_text(season_description(described.description.text, described.description.meters, variant.noise))


def start_of(plant: Plant) -> dt.date:
    """The first day of the season in the description."""
    found = plant.description.data["plant"]["season_start"]
    if not isinstance(found, dt.date):
        raise SeasonRefused("the plant description has no season_start; give it a date")
    return found


def make_season(plant: Plant, asked: Asked, folder: Path, truth: Path, say: Say = lambda done, of: None) -> None:
    """Write a season's plant description, days and corrections to ``folder`` and what truly happened to ``truth``.

    ``plant`` is that of ``season_plant``. The same seed gives the same files.

    Raises SeasonRefused where a folder is not new or one lies in the other.
    """
    _refuse_folders(folder, truth)
    made = _Making(plant, asked)
    folder.mkdir(parents=True)
    (folder / PLANT_FILE).write_text(plant.description.text, encoding="utf-8")
    for done, (date, files) in enumerate(made.days(), start=1):
        for name, rows in files.items():
            write_rows(folder / DAYS / date.isoformat() / name, name, rows)
        say(done, asked.last - asked.first + 1)
    if made.instruments.slips.corrections:
        _write(folder / CORRECTIONS, ("entered", "day", *made.instruments.slips.corrections[0]), made.corrections())
    made.write_truth(truth)


def _refuse_folders(folder: Path, truth: Path) -> None:
    for each in (folder, truth):
        if each.exists():
            raise SeasonRefused(f"{each} is there already and is not overwritten; give another folder")
    one, other = folder.resolve(), truth.resolve()
    if one == other or one in other.parents or other in one.parents:
        raise SeasonRefused(f"{truth} and {folder} lie one in the other; truth is kept apart, give another folder")


def write_rows(path: Path, name: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Write one file of a day in the declared format."""
    form = next(f for f in FORMATS if f.name == name)
    _write(path, form.headers, [[row[c.name] for c in form.columns] for row in rows])


def _write(path: Path, headers: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(headers)
        writer.writerows(rows)


class _Making:
    """One season in the making, with what is kept of the truth."""

    def __init__(self, plant: Plant, asked: Asked) -> None:
        self.plant, self.asked, self.start = plant, asked, start_of(plant)
        course, read, moved = np.random.default_rng(asked.seed).spawn(3)
        self.course = Course(plant, asked.variant, course)
        self.instruments = Instruments(plant, asked.variant, self.start, read)
        self.stores = Stores(self.instruments, asked.variant, moved)
        self.specifications = specifications_for(plant.description.roles)
        self.figures = plant.model.expressions(self._figures)
        self.states: list[list[Any]] = []
        self.readings: list[list[Any]] = []
        self.sizes: dict[str, float] = {"A": 0.0, "C": 0.0, "D": 0.0, "E": 0.0, "made": 0.0}

    def _figures(self, values: Values) -> list[Num]:
        totals = Totals(self.plant.assembly, values)
        with noting_breaches():
            return [part for s in self.specifications for part in s.totals(totals)]

    def days(self) -> Iterator[tuple[dt.date, Rows]]:
        """Each day's date and its files."""
        for day in self.course.days(self.asked.first, self.asked.last):
            yield self.date(day.number), self._files(day)

    def date(self, number: int) -> dt.date:
        """The date of a day of the season."""
        return self.start + dt.timedelta(days=number - 1)

    def _files(self, day: TrueDay) -> Rows:
        files = self.instruments.rows(day)
        whole, _ = self.instruments.true_values(day)
        made, melted, refined = (whole[f"{w} weight"] for w in ("raw sugar", "melt", "refined sugar"))
        for name, rows in self.stores.rows(day.number, made, melted, refined).items():
            files[name] = files.get(name, []) + rows
        files[STOCKS.name].append(self.instruments.bagasse_row(day, whole["bagasse stack"]))
        for sample, extra in self._traces(day).items():
            files[LABORATORY.name] += self.instruments.trace_rows(day, sample, extra)
        self._keep(day, whole)
        return files

    def _traces(self, day: TrueDay) -> dict[str, list[float]]:
        """What faults bring of sugar into the watched waters by shift, mg/kg."""
        variant, model = self.asked.variant, self.plant.model
        found: dict[str, list[float]] = {"pan condenser water": [], "secondary heater condensate": []}
        for k in range(SHIFTS):
            state = model.named(day.shifts[k])
            lost = ENTRAINED_RATE if variant.on("C", day.number) else 0.0
            water = state["pan condenser.warm.water"]
            found["pan condenser water"].append(PARTS * lost / water)
            part = leak_of(day.number + (8 * k + 4) / 24.0) if variant.on("D", day.number) else 0.0
            juice, condensate = part * LEAK_JUICE, state["secondary heater.condensate.water"]
            found["secondary heater condensate"].append(
                PARTS * juice * LEAK_BRIX * LEAK_PURITY / 1e4 / (condensate + juice)
            )
        return found

    def _keep(self, day: TrueDay, whole: Mapping[str, float]) -> None:
        """The day's true totals and readings, and what the faults amount to."""
        values = iter(self.figures.at(day.mean).tolist())
        for s in self.specifications:
            count = len(list(s.totals(self._names)))
            self.states.append([day.number, s.name, " ".join(f"{next(values):.10g}" for _ in range(count))])
        for store, held in self.stores.true_stocks().items():
            self.readings.append([day.number, store, f"{held:.10g}"])
        self.readings += [[day.number, tag, f"{value:.10g}"] for tag, value in whole.items()]
        hours, made, variant = day.hours("mill"), whole["raw sugar weight"], self.asked.variant
        if 61 <= day.number <= 110:
            self.sizes["A"] += made * drift_of(day.number)
        self.sizes["made"] += made if 61 <= day.number <= 112 else 0.0
        self.sizes["C"] += ENTRAINED_RATE * hours if variant.on("C", day.number) else 0.0
        if variant.on("D", day.number):
            juice = sum(leak_of(day.number + (8 * k + 4) / 24) * day.hours("mill", k) for k in range(SHIFTS))
            self.sizes["D"] += juice * LEAK_JUICE * LEAK_BRIX * LEAK_PURITY / 1e4
        if day.purer is not None:
            model = self.plant.model
            moved = model.named(day.purer)
            self.sizes["E"] += moved["final molasses tank.liquor.sucrose"] * hours

    @property
    def _names(self) -> Totals:
        return Totals(self.plant.assembly, self.plant.model.named(self.course.start.scaled))

    def corrections(self) -> list[list[Any]]:
        """Late corrections as a person would enter them, seven days after."""
        return [
            [self.date(CORRECTED.first).isoformat(), self.date(LATE).isoformat(), *row.values()]
            for row in self.instruments.slips.corrections
        ]

    def faults(self) -> Sequence[Fault]:
        """The planted faults with their sizes, bounds and deadlines."""
        variant, found = self.asked.variant, self.sizes
        told: dict[str, dict[str, float]] = {}
        if self.stores.twice:
            told["J"] = {"size": self.stores.twice}
        if variant.fault("A") and found["A"]:
            told["A"] = {"size": found["A"], "bound": drift_bound(found["A"], found["made"], variant.noise),
                         "within": float(drift_seen(variant.noise) - 60)}  # fmt: skip
        if found["C"]:
            told["C"] = {"size": found["C"], "bound": trace_bound(15, variant.noise)}
        if found["D"]:
            told["D"] = {"size": found["D"], "bound": trace_bound(21, variant.noise)}
        if found["E"]:
            told["E"] = {"size": found["E"], "bound": purity_bound(PURER * STRIKES_SHARE, 6, variant.noise)}
        return sized(variant.faults, told)

    def write_truth(self, folder: Path) -> None:
        """What truly happened; the accounts never read it."""
        faults = [
            [f.id, f.says, f.first, f.last, "; ".join(f.about), f.deadline, f.size, f.unit, f.bound, f.must_be_found]
            for f in self.faults()
            if f.first <= self.asked.last
        ]
        headers = ("id", "says", "first", "last", "about", "deadline", "size", "unit", "bound", "must be found")
        _write(folder / FAULTS_FILE, headers, faults)
        _write(folder / STATES, ("day", "figure", "totals"), self.states)
        _write(folder / READINGS, ("day", "tag", "true"), self.readings)
        _write(folder / SLIPS, ("day", "tag", "error"), self.instruments.slips.found)
