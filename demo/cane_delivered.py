"""Consignments of the demo day: who delivered, what the weighbridge printed, what the first juice showed."""

# ruff: noqa: INP001 - scripts beside one another, not a package
from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import numpy as np

from canewright.accounts.measuring import fibre_classes
from canewright.analysis.brix import refractometer_reading
from canewright.analysis.polarimetry import polarimeter_reading

if TYPE_CHECKING:
    from generate_day import Truth

Row = dict[str, Any]
FARMS, MEAN_LOAD, BINS, BIN_TARE = 180, 36.0, 6, 1.92
FIRST_TICKET = 17421
LEAST_MISSING = 4
UNSAMPLED = 0.018
"""Share of consignments without a juice result."""


def deliveries(truth: Truth, chance: np.random.Generator, faults: list[Row]) -> tuple[list[Row], list[Row]]:
    """Rows of deliveries.csv and first-expressed-juice.csv."""
    total = truth.measured("cane weight")
    number = round(total / MEAN_LOAD)
    load = chance.normal(MEAN_LOAD, 0.35 * BINS**0.5, number)
    load *= total / load.sum()
    minutes = _tip_minutes(truth, number, chance)
    cane, juice = [], []
    for i, (farm, block, name) in enumerate(_runs(truth, number, chance)):
        tare = BINS * BIN_TARE
        stored = tare + chance.normal(0, 0.008 * BINS**0.5)
        gross = load[i] + tare + chance.normal(0, 0.010)
        when = _begin(truth) + dt.timedelta(minutes=int(minutes[i]))
        ticket = str(FIRST_TICKET + i)
        cane.append(
            {
                "ticket": ticket, "grower": f"farm {farm:03d}", "block": f"{farm:03d}-{block}", "fibre class": name,
                "tip time": f"{when:%Y-%m-%d %H:%M}", "gross": f"{gross:.2f}", "tare": f"{stored:.2f}",
            }
        )  # fmt: skip
        juice.append(_juice(truth, ticket, when, farm, chance))
    if truth.case.faulty:
        _lose(juice, chance, faults)
        _transpose(juice, faults)
    return cane, juice


def _begin(truth: Truth) -> dt.datetime:
    return dt.datetime.combine(truth.case.day, dt.time(truth.plant.description.cut_hour))


def _tip_minutes(truth: Truth, number: int, chance: np.random.Generator) -> np.ndarray:
    """Tips spread over the minutes in which the mill ran."""
    ran = np.concatenate([np.arange(p.start, p.end) for p in truth.periods["mill"] if p.what == "running"])
    return np.asarray(np.sort(ran[chance.choice(len(ran), number, replace=False)]))


def _runs(truth: Truth, number: int, chance: np.random.Generator) -> list[tuple[int, int, str]]:
    """Farm, block and fibre class of each consignment: a block comes in runs of a few loads."""
    weights = chance.lognormal(0, 0.75, FARMS)
    weights /= weights.sum()
    classes = list(fibre_classes(truth.plant.description))
    found: list[tuple[int, int, str]] = []
    while len(found) < number:
        farm, block = int(chance.choice(FARMS, p=weights)) + 1, int(chance.integers(1, 9))
        name = str(chance.choice(classes, p=[0.3, 0.4, 0.3]))
        found += [(farm, block, name)] * int(chance.integers(2, 6))
    blurred = np.argsort(np.arange(number) + chance.normal(0, 4, number), kind="stable")
    return [found[i] for i in blurred]


def _juice(truth: Truth, ticket: str, when: dt.datetime, farm: int, chance: np.random.Generator) -> Row:
    """Juice of one consignment about the day's first juice; farms differ from one another."""
    habit = np.random.default_rng([farm, 7])
    brix = truth.measured("first juice brix") + habit.normal(0, 0.6) + chance.normal(0, 0.5)
    middle = 100 * _first_purity(truth)
    purity = min(middle + habit.normal(0, 0.7) + chance.normal(0, 0.6), 94.0)
    warm = round(float(chance.uniform(24, 30)), 1)
    read = refractometer_reading(brix, warm) + chance.normal(0, 0.08)
    turned = polarimeter_reading(purity * brix / 100, brix) + chance.normal(0, 0.4)
    after = when + dt.timedelta(minutes=int(chance.integers(5, 9)))
    return {
        "ticket": ticket, "sample time": f"{after:%Y-%m-%d %H:%M}", "refractometer brix": f"{read:.2f}",
        "temperature": f"{warm:.1f}", "polarimeter reading": f"{turned:.2f}", "quality": "good",
    }  # fmt: skip


def _first_purity(truth: Truth) -> float:
    name = truth.plant.description.roles["first juice"]
    return truth.day.measured(name, "apparent purity") / 100


def _lose(juice: list[Row], chance: np.random.Generator, faults: list[Row]) -> None:
    lost = chance.choice(len(juice), max(LEAST_MISSING, round(UNSAMPLED * len(juice))), replace=False)
    for i in sorted(int(i) for i in lost):
        juice[i] |= {"refractometer brix": "", "temperature": "", "polarimeter reading": "", "quality": "missing"}
    faults.append({"id": "no juice", "tickets": [juice[int(i)]["ticket"] for i in sorted(lost)]})


def _transpose(juice: list[Row], faults: list[Row]) -> None:
    """The first two digits of one polarimeter reading typed in the wrong order."""
    later = [j for j in juice[len(juice) // 3 :] if j["polarimeter reading"][:2] in {"73", "74", "75"}]
    one = later[0]
    right = one["polarimeter reading"]
    one["polarimeter reading"] = right[1] + right[0] + right[2:]
    faults.append(
        {"id": "typed pol", "ticket": one["ticket"], "right": float(right), "typed": float(one["polarimeter reading"])}
    )
