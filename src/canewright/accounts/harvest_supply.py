"""What the harvest plan starts from, gathered from the books: blocks, what is cut, estimates, CCS readings, weeks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from canewright.accounts.books import Books
from canewright.accounts.cane_office import season_frame
from canewright.accounts.cane_registers import registers_of
from canewright.accounts.cane_season import CaneRefused
from canewright.cane.crop_estimate import CropEstimate, Levels, RatoonDecline, estimate_again, ratoon_decline
from canewright.cane.maturity import (
    DELIVERED,
    EARLIER,
    SAMPLED,
    CcsReadings,
    Maturity,
    Standing,
    TooFewReadings,
    fit_maturity,
)
from canewright.cane.mixed_model import TooLittleToFit
from canewright.cane.registers import Registers, ratoon_number

Progress = Callable[[str], None]
WEEK = dt.timedelta(days=7)
YEAR = dt.timedelta(days=364)
BETWEEN_SEASONS = dt.timedelta(days=60)
CUT_OUT_DAYS = 14
"""A block from which cane came, and none for so long, is taken as cut out (ours)."""
CUT_OUT_SHARE = 0.97
"""So is one that has given this share of its estimate (ours)."""
TOLD = 12


@dataclass(frozen=True)
class CrushWeek:
    """A week of the season: its first day and what the register says of it."""

    begins: dt.date
    says: Mapping[str, Any]


@dataclass(frozen=True)
class Supply:
    """The blocks of a season in order of number, with what is known of each on the day the plan is made for."""

    made_for: dt.date
    weeks: tuple[CrushWeek, ...]
    standing: Standing
    details: tuple[Mapping[str, Any], ...]
    farm_details: tuple[Mapping[str, Any], ...]
    registers: Registers
    estimate: np.ndarray
    delivered: np.ndarray
    cut_out: np.ndarray
    orders: Mapping[str, Mapping[str, Any]]
    readings: CcsReadings

    @property
    def season_start(self) -> dt.date:
        """First day of the first week."""
        return self.weeks[0].begins

    @property
    def season(self) -> str:
        """Name of the season: the year in which it begins."""
        return str(self.season_start.year)

    def week_number(self, day: dt.date) -> float:
        """The week of the season, 1.0 at its first moment."""
        return 1.0 + (day - self.season_start).days / 7.0


def season_weeks(registers: Registers, day: dt.date) -> tuple[CrushWeek, ...]:
    """The weeks of the season that holds a day, or is next after it. Raises CaneRefused for none, gaps and overlaps."""
    rows = registers.at("crush week", day)
    known = sorted((CrushWeek(dt.date.fromisoformat(k), v) for k, v in rows.items()), key=lambda w: w.begins)
    seasons: list[list[CrushWeek]] = []
    for each in known:
        if seasons and each.begins - seasons[-1][-1].begins < BETWEEN_SEASONS:
            seasons[-1].append(each)
        else:
            seasons.append([each])
    wanted = [weeks for weeks in seasons if weeks[-1].begins + WEEK > day]
    if not wanted:
        raise CaneRefused(
            f"crush week register: found no week from {day} on; accepted: a season of weeks with their crush; import "
            "crush-weeks.csv with: canewright cane register import FILE"
        )
    for before, after in zip(wanted[0][:-1], wanted[0][1:], strict=True):
        if after.begins - before.begins != WEEK:
            raise CaneRefused(
                f"crush week register: {after.begins} follows {before.begins}; accepted: weeks of seven days without "
                "gap or overlap; correct the day, or enter the week between"
            )
    return tuple(wanted[0])


def gather(books: Books, made_for: dt.date | None, progress: Progress = lambda _: None) -> Supply:
    """Everything as it stands on a day; else on the day after the last delivery, or the season's first day.

    Raises CaneRefused naming what is missing: weeks, blocks, estimates.
    """
    progress("reading registers and deliveries")
    registers = registers_of(books.store)
    day = made_for or _next_day(books, registers)
    weeks = season_weeks(registers, day)
    blocks = _blocks(registers, weeks[0].begins, day)
    names = tuple(sorted(blocks))
    details = tuple(blocks[name] for name in names)
    standing, farms = _standing(registers, names, details, day)
    estimate = _estimates(registers, names, details, day)
    frame = _deliveries(books, weeks[0].begins, day)
    delivered, cut_out = _cut(registers, names, frame, estimate, weeks[0].begins, day)
    return Supply(
        day, weeks, standing, details, farms, registers, estimate, delivered, cut_out,
        registers.at("harvest order", day), _readings(registers, names, frame, weeks[0].begins, day),
    )  # fmt: skip


def _next_day(books: Books, registers: Registers) -> dt.date:
    last = max((each.day for each in books.store.consignments_between(dt.date.min, dt.date.max)), default=None)
    if last is not None:
        return last + dt.timedelta(days=1)
    weeks = registers.keys("crush week")
    return dt.date.fromisoformat(weeks[0]) if weeks else dt.date.max


def _blocks(registers: Registers, first: dt.date, day: dt.date) -> dict[str, Mapping[str, Any]]:
    """Blocks as they stood when the season began; those entered later as on the day."""
    found = dict(registers.at("block", day))
    found.update({k: v for k, v in registers.at("block", first).items() if k in found})
    if not found:
        raise CaneRefused("block register: found none; import the registers with: canewright cane register import")
    return found


def _standing(
    registers: Registers, names: tuple[str, ...], details: tuple[Mapping[str, Any], ...], day: dt.date
) -> tuple[Standing, tuple[Mapping[str, Any], ...]]:
    register = registers.at("farm", day)
    groups = registers.at("harvest group", day)
    wrong = [
        f"block {name} is of farm {row['farm']}, which is in no harvest group"
        for name, row in zip(names, details, strict=True)
        if str(register.get(str(row["farm"]), {}).get("harvest group")) not in groups
    ]
    if wrong:
        raise CaneRefused(f"{_some(wrong)}; enter the farm with its group in the farm register")
    farms = tuple(sorted({str(row["farm"]) for row in details}))
    varieties = tuple(sorted({str(row["variety"]) for row in details}))
    classes = tuple(sorted({str(row["crop class"]) for row in details}, key=ratoon_number))

    def places(field: str, among: tuple[str, ...]) -> np.ndarray:
        order = {name: place for place, name in enumerate(among)}
        return np.array([order[str(row[field])] for row in details], dtype=np.int64)

    standing = Standing(
        names, varieties, classes, farms, places("variety", varieties), places("crop class", classes),
        places("farm", farms),
    )  # fmt: skip
    return standing, tuple(register[farm] for farm in farms)


def _some(said: list[str]) -> str:
    more = f"; and {len(said) - TOLD} more" if len(said) > TOLD else ""
    return "; ".join(said[:TOLD]) + more


def _estimates(
    registers: Registers, names: tuple[str, ...], details: tuple[Mapping[str, Any], ...], day: dt.date
) -> np.ndarray:
    told = registers.at("estimate", day)
    missing = [name for name in names if name not in told]
    if missing:
        raise CaneRefused(
            f"estimate register: {len(missing)} of {len(names)} blocks have none on {day}: {_some(missing)}; import "
            "estimates.csv with: canewright cane register import FILE"
        )
    return np.array([float(told[n]["yield"]) * float(d["area"]) for n, d in zip(names, details, strict=True)])


def _deliveries(books: Books, first: dt.date, day: dt.date) -> pl.DataFrame | None:
    last = day - dt.timedelta(days=1)
    if last < first or not books.store.consignments_between(first, last):
        return None
    return season_frame(books, first, last)


def _cut(
    registers: Registers, names: tuple[str, ...], frame: pl.DataFrame | None, estimate: np.ndarray, first: dt.date,
    day: dt.date,
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """Tonnes delivered by block, and which blocks are cut out: by the register, by the share given, or by time."""
    now = registers.at("block", day)
    out = np.array([dt.date.fromisoformat(str(now[n]["started"])) >= first for n in names])
    if frame is None:
        return np.zeros(len(names)), out
    by_block = frame.group_by("block").agg(pl.col("net").sum(), pl.col("day").max())
    given = {row[0]: (float(row[1]), row[2]) for row in by_block.iter_rows()}
    tonnes = np.array([given.get(n, (0.0, day))[0] for n in names])
    quiet = np.array([(day - given[n][1]).days >= CUT_OUT_DAYS if n in given else False for n in names])
    return tonnes, (tonnes > 0.0) & (out | quiet | (tonnes >= CUT_OUT_SHARE * estimate))


def _readings(
    registers: Registers, names: tuple[str, ...], frame: pl.DataFrame | None, first: dt.date, day: dt.date
) -> CcsReadings:
    """Own CCS of deliveries by the time of cutting, and ripeness samples of this and earlier seasons up to the day."""
    place = {name: at for at, name in enumerate(names)}
    start = dt.datetime.combine(first, dt.time(), dt.UTC)
    rows: list[tuple[int, float, int, float]] = []
    if frame is not None:
        own = frame.filter((pl.col("rung") == 0) & pl.col("block").is_in(list(names)))
        when = own.select(pl.coalesce("cut_at", "tipped_at")).to_series().to_list()
        for block, at, ccs in zip(own["block"], when, own["paid_ccs"], strict=True):
            rows.append((place[block], 1.0 + (at - start) / WEEK, DELIVERED, float(ccs)))
    for block in registers.keys("ripeness sample"):
        spans = registers.spans("ripeness sample", block) if block in place else []
        rows += [
            (place[block], *_sampled_week(each.start, first), float(each.details["CCS"]))
            for each in spans
            if each.start <= day
        ]
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    return CcsReadings(table[:, 0].astype(np.int64), table[:, 1], table[:, 3], table[:, 2].astype(np.int64))


def _sampled_week(day: dt.date, first: dt.date) -> tuple[float, int]:
    """The week of the season of a sample; one of earlier seasons counts at the same time of its year."""
    years = 0
    while day < first - BETWEEN_SEASONS:
        day, years = day + YEAR, years + 1
    return 1.0 + (day - first) / WEEK, EARLIER if years else SAMPLED


def maturity_of(supply: Supply, progress: Progress = lambda _: None) -> Maturity:
    """The maturity curves of the season so far. Raises CaneRefused with too few readings."""
    progress(f"fitting maturity curves to {supply.readings.ccs.size} readings")
    try:
        return fit_maturity(
            supply.standing, supply.readings, lambda step: progress(f"fitting maturity curves, step {step}")
        )
    except (TooFewReadings, TooLittleToFit) as few:
        raise CaneRefused(f"maturity: {few}") from few


def crop_of(supply: Supply) -> CropEstimate:
    """The crop estimated again from the blocks that are cut out."""
    s = supply.standing
    soils = sorted({str(row["soil"]) for row in supply.farm_details})
    soil = np.array([soils.index(str(row["soil"])) for row in supply.farm_details], dtype=np.int64)
    levels = [
        Levels("variety", s.variety, len(s.varieties)),
        Levels("crop class", s.crop_class, len(s.classes)),
        Levels("soil", soil[s.farm], len(soils)),
        Levels("farm", s.farm, len(s.farms)),
    ]
    known = supply.cut_out & (supply.delivered > 0.0)
    return estimate_again(supply.estimate, supply.delivered, known.astype(np.float64), levels)


def decline_of(supply: Supply) -> RatoonDecline | None:
    """Loss of yield with each ratoon, from blocks cut out; None while they are too few or of one class."""
    known = np.flatnonzero(supply.cut_out & (supply.delivered > 0.0))
    ratoon = np.array([ratoon_number(str(supply.details[k]["crop class"])) for k in known], dtype=np.int64)
    if known.size < TOLD or np.unique(ratoon).size < 2:
        return None
    area = np.array([float(supply.details[k]["area"]) for k in known])
    s = supply.standing
    return ratoon_decline(supply.delivered[known] / area, ratoon, s.farm[known], len(s.farms))


def still_standing(supply: Supply, crop: CropEstimate) -> np.ndarray:
    """Tonnes left in each block: the new estimate less what came from it; nothing where it is cut out."""
    return np.where(supply.cut_out, 0.0, np.maximum(crop.tonnes - supply.delivered, 0.0))
