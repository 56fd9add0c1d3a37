"""The stored deliveries as columns, analysed: what each consignment is paid on, why, and its trail of decisions."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import polars as pl

from canewright.accounts.cane_deliveries import FIBRE, JUICE_BRIX, JUICE_POL
from canewright.accounts.cane_notes import register_frame
from canewright.accounts.cane_registers import registers_of
from canewright.analysis.brix import corrected_brix
from canewright.analysis.cane import ccs
from canewright.analysis.polarimetry import pol_from_polarimeter
from canewright.cane.class_fibre import rolling_class_fibre, with_fibre
from canewright.cane.delivery_frame import with_ccs, with_net, with_objections, with_relative
from canewright.cane.entry_checks import Proposal, proposals
from canewright.cane.fall_back import with_paid_ccs
from canewright.cane.neighbours import with_window_marks
from canewright.cane.registers import nearest
from canewright.cane.retests import Decision, Event, decide
from canewright.cane.sample_checks import Expectation
from canewright.cane.waiting import with_waits
from canewright.store import Consignment, Note, SampleRuling, Store, TicketValue

USUAL_FIBRE = 14.0
"""Fibre of a class that neither a sample nor the plant description knows, % of cane (ours)."""
USED = ("good", "estimated")
OWN_READINGS = ((JUICE_BRIX, "brix"), (JUICE_POL, "pol"), (FIBRE, "fibre"))
SCHEMA: dict[str, Any] = {
    "ticket": pl.String, "day": pl.Date, "grower": pl.String, "block": pl.String, "fibre_class": pl.String,
    "harvest_group": pl.String, "carrier": pl.String, "cut_at": pl.Datetime("us", "UTC"),
    "arrived_at": pl.Datetime("us", "UTC"), "tipped_at": pl.Datetime("us", "UTC"),
    "sampled_from": pl.Datetime("us", "UTC"), "sampled_to": pl.Datetime("us", "UTC"), "gross_kg": pl.Int64,
    "tare_kg": pl.Int64, "bins": pl.String, "brix": pl.Float64, "pol": pl.Float64, "fibre_measured": pl.Float64,
    "quality": pl.String, "ruling": pl.String, "retests": pl.List(pl.List(pl.Float64)), "weighed_by": pl.Int64,
    "brix_by": pl.Int64, "pol_by": pl.Int64,
}  # fmt: skip


class CaneRefused(ValueError):
    """Something asked of the deliveries that cannot be done; the message says why and what to do."""


def stored_frame(store: Store, first: dt.date, last: dt.date) -> pl.DataFrame:
    """The stored consignments of days as columns, one a row, with what was read on them and ruled about them."""
    notes = {(each.day, each.ticket): each for each in store.notes(first, last)}
    read: dict[tuple[dt.date, str], list[TicketValue]] = defaultdict(list)
    for reading in store.ticket_values(first, last):
        read[reading.day, reading.ticket].append(reading)
    ruled = {(each.day, each.ticket): each for each in store.rulings(first, last)}
    rows = [
        _row(each, notes.get((each.day, each.ticket)), read[each.day, each.ticket], ruled.get((each.day, each.ticket)))
        for each in store.consignments_between(first, last)
    ]
    return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def _row(
    load: Consignment, note: Note | None, readings: Sequence[TicketValue], ruling: SampleRuling | None
) -> tuple[Any, ...]:
    first = {each.quantity: each for each in readings if each.duplicate == 0}
    gross, tare = (_kg(first.get(name)) for name in ("gross mass", "tare mass"))
    brix, pol, quality = _juice(first)
    fibre = first.get(FIBRE)
    numbers = [first[name].id if name in first else None for name in ("gross mass", JUICE_BRIX, JUICE_POL)]
    before: tuple[Any, ...] = (None, None, None, None)
    window: tuple[Any, ...] = (None, None)
    if note is not None:
        before = (note.harvest_group, note.carrier, note.cut_at, note.arrived_at)
        window = (note.sampled_from, note.sampled_to)
    when = (*before, load.tip_at, *window)
    return (
        load.ticket, load.day, load.grower, load.block, load.fibre_class, *when, gross, tare,
        ";".join(note.bins) if note else None, brix, pol,
        fibre.value if fibre is not None and fibre.quality in USED else None, quality,
        f"{ruling.ruling}: {ruling.says}" if ruling else None, _retests(readings), *numbers,
    )  # fmt: skip


def _kg(reading: TicketValue | None) -> int | None:
    return None if reading is None or reading.value is None else round(reading.value * 1000)


def _juice(read: Mapping[str, TicketValue]) -> tuple[float | None, float | None, str]:
    """Brix and pol of first expressed juice: as typed, or worked from refractometer and polarimeter."""
    brix, pol = read.get(JUICE_BRIX), read.get(JUICE_POL)
    if brix is not None and pol is not None:
        good = brix.quality in USED and pol.quality in USED
        return brix.value, pol.value, "good" if good else (pol.quality if brix.quality in USED else brix.quality)
    refractometer, polarimeter = read.get("refractometer brix"), read.get("polarimeter reading")
    if refractometer is None or polarimeter is None or refractometer.value is None or polarimeter.value is None:
        return None, None, "missing"
    warm = read.get("temperature")
    value = refractometer.value
    if warm is not None and warm.value is not None:
        value = float(corrected_brix(refractometer.value, warm.value))
    good = refractometer.quality in USED and polarimeter.quality in USED
    return value, float(pol_from_polarimeter(polarimeter.value, value)), "good" if good else "bad"


def _retests(readings: Sequence[TicketValue]) -> list[list[float]]:
    """Brix and pol of each further determination of the retained juice, in order."""
    found: dict[int, dict[str, float]] = defaultdict(dict)
    for each in readings:
        if each.duplicate > 0 and each.quality in USED and each.value is not None:
            found[each.duplicate][each.quantity] = each.value
    whole = [found[n] for n in sorted(found) if JUICE_BRIX in found[n] and JUICE_POL in found[n]]
    return [[each[JUICE_BRIX], each[JUICE_POL]] for each in whole]


def analysed(
    store: Store, first: dt.date, last: dt.date, default_fibre: Mapping[str, float] | None = None
) -> pl.DataFrame:
    """The stored deliveries of days, analysed: net, fibre, CCS with uncertainty, objections, what is paid on and why.

    Raises CaneRefused when nothing is stored for these days, NoSampleAtAll when there is no sample to fall back on.
    """
    frame = stored_frame(store, first, last)
    if frame.is_empty():
        raise CaneRefused(f"no consignments are stored from {first} to {last}; import deliveries, or give other days")
    frame = _with_register(with_net(frame), register_frame(registers_of(store)))
    samples = frame.select("fibre_class", "day", fibre="fibre_measured").drop_nulls()
    defaults = dict.fromkeys(frame["fibre_class"].unique().to_list(), USUAL_FIBRE) | dict(default_fibre or {})
    frame = with_objections(with_ccs(with_fibre(frame, rolling_class_fibre(samples, defaults))))
    frame = _decided(frame)
    valued = with_paid_ccs(frame)
    return with_window_marks(with_relative(with_waits(_in_words(valued))))


def _with_register(frame: pl.DataFrame, told: pl.DataFrame) -> pl.DataFrame:
    loads = frame.select("block", "day").unique().sort("day")
    joined = loads.join_asof(told, left_on="day", right_on="since", by="block", check_sortedness=False).drop("since")
    return frame.join(joined, on=["block", "day"], how="left", maintain_order="left")


def _decided(frame: pl.DataFrame) -> pl.DataFrame:
    """Set aside what may not be paid on, take in confirmations, and decide where a sample was analysed again."""
    ruling = pl.col("ruling").str.split(": ").list.first()
    aside = (ruling == "rejected").fill_null(value=False)
    confirmed = (ruling == "confirmed").fill_null(value=False) & ~pl.col("objection").str.starts_with("impossible")
    open_ones = pl.col("objection").is_not_null() & ~confirmed.fill_null(value=False)
    frame = frame.with_columns(own_ccs=pl.col("ccs"), ccs=pl.when(~aside & ~open_ones).then(pl.col("ccs")))
    again = frame.filter(pl.col("retests").list.len() > 0)
    decisions = {row["ticket"]: _decision(row) for row in again.iter_rows(named=True)}
    if not decisions:
        return frame.with_columns(read_again=pl.lit(None, pl.Float64), decision=pl.lit(None, pl.String))
    table = pl.DataFrame(
        [(ticket, each.value, each.says) for ticket, each in decisions.items()],
        schema={"ticket": pl.String, "decided": pl.Float64, "decision": pl.String}, orient="row",
    )  # fmt: skip
    joined = frame.join(table, on="ticket", how="left", maintain_order="left")
    lacking = pl.col("ccs").is_null()
    return joined.with_columns(
        read_again=pl.when(lacking).then("decided"),
        ccs=pl.when(~lacking).then(pl.coalesce("decided", "ccs")),
    ).drop("decided")


def _decision(row: Mapping[str, Any]) -> Decision:
    results = [float(ccs(brix, pol, row["fibre"])) for brix, pol in row["retests"]]
    return decide([*([row["ccs"]] if row["ccs"] is not None else []), *results][:3])


def _in_words(frame: pl.DataFrame) -> pl.DataFrame:
    """The basis in one sentence, for the statement: rung, fibre, objection, ruling and repeated analysis."""
    pooled = pl.col("sampled_from").is_not_null() & pl.struct("sampled_from", "sampled_to").is_duplicated()
    said = pl.concat_str(
        pl.col("basis"),
        pl.format("set aside: {}", pl.when(pl.col("rung") > 0).then("objection")),
        pl.format("looked at: {}", pl.when(pl.col("rung") == 0).then("objection")),
        pl.col("ruling"), pl.col("decision"),
        pl.when(pooled).then(pl.lit("sample shared with another consignment")),
        pl.format("fibre {}", "fibre_basis"),
        separator="; ", ignore_nulls=True,
    )  # fmt: skip
    return frame.with_columns(says=said)


# --- one sample -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Question:
    """A sample that is not paid on as it stands, with what it may have been meant to say."""

    ticket: str
    day: dt.date
    grower: str
    brix: float | None
    pol: float | None
    says: str
    proposals: tuple[Proposal, ...]


def questions(frame: pl.DataFrame) -> list[Question]:
    """The open questions of an analysed frame, in order of tipping."""
    ruled = pl.col("ruling").is_not_null() & ~pl.col("ruling").str.starts_with("disputed")
    asked = frame.filter(pl.col("objection").is_not_null() & ~ruled.fill_null(value=False)).sort("tipped_at")
    return [_question(row) for row in asked.iter_rows(named=True)]


def _question(row: Mapping[str, Any]) -> Question:
    meant: list[Proposal] = []
    if row["brix"] is not None and row["pol"] is not None:
        brix, pol = (Decimal(f"{row[name]:.2f}") for name in ("brix", "pol"))
        meant = proposals(brix, pol, row["fibre"], Expectation(row["expected"], row["spread"]))
    return Question(row["ticket"], row["day"], row["grower"], row["brix"], row["pol"], row["objection"], tuple(meant))


def one_ticket(frame: pl.DataFrame, ticket: str) -> dict[str, Any]:
    """The row of a ticket. Raises CaneRefused naming the nearest ones."""
    found = frame.filter(pl.col("ticket") == ticket)
    if found.is_empty():
        near = nearest(ticket, frame["ticket"].to_list())
        hint = f"; nearest: {', '.join(near)}" if near else ""
        raise CaneRefused(f"ticket: found '{ticket[:40]}', which is not stored for these days{hint}")
    return found.row(0, named=True)


def accept_proposal(store: Store, question: Question, by: str) -> Proposal:
    """Correct the readings of a sample to its one proposal; the old readings stay in the history.

    Raises CaneRefused when there is none or several, and the store's errors.
    """
    if len(question.proposals) != 1:
        several = ", ".join(each.says for each in question.proposals) or "none"
        raise CaneRefused(
            f"ticket {question.ticket}: proposals are {several}; there must be exactly one. Read the retained juice."
        )
    meant = question.proposals[0]
    read = {r.quantity: r for r in _of_ticket(store, question.day, question.ticket) if r.duplicate == 0}
    for name, value in ((JUICE_BRIX, meant.brix), (JUICE_POL, meant.pol)):
        if name not in read:
            raise CaneRefused(f"ticket {question.ticket}: its juice was read otherwise; correct the single readings")
        if read[name].value != float(value):
            store.correct(read[name].id, float(value), by, f"proposal accepted: {meant.says}")
    return meant


def _of_ticket(store: Store, day: dt.date, ticket: str) -> list[TicketValue]:
    return [each for each in store.ticket_values(day, day) if each.ticket == ticket]


def trail_of(store: Store, day: dt.date, ticket: str) -> list[Event]:
    """All that ever happened to a ticket's sample and masses: readings, corrections, further analyses, rulings."""
    events = []
    for standing in _of_ticket(store, day, ticket):
        for each in store.history(standing.id):
            value = "no value" if each.value is None else f"{each.value:g} {each.unit}"
            again = f", analysis {each.duplicate + 1}" if each.duplicate else ""
            why = f" (instead of reading {each.supersedes}: {each.reason})" if each.supersedes else ""
            events.append(Event(each.entered_at, each.taken_by, f"{each.quantity}{again} {value}, {each.quality}{why}"))
    ruled = [each for each in store.rulings(day, day) if each.ticket == ticket]
    events += [Event(each.entered_at, each.entered_by, f"{each.ruling}: {each.says}") for each in ruled]
    return sorted(events, key=lambda each: each.at)


def delivery_rows(frame: pl.DataFrame) -> list[dict[str, Any]]:
    """Deliveries as payment takes them: plain rows with exact masses, the CCS paid on and its marks in words."""
    rows = []
    for row in frame.sort("day", "ticket").iter_rows(named=True):
        own = row["rung"] == 0 and row["decision"] is None
        taken = {"CCS": Decimal(repr(round(row["paid_ccs"], 6)))}
        if own:
            taken = {n: Decimal(repr(round(row[c], 6))) for n, c in OWN_READINGS}
        sources = {
            name: row[column]
            for name, column in (("gross mass", "weighed_by"), (JUICE_BRIX, "brix_by"), (JUICE_POL, "pol_by"))
            if row[column] is not None
        }
        rows.append(
            {
                "ticket": row["ticket"], "day": row["day"], "grower": row["grower"], "farm": row["farm"] or "",
                "block": row["block"], "net": Decimal(row["net_kg"]).scaleb(-3), "readings": taken,
                "ccs_uncertainty": row["paid_u"], "marks": (row["says"],), "sources": sources,
            }
        )  # fmt: skip
    return rows
