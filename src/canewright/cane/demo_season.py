"""A season of invented consignments of the demo district: what truly came, and what was written, weighed and analysed.

Cutting leans only a little towards the ripest blocks, as where roads and sidings rule; every group keeps the pace of
the whole crop; the crushing clock runs with stops. It is a plain rule, not a harvest plan. Everything is invented and
proves nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from canewright.cane.demo_district import (
    FIBRE_CLASS,
    FIBRE_TRUE_MEAN,
    GROUPS,
    SEASON_START,
    SEED,
    District,
    Floats,
    Whole,
    district,
)
from canewright.cane.demo_faults import FAULTS, FaultTruth, plant_faults

BIN, BIN_SPREAD, TARE = 6.0, 0.35, 1.92
STORED_TARE_ERROR, SCALE_ERROR = 0.008, 0.010
FLEET = 1700
RATE, RATE_SPREAD, MEMORY = 420.0, 12.0, 0.9
STOPS_A_DAY, STOP_MINUTES = 6.0, 22.0
CUT_HOUR = 6
LAG, MIXING, GUARD, WINDOW_LENGTH = 300.0, 25.0, 60.0, 180.0
LOSS_A_HOUR, LOSS_A_TRASH = 0.02, 0.045
MISSING, MISTYPED, FIBRE_SAMPLED = 0.018, 0.004, 0.10
REWEIGHED = 0.05
"""One trip in twenty is weighed empty again."""
NOTES_EXCHANGED, BLOCK_LEFT_OUT = 0.002, 0.012
RIPENESS_NOISE = 20.0
"""Spread, weeks, of the order in which a group cuts its blocks about the order of ripeness."""
START = dt.datetime.combine(SEASON_START, dt.time(CUT_HOUR))


@dataclass(frozen=True)
class DemoSeason:
    """Consignments as recorded and as they truly were, row by row; notes as first written; bins; the planted faults."""

    recorded: pl.DataFrame
    notes: pl.DataFrame
    truth: pl.DataFrame
    tares: pl.DataFrame
    reweighed: pl.DataFrame
    faults: tuple[FaultTruth, ...]


def season(
    made: District | None = None, seed: int = SEED, faults: Collection[str] = FAULTS, share: float = 1.0
) -> DemoSeason:
    """The consignments of a season; ``share`` below 1 takes only the first part of it, for quick trials."""
    made = made or district(seed)
    chance = np.random.default_rng(seed + 7)
    truth = _cut(made, chance)
    truth = truth.head(max(2, round(share * truth.height)))
    truth = _clocked(truth, chance)
    truth = _quality(made, truth, chance)
    tares = _tares(chance)
    recorded, truth = _recorded(truth, tares, chance)
    recorded, truth, tares, planted = plant_faults(recorded, truth, tares, frozenset(faults))
    return DemoSeason(recorded, _notes(recorded, chance), truth, tares, _reweighed(truth, tares, chance), planted)


def _cut(made: District, chance: np.random.Generator) -> pl.DataFrame:
    """Consignments in order of tipping: block, bins and true net mass."""
    start = _begin(made, chance)
    loads = np.maximum(1, np.round(made.tonnes / (6.0 * BIN))).astype(int)
    block = np.repeat(np.arange(made.tonnes.size), loads)
    within = np.concatenate([(np.arange(n) + 0.5) / n for n in loads])
    at = start[block] + within * (made.tonnes / made.tonnes[0:].sum() * GROUPS)[block]
    order = np.argsort(at + chance.normal(0.0, 0.0005, at.size), kind="stable")
    bins = chance.integers(4, 9, order.size)
    net = bins * BIN + chance.normal(0.0, 1.0, order.size) * BIN_SPREAD * np.sqrt(bins)
    return pl.DataFrame({"place": block[order], "bin_count": bins, "net": net})


def _begin(made: District, chance: np.random.Generator) -> Floats:
    """When each block is begun, as a share of the season: every group cuts its ripest blocks first."""
    ripe = made.peak + chance.normal(0.0, RIPENESS_NOISE, made.peak.size)
    begin = np.empty(made.peak.size)
    for group in range(GROUPS):
        mine = np.flatnonzero(made.group == group)
        ordered = mine[np.argsort(ripe[mine], kind="stable")]
        before = np.cumsum(made.tonnes[ordered]) - made.tonnes[ordered]
        begin[ordered] = before / made.tonnes[ordered].sum()
    return begin


def _clocked(truth: pl.DataFrame, chance: np.random.Generator) -> pl.DataFrame:
    """Times of cutting, arrival and tipping: the mill crushes with stops, the yard fills by day."""
    net = truth["net"].to_numpy()
    drift = np.zeros(net.size)
    noise = chance.normal(0.0, RATE_SPREAD * np.sqrt(1.0 - MEMORY**2), net.size)
    for k in range(1, net.size):
        drift[k] = MEMORY * drift[k - 1] + noise[k]
    crushing = np.cumsum(net / (RATE + drift))  # h while running
    stops = np.cumsum(chance.exponential(24.0 / STOPS_A_DAY * 0.88, int(crushing[-1] / 2) + 50))
    lengths = chance.exponential(STOP_MINUTES / 60.0, stops.size)
    cleans = np.arange(1, int(crushing[-1] / 290.0) + 1) * 290.0
    waits = np.arange(1, int(crushing[-1] / 140.0) + 1) * 140.0  # wet weather and no cane
    at = np.concatenate([stops, cleans, waits])
    long = np.concatenate([lengths, np.full(cleans.size, 8.0), np.full(waits.size, 5.0)])
    order = np.argsort(at)
    stood = np.concatenate([[0.0], np.cumsum(long[order])])
    hours = crushing + stood[np.searchsorted(at[order], crushing)]
    since_cut = hours % 24.0
    arrived = hours - since_cut + since_cut / 2.0 - chance.uniform(0.5, 1.5, net.size)
    cut = arrived - 2.0 - chance.gamma(4.0, 1.0, net.size)
    return truth.with_columns(
        pl.Series("tipped_h", hours), pl.Series("arrived_h", arrived), pl.Series("cut_h", cut),
        pl.Series("delay", hours - cut), pl.Series("trash", np.maximum(2.0, chance.normal(7.5, 1.5, net.size))),
    )  # fmt: skip


def _quality(made: District, truth: pl.DataFrame, chance: np.random.Generator) -> pl.DataFrame:
    """True CCS as delivered, true juice and fibre; pol is solved so that CCS is met at the true fibre."""
    place: Whole = truth["place"].to_numpy()
    week = np.maximum(truth["cut_h"].to_numpy(), 0.0) / 168.0 + 1.0
    spread = np.where(made.seedlings[place], 0.24, 0.30)
    field = made.ccs(week, place)
    ccs = field - LOSS_A_HOUR * truth["delay"].to_numpy() - LOSS_A_TRASH * (truth["trash"].to_numpy() - 6.0)
    ccs += spread * chance.normal(0.0, 1.0, place.size)
    fibre = np.array(FIBRE_TRUE_MEAN)[made.maturity[place]] + chance.normal(0.0, 0.6, place.size)
    brix = 20.4 + 0.9 * (ccs - 13.2) + chance.normal(0.0, 0.5, place.size)
    pol = (ccs + 0.5 * brix * (97.0 - fibre) / 100.0) / (1.5 * (95.0 - fibre) / 100.0)
    names = np.array(made.block_names())
    return truth.with_columns(
        pl.Series("ccs", ccs), pl.Series("fibre", fibre), pl.Series("brix", brix), pl.Series("pol", pol),
        pl.Series("block", names[place]), pl.Series("farm", made.farm[place] + 1),
        pl.Series("group", made.group[place] + 1), pl.Series("class", np.array(FIBRE_CLASS)[made.maturity[place]]),
        pl.Series("ticket", [str(n) for n in range(1, place.size + 1)]),
    )  # fmt: skip


def _tares(chance: np.random.Generator) -> pl.DataFrame:
    """The fleet of bins: true tare and the tare stored at the season's start, t."""
    true = TARE + chance.normal(0.0, 0.02, FLEET)
    stored = np.round(true + chance.normal(0.0, STORED_TARE_ERROR, FLEET), 3)
    return pl.DataFrame({"bin": [f"{n + 1:04d}" for n in range(FLEET)], "true": true, "stored": stored})


def _recorded(
    truth: pl.DataFrame, tares: pl.DataFrame, chance: np.random.Generator
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """What the weighbridge and the juice laboratory wrote, and the truth with the bins and what was mixed in."""
    count = truth["bin_count"].to_numpy()
    ends = np.cumsum(count)
    used = np.arange(ends[-1]) % FLEET  # the fleet goes round
    numbers = tares["bin"].to_numpy()[used]
    bins = [";".join(numbers[e - n : e]) for e, n in zip(ends, count, strict=True)]
    true_tare = np.add.reduceat(tares["true"].to_numpy()[used], ends - count)
    gross = np.round(truth["net"].to_numpy() + true_tare + chance.normal(0.0, SCALE_ERROR, count.size), 2)
    share = MIXING / WINDOW_LENGTH * np.exp(-GUARD / MIXING) * (1.0 - np.exp(-WINDOW_LENGTH / MIXING))
    size = count.size
    missing = (chance.random(size) < MISSING) | _outages(truth["tipped_h"].to_numpy(), chance)
    juice = {"brix": chance.normal(0.0, 0.08, size), "pol": chance.normal(0.0, 0.10, size)}
    fibre = np.round(truth["fibre"].to_numpy() + chance.normal(0.0, 0.5, size), 1)
    truth = truth.with_columns(
        pl.Series("bins", bins), pl.Series("true_tare", true_tare), pl.Series("neighbour_share", np.full(size, share)),
        pl.Series("brix_error", juice["brix"]), pl.Series("pol_error", juice["pol"]), pl.Series("missing", missing),
        pl.Series("mistyped", chance.random(size) < MISTYPED),
    )  # fmt: skip
    recorded = truth.select(
        "ticket",
        day=pl.lit(SEASON_START) + pl.duration(days=(pl.col("tipped_h") // 24.0).cast(pl.Int64)),
        grower=pl.format("farm {}", pl.col("farm").cast(pl.String).str.zfill(3)),
        block="block",
        harvest_group=pl.format("group {}", pl.col("group").cast(pl.String).str.zfill(2)),
        carrier=pl.lit("mill railway"),
        fibre_class="class",
        cut_at=_moment("cut_h", 60), arrived_at=_moment("arrived_h", 60), tipped_at=_moment("tipped_h", 1),
        sampled_from=_moment("tipped_h", 1, LAG + GUARD),
        sampled_to=_moment("tipped_h", 1, LAG + GUARD + WINDOW_LENGTH),
        gross_kg=pl.Series(np.round(gross * 1000).astype(np.int64)),
        bins="bins",
        fibre_measured=pl.Series(np.where(chance.random(size) < FIBRE_SAMPLED, fibre, np.nan)).fill_nan(None),
    )  # fmt: skip
    until = pl.min_horizontal("sampled_to", pl.col("sampled_from").shift(-1).fill_null(pl.col("sampled_to")))
    return recorded.with_columns(sampled_to=until), truth


def _notes(recorded: pl.DataFrame, chance: np.random.Generator) -> pl.DataFrame:
    """Notes as drivers first hand them in: some without a block, some exchanged with the next consignment's."""
    exchanged = pl.Series(chance.random(recorded.height) < NOTES_EXCHANGED)
    blank = pl.Series(chance.random(recorded.height) < BLOCK_LEFT_OUT)

    def written(name: str) -> pl.Expr:
        return pl.when(exchanged).then(pl.col(name).shift(-1).fill_null(pl.col(name))).otherwise(pl.col(name))

    written_block = pl.when(blank).then(pl.lit("")).otherwise(written("block"))
    kept = ("ticket", "day", "harvest_group", "carrier", "fibre_class")
    return recorded.select(*kept, grower=written("grower"), block=written_block)


def _outages(hours: Floats, chance: np.random.Generator) -> Any:
    """Stretches of three hours, about every ten days, in which no juice was analysed."""
    begins = np.cumsum(chance.exponential(240.0, int(hours[-1] / 240.0) + 5))
    found = np.zeros(hours.size, dtype=bool)
    for begin in begins:
        found |= (hours >= begin) & (hours < begin + 3.0)
    return found


def _moment(column: str, whole: int, later: float = 0.0) -> pl.Expr:
    """A local moment from hours since the season's start, to whole seconds or minutes."""
    seconds = ((pl.col(column) * 3600.0 + later) / whole).round().cast(pl.Int64) * whole
    return pl.lit(START) + pl.duration(seconds=seconds)


def _reweighed(truth: pl.DataFrame, tares: pl.DataFrame, chance: np.random.Generator) -> pl.DataFrame:
    """One trip in twenty, each bin of a consignment is weighed empty after tipping."""
    chosen = truth.filter(pl.Series(chance.random(truth.height) < REWEIGHED))
    trips = chosen.select("tipped_h", bin=pl.col("bins").str.split(";")).explode("bin")
    joined = trips.join(tares.select("bin", "true"), on="bin", how="left", maintain_order="left")
    weighed = np.round(joined["true"].to_numpy() + chance.normal(0.0, SCALE_ERROR, joined.height), 2)
    day = (pl.lit(SEASON_START) + pl.duration(days=(pl.col("tipped_h") // 24.0).cast(pl.Int64))).alias("day")
    kg = pl.Series("tare_kg", np.round(weighed * 1000).astype(np.int64))
    return joined.select(day, "bin").with_columns(kg)
