"""Bins and their tares: the stored tare against weighings empty, what a wrong one pays over, and who is due again.

Weighing for trade is governed by local law: verified scales, their certificates and their limits outrank this.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import polars as pl

DIFFERENCE_KG = 15.0
"""A stored tare further off than this is to be replaced (ours; the site's rule outranks it)."""
CYCLE_TRIPS = 20
"""Each bin is weighed empty once in so many trips (ours)."""
SCALE_KG, STORED_KG = 10.0, 8.0
"""Standard deviations of one weighing and of a stored tare, kg (ours)."""
SURE = 3.0


@dataclass(frozen=True)
class WrongTare:
    """A bin whose stored tare is off, by weighings empty: ``low_by`` kg with its standard uncertainty.

    ``over_weighed`` is the cane weighed too much so far, t: growers were overpaid where it is above nothing.
    """

    bin: str
    stored: float
    weighed: float
    low_by: float
    uncertainty: float
    weighings: int
    trips: int

    @property
    def over_weighed(self) -> float:
        """Cane weighed too much over all trips so far, t."""
        return self.low_by * self.trips / 1000.0

    def says(self) -> str:
        """In a sentence, with what to do."""
        way = "low" if self.low_by > 0 else "high"
        more = "too much" if self.low_by > 0 else "too little"
        by = f"{abs(self.low_by):.0f} ± {2 * self.uncertainty:.0f} kg {way}"
        return (
            f"bin {self.bin}: stored tare {self.stored:.0f} kg is {by} by {self.weighings} weighings empty; "
            f"{abs(self.over_weighed):.2f} t of cane {more} over {self.trips} trips; enter the new tare and "
            "correct the consignments as the agreement says"
        )


def wrong_tares(stored: pl.DataFrame, reweighed: pl.DataFrame, trips: pl.DataFrame) -> list[WrongTare]:
    """Bins whose stored tare differs from weighings empty by more than allowed and more than chance.

    ``stored``: bin, tare_kg; ``reweighed``: bin, tare_kg, one row a weighing; ``trips``: bin, trips. In order of bin.
    """
    by_bin = reweighed.group_by("bin").agg(pl.col("tare_kg").mean().alias("weighed"), pl.len().alias("weighings"))
    joined = by_bin.join(stored, on="bin").join(trips, on="bin", how="left").with_columns(pl.col("trips").fill_null(0))
    found = []
    for row in joined.sort("bin").iter_rows(named=True):
        low_by = row["weighed"] - row["tare_kg"]
        error = SCALE_KG / sqrt(row["weighings"])
        if abs(low_by) > DIFFERENCE_KG and abs(low_by) > SURE * sqrt(error**2 + STORED_KG**2):
            found.append(
                WrongTare(row["bin"], row["tare_kg"], row["weighed"], low_by, error, row["weighings"], row["trips"])
            )
    return found


def trips_of(frame: pl.DataFrame) -> pl.DataFrame:
    """Trips of each bin, from consignments with a column bins of numbers parted by semicolons."""
    each = frame.select(bin=pl.col("bins").str.split(";")).explode("bin", empty_as_null=True, keep_nulls=True)
    named = each.filter(pl.col("bin").is_not_null() & (pl.col("bin") != ""))
    return named.group_by("bin").len(name="trips").sort("bin")


def due_for_weighing(trips: pl.DataFrame, weighings: pl.DataFrame, cycle: int = CYCLE_TRIPS) -> pl.DataFrame:
    """Bins that have made more trips than their weighings empty cover: bin, trips, weighings, behind (trips)."""
    counted = weighings.group_by("bin").len(name="weighings")
    joined = trips.join(counted, on="bin", how="left").with_columns(pl.col("weighings").fill_null(0))
    behind = joined.with_columns(
        behind=pl.col("trips").cast(pl.Int64) - cycle * (pl.col("weighings").cast(pl.Int64) + 1)
    )
    return behind.filter(pl.col("behind") > 0).sort("behind", "bin", descending=[True, False])


def tare_of(bins: list[str], stored_kg: dict[str, int]) -> int | None:
    """Tare of a consignment by the stored tares of its bins, kg; None where a bin is not in the register."""
    if not bins or any(each not in stored_kg for each in bins):
        return None
    return sum(stored_kg[each] for each in bins)
