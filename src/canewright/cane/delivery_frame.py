"""Many deliveries at once, as columns: net mass, juice that may be paid on, CCS with its uncertainty, relative quality.

One row is one consignment. Columns that come in: ticket, day, grower, block, gross_kg, tare_kg, brix and pol of first
expressed juice (%), quality, fibre and fibre_u (% of cane). Payment uses readings, never reconciled values.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

import polars as pl

from canewright.analysis.cane import ccs
from canewright.cane.sample_checks import FAR, GREATEST_PURITY, LEAST_PURITY

BRIX_U, POL_U = 0.08, 0.10
"""Standard uncertainties of brix and pol of one juice sample, % (usual values; common practice, no source)."""
PER_MAD = 1.4826
"""Standard deviation of normal noise by its median absolute deviation."""
LEAST_OF_BLOCK = 5
"""Samples of a block that make its own middle; with fewer the class of the day is the expectation (ours)."""
LEAST_SPREAD = 0.2
"""No expectation is taken for surer than this, units of CCS (ours)."""
ANY_BRIX, ANY_POL = 20.0, 18.0  # stands where there is no sample; the result is dropped
READ = ("good", "estimated")


def with_net(frame: pl.DataFrame) -> pl.DataFrame:
    """Net mass of each consignment: net_kg, and net in t."""
    net = pl.col("gross_kg") - pl.col("tare_kg")
    return frame.with_columns(net_kg=net, net=net / 1000.0)


def with_ccs(frame: pl.DataFrame) -> pl.DataFrame:
    """CCS of each consignment with a readable sample, and its standard uncertainty, by the public formula.

    Adds sampled, purity, ccs and ccs_u; ccs is null without a sample or with one that is impossible. Raises OutOfRange
    for a reading that no formula takes.
    """
    sampled = pl.col("brix").is_not_null() & pl.col("pol").is_not_null() & pl.col("quality").is_in(READ)
    told = frame.with_columns(sampled=sampled).with_columns(
        purity=pl.when("sampled").then(100.0 * pl.col("pol") / pl.col("brix"))
    )
    possible = told["sampled"] & (told["pol"] <= told["brix"]).fill_null(value=False)
    brix = told["brix"].zip_with(possible, pl.Series([ANY_BRIX])).to_numpy()
    pol = told["pol"].zip_with(possible, pl.Series([ANY_POL])).to_numpy()
    found = ccs(brix, pol, told["fibre"].to_numpy())
    fibre = pl.col("fibre")
    by_pol = 1.5 * (95.0 - fibre) / 100.0 * POL_U
    by_brix = 0.5 * (97.0 - fibre) / 100.0 * BRIX_U
    by_fibre = (1.5 * pl.col("pol") - 0.5 * pl.col("brix")) / 100.0 * pl.col("fibre_u")
    return told.with_columns(
        ccs=pl.when(possible).then(pl.Series(found)),
        ccs_u=pl.when(possible).then((by_pol**2 + by_brix**2 + by_fibre**2).sqrt()),
    )


def with_objections(frame: pl.DataFrame) -> pl.DataFrame:
    """What is impossible or unlikely with each sample, against what is expected of it.

    The expectation is the middle of the block's samples, else of the fibre class on the day; the spread is robust.
    Adds expected, spread, and objection (null where there is none); impossible samples begin with 'impossible:'.
    """
    ccs_of = pl.col("ccs")
    own = pl.when(ccs_of.count().over("block") >= LEAST_OF_BLOCK).then(ccs_of.median().over("block"))
    told = frame.with_columns(expected=own)
    if told["expected"].null_count():
        few = told.filter(pl.col("expected").is_null()).select("fibre_class", "day").unique()
        alike = told.select("fibre_class", "day", "ccs").join(few, on=["fibre_class", "day"], how="semi")
        of_class = alike.group_by("fibre_class", "day").agg(ccs_of.median().alias("_class"))
        keys = told.select("fibre_class", "day")
        usual = keys.join(of_class, on=["fibre_class", "day"], how="left", maintain_order="left")["_class"]
        told = told.with_columns(expected=pl.coalesce("expected", usual, ccs_of.median()))
    away = (pl.col("ccs") - pl.col("expected")).abs()
    told = told.with_columns(spread=(PER_MAD * away.median()).clip(lower_bound=LEAST_SPREAD))
    above = pl.col("sampled") & (pl.col("pol") > pl.col("brix"))
    purity = pl.col("sampled") & ~pl.col("purity").is_between(LEAST_PURITY, GREATEST_PURITY)
    far = away > FAR * pl.col("spread")
    return told.with_columns(_worded(told, above, purity, far))


def _worded(told: pl.DataFrame, above: pl.Expr, purity: pl.Expr, far: pl.Expr) -> pl.Series:
    """The objections in words; only the questioned samples are put into words."""
    words = (
        pl.when(above)
        .then(pl.format("impossible: pol {} above brix {}", "pol", "brix"))
        .when(purity)
        .then(pl.format("purity {} outside 60 to 96", pl.col("purity").round(2)))
        .otherwise(pl.format("CCS {} far from {} expected", pl.col("ccs").round(2), pl.col("expected").round(2)))
    )
    asked = told.select((above | purity | far).fill_null(value=False).alias("asked"))["asked"]
    said = pl.Series("objection", [None], dtype=pl.String).new_from_index(0, told.height)
    places = asked.arg_true()
    return said.scatter(places, told.filter(asked).select(words.alias("words"))["words"]) if places.len() else said


@dataclass(frozen=True)
class SeasonTotals:
    """Totals by grower: t, t of CCS paid on, mean CCS and mean relative CCS; and the season's mean CCS."""

    by_grower: pl.DataFrame
    season_ccs: float


def with_relative(frame: pl.DataFrame, season_ccs: float | None = None) -> pl.DataFrame:
    """Relative CCS by difference: paid CCS + season mean - mean of its week, all by mass; adds week and relative_ccs.

    ``season_ccs`` is the provisional mean while the season runs; without it the mean of these deliveries is the
    season's, and the tonnes of CCS stay the same in total.
    """
    weighed = frame.with_columns(week=pl.col("day").dt.truncate("1w"), units=pl.col("net") * pl.col("paid_ccs"))
    mean = pl.col("units").sum() / pl.col("net").sum() if season_ccs is None else pl.lit(season_ccs)
    of_week = pl.col("units").sum().over("week") / pl.col("net").sum().over("week")
    return weighed.with_columns(relative_ccs=pl.col("paid_ccs") + mean - of_week)


def season_totals(frame: pl.DataFrame) -> SeasonTotals:
    """Totals by grower of deliveries with net, paid_ccs and relative_ccs. Raises ValueError without any mass."""
    mass = float(frame["net"].sum())
    if not mass > 0 or not isfinite(mass):
        raise ValueError(f"deliveries weigh {mass} t together; totals need a mass above 0")
    by_grower = (
        frame.group_by("grower")
        .agg(
            pl.col("net").sum().alias("tonnes"),
            (pl.col("net") * pl.col("paid_ccs")).sum().alias("tonnes_ccs"),
            (pl.col("net") * pl.col("relative_ccs")).sum().alias("tonnes_relative"),
            pl.len().alias("consignments"),
        )
        .with_columns(
            ccs=pl.col("tonnes_ccs") / pl.col("tonnes"), relative_ccs=pl.col("tonnes_relative") / pl.col("tonnes")
        )
        .sort("grower")
    )
    return SeasonTotals(by_grower, float(by_grower["tonnes_ccs"].sum()) / mass)
