"""The invented district of the demo business: 180 farms, 1,400 blocks, their yields and their true maturity curves.

Everything here is invented; it describes no real place and proves nothing. The draws stand in a fixed order, so that
one seed always gives the same district.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

SEED = 20261
FARMS, BLOCKS, GROUPS = 180, 1400, 24
AREA, CROP, WEEKS = 18345.6, 1559376.0, 26
SEASON_START = dt.date(2031, 6, 2)
CLASSES = ("P", "R1", "R2", "R3", "R4", "R5")
CLASS_SHARE = (0.20, 0.19, 0.18, 0.17, 0.15, 0.11)
CLASS_YIELD = (97.0, 94.0, 88.0, 82.0, 76.0, 70.0)
MATURITY = ("early", "mid", "late")
MATURITY_SHARE = (0.30, 0.45, 0.25)
PEAK = (10.0, 15.0, 20.0)
TOP = (13.7, 14.3, 14.5)
BEND = (0.0100, 0.0095, 0.0090)
FIBRE_CLASS = ("burnt early", "burnt mid", "green late")
FIBRE_TRUE_MEAN = (13.2, 13.9, 14.6)
SEEDLING_SHARE = 0.25

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True)
class District:
    """The blocks of the district, one place in every array a block: farm, area ha, class, tonnes, and true curve."""

    farm: Whole
    number: Whole
    area: Floats
    crop: Whole
    maturity: Whole
    tonnes: Floats
    peak: Floats
    top: Floats
    bend: Floats
    seedlings: NDArray[np.bool_]
    uniform_cut: Whole

    def ccs(self, week: Floats | float, blocks: Whole | slice = slice(None)) -> Floats:
        """True CCS in the field of blocks cut in a week of the season, by C = Cmax - a (w - peak)²."""
        made: Floats = self.top[blocks] - self.bend[blocks] * (week - self.peak[blocks]) ** 2
        return made

    @property
    def group(self) -> Whole:
        """The harvest group of each block's farm: farms are dealt round the groups."""
        dealt: Whole = self.farm % GROUPS
        return dealt

    def block_names(self) -> list[str]:
        """Numbers of the blocks: farm and number on the farm."""
        return [f"{farm + 1:03d}-{number + 1}" for farm, number in zip(self.farm, self.number, strict=True)]


def district(seed: int = SEED) -> District:
    """Draw the district. The same seed gives the same farms and blocks."""
    chance = np.random.default_rng(seed)
    weights = chance.lognormal(0.0, 0.75, FARMS)
    blocks = 2 + chance.multinomial(BLOCKS - 2 * FARMS, weights / weights.sum())
    farm = np.repeat(np.arange(FARMS), blocks)
    number = np.concatenate([np.arange(n) for n in blocks])
    area = chance.lognormal(0.0, 0.45, BLOCKS)
    area *= AREA / area.sum()
    crop = chance.choice(len(CLASSES), BLOCKS, p=CLASS_SHARE)
    maturity = chance.choice(len(MATURITY), BLOCKS, p=MATURITY_SHARE)
    yields = np.array(CLASS_YIELD)[crop] * np.exp(chance.normal(0.0, 0.12, FARMS))[farm]
    tonnes = area * yields * np.exp(chance.normal(0.0, 0.10, BLOCKS))
    tonnes *= CROP / tonnes.sum()
    peak = np.array(PEAK)[maturity] - (crop > 0) + chance.normal(0.0, 1.5, BLOCKS)
    top = np.array(TOP)[maturity] + chance.normal(0.0, 0.35, FARMS)[farm] + chance.normal(0.0, 0.35, BLOCKS)
    uniform_cut = chance.integers(1, WEEKS + 1, BLOCKS)
    seedlings = (crop == 0) & (chance.random(BLOCKS) < SEEDLING_SHARE)
    bend = np.array(BEND)[maturity]
    return District(farm, number, area, crop, maturity, tonnes, peak, top, bend, seedlings, uniform_cut)


def registers_of(made: District) -> dict[str, pl.DataFrame]:
    """The register files of the district by name, all holding from the year's beginning on."""
    year = dt.date(SEASON_START.year, 1, 1)
    growers = [f"farm {n + 1:03d}" for n in range(FARMS)]
    farms = [f"{n + 1:03d}" for n in range(FARMS)]
    haul = np.random.default_rng(SEED + 1).uniform(3.0, 35.0, FARMS).round(1)
    soils = np.array(["dry", "usual", "wet"])[np.arange(FARMS) % 3]
    names = [f"group {n + 1:02d}" for n in range(GROUPS)]
    end = f"{SEASON_START.year}-12-31"
    frames: dict[str, dict[str, Any]] = {
        "growers.csv": {
            "grower": growers, "name": [f"Grower {n + 1}" for n in range(FARMS)], "statement to": ["post"] * FARMS,
        },
        "farms.csv": {
            "farm": farms, "grower": growers, "harvest group": [names[n % GROUPS] for n in range(FARMS)],
            "haul, km": haul, "soil": soils,
        },
        "varieties.csv": {"variety": [f"{m} 1" for m in MATURITY], "maturity": list(MATURITY)},
        "harvest-groups.csv": {
            "harvest group": names, "pour rate, t/h": [60.0] * GROUPS, "start, h": [6.0] * GROUPS,
            "stop, h": [18.0] * GROUPS,
        },
        "carriers.csv": {"carrier": ["mill railway"], "carriage": ["rail"], "payload, t": [36.0]},
        "agreements.csv": {
            "agreement": [f"{SEASON_START.year}-{f}" for f in farms], "grower": growers,
            "season": [str(SEASON_START.year)] * FARMS, "scheme": ["classic CCS"] * FARMS, "until": [end] * FARMS,
        },
        "blocks.csv": _blocks(made),
    }  # fmt: skip
    return {name: _valid_from(pl.DataFrame(data), year) for name, data in frames.items()}


def _blocks(made: District) -> dict[str, Any]:
    begun = [_begun(made, place) for place in range(BLOCKS)]
    method = ["nursery seedlings" if each else "billets" for each in made.seedlings]
    return {
        "block": list(made.block_names()),
        "farm": [f"{farm + 1:03d}" for farm in made.farm],
        "area, ha": [round(float(a), 2) for a in made.area],
        "variety": [f"{MATURITY[m]} 1" for m in made.maturity],
        "crop class": [CLASSES[c] for c in made.crop],
        "started": [day.isoformat() for day in begun],
        "planting method": list(method),
        "fibre class": [FIBRE_CLASS[m] for m in made.maturity],
    }


def _begun(made: District, place: int) -> dt.date:
    """Plant cane was planted in the spring before last year's end, ratoons began with last season's harvest."""
    last_season = SEASON_START - dt.timedelta(days=364)
    if made.crop[place] == 0:
        return last_season + dt.timedelta(days=int(place % 60))
    return last_season + dt.timedelta(days=int(7 * made.uniform_cut[place]) - 7)


def _valid_from(frame: pl.DataFrame, day: dt.date) -> pl.DataFrame:
    key, *others = frame.columns
    return frame.select(key, pl.lit(day.isoformat()).alias("valid from"), *others)
