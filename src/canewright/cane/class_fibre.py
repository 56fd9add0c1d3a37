"""Fibre of a class: the rolling mean of its latest samples, with number, spread and age; and cane in the wrong class.

Fibre is measured on few consignments; the others take the mean of their class. A class written wrongly moves the class
mean and so every grower's CCS (Burdekin growers' report of 2013, read).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

SAMPLES = 20
"""Latest samples of a class that make its mean (our default)."""
ONE_SAMPLE = 0.5
"""Standard uncertainty of a fibre determination, % of cane (from memory: 0.3 to 0.5 for direct analysis)."""
BETWEEN = 0.6
"""Standard deviation of fibre between consignments of one class, % of cane, where too few samples tell it (ours)."""
FEW = 5


def rolling_class_fibre(samples: pl.DataFrame, defaults: Mapping[str, float], latest: int = SAMPLES) -> pl.DataFrame:
    """Class fibre by day from samples with columns fibre_class, day, fibre; one row a class and day with a sample.

    Gives fibre (%), fibre_sd (spread of one consignment in the class, %), fibre_n and fibre_from, the day of the newest
    sample. ``defaults`` stand from the beginning until the first sample, with n of 0.
    """
    ordered = samples.filter(pl.col("fibre").is_not_null()).sort("fibre_class", "day", maintain_order=True)
    rolling = ordered.with_columns(
        pl.col("fibre").rolling_mean(latest, min_samples=1).over("fibre_class").alias("class_fibre"),
        pl.col("fibre").rolling_std(latest, min_samples=FEW).over("fibre_class").alias("fibre_sd"),
        pl.int_range(1, pl.len() + 1).over("fibre_class").clip(upper_bound=latest).alias("fibre_n"),
        pl.col("day").alias("fibre_from"),
    )
    of_day = rolling.group_by("fibre_class", "day", maintain_order=True).last()
    columns = ("fibre_class", "day", "class_fibre", "fibre_sd", "fibre_n", "fibre_from")
    first = pl.DataFrame(
        {
            "fibre_class": list(defaults),
            "day": [dt.date.min] * len(defaults),
            "class_fibre": list(defaults.values()),
            "fibre_sd": [None] * len(defaults),
            "fibre_n": [0] * len(defaults),
            "fibre_from": [None] * len(defaults),
        },
        schema={
            "fibre_class": pl.String, "day": pl.Date, "class_fibre": pl.Float64, "fibre_sd": pl.Float64,
            "fibre_n": pl.Int64, "fibre_from": pl.Date,
        },
    )  # fmt: skip
    both = pl.concat([first, of_day.select(columns).cast({"fibre_n": pl.Int64})])
    return both.with_columns(pl.col("fibre_sd").fill_null(BETWEEN)).sort("day")


def with_fibre(frame: pl.DataFrame, classes: pl.DataFrame) -> pl.DataFrame:
    """The fibre each consignment is analysed with: measured on it where there is a value, else its class's.

    Adds fibre, fibre_u (standard uncertainty, %), fibre_basis in words. Rows keep their order.
    """
    ordered = frame.with_row_index("_row").sort("day")
    joined = ordered.join_asof(classes, on="day", by="fibre_class", check_sortedness=False).sort("_row").drop("_row")
    measured = pl.col("fibre_measured").is_not_null()
    age = (pl.col("day") - pl.col("fibre_from")).dt.total_days()
    of_class = (
        pl.when(pl.col("fibre_n") == 0)
        .then(pl.format("default of class {}", "fibre_class"))
        .otherwise(pl.format("mean of class {}, {} samples, newest {} d old", "fibre_class", "fibre_n", age))
    )
    return joined.with_columns(
        fibre=pl.when(measured).then("fibre_measured").otherwise("class_fibre"),
        fibre_u=pl.when(measured).then(ONE_SAMPLE).otherwise(pl.max_horizontal("fibre_sd", pl.lit(ONE_SAMPLE))),
        fibre_basis=pl.when(measured).then(pl.lit("measured on the consignment")).otherwise(of_class),
    ).drop("class_fibre", "fibre_sd", "fibre_from")


@dataclass(frozen=True)
class Mislabel:
    """A harvest group that writes another fibre class than the register has for its blocks, over some days."""

    harvest_group: str
    written: str
    registered: str
    first: dt.date
    last: dt.date
    consignments: int

    def says(self) -> str:
        """In a sentence, with what to do."""
        return (
            f"{self.harvest_group} writes {self.written} for blocks that the register has as {self.registered}: "
            f"{self.consignments} consignments from {self.first} to {self.last}; look at the cane, then correct the "
            "notes or the register"
        )


def mislabels(frame: pl.DataFrame, least: int = 3) -> list[Mislabel]:
    """Groups whose notes differ from the block register's class, from columns fibre_class and registered_class.

    ``least`` consignments by one group with the same difference are a habit and no slip.
    """
    wrong = frame.filter(pl.col("fibre_class") != pl.col("registered_class"))
    by_group = (
        wrong.group_by("harvest_group", "fibre_class", "registered_class")
        .agg(pl.col("day").min().alias("first"), pl.col("day").max().alias("last"), pl.len().alias("n"))
        .filter(pl.col("n") >= least)
        .sort("harvest_group", "fibre_class")
    )
    return [
        Mislabel(r["harvest_group"], r["fibre_class"], r["registered_class"], r["first"], r["last"], r["n"])
        for r in by_group.iter_rows(named=True)
    ]
