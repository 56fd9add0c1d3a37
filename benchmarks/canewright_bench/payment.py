"""A season of a million deliveries: exact money and statements of all growers, and statements set as PDF."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl

from canewright.cane.deliveries import Deliveries
from canewright.cane.deliveries_frame import deliveries_of_frame
from canewright.cane.pay_run import History, PayRun, compute
from canewright.cane.season import Season
from canewright.cane.season_reading import read_season
from canewright.cane.statements import Statement, statements
from canewright.reports.statement_pdf import StatementPrinter
from canewright_bench.timing import Result, Rival, against, timed

GROWERS, DAYS, WEEK, FIRST = 180, 182, 7, dt.date(2031, 6, 2)
WEEKLY = 10
"""Consignments of a grower in a week: 43,316 of a season by 180 growers and 26 weeks are nine to ten."""
MOMENT = dt.datetime(2031, 12, 1, tzinfo=dt.UTC)
AGREEMENT = """
[season]
name = "2031"
first_day = 2031-06-02
last_day = {last}
[schemes.main]
scheme = "classic CCS price"
relative = "additive"
season_mean = "13.20"
[[schemes.main.terms]]
sugar_price = "420.00"
constant = "0.578"
[[agreements]]
scheme = "main"
[[periods]]
advance = "0.70"
[[levies]]
name = "research levy"
rate = "0.35"
"""


def payment(deliveries: int, printed: int, seed: int, repeats: int) -> Iterator[Result]:
    """Both measurements."""
    yield _settlement(_season(DAYS), deliveries, seed, min(repeats, 3))
    yield _papers(_season(WEEK), printed, seed)


def _season(days: int) -> Season:
    return read_season(AGREEMENT.format(last=FIRST + dt.timedelta(days=days - 1)))


def _delivered(count: int, seed: int, days: int) -> pl.DataFrame:
    """Deliveries as they come out of the laboratory: floats to the hundredth, CCS to the ten-thousandth."""
    chance = np.random.default_rng(seed)

    def drawn(low: int, high: int, step: float) -> pl.Series:
        return pl.Series(chance.integers(low, high, count) / step)

    first = pl.Series(chance.integers(0, days, count) + (FIRST - dt.date(1970, 1, 1)).days)
    return pl.DataFrame(
        {
            "ticket": [f"{i:07d}" for i in range(count)],
            "day": first.cast(pl.Int32).cast(pl.Date),
            "grower": [f"grower {i:03d}" for i in chance.integers(0, GROWERS, count)],
            "block": [f"B{i % 8}" for i in range(count)],
            "net_kg": chance.integers(25_000, 45_000, count),
            "brix": drawn(1_800, 2_300, 100.0),
            "pol": drawn(1_500, 1_750, 100.0),
            "fibre": drawn(120, 160, 10.0),
            "paid_ccs": drawn(100_000, 160_000, 10_000.0),
            "paid_u": np.full(count, 0.15),
            "rung": np.zeros(count, dtype=np.int64),
            "basis": ["own juice sample"] * count,
        }
    )


def _settlement(season: Season, count: int, seed: int, repeats: int) -> Result:
    """The rival pays line by line in decimals; the floor reads the columns once."""
    table = _delivered(count, seed, DAYS)
    delivered = deliveries_of_frame(table)

    def whole() -> tuple[PayRun, dict[str, Statement]]:
        run = compute(season, deliveries_of_frame(table), History())
        return run, dict(statements(run))

    ours = timed(whole, repeats)
    run, told = ours.gave
    owed = run.paid.amount.total()

    def check(theirs: Decimal) -> str:
        return "" if theirs == owed else f"another sum: {theirs} for {owed}"

    rival = against(
        "decimals, line by line: money only, no statements", lambda: _by_lines(delivered), check, 1, long=0.0
    )
    read = table.select("net_kg", "brix", "pol", "fibre", "paid_ccs")
    floor = timed(lambda: read.sum().row(0), 5).seconds
    without = timed(lambda: compute(season, delivered, History()), repeats).seconds
    notes = (
        f"{count} deliveries of {len(told)} growers, {sum(len(s['lines']) for s in told.values())} lines told",
        f"exact money alone, without the statements' texts: {without:.2f} s",
    )
    return Result("cane.payment", ours.seconds, count, (rival,), floor, notes)


def _by_lines(delivered: Deliveries) -> Decimal:
    """The same agreement for each consignment by itself: week means, relative CCS, price, amount to the cent."""
    nets, values = delivered.net.decimals(), delivered.readings["CCS"].values.decimals()
    weeks = ((delivered.days - FIRST.toordinal()) // 7).tolist()
    mass: dict[int, Decimal] = {}
    units: dict[int, Decimal] = {}
    for week, net, ccs in zip(weeks, nets, values, strict=True):
        mass[week] = mass.get(week, Decimal(0)) + net
        units[week] = units.get(week, Decimal(0)) + net * ccs
    means = {week: units[week] / mass[week] for week in mass}
    owed, sugar, season, cent = Decimal(0), Decimal("3.78"), Decimal("13.20"), Decimal("0.01")
    for week, net, ccs in zip(weeks, nets, values, strict=True):
        relative = (ccs + season - means[week]).quantize(Decimal("0.000001"))
        price = max(sugar * (relative - 4) + Decimal("0.578"), Decimal(0))
        owed += (net * price).quantize(cent)
    return owed


def _papers(season: Season, count: int, seed: int) -> Result:
    """Statements of a week one after another by one printer; the rival makes a new one for each."""
    delivered = deliveries_of_frame(_delivered(WEEKLY * GROWERS, seed, WEEK))
    told = list(dict(statements(compute(season, delivered, History()))).values())[:count]

    def ours() -> int:
        printer = StatementPrinter("Ostrimere Mill")
        return sum(len(printer.pdf(each, "computed", MOMENT)) for each in told)

    def afresh() -> int:
        return sum(len(StatementPrinter("Ostrimere Mill").pdf(each, "computed", MOMENT)) for each in told)

    measured = timed(ours, 3)

    def check(octets: int) -> str:
        return "" if octets == measured.gave else f"other papers: {octets} octets for {measured.gave}"

    rival: Rival = against("a new printer for each statement", afresh, check, 1, long=0.0)
    floor = timed(lambda: [_written_out(each) for each in told], 3).seconds
    rate = len(told) / measured.seconds
    notes = (
        f"{rate:.0f} statements a second, of {WEEKLY} consignments on average, one process",
        f"a season of {GROWERS} growers and 26 weeks, {GROWERS * 26} statements: {GROWERS * 26 / rate:.0f} s",
    )
    return Result("cane.statements", measured.seconds, len(told), (rival,), floor, notes)


def _written_out(statement: dict[str, Any]) -> str:
    """Every text of a statement once, without setting it."""
    return "\n".join("\t".join(line) for line in statement["lines"])
