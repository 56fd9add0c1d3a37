"""A day's files into the store: what is new, what is there already, what contradicts a stored reading."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from canewright.accounts.dayfiles import DayFiles, FileReport, ImportReport, PointReading
from canewright.accounts.faults import Faults
from canewright.accounts.formats import DELIVERIES, HOURS, JUICE, LABORATORY, METERS, STOCKS, Problem
from canewright.accounts.waters import alarms
from canewright.store import (
    Consignment,
    FileAlreadyImported,
    ImportedFile,
    NewConsignment,
    NewReading,
    Quality,
    Reading,
    Store,
)

RUNNING = "running"
"""What hours.csv says of a period without a stop, and the quantity under which such hours are stored."""
STEP = 5000
Progress = Callable[[str, int], None]


@dataclass(frozen=True)
class _Row:
    """A reading or consignment with the file and row it came from."""

    file: str
    row: int
    new: NewReading | NewConsignment


@dataclass(frozen=True)
class _Plan:
    """What an import will do."""

    files: tuple[ImportedFile, ...]
    readings: list[NewReading]
    consignments: list[NewConsignment]
    report: ImportReport


def preview(store: Store, files: DayFiles, by: str) -> ImportReport:
    """What ``import_day`` would do; nothing is stored. Raises what ``import_day`` raises for the same files."""
    return _plan(store, files, by, None).report


def import_day(store: Store, files: DayFiles, by: str, *, progress: Progress | None = None) -> ImportReport:
    """Store a day's files, all or nothing; readings stored before with the same value are passed over.

    Raises IntakeErrors for rows that contradict stored ones, FileAlreadyImported when every file was imported before,
    and the store's other errors; nothing is stored then.
    """
    plan = _plan(store, files, by, progress)
    batch = store.add_batch(files.day, by, plan.files, plan.readings, plan.consignments)
    done = plan.report
    return replace(done, batch=batch)


def _plan(store: Store, files: DayFiles, by: str, progress: Progress | None) -> _Plan:
    before = {each.sha256: batch for batch in store.batches(files.day) for each in batch.files}
    repeated = {each.name for each in files.files if each.sha256 in before}
    new_files = tuple(each for each in files.files if each.name not in repeated)
    if not new_files:
        first = min(before[each.sha256].id for each in files.files)
        batch = next(each for each in before.values() if each.id == first)
        raise FileAlreadyImported(
            f"Every file of {files.day} was imported before, first by {batch.by} on {batch.at:%Y-%m-%d %H:%M} UTC "
            f"(import {batch.id}), with the same contents. There is nothing to import; correct single readings."
        )
    added: dict[str, list[_Row]] = defaultdict(list)
    unchanged: dict[str, int] = defaultdict(int)
    faults = Faults()
    compare = _Stored(store, files)
    for number, each in enumerate(_everything(files, by)):
        if progress is not None and number and number % STEP == 0:
            progress(each.file, number)
        if each.file in repeated:
            continue
        if compare.holds(each, faults):
            unchanged[each.file] += 1
        else:
            added[each.file].append(each)
    faults.raise_any()
    return _planned(files, new_files, added, unchanged, repeated)


def _planned(
    files: DayFiles,
    new_files: tuple[ImportedFile, ...],
    added: dict[str, list[_Row]],
    unchanged: dict[str, int],
    repeated: set[str],
) -> _Plan:
    rows = [each.new for of_file in added.values() for each in of_file]
    readings = [each for each in rows if isinstance(each, NewReading)]
    consignments = [each for each in rows if isinstance(each, NewConsignment)]
    reports = tuple(
        FileReport(each.name, each.rows, len(added[each.name]), unchanged[each.name], each.name in repeated)
        for each in files.files
    )
    known = [f"{name} was imported before with the same contents and is passed over" for name in sorted(repeated)]
    spoken = alarms((*files.laboratory, *files.meters))
    report = ImportReport(
        files.day, reports, len(readings), len(consignments), (*files.notes, *known), None, tuple(spoken)
    )
    return _Plan(new_files, readings, consignments, report)


class _Stored:
    """What the store holds of the day, to compare rows with."""

    def __init__(self, store: Store, files: DayFiles) -> None:
        self._store = store
        self._standing = {reading.key(): reading for reading in store.readings(files.day)}
        self._former: dict[object, list[Reading]] = defaultdict(list)
        for reading in store.former_readings(files.day):
            self._former[reading.key()].append(reading)
        self._hours = [each for each in store.readings(files.day) if each.unit == "h" and each.value is not None]
        self._consignments = {each.ticket: each for each in store.consignments(files.day)}

    def holds(self, row: _Row, faults: Faults) -> bool:
        """Whether the row is stored already, or was before a correction; a contradiction is noted as a fault."""
        if isinstance(row.new, NewConsignment):
            return self._holds_consignment(row, row.new, faults)
        standing = self._standing.get(row.new.key())
        if standing is None:
            self._refuse_overlap(row, row.new, faults)
            return False
        told = (row.new.value, row.new.unit, row.new.quality)
        if told in [(r.value, r.unit, r.quality) for r in (standing, *self._former[row.new.key()])]:
            return True
        faults.add(
            row.file, row.row, row.new.quantity, _contradiction(_in_words(row.new), _in_words(standing), standing)
        )
        return False

    def _refuse_overlap(self, row: _Row, new: NewReading, faults: Faults) -> None:
        """A period of hours.csv that overlaps a stored one of the same section would count the time twice."""
        if row.file != HOURS.name:
            return
        end = _end(new)
        for old in self._hours:
            if old.place == new.place and new.taken_at < _end(old) and old.taken_at < end:
                stored = f"{old.quantity} from {old.taken_at:%Y-%m-%d %H:%M} UTC, {_in_words(old)}"
                found = f"{new.quantity} from {new.taken_at:%Y-%m-%d %H:%M} UTC, {_in_words(new)}"
                faults.add(row.file, row.row, "from", _contradiction(found, stored, old))
                return

    def _holds_consignment(self, row: _Row, new: NewConsignment, faults: Faults) -> bool:
        standing = self._consignments.get(new.ticket)
        if standing is None:
            return False
        told = _consignment_says(new)
        if any(told == _consignment_says(old) for old in self._store.consignment_history(standing.id)):
            return True
        faults.add(row.file, row.row, "ticket", _contradiction(told, _consignment_says(standing), standing))
        return False


def _end(period: NewReading | Reading) -> dt.datetime:
    return period.taken_at + dt.timedelta(hours=period.value or 0.0)


def _consignment_says(one: NewConsignment | Consignment) -> str:
    return f"{one.grower}, {one.block}, {one.fibre_class}, tipped {one.tip_at:%Y-%m-%d %H:%M:%S} UTC"


def _in_words(one: NewReading | Reading) -> str:
    return f"{one.quality}, no value" if one.value is None else f"{one.value:.12g} {one.unit} ({one.quality})"


def _contradiction(found: str, stored: str, standing: Reading | Consignment) -> Problem:
    kind = "reading" if isinstance(standing, Reading) else "consignment"
    accepted = f"the stored {stored}, {kind} {standing.id}"
    return Problem(found, accepted, f"if the file is right, correct {kind} {standing.id} with a reason")


def _everything(files: DayFiles, by: str) -> Iterator[_Row]:
    yield from _of_deliveries(files, by)
    yield from _of_juice(files, by)
    for name, rows in ((LABORATORY.name, files.laboratory), (METERS.name, files.meters), (STOCKS.name, files.stocks)):
        for each in rows:
            yield _Row(name, each.row, _of_point(files, name, each))
    yield from _of_hours(files, by)


def _source(file: str, row: int) -> str:
    return f"{file} row {row}"


def _of_deliveries(files: DayFiles, by: str) -> Iterator[_Row]:
    name = DELIVERIES.name
    for each in files.deliveries:
        source, place = _source(name, each.row), f"ticket {each.ticket}"
        whose = (each.ticket, each.grower, each.block, each.fibre_class)
        yield _Row(name, each.row, NewConsignment(files.day, *whose, each.tip_at, source))
        for quantity, value in (("gross mass", each.gross), ("tare mass", each.tare)):
            new = NewReading(files.day, place, quantity, value, "t", "good", each.tip_at, by, source)
            yield _Row(name, each.row, new)


def _of_juice(files: DayFiles, by: str) -> Iterator[_Row]:
    for each in files.juice:
        source, place = _source(JUICE.name, each.row), f"ticket {each.ticket}"
        values = (each.brix, each.temperature, each.polarimeter)
        for column, value in zip(JUICE.columns[2:5], values, strict=True):
            quality: Quality = "missing" if value is None else each.quality
            new = NewReading(files.day, place, column.name, value, column.unit, quality, each.sampled_at, by, source)
            yield _Row(JUICE.name, each.row, new)


def _of_point(files: DayFiles, name: str, each: PointReading) -> NewReading:
    return NewReading(
        day=files.day,
        place=each.expected.place,
        quantity=each.expected.quantity,
        value=each.value,
        unit=each.expected.unit,
        quality=each.quality,
        taken_at=each.time,
        taken_by=each.by,
        source=_source(name, each.row),
        duplicate=each.duplicate,
    )


def _of_hours(files: DayFiles, by: str) -> Iterator[_Row]:
    for each in files.hours:
        quantity = RUNNING if each.what == RUNNING else f"stop: {each.what}"
        source = _source(HOURS.name, each.row)
        new = NewReading(files.day, each.section, quantity, each.length, "h", "good", each.start, by, source)
        yield _Row(HOURS.name, each.row, new)
