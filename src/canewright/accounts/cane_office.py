"""What the cane office does with the books: one place for the command line and the pages."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from canewright.accounts.books import Books
from canewright.accounts.cane_cells import ROW, Bad
from canewright.accounts.cane_deliveries import FIBRE, JUICE_BRIX, JUICE_POL, Site, known_of, season_csv
from canewright.accounts.cane_formats import SEASON_DELIVERIES
from canewright.accounts.cane_notes import check_note_rows
from canewright.accounts.cane_season import CaneRefused, analysed, one_ticket, stored_frame
from canewright.accounts.growers import price_of
from canewright.accounts.measuring import fibre_classes
from canewright.cane.class_fibre import mislabels
from canewright.cane.delivery_frame import with_net
from canewright.cane.demo_district import district
from canewright.cane.demo_district import registers_of as demo_registers
from canewright.cane.demo_season import season
from canewright.cane.neighbours import weekly_audit
from canewright.cane.quality_money import Cost, SampleDoubt, Terms, cost_of_delay, doubt_of_samples, listed
from canewright.cane.waiting import TARGET_HOURS, yard_stock
from canewright.cane.weighing import WrongTare, due_for_weighing, trips_of, wrong_tares
from canewright.store import NewReading, Store

COMMON_CCS_U = 0.085
"""Standard uncertainty of CCS that a class's consignments share by its fibre, units of CCS (derived at 0.5 % fibre)."""


def site_of(books: Books) -> Site:
    """The clock of the plant."""
    return Site(books.description.cut_hour, ZoneInfo(books.description.zone))


def season_frame(books: Books, first: dt.date, last: dt.date) -> pl.DataFrame:
    """The deliveries of days, analysed with the plant's fibre classes. Raises CaneRefused, NoSampleAtAll."""
    if first > last:
        raise CaneRefused(f"days: found {first} to {last}; accepted: a first day not after the last")
    return analysed(books.store, first, last, fibre_classes(books.description))


def delivered_days(store: Store) -> tuple[dt.date, dt.date] | None:
    """The first and last day with consignments; None when there are none."""
    return store.delivered_days()


def check_note(books: Books, note: Mapping[str, Any]) -> list[str]:
    """What is wrong with one consignment note before it is tipped, in sentences; empty when it may be tipped.

    ``note`` gives ticket, factory day, grower, block, harvest group, carrier and fibre class.
    """
    columns = ("ticket", "grower", "block", "harvest group", "carrier", "fibre class")
    row = {name: [str(note[name])] for name in columns} | {"factory day": [note["factory day"]], ROW: [0]}
    bad = Bad(SEASON_DELIVERIES)
    check_note_rows(pl.DataFrame(row), known_of(books.store, site_of(books)), bad)
    return [f"{column}: found {p.found}; accepted: {p.accepted}; {p.do}." for _, column, p in bad.found]


def enter_retest(store: Store, day: dt.date, ticket: str, brix: float, pol: float, by: str, at: dt.datetime) -> int:
    """Store a further analysis of the retained juice of a ticket; gives its number, 1 for the first.

    Raises CaneRefused for impossible juice or a third further analysis, and the store's errors.
    """
    if not (5.0 <= brix <= 30.0 and 1.0 <= pol <= brix):
        raise CaneRefused(f"ticket {ticket}: brix {brix:g}, pol {pol:g}; accepted: brix 5 to 30 and pol 1 up to brix")
    there = [r for r in store.ticket_values(day, day) if r.ticket == ticket]
    if not there:
        raise CaneRefused(f"ticket: found '{ticket[:40]}', which is not stored for {day}; look for its day")
    number = 1 + max(r.duplicate for r in there)
    if number > 2:
        raise CaneRefused(f"ticket {ticket}: three determinations are stored; their median counts, no more are made")
    place, source = f"ticket {ticket}", "keyboard"
    made = [
        NewReading(day, place, name, value, "%", "good", at, by, source, duplicate=number)
        for name, value in ((JUICE_BRIX, brix), (JUICE_POL, pol))
    ]
    store.add_batch(day, by, [], made)
    return number


@dataclass(frozen=True)
class Audit:
    """What the deliveries say about the mill's own instruments and habits."""

    lags: tuple[str, ...]
    tares: tuple[WrongTare, ...]
    classes: tuple[str, ...]
    due: tuple[str, ...]
    """Bins that have made more trips than their weighings empty cover, the longest overdue first."""


def audit(books: Books, frame: pl.DataFrame) -> Audit:
    """The lag to the sampler, stored tares against weighings empty, and fibre classes against the block register."""
    labelled = frame.filter(pl.col("harvest_group").is_not_null())
    return Audit(
        tuple(each.says() for each in weekly_audit(frame) if each.wrong_lag),
        tuple(_tares(books.store, frame)),
        tuple(each.says() for each in mislabels(labelled)),
        tuple(due_for_weighing(trips_of(frame), _weighings(books.store)[1])["bin"]),
    )


def _tares(store: Store, frame: pl.DataFrame) -> list[WrongTare]:
    stored, weighed = _weighings(store)
    return wrong_tares(stored, weighed, trips_of(frame))


def _weighings(store: Store) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The first entry of a bin is its stored tare; the entries after it are its weighings empty."""
    entries = [e for e in store.register_entries("bin") if e.details is not None]
    schema = {"bin": pl.String, "tare_kg": pl.Float64, "since": pl.Date}
    rows = [(e.key, (e.details or {})["tare"], e.valid_from) for e in entries]
    table = pl.DataFrame(rows, schema=schema, orient="row").sort("bin", "since")
    first = table.group_by("bin", maintain_order=True).first().drop("since")
    later = table.filter(~pl.col("bin").is_first_distinct()).drop("since")
    return first, later


@dataclass(frozen=True)
class QualityCosts:
    """Costs of a grower's or everybody's deliveries, dearest first, and the money that doubt of samples leaves open."""

    costs: tuple[Cost, ...]
    doubt: SampleDoubt
    tonnes: float


def quality_costs(books: Books, frame: pl.DataFrame, grower: str | None, usual_hours: float = 0.0) -> QualityCosts:
    """What waiting and doubt of samples cost. Raises CaneRefused without a sugar price or for an unknown grower."""
    price = price_of(books.description)
    if price is None:
        raise CaneRefused("the plant description has no [cane] sugar_price; without it nothing can be told in money")
    mine = frame if grower is None else frame.filter(pl.col("grower") == grower)
    if mine.is_empty():
        raise CaneRefused(f"grower: found '{grower}', who delivered nothing in these days")
    terms = Terms(float(price.sugar_price))
    timed = mine.filter(pl.col("delay").is_not_null())
    late = timed.filter(pl.col("delay") > TARGET_HOURS)
    costs = [
        _waiting(timed, usual_hours, terms, "waiting, all of it"),
        _waiting(late, TARGET_HOURS, terms, "beyond 16 h"),
    ]
    doubt = doubt_of_samples(mine["net"].to_list(), mine["paid_u"].to_list(), COMMON_CCS_U, terms)
    return QualityCosts(tuple(listed(costs)), doubt, float(mine["net"].sum()))


def _waiting(frame: pl.DataFrame, usual: float, terms: Terms, what: str) -> Cost:
    tonnes = float(frame["net"].sum())
    hours = float((frame["net"] * frame["delay"]).sum()) / tonnes if tonnes else usual
    found = cost_of_delay(tonnes, hours, usual, terms)
    return Cost(what, found.tonnes, found.ccs_lost, found.ccs_u, found.grower, found.mill, found.basis)


def figure_words(frame: pl.DataFrame, ticket: str) -> dict[str, Any]:
    """One consignment from readings to the CCS paid on, as names and values, for a statement or a page."""
    row = one_ticket(frame, ticket)
    names = (
        "ticket",
        "day",
        "grower",
        "farm",
        "block",
        "variety",
        "crop_class",
        "fibre_class",
        "harvest_group",
        "carrier",
    )
    figures = ("gross_kg", "tare_kg", "net", "brix", "pol", FIBRE, "fibre_u", "own_ccs", "ccs_u", "paid_ccs", "paid_u")
    waits = ("delay", "yard_hours", "window_mark", "rung", "says")
    return {name: row[name] for name in (*names, *figures, *waits)}


def write_demo(folder: Path, *, as_keyed: bool = True) -> list[Path]:
    """Write the invented district and season as register and delivery files, and apart from them the truth.

    ``as_keyed`` leaves in the exchanged brix and pol that the import refuses. Raises OSError.
    """
    made = district()
    whole = season(made)
    recorded = whole.recorded
    if not as_keyed:
        exchanged = pl.col("pol") > pl.col("brix")
        recorded = recorded.with_columns(
            brix=pl.when(exchanged).then("pol").otherwise("brix"), pol=pl.when(exchanged).then("brix").otherwise("pol")
        )
    bins = _bins(whole.tares, whole.reweighed)
    files = {
        f"registers/{name}": table.write_csv() for name, table in (demo_registers(made) | {"bins.csv": bins}).items()
    }
    files[SEASON_DELIVERIES.name] = season_csv(recorded)
    files["notes-as-written.csv"] = whole.notes.write_csv()
    files["truth/consignments.csv"] = whole.truth.drop("place").write_csv()
    files["truth/faults.csv"] = pl.DataFrame([vars(each) for each in whole.faults]).write_csv()
    return [_written(folder / name, text) for name, text in files.items()]


def _bins(tares: pl.DataFrame, reweighed: pl.DataFrame) -> pl.DataFrame:
    stored = tares.select(
        "bin",
        pl.lit("2031-01-01").alias("valid from"),
        (pl.col("stored") * 1000).round().cast(pl.Int64).alias("tare, kg"),
    )
    later = reweighed.group_by("bin", "day", maintain_order=True).first()
    weighed = later.select(
        "bin", pl.col("day").cast(pl.String).alias("valid from"), pl.col("tare_kg").alias("tare, kg")
    )
    return pl.concat([stored, weighed])


def _written(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def usual_day(books: Books, today: dt.date) -> dt.date:
    """The day as of which registers are shown unless another is asked for: the latest delivery's, else today."""
    span = delivered_days(books.store)
    return today if span is None else span[1]


def yard_of_day(books: Books, day: dt.date) -> pl.DataFrame:
    """Cane in the yard at the end of each hour of a factory day, t; columns at and tonnes.

    Counted from the day before, whose cane may still wait. Raises CaneRefused for a day without recorded arrivals.
    """
    stored = with_net(stored_frame(books.store, day - dt.timedelta(days=1), day + dt.timedelta(days=1)))
    timed = stored.filter(pl.col("arrived_at").is_not_null())
    if timed.filter(pl.col("day") == day).is_empty():
        raise CaneRefused(f"{day}: no consignment with a recorded arrival is stored for this day")
    site = site_of(books)
    begin = dt.datetime.combine(day, dt.time(site.cut_hour), tzinfo=site.zone).astimezone(dt.UTC)
    return yard_stock(timed).filter(pl.col("at").is_between(begin, begin + dt.timedelta(days=1), closed="left"))
