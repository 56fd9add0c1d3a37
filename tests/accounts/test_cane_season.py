"""From readings to the CCS paid on, through file, store and analysis; and what people decide about samples."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import polars as pl
import pytest

import canewright
from accounts.cane_files import SITE, as_file, changed, good_rows, register_files
from canewright.accounts.books import Books
from canewright.accounts.cane_deliveries import blank_files, import_season, known_of, read_season
from canewright.accounts.cane_formats import CANE_FORMATS
from canewright.accounts.cane_office import (
    audit,
    check_note,
    delivered_days,
    enter_retest,
    figure_words,
    quality_costs,
    season_frame,
    write_demo,
    yard_of_day,
)
from canewright.accounts.cane_registers import import_registers, read_folder, read_registers
from canewright.accounts.cane_season import (
    CaneRefused,
    accept_proposal,
    analysed,
    delivery_rows,
    one_ticket,
    questions,
    trail_of,
)
from canewright.accounts.formats import Problem
from canewright.analysis.brix import corrected_brix
from canewright.analysis.cane import ccs
from canewright.analysis.polarimetry import pol_from_polarimeter
from canewright.plant.plant import Plant
from canewright.quantity import unit
from canewright.store import DayClosed, DayOfImport, ImportedFile, NewConsignment, NewReading, Store

DAY = dt.date(2031, 6, 2)
LONG = (dt.date(2031, 6, 1), dt.date(2031, 6, 30))
ROW = 60


def now() -> dt.datetime:
    """A standing clock."""
    return dt.datetime(2031, 6, 20, tzinfo=dt.UTC)


def known_cells() -> pl.DataFrame:
    """The first day with one consignment of known juice and fibre: pol 18.20, brix 20.50, fibre 14.0."""
    cells = good_rows(0.006)
    given = {"juice pol, %": "18.20", "juice brix, %": "20.50", "fibre, %": "14.0", "quality": "good",
             "gross, t": "47.5", "tare, t": "11.5"}  # fmt: skip
    for column, text in given.items():
        cells = changed(cells, ROW, column, text)
    return cells


TICKET = good_rows(0.006)["ticket"][ROW - 2]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A business with registers and the first day's deliveries."""
    with Store.create(tmp_path, now=now) as opened:
        import_registers(opened, read_registers(register_files(), ()), "cane office")
        import_season(
            opened, read_season(as_file(known_cells()), "season.csv", known_of(opened, SITE), SITE), "cane office"
        )
        yield opened


def row_of(store: Store) -> dict[str, Any]:
    """The known consignment, analysed."""
    return one_ticket(analysed(store, *LONG), TICKET)


def test_ccs_from_reading_to_figure_by_the_public_formula(store: Store) -> None:
    """Engelke, Farmnote 712/25, Department of Agriculture, WA (formula read): Pc 14.742, Bc 17.015, CCS 13.6055.

    sd of the readings 0.10, 0.08 and 0.5: 0.15209 (derived, F-03).
    """
    row = row_of(store)
    assert (row["brix"], row["pol"], row["fibre"]) == (20.5, 18.2, 14.0)
    assert row["net"] == 36.0
    assert row["own_ccs"] == pytest.approx(13.6055, abs=1e-9)
    assert row["own_ccs"] == pytest.approx(float(ccs(20.5, 18.2, 14.0)), abs=1e-12)
    assert row["ccs_u"] == pytest.approx(0.15209, abs=1e-5)


def test_readings_of_refractometer_and_polarimeter_come_to_the_same(store: Store) -> None:
    at = dt.datetime(2031, 6, 9, 22, 0, tzinfo=dt.UTC)
    day, place = dt.date(2031, 6, 10), "ticket 90001"
    read = [("gross mass", 47.5, "t"), ("tare mass", 11.5, "t"), ("refractometer brix", 20.41, "%")]
    read += [("temperature", 27.5, "°C"), ("polarimeter reading", 75.20, "°Z")]
    rows = [NewReading(day, place, name, value, u, "good", at, "clerk", "f row 2") for name, value, u in read]
    load = NewConsignment(day, "90001", "farm 017", "017-1", "burnt mid", at, "f row 2")
    store.add_days("clerk", [DayOfImport(day, [ImportedFile("f", "e" * 64, 1)], rows, [load])])
    row = one_ticket(analysed(store, *LONG), "90001")
    brix = float(corrected_brix(20.41, 27.5))
    pol = float(pol_from_polarimeter(75.20, brix))
    assert row["own_ccs"] == pytest.approx(float(ccs(brix, pol, row["fibre"])), abs=1e-12)
    assert row["harvest_group"] is None


def test_the_rows_for_payment_are_exact_and_tell_their_basis(store: Store) -> None:
    rows = {row["ticket"]: row for row in delivery_rows(analysed(store, *LONG))}
    mine = rows[TICKET]
    assert mine["net"] == Decimal("36.000")
    assert mine["readings"] == {"juice brix": Decimal("20.5"), "juice pol": Decimal("18.2"), "fibre": Decimal("14.0")}
    assert mine["ccs_uncertainty"] == pytest.approx(0.15209, abs=1e-5)
    assert {"gross mass", "juice brix", "juice pol"} == set(mine["sources"])
    fallen = [row for row in rows.values() if "no sample" in row["marks"][0]]
    assert fallen
    assert all(set(row["readings"]) == {"CCS"} for row in fallen)
    assert set(mine) == {
        "ticket", "day", "grower", "farm", "block", "net", "readings", "ccs_uncertainty", "marks", "sources"
    }  # fmt: skip


def usual_sample(store: Store) -> tuple[dict[str, Any], float]:
    """A sample as expected, and its pol with the digits before and after the point exchanged."""
    near = (pl.col("ccs") - pl.col("expected")).abs() < 0.4 * pl.col("spread")
    for row in analysed(store, *LONG).filter(near & (pl.col("day") == DAY)).iter_rows(named=True):
        tens, ones, _, tenths, rest = list(f"{row['pol']:05.2f}")
        if abs(int(ones) - int(tenths)) >= 3:
            return row, float(f"{tens}{tenths}.{ones}{rest}")
    raise AssertionError("no sample of the day serves")


def test_a_typed_error_is_proposed_accepted_and_stays_in_the_trail(store: Store) -> None:
    usual, keyed = usual_sample(store)
    ticket = usual["ticket"]
    store.correct(usual["pol_by"], keyed, "clerk", "keyed for the trial")
    asked = {each.ticket: each for each in questions(analysed(store, *LONG))}
    assert one_ticket(analysed(store, *LONG), ticket)["rung"] > 0
    meant = accept_proposal(store, asked[ticket], "chief chemist")
    assert float(meant.pol) == usual["pol"]
    assert one_ticket(analysed(store, *LONG), ticket)["own_ccs"] == pytest.approx(usual["own_ccs"])
    said = " | ".join(event.says for event in trail_of(store, DAY, ticket))
    assert f"proposal accepted: pol {usual['pol']:.2f} was keyed {keyed:.2f}" in said
    with pytest.raises(CaneRefused, match="exactly one"):
        accept_proposal(store, replace(asked[ticket], proposals=()), "x")


def test_rulings_reject_confirm_and_dispute(store: Store) -> None:
    store.rule_on_sample(DAY, TICKET, "rejected", "juice spilt", "chief chemist")
    row = row_of(store)
    assert row["rung"] > 0
    assert "rejected: juice spilt" in row["says"]
    store.rule_on_sample(DAY, TICKET, "disputed", "the grower asks for a second analysis", "cane clerk")
    row = row_of(store)
    assert (row["rung"], row["paid_ccs"]) == (0, pytest.approx(13.6055))
    pol = next(r for r in store.ticket_values(DAY, DAY) if (r.ticket, r.quantity) == (TICKET, "juice pol"))
    store.correct(pol.id, 15.5, "clerk", "read again")
    assert row_of(store)["rung"] > 0
    store.rule_on_sample(DAY, TICKET, "confirmed", "flooded corner, retained juice the same", "chief chemist")
    assert (row_of(store)["rung"], TICKET in {q.ticket for q in questions(analysed(store, *LONG))}) == (0, False)


def test_a_second_analysis_that_agrees_gives_the_mean_and_a_third_the_median(store: Store) -> None:
    at = now()
    assert enter_retest(store, DAY, TICKET, 20.5, 18.3, "auditor", at) == 1
    second = float(ccs(20.5, 18.3, 14.0))
    row = row_of(store)
    assert row["paid_ccs"] == pytest.approx((13.6055 + second) / 2)
    assert "mean of two determinations" in row["says"]
    assert set(delivery_rows(analysed(store, *LONG).filter(pl.col("ticket") == TICKET))[0]["readings"]) == {"CCS"}
    assert enter_retest(store, DAY, TICKET, 20.5, 18.4, "auditor", at) == 2
    with pytest.raises(CaneRefused, match="median counts"):
        enter_retest(store, DAY, TICKET, 20.5, 18.4, "auditor", at)
    for brix, pol in ((18.0, 20.0), (50.0, 18.0)):
        with pytest.raises(CaneRefused, match="accepted: brix 5 to 30"):
            enter_retest(store, DAY, TICKET, brix, pol, "auditor", at)
    with pytest.raises(CaneRefused, match="not stored for"):
        enter_retest(store, DAY, "no such", 20.5, 18.0, "auditor", at)


def test_analyses_far_apart_wait_for_a_third(store: Store) -> None:
    enter_retest(store, DAY, TICKET, 20.5, 17.0, "auditor", now())
    row = row_of(store)
    assert row["paid_ccs"] == pytest.approx(13.6055)
    assert "make a third" in row["says"]
    enter_retest(store, DAY, TICKET, 20.5, 18.1, "auditor", now())
    assert row_of(store)["paid_ccs"] == pytest.approx(float(ccs(20.5, 18.1, 14.0)))


def test_retained_juice_stands_for_a_missing_sample(store: Store) -> None:
    missing = analysed(store, *LONG).filter(pl.col("quality") == "missing").row(0, named=True)
    enter_retest(store, missing["day"], missing["ticket"], 20.5, 18.0, "auditor", now())
    row = one_ticket(analysed(store, *LONG), missing["ticket"])
    assert row["rung"] == 1
    assert row["paid_ccs"] == pytest.approx(float(ccs(20.5, 18.0, row["fibre"])))
    assert "retained juice read again" in row["says"]


def test_corrections_of_a_closed_day_are_refused(store: Store) -> None:
    store.close_day(DAY, "chemist", "[plant]\n", {}, {}, ())
    with pytest.raises(DayClosed):
        store.rule_on_sample(DAY, TICKET, "rejected", "late", "x")
    with pytest.raises(DayClosed):
        enter_retest(store, DAY, TICKET, 20.5, 18.0, "x", now())


def test_nothing_stored_and_unknown_tickets_are_told(store: Store) -> None:
    with pytest.raises(CaneRefused, match="no consignments are stored from 2030"):
        analysed(store, dt.date(2030, 1, 1), dt.date(2030, 1, 2))
    with pytest.raises(CaneRefused, match="nearest"):
        one_ticket(analysed(store, *LONG), TICKET + "0")
    assert delivered_days(store) == (DAY, max(store.days()))


# --- the office -------------------------------------------------------------------------------------------------------


@pytest.fixture
def books(store: Store) -> Books:
    """The books of the demo plant over these records."""
    return Books(Plant.read(Path(canewright.__file__).parent / "demo_data" / "plant.toml"), store)


def note(**changes: Any) -> dict[str, Any]:
    """A consignment note that agrees with the registers."""
    cells = good_rows(0.006).row(3, named=True)
    usual = {name: cells[name] for name in ("grower", "block", "harvest group", "carrier", "fibre class")}
    return {**usual, "ticket": "77777", "factory day": DAY} | changes


def test_a_note_is_checked_before_tipping(books: Books) -> None:
    assert check_note(books, note()) == []
    (said,) = check_note(books, note(grower="farm 999"))
    assert said.startswith("grower: found 'farm 999'")
    (said,) = check_note(books, note(ticket=TICKET))
    assert "stored already" in said
    other = "green late" if note()["fibre class"] != "green late" else "burnt mid"
    (said,) = check_note(books, note(**{"fibre class": other}))
    assert "as the block register has block" in said
    (said,) = check_note(books, note(block=""))
    assert "a block of the register" in said
    (said,) = check_note(
        books, note(**{"harvest group": "group 01" if note()["harvest group"] != "group 01" else "group 02"})
    )
    assert "another consignment" in said


def test_exchanged_notes_of_the_season_are_caught_before_tipping(books: Books) -> None:
    """Scenario: notes exchanged between two consignments, probability 0.002; caught by the harvest group."""
    cells = good_rows(0.006)
    first, second = (
        cells.row(10, named=True),
        next(r for r in cells.iter_rows(named=True) if r["harvest group"] != cells["harvest group"][10]),
    )
    exchanged = {"grower": second["grower"], "block": second["block"], "fibre class": second["fibre class"]}
    said = check_note(books, {**first, "ticket": "88888", "factory day": DAY} | exchanged)
    assert any("look whether this note belongs to another consignment" in each for each in said)


def test_costs_and_audit_of_the_books(books: Books) -> None:
    frame = season_frame(books, *LONG)
    found = quality_costs(books, frame, None)
    assert found.tonnes == pytest.approx(float(frame["net"].sum()))
    assert found.costs[0].together >= found.costs[1].together > 0
    assert found.doubt.by_chance > 0
    with pytest.raises(CaneRefused, match="delivered nothing"):
        quality_costs(books, frame, "farm 999")
    with pytest.raises(CaneRefused, match="not after the last"):
        season_frame(books, LONG[1], LONG[0])
    assert audit(books, frame).tares == ()
    yard = yard_of_day(books, DAY)
    assert yard.height > 12
    assert yard["tonnes"].min() > 0  # type: ignore[operator]  # a float column with values
    told = figure_words(frame, TICKET)
    assert told["paid_ccs"] == pytest.approx(13.6055)


def test_the_demo_files_are_imported_as_they_are_written(tmp_path: Path) -> None:
    written = {path.name for path in write_demo(tmp_path / "demo", as_keyed=False)}
    assert {"blocks.csv", "bins.csv", "season-deliveries.csv", "notes-as-written.csv", "faults.csv"} <= written
    with Store.create(tmp_path / "business", now=now) as fresh:
        read = read_folder(tmp_path / "demo" / "registers", fresh)
        assert import_registers(fresh, read, "x") > 10_000
        data = (tmp_path / "demo" / "season-deliveries.csv").read_bytes()
        whole = read_season(data, "season-deliveries.csv", known_of(fresh, SITE), SITE)
    assert whole.frame.height == pytest.approx(43_316, rel=0.001)
    assert any("writes burnt mid" in told for told in whole.notes)


def test_blank_files_have_the_headers_that_are_read() -> None:
    for name, text in blank_files().items():
        form = next(form for form in CANE_FORMATS if form.name == name)
        assert pl.read_csv(text.encode(), infer_schema=False).columns == list(form.headers)


def test_the_cane_files_document_every_column_in_known_units_with_examples_that_are_accepted() -> None:
    for form in CANE_FORMATS:
        for column in form.columns:
            assert column.says or column.name == "valid from"
            if column.unit:
                unit(column.unit)
            if column.example:
                assert not isinstance(column.read(column.example), Problem), (form.name, column.name)
