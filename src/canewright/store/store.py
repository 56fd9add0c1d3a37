"""The store: the one door to what a business has recorded."""

from __future__ import annotations

import contextlib
import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError, IntegrityError

from canewright.store import (
    access,
    days,
    dialect,
    harvest_plans,
    imports,
    migrate,
    notes,
    readings,
    registers,
    seasons,
    trials,
)
from canewright.store.cane_records import (
    Access,
    NewRegisterEntry,
    Note,
    RegisterEntry,
    Ruling,
    SampleRuling,
    StoredPlan,
    TicketValue,
)
from canewright.store.errors import BadEntry, ConflictingReading, NotABusiness, StoreBusy, StoreFailed
from canewright.store.payments import PayRecords
from canewright.store.records import (
    Act,
    Batch,
    ClosedDay,
    Condition,
    Consignment,
    ImportedFile,
    NewConsignment,
    NewProposal,
    NewReading,
    PlantVersion,
    Proposal,
    Quality,
    Reading,
    Season,
)
from canewright.store.trials import NewTrial, Trial

FILE = "business.db"
"""The one file of a business, inside its folder."""


class Store:
    """The records of one business. Everything stored stays; every writing act is one transaction, whole or not at all.

    ``now`` gives the present moment with a time zone; the store reads no clock of its own.
    Every act raises a StoreError with a plain sentence when it is refused, and then nothing was stored.
    """

    def __init__(self, engine: Engine, now: Callable[[], dt.datetime]) -> None:
        """Records behind an engine whose tables are up to date; use ``open`` or ``create``."""
        self._engine = engine
        self._writer = dialect.writer(engine)
        self._now = now
        self._failure: str | None = None
        self.payments = PayRecords(self._reading, self._writing, self._moment)

    @classmethod
    def open(cls, folder: Path | str, *, now: Callable[[], dt.datetime]) -> Self:
        """Open the business of a folder; made when absent, brought up to date when older.

        Raises NotABusiness when the file is not ours, is damaged, newer, or may not be written.
        """
        file = Path(folder) / FILE
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            engine = dialect.connect_sqlite(file)
            migrate.bring_up_to_date(engine)
        except (OSError, DBAPIError) as problem:
            if dialect.is_busy(problem):
                raise StoreBusy(f"{file} is in use by another program; close that, or try again.") from problem
            cause = problem.orig if isinstance(problem, DBAPIError) else problem
            raise NotABusiness(
                f"{file} cannot be opened: {cause}. Check that the folder may be written and that the file is whole; "
                "if it is damaged, put back the newest backup."
            ) from problem
        return cls(engine, now)

    @classmethod
    def create(cls, folder: Path | str, *, now: Callable[[], dt.datetime]) -> Self:
        """Make a new business in a folder. Raises NotABusiness when there is one already."""
        if (Path(folder) / FILE).exists():
            raise NotABusiness(f"{Path(folder) / FILE} exists already; open it, or choose another folder.")
        return cls.open(folder, now=now)

    def close(self) -> None:
        """Let go of the file. The store must not be used afterwards."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        """Use in a ``with`` block."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of the file at the end of the block."""
        self.close()

    def _moment(self) -> dt.datetime:
        moment = self._now()
        if moment.tzinfo is None:
            raise BadEntry("The clock gave a time without a zone; it must be UTC.")
        return moment.astimezone(dt.UTC)

    @contextlib.contextmanager
    def _reading(self) -> Iterator[Connection]:
        try:
            with self._engine.connect() as connection:
                yield connection
        except DBAPIError as problem:
            if dialect.is_busy(problem):
                raise StoreBusy("The records are in use by another program; try again.") from problem
            raise StoreFailed(f"The records cannot be read: {problem.orig}. Check the disk.") from problem

    @contextlib.contextmanager
    def _writing(self) -> Iterator[Connection]:
        if self._failure is not None:
            raise StoreFailed(self._failure)
        try:
            with self._writer.begin() as connection:
                yield connection
        except IntegrityError as problem:
            raise ConflictingReading(f"The records refuse this: {problem.orig}. Nothing was stored.") from problem
        except DBAPIError as problem:
            if dialect.is_busy(problem):
                raise StoreBusy(
                    "Another program is writing to the records; nothing was stored. Try again."
                ) from problem
            self._failure = (
                f"A write failed: {problem.orig}. It was not stored, and nothing more is accepted. Check the disk and "
                "the free space, then open the business again and look at the last entries."
            )
            raise StoreFailed(self._failure) from problem

    def add_reading(self, new: NewReading) -> Reading:
        """Store one reading; on return it is on the disk. The same entry key sent again gives the stored reading back.

        Raises DayClosed, ConflictingReading, EntryKeyReused.
        """
        with self._writing() as connection:
            return readings.add(connection, new, self._moment())

    def add_batch(
        self,
        day: dt.date,
        by: str,
        files: Sequence[ImportedFile],
        new_readings: Sequence[NewReading] = (),
        new_consignments: Sequence[NewConsignment] = (),
    ) -> Batch:
        """Store an import of a day, all or nothing.

        Raises BadEntry, DayClosed, FileAlreadyImported, ConflictingReading, RepeatedTicket.
        """
        with self._writing() as connection:
            return imports.add(connection, day, by, files, new_readings, new_consignments, self._moment())

    def correct(
        self,
        reading_id: int,
        value: float | None,
        by: str,
        reason: str,
        *,
        quality: Quality = "good",
        entry_key: str | None = None,
    ) -> Reading:
        """Store a newer reading in place of one that stands; ``value`` None with quality missing withdraws it.

        Raises UnknownReading, AlreadyCorrected, ReasonMissing, DayClosed, BadEntry, EntryKeyReused.
        """
        with self._writing() as connection:
            return readings.correct(connection, reading_id, value, quality, by, reason, entry_key, self._moment())

    def readings(self, day: dt.date) -> tuple[Reading, ...]:
        """The readings of a day that stand, in order of time."""
        with self._reading() as connection:
            return readings.current(connection, day)

    def former_readings(self, day: dt.date) -> tuple[Reading, ...]:
        """The readings of a day that were corrected since, in order of time."""
        with self._reading() as connection:
            return readings.former(connection, day)

    def readings_of(self, place: str, quantity: str, first: dt.date, last: dt.date) -> tuple[Reading, ...]:
        """The standing readings of one place and quantity from first to last day, both included."""
        with self._reading() as connection:
            return readings.of_place(connection, place, quantity, first, last)

    def reading(self, reading_id: int) -> Reading:
        """A reading by its number, standing or not. Raises UnknownReading."""
        with self._reading() as connection:
            return readings.one(connection, reading_id)

    def history(self, reading_id: int) -> tuple[Reading, ...]:
        """A reading with all it corrects and all that correct it, oldest first. Raises UnknownReading."""
        with self._reading() as connection:
            return readings.history(connection, reading_id)

    def consignments(self, day: dt.date) -> tuple[Consignment, ...]:
        """The consignments of a day that stand, in order of tipping."""
        with self._reading() as connection:
            return imports.consignments(connection, day)

    def consignment_history(self, consignment_id: int) -> tuple[Consignment, ...]:
        """A consignment with all it corrects and all that correct it, oldest first. Raises UnknownConsignment."""
        with self._reading() as connection:
            return imports.consignment_history(connection, consignment_id)

    def correct_consignment(
        self,
        consignment_id: int,
        by: str,
        reason: str,
        *,
        grower: str | None = None,
        block: str | None = None,
        fibre_class: str | None = None,
    ) -> Consignment:
        """Store a consignment in place of one that stands; what is not given stays as it was.

        Raises UnknownConsignment, AlreadyCorrected, ReasonMissing, DayClosed, BadEntry.
        """
        given = {"grower": grower, "block": block, "fibre_class": fibre_class}
        changes = {name: text for name, text in given.items() if text is not None}
        with self._writing() as connection:
            return imports.correct_consignment(connection, consignment_id, by, reason, changes, self._moment())

    def batches(self, day: dt.date) -> tuple[Batch, ...]:
        """The imports of a day, oldest first."""
        with self._reading() as connection:
            return imports.of_day(connection, day)

    def add_days(
        self,
        by: str,
        parts: Sequence[imports.DayOfImport],
        progress: Callable[[dt.date, int], None] | None = None,
    ) -> tuple[Batch, ...]:
        """Store an import of several days, all or nothing. ``progress`` is told each day and how many are done.

        Raises BadEntry, DayClosed, FileAlreadyImported, ConflictingReading, RepeatedTicket.
        """
        with self._writing() as connection:
            return imports.add_days(connection, by, parts, self._moment(), progress)

    def consignments_between(self, first: dt.date, last: dt.date) -> tuple[Consignment, ...]:
        """The consignments from first to last day that stand, in order of tipping."""
        with self._reading() as connection:
            return imports.consignments_between(connection, first, last)

    def delivered_days(self) -> tuple[dt.date, dt.date] | None:
        """The first and last day with consignments; None when there are none."""
        with self._reading() as connection:
            return imports.delivered_days(connection)

    def ticket_values(self, first: dt.date, last: dt.date) -> list[TicketValue]:
        """The standing readings of consignments from first to last day, bare, in order of storing."""
        with self._reading() as connection:
            return readings.of_tickets(connection, first, last)

    def notes(self, first: dt.date, last: dt.date) -> tuple[Note, ...]:
        """The consignment notes from first to last day that stand."""
        with self._reading() as connection:
            return notes.between(connection, first, last)

    def correct_note(self, number: int, changes: Mapping[str, Any], by: str, reason: str) -> Note:
        """Store a consignment note in place of one that stands; what is not given stays as it was.

        Raises UnknownEntry, ReasonMissing, AlreadyCorrected, DayClosed, BadEntry.
        """
        with self._writing() as connection:
            return notes.correct(connection, number, dict(changes), by, reason, self._moment())

    def rule_on_sample(self, day: dt.date, ticket: str, ruling: Ruling, says: str, by: str) -> SampleRuling:
        """Store what a person decided about the sample of a ticket. Raises BadEntry, DayClosed."""
        with self._writing() as connection:
            return notes.rule(connection, day, ticket, ruling, says, by, self._moment())

    def rulings(self, first: dt.date, last: dt.date) -> tuple[SampleRuling, ...]:
        """Every ruling on samples from first to last day, oldest first."""
        with self._reading() as connection:
            return notes.rulings(connection, first, last)

    def add_register_entries(self, new: Sequence[NewRegisterEntry], by: str) -> int:
        """Store entries of registers, all or none; gives how many. Raises BadEntry, ConflictingReading."""
        with self._writing() as connection:
            return registers.add(connection, new, by, self._moment())

    def register_entries(self, register: str | None = None) -> tuple[RegisterEntry, ...]:
        """The standing entries of one register or of all, by key and the day from which they hold."""
        with self._reading() as connection:
            return registers.standing(connection, register)

    def register_history(self, register: str, key: str) -> tuple[RegisterEntry, ...]:
        """Every entry of a key, corrected ones too, in order of entering. Raises UnknownEntry."""
        with self._reading() as connection:
            return registers.history(connection, register, key)

    def register_entry(self, number: int) -> RegisterEntry:
        """An entry of a register by its number, standing or not. Raises UnknownEntry."""
        with self._reading() as connection:
            return registers.one(connection, number)

    def correct_register_entry(
        self, number: int, valid_from: dt.date, details: Mapping[str, Any] | None, by: str, reason: str
    ) -> RegisterEntry:
        """Store an entry in place of one that stands; ``details`` None takes the key out from that day on.

        Raises UnknownEntry, ReasonMissing, AlreadyCorrected, ConflictingReading, BadEntry.
        """
        with self._writing() as connection:
            return registers.correct(connection, number, valid_from, details, by, reason, self._moment())

    def add_harvest_plan(
        self, season: str, made_for: dt.date, body: Mapping[str, Any], by: str, reason: str | None
    ) -> StoredPlan:
        """Store a harvest plan, in place of the one that stands if there is one. Raises ReasonMissing, BadEntry."""
        with self._writing() as connection:
            return harvest_plans.add(connection, season, made_for, body, by, reason, self._moment())

    def harvest_plans(self, season: str) -> tuple[StoredPlan, ...]:
        """Every harvest plan of a season, the standing one last."""
        with self._reading() as connection:
            return harvest_plans.of_season(connection, season)

    def newest(self) -> tuple[int, ...]:
        """A mark that moves whenever anything about cane is stored: the newest number of each of its tables."""
        with self._reading() as connection:
            return notes.newest(connection)

    def grant_access(self, grower: str, given_to: str, key: str, by: str) -> Access:
        """Keep the hash of a key that opens one grower's own pages. Raises BadEntry."""
        with self._writing() as connection:
            return access.grant(connection, grower, given_to, key, by, self._moment())

    def withdraw_access(self, number: int, by: str, reason: str) -> None:
        """End an access; it stays on record. Raises UnknownEntry, ReasonMissing, AlreadyCorrected."""
        with self._writing() as connection:
            access.withdraw(connection, number, by, reason, self._moment())

    def accesses(self) -> tuple[Access, ...]:
        """Every access ever given, oldest first."""
        with self._reading() as connection:
            return access.listed(connection)

    def access_opened_by(self, key: str) -> Access | None:
        """The access that a key opens; None for a wrong or withdrawn key."""
        with self._reading() as connection:
            return access.opened_by(connection, key)

    def close_day(
        self,
        day: dt.date,
        by: str,
        plant_text: str,
        figures: Mapping[str, Any],
        state: Mapping[str, Any],
        readings_used: Sequence[int],
        *,
        reason: str | None = None,
    ) -> ClosedDay:
        """Store a closing of the day as its next version. Figures and state are plain data that JSON can hold.

        Raises DayClosed, UnknownReading, ReadingsChanged, BadEntry.
        """
        closing = days.Closing(day, by, plant_text, figures, state, readings_used, reason)
        with self._writing() as connection:
            return days.close(connection, closing, self._moment())

    def reopen_day(self, day: dt.date, by: str, reason: str) -> ClosedDay:
        """Open a closed day again; its closing stays readable and is given back, marked as reopened.

        Raises NothingToReopen, ReasonMissing, BadEntry.
        """
        with self._writing() as connection:
            return days.reopen(connection, day, by, reason, self._moment())

    def add_season(
        self,
        first: dt.date,
        last: dt.date,
        by: str,
        plant_text: str,
        course: Mapping[str, Any],
        proposals: Sequence[NewProposal] = (),
    ) -> Season:
        """Store a season as it was smoothed with the corrections that it proposes; no closed day is touched.

        Raises BadEntry.
        """
        with self._writing() as connection:
            return seasons.add(connection, (first, last), by, plant_text, dict(course), proposals, self._moment())

    def season(self, number: int | None = None) -> Season | None:
        """A smoothed season by its number, else the newest; None when there is none."""
        with self._reading() as connection:
            return seasons.newest(connection, number)

    def proposals(self, day: dt.date | None = None) -> tuple[Proposal, ...]:
        """Every proposed correction, or those of a day, oldest first, with how it stands and who decided what."""
        with self._reading() as connection:
            return seasons.proposals(connection, day)

    def proposal(self, number: int) -> Proposal:
        """A proposed correction by its number. Raises UnknownProposal."""
        with self._reading() as connection:
            return seasons.one(connection, number)

    def knowledge(self, day: dt.date) -> Proposal | None:
        """The accepted proposal whose knowledge counts for a day; None where there is none."""
        with self._reading() as connection:
            return seasons.in_force(connection, day)

    def decide(self, number: int, act: Act, by: str, reason: str, again: days.Closing | None = None) -> Proposal:
        """Record what a person decides on a proposal; ``again`` closes its day anew in the same act.

        Raises UnknownProposal, CannotDecide, ReasonMissing, BadEntry, and what closing a day raises.
        """
        with self._writing() as connection:
            return seasons.decide(connection, number, act, by, reason, again, self._moment())

    def is_closed(self, day: dt.date) -> bool:
        """Whether a closing of the day stands."""
        with self._reading() as connection:
            return days.is_closed(connection, day)

    def closed(self, day: dt.date, version: int | None = None) -> ClosedDay | None:
        """A closing of the day by version, or the newest, even if reopened since; None when there is none."""
        with self._reading() as connection:
            return days.closed(connection, day, version)

    def closings(self, day: dt.date) -> tuple[ClosedDay, ...]:
        """Every closing of a day, oldest first."""
        with self._reading() as connection:
            return days.versions(connection, day)

    def closed_days(self, first: dt.date, last: dt.date) -> tuple[ClosedDay, ...]:
        """The newest closing of each day from first to last, both included; ``reopened`` marks those that fell."""
        with self._reading() as connection:
            return days.closed_days(connection, first, last)

    def days(self) -> tuple[dt.date, ...]:
        """Every day of which anything is stored, in order."""
        with self._reading() as connection:
            return days.days(connection)

    def plant_versions(self) -> tuple[PlantVersion, ...]:
        """Every plant description a day was closed with, in order of first use."""
        with self._reading() as connection:
            return days.plant_versions(connection)

    def keep_trial(self, new: NewTrial, note: str = "") -> Trial:
        """Keep a trial with a first note, if any. Raises BadEntry."""
        with self._writing() as connection:
            return trials.keep(connection, new, note, self._moment())

    def note_trial(self, number: int, by: str, text: str) -> Trial:
        """Add a note to a kept trial, which is given back whole. Raises UnknownTrial, BadEntry."""
        with self._writing() as connection:
            return trials.add_note(connection, number, by, text, self._moment())

    def trial(self, number: int) -> Trial:
        """A kept trial by its number. Raises UnknownTrial."""
        with self._reading() as connection:
            return trials.one(connection, number)

    def trials(self, day: dt.date | None = None) -> tuple[Trial, ...]:
        """Every kept trial, the newest first; of one day where asked."""
        with self._reading() as connection:
            return trials.listed(connection, day)

    def condition(self) -> Condition:
        """How the records are kept, and whether the file is whole (reads all of it)."""
        with self._reading() as connection:
            step = migrate.revision(connection) or "none"
            return Condition(**dialect.condition(connection), revision=step, faults=dialect.faults(connection))
