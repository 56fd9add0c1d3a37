"""What an analyst writes down so that the method gives a value: the laboratory's raw readings of the invented days."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from canewright.accounts.laboratory import METHODS
from canewright.analysis.colour import absorbance_of_colour
from canewright.plant.description import Meter
from canewright.properties.sucrose import refractometer_correction
from canewright.quantity import noting_breaches

HIGHEST_READ = 80.0
"""Brix above which no refractometer is read undiluted, %."""
DECIMALS = {
    "mass": 1, "mass flow": 1, "pressure": 1, "temperature": 1, "power": 0, "pol": 2, "polarimeter reading": 2,
    "fibre": 1, "suspended solids": 2, "reducing sugars": 2, "ash": 2,
}  # fmt: skip
"""Decimals of a log sheet."""


def raws(meter: Meter, value: float, chance: np.random.Generator) -> dict[str, tuple[float, str]]:
    """What the analyst writes down so that the method gives this value: number and unit by name."""
    method = METHODS.get(meter.quantity)
    if method is None:
        return {meter.quantity: (round(value, DECIMALS[meter.quantity]), meter.unit)}
    numbers = _INVERSE[meter.quantity](value / (1 + meter.dilution), chance)
    return {raw.name: (number, raw.unit) for raw, number in zip(method.raws, numbers, strict=True)}


def _brix(value: float, chance: np.random.Generator) -> tuple[float, ...]:
    warm = round(float(chance.uniform(23.0, 28.5)), 1)
    read = value
    with noting_breaches():  # last juice may lie below the published table
        for _ in range(8):
            read = value - refractometer_correction(read, warm)
    return round(float(read), 2), warm


def _moisture(value: float, chance: np.random.Generator) -> tuple[float, ...]:
    large = value > 5
    before = round(float(chance.uniform(990, 999)) if large else float(chance.uniform(19.5, 21.0)), 1 if large else 4)
    return before, round(before * (1 - value / 100), 1 if large else 4)


def _colour(value: float, chance: np.random.Generator) -> tuple[float, ...]:
    brix, cell = (
        (50.0, 10.0) if value < 120 else (50.0, 4.0) if value < 400 else (30.0, 1.0) if value < 3000 else (5.0, 1.0)
    )
    brix = round(float(brix * chance.uniform(0.98, 1.02)), 2)
    return round(float(absorbance_of_colour(value, cell, brix)), 4), cell, brix


def _purity(value: float, chance: np.random.Generator) -> tuple[float, ...]:
    brix = round(float(chance.uniform(17.0, 21.0)), 2)
    return round(min(value, 99.95) * brix / 100, 3), brix


_INVERSE: dict[str, Callable[[float, np.random.Generator], tuple[float, ...]]] = {
    "refractometer brix": _brix,
    "moisture": _moisture,
    "colour": _colour,
    "apparent purity": _purity,
}
