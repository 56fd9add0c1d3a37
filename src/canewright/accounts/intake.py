"""The day's files in: every bad row named by file, row and column; then all of the day is stored, or nothing."""

from __future__ import annotations

import datetime as dt
import difflib
import hashlib
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from zoneinfo import ZoneInfo

from canewright.accounts.dayfiles import (
    DayFiles,
    Delivery,
    FactoryDay,
    FileReport,
    Hours,
    ImportReport,
    JuiceSample,
    PointReading,
)
from canewright.accounts.faults import LISTED, BadRow, Faults, IntakeErrors
from canewright.accounts.formats import (
    DELIVERIES,
    FORMATS,
    HOURS,
    JUICE,
    LABORATORY,
    METERS,
    PLACE_COLUMN,
    STOCKS,
    Expected,
    FileFormat,
    Problem,
    limits_in_words,
    range_hint,
    shown,
    unit_problem,
)
from canewright.accounts.importing import RUNNING, import_day, preview
from canewright.accounts.sheets import Cells, Progress, Sheet, read_sheet
from canewright.analysis.brix import corrected_brix
from canewright.analysis.polarimetry import pol_from_polarimeter
from canewright.quantity import noting_breaches
from canewright.store import ImportedFile

NAMED = 8
"""How many names a note lists before it only counts them."""
TO_BE_USED = ("good", "estimated")
UNCORRECTED = "refractometer reading"
PRISM = "temperature at the refractometer"
BRIX_BESIDE_POL = ("refractometer brix", UNCORRECTED, "spindle brix", "brix")
"""Determinations that the pol of the same sample cannot exceed."""
PLANT = "plant description"
BELOW_BRIX = "pol not above brix (purity up to 100)"
LOOK_AGAIN = "look for swapped or mistyped values"

__all__ = [
    "LISTED",
    "RUNNING",
    "BadRow",
    "DayFiles",
    "Delivery",
    "Expected",
    "FactoryDay",
    "FileReport",
    "Hours",
    "ImportReport",
    "IntakeErrors",
    "JuiceSample",
    "PointReading",
    "import_day",
    "preview",
    "read_day",
    "read_files",
]


def read_day(
    folder: Path,
    day: dt.date,
    expected: Sequence[Expected],
    cut_hour: int,
    zone: str,
    *,
    sections: Sequence[str] = (),
    progress: Progress | None = None,
) -> DayFiles:
    """Read the files of one factory day from a folder. Raises IntakeErrors with every bad row."""
    faults = Faults()
    contents: dict[str, bytes] = {}
    listing = sorted(path.name for path in folder.glob("*")) if folder.is_dir() else []
    for form in FORMATS:
        if form.name in listing:
            try:
                contents[form.name] = (folder / form.name).read_bytes()
            except OSError as trouble:
                problem = Problem(trouble.strerror or "an unreadable file", "a file that may be read", "check the file")
                faults.add(form.name, 0, "", problem)
    faults.raise_any()
    others = [name for name in listing if name.lower().endswith(".csv") and name not in contents]
    return read_files(contents, day, expected, cut_hour, zone, sections=sections, others=others, progress=progress)


def read_files(
    contents: Mapping[str, bytes],
    day: dt.date,
    expected: Sequence[Expected],
    cut_hour: int,
    zone: str,
    *,
    sections: Sequence[str] = (),
    others: Sequence[str] = (),
    progress: Progress | None = None,
) -> DayFiles:
    """Read the files of one factory day from their contents by name; ``others`` are names not to be read.

    ``sections`` are the sections hours.csv may name; empty accepts any. Raises IntakeErrors with every bad row.
    """
    faults = Faults()
    window = _window(day, cut_hour, zone)
    notes = [_stray(name) for name in (*others, *(n for n in contents if n not in {f.name for f in FORMATS}))]
    _refuse_absent(contents, others, faults, notes)
    sheets = {
        form.name: read_sheet(form, contents[form.name], window, faults, progress)
        for form in FORMATS
        if form.name in contents
    }
    none = Sheet([], None)
    deliveries = _deliveries(sheets.get(DELIVERIES.name, none), faults)
    juice = _juice(sheets.get(JUICE.name, none), sheets.get(DELIVERIES.name, none), faults)
    points = {
        form.name: _points(form, sheets.get(form.name, none), expected, faults) for form in (LABORATORY, METERS, STOCKS)
    }
    _refuse_impossible_purity(points[LABORATORY.name], faults)
    hours = _hours(sheets.get(HOURS.name, none), sections, faults)
    faults.raise_any()
    notes += _notes(sheets, deliveries, juice, points, expected)
    return DayFiles(
        day=day,
        files=tuple(_imported(name, contents[name], len(sheet.rows)) for name, sheet in sheets.items()),
        deliveries=deliveries,
        juice=juice,
        laboratory=points[LABORATORY.name],
        meters=points[METERS.name],
        stocks=points[STOCKS.name],
        hours=hours,
        notes=tuple(notes),
    )


def _window(day: dt.date, cut_hour: int, zone: str) -> FactoryDay:
    do = "correct the plant description"
    if cut_hour not in range(24):
        raise IntakeErrors([BadRow(PLANT, 0, "", f"the cut hour {cut_hour}", "a whole hour from 0 to 23", do)], 1)
    try:
        return FactoryDay(day, cut_hour, ZoneInfo(zone))
    except (KeyError, ValueError, OSError):
        found = f"the time zone '{shown(zone)}'"
        raise IntakeErrors([BadRow(PLANT, 0, "", found, "a zone name such as Etc/GMT-10", do)], 1) from None


def _imported(name: str, data: bytes, rows: int) -> ImportedFile:
    return ImportedFile(name, hashlib.sha256(data).hexdigest(), rows)


def _stray(name: str) -> str:
    near = difflib.get_close_matches(name, [form.name for form in FORMATS], 1)
    return f"{shown(name)} was not read{f'; was {near[0]} meant?' if near else ''}"


def _refuse_absent(contents: Mapping[str, bytes], others: Sequence[str], faults: Faults, notes: list[str]) -> None:
    pair = {DELIVERIES.name: JUICE.name, JUICE.name: DELIVERIES.name}
    for form in FORMATS:
        if form.name in contents:
            continue
        partner = pair.get(form.name)
        if not form.required and partner not in contents:
            notes.append(f"{form.name} is absent: {form.says}")
            continue
        near = difflib.get_close_matches(form.name, others, 1)
        hint = f"rename {near[0]} if that is the file" if near else "add the file; a header alone is accepted"
        why = "the file of every day" if form.required else f"the file together with {partner}"
        faults.add(form.name, 0, "", Problem("no such file", why, hint))


def _deliveries(sheet: Sheet, faults: Faults) -> tuple[Delivery, ...]:
    seen: dict[str, int] = {}
    made = []
    for number, row in sheet.rows:
        ticket = row["ticket"]
        _refuse_repeat(DELIVERIES, number, ticket, seen, faults)
        if row["tare"] >= row["gross"]:
            what = Problem(
                f"{row['tare']:g} t with gross {row['gross']:g} t", "a tare below the gross", "look at the note again"
            )
            faults.add(DELIVERIES.name, number, "tare, t", what)
        named = (ticket, row["grower"], row["block"], row["fibre class"], row["tip time"])
        made.append(Delivery(number, *named, row["gross"], row["tare"]))
    return tuple(made)


def _refuse_repeat(form: FileFormat, number: int, ticket: str, seen: dict[str, int], faults: Faults) -> None:
    if ticket in seen:
        what = Problem(
            f"ticket {ticket} again, first in row {seen[ticket]}", "each ticket once", "remove or correct the row"
        )
        faults.add(form.name, number, "ticket", what)
    seen.setdefault(ticket, number)


def _juice(sheet: Sheet, delivered: Sheet, faults: Faults) -> tuple[JuiceSample, ...]:
    seen: dict[str, int] = {}
    made = []
    for number, row in sheet.rows:
        _refuse_repeat(JUICE, number, row["ticket"], seen, faults)
        known = delivered.firsts
        if known is not None and row["ticket"] not in known:
            faults.add(JUICE.name, number, "ticket", _unknown(row["ticket"], known, "a ticket of deliveries.csv"))
        brix, warmth, rotation = (row[column.name] for column in JUICE.columns[2:5])
        _check_juice(number, row["quality"], [brix, warmth, rotation], faults)
        made.append(JuiceSample(number, row["ticket"], row["sample time"], brix, warmth, rotation, row["quality"]))
    return tuple(made)


def _check_juice(number: int, quality: str, values: list[float | None], faults: Faults) -> None:
    columns = [column.header for column in JUICE.columns[2:5]]
    for header, value in zip(columns, values, strict=True):
        problem = _presence(value, quality)
        if problem is not None:
            faults.add(JUICE.name, number, header, problem)
    reading, temperature, rotation = values
    if reading is None or rotation is None or quality not in TO_BE_USED:
        return
    brix = _at_20_degrees(reading, temperature)
    with noting_breaches():
        pol = float(pol_from_polarimeter(rotation, brix))
    if pol > brix:
        found = f"{rotation:g} °Z with brix {brix:.2f} at 20 °C: pol {pol:.2f}, purity {100 * pol / brix:.1f}"
        faults.add(JUICE.name, number, columns[2], Problem(found, BELOW_BRIX, LOOK_AGAIN))


def _presence(value: float | None, quality: str) -> Problem | None:
    if value is None and quality in TO_BE_USED:
        return Problem("nothing", f"a number, as the quality is {quality}", "fill in the value or give quality missing")
    if value is not None and quality == "missing":
        return Problem(f"{value:g} with quality missing", "no value", "empty the cell, or give the quality as bad")
    return None


def _unknown(found: str, known: set[str], accepted: str) -> Callable[[], Problem]:
    def describe() -> Problem:
        low = found.lower()
        near = [name for name in sorted(known) if low in name.lower() or name.lower() in low]
        near += [name for name in difflib.get_close_matches(found, sorted(known), 3, 0.5) if name not in near]
        hint = f"did you mean {' or '.join(near[:3])}" if near else f"known are {_named(sorted(known)) or 'none'}"
        return Problem(f"'{shown(found)}'", accepted, hint)

    return describe


def _points(form: FileFormat, sheet: Sheet, expected: Sequence[Expected], faults: Faults) -> tuple[PointReading, ...]:
    """The rows of a file with one determination a row, each matched with what the plant description expects."""
    mine = [each for each in expected if f"{each.file}.csv" == form.name]
    known = {(each.place, each.quantity if form is LABORATORY else ""): each for each in mine}
    seen: dict[tuple[str, str, int, dt.datetime], int] = {}
    made = []
    for number, row in sheet.rows:
        place, quantity = row[PLACE_COLUMN[form.name]], row.get("determination", "")
        point = known.get((place, quantity))
        if point is None:
            column, problem = _unknown_point(form, place, quantity, mine)
            faults.add(form.name, number, column, problem)
            continue
        key = (place, quantity, row.get("duplicate", 0), row["time"])
        if key in seen:
            what = f"{place}{', ' if quantity else ''}{quantity} again for the same time, first in row {seen[key]}"
            second = ", or give the second determination the duplicate number 2" if form is LABORATORY else ""
            hint = f"remove the row{second}"
            faults.add(form.name, number, "time", Problem(what, "each reading once", hint))
        seen.setdefault(key, number)
        _check_value(form, number, row, point, faults)
        made.append(PointReading(number, point, key[2], row["time"], row["value"], row["quality"], row["by"]))
    return tuple(made)


def _unknown_point(
    form: FileFormat, place: str, quantity: str, mine: Sequence[Expected]
) -> tuple[str, Callable[[], Problem]]:
    at_place = {each.quantity for each in mine if each.place == place}
    if at_place:
        return "determination", _unknown(quantity, at_place, f"a determination of {place} in the plant description")
    places = {each.place for each in mine}
    column = PLACE_COLUMN[form.name]
    return column, _unknown(place, places, f"a {column} of the plant description")


def _check_value(form: FileFormat, number: int, row: Cells, point: Expected, faults: Faults) -> None:
    value, quality = row["value"], row["quality"]
    problem = _presence(value, quality)
    if problem is not None:
        faults.add(form.name, number, "value", problem)
        return
    if row["unit"] != point.unit:
        faults.add(form.name, number, "unit", unit_problem(value, row["unit"], point.unit))
        return
    if value is None or quality not in TO_BE_USED:
        return
    if not point.low <= value <= point.high:
        hint = range_hint(value, point.low, point.high, point.unit, point.hint)
        accepted = f"{point.place}, {point.quantity}{limits_in_words(point.low, point.high, point.unit)}"
        faults.add(form.name, number, "value", Problem(f"{value:.12g} {point.unit}", accepted, hint))
    elif "purity" in point.quantity and value > 100:
        hint = "look for swapped or mistyped values"
        faults.add(form.name, number, "value", Problem(f"purity {value:g}", "a purity up to 100", hint))


def _refuse_impossible_purity(rows: Sequence[PointReading], faults: Faults) -> None:
    """Pol above brix in the same sample, taken at the same time."""
    samples: dict[tuple[str, dt.datetime], dict[str, float]] = {}
    used = [(row, row.value) for row in rows if row.value is not None and row.quality in TO_BE_USED]
    for row, value in used:
        sample = samples.setdefault((row.expected.place, row.time), {})
        sample[row.expected.quantity] = max(value, sample.get(row.expected.quantity, value))
    for row, value in used:
        highest = _highest_brix(row.expected.quantity, samples[row.expected.place, row.time])
        if highest is None or value <= highest:
            continue
        purity = f"purity {100 * value / highest:.1f}" if highest > 0 else "no brix at all"
        found = f"pol {value:g} with brix {highest:.4g} in {row.expected.place}: {purity}"
        faults.add(LABORATORY.name, row.row, "value", Problem(found, BELOW_BRIX, LOOK_AGAIN))


def _highest_brix(pol: str, sample: Mapping[str, float]) -> float | None:
    """The brix that this pol of a sample must not exceed; None where the sample has none or this is no pol."""
    if pol != "pol" and not pol.startswith("pol of "):
        return None
    names = BRIX_BESIDE_POL if pol == "pol" else (pol.replace("pol of ", "brix of ", 1),)
    warmth = sample.get(PRISM)
    found = [_at_20_degrees(sample[n], warmth if n == UNCORRECTED else None) for n in names if n in sample]
    return max(found, default=None)


def _at_20_degrees(reading: float, temperature: float | None) -> float:
    """A refractometer reading with the rise that its temperature explains, so that warm samples are not refused."""
    if temperature is None:
        return reading
    with noting_breaches():
        return max(reading, float(corrected_brix(reading, temperature)))


def _hours(sheet: Sheet, sections: Sequence[str], faults: Faults) -> tuple[Hours, ...]:
    made: list[Hours] = []
    for number, row in sheet.rows:
        if sections and row["section"] not in sections:
            faults.add(HOURS.name, number, "section", _unknown(row["section"], set(sections), "a section of the plant"))
        period = Hours(number, row["section"], row["from"], row["to"], row["what"])
        if period.end <= period.start:
            faults.add(
                HOURS.name, number, "to", Problem("an end not after its beginning", "a later time", "correct one")
            )
        made.append(period)
    last: dict[str, Hours] = {}
    for period in sorted(made, key=lambda each: (each.start, each.row)):
        before = last.get(period.section)
        if before is not None and period.start < before.end:
            found = f"a period of {period.section} that overlaps row {before.row}"
            faults.add(HOURS.name, period.row, "from", Problem(found, "periods one after another", "correct the times"))
        if before is None or period.end > before.end:
            last[period.section] = period
    return tuple(made)


def _notes(
    sheets: Mapping[str, Sheet],
    deliveries: Sequence[Delivery],
    juice: Sequence[JuiceSample],
    points: Mapping[str, Sequence[PointReading]],
    expected: Sequence[Expected],
) -> list[str]:
    notes = []
    for name, rows in points.items():
        there = {row.expected for row in rows}
        absent = [each for each in expected if f"{each.file}.csv" == name and each not in there]
        if absent and name in sheets:
            notes.append(f"{name} has no reading of {_named([f'{each.place} ({each.quantity})' for each in absent])}")
    sampled = {each.ticket for each in juice}
    unsampled = [each.ticket for each in deliveries if each.ticket not in sampled]
    if unsampled:
        notes.append(f"{JUICE.name} has no juice of ticket {_named(unsampled)}")
    return notes


def _named(names: Sequence[str]) -> str:
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    return f"{', '.join(names[:NAMED])}{more}"
