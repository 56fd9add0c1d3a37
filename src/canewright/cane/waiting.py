"""How long cane waits: from cutting to crushing, in the yard, and by week."""

from __future__ import annotations

import polars as pl

TARGET_HOURS = 16.0
"""Cut to crush in the Australian billet system, at most (Mackintosh, Sugar Milling, chapter 17, read)."""


def with_waits(frame: pl.DataFrame) -> pl.DataFrame:
    """Hours from cutting to tipping and in the yard; null where a time is not recorded."""
    return frame.with_columns(
        delay=_hours("tipped_at", "cut_at"), yard_hours=_hours("tipped_at", "arrived_at"),
        haul_hours=_hours("arrived_at", "cut_at"),
    )  # fmt: skip


def _hours(later: str, earlier: str) -> pl.Expr:
    return (pl.col(later) - pl.col(earlier)).dt.total_seconds() / 3600.0


def weekly(frame: pl.DataFrame) -> pl.DataFrame:
    """A week a row (beginning Monday): consignments, t, mean CCS by mass, shares without own sample, and waits.

    Needs day, net, paid_ccs, rung, delay and yard_hours. ``late_share`` is the share of consignments beyond the target.
    """
    mass = pl.col("net").sum()
    return (
        frame.with_columns(week=pl.col("day").dt.truncate("1w"))
        .group_by("week")
        .agg(
            pl.len().alias("consignments"),
            mass.alias("tonnes"),
            ((pl.col("net") * pl.col("paid_ccs")).sum() / mass).alias("ccs"),
            (pl.col("rung") > 0).mean().alias("without_sample"),
            pl.col("yard_hours").mean().alias("yard_hours"),
            pl.col("delay").mean().alias("delay"),
            pl.col("delay").quantile(0.9).alias("delay_90"),
            (pl.col("delay") > TARGET_HOURS).mean().alias("late_share"),
        )
        .sort("week")
    )


def yard_stock(frame: pl.DataFrame, every: str = "1h") -> pl.DataFrame:
    """Cane in the yard at the end of each hour, t: what arrived less what was tipped; columns at, tonnes."""
    came = frame.select(at=pl.col("arrived_at"), tonnes=pl.col("net"))
    went = frame.select(at=pl.col("tipped_at"), tonnes=-pl.col("net"))
    known = frame.filter(pl.col("arrived_at").is_not_null()).height
    if not known:
        return pl.DataFrame(schema={"at": pl.Datetime, "tonnes": pl.Float64})
    moved = pl.concat([came.drop_nulls(), went]).with_columns(pl.col("at").dt.truncate(every))
    return moved.group_by("at").agg(pl.col("tonnes").sum()).sort("at").with_columns(pl.col("tonnes").cum_sum())
