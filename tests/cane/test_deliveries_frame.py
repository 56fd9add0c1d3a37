"""Deliveries out of a table: the same as row by row, and every bad row told."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from random import Random

import polars as pl
import pytest

from cane.agreements import FIRST, GROWERS, agreement
from canewright.cane.deliveries import Deliveries, Delivery, PaymentRefused
from canewright.cane.deliveries_frame import deliveries_of_frame
from canewright.cane.paying import pay


def table(count: int = 60) -> pl.DataFrame:
    """Deliveries of three weeks in a random order, every seventh without a sample."""
    chance = Random(3)  # noqa: S311 (chance for a test, no secret)
    rows = [
        {
            "ticket": f"{n:03d}", "day": FIRST + dt.timedelta(days=chance.randrange(21)), "grower": GROWERS[n % 2],
            "block": f"B{n % 5}", "net_kg": chance.randrange(25_000, 40_000),
            "brix": None if n % 7 == 0 else chance.randrange(1900, 2200) / 100,
            "pol": None if n % 7 == 0 else chance.randrange(1600, 1800) / 100, "fibre": 14.1,
            "paid_ccs": chance.randrange(110_000, 150_000) / 10_000, "paid_u": None if n % 7 == 0 else 0.15,
            "rung": 5 if n % 7 == 0 else 0, "basis": "no sample: mean of the fibre class" if n % 7 == 0 else "own",
        }
        for n in range(count)
    ]  # fmt: skip
    chance.shuffle(rows)
    return pl.DataFrame(rows)


def by_rows(frame: pl.DataFrame) -> Deliveries:
    """The same deliveries one by one."""
    names = {"juice brix": "brix", "juice pol": "pol", "fibre": "fibre", "CCS": "paid_ccs"}
    return Deliveries.of(
        Delivery(
            r["ticket"], r["day"], r["grower"], "", r["block"], Decimal(r["net_kg"]) / 1000,
            {n: Decimal(str(r[c])) for n, c in names.items() if r[c] is not None}, r["paid_u"],
            (r["basis"],) if r["rung"] else (),
        )
        for r in frame.rows(named=True)
    )  # fmt: skip


def test_a_table_gives_what_its_rows_give() -> None:
    one, other = deliveries_of_frame(table()), by_rows(table())
    assert (one.tickets, one.growers, one.blocks, one.marks) == (
        other.tickets, other.growers, other.blocks, other.marks,
    )  # fmt: skip
    assert one.days.tolist() == other.days.tolist()
    assert one.day(0) == other.day(0)
    for season in (agreement("additive"), agreement()):
        assert pay(one, season).value.decimals() == pay(other, season).value.decimals()
    assert one.readings["juice pol"].taken.tolist() == other.readings["juice pol"].taken.tolist()


def test_every_bad_row_is_told() -> None:
    good = table(6).sort("ticket")
    bad = pl.concat(
        [
            good,
            good[1:2],
            good[2:3].with_columns(ticket=pl.lit("a"), net_kg=pl.lit(-5, dtype=pl.Int64)),
            good[3:4].with_columns(ticket=pl.lit("b"), pol=pl.lit(77.0)),
            good[4:5].with_columns(ticket=pl.lit("c"), grower=pl.lit(" ")),
        ]
    )
    with pytest.raises(PaymentRefused) as refused:
        deliveries_of_frame(bad)
    told = "\n".join(refused.value.faults)
    assert len(refused.value.faults) == 4
    for words in (
        "ticket 001 of",
        "given more than once",
        "net mass is -5 kg",
        "juice pol is 77.0 %",
        "grower is empty",
    ):
        assert words in told
    with pytest.raises(PaymentRefused, match="has no column 'net_kg'"):
        deliveries_of_frame(good.drop("net_kg"))


def test_nothing_delivered() -> None:
    assert len(deliveries_of_frame(table().clear())) == 0
