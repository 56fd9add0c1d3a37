"""A day's files: a good day is stored whole; every bad input is named and stores nothing."""

from __future__ import annotations

import csv
import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from canewright.accounts.formats import (
    FORMATS,
    Expected,
    TemplatesRefused,
    data_dictionary,
    write_templates,
)
from canewright.accounts.intake import (
    BadRow,
    DayFiles,
    IntakeErrors,
    import_day,
    preview,
    read_day,
    read_files,
)
from canewright.quantity import unit
from canewright.store import DayClosed, FileAlreadyImported, RepeatedTicket, Store

DAY = dt.date(2026, 7, 14)
ZONE = "Etc/GMT-10"
CUT = 6
EXPECTED = (
    Expected("laboratory", "mixed juice", "refractometer brix", "%", 8.0, 22.0),
    Expected("laboratory", "mixed juice", "pol", "%", 6.0, 20.0),
    Expected("laboratory", "cane", "fibre", "%", 8.0, 25.0),
    Expected("laboratory", "final molasses", "apparent purity", "%", 20.0, 120.0),
    Expected("laboratory", "clear juice", "pH", "pH", 5.0, 9.0, "calibrate the electrode"),
    Expected("meters", "W2", "mass", "t", 1000.0, 15000.0),
    Expected("meters", "P4", "pressure", "kPa", 8.0, 25.0),
    Expected("stocks", "raw sugar store A", "mass", "t", 0.0, 30000.0),
)
GOOD = {
    "deliveries.csv": (
        'ticket,grower,block,fibre class,tip time,"gross, t","tare, t"\n'
        "1042,farm 17,17-3,green late,2026-07-14 06:40,47.52,11.52\n"
        "1043,farm 20,20-1,burnt early,2026-07-15 05:59,48.10,11.60\n"
    ),
    "first-expressed-juice.csv": (
        'ticket,sample time,"refractometer brix, %","temperature, °C","polarimeter reading, °Z",quality\n'
        "1042,2026-07-14 06:55,20.41,27.5,75.20,good\n"
        "1043,2026-07-15 06:20,20.10,27.0,74.00,good\n"
    ),
    "laboratory.csv": (
        "time,sample,determination,duplicate,value,unit,quality,by\n"
        "2026-07-14 14:00,mixed juice,refractometer brix,1,15.12,%,good,shift chemist\n"
        "2026-07-14 14:00,mixed juice,refractometer brix,2,15.14,%,good,shift chemist\n"
        "2026-07-14 14:00,mixed juice,pol,0,13.20,%,good,shift chemist\n"
        "2026-07-15 06:00,cane,fibre,0,14.1,%,estimated,shift chemist\n"
        "2026-07-15 06:00,clear juice,pH,0,,pH,missing,shift chemist\n"
    ),
    "meters.csv": (
        "time,meter,value,unit,quality,by\n"
        "2026-07-15 06:00,W2,8412.3,t,good,shift chemist\n"
        "2026-07-14 12:00,P4,15.2,kPa,good,shift chemist\n"
        "2026-07-14 18:00,P4,99,kPa,bad,shift chemist\n"
    ),
    "stocks.csv": (
        "time,store,value,unit,quality,by\n2026-07-15 06:00,raw sugar store A,14200,t,good,sugar store clerk\n"
    ),
    "hours.csv": (
        "section,from,to,what\n"
        "mill,2026-07-14 06:00,2026-07-14 11:20,running\n"
        "mill,2026-07-14 11:20,2026-07-14 11:50,choke at the first mill\n"
    ),
}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty business."""
    with Store.create(tmp_path / "business", now=lambda: dt.datetime(2026, 7, 14, 21, tzinfo=dt.UTC)) as opened:
        yield opened


def read(**changes: str | bytes | None) -> DayFiles:
    """Read the good day with some files changed (``meters`` for meters.csv) or left out (None)."""
    contents: dict[str, bytes] = {name: text.encode() for name, text in GOOD.items()}
    for short, changed in changes.items():
        name = f"{short.replace('_', '-')}.csv"
        if changed is None:
            contents.pop(name)
        else:
            contents[name] = changed.encode() if isinstance(changed, str) else changed
    return read_files(contents, DAY, EXPECTED, CUT, ZONE, sections=("mill", "refinery"))


def with_row(name: str, row: str) -> str:
    """A good file with one more row."""
    return GOOD[f"{name}.csv"] + row + "\n"


def faults(**changes: str | bytes | None) -> tuple[BadRow, ...]:
    """The faults of a changed day."""
    with pytest.raises(IntakeErrors) as caught:
        read(**changes)
    assert caught.value.total == len(caught.value.rows)
    return caught.value.rows


def only(**changes: str | bytes | None) -> BadRow:
    """The one fault of a changed day."""
    (fault,) = faults(**changes)
    return fault


def test_a_good_day_is_stored_whole(store: Store) -> None:
    report = import_day(store, read(), "lab clerk")
    assert (report.readings, report.consignments) == (4 + 6 + 5 + 3 + 1 + 2, 2)
    assert report.batch is not None
    assert {each.name for each in report.batch.files} == set(GOOD)
    stored = {(r.place, r.quantity, r.duplicate, r.taken_at): r for r in store.readings(DAY)}
    assert len(stored) == report.readings
    tipped = dt.datetime(2026, 7, 13, 20, 40, tzinfo=dt.UTC)
    gross = stored["ticket 1042", "gross mass", 0, tipped]
    assert (gross.value, gross.unit, gross.taken_by, gross.source) == (47.52, "t", "lab clerk", "deliveries.csv row 2")
    meter = stored["W2", "mass", 0, dt.datetime(2026, 7, 14, 20, tzinfo=dt.UTC)]
    assert (meter.value, meter.taken_by, meter.source) == (8412.3, "shift chemist", "meters.csv row 2")
    stop = next(r for r in stored.values() if r.quantity == "stop: choke at the first mill")
    assert (stop.place, stop.value, stop.unit) == ("mill", 0.5, "h")
    assert [c.grower for c in store.consignments(DAY)] == ["farm 17", "farm 20"]


def test_a_preview_tells_the_same_and_stores_nothing(store: Store) -> None:
    seen = preview(store, read(), "lab clerk")
    assert store.days() == ()
    done = import_day(store, read(), "lab clerk")
    assert (seen.files, seen.readings, seen.consignments, seen.notes) == (
        done.files, done.readings, done.consignments, done.notes,
    )  # fmt: skip
    assert seen.batch is None


def test_a_day_is_read_from_its_folder(tmp_path: Path) -> None:
    for name, text in GOOD.items():
        (tmp_path / name).write_text(text, encoding="utf-8-sig")
    (tmp_path / "laboratry.csv").write_text("x", encoding="utf-8")
    files = read_day(tmp_path, DAY, EXPECTED, CUT, ZONE)
    assert [each.rows for each in files.files] == [2, 2, 5, 3, 1, 2]
    assert "laboratry.csv was not read; was laboratory.csv meant?" in files.notes


def test_columns_may_stand_in_any_order() -> None:
    rows = list(csv.reader(GOOD["stocks.csv"].splitlines()))
    turned = "\n".join(",".join(reversed(row)) for row in rows)
    assert read(stocks=turned).stocks == read().stocks


@pytest.mark.parametrize("name", ["stocks", "hours"])
def test_a_file_that_may_be_absent_is_a_note(name: str) -> None:
    notes = read(**{name: None}).notes
    assert any(note.startswith(f"{name}.csv is absent") for note in notes)


def test_deliveries_and_juice_may_both_be_absent_when_no_cane_came() -> None:
    files = read(deliveries=None, first_expressed_juice=None)
    assert files.deliveries == ()
    assert any("deliveries.csv is absent" in note for note in files.notes)


def test_readings_that_did_not_come_are_noted() -> None:
    notes = read().notes
    assert notes == ("laboratory.csv has no reading of final molasses (apparent purity)",)
    juice = "\n".join(GOOD["first-expressed-juice.csv"].splitlines()[:2])
    assert "first-expressed-juice.csv has no juice of ticket 1043" in read(first_expressed_juice=juice).notes


LAB = "2026-07-14 15:00,mixed juice,pol,0,{},{},{},shift chemist"
METER = "2026-07-14 15:00,{},{},{},{},shift chemist"
LOAD = "{},farm 3,3-1,green late,{},{},{}"
JUICE = "{},2026-07-14 09:00,{},{},{},{}"

BAD_ROWS = {
    "fibre as a fraction": (
        "laboratory", "2026-07-14 15:00,cane,fibre,0,0.14,%,good,x",
        "value", "0.14 %", "cane, fibre from 8 to 25 %", "0.14 looks like a fraction; write 14",
    ),
    "brix as a fraction": (
        "first_expressed_juice", JUICE.format("1042", "0.2041", "27", "75", "good"),
        "refractometer brix, %", "0.2041 %", "a number from 5 to 30 %", "write 20.41",
    ),
    "vacuum as negative gauge": (
        "meters", METER.format("P4", "-86", "kPa", "good"),
        "value", "-86 kPa", "P4, pressure from 8 to 25 kPa", "absolute pressure = barometer − vacuum",
    ),
    "vacuum as positive gauge": (
        "meters", METER.format("P4", "86", "kPa", "good"),
        "value", "86 kPa", "8 to 25 kPa", "(a usual barometer is 101.3 kPa), which gives about 15.3 kPa",
    ),
    "pressure below plausible": (
        "meters", METER.format("P4", "2", "kPa", "good"), "value", "2 kPa", "8 to 25 kPa", "barometer − vacuum",
    ),
    "vacuum in words": (
        "meters", METER.format("P4", "86", "kPa vacuum", "good"),
        "unit", "'kPa vacuum'", "kPa", "give absolute pressure in kPa: absolute pressure = barometer − vacuum",
    ),
    "gauge in words": ("meters", METER.format("P4", "86", "kPa g", "good"), "unit", "'kPa g'", "kPa", "absolute"),
    "another known unit": (
        "meters", METER.format("W2", "8412300", "kg", "good"),
        "unit", "8412300 kg", "t", "write 8412.3 and the unit t",
    ),
    "another known unit of a missing value": (
        "meters", METER.format("W2", "", "kg", "missing"), "unit", "'kg'", "t", "write the unit t",
    ),
    "an unknown unit": (
        "meters", METER.format("W2", "8412", "bushels", "good"), "unit", "'bushels'", "t", "give the value in t",
    ),
    "a thousand times too large": (
        "meters", METER.format("W2", "8412300", "t", "good"), "value", "8412300 t", "1000 to 15000 t", "8412.3",
    ),
    "a thousand times too small": (
        "meters", METER.format("W2", "8.4123", "t", "good"), "value", "8.4123 t", "1000 to 15000 t", "write 8412.3",
    ),
    "absurd with a hint of the plant": (
        "laboratory", "2026-07-14 15:00,clear juice,pH,0,72,pH,good,x",
        "value", "72 pH", "clear juice, pH from 5 to 9 pH", "calibrate the electrode",
    ),
    "absurd": ("laboratory", LAB.format("77", "%", "good"), "value", "77 %", "6 to 20 %", "slip again"),
    "negative": ("laboratory", LAB.format("-12", "%", "good"), "value", "-12 %", "6 to 20 %", "slip again"),
    "not a number": (
        "laboratory", LAB.format("NaN", "%", "good"), "value", "'NaN'", "a number", "give the quality as missing",
    ),
    "infinite": ("laboratory", LAB.format("inf", "%", "good"), "value", "'inf'", "a number", "quality as missing"),
    "too large to hold": ("laboratory", LAB.format("1e999", "%", "good"), "value", "'1e999'", "a number", "alone"),
    "a word": ("laboratory", LAB.format("broken", "%", "good"), "value", "'broken'", "a number", "the number alone"),
    "a number with its unit": ("laboratory", LAB.format("12.1 %", "%", "good"), "value", "'12.1 %'", "number", "alone"),
    "decimal comma in quotes": (
        "laboratory", LAB.format('"13,2"', "%", "good"), "value", "'13,2'", "a number such as 1234.5", "write 13.2",
    ),
    "decimal comma without quotes": (
        "laboratory", LAB.format("13,2", "%", "good"), "", "9 cells", "8 cells, one for each header", "not a comma",
    ),
    "thousands separator": (
        "meters", METER.format("W2", '"8,412.3"', "t", "good"), "value", "'8,412.3'", "a number", "write 8412.3",
    ),
    "thousands separator or decimal comma": (
        "meters", METER.format("W2", '"8,412"', "t", "good"), "value", "'8,412'", "a number", "or 8.412 with a decimal",
    ),
    "thousands space": (
        "meters", METER.format("W2", "8 412.3", "t", "good"), "value", "'8 412.3'", "a number", "write 8412.3",
    ),
    "no value though good": (
        "meters", METER.format("W2", "", "t", "good"), "value", "nothing", "as the quality is good", "quality missing",
    ),
    "a value though missing": (
        "meters", METER.format("W2", "8412", "t", "missing"), "value", "8412 with quality missing", "no value", "empty",
    ),
    "unknown quality": (
        "meters", METER.format("W2", "8412", "t", "OK"), "quality", "'OK'", "good, bad, missing, estimated", "words",
    ),
    "nobody": (
        "meters", "2026-07-14 15:00,W2,8412,t,good,", "by", "nothing", "a name", "fill in the cell",
    ),
    "unknown meter": (
        "meters", METER.format("W22", "8412", "t", "good"), "meter", "'W22'", "a meter of the plant", "did you mean W2",
    ),
    "unknown sample": (
        "laboratory", "2026-07-14 15:00,mixed juce,pol,0,13,%,good,x",
        "sample", "'mixed juce'", "a sample of the plant description", "did you mean mixed juice",
    ),
    "unknown determination": (
        "laboratory", "2026-07-14 15:00,mixed juice,brix,0,15,%,good,x",
        "determination", "'brix'", "a determination of mixed juice", "did you mean refractometer brix",
    ),
    "name like nothing known": (
        "stocks", "2026-07-15 06:00,xyzzy,1,t,good,x", "store", "'xyzzy'", "a store of the plant",
        "known are raw sugar store A",
    ),
    "unknown duplicate": (
        "laboratory", "2026-07-14 15:00,mixed juice,pol,3,13,%,good,x", "duplicate", "'3'", "1 or 2", "write 0, 1 or 2",
    ),
    "purity over 100": (
        "laboratory", "2026-07-14 15:00,final molasses,apparent purity,0,104,%,good,x",
        "value", "purity 104", "a purity up to 100", "swapped or mistyped",
    ),
    "tare above gross": (
        "deliveries", LOAD.format("1044", "2026-07-14 09:00", "11.5", "47.5"),
        "tare, t", "47.5 t with gross 11.5 t", "a tare below the gross", "note again",
    ),
    "gross in kg": (
        "deliveries", LOAD.format("1044", "2026-07-14 09:00", "47520", "11.5"),
        "gross, t", "47520 t", "from 0.5 to 500 t", "write 47.52",
    ),
    "repeated ticket": (
        "deliveries", LOAD.format("1042", "2026-07-14 09:00", "47.5", "11.5"),
        "ticket", "ticket 1042 again, first in row 2", "each ticket once", "remove or correct",
    ),
    "juice of an unknown ticket": (
        "first_expressed_juice", JUICE.format("1024", "20", "27", "70", "good"),
        "ticket", "'1024'", "a ticket of deliveries.csv", "did you mean 1043 or 1042",
    ),
    "no ticket": (
        "deliveries", LOAD.format("", "2026-07-14 09:00", "47.5", "11.5"), "ticket", "nothing", "a name", "fill in",
    ),
    "unprintable name": (
        "deliveries", LOAD.format("10\x0744", "2026-07-14 09:00", "47.5", "11.5"),
        "ticket", "'10?44'", "a name", "plain characters",
    ),
    "overlong name": (
        "deliveries", LOAD.format("9" * 121, "2026-07-14 09:00", "47.5", "11.5"), "ticket", "999...", "120", "one line",
    ),
    "the day before": (
        "deliveries", LOAD.format("1044", "2026-07-14 05:59", "47.5", "11.5"),
        "tip time", "'2026-07-14 05:59'", "2026-07-14 06:00 to 2026-07-15 06:00, Etc/GMT-10", "its own day",
    ),
    "tipped at the next cut": (
        "deliveries", LOAD.format("1044", "2026-07-15 06:00", "47.5", "11.5"),
        "tip time", "'2026-07-15 06:00'", "a time in the factory day 2026-07-14", "its own day",
    ),
    "the day before, given in UTC": (
        "meters", "2026-07-13T19:59Z,W2,8412,t,good,x", "time", "'2026-07-13T19:59Z'", "factory day", "its own day",
    ),
    "the day after": (
        "meters", "2026-07-15 06:01,W2,8412,t,good,x", "time", "'2026-07-15 06:01'", "factory day", "its own day",
    ),
    "a date in another order": (
        "meters", "14/07/2026 15:00,W2,8412,t,good,x", "time", "'14/07/2026 15:00'", "2026-07-14 06:30",
        "year-month-day",
    ),
    "a date alone": ("meters", "2026-07-14,W2,8412,t,good,x", "time", "'2026-07-14'", "2026-07-14 06:30", "hour"),
    "a date that is none": (
        "meters", "2026-02-30 15:00,W2,8412,t,good,x", "time", "'2026-02-30 15:00'", "date", "no such date",
    ),
    "a row twice": (
        "meters", GOOD["meters.csv"].splitlines()[1],
        "time", "W2 again for the same time, first in row 2", "each reading once", "remove the row",
    ),
    "a determination twice": (
        "laboratory", "2026-07-14 14:00,mixed juice,pol,0,13.1,%,good,x",
        "time", "mixed juice, pol again for the same time, first in row 4", "once", "duplicate number 2",
    ),
    "an unknown section": (
        "hours", "mil,2026-07-14 12:00,2026-07-14 13:00,running", "section", "'mil'", "a section", "did you mean mill",
    ),
    "a period that ends before it begins": (
        "hours", "mill,2026-07-14 14:00,2026-07-14 13:00,running", "to", "an end not after", "a later time", "correct",
    ),
    "periods that overlap": (
        "hours", "mill,2026-07-14 11:30,2026-07-14 13:00,running",
        "from", "a period of mill that overlaps row 3", "one after another", "correct the times",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("name", "row", "column", "found", "accepted", "do"), BAD_ROWS.values(), ids=list(BAD_ROWS))
def test_a_bad_row_is_named_with_what_was_found_what_is_accepted_and_what_to_do(
    store: Store, name: str, row: str, column: str, found: str, accepted: str, do: str
) -> None:
    text = with_row(name.replace("_", "-"), row)
    fault = only(**{name: text})
    number = len(text.splitlines())
    assert (fault.file, fault.row, fault.column) == (f"{name.replace('_', '-')}.csv", number, column)
    assert found in fault.found
    assert accepted in fault.accepted
    assert do in fault.do
    sentence = str(fault)
    for part in (fault.file, f"row {number}", fault.found, fault.accepted, fault.do):
        assert part in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert store.days() == ()


def test_pol_above_brix_in_the_same_sample_is_named() -> None:
    text = GOOD["laboratory.csv"].replace("13.20", "15.20")
    fault = only(laboratory=text)
    assert (fault.row, fault.column) == (4, "value")
    assert fault.found == "pol 15.2 with brix 15.14 in mixed juice: purity 100.4"
    assert fault.accepted == "pol not above brix (purity up to 100)"


def test_pol_above_brix_in_first_expressed_juice_is_named() -> None:
    fault = only(first_expressed_juice=GOOD["first-expressed-juice.csv"].replace("20.41,27.5", "18.2,20"))
    assert (fault.row, fault.column) == (2, "polarimeter reading, °Z")
    assert fault.found == "75.2 °Z with brix 18.20 at 20 °C: pol 18.24, purity 100.2"
    assert fault.accepted == "pol not above brix (purity up to 100)"


def test_warm_juice_of_high_purity_is_not_refused() -> None:
    """18.2 brix read at 27.5 °C is 18.7 at 20 °C, which a pol of 18.2 does not exceed."""
    juice = GOOD["first-expressed-juice.csv"].replace("20.41", "18.2")
    assert read(first_expressed_juice=juice).juice[0].brix == 18.2


@pytest.mark.parametrize(
    ("rows", "found"),
    [
        (("pol", "65.8", "refractometer reading", "65.2"), "pol 65.8 with brix 65.2 in melt"),
        (("pol of the purity solution", "21", "brix of the purity solution", "20"), "purity 105.0"),
        (("pol", "1", "spindle brix", "0"), "no brix at all"),
    ],
)
def test_pol_above_whichever_brix_the_method_reads_is_named(rows: tuple[str, str, str, str], found: str) -> None:
    names = (rows[0], rows[2], "temperature at the refractometer")
    points = [Expected("laboratory", "melt", name, "%" if "temp" not in name else "°C", 0, 100) for name in names]
    header, header_of_meters = (GOOD[name].splitlines()[0] for name in ("laboratory.csv", "meters.csv"))
    row = "2026-07-14 14:00,melt,{},0,{},{},good,x"
    lines = [header, row.format(rows[0], rows[1], "%"), row.format(rows[2], rows[3], "%")]

    def read_melt() -> DayFiles:
        contents = {"laboratory.csv": "\n".join(lines).encode(), "meters.csv": header_of_meters.encode()}
        return read_files(contents, DAY, points, CUT, ZONE)

    with pytest.raises(IntakeErrors, match=found):
        read_melt()
    if "refractometer" in rows[2]:
        lines.append(row.format(names[2], "30", "°C"))
        assert len(read_melt().laboratory) == 3


def test_brix_and_pol_swapped_are_refused() -> None:
    swapped = GOOD["laboratory.csv"].replace("13.20", "19").replace("15.12", "13.2").replace("15.14", "13.2")
    assert "purity 143.9" in only(laboratory=swapped).found


FILE_FAULTS = {
    "no laboratory": ({"laboratory": None}, "laboratory.csv", 0, "", "no such file", "every day", "a header alone"),
    "no meters": ({"meters": None}, "meters.csv", 0, "", "no such file", "the file of every day", "add the file"),
    "no juice": (
        {"first_expressed_juice": None},
        "first-expressed-juice.csv", 0, "", "no such file", "together with deliveries.csv", "add the file",
    ),
    "no deliveries": (
        {"deliveries": None}, "deliveries.csv", 0, "", "no such file", "together with first-expressed", "add the file",
    ),
    "empty": ({"meters": ""}, "meters.csv", 0, "", "an empty file", "a header row", "time,meter,value,unit,quality,by"),
    "blank lines only": ({"meters": "\n,,\n\n"}, "meters.csv", 0, "", "an empty file", "a header row",
    "begin the file"),
    "not UTF-8": (
        {"first_expressed_juice": GOOD["first-expressed-juice.csv"].encode("latin-1")},
        "first-expressed-juice.csv", 1, "", "byte 0xb0, which is not UTF-8", "text in UTF-8", "save the file",
    ),
    "not UTF-8 further down": (
        {"meters": GOOD["meters.csv"].encode() + b"2026-07-14 15:00,W\xe9,1,t,good,x\n"},
        "meters.csv", 5, "", "byte 0xe9", "text in UTF-8", "save the file",
    ),
    "semicolons": (
        {"meters": GOOD["meters.csv"].replace(",", ";")},
        "meters.csv", 1, "", "'time;meter;value", "separated by commas", "save the file as CSV UTF-8 with commas",
    ),
    "wrong header": (
        {"meters": GOOD["meters.csv"].replace("meter,", "metre,", 1)},
        "meters.csv", 1, "meter", "the header 'metre'", "the header 'meter'", "time,meter,value",
    ),
    "missing column": (
        {"stocks": "time,store,value,unit,quality\n"}, "stocks.csv", 1, "by", "no such column", "'by'",
        "begin the file",
    ),
    "further column": (
        {"stocks": "time,store,value,unit,quality,by,remarks\n"},
        "stocks.csv", 1, "remarks", "the further column 'remarks'", "time, store, value", "remove the column",
    ),
    "header twice": (
        {"stocks": "time,store,value,unit,quality,by,by\n"},
        "stocks.csv", 1, "by", "the header twice", "each header once", "remove one column",
    ),
    "convertible unit in the header": (
        {"deliveries": GOOD["deliveries.csv"].replace("gross, t", "gross, kg").replace("47.52", "47520")},
        "deliveries.csv", 1, "gross, t", "the header 'gross, kg'", "'gross, t'", "47520 kg in row 2 is 47.52 t",
    ),
    "convertible unit without rows": (
        {"deliveries": GOOD["deliveries.csv"].splitlines()[0].replace("gross, t", "gross, kg")},
        "deliveries.csv", 1, "gross, t", "the header 'gross, kg'", "the header 'gross, t'", "1 kg is 0.001 t",
    ),
    "unknown unit in the header": (
        {"deliveries": GOOD["deliveries.csv"].replace("gross, t", "gross, loads")},
        "deliveries.csv", 1, "gross, t", "the header 'gross, loads'", "'gross, t'", "give the column in t",
    ),
    "no unit in the header": (
        {"deliveries": GOOD["deliveries.csv"].replace('"gross, t"', "gross")},
        "deliveries.csv", 1, "gross, t", "the header 'gross' without a unit", "'gross, t'", 'write "gross, t"',
    ),
    "unclosed quotation mark": (
        {"meters": GOOD["meters.csv"] + '2026-07-14 15:00,"W2,1,t,good,x\n'},
        "meters.csv", 5, "", "a broken row", "comma-separated values", "quotation mark",
    ),
}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "file", "row", "column", "found", "accepted", "do"), FILE_FAULTS.values(), ids=list(FILE_FAULTS)
)
def test_a_bad_file_is_named_with_what_was_found_what_is_accepted_and_what_to_do(
    changes: dict[str, str | bytes | None], file: str, row: int, column: str, found: str, accepted: str, do: str
) -> None:
    fault = next(each for each in faults(**changes) if each.file == file)
    assert (fault.row, fault.column) == (row, column)
    assert found in fault.found
    assert accepted in fault.accepted
    assert do in fault.do


def test_all_faults_of_all_files_are_told_at_once() -> None:
    found = faults(
        meters=with_row("meters", "2026-07-14 15:00,W9,x,bushels,fine,"),
        laboratory=with_row("laboratory", LAB.format("0.13", "%", "good")),
        stocks="",
    )
    assert [(each.file, each.row, each.column) for each in sorted(found, key=lambda f: (f.file, f.row))] == [
        ("laboratory.csv", 7, "value"),
        ("meters.csv", 5, "value"),
        ("meters.csv", 5, "quality"),
        ("meters.csv", 5, "by"),
        ("stocks.csv", 0, ""),
    ]


def test_a_refused_load_does_not_make_its_juice_unknown() -> None:
    assert only(deliveries=GOOD["deliveries.csv"].replace("47.52", "4752")).column == "gross, t"


def test_a_bad_zone_is_told_in_one_sentence() -> None:
    for zone in ("Nowhere/Else", "../../etc/passwd", ""):
        with pytest.raises(IntakeErrors, match="correct the plant description"):
            read_files({}, DAY, EXPECTED, CUT, zone)


def test_a_bad_cut_hour_is_told_in_one_sentence() -> None:
    with pytest.raises(IntakeErrors, match="found the cut hour 24; accepted: a whole hour from 0 to 23"):
        read_files({}, DAY, EXPECTED, 24, ZONE)


def test_the_factory_day_follows_the_clock_change() -> None:
    """On 2026-10-25 the clock goes back from 02:00 to 01:00: that hour comes twice and the day has 25 hours."""
    day = dt.date(2026, 10, 24)

    def meter(moment: str) -> DayFiles:
        text = f"time,meter,value,unit,quality,by\n{moment},W2,8000,t,good,x\n"
        empty = GOOD["laboratory.csv"].splitlines()[0]
        contents = {"meters.csv": text.encode(), "laboratory.csv": empty.encode()}
        return read_files(contents, day, EXPECTED, CUT, "Europe/Lisbon")

    with pytest.raises(IntakeErrors, match=r"came twice that night.*2026-10-25 01:30\+0100 or 2026-10-25 01:30\+0000"):
        meter("2026-10-25 01:30")
    assert meter("2026-10-25 01:30+00:00").meters[0].time == dt.datetime(2026, 10, 25, 1, 30, tzinfo=dt.UTC)
    assert meter("2026-10-25 06:00").meters[0].time == dt.datetime(2026, 10, 25, 6, tzinfo=dt.UTC)
    with pytest.raises(IntakeErrors, match="which the clock change left out"):
        read_files({"meters.csv": GOOD["meters.csv"].replace("2026-07-14 12:00", "2026-03-29 01:30").encode(),
                    "laboratory.csv": b"time,sample,determination,duplicate,value,unit,quality,by\n"},
                   dt.date(2026, 3, 28), EXPECTED, CUT, "Europe/Lisbon")  # fmt: skip


def test_a_bad_meter_and_a_missing_determination_are_kept_as_such(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    kept = {(r.place, r.quality): r.value for r in store.readings(DAY) if r.quality in {"bad", "missing"}}
    assert kept == {("P4", "bad"): 99.0, ("clear juice", "missing"): None}


def test_juice_that_was_lost_is_kept_as_missing(store: Store) -> None:
    juice = GOOD["first-expressed-juice.csv"].replace("20.41,27.5,75.20,good", ",,,missing")
    import_day(store, read(first_expressed_juice=juice), "lab clerk")
    lost = [r for r in store.readings(DAY) if r.quality == "missing" and r.place == "ticket 1042"]
    assert len(lost) == 3


def test_the_same_files_twice_are_refused(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    before = store.readings(DAY)
    for act in (import_day, preview):
        with pytest.raises(FileAlreadyImported, match="Every file of 2026-07-14 was imported before, first by lab"):
            act(store, read(), "lab clerk")
    assert store.readings(DAY) == before
    assert len(store.batches(DAY)) == 1


def test_a_grown_file_adds_only_what_is_new(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    late = "2026-07-15 06:00,final molasses,apparent purity,0,36.2,%,good,shift chemist"
    report = import_day(store, read(laboratory=with_row("laboratory", late)), "lab clerk")
    (laboratory,) = [each for each in report.files if each.name == "laboratory.csv"]
    assert (laboratory.added, laboratory.unchanged, laboratory.repeated) == (1, 5, False)
    assert "meters.csv was imported before with the same contents and is passed over" in report.notes
    assert report.readings == 1
    assert len(store.readings(DAY)) == 22


def test_a_file_that_contradicts_a_stored_reading_is_refused_whole(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    before = store.readings(DAY)
    changed = with_row("meters", METER.format("W2", "8000", "t", "good")).replace("8412.3", "8421.3")
    with pytest.raises(IntakeErrors) as caught:
        import_day(store, read(meters=changed), "lab clerk")
    (fault,) = caught.value.rows
    assert (fault.file, fault.row) == ("meters.csv", 2)
    assert fault.found == "8421.3 t (good)"
    assert fault.accepted.startswith("the stored 8412.3 t (good), reading ")
    assert "correct reading" in fault.do
    assert store.readings(DAY) == before


def test_hours_that_would_count_the_same_time_twice_are_refused_whole(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    before = store.readings(DAY)
    renamed = GOOD["hours.csv"].replace("choke at the first mill", "no cane").replace("11:50", "12:10")
    with pytest.raises(IntakeErrors, match=r"row 3, column 'from': found stop: no cane.*choke at the first mill"):
        import_day(store, read(hours=renamed), "lab clerk")
    assert store.readings(DAY) == before
    later = with_row("hours", "mill,2026-07-14 11:50,2026-07-15 06:00,running")
    assert import_day(store, read(hours=later), "lab clerk").readings == 1


def test_a_file_that_contradicts_a_stored_consignment_is_refused_whole(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    with pytest.raises(IntakeErrors, match=r"found farm 18.*the stored farm 17"):
        import_day(store, read(deliveries=GOOD["deliveries.csv"].replace("farm 17", "farm 18")), "lab clerk")
    assert [c.grower for c in store.consignments(DAY)] == ["farm 17", "farm 20"]


def test_a_file_may_still_hold_what_was_corrected_since(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    meter = next(r for r in store.readings(DAY) if r.place == "W2")
    store.correct(meter.id, 8421.3, "chief chemist", "digits swapped")
    load = store.consignments(DAY)[0]
    store.correct_consignment(load.id, "cane office", "notes swapped", grower="farm 18")
    report = import_day(
        store,
        read(
            meters=with_row("meters", "2026-07-14 20:00,P4,14.8,kPa,good,x"),
            deliveries=with_row("deliveries", LOAD.format("1044", "2026-07-14 09:00", "47.5", "11.5")),
        ),
        "lab clerk",
    )
    assert (report.readings, report.consignments) == (3, 1)
    assert next(r for r in store.readings(DAY) if r.place == "W2").value == 8421.3


def test_a_ticket_of_another_day_is_refused_whole(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    later = {n: t.replace("2026-07-15", "2026-07-16").replace("2026-07-14", "2026-07-15") for n, t in GOOD.items()}
    files = read_files({n: t.encode() for n, t in later.items()}, DAY + dt.timedelta(days=1), EXPECTED, CUT, ZONE)
    with pytest.raises(RepeatedTicket, match="ticket 1042 is stored already, for 2026-07-14"):
        import_day(store, files, "lab clerk")
    assert store.days() == (DAY,)


def test_a_closed_day_takes_no_files(store: Store) -> None:
    import_day(store, read(), "lab clerk")
    store.close_day(DAY, "chief chemist", "plant", {}, {}, [])
    with pytest.raises(DayClosed):
        import_day(store, read(stocks="time,store,value,unit,quality,by\n"), "lab clerk")


def test_a_file_of_200000_rows_is_read_and_its_first_200_faults_listed(store: Store) -> None:
    start = dt.datetime(2026, 7, 14, 6)  # noqa: DTZ001
    rows = [f"{start + dt.timedelta(seconds=n * 0.4):%Y-%m-%d %H:%M:%S.%f},W2,8000,t,good,x" for n in range(200_000)]
    told: list[tuple[str, int]] = []
    header = "time,meter,value,unit,quality,by"
    contents = {"meters.csv": "\n".join([header, *rows]).encode(), "laboratory.csv": GOOD["laboratory.csv"].encode()}
    files = read_files(contents, DAY, EXPECTED, CUT, ZONE, progress=lambda name, row: told.append((name, row)))
    assert len(files.meters) == 200_000
    assert ("meters.csv", 100_000) in told
    assert told[-1] == ("meters.csv", 200_001)
    assert import_day(store, files, "lab clerk").readings == 200_005
    bad = "\n".join([header, *(row.replace("8000,t", "-1,t").replace("W2", "W1") for row in rows)])
    with pytest.raises(IntakeErrors) as caught:
        read_files(contents | {"meters.csv": bad.encode()}, DAY, EXPECTED, CUT, ZONE)
    assert (len(caught.value.rows), caught.value.total) == (200, 200_000)
    assert str(caught.value).endswith("... and 199800 more.")


CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["2026-07-14 15:00", "W2", "t", "good", "missing", "9e999", "1e-320", "0", '"', "2026-07-14T99:99"]
    ),
)


@settings(max_examples=150, deadline=None)
@given(name=st.sampled_from(sorted(GOOD)), rows=st.lists(st.lists(CELLS, max_size=9), max_size=4))
def test_whatever_is_typed_gives_faults_in_sentences_and_nothing_else(name: str, rows: list[list[str]]) -> None:
    text = GOOD[name] + "\n".join(",".join(row) for row in rows)
    contents = {other: good.encode() for other, good in GOOD.items()} | {name: text.encode("utf-8", "surrogatepass")}
    try:
        read_files(contents, DAY, EXPECTED, CUT, ZONE)
    except IntakeErrors as refused:
        for fault in refused.rows:
            assert fault.found
            assert fault.accepted
            assert fault.do
            assert str(fault).isprintable()


@settings(max_examples=100, deadline=None)
@given(name=st.sampled_from(sorted(GOOD)), data=st.binary(max_size=80))
def test_whatever_the_file_holds_gives_faults_in_sentences_and_nothing_else(name: str, data: bytes) -> None:
    contents = {other: good.encode() for other, good in GOOD.items()} | {name: data}
    with pytest.raises(IntakeErrors) as refused:
        read_files(contents, DAY, EXPECTED, CUT, ZONE)
    assert all(str(fault).isprintable() for fault in refused.value.rows)


def test_templates_filled_in_are_read_and_untouched_rows_passed_over(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    paths = write_templates(folder, EXPECTED)
    assert [path.name for path in paths] == [form.name for form in FORMATS]
    with (folder / "laboratory.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["sample"], row["determination"], row["unit"]) for row in rows] == [
        (each.place, each.quantity, each.unit) for each in EXPECTED if each.file == "laboratory"
    ]
    text = (folder / "meters.csv").read_text(encoding="utf-8-sig")
    filled = text.replace(",W2,,t,,", "2026-07-15 06:00,W2,8412.3,t,good,shift chemist")
    (folder / "meters.csv").write_text(filled, encoding="utf-8-sig")
    files = read_day(folder, DAY, EXPECTED, CUT, ZONE)
    assert [(row.expected.place, row.value) for row in files.meters] == [("W2", 8412.3)]
    assert (files.laboratory, files.deliveries) == ((), ())


def test_templates_never_overwrite(tmp_path: Path) -> None:
    (tmp_path / "meters.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(TemplatesRefused, match=r"meters.csv exist already.*nothing was written"):
        write_templates(tmp_path, EXPECTED)
    assert [path.name for path in tmp_path.iterdir()] == ["meters.csv"]


def test_the_data_dictionary_documents_every_column_in_known_units() -> None:
    pages = data_dictionary()
    assert [page["file"] for page in pages] == list(GOOD)
    for page in pages:
        assert page["says"]
        header = next(csv.reader(GOOD[page["file"]].splitlines()))
        assert [column["header"] for column in page["columns"]] == header
        for column in page["columns"]:
            assert column["says"]
            assert column["accepted"]
            unit(column["unit"] or "1")


def test_the_examples_of_the_data_dictionary_are_accepted() -> None:
    for form in FORMATS:
        for column in form.columns:
            if column.example:
                assert not hasattr(column.read(column.example), "accepted"), column
