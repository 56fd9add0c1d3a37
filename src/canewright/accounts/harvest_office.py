"""The harvest plan of a business: made from its books, kept with its history, told in sentences, shared out by day."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl

from canewright.accounts.books import Books
from canewright.accounts.cane_office import season_frame
from canewright.accounts.cane_registers import registers_of
from canewright.accounts.cane_season import CaneRefused
from canewright.accounts.harvest_supply import Supply, crop_of, gather, maturity_of, still_standing
from canewright.accounts.harvest_terms import NO_BAND, HarvestTerms, YardTerms
from canewright.cane.allotment import AllotmentRefused, allot, by_hour, fleet, hours_between, with_arrears
from canewright.cane.maturity import Maturity
from canewright.cane.registers import age_at
from canewright.cane.yard import QueueRefused, YardForecast, erlang_c, yard_forecast
from canewright.plans import HarvestPlan, HarvestRefused, HarvestTables, NoPlan, plan_harvest
from canewright.plans.harvesting import best_worth, pro_rata_value, shares_cut
from canewright.plans.worth import worth_per_tonne
from canewright.store import StoredPlan

Progress = Callable[[str], None]
FORCED = ("burnt", "diseased", "frost")
HAUL_SPEED, TURN_HOURS = 40.0, 0.5
"""km/h on the road or rail, and hours of loading and tipping in a trip (ours)."""
DAY_HOURS = 12.0
"""Hours a day in which a vehicle runs (ours)."""
SMALL = 0.5
"""Tonnes of a block that are not worth planning for: what is left after weighing differences."""
BIN_TONNES = 6.0


@dataclass(frozen=True)
class Prepared:
    """The tables of a plan, which block of the supply each row is, and each block's CCS by week with its doubt."""

    tables: HarvestTables
    rows: np.ndarray
    ccs: np.ndarray
    doubt: np.ndarray


def prepare(supply: Supply, maturity: Maturity, terms: HarvestTerms) -> Prepared:
    """The tables of a plan from the day it is made for to the season's end. Raises CaneRefused, HarvestRefused."""
    crop = still_standing(supply, crop_of(supply))
    orders = {b: o for b, o in supply.orders.items() if o.get("not after") or o.get("not before") or o.get("why")}
    rows = np.flatnonzero(crop > SMALL)
    weeks = [w for w in supply.weeks if w.begins + dt.timedelta(days=7) > supply.made_for]
    if not rows.size:
        raise CaneRefused("every block is cut out: nothing is left to plan")
    starts = [max(w.begins, supply.made_for) for w in weeks]
    part = np.array([(w.begins - s).days / 7.0 + 1.0 for w, s in zip(weeks, starts, strict=True)])
    middle = np.array([supply.week_number(s) for s in starts]) + part / 2.0
    curves = [maturity.block_curves[k] for k in rows]
    ccs = np.stack([c.ccs(middle) for c in curves]) - maturity.lost_by_delivery
    doubt = np.stack([c.uncertainty(middle) for c in curves])
    farms, details = supply.farm_details, [supply.details[k] for k in rows]
    farm = supply.standing.farm[rows]
    names = [supply.standing.blocks[k] for k in rows]
    groups = tuple(sorted({str(f["harvest group"]) for f in farms}))
    order = [orders.get(name, {}) for name in names]
    _refuse_late_orders(supply.made_for, names, order)
    km = np.array([float(farms[f]["haul"]) for f in farm])
    ploughed = np.array([o.get("why") == "plough-out" for o in order])
    says = [w.says for w in weeks]
    workable = np.array([[float(s[f"{farms[f]['soil']} ground"]) / 100.0 for s in says] for f in farm])
    haul = np.array([np.inf if s.get("haulage") is None else float(s["haulage"]) for s in says]) * part
    tables = HarvestTables(
        blocks=tuple(names), farms=supply.standing.farms, groups=groups,
        weeks=tuple(s.isoformat() for s in starts), farm=farm,
        group=np.array([groups.index(str(farms[f]["harvest group"])) for f in farm]), crop=crop[rows],
        tonnes=np.repeat(crop[rows][:, None], len(weeks), axis=1),
        worth=worth_per_tonne(ccs, km, ploughed, terms.prices),
        may_cut=np.array([_may_cut(d, o, starts, weeks, terms) for d, o in zip(details, order, strict=True)]),
        ordered=np.array([o.get("why") in FORCED for o in order]), workable=workable,
        haul_hours=(TURN_HOURS + 2.0 * km / HAUL_SPEED) / _payload(supply),
        crush=np.array([float(s["crush"]) for s in says]) * part,
        least=np.array([float(s["least"]) for s in says]) * part, haul=haul,
        group_tonnes=_group_tonnes(supply, groups, part, terms),
        cut=_cut_in_turn(supply),
        band=None if terms.band is None else terms.band / 100.0, catch_up=terms.catch_up, standover=terms.standover,
    )  # fmt: skip
    return Prepared(tables, rows, ccs, doubt)


def _refuse_late_orders(day: dt.date, names: list[str], orders: list[Mapping[str, Any]]) -> None:
    late = [
        f"block {name} ({order['why']}) was to be cut by {order['not after']} and still stands on {day}"
        for name, order in zip(names, orders, strict=True)
        if order.get("not after") and str(order["not after"]) < day.isoformat()
    ]
    if late:
        raise CaneRefused(
            f"{'; '.join(late[:12])}{'; and more' if len(late) > 12 else ''}; give it another day with: canewright "
            "cane register change 'harvest order' BLOCK, or take the order out with: register end"
        )


def _may_cut(
    block: Mapping[str, Any], order: Mapping[str, Any], starts: list[dt.date], weeks: list[Any], terms: HarvestTerms
) -> list[bool]:
    """Whether a block may be cut in each week: old enough at its end, not too old at its start, within its orders.

    An order by a day counts for a week that begins on or before it, one from a day for a week that ends after it.
    """
    first = str(order.get("not before") or dt.date.min.isoformat())
    last = str(order.get("not after") or dt.date.max.isoformat())
    found = []
    for start, week in zip(starts, weeks, strict=True):
        end = week.begins + dt.timedelta(days=6)
        ages = age_at(block, start), age_at(block, end)
        by_age = order.get("why") in FORCED or (ages[1] >= terms.youngest and ages[0] <= terms.oldest)
        found.append(by_age and first <= end.isoformat() and start.isoformat() <= last)
    return found


def _cut_in_turn(supply: Supply) -> np.ndarray:
    """Tonnes of each farm cut so far, without the blocks that were ordered to be cut: those are nobody's turn."""
    turn = np.array([supply.orders.get(block, {}).get("why") not in FORCED for block in supply.standing.blocks])
    farms = len(supply.standing.farms)
    return np.bincount(supply.standing.farm, supply.delivered * turn, farms).astype(np.float64)


def _payload(supply: Supply) -> float:
    loads = [float(row["payload"]) for row in supply.registers.at("carrier", supply.made_for).values()]
    if not loads:
        raise CaneRefused("carrier register: found none; enter who hauls and the payload")
    return float(np.mean(loads))


def _group_tonnes(supply: Supply, groups: tuple[str, ...], part: np.ndarray, terms: HarvestTerms) -> np.ndarray:
    register = supply.registers.at("harvest group", supply.made_for)
    rows = [register[name] for name in groups]
    hours = [hours_between(float(r["start"]), float(r["stop"])) for r in rows]
    idle = [name for name, h in zip(groups, hours, strict=True) if h == 0.0]
    if idle:
        raise CaneRefused(
            f"harvest group {', '.join(idle)}: start and stop are the same hour; accepted: at least some hours of "
            "cutting; correct the group's entry"
        )
    week = [7.0 * h * float(r["pour rate"]) * terms.cutting for h, r in zip(hours, rows, strict=True)]
    return np.outer(week, part)


@dataclass(frozen=True)
class Planned:
    """A plan with what it was made from."""

    supply: Supply
    prepared: Prepared
    plan: HarvestPlan
    terms: HarvestTerms


def make_plan(
    books: Books,
    terms: HarvestTerms,
    made_for: dt.date | None = None,
    progress: Progress = lambda _: None,
    *,
    allow: Callable[[str], None] = lambda _: None,
) -> Planned:
    """Plan what stands on a day; ``allow`` may refuse the season before the long work.

    Raises CaneRefused with the reasons, or the limits that cannot all be kept.
    """
    supply = gather(books, made_for, progress)
    allow(supply.season)
    maturity = maturity_of(supply, progress)
    try:
        prepared = prepare(supply, maturity, terms)
        plan = plan_harvest(prepared.tables, progress)
    except (HarvestRefused, NoPlan) as why:
        raise CaneRefused(f"no harvest plan from {supply.made_for}: {why}") from why
    return Planned(supply, prepared, plan, terms)


def equity_prices(
    books: Books, terms: HarvestTerms, bands: list[float], made_for: dt.date | None, progress: Progress
) -> list[tuple[str, float | None]]:
    """Worth of the best plan in $ without a band, within each band (None: cannot be kept), and cut alike each week.

    The last keeps neither group nor haul limits: it is a measure, no plan. Raises CaneRefused with the reasons.
    """
    wrong = [band for band in bands if not 0.0 < band <= NO_BAND]
    if wrong:
        raise CaneRefused(f"equity band: found {wrong[0]:g} points; accepted: above 0 and up to {NO_BAND:g}")
    supply = gather(books, made_for, progress)
    maturity = maturity_of(supply, progress)
    try:
        tables = prepare(supply, maturity, replace(terms, band=None)).tables
        found: list[tuple[str, float | None]] = [("no band", plan_harvest(tables, progress, tidy=False).bound)]
    except (HarvestRefused, NoPlan) as why:
        raise CaneRefused(f"no harvest plan from {supply.made_for}: {why}") from why
    for band in sorted(bands, reverse=True):
        progress(f"planning within {band:g} points")
        bound = best_worth(replace(tables, band=band / 100.0))
        found.append((f"within {band:g} points", bound))
    return [*found, ("every block alike each week", pro_rata_value(tables))]


def body_of(made: Planned) -> dict[str, Any]:
    """A plan as it is kept and exported: weeks, rows of block, week, tonnes and CCS, figures and sentences."""
    t, plan = made.prepared.tables, made.plan
    rows = [
        {
            "block": t.blocks[b], "farm": t.farms[t.farm[b]], "harvest group": t.groups[t.group[b]],
            "week": t.weeks[w], "tonnes": round(float(plan.tonnes[b, w]), 2),
            "CCS": round(float(made.prepared.ccs[b, w]), 3),
            "CCS uncertainty": round(float(made.prepared.doubt[b, w]), 3),
        }
        for b, w in zip(*np.nonzero(plan.tonnes > 0.0), strict=True)
    ]  # fmt: skip
    standing = {t.blocks[b]: round(float(plan.standing[b]), 2) for b in np.flatnonzero(plan.standing > SMALL)}
    by_group = np.zeros((len(t.groups), len(t.weeks)))
    np.add.at(by_group, t.group, plan.tonnes)
    shares = shares_cut(t, plan.tonnes)
    return {
        "weeks": list(t.weeks), "terms": asdict(made.terms), "value": plan.value, "bound": plan.bound,
        "gap": plan.gap, "price of equity": plan.price_of_equity, "visits": plan.visits, "rows": rows,
        "standing over": standing,
        "groups": {g: [round(float(x), 1) for x in by_group[i]] for i, g in enumerate(t.groups)},
        "crush": [float(x) for x in t.crush],
        "shares": {f: [round(float(x), 4) for x in shares[i]] for i, f in enumerate(t.farms) if t.farm_total[i] > 0},
        "sentences": sentences(made),
    }  # fmt: skip


def sentences(made: Planned) -> list[str]:
    """The plan and its limits in money, as sentences."""
    t, plan = made.prepared.tables, made.plan
    told = [
        f"worth $ {plan.value:,.0f}, {100 * plan.gap:.3f} % below the bound of $ {plan.bound:,.0f} for these limits",
        f"{len(t.blocks)} blocks in {plan.visits} visits, {plan.tonnes.sum():,.0f} t in {len(t.weeks)} weeks",
    ]
    if t.band is not None:
        told.append(
            f"the equity band of {100 * t.band:g} points costs $ {plan.price_of_equity:,.0f} "
            f"({100 * plan.price_of_equity / abs(plan.bound or 1.0):.2f} %), by which the best plan without it gains"
        )
    told += _price_of_weeks(t, plan)
    dear = plan.group_price.sum(axis=1)
    for g in np.argsort(-dear)[:3]:
        if dear[g] > 0.005:
            told.append(
                f"100 t more a week of {t.groups[g]} would be worth up to $ {100 * dear[g]:,.0f} over the season"
            )
    hours = float(np.where(np.isfinite(t.haul), plan.haul_price, 0.0).sum())
    if hours > 0.005:
        told.append(f"10 vehicle hours more a week would be worth up to $ {10 * hours:,.0f} over the season")
    if plan.standing.sum() > SMALL:
        told.append(f"{plan.standing.sum():,.0f} t stand over to the next season")
    return told


def _price_of_weeks(t: HarvestTables, plan: HarvestPlan) -> list[str]:
    told = []
    for name, price in (("more crush", plan.crush_price), ("less of the least crush", plan.least_price)):
        total, best = float(price.sum()), int(np.argmax(price))
        if total > 0.005:
            told.append(
                f"100 t a week {name} would be worth up to $ {100 * total:,.0f} over the season, most in the week of "
                f"{t.weeks[best]} ($ {100 * price[best]:,.0f})"
            )
    return told or ["more crush capacity would add nothing"]


def reason_given(books: Books, reason: str | None) -> Callable[[str], None]:
    """Refuses a season that has a plan, where no reason is given for another. Raises CaneRefused."""

    def allow(season: str) -> None:
        former = books.store.harvest_plans(season)
        if former and not (reason or "").strip():
            raise CaneRefused(
                f"season {season} has plan {former[-1].id}; say why it is planned again with --reason, or look with "
                "--check"
            )

    return allow


def keep_plan(books: Books, made: Planned, by: str, reason: str | None) -> StoredPlan:
    """Store a plan; in place of an earlier one of the season with the reason. Raises the store's errors."""
    return books.store.add_harvest_plan(made.supply.season, made.supply.made_for, body_of(made), by, reason)


def stored_plan(books: Books, season: str, version: int | None = None) -> StoredPlan:
    """The standing plan of a season, or an earlier one by its place from 1. Raises CaneRefused when there is none."""
    found = books.store.harvest_plans(season)
    if not found:
        raise CaneRefused(f"season: found '{season[:20]}', which has no plan; make one with: canewright harvest plan")
    if version is not None and not 1 <= version <= len(found):
        raise CaneRefused(f"version: found {version}; accepted: 1 to {len(found)}")
    return found[-1 if version is None else version - 1]


def planned_seasons(books: Books) -> list[str]:
    """The seasons of the crush weeks that have a plan."""
    seasons = {week[:4] for week in registers_of(books.store).keys("crush week")}
    return sorted(each for each in seasons if books.store.harvest_plans(each))


def week_table(body: Mapping[str, Any]) -> tuple[list[str], list[list[str]]]:
    """A kept plan week by week: headers and rows."""
    headers = ["from", "planned, t", "crush, t", "blocks", "CCS", "farms: least cut, %", "most cut, %"]
    by_week: dict[str, list[Mapping[str, Any]]] = defaultdict(list)
    for row in body["rows"]:
        by_week[row["week"]].append(row)
    return headers, [_week_row(body, k, by_week[week]) for k, week in enumerate(body["weeks"])]


def _week_row(body: Mapping[str, Any], k: int, mine: list[Mapping[str, Any]]) -> list[str]:
    tonnes = sum(row["tonnes"] for row in mine)
    ccs = f"{sum(row['tonnes'] * row['CCS'] for row in mine) / tonnes:.2f}" if tonnes else ""
    shares = [100.0 * share[k] for share in body["shares"].values()] or [0.0]
    return [
        body["weeks"][k], f"{tonnes:.0f}", f"{body['crush'][k]:.0f}", str(len(mine)), ccs, f"{min(shares):.0f}",
        f"{max(shares):.0f}",
    ]  # fmt: skip


@dataclass(frozen=True)
class DayShare:
    """A group's share of a day: tonnes planned, bins, and bins by clock hour."""

    group: str
    tonnes: float
    bins: int
    hours: list[int]


def allotment(
    books: Books, stored: StoredPlan, day: dt.date, bins: int | None = None, bin_tonnes: float = BIN_TONNES
) -> list[DayShare]:
    """Bins of a day by group and hour, in proportion to the week's planned tonnes.

    A group that delivered less than planned in the week's days before gets more, up to 15 % of its share.
    ``bins`` else the week's crush by days. Raises CaneRefused for a day outside the plan or nothing planned.
    """
    weeks = [dt.date.fromisoformat(w) for w in stored.body["weeks"]]
    place = max((k for k, w in enumerate(weeks) if w <= day), default=None)
    if place is None or (day - weeks[place]).days >= 7:
        raise CaneRefused(f"day: found {day}; accepted: a day of the plan, {weeks[0]} to {weeks[-1]} and its week")
    if not bin_tonnes > 0.0:
        raise CaneRefused(f"a bin holds {bin_tonnes:g} t; accepted: more than 0 t")
    days = (weeks[place + 1] - weeks[place]).days if place + 1 < len(weeks) else 7
    planned = {g: float(t[place]) for g, t in stored.body["groups"].items()}
    total = sum(planned.values())
    wanted = round(total / days / bin_tonnes) if bins is None else bins
    register = registers_at(books, day)
    try:
        daily = [Decimal(str(t)) / days for t in planned.values()]
        shares = allot(wanted, with_arrears(daily, _behind(books, planned, weeks[place], day, days)))
        return [
            DayShare(g, t / days, n, by_hour(n, float(register[g]["start"]), float(register[g]["stop"])))
            for (g, t), n in zip(planned.items(), shares, strict=True)
        ]
    except AllotmentRefused as why:
        raise CaneRefused(f"{day}: {why}") from why
    except KeyError as gone:
        raise CaneRefused(f"harvest group {gone} of the plan is not in the register on {day}; plan again") from gone


def _behind(books: Books, planned: Mapping[str, float], first: dt.date, day: dt.date, days: int) -> list[Decimal]:
    """Tonnes by which each group is behind its plan in the days of the week before; nothing without deliveries."""
    last = day - dt.timedelta(days=1)
    if day <= first or not books.store.consignments_between(first, last):
        return [Decimal(0)] * len(planned)
    frame = season_frame(books, first, last)
    came = dict(frame.group_by("harvest_group").agg(pl.col("net").sum()).iter_rows())
    share = (day - first).days / days
    return [Decimal(str(round(t * share - float(came.get(group, 0.0)), 3))) for group, t in planned.items()]


def registers_at(books: Books, day: dt.date) -> Mapping[str, Mapping[str, Any]]:
    """The harvest groups on a day."""
    return registers_of(books.store).at("harvest group", day)


@dataclass(frozen=True)
class YardDay:
    """The yard on a day: cane by hour from the factory day's cut hour, and what is to be said of the queue."""

    hours: list[int]
    arriving: list[float]
    forecast: YardForecast
    queue: str
    vehicles: int


def yard_of(books: Books, shares: list[DayShare], terms: YardTerms) -> YardDay:
    """Forecast of yard and queue from a day's allotments. Raises CaneRefused with the reason."""
    loaded: dict[int, int] = defaultdict(int)
    for each in shares:
        for hour, n in enumerate(each.hours):
            loaded[(hour + round(terms.haul_hours)) % 24] += n
    first = books.description.cut_hour
    hours = [(first + k) % 24 for k in range(24)]
    arriving = [loaded[h] * terms.bin_tonnes for h in hours]
    load, trip = terms.bins_a_load * terms.bin_tonnes, 2.0 * terms.haul_hours + TURN_HOURS
    try:
        forecast = yard_forecast(arriving, terms.crush, terms.opening, terms.seed)
        vehicles = fleet(sum(arriving), load, trip, DAY_HOURS)
    except (QueueRefused, AllotmentRefused) as why:
        raise CaneRefused(f"yard: {why}") from why
    return YardDay(hours, arriving, forecast, _queue(max(arriving) / load, terms), vehicles)


def _queue(busiest: float, terms: YardTerms) -> str:
    try:
        queue = erlang_c(busiest, 60.0 / terms.receive_minutes, terms.places)
    except QueueRefused as why:
        return f"busiest hour: {why}"
    return (
        f"busiest hour, {busiest:.0f} loads: {100 * queue.waits:.0f} % of them wait to be received, "
        f"{queue.wait_minutes:.1f} min on average (chance arrivals; bunching makes it longer)"
    )
