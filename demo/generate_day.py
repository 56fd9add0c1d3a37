"""One invented factory day of the demo plant: hourly states, meters with bias and noise, raw laboratory readings.

Run ``python demo/generate_day.py`` from the repository with the package installed. The same seed gives the same
files. What is written to ``demo/truth`` is for tests only; the package never reads it.
"""

# ruff: noqa: INP001 - scripts beside one another, not a package
from __future__ import annotations

import csv
import datetime as dt
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from cane_delivered import deliveries
from instruments import laboratory_rows, meter_rows, stock_rows

from canewright.accounts.formats import FORMATS
from canewright.accounts.specifications import specifications_for
from canewright.accounts.totals import Totals
from canewright.engine import NotSolved
from canewright.plant.plant import Plant, State

HERE = Path(__file__).parent
PACKAGE = HERE.parent / "src" / "canewright" / "demo_data"
SEED = 20261
PERSISTENCE = 0.9
"""How much of an hour's departure from the day's mean the next hour keeps."""

DAY_MEANS: dict[str, float] = {
    "cane yard.rate": 421.5,
    "cane yard.fibre": 14.25,
    "cane yard.sucrose": 14.72,
    "cane yard.reducing_sugars": 0.58,
    "cane yard.suspended": 0.78,
    "imbibition.on_fibre": 212.0,
    "mill 5.moisture": 50.6,
    "mill 3.imbibition_coefficient": 0.79,
    "mill loss.loss": 0.25,
    "boiling house loss.loss": 1.05,
    "effect 1.heat_transfer_coefficient": 2.65,
    "effect 2.heat_transfer_coefficient": 2.45,
    "effect 3.heat_transfer_coefficient": 2.05,
    "effect 4.heat_transfer_coefficient": 1.6,
    "effect 5.heat_transfer_coefficient": 0.8,
    "crystallisers C.mother_liquor_purity": 39.4,
    "raw store.rate": 46.2,
    "raw store.colour": 1655.0,
    "refinery loss.loss": 0.4,
}
"""Where the day differs from the plant description; every other setting keeps its described value."""

HOURLY: dict[str, float] = {
    "cane yard.rate": 12.0,
    "cane yard.fibre": 0.35,
    "cane yard.sucrose": 0.25,
    "cane yard.reducing_sugars": 0.05,
    "cane yard.ash": 0.03,
    "cane yard.other": 0.06,
    "cane yard.suspended": 0.1,
    "cane yard.colour": 500.0,
    "imbibition.on_fibre": 4.0,
    "mill 2.imbibition_coefficient": 0.015,
    "mill 3.imbibition_coefficient": 0.015,
    "mill 4.imbibition_coefficient": 0.015,
    "mill 5.imbibition_coefficient": 0.015,
    "mill 5.moisture": 0.5,
    "clarifier.mud_solids": 0.3,
    "mud filter.cake_moisture": 0.5,
    "centrifugals A.film": 0.15,
    "centrifugals B.film": 0.3,
    "centrifugals C.film": 0.4,
    "crystallisers C.mother_liquor_purity": 0.4,
    "bagasse sold.share": 1.0,
    "raw dryer.moisture": 0.005,
    "raw store.rate": 0.5,
    "raw store.colour": 50.0,
    "affination centrifugals.film": 0.1,
    "carbon.untakable": 0.3,
    "refined dryer.moisture": 0.003,
    "mill house power.demand": 40.0,
    "refinery power.demand": 30.0,
}
"""Standard deviation within the day of the settings that wander."""

CAUSES = (
    "choke at the first mill",
    "no cane",
    "carrier slat",
    "juice pump tripped",
    "cane knife change",
    "turbine trip",
)


@dataclass(frozen=True)
class Stops:
    """How a section stands still: number and mean length in a day, and how long in all, h."""

    number: int
    mean: float
    least: float
    most: float
    causes: Sequence[str]


@dataclass(frozen=True)
class Case:
    """A day to be made."""

    day: dt.date
    folder: Path
    stops: Mapping[str, Stops]
    means: Mapping[str, float] = field(default_factory=dict)
    long_stop: tuple[str, float, str] | None = None
    draw: float | None = None
    faulty: bool = False
    keep: Callable[[str, Mapping[str, Any]], bool] = lambda file, row: True
    with_cane: bool = True


MILL_STOPS = Stops(6, 0.6, 3.45, 3.75, CAUSES)
REFINERY_STOPS = Stops(2, 0.75, 1.3, 1.7, ("melter screen blocked", "carbon column change", "steam let down"))


@dataclass(frozen=True)
class Period:
    """A period of a section: minutes after the cut, and 'running' or the cause."""

    start: int
    end: int
    what: str


def periods(stops: Stops | None, long_stop: tuple[float, str] | None, chance: np.random.Generator) -> list[Period]:
    """Running and standing of a section, one period after another from cut to cut."""
    if stops is None:
        return [Period(0, 1440, "running")]
    lengths = _lengths(stops, chance)
    causes = [str(c) for c in chance.permutation(stops.causes)][: stops.number]
    if long_stop:
        lengths.append(round(60 * long_stop[0]))
        causes.append(long_stop[1])
    order = chance.permutation(len(lengths))
    gaps = chance.dirichlet(np.full(len(lengths) + 1, 3.0)) * (1440 - sum(lengths))
    found, here = [], 0
    for gap, i in zip(gaps[:-1], order, strict=True):
        begin = min(here + max(5, round(gap)), 1440 - lengths[i])
        found += [Period(here, begin, "running"), Period(begin, begin + lengths[i], causes[i])]
        here = begin + lengths[i]
    return [*found, Period(here, 1440, "running")]


def _lengths(stops: Stops, chance: np.random.Generator) -> list[int]:
    while True:
        lengths = [max(4, round(60 * x)) for x in chance.exponential(stops.mean, stops.number)]
        if stops.least <= sum(lengths) / 60 <= stops.most:
            return lengths


def running(parts: Iterable[Period], start: int = 0, end: int = 1440) -> float:
    """Running hours between two minutes of the day."""
    return sum(max(0, min(p.end, end) - max(p.start, start)) for p in parts if p.what == "running") / 60


def hourly_settings(plant: Plant, means: Mapping[str, float], chance: np.random.Generator) -> list[dict[str, float]]:
    """Twenty-four sets of settings that wander about the day's means."""
    middle = {**plant.settings(), **DAY_MEANS, **means}
    drift = {name: chance.normal(0, sd) for name, sd in HOURLY.items()}
    hours = []
    for _ in range(24):
        made = {}
        for name, sd in HOURLY.items():
            drift[name] = PERSISTENCE * drift[name] + (1 - PERSISTENCE**2) ** 0.5 * chance.normal(0, sd)
            made[name] = middle[name] + drift[name]
        hours.append({**DAY_MEANS, **means, **made})
    return hours


def solved(plant: Plant, settings: Mapping[str, float], start: State) -> State:
    """The state at these settings; where the plant cannot run so, half way back to the day's mean, and so on."""
    wanted = dict(settings)
    for _ in range(5):
        try:
            return plant.predict(wanted, start)
        except NotSolved:
            wanted = {k: (v + start.values[k]) / 2 if k in HOURLY else v for k, v in wanted.items()}
    raise NotSolved("the plant cannot run at the settings of the day", [], [])


def mean_state(plant: Plant, states: Sequence[State], weights: Sequence[float]) -> State:
    """The state whose streams carry the weighted mean of what the streams of these states carry.

    Every balance is linear in what streams carry, so the mean closes; measured on it, brix, pol, purity and colour
    are flow-weighted as a composite sample is.
    """
    total = sum(weights)
    values = {
        name: sum(w * s.values[name] for w, s in zip(weights, states, strict=True)) / total for name in states[0].values
    }
    return State(plant.assembly, values, plant.model.scaled(values), "mean of hours")


@dataclass(frozen=True)
class Truth:
    """What truly happened: the day's mean state, that of each shift, and the section periods."""

    plant: Plant
    case: Case
    day: State
    shifts: tuple[State, ...]
    periods: Mapping[str, Sequence[Period]]

    def measured(self, tag: str, state: State | None = None) -> float:
        """What a perfect meter would read."""
        meter = next(m for m in self.plant.description.meters if m.tag == tag)
        return (state or self.day).measured(meter.stream, meter.quantity)


def truth_of(plant: Plant, case: Case, chance: np.random.Generator) -> Truth:
    """Solve every hour in which the mill ran; each stands for the share of the day in which it ran."""
    parts = {}
    for section in plant.description.sections:
        long_stop = case.long_stop[1:] if case.long_stop and case.long_stop[0] == section else None
        parts[section] = periods(case.stops.get(section), long_stop, chance)
    hours = {f"sections.{s}.hours": running(p) for s, p in parts.items()}
    wanted = [{**h, **hours} for h in hourly_settings(plant, case.means, chance)]
    middle = plant.predict({**DAY_MEANS, **case.means, **hours}, plant.predict())
    if case.draw is not None:
        middle, wanted = _drawn(plant, case, middle, wanted, hours)
    states, weights, start = [], [], middle
    for k, settings in enumerate(wanted):
        weights.append(running(parts["mill"], 60 * k, 60 * k + 60))
        if weights[-1] > 0:
            start = solved(plant, settings, start)
        states.append(start)
    shifts = tuple(
        mean_state(plant, states[i : i + 8], weights[i : i + 8]) if sum(weights[i : i + 8]) else middle
        for i in (0, 8, 16)
    )
    return Truth(plant, case, mean_state(plant, states, weights), shifts, parts)


def _drawn(
    plant: Plant, case: Case, middle: State, wanted: list[dict[str, float]], hours: Mapping[str, float]
) -> tuple[State, list[dict[str, float]]]:
    """Settings with the melt rate that draws the wanted tonnes from the raw store."""
    change = middle.values["raw store.stock_change"] * hours["sections.refinery.hours"]
    more = (change + (case.draw or 0.0)) / hours["sections.refinery.hours"]
    rate = middle.values["raw store.rate"] + more
    shifted = [{**w, "raw store.rate": w["raw store.rate"] + more} for w in wanted]
    return plant.predict({**DAY_MEANS, **case.means, **hours, "raw store.rate": rate}, middle), shifted


def hours_rows(truth: Truth) -> list[dict[str, Any]]:
    """Rows of hours.csv."""
    begin = dt.datetime.combine(truth.case.day, dt.time(truth.plant.description.cut_hour))
    return [
        {
            "section": section,
            "from": f"{begin + dt.timedelta(minutes=p.start):%Y-%m-%d %H:%M}",
            "to": f"{begin + dt.timedelta(minutes=p.end):%Y-%m-%d %H:%M}",
            "what": p.what,
        }
        for section, parts in truth.periods.items()
        for p in parts
        if p.end > p.start
    ]


def figures_of(truth: Truth) -> dict[str, float]:
    """The true value of every figure of the day sheet."""
    totals = Totals(truth.plant.assembly, truth.day.values)
    return {s.name: float(s.combine(*s.totals(totals))) for s in specifications_for(truth.plant.description.roles)}


def write_rows(folder: Path, name: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Write one file of the day in the declared format."""
    form = next(f for f in FORMATS if f.name == name)
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / name).open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(form.headers)
        writer.writerows([row[c.name] for c in form.columns] for row in rows)


def _ten_digits(value: float) -> float:
    """A value without the last digits, in which two solutions of the same equations may differ."""
    return float(f"{value:.10g}")


def make(case: Case, plant: Plant, seed: Sequence[int]) -> None:
    """Make the files of one day, and its truth."""
    chance = np.random.default_rng(seed)
    truth = truth_of(plant, case, chance)
    faults: list[dict[str, Any]] = []
    files = {
        "meters.csv": meter_rows(truth, chance, faults),
        "laboratory.csv": laboratory_rows(truth, chance, faults),
        "stocks.csv": stock_rows(truth, chance),
        "hours.csv": hours_rows(truth),
    }
    if case.with_cane:
        cane, juice = deliveries(truth, chance, faults)
        files |= {"deliveries.csv": cane, "first-expressed-juice.csv": juice}
    for name, rows in files.items():
        kept = [row for row in rows if case.keep(name, row)]
        if kept:
            write_rows(case.folder, name, kept)
    story = {
        "day": case.day.isoformat(),
        "says": "what truly happened; for tests only, the package never reads it",
        "figures": {name: _ten_digits(value) for name, value in figures_of(truth).items()},
        "meters": {m.tag: _ten_digits(truth.measured(m.tag)) for m in plant.description.meters},
        "hours": {s: running(p) for s, p in truth.periods.items()},
        "faults": faults,
    }
    target = HERE / "truth" / f"{case.folder.name}.json"
    target.parent.mkdir(exist_ok=True)
    target.write_text(json.dumps(story, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


THIN = {
    ("meters.csv", "cane weight"), ("meters.csv", "mixed juice weight"), ("meters.csv", "raw sugar weight"),
    ("laboratory.csv", "bagasse"), ("laboratory.csv", "raw sugar"),
}  # fmt: skip
THIN_JUICE = ("refractometer reading", "temperature at the refractometer", "polarimeter reading")


def thin(file: str, row: Mapping[str, Any]) -> bool:
    """Whether a thin day has this row: cane and mixed juice weight, bagasse, mixed juice and sugar."""
    if file == "laboratory.csv" and row["sample"] == "mixed juice":
        return row["determination"] in THIN_JUICE
    return (file, row.get("meter", row.get("sample"))) in THIN or file == "hours.csv"


def main() -> None:
    """Make the demo day and the two variants."""
    plant = Plant.read(PACKAGE / "plant.toml")
    usual = {"mill": MILL_STOPS, "refinery": REFINERY_STOPS}
    day = dt.date(2031, 8, 14)
    make(Case(day, PACKAGE / "days" / day.isoformat(), usual, faulty=True), plant, [SEED])
    variants = HERE / "variants"
    make(
        Case(dt.date(2031, 8, 15), variants / "thin-day", usual, keep=thin, with_cane=False), plant, [SEED, 1]
    )  # fmt: skip
    make(
        Case(
            dt.date(2031, 8, 16), variants / "stop-and-draw", usual, {"rakes.rate": 0.0, "cane yard.rate": 405.0},
            ("mill", 6.0, "gear box of the third mill"), 500.0,
        ),
        plant, [SEED, 2],
    )  # fmt: skip


if __name__ == "__main__":
    main()
