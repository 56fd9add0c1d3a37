"""Strength, purity and volume of a liquor as laws ask for them, with a value also where nothing flows."""

from __future__ import annotations

from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.streams import PERCENT, Liquor
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num, constant

IDLE_SOLIDS = constant(15e-4, "%·t/h")
IDLE_SUCROSE = constant(85e-4, "%·t/h")
KILOGRAMS = constant(1000.0, "kg/t")


def strength(liquor: Liquor) -> Num:
    """Dry substance, % m/m; 15 where nothing flows."""
    return (PERCENT * liquor.solids + IDLE_SOLIDS) / (liquor.solution + STANDSTILL)


def guarded_purity(liquor: Liquor) -> Num:
    """True purity, %; 85 where nothing flows."""
    return (PERCENT * (liquor.sucrose + liquor.crystal) + IDLE_SUCROSE) / (liquor.solids + STANDSTILL)


def density(liquor: Liquor) -> Num:
    """Density of the solution, kg/m³, by the law of pure sucrose."""
    return sucrose_density(strength(liquor), liquor.temperature)


def volume_flow(liquor: Liquor) -> Num:
    """Volume of juice or liquor, m³/h, all of it taken at the density of the solution."""
    return KILOGRAMS * liquor.flow / density(liquor)
