"""A million deliveries from a file to totals by grower, against plain pandas, and against reading the columns once."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Iterator
from typing import Any

import numpy as np
import polars as pl

from canewright.cane.class_fibre import rolling_class_fibre, with_fibre
from canewright.cane.delivery_frame import (
    BRIX_U,
    LEAST_SPREAD,
    PER_MAD,
    POL_U,
    SeasonTotals,
    season_totals,
    with_ccs,
    with_net,
    with_objections,
    with_relative,
)
from canewright.cane.demo_district import FIBRE_CLASS, FIBRE_TRUE_MEAN, district, registers_of
from canewright.cane.demo_season import season
from canewright.cane.fall_back import NEAR_DAYS, NEAR_LEAST, WORDS, with_paid_ccs
from canewright.cane.sample_checks import FAR
from canewright_bench.cane_intake import refused
from canewright_bench.timing import Result, against, timed

COLUMNS = {
    "ticket": pl.String, "day": pl.String, "grower": pl.Categorical, "block": pl.Categorical,
    "variety": pl.Categorical, "crop_class": pl.Categorical, "fibre_class": pl.Categorical, "tipped_at": pl.String,
    "gross_kg": pl.Int64,
    "tare_kg": pl.Int64, "brix": pl.Float64, "pol": pl.Float64, "fibre": pl.Float64, "fibre_u": pl.Float64,
    "quality": pl.String,
}  # fmt: skip
AGREES = 1e-9


def cane(rows: int, repeats: int) -> Iterator[Result]:
    """Every measurement of deliveries, in order."""
    yield _totals(_file(rows), rows, repeats)
    yield refused(rows, min(repeats, 3))


def _file(rows: int) -> bytes:
    """The invented season, one year after the other, with the fibre of its classes, as a file."""
    made = district()
    blocks = registers_of(made)["blocks.csv"].select("block", "variety", crop_class="crop class")
    recorded = season(made).recorded.join(blocks, on="block", how="left", maintain_order="left")
    samples = recorded.select("fibre_class", "day", fibre="fibre_measured").drop_nulls()
    defaults = dict(zip(FIBRE_CLASS, FIBRE_TRUE_MEAN, strict=True))
    one = with_fibre(recorded, rolling_class_fibre(samples, defaults)).select(*COLUMNS)
    years = -(-rows // one.height)
    return (
        pl.concat([_year(one, n) for n in range(years)])
        .head(rows)
        .write_csv(datetime_format="%Y-%m-%d %H:%M:%S")
        .encode()
    )


def _year(one: pl.DataFrame, number: int) -> pl.DataFrame:
    later = pl.duration(days=364 * number)
    return one.with_columns(
        pl.format("{}/{}", "ticket", pl.lit(number)).alias("ticket"),
        pl.format("{}/{}", "block", pl.lit(number)).alias("block"),
        pl.col("day") + later, pl.col("tipped_at") + later,
    )  # fmt: skip


def _totals(data: bytes, rows: int, repeats: int) -> Result:
    ours = timed(lambda: _ours(data), repeats)
    rival = against("plain pandas", lambda: _by_pandas(data), _same_as(ours.gave), repeats, long=1e9)
    floor = timed(lambda: _read(data), repeats)
    fallen = f"{rows} deliveries of {ours.gave.by_grower.height} growers, {len(data) / 1e6:.0f} MB of text"
    note = f"{fallen}; reading the columns once {1e3 * floor.seconds:.0f} ms"
    return Result("cane.deliveries", ours.seconds, rows, (rival,), floor.seconds, (note,))


def _read(data: bytes) -> pl.DataFrame:
    frame = pl.read_csv(io.BytesIO(data), schema=COLUMNS)
    moment = pl.col("tipped_at").str.to_datetime("%Y-%m-%d %H:%M:%S", time_unit="us")
    return frame.with_columns(pl.col("day").str.to_date("%Y-%m-%d"), moment)


def _ours(data: bytes) -> SeasonTotals:
    frame = with_objections(with_ccs(with_net(_read(data))))
    usable = frame.with_columns(ccs=pl.when(pl.col("objection").is_null()).then("ccs"))
    return season_totals(with_relative(with_paid_ccs(usable)))


def _same_as(ours: SeasonTotals) -> Any:
    def check(theirs: Any) -> str:
        wanted = ours.by_grower.select("tonnes", "tonnes_ccs", "tonnes_relative").to_numpy()
        found = theirs[["tonnes", "tonnes_ccs", "tonnes_relative"]].to_numpy()
        if wanted.shape != found.shape:
            return "other growers"
        worst = float(np.max(np.abs(found / wanted - 1.0)))
        return "" if worst <= AGREES else f"other totals: part by {worst:.1g}"

    return check


def _by_pandas(data: bytes) -> Any:
    """The same as a person writes it with pandas; the error of the rungs is left out, in its favour."""
    import pandas as pd

    f = pd.read_csv(io.BytesIO(data), parse_dates=["day", "tipped_at"])
    f["net"] = (f["gross_kg"] - f["tare_kg"]) / 1000.0
    sampled = f["brix"].notna() & f["pol"].notna() & f["quality"].isin(["good", "estimated"])
    in_cane, all_in_cane = f["pol"] * (95.0 - f["fibre"]) / 100.0, f["brix"] * (97.0 - f["fibre"]) / 100.0
    f["ccs"] = (1.5 * in_cane - 0.5 * all_in_cane).where(sampled & (f["pol"] <= f["brix"]))
    purity = 100.0 * f["pol"] / f["brix"]
    by_block, by_class = f.groupby("block")["ccs"], f.groupby(["fibre_class", "day"])["ccs"]
    expected = by_block.transform("median").where(by_block.transform("count") >= 5, by_class.transform("median"))
    away = (f["ccs"] - expected).abs()
    spread = max(PER_MAD * away.median(), LEAST_SPREAD)
    f["ccs"] = f["ccs"].where(purity.between(60.0, 96.0) & (away <= FAR * spread))
    by_fibre = (1.5 * f["pol"] - 0.5 * f["brix"]) / 100.0 * f["fibre_u"]
    by_pol, by_brix = 1.5 * (95.0 - f["fibre"]) / 100.0 * POL_U, 0.5 * (97.0 - f["fibre"]) / 100.0 * BRIX_U
    f["ccs_u"] = np.sqrt(by_pol**2 + by_brix**2 + by_fibre**2).where(f["ccs"].notna())
    f["paid"], f["basis"] = _paid_by_pandas(f)
    f["units"] = f["net"] * f["paid"]
    week = f["day"] - pd.to_timedelta(f["day"].dt.dayofweek, unit="D")
    sums = f.groupby(week)[["units", "net"]].transform("sum")
    f["relative"] = f["net"] * (f["paid"] + f["units"].sum() / f["net"].sum() - sums["units"] / sums["net"])
    totals = f.groupby("grower", sort=True)[["net", "units", "relative"]].sum()
    totals.columns = ["tonnes", "tonnes_ccs", "tonnes_relative"]
    return totals


def _paid_by_pandas(f: Any) -> Any:
    """Own CCS, else the mean of block and day, near days, class of the day, mill of the day; and which, in words."""
    import pandas as pd

    known = f[f["ccs"].notna()].copy()
    known["units"] = known["net"] * known["ccs"]

    def mean_by(keys: list[str]) -> Any:
        sums = known.groupby(keys)[["units", "net"]].sum()
        return (sums["units"] / sums["net"]).rename("mean").reset_index()

    lacking = f[f["ccs"].isna()].reset_index()
    mill = mean_by(["day"])
    own = lacking.merge(mean_by(["grower", "block", "day"]), how="left")["mean"]
    of_class = lacking.merge(mean_by(["fibre_class", "day"]), how="left")["mean"]
    of_mill = lacking.merge(mill, how="left")["mean"]
    cane_of = ["grower", "variety", "crop_class"]
    known = known.merge(mill, on="day")
    known["lead"] = known["net"] * (known["ccs"] - known["mean"])
    of_day = known.groupby([*cane_of, "day"]).agg(lead=("lead", "sum"), net=("net", "sum"), n=("lead", "size"))
    parts = [lacking[["index", *cane_of, "day"]].assign(day=lacking["day"] + dt.timedelta(days=k)) for k in _near()]
    near = pd.concat(parts).merge(of_day.reset_index(), on=[*cane_of, "day"])
    near = near.groupby("index")[["lead", "net", "n"]].sum()
    near = near[near["n"] >= NEAR_LEAST]
    lead = lacking["index"].map(near["lead"] / near["net"])
    value = own.fillna(of_mill + lead).fillna(of_class).fillna(of_mill)
    which = np.select([own.notna(), (of_mill + lead).notna(), of_class.notna()], [2, 3, 5], 6)
    rung = pd.Series(0, index=f.index)
    rung.loc[lacking["index"]] = which
    words = rung.map({int(step): text for step, text in WORDS.items()})
    return f["ccs"].fillna(pd.Series(value.to_numpy(), index=lacking["index"])), words


def _near() -> range:
    return range(-NEAR_DAYS, NEAR_DAYS + 1)
