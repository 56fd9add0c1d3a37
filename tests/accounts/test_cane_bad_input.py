"""Files of deliveries and registers that are wrong: every bad row is named, and nothing is stored."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from accounts.cane_files import SITE, as_file, changed, good_rows, many_rows, register_files, the_registers
from canewright.accounts.cane_deliveries import import_season, known_of, read_season
from canewright.accounts.cane_notes import Known
from canewright.accounts.cane_registers import (
    RegisterRefused,
    change_from,
    correct_entry,
    entry_on,
    import_registers,
    read_folder,
    read_registers,
    register_called,
    registers_of,
)
from canewright.accounts.faults import BadRow, IntakeErrors
from canewright.store import FileAlreadyImported, RepeatedTicket, Store, StoreError

KNOWN = Known(the_registers())
NAME = "season-deliveries.csv"


def now() -> dt.datetime:
    """A standing clock."""
    return dt.datetime(2031, 12, 1, tzinfo=dt.UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A business with the registers of the district."""
    with Store.create(tmp_path, now=now) as opened:
        import_registers(opened, read_registers(register_files(), ()), "cane office")
        yield opened


def bad_rows(cells: pl.DataFrame, known: Known = KNOWN) -> tuple[BadRow, ...]:
    """Every bad row of a file with these cells."""
    with pytest.raises(IntakeErrors) as caught:
        read_season(as_file(cells), NAME, known, SITE)
    assert caught.value.total == len(caught.value.rows)
    return caught.value.rows


def test_a_good_file_is_read_whole() -> None:
    read = read_season(as_file(good_rows()), NAME, KNOWN, SITE)
    assert read.frame.height == good_rows().height
    assert read.frame["farm"].null_count() == 0
    local = dt.datetime.strptime(good_rows()["tipped"][0], "%Y-%m-%d %H:%M:%S").replace(tzinfo=SITE.zone)
    assert read.frame["tipped"][0] == local


CELLS: list[tuple[str, str | None, str]] = [
    ("grower", "farm 77", "did you mean farm 077"),
    ("grower", None, "fill in the cell"),
    ("block", "077-99", "a block of the register"),
    ("harvest group", "group 99", "a harvest group of the register"),
    ("carrier", "railway", "did you mean mill railway"),
    ("fibre class", "green lat", "did you mean green late"),
    ("factory day", "2031-13-01", "there is no such date"),
    ("factory day", "02.06.2031", "write year-month-day"),
    ("tipped", "2031-06-02 25:00", "a local date and time"),
    ("gross, t", "12,5", "write 12.5 with a decimal point"),
    ("gross, t", "-3", "a number from 0.5 to 500 t"),
    ("gross, t", "nan", "a number"),
    ("gross, t", "47520", "1000 times too large"),
    ("tare, t", None, "fill in the cell"),
    ("juice brix, %", "204", "a number from 5 to 30 %"),
    ("juice pol, %", None, "as the quality is good"),
    ("quality", "godo", "accepted: one of good, bad, missing, estimated"),
    ("fibre, %", "0.14", "0.14 looks like a fraction; write 14"),
    ("ticket", "x" * 200, "a name of up to 120 characters"),
]


@pytest.mark.parametrize(("column", "text", "says"), CELLS)
def test_a_bad_cell_is_named_by_row_and_column(column: str, text: str | None, says: str) -> None:
    cells = good_rows()
    row = 2 + cells["quality"].to_list().index("good", 40)
    found = [each for each in bad_rows(changed(cells, row, column, text)) if each.column == column]
    assert [each.row for each in found] == [row]
    assert says in str(found[0])


def test_a_repeated_ticket_a_negative_net_and_exchanged_juice() -> None:
    cells = good_rows()
    row = 2 + cells["quality"].to_list().index("good", 40)
    found = bad_rows(changed(cells, row, "ticket", cells["ticket"][3]))
    assert [(each.row, each.column) for each in found] == [(row, "ticket")]
    assert "again, first in row 5" in found[0].found
    found = bad_rows(changed(cells, row, "tare, t", "99.5"))
    assert "net -" in found[0].found
    brix, pol = cells["juice brix, %"][row - 2], cells["juice pol, %"][row - 2]
    (found_one,) = bad_rows(changed(changed(cells, row, "juice brix, %", pol), row, "juice pol, %", brix))
    assert f"brix {float(brix):.2f} and pol {float(pol):.2f} if they were exchanged" in found_one.do


def test_a_block_of_another_grower() -> None:
    cells = good_rows()
    other = next(g for g in cells["grower"] if g != cells["grower"][5])
    (found,) = bad_rows(changed(cells, 7, "grower", other))
    assert found.column == "block"
    assert f"belongs to {cells['grower'][5]}" in found.found


def test_windows_that_overlap_in_part_are_refused_and_the_same_window_is_a_pooled_sample() -> None:
    cells = good_rows()
    inside = cells["sampled from"][9][:-2] + "59"
    found = bad_rows(changed(changed(cells, 12, "sampled from", inside), 12, "sampled to", cells["sampled to"][10]))
    assert any(each.column == "sampled from" and "while juice of another" in each.found for each in found)
    pooled = changed(cells, 12, "sampled from", cells["sampled from"][9])
    pooled = changed(pooled, 12, "sampled to", cells["sampled to"][9])
    pooled = changed(pooled, 12, "tipped", cells["tipped"][9])
    read = read_season(as_file(pooled), NAME, KNOWN, SITE)
    assert any("2 consignments share a sample" in note for note in read.notes)


def test_times_out_of_order_or_outside_the_factory_day() -> None:
    cells = good_rows()
    found = bad_rows(changed(cells, 12, "arrived", "2031-06-09 10:00"))
    assert any(each.column == "tipped" and "before arrived" in each.found for each in found)
    found = bad_rows(changed(cells, 12, "factory day", "2031-06-04"))
    assert any(each.column == "tipped" and "from 06:00" in each.accepted for each in found)


def test_a_block_cut_twice() -> None:
    cells = good_rows()
    block = cells["block"][0]
    later = many_rows(60_000).filter(pl.col("factory day") == "2031-09-01").head(1)
    owner = the_registers().grower_of(block, dt.date(2031, 9, 1))
    second = later.with_columns(pl.lit(block).alias("block"), pl.lit(owner).alias("grower"))
    (found,) = bad_rows(pl.concat([cells, second]))
    assert (found.row, found.column) == (cells.height + 2, "block")
    assert "cut again" in found.found
    before = replace(KNOWN, last_of_block={block: dt.date(2031, 4, 1)})
    assert any("its last load of 2031-04-01" in each.found for each in bad_rows(cells, before))


def test_an_agreement_gap() -> None:
    files = dict(register_files())
    ended = pl.read_csv(files["agreements.csv"], infer_schema=False).with_columns(
        until=pl.when(pl.col("grower") == "farm 077").then(pl.lit("2031-06-02")).otherwise("until")
    )
    files["agreements.csv"] = ended.write_csv().encode()
    known = Known(type(KNOWN.registers)(read_registers(files, ()).new))
    cells = good_rows(0.03)
    expected = cells.filter((pl.col("grower") == "farm 077") & (pl.col("factory day") > "2031-06-02")).height
    found = bad_rows(cells, known)
    assert len(found) == expected > 0
    assert all("farm 077 without an agreement" in each.found for each in found)


def test_entries_after_closing() -> None:
    day = dt.date(2031, 6, 2)
    found = bad_rows(good_rows(0.002), replace(KNOWN, closed=[day]))
    assert len(found) == good_rows(0.002).filter(pl.col("factory day") == "2031-06-02").height
    assert all("which is closed" in each.found for each in found)


def test_a_stored_ticket_may_come_again_only_in_another_season() -> None:
    cells = good_rows(0.002)
    known = replace(KNOWN, tickets={cells["ticket"][0]: dt.date(2031, 5, 1), cells["ticket"][1]: dt.date(2030, 6, 1)})
    (found,) = bad_rows(cells, known)
    assert (found.row, found.column) == (2, "ticket")
    assert "stored already for 2031-05-01" in found.found


def test_thirty_seven_bad_rows_among_very_many_are_all_listed(store: Store) -> None:
    cells = many_rows(100_000)
    places = [2 + 2700 * n for n in range(37)]
    wrong = pl.int_range(pl.len()).is_in([p - 2 for p in places])
    text = pl.when(wrong).then(pl.lit("farm 17")).otherwise(pl.col("grower")).alias("grower")
    with pytest.raises(IntakeErrors) as caught:
        read_season(as_file(cells.with_columns(text)), NAME, known_of(store, SITE), SITE)
    assert caught.value.total == 37
    assert [each.row for each in caught.value.rows] == places
    assert all(each.do.startswith("did you mean farm 017") for each in caught.value.rows)
    assert store.days() == ()


def test_a_wrong_header_a_ragged_row_and_other_bytes() -> None:
    text = as_file(good_rows(0.002)).decode()
    for data, says in (
        (text.replace("juice brix", "brix").encode(), "juice brix, %"),
        (b"", "an empty file"),
        (text.encode("utf-16"), "not UTF-8"),
        (text.replace("\n2,", "\n2,more,", 1).encode(), "cells, one for each header"),
        (text.replace("\n2,", '\n"2,', 1).encode(), "quotation mark"),
    ):
        with pytest.raises(IntakeErrors) as caught:
            read_season(data, NAME, KNOWN, SITE)
        assert says in str(caught.value)


def test_spaces_and_blank_lines_do_no_harm() -> None:
    text = as_file(good_rows(0.002)).decode()
    lines = text.splitlines()
    spaced = [lines[0], *(line.replace(",", " , ") for line in lines[1:3]), "", *lines[3:]]
    read = read_season("\n".join(spaced).encode(), NAME, KNOWN, SITE)
    assert read.frame.height == good_rows(0.002).height
    lines[12] = lines[12].replace("farm", "firm", 1)
    with pytest.raises(IntakeErrors) as caught:
        read_season("\n".join([*lines[:4], "", "", *lines[4:]]).encode(), NAME, KNOWN, SITE)
    assert [each.row for each in caught.value.rows] == [15]


# --- storing ----------------------------------------------------------------------------------------------------------


def test_a_file_is_stored_once_and_whole(store: Store) -> None:
    data = as_file(good_rows())
    said: list[str] = []
    read = read_season(data, NAME, known_of(store, SITE), SITE)
    batches = import_season(store, read, "cane office", said.append)
    assert len(batches) == len(said) == len(store.days())
    assert sum(len(store.consignments(day)) for day in store.days()) == good_rows().height
    with pytest.raises(FileAlreadyImported):
        import_season(store, read, "cane office")
    with pytest.raises(IntakeErrors, match="stored already"):
        read_season(data, NAME, known_of(store, SITE), SITE)


def test_an_import_that_breaks_on_its_last_day_stores_nothing(store: Store) -> None:
    read = read_season(as_file(good_rows()), NAME, known_of(store, SITE), SITE)
    last = read.frame["factory day"].max()
    other = read.frame.filter(pl.col("factory day") == last).head(1)
    import_season(store, replace(read, frame=other, file=replace(read.file, sha256="f" * 64)), "cane office")
    before = store.days()
    with pytest.raises(RepeatedTicket):
        import_season(store, read, "cane office")
    assert store.days() == before == (last,)


# --- registers --------------------------------------------------------------------------------------------------------


def register_faults(name: str, text: str) -> list[str]:
    """What is said of a register file with this text, the others being right."""
    with pytest.raises(IntakeErrors) as caught:
        read_registers(dict(register_files()) | {name: text.encode()}, ())
    return [str(each) for each in caught.value.rows]


def test_register_files_are_refused_whole_with_every_bad_row() -> None:
    text = register_files()["blocks.csv"].decode()
    lines = text.splitlines()
    cells = lines[5].split(",")
    lines[5] = ",".join([cells[0], cells[1], "999", "-2", *cells[4:]])
    lines[9] = lines[8]
    lines[20] = lines[20].replace("R", "Q").replace(",P,", ",Q1,")
    said = register_faults("blocks.csv", "\n".join(lines))
    assert len(said) == 3
    assert "row 6, column 'area, ha': found -2 ha" in said[0]
    assert "column 'block': found block" in said[2]
    assert "did you mean" in said[1] or "accepted: one of P, R1" in said[1]


def test_unknown_references_offer_the_nearest() -> None:
    text = register_files()["farms.csv"].decode().replace(",farm 077,", ",farm 77,")
    said = register_faults("farms.csv", text)
    assert "found 'farm 77'; accepted: a grower of the register; did you mean farm 077" in said[0]


def test_the_same_files_again_change_nothing_and_a_contradiction_is_named(store: Store) -> None:
    again = read_registers(register_files(), store.register_entries())
    assert (again.new, again.unchanged) == ((), len(store.register_entries()))
    text = register_files()["farms.csv"].decode().replace(",group 01,", ",group 02,", 1)
    with pytest.raises(IntakeErrors, match=r"accepted: the stored group 01 \(entry \d+\)"):
        read_registers({"farms.csv": text.encode()}, store.register_entries())


def test_corrections_and_changes_are_checked_like_files(store: Store) -> None:
    entry = entry_on(store, "block", "017-1", dt.date(2031, 7, 1))
    for changes, says in (
        ({"area": "-1"}, "found -1 ha"),
        ({"farm": "17"}, "no farm on 2031-01-01; nearest: 017"),
        ({"colour": "green"}, "accepted: farm, area, variety"),
        ({"started": "soon"}, "a date such as"),
    ):
        with pytest.raises(RegisterRefused, match=says):
            correct_entry(store, entry, changes, "clerk", "wrong")
    new = correct_entry(store, entry, {"area": "12.5"}, "clerk", "measured again")
    assert (new.details or {})["area"] == 12.5
    with pytest.raises(StoreError, match="without a reason"):
        correct_entry(store, new, {"area": "13"}, "clerk", " ")
    with pytest.raises(StoreError, match=f"correct entry {new.id} instead"):
        correct_entry(store, entry, {"area": "13"}, "clerk", "again")
    change_from(store, new, dt.date(2031, 8, 20), {"crop class": "R3", "started": "2031-08-20"}, "clerk")
    held = registers_of(store)
    assert [span.details["crop class"] for span in held.spans("block", "017-1")][1] == "R3"
    assert len(store.register_history("block", "017-1")) == 3
    with pytest.raises(StoreError, match="has an entry from 2031-08-20 already"):
        change_from(store, new, dt.date(2031, 8, 20), {}, "clerk")


def test_unknown_registers_keys_and_files_are_named(store: Store, tmp_path: Path) -> None:
    with pytest.raises(RegisterRefused, match="did you mean block"):
        register_called("blok")
    with pytest.raises(RegisterRefused, match="nearest: 017-1"):
        entry_on(store, "block", "17-1", dt.date(2031, 7, 1))
    with pytest.raises(IntakeErrors, match="no register file"):
        read_folder(tmp_path / "none.csv", store)


def test_growers_without_an_agreement_are_told() -> None:
    files = dict(register_files())
    files["agreements.csv"] = b"\n".join(files["agreements.csv"].splitlines()[:-2])
    assert any("no agreement of farm 179, farm 180" in note for note in read_registers(files, ()).notes)
