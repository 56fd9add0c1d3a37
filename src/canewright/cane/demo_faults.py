"""Faults planted in the invented season, each with its truth: what, when, where and how large."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import polars as pl

from canewright.analysis.cane_sampling import share_of_neighbour_early
from canewright.cane.demo_district import SEASON_START, Floats

FAULTS = ("B1", "B3", "F", "G", "H")
B1_DAY, B3_DAY, B3_COUNT = 33, 70, 7
B1_TRUE, B1_KEYED, B1_BRIX, B1_FIBRE = 18.27, 12.87, 20.4, 14.1
LAG_SHORT, LAG_DAYS = 75.0, (140, 147)
BAD_BINS, BAD_BY_KG = 24, 45
LABEL_DAYS, LABEL_FROM, LABEL_TO, LABEL_SIZE = (20, 40), "green late", "burnt mid", 0.7
WINDOW_LENGTH, GUARD, MIXING = 180.0, 60.0, 25.0


@dataclass(frozen=True)
class FaultTruth:
    """A planted fault: the first and last day it holds, what it is about, its size in its unit, and in words."""

    id: str
    start: dt.date
    end: dt.date
    tag: str
    size: float
    unit: str
    says: str


def plant_faults(
    recorded: pl.DataFrame, truth: pl.DataFrame, tares: pl.DataFrame, wanted: frozenset[str]
) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame, tuple[FaultTruth, ...]]:
    """Write the record with these faults in it; gives record, truth, tares and what was planted."""
    planted: list[FaultTruth] = []
    if "F" in wanted:
        truth = _short_lag(truth, recorded, planted)
    if "G" in wanted:
        tares = _low_tares(tares, planted)
    recorded = _juice(recorded, truth)
    recorded = _weighed(recorded, truth, tares)
    if "H" in wanted:
        recorded = _mislabelled(recorded, planted)
    if "B1" in wanted:
        recorded, truth = _typed_pol(recorded, truth, planted)
    if "B3" in wanted:
        recorded = _swapped(recorded, planted)
    return recorded, truth, tares, tuple(planted)


def day_number(number: int) -> dt.date:
    """A day of the season by its number from 1."""
    return SEASON_START + dt.timedelta(days=number - 1)


def _short_lag(truth: pl.DataFrame, recorded: pl.DataFrame, planted: list[FaultTruth]) -> pl.DataFrame:
    first, last = (day_number(n) for n in LAG_DAYS)
    early = LAG_SHORT - GUARD
    share = float(share_of_neighbour_early(early, WINDOW_LENGTH - early, MIXING))
    within = recorded["day"].is_between(first, last)
    says = f"the lag from tip to sampler is set {LAG_SHORT:g} s short"
    planted.append(FaultTruth("F", first, last, "lag", share, "share of the neighbour", says))
    mixed = pl.when(within).then(share).otherwise(pl.col("neighbour_share"))
    return truth.with_columns(mixed.alias("neighbour_share"))


def _low_tares(tares: pl.DataFrame, planted: list[FaultTruth]) -> pl.DataFrame:
    bad = np.zeros(tares.height, dtype=bool)
    bad[:: tares.height // BAD_BINS] = True
    bad[np.flatnonzero(bad)[BAD_BINS:]] = False
    stored = np.where(bad, np.round(tares["true"].to_numpy() - BAD_BY_KG / 1000.0, 3), tares["stored"].to_numpy())
    end = day_number(182)
    says = f"the stored tare of {BAD_BINS} bins is low"
    planted.append(FaultTruth("G", SEASON_START, end, "stored tare", float(BAD_BY_KG), "kg a bin", says))
    return tares.with_columns(pl.Series("stored", stored), pl.Series("bad", bad))


def _juice(recorded: pl.DataFrame, truth: pl.DataFrame) -> pl.DataFrame:
    """Juice as analysed: the sample holds a share of the consignment before, then the laboratory's own errors."""
    share = truth["neighbour_share"].to_numpy()
    found = {}
    for name in ("brix", "pol"):
        true: Floats = truth[name].to_numpy()
        before = np.concatenate([true[:1], true[:-1]])
        found[name] = np.round((1.0 - share) * true + share * before + truth[f"{name}_error"].to_numpy(), 2)
    pol = _mistyped(found["pol"], truth["mistyped"].to_numpy())
    sampled = ~truth["missing"]
    return recorded.with_columns(
        pl.when(sampled).then(pl.Series(found["brix"])).alias("brix"),
        pl.when(sampled).then(pl.Series(pol)).alias("pol"),
        pl.when(sampled).then(pl.lit("good")).otherwise(pl.lit("missing")).alias("quality"),
    )


def _mistyped(pol: Floats, wrong: np.ndarray) -> Floats:
    """Some values typed with the two digits after the point exchanged."""
    hundredths = np.round(pol * 100).astype(int)
    ones, tens = hundredths % 10, hundredths // 10 % 10
    swapped = hundredths - ones - 10 * tens + 10 * ones + tens
    return np.where(wrong, swapped, hundredths) / 100.0


def _weighed(recorded: pl.DataFrame, truth: pl.DataFrame, tares: pl.DataFrame) -> pl.DataFrame:
    """The stored tares of the bins, taken off the gross mass."""
    count = truth["bin_count"].to_numpy()
    starts = np.cumsum(count) - count
    used = np.arange(count.sum()) % tares.height
    tare = np.add.reduceat(tares["stored"].to_numpy()[used], starts)
    return recorded.with_columns(pl.Series("tare_kg", np.round(tare * 1000).astype(np.int64)))


def _mislabelled(recorded: pl.DataFrame, planted: list[FaultTruth]) -> pl.DataFrame:
    first, last = (day_number(n) for n in LABEL_DAYS)
    green = pl.col("day").is_between(first, last) & (pl.col("fibre_class") == LABEL_FROM)
    counted = recorded.filter(green).group_by("harvest_group").len().sort("len", "harvest_group")
    if counted.is_empty():
        return recorded
    group = str(counted["harvest_group"][-1])  # the one that cuts most of it
    wrong = green & (pl.col("harvest_group") == group)
    says = f"{group} writes {LABEL_TO} for {LABEL_FROM}"
    planted.append(FaultTruth("H", first, last, group, LABEL_SIZE, "% fibre", says))
    return recorded.with_columns(fibre_class=pl.when(wrong).then(pl.lit(LABEL_TO)).otherwise(pl.col("fibre_class")))


def _place(recorded: pl.DataFrame, day: dt.date, after: int) -> int | None:
    """The place of a sampled consignment of a day; None where the season has not come that far."""
    of_day = recorded.with_row_index("row").filter((pl.col("day") == day) & (pl.col("quality") == "good"))
    return int(of_day["row"][after]) if of_day.height > after else None


def _typed_pol(
    recorded: pl.DataFrame, truth: pl.DataFrame, planted: list[FaultTruth]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    day = day_number(B1_DAY)
    row = _place(recorded, day, 20)
    if row is None:
        return recorded, truth
    here = pl.int_range(pl.len()) == row
    keyed = {"pol": B1_KEYED, "brix": B1_BRIX, "fibre_measured": B1_FIBRE}
    recorded = recorded.with_columns(
        pl.when(here).then(value).otherwise(pl.col(name)).alias(name) for name, value in keyed.items()
    )
    said = f"pol {B1_TRUE} of ticket {recorded['ticket'][row]} keyed {B1_KEYED}"
    planted.append(FaultTruth("B1", day, day, str(recorded["ticket"][row]), B1_TRUE - B1_KEYED, "% pol", said))
    true = {"pol": B1_TRUE, "brix": B1_BRIX, "fibre": B1_FIBRE, "ccs": 1.5 * 0.809 * B1_TRUE - 0.5 * 0.829 * B1_BRIX}
    return recorded, truth.with_columns(
        pl.when(here).then(value).otherwise(pl.col(name)).alias(name) for name, value in true.items()
    )


def _swapped(recorded: pl.DataFrame, planted: list[FaultTruth]) -> pl.DataFrame:
    day = day_number(B3_DAY)
    rows = [_place(recorded, day, 10 + 9 * k) for k in range(B3_COUNT)]
    found = [row for row in rows if row is not None]
    if not found:
        return recorded
    here = pl.int_range(pl.len()).is_in(found)
    says = f"brix and pol of {len(found)} consignments written in each other's place"
    tickets = ",".join(str(recorded["ticket"][row]) for row in found)
    planted.append(FaultTruth("B3", day, day, tickets, float(len(found)), "consignments", says))
    return recorded.with_columns(
        brix=pl.when(here).then(pl.col("pol")).otherwise(pl.col("brix")),
        pol=pl.when(here).then(pl.col("brix")).otherwise(pl.col("pol")),
    )
