"""Laboratory and factory-control formulas of cane sugar, each declared with units, kinds, ranges and source."""

from canewright.analysis import (
    boiling_house,
    brix,
    cane,
    cane_measures,
    colour,
    exhaustion,
    grain,
    mill_volumes,
    milling,
    polarimetry,
    precision,
    purity,
    raw_sugar,
    refinery,
    stock,
    sugar,
)

__all__ = [
    "boiling_house",
    "brix",
    "cane",
    "cane_measures",
    "colour",
    "exhaustion",
    "grain",
    "mill_volumes",
    "milling",
    "polarimetry",
    "precision",
    "purity",
    "raw_sugar",
    "refinery",
    "stock",
    "sugar",
]
