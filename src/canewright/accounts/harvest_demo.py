"""Invented estimates, ripeness samples, orders and weeks for the demo district; they prove nothing."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import polars as pl

from canewright.cane.demo_district import CLASS_YIELD, CROP, SEASON_START, SEED, WEEKS, District, district

ESTIMATE_ERROR, SAMPLE_ERROR = 0.08, 0.40
SAMPLED_BLOCKS, SAMPLE_WEEKS = 420, (-4, -2, 0)
LAST_YEAR_WEEKS, LAST_YEAR_LESS = (2, 7, 12, 17, 22), 0.2
CRUSH, LEAST = 63_000.0, 33_000.0
RAIN_FROM = 20


def harvest_registers(made: District, seed: int = SEED) -> dict[str, pl.DataFrame]:
    """Register files of the harvest plan: estimates with errors, samples of last and this season, orders, weeks."""
    chance = np.random.default_rng(seed + 11)
    names = np.array(made.block_names())
    first = SEASON_START - dt.timedelta(days=31)
    usual = np.array(CLASS_YIELD)[made.crop]
    usual *= CROP / float((usual * made.area).sum())
    guess = usual * np.exp(chance.normal(0.0, ESTIMATE_ERROR, names.size))
    estimates = pl.DataFrame({
        "block": names, "valid from": [first.isoformat()] * names.size, "yield, t/ha": guess.round(1),
        "method": ["eye"] * names.size, "estimator": ["field officer 1"] * names.size,
    })  # fmt: skip
    place = np.sort(chance.choice(names.size, SAMPLED_BLOCKS, replace=False))
    rows = [
        (names[b], (SEASON_START + dt.timedelta(weeks=w)).isoformat(), week_ccs)
        for w in SAMPLE_WEEKS
        for b, week_ccs in zip(place, _sampled(made, place, w, chance), strict=True)
    ]
    rows += [
        (names[b], (SEASON_START + dt.timedelta(weeks=w - 53)).isoformat(), round(value - LAST_YEAR_LESS, 2))
        for w in LAST_YEAR_WEEKS
        for b, value in zip(place, _sampled(made, place, w - 1, chance), strict=True)
    ]
    samples = pl.DataFrame(rows, schema=["block", "valid from", "CCS, %"], orient="row")
    return {
        "estimates.csv": estimates, "ripeness-samples.csv": samples, "harvest-orders.csv": _orders(names),
        "crush-weeks.csv": _weeks(first),
    }  # fmt: skip


def _sampled(made: District, place: np.ndarray, week: int, chance: np.random.Generator) -> list[float]:
    found = made.ccs(1.0 + week, place) + chance.normal(0.0, SAMPLE_ERROR, place.size)
    return [float(v) for v in found.round(2)]


def _orders(names: np.ndarray) -> pl.DataFrame:
    """One block burnt before the start, one diseased, two to be ploughed out early, one for seed."""
    picked = names[[40, 300, 620, 900, 1200]]
    days = [SEASON_START + dt.timedelta(days=d) for d in (6, 20, 60, 60, 30)]
    return pl.DataFrame({
        "block": picked, "valid from": [SEASON_START.isoformat()] * 5,
        "not before": ["", "", "", "", days[4].isoformat()],
        "not after": [d.isoformat() for d in days[:4]] + [""],
        "why": ["burnt", "diseased", "plough-out", "plough-out", "seed cane"],
    })  # fmt: skip


def _weeks(first: dt.date) -> pl.DataFrame:
    begins = [SEASON_START + dt.timedelta(weeks=w) for w in range(WEEKS)]
    wet = [w + 1 >= RAIN_FROM for w in range(WEEKS)]
    return pl.DataFrame({
        "week": [d.isoformat() for d in begins], "valid from": [first.isoformat()] * WEEKS,
        "crush, t": [CRUSH] * WEEKS, "least, t": [LEAST] * WEEKS, "haulage, h": [3200.0] * WEEKS,
        "dry ground, %": [98.0 if w else 100.0 for w in wet], "usual ground, %": [90.0 if w else 98.0 for w in wet],
        "wet ground, %": [65.0 if w else 95.0 for w in wet],
    })  # fmt: skip


def write_harvest_demo(folder: Path) -> list[Path]:
    """Write the files; gives their paths. Raises OSError."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, table in harvest_registers(district()).items():
        path = folder / name
        path.write_text(table.write_csv(), encoding="utf-8")
        written.append(path)
    return written
