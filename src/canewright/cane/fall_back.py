"""What stands for a sample that is missing or set aside: the first rung of a ladder that applies, told in words.

No published clause with such a ladder was found; this one is ours, after published practice (means by mass of the
sampled loads alone, São Paulo growers' step list, read). A consignment is never valued at nothing for want of a sample.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import IntEnum

import polars as pl

NEAR_DAYS = 2
NEAR_LEAST = 2
LAST = 20
LAST_LEAST = 5
"""Consignments that make a grower's usual position; with fewer the rung is passed over (ours)."""
EVERY = 25
"""To measure the error of the rungs, every so many consignments with a sample are valued as if they had none."""
JUDGED = 60_000
"""Latest consignments by which that is done; a season of one mill (ours)."""


NEEDED = ("day", "grower", "block", "variety", "crop_class", "fibre_class", "tipped_at", "net", "ccs")


class Step(IntEnum):
    """Where the CCS paid on comes from."""

    OWN = 0
    READ_AGAIN = 1
    SAME_BLOCK_SAME_DAY = 2
    SAME_CANE_NEAR_DAYS = 3
    GROWERS_POSITION = 4
    CLASS_OF_DAY = 5
    MILL_OF_DAY = 6


WORDS = {
    Step.OWN: "own juice sample",
    Step.READ_AGAIN: "retained juice read again",
    Step.SAME_BLOCK_SAME_DAY: "no sample: mean of the same grower's same block on the day, by mass",
    Step.SAME_CANE_NEAR_DAYS: "no sample: the same grower, variety and crop class within two days, moved with the mill",
    Step.GROWERS_POSITION: "no sample: the mill's mean of the day and the grower's usual difference from it",
    Step.CLASS_OF_DAY: "no sample: mean of the fibre class on the day, by mass",
    Step.MILL_OF_DAY: "no sample: mean of the mill on the day or the nearest day with samples, by mass",
}


class NoSampleAtAll(ValueError):
    """There is no sample anywhere to fall back on."""


def with_paid_ccs(frame: pl.DataFrame) -> pl.DataFrame:
    """The CCS each consignment is paid on, with its rung, basis in words and standard uncertainty.

    Needs ccs and ccs_u (null where there is no usable sample), net, day, grower, block, variety, crop_class,
    fibre_class, tipped_at; read_again is used where it is a column. Adds paid_ccs, paid_u, rung and basis; rows keep
    their order. Raises NoSampleAtAll when no consignment has a sample.
    """
    if frame["ccs"].count() == 0:
        raise NoSampleAtAll("no consignment has a usable juice sample; read retained juice or agree a CCS in writing")
    whole = frame if "read_again" in frame.columns else frame.with_columns(read_again=pl.lit(None, pl.Float64))
    valued = _valued(whole.with_row_index("_row"))
    errors = _errors(whole)
    words = {int(step): text for step, text in WORDS.items()}
    own = pl.col("rung").is_in([int(Step.OWN), int(Step.READ_AGAIN)])
    fallen = pl.col("rung").replace_strict(errors, default=max(errors.values()), return_dtype=pl.Float64)
    return valued.with_columns(
        paid_u=pl.when(own & pl.col("ccs_u").is_not_null()).then("ccs_u").otherwise(fallen),
        basis=pl.col("rung").replace_strict(words, return_dtype=pl.String),
    ).drop("_row")


def _valued(frame: pl.DataFrame) -> pl.DataFrame:
    """Own CCS where there is one, else the first rung; a rung is worked out only for what no rung before has valued."""
    mill = _mill_means(frame)
    left = frame.filter(pl.col("ccs").is_null())
    sampled = frame.select(NEEDED).filter(pl.col("ccs").is_not_null())
    found = []
    for step, rung in LADDER.items():
        if left.is_empty():
            break
        valued = rung(left, sampled, mill).filter(pl.col("fallen").is_not_null()).select("_row", "fallen")
        found.append(valued.with_columns(fallen_rung=pl.lit(int(step), pl.Int64)))
        left = left.join(valued, on="_row", how="anti")
    schema = {"_row": pl.UInt32, "fallen": pl.Float64, "fallen_rung": pl.Int64}
    table = pl.concat(found) if found else pl.DataFrame(schema=schema)
    fallen = frame.select("_row").join(table, on="_row", how="left", maintain_order="left")
    own = pl.col("ccs").is_not_null()
    return frame.with_columns(
        paid_ccs=pl.coalesce("ccs", fallen["fallen"]), rung=pl.when(own).then(0).otherwise(fallen["fallen_rung"])
    )


def _by_mass(value: str = "ccs") -> pl.Expr:
    return (pl.col("net") * pl.col(value)).sum() / pl.col("net").sum()


def _mill_means(frame: pl.DataFrame) -> pl.DataFrame:
    """Mean of the mill by day, by mass of the sampled consignments; a day without any takes the nearest one's."""
    sampled = frame.filter(pl.col("ccs").is_not_null())
    of_day = sampled.group_by("day").agg(_by_mass().alias("mill")).sort("day")
    return frame.select(pl.col("day").unique().sort()).join_asof(of_day, on="day", strategy="nearest")


def _read_again(left: pl.DataFrame, sampled: pl.DataFrame, mill: pl.DataFrame) -> pl.DataFrame:
    return left.select("_row", fallen="read_again")


def _same_block(left: pl.DataFrame, sampled: pl.DataFrame, mill: pl.DataFrame) -> pl.DataFrame:
    return _mean_of(left, sampled, ["grower", "block", "day"])


def _class_of_day(left: pl.DataFrame, sampled: pl.DataFrame, mill: pl.DataFrame) -> pl.DataFrame:
    return _mean_of(left, sampled, ["fibre_class", "day"])


def _mill_of_day(left: pl.DataFrame, sampled: pl.DataFrame, mill: pl.DataFrame) -> pl.DataFrame:
    return left.select("_row", "day").join(mill, on="day", how="left").rename({"mill": "fallen"})


def _mean_of(left: pl.DataFrame, sampled: pl.DataFrame, keys: list[str]) -> pl.DataFrame:
    """The mean by mass of the sampled consignments that are alike in these columns."""
    alike = sampled.select(*keys, "net", "ccs").join(left.select(keys).unique(), on=keys, how="semi")
    return left.select("_row", *keys).join(alike.group_by(keys).agg(_by_mass().alias("fallen")), on=keys, how="left")


def _near_days(left: pl.DataFrame, sampled: pl.DataFrame, mill: pl.DataFrame) -> pl.DataFrame:
    """The same grower's same variety and class within two days, moved by the change in the mill's daily mean."""
    cane = ["grower", "variety", "crop_class"]
    alike = sampled.join(left.select(cane).unique(), on=cane, how="semi").join(mill, on="day", how="left")
    of_day = alike.group_by(*cane, "day").agg(
        (pl.col("net") * (pl.col("ccs") - pl.col("mill"))).sum().alias("lead"),
        pl.col("net").sum().alias("mass"),
        pl.len().alias("n"),
    )
    offsets = pl.DataFrame({"offset": list(range(-NEAR_DAYS, NEAR_DAYS + 1))})
    asked = left.select("_row", *cane, pl.col("day").alias("own_day")).join(offsets, how="cross")
    asked = asked.with_columns(day=pl.col("own_day") + pl.duration(days=pl.col("offset")))
    near = asked.join(of_day, on=[*cane, "day"], how="inner").group_by("_row").agg(
        pl.col("own_day").first().alias("day"), (pl.col("lead").sum() / pl.col("mass").sum()).alias("lead"),
        pl.col("n").sum(),
    )  # fmt: skip
    moved = near.filter(pl.col("n") >= NEAR_LEAST).join(mill, on="day", how="left")
    return moved.select("_row", fallen=pl.col("mill") + pl.col("lead"))


def _position(left: pl.DataFrame, sampled: pl.DataFrame, mill: pl.DataFrame) -> pl.DataFrame:
    """The mill's mean of the day and the grower's mean difference from it over his last consignments before."""
    rolling = pl.col("lead").rolling_mean(LAST, min_samples=LAST_LEAST).over("grower")
    usual = (
        sampled.join(left.select("grower").unique(), on="grower", how="semi")
        .join(mill, on="day", how="left")
        .with_columns(lead=pl.col("ccs") - pl.col("mill"))
        .sort("tipped_at")
        .select("grower", "tipped_at", difference=rolling)
        .filter(pl.col("difference").is_not_null())
    )
    asked = left.select("_row", "grower", "day", "tipped_at").sort("tipped_at")
    found = asked.join_asof(usual, on="tipped_at", by="grower", check_sortedness=False).join(mill, on="day", how="left")
    return found.select("_row", fallen=pl.col("mill") + pl.col("difference"))


Rung = Callable[[pl.DataFrame, pl.DataFrame, pl.DataFrame], pl.DataFrame]
LADDER: Mapping[Step, Rung] = {
    Step.READ_AGAIN: _read_again,
    Step.SAME_BLOCK_SAME_DAY: _same_block,
    Step.SAME_CANE_NEAR_DAYS: _near_days,
    Step.GROWERS_POSITION: _position,
    Step.CLASS_OF_DAY: _class_of_day,
    Step.MILL_OF_DAY: _mill_of_day,
}
"""The rungs in order; each gives fallen by _row, from what is left, what is sampled and the mill's mean by day."""


def _errors(frame: pl.DataFrame) -> dict[int, float]:
    """Standard error of each rung: consignments with a sample, valued as if they had none, against their sample."""
    known = frame.tail(JUDGED).with_row_index("_row").with_columns(true=pl.col("ccs"))
    hidden = (pl.col("_row") % EVERY == 0) & pl.col("ccs").is_not_null()
    tried = _valued_anew(known, hidden)
    spread = float(known["ccs"].std() or 0.0)  # type: ignore[arg-type]  # a float column has a float spread
    found = {int(step): spread for step in Step}
    for row in tried.iter_rows(named=True):
        if row["n"] >= LAST_LEAST:
            found[row["rung"]] = float(row["error"])
    return found


def _valued_anew(known: pl.DataFrame, hidden: pl.Expr) -> pl.DataFrame:
    masked = known.with_columns(ccs=pl.when(hidden).then(None).otherwise(pl.col("ccs")), hidden=hidden)
    if masked["ccs"].count() == 0:
        return pl.DataFrame(schema={"rung": pl.Int64, "n": pl.UInt32, "error": pl.Float64})
    judged = _valued(masked).filter("hidden")
    off = pl.col("paid_ccs") - pl.col("true")
    return judged.group_by("rung").agg(pl.len().alias("n"), (off**2).mean().sqrt().alias("error"))
