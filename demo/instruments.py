"""What the instruments of the demo plant show: truth with bias, noise and the rounding of a log sheet."""

# ruff: noqa: INP001 - scripts beside one another, not a package
from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from canewright.accounts.measuring import fibre_classes, further_stocks
from canewright.demonstration.raw_readings import DECIMALS, HIGHEST_READ, raws
from canewright.plant.description import Meter

if TYPE_CHECKING:
    from generate_day import Truth

Row = dict[str, Any]
Faults = list[dict[str, Any]]
BIAS, NOISE = 0.3, 0.95
"""Shares of a meter's standard uncertainty that stay all day, and that are drawn anew; together about one."""
JUICE_FAULT = 1.031
"""What the mixed juice weigher shows of the truth on the demo day."""
MISSING_METER, BAD_METER = "vapour 3 pressure", "limed juice temperature"
ANALYSTS = ("shift chemist 1", "shift chemist 2", "shift chemist 3")
SINGLE_READING = {"exported power", "turbine power", "boiler steam meter", "filter cake weight"}
OTHER_STOCKS = {"cane in the yard": 640.0, "refined sugar silo": 1480.0, "final molasses tanks": 5230.0}
"""Usual stocks that no balance uses, t."""


def _clock(truth: Truth, hours: float) -> str:
    begin = dt.datetime.combine(truth.case.day, dt.time(truth.plant.description.cut_hour))
    return f"{begin + dt.timedelta(hours=hours):%Y-%m-%d %H:%M}"


def meter_rows(truth: Truth, chance: np.random.Generator, faults: Faults) -> list[Row]:
    """Rows of meters.csv: daily totals or totals of shifts for masses, means of shifts for the rest."""
    rows = []
    for meter in truth.plant.description.meters:
        if meter.file == "meters":
            rows += _meter(truth, meter, chance, faults)
    return rows


def _meter(truth: Truth, meter: Meter, chance: np.random.Generator, faults: Faults) -> list[Row]:
    whole = truth.measured(meter.tag)
    sd = meter.standard_uncertainty(whole)
    bias = 1 + chance.normal(0, BIAS) * sd / whole
    if truth.case.faulty and meter.tag == "mixed juice weight":
        bias = JUICE_FAULT
        faults.append({"id": "juice weigher", "tag": meter.tag, "says": "reads high all day", "size": bias - 1})
    noise = chance.normal(0, NOISE * sd)
    if meter.quantity == "mass" and meter.tag not in SINGLE_READING:
        shares = _shift_shares(truth)
        values = [(whole * bias + noise) * s for s in shares]
        times = [8.0, 16.0, 24.0]
    elif meter.tag in SINGLE_READING:
        values, times = [whole * bias + noise], [24.0]
    else:
        parts = [truth.measured(meter.tag, s) for s in truth.shifts]
        values = [x * bias + chance.normal(0, NOISE * sd * 3**0.5) for x in parts]
        times = [8.0, 16.0, 24.0]
    digits = 0 if meter.tag == "final molasses weight" else DECIMALS[meter.quantity]
    rows = [
        _row(truth, t, {"meter": meter.tag}, round(v, digits), meter.unit, "panel")
        for t, v in zip(times, values, strict=True)
    ]
    return [_flagged(row, meter.tag, truth, faults) for row in rows]


def _shift_shares(truth: Truth) -> list[float]:
    """Share of the day's running that fell into each shift, by the mill's clock."""
    parts = truth.periods["mill"]
    ran = [
        sum(max(0, min(p.end, e) - max(p.start, e - 480)) for p in parts if p.what == "running")
        for e in (480, 960, 1440)
    ]
    return [r / sum(ran) for r in ran]


def _row(truth: Truth, hours: float, named: Mapping[str, Any], value: float, unit: str, by: str) -> Row:
    return {"time": _clock(truth, hours), **named, "value": value, "unit": unit, "quality": "good", "by": by}


def _flagged(row: Row, tag: str, truth: Truth, faults: Faults) -> Row:
    if not truth.case.faulty:
        return row
    if tag == MISSING_METER:
        _noted(faults, {"id": "missing", "tag": tag, "says": "transmitter out all day"})
        return {**row, "value": "", "quality": "missing"}
    if tag == BAD_METER:
        _noted(faults, {"id": "bad", "tag": tag, "says": "probe marked bad by the shift"})
        return {**row, "quality": "bad"}
    return row


def _noted(faults: Faults, one: dict[str, Any]) -> None:
    if one not in faults:
        faults.append(one)


def stock_rows(truth: Truth, chance: np.random.Generator) -> list[Row]:
    """Rows of stocks.csv: opening stock of the plant description with the day's true change and a survey's noise."""
    opening = truth.plant.description.data["sheet"]["opening_stocks"]
    rows = []
    for meter in truth.plant.description.meters:
        if meter.file == "stocks":
            closing = opening[meter.tag] + truth.measured(meter.tag) + chance.normal(0, NOISE * meter.uncertainty)
            rows.append(_row(truth, 24.0, {"store": meter.tag}, round(closing, -1), "t", "store clerk"))
    return rows + [
        _row(
            truth,
            24.0,
            {"store": name},
            round(OTHER_STOCKS.get(name, 1000.0) + chance.normal(0, 20), -1),
            "t",
            "tally clerk",
        )
        for name in further_stocks(truth.plant.description)
    ]


# --- laboratory -----------------------------------------------------------------------------------------------------


def laboratory_rows(truth: Truth, chance: np.random.Generator, faults: Faults) -> list[Row]:
    """Rows of laboratory.csv: composites of three shifts as raw readings, some in duplicate, some missing."""
    rows: list[Row] = []
    seen: set[tuple[str, str, str, int]] = set()
    biases = {m.tag: chance.normal(0, BIAS) for m in truth.plant.description.meters}
    lost = {(str(chance.choice([m.sample for m in _analysed(truth)])), int(chance.integers(3))) for _ in range(2)}
    for shift, state in enumerate(truth.shifts):
        for meter in _analysed(truth):
            exact = truth.measured(meter.tag, state)
            sd = meter.standard_uncertainty(exact)
            twice = bool(chance.random() < 0.3)
            for duplicate in (1, 2) if twice else (0,):
                noise = chance.normal(0, NOISE * sd * (3 * (2 if twice else 1)) ** 0.5)
                found = raws(meter, exact + biases[meter.tag] * sd + noise, chance)
                for name, (value, unit) in found.items():
                    key = (meter.sample, name, str(shift), duplicate)
                    if key not in seen:
                        seen.add(key)
                        rows.append(_laboratory_row(truth, shift, meter.sample, name, duplicate, value, unit))
    rows += _fibre_rows(truth, chance)
    for sample, shift in sorted(lost) if truth.case.faulty else []:
        faults.append({"id": "sample lost", "tag": sample, "says": f"composite of shift {shift + 1} was not taken"})
    gone = {(s, _clock(truth, 8.0 * (k + 1))) for s, k in lost} if truth.case.faulty else set()
    return [{**r, "value": "", "quality": "missing"} if (r["sample"], r["time"]) in gone else r for r in rows]


def _analysed(truth: Truth) -> list[Meter]:
    """Laboratory meters that the methods can determine: brix above a refractometer's range cannot."""
    return [
        m
        for m in truth.plant.description.meters
        if m.file == "laboratory"
        and not (m.quantity == "refractometer brix" and truth.measured(m.tag) / (1 + m.dilution) > HIGHEST_READ)
    ]


def _laboratory_row(truth: Truth, shift: int, sample: str, name: str, duplicate: int, value: float, unit: str) -> Row:
    named = {"sample": sample, "determination": name, "duplicate": duplicate}
    return _row(truth, 8.0 * (shift + 1), named, value, unit, ANALYSTS[shift])


def _fibre_rows(truth: Truth, chance: np.random.Generator) -> list[Row]:
    return [
        _row(
            truth, 8.0 * (k + 1), {"sample": f"fibre class {name}", "determination": "fibre", "duplicate": 0},
            round(float(fibre + chance.normal(0.1, 0.3)), 1), "%", ANALYSTS[k],
        )
        for name, fibre in fibre_classes(truth.plant.description).items()
        for k in range(3)
    ]  # fmt: skip
