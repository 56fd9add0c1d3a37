"""A season's deliveries against the registers, against one another and against what is stored: every row that is wrong.

The same checks judge one consignment note before it is tipped and a file of a million rows.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise
from typing import Any

import polars as pl

from canewright.accounts.cane_cells import ROW, Bad
from canewright.accounts.formats import Problem, shown
from canewright.cane.entry_checks import proposals
from canewright.cane.registers import Registers, nearest

TICKETS_START_AGAIN = 200
"""Days after which ticket numbers may start again (common practice, no source)."""
CUT_ONCE = 28
"""Days without cane from a block after which more of it is a second cut of the season (ours)."""
USUAL_FIBRE = 14.0
"""Fibre, % of cane, by which a proposal for a typed error is judged before the class fibre is known."""
FIRST_DAY = dt.date(1900, 1, 1)


@dataclass(frozen=True)
class Known:
    """What deliveries must agree with: registers, cut hour, closed days, stored tickets, last loads of blocks."""

    registers: Registers
    cut_hour: int = 6
    closed: Collection[dt.date] = ()
    tickets: Mapping[str, dt.date] = field(default_factory=dict)
    last_of_block: Mapping[str, dt.date] = field(default_factory=dict)


def check_rows(frame: pl.DataFrame, known: Known, bad: Bad) -> pl.DataFrame:
    """Note every row that contradicts itself, another row, the registers or the records.

    Gives the rows with what the block register adds: farm, variety, crop_class, registered_class, farm_group.
    """
    _tickets(frame, known, bad)
    _masses(frame, bad)
    _times(frame, known, bad)
    joined = _with_register(frame, known.registers)
    _registered(joined, known.registers, bad)
    _agreements(joined, known.registers, bad)
    _closed(frame, known, bad)
    _windows(frame, bad)
    _cut_once(joined, known, bad)
    _juice(frame, bad)
    return joined


def check_note_rows(frame: pl.DataFrame, known: Known, bad: Bad) -> None:
    """Judge consignment notes before tipping: ticket, grower, block, group, carrier, class, agreement, closed day."""
    _tickets(frame, known, bad)
    joined = _with_register(frame, known.registers)
    _registered(joined, known.registers, bad)
    class_differs = pl.col("fibre class") != pl.col("registered_class")
    bad.where(
        joined, class_differs & (pl.col("owner") == pl.col("grower")), "fibre class",
        lambda r: Problem(
            f"'{r['fibre class']}'", f"{r['registered_class']}, as the block register has block {r['block']}",
            "look at the cane, then correct the note or the register",
        ),
    )  # fmt: skip
    bad.where(
        joined, pl.col("farm_group") != pl.col("harvest group"), "harvest group",
        lambda r: Problem(
            f"'{r['harvest group']}'", f"{r['farm_group']}, the group of farm {r['farm']}",
            "look whether this note belongs to another consignment",
        ),
    )  # fmt: skip
    _agreements(joined, known.registers, bad)
    _closed(frame, known, bad)
    _cut_once(joined, known, bad)


def _tickets(frame: pl.DataFrame, known: Known, bad: Bad) -> None:
    told = frame.select(ROW, "ticket").drop_nulls()
    repeated = (
        told.filter(pl.col("ticket").is_duplicated()) if told["ticket"].n_unique() < told.height else told.clear()
    )
    repeated = repeated.with_columns(first=pl.col(ROW).min().over("ticket")).filter(pl.col(ROW) > pl.col("first"))
    bad.where(
        repeated, pl.lit(value=True), "ticket",
        lambda r: Problem(
            f"ticket {shown(r['ticket'])} again, first in row {r['first']}", "each ticket once a season",
            "remove or correct the row: a load is paid once",
        ),
    )  # fmt: skip
    if not known.tickets:
        return
    stored = pl.DataFrame(
        {"ticket": list(known.tickets), "stored_day": list(known.tickets.values())},
        schema={"ticket": pl.String, "stored_day": pl.Date},
    )
    apart = (pl.col("factory day") - pl.col("stored_day")).dt.total_days().abs()
    bad.where(
        frame.join(stored, on="ticket"), apart <= TICKETS_START_AGAIN, "ticket",
        lambda r: Problem(
            f"ticket {shown(r['ticket'])}, stored already for {r['stored_day']}", "a ticket that is not stored",
            "correct the stored consignment, or give this load its own ticket",
        ),
    )  # fmt: skip


def _masses(frame: pl.DataFrame, bad: Bad) -> None:
    bad.where(
        frame, pl.col("tare") >= pl.col("gross"), "tare, t",
        lambda r: Problem(
            f"tare {r['tare']:g} t with gross {r['gross']:g} t: net {r['gross'] - r['tare']:g} t",
            "a tare below the gross", "look at the weighbridge slip again",
        ),
    )  # fmt: skip


def _times(frame: pl.DataFrame, known: Known, bad: Bad) -> None:
    day = (pl.col("tipped") - pl.duration(hours=known.cut_hour)).dt.date()
    bad.where(
        frame, day != pl.col("factory day"), "tipped",
        lambda r: Problem(
            f"'{r['tipped']}'", f"a time in the factory day {r['factory day']}, from {known.cut_hour:02d}:00",
            "correct the time or the factory day",
        ),
    )  # fmt: skip
    order = ("cut", "arrived", "tipped", "sampled from", "sampled to")
    for earlier, later in pairwise(order):
        wrong = pl.col(later) < pl.col(earlier)
        if later == "sampled to":
            wrong = pl.col(later) <= pl.col(earlier)
        bad.where(frame, wrong, later, _before(earlier, later))


def _before(earlier: str, later: str) -> Any:
    def describe(row: dict[str, Any]) -> Problem:
        found = f"{later} at {row[later]}, before {earlier} at {row[earlier]}"
        return Problem(found, "cut, arrived, tipped, sampled from, sampled to in this order", "correct the times")

    return describe


def register_frame(registers: Registers) -> pl.DataFrame:
    """What the block and farm registers say together, one row a block and stretch of days: from ``since`` on."""
    rows = []
    for block in registers.keys("block"):
        spans = registers.spans("block", block)
        days = {s.start for s in spans} | {s.end for s in spans if s.end is not None}
        farms = {str(s.details["farm"]) for s in spans}
        days |= {s.start for farm in farms for s in registers.spans("farm", farm)}
        days |= {s.end for farm in farms for s in registers.spans("farm", farm) if s.end is not None}
        rows += [_on(registers, block, day) for day in sorted(days)]
    schema = {
        "block": pl.String, "since": pl.Date, "farm": pl.String, "owner": pl.String, "farm_group": pl.String,
        "variety": pl.String, "crop_class": pl.String, "registered_class": pl.String,
    }  # fmt: skip
    return pl.DataFrame(rows, schema=schema, orient="row").sort("since")


def _on(registers: Registers, block: str, day: dt.date) -> tuple[Any, ...]:
    told = registers.one("block", block, day)
    if told is None:
        return block, day, None, None, None, None, None, None
    farm = registers.one("farm", str(told["farm"]), day) or {}
    owner, group = farm.get("grower"), farm.get("harvest group")
    return block, day, told["farm"], owner, group, told["variety"], told["crop class"], told["fibre class"]


def _with_register(frame: pl.DataFrame, registers: Registers) -> pl.DataFrame:
    told = register_frame(registers)
    loads = frame.select("block", "factory day").drop_nulls().unique().sort("factory day")
    of_load = loads.join_asof(told, left_on="factory day", right_on="since", by="block", check_sortedness=False)
    return frame.join(of_load.drop("since"), on=["block", "factory day"], how="left", maintain_order="left")


def _registered(frame: pl.DataFrame, registers: Registers, bad: Bad) -> None:
    growers, blocks = set(registers.keys("grower")), set(registers.keys("block"))
    for column in ("grower", "carrier", "harvest group"):
        there = registers.keys(column)
        bad.where(frame, ~pl.col(column).is_in(there), column, _unknown(column, there))
    bad.where(frame, ~pl.col("block").is_in(list(blocks)), "block", _unknown("block", blocks))
    bad.where(
        frame, pl.col("block").is_in(list(blocks)) & pl.col("farm").is_null(), "block",
        lambda r: Problem(
            f"block {r['block']}, which the register does not have on {r['factory day']}",
            "a block that the register has on the day", "correct the block, the day or the register",
        ),
    )  # fmt: skip
    other = pl.col("grower").is_in(list(growers)) & (pl.col("owner") != pl.col("grower"))
    bad.where(
        frame, other, "block",
        lambda r: Problem(
            f"block {r['block']}, which belongs to {r['owner']} on {r['factory day']}", f"a block of {r['grower']}",
            "look at the consignment note: grower and block do not go together",
        ),
    )  # fmt: skip
    classes = sorted({str(span.details["fibre class"]) for block in blocks for span in registers.spans("block", block)})
    known = pl.col("fibre class").is_in(classes)
    bad.where(frame, ~known & pl.col("farm").is_not_null(), "fibre class", _unknown("fibre class", classes))


def _unknown(what: str, known: Collection[str]) -> Any:
    def describe(row: dict[str, Any]) -> Problem:
        near = nearest(row[what], known)
        hint = f"did you mean {' or '.join(near)}" if near else f"enter the {what} in the register first"
        return Problem(f"'{shown(row[what])}'", f"a {what} of the register", hint)

    return describe


def _agreements(frame: pl.DataFrame, registers: Registers, bad: Bad) -> None:
    """Deliveries on days on which the grower has no agreement."""
    spans = [(key, span) for key in registers.keys("agreement") for span in registers.spans("agreement", key)]
    signed = pl.DataFrame(
        [(s.details["grower"], s.start, dt.date.fromisoformat(str(s.details["until"])), s.end) for _, s in spans],
        schema={"grower": pl.String, "start": pl.Date, "until": pl.Date, "end": pl.Date}, orient="row",
    )  # fmt: skip
    day = pl.col("factory day")
    pairs = frame.filter(pl.col("owner") == pl.col("grower")).select("grower", "factory day").unique()
    within = (day >= pl.col("start")) & (day <= pl.col("until")) & ((day < pl.col("end")) | pl.col("end").is_null())
    table = pairs.join(pairs.join(signed, on="grower").filter(within), on=["grower", "factory day"], how="anti")
    bad.where(
        frame.join(table, on=["grower", "factory day"], how="semi"), pl.lit(value=True), "grower",
        lambda r: Problem(
            f"{r['grower']} without an agreement on {r['factory day']}", "a day that an agreement covers",
            "enter the grower's agreement for that day, or correct the day",
        ),
    )  # fmt: skip


def _closed(frame: pl.DataFrame, known: Known, bad: Bad) -> None:
    bad.where(
        frame, pl.col("factory day").is_in(list(known.closed)), "factory day",
        lambda r: Problem(
            f"{r['factory day']}, which is closed", "a day that is open",
            "reopen the day with a reason before anything of it is entered",
        ),
    )  # fmt: skip


def _windows(frame: pl.DataFrame, bad: Bad) -> None:
    """Sample windows that overlap in part; the very same window is a declared pooled sample, and flagged."""
    told = frame.select(ROW, "sampled from", "sampled to").drop_nulls()
    ordered = told.sort("sampled from", "sampled to", ROW).with_columns(
        before_to=pl.col("sampled to").shift(1).cum_max(), before_row=pl.col(ROW).shift(1),
        same=(pl.col("sampled from") == pl.col("sampled from").shift(1))
        & (pl.col("sampled to") == pl.col("sampled to").shift(1)),
    )  # fmt: skip
    bad.where(
        ordered, (pl.col("sampled from") < pl.col("before_to")) & ~pl.col("same"), "sampled from",
        lambda r: Problem(
            f"{r['sampled from']}, while juice of another consignment was taken until {r['before_to']} "
            f"(before it: row {r['before_row']})",
            "windows one after the other, or the very same window for a pooled sample", "correct the times",
        ),
    )  # fmt: skip


def _cut_once(frame: pl.DataFrame, known: Known, bad: Bad) -> None:
    """Blocks of which cane comes again long after their last load: a block is cut once a season."""
    days = frame.filter(pl.col("farm").is_not_null()).group_by("block", "factory day").agg(pl.col(ROW).min())
    stored = pl.DataFrame(
        {"block": list(known.last_of_block), "stored_last": list(known.last_of_block.values())},
        schema={"block": pl.String, "stored_last": pl.Date},
    )
    ordered = (
        days.sort("block", "factory day", ROW)
        .join(stored, on="block", how="left", maintain_order="left")
        .with_columns(in_file=pl.col("factory day").shift(1).over("block"))
        .with_columns(last=pl.coalesce("in_file", "stored_last"))
    )
    apart = (pl.col("factory day") - pl.col("last")).dt.total_days()
    bad.where(
        ordered.with_columns(apart=apart), (apart > CUT_ONCE) & (apart <= TICKETS_START_AGAIN), "block",
        lambda r: Problem(
            f"block {r['block']} cut again {r['apart']} days after its last load of {r['last']}",
            f"a block cut once a season, its loads at most {CUT_ONCE} days apart", "look for the right block",
        ),
    )  # fmt: skip


def _juice(frame: pl.DataFrame, bad: Bad) -> None:
    usable = pl.col("quality").is_in(["good", "estimated"])
    bad.where(frame, usable & (pl.col("juice pol") > pl.col("juice brix")), "juice pol, %", _impossible)


def _impossible(row: dict[str, Any]) -> Problem:
    brix, pol = (Decimal(f"{row[name]:.2f}") for name in ("juice brix", "juice pol"))
    meant = proposals(brix, pol, row["fibre"] or USUAL_FIBRE, None)
    exchanged = bool(meant) and (meant[0].brix, meant[0].pol) == (pol, brix)
    do = (
        f"brix {pol} and pol {brix} if they were exchanged: look at the slip" if exchanged else "look at the slip again"
    )
    return Problem(f"pol {pol} with brix {brix}: purity {100 * pol / brix:.1f}", "pol not above brix", do)
