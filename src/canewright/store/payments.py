"""The payment records: persons, agreements, pay runs and what was done to them, corrections by hand.

A run is computed as a version; recomputed it is the next one and needs its approvals anew. Only the newest version can
be approved, and only with the approvals of two different persons can it be closed. Of a closed run nothing changes any
more.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any, Literal, TypeVar

import sqlalchemy as sa
from sqlalchemy import Connection, Row

from canewright.store.dialect import plain_json
from canewright.store.errors import BadEntry, NoSuchPerson, PayRefused, ReasonMissing
from canewright.store.records import check_name
from canewright.store.rows import insert
from canewright.store.tables import pay_act, pay_agreement, pay_correction, pay_person, pay_run

APPROVALS = 2
Act = Literal["approved", "rejected", "closed"]
Found = TypeVar("Found")
Work = Callable[[], AbstractContextManager[Connection]]


@dataclass(frozen=True)
class PayPerson:
    """A person as last recorded: rights, the grower whose statements may be seen, and the secret in hashed form."""

    name: str
    rights: tuple[str, ...]
    grower: str | None
    secret: str
    entered_by: str
    entered_at: dt.datetime
    reason: str


@dataclass(frozen=True)
class PayAgreement:
    """A version of a season's agreement as it was entered."""

    id: int
    season: str
    version: int
    text: str
    sha256: str
    by: str
    at: dt.datetime
    reason: str


@dataclass(frozen=True)
class PayAct:
    """An approval, rejection or closing: by whom, when, why."""

    act: Act
    by: str
    at: dt.datetime
    reason: str | None


@dataclass(frozen=True)
class StoredRun:
    """A version of a pay run with its agreement and what was done to it; ``content`` is as it was published."""

    id: int
    season: str
    number: int
    version: int
    agreement_id: int
    content: Mapping[str, Any]
    sha256: str
    by: str
    at: dt.datetime
    reason: str | None
    acts: tuple[PayAct, ...]

    @property
    def closed(self) -> PayAct | None:
        """The closing, if it was closed."""
        return next((a for a in self.acts if a.act == "closed"), None)

    @property
    def approvals(self) -> tuple[PayAct, ...]:
        """Who approved it; nothing once somebody rejected it."""
        return () if any(a.act == "rejected" for a in self.acts) else tuple(a for a in self.acts if a.act == "approved")

    @property
    def status(self) -> str:
        """In words: computed, rejected, approved by one or two, closed."""
        if self.closed:
            return "closed"
        if any(a.act == "rejected" for a in self.acts):
            return "rejected"
        number = len(self.approvals)
        return ("computed", "approved by one")[number] if number < APPROVALS else "approved by two"


@dataclass(frozen=True)
class PayCorrection:
    """Money credited or taken back by hand, for a run that was not closed then."""

    id: int
    season: str
    run: int
    grower: str
    period: int
    ticket: str
    amount: str
    by: str
    at: dt.datetime
    reason: str


class PayRecords:
    """What is recorded about payment. Every act is one transaction, whole or not at all."""

    def __init__(self, reading: Work, writing: Work, moment: Callable[[], dt.datetime]) -> None:
        """Made by the store, which lends its transactions and its clock."""
        self._reading = reading
        self._writing = writing
        self._moment = moment

    # --- persons ------------------------------------------------------------------------------------------------------

    def add_person(
        self, name: str, rights: Iterable[str], grower: str | None, secret: str, by: str, reason: str
    ) -> PayPerson:
        """Record a person anew; the newest record of a name holds. Raises BadEntry, ReasonMissing."""
        check_name("name of the person", name)
        check_name("name of who records the person", by)
        _need(reason, f"{name} cannot be recorded")
        row = {"name": name, "rights": sorted(rights), "grower": grower, "secret": secret, "entered_by": by}
        with self._writing() as connection:
            insert(connection, pay_person, {**row, "entered_at": self._moment(), "reason": reason})
        return self.person(name)

    def person(self, name: str) -> PayPerson:
        """A person as last recorded. Raises NoSuchPerson."""
        query = sa.select(pay_person).where(pay_person.c.name == name).order_by(pay_person.c.id.desc()).limit(1)
        with self._reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            raise NoSuchPerson(f"Nobody called '{name[:60]}' is recorded for payment.")
        return _person(row)

    def persons(self) -> tuple[PayPerson, ...]:
        """Everybody as last recorded, by name."""
        with self._reading() as connection:
            rows = connection.execute(sa.select(pay_person).order_by(pay_person.c.id)).all()
        newest = {row.name: _person(row) for row in rows}
        return tuple(newest[name] for name in sorted(newest))

    # --- agreements ---------------------------------------------------------------------------------------------------

    def add_agreement(self, season: str, text: str, by: str, reason: str) -> PayAgreement:
        """Store a season's agreement as its next version. Raises BadEntry, ReasonMissing, PayRefused when unchanged."""
        check_name("name of the season", season)
        check_name("name of who enters the agreement", by)
        _need(reason, "The agreement cannot be stored")
        sha256 = hashlib.sha256(text.encode("utf-8")).hexdigest()
        with self._writing() as connection:
            last = _agreement(connection, season)
            if last is not None and last.sha256 == sha256:
                raise PayRefused(f"The agreement of season {season} is stored already as version {last.version}.")
            version = 1 if last is None else last.version + 1
            row = {"season": season, "version": version, "text": text, "sha256": sha256, "entered_by": by}
            insert(connection, pay_agreement, {**row, "entered_at": self._moment(), "reason": reason})
            return _stored(_agreement(connection, season))

    def agreement(self, season: str) -> PayAgreement | None:
        """The newest agreement of a season."""
        with self._reading() as connection:
            return _agreement(connection, season)

    def agreements(self, season: str | None = None) -> tuple[PayAgreement, ...]:
        """Every version of every agreement, or of one season, in order."""
        query = sa.select(pay_agreement).order_by(pay_agreement.c.id)
        with self._reading() as connection:
            rows = connection.execute(query).all()
        return tuple(_agreement_of(row) for row in rows if season in (None, row.season))

    # --- runs ---------------------------------------------------------------------------------------------------------

    def add_run(
        self, season: str, number: int, agreement_id: int, content: Mapping[str, Any], by: str, reason: str | None
    ) -> StoredRun:
        """Store a computed run as its next version; earlier runs must be closed and this one not.

        Raises PayRefused, BadEntry.
        """
        check_name("name of who computes the run", by)
        try:
            text = plain_json(dict(content))
        except (TypeError, ValueError) as problem:
            raise BadEntry(f"The run cannot be kept: {problem}.") from problem
        with self._writing() as connection:
            _refuse_out_of_turn(connection, season, number)
            latest = _newest(connection, season, number)
            row = {
                "season": season,
                "number": number,
                "version": 1 if latest is None else latest.version + 1,
                "agreement_id": agreement_id,
                "content": dict(content),
                "sha256": hashlib.sha256(text.encode("utf-8")).hexdigest(),
                "entered_by": by,
                "entered_at": self._moment(),
                "reason": reason,
            }
            insert(connection, pay_run, row)
            return _stored(_newest(connection, season, number))

    def act(self, season: str, number: int, version: int, act: Act, by: str, reason: str | None = None) -> StoredRun:
        """Approve, reject or close the newest version of a run.

        Raises PayRefused for another version, a closed or rejected run, a second approval of one person, or a closing
        without the approvals of two; ReasonMissing for a rejection without a reason.
        """
        check_name("name of the person", by)
        if act == "rejected":
            _need(reason or "", f"Run {number} of season {season} cannot be rejected")
        with self._writing() as connection:
            run = _open_run(connection, season, number, version)
            _refuse_act(connection, run, act, by)
            row = {"run_id": run.id, "act": act, "entered_by": by, "entered_at": self._moment(), "reason": reason}
            insert(connection, pay_act, row)
            return _stored(_newest(connection, season, number))

    def run(self, season: str, number: int, version: int | None = None) -> StoredRun | None:
        """A run by number, its newest version or another; None when there is none."""
        with self._reading() as connection:
            return _newest(connection, season, number, version)

    def runs(self, season: str) -> tuple[StoredRun, ...]:
        """The newest version of each run of a season, in order."""
        with self._reading() as connection:
            numbers = connection.execute(
                sa.select(pay_run.c.number).where(pay_run.c.season == season).distinct().order_by(pay_run.c.number)
            ).scalars()
            found = [_newest(connection, season, number) for number in numbers.all()]
        return tuple(run for run in found if run is not None)

    def versions(self, season: str, number: int) -> tuple[StoredRun, ...]:
        """Every version of a run, oldest first."""
        query = sa.select(pay_run.c.version).where(pay_run.c.season == season, pay_run.c.number == number)
        with self._reading() as connection:
            numbers = connection.execute(query.order_by(pay_run.c.version)).scalars().all()
            found = [_newest(connection, season, number, version) for version in numbers]
        return tuple(run for run in found if run is not None)

    # --- corrections by hand ------------------------------------------------------------------------------------------

    def add_correction(
        self, season: str, run: int, grower: str, period: int, ticket: str, amount: str, by: str, reason: str
    ) -> PayCorrection:
        """Record money to credit (or, below nothing, to take back) with a run that is not closed.

        Raises PayRefused, BadEntry, ReasonMissing.
        """
        for what, text in (("grower", grower), ("name of who corrects", by)):
            check_name(what, text)
        _need(reason, "A correction cannot be recorded")
        row = {
            "season": season, "run": run, "grower": grower, "period": period, "ticket": ticket, "amount": amount,
            "entered_by": by, "reason": reason,
        }  # fmt: skip
        with self._writing() as connection:
            _refuse_out_of_turn(connection, season, run)
            number = insert(connection, pay_correction, {**row, "entered_at": self._moment()})
            stored = connection.execute(sa.select(pay_correction).where(pay_correction.c.id == number)).one()
        return _correction(stored)

    def corrections(self, season: str, run: int) -> tuple[PayCorrection, ...]:
        """The corrections by hand that belong to a run, oldest first."""
        query = sa.select(pay_correction).where(pay_correction.c.season == season, pay_correction.c.run == run)
        with self._reading() as connection:
            return tuple(_correction(row) for row in connection.execute(query.order_by(pay_correction.c.id)))


# --- questions --------------------------------------------------------------------------------------------------------


def _need(reason: str, act: str) -> None:
    if not reason.strip():
        raise ReasonMissing(f"{act} without a reason; say why.")


def _agreement(connection: Connection, season: str) -> PayAgreement | None:
    query = sa.select(pay_agreement).where(pay_agreement.c.season == season)
    row = connection.execute(query.order_by(pay_agreement.c.version.desc()).limit(1)).one_or_none()
    return None if row is None else _agreement_of(row)


def _newest(connection: Connection, season: str, number: int, version: int | None = None) -> StoredRun | None:
    query = sa.select(pay_run).where(pay_run.c.season == season, pay_run.c.number == number)
    if version is not None:
        query = query.where(pay_run.c.version == version)
    row = connection.execute(query.order_by(pay_run.c.version.desc()).limit(1)).one_or_none()
    if row is None:
        return None
    acts = connection.execute(sa.select(pay_act).where(pay_act.c.run_id == row.id).order_by(pay_act.c.id)).all()
    return StoredRun(
        row.id, row.season, row.number, row.version, row.agreement_id, row.content, row.sha256, row.entered_by,
        row.entered_at, row.reason, tuple(PayAct(a.act, a.entered_by, a.entered_at, a.reason) for a in acts),
    )  # fmt: skip


def _refuse_out_of_turn(connection: Connection, season: str, number: int) -> None:
    """Runs follow one another: the one before closed, this one open."""
    this = _newest(connection, season, number)
    if this is not None and this.closed:
        raise PayRefused(
            f"Run {number} of season {season} was closed by {this.closed.by}; nothing of it changes. A difference "
            "becomes a new line of the next run."
        )
    before = _newest(connection, season, number - 1) if number > 1 else None
    if number > 1 and (before is None or not before.closed):
        raise PayRefused(f"Run {number - 1} of season {season} is not closed; close it first.")


def _open_run(connection: Connection, season: str, number: int, version: int) -> StoredRun:
    """The newest version of a run that something can still be done to."""
    run = _newest(connection, season, number)
    what = f"Run {number} of season {season}"
    if run is None:
        raise PayRefused(f"{what} is not computed; compute it first.")
    if run.version != version:
        raise PayRefused(f"{what} was computed again since (version {run.version}); look at that version first.")
    if run.closed:
        raise PayRefused(f"{what} was closed by {run.closed.by}; nothing of it changes.")
    if run.status == "rejected":
        raise PayRefused(f"{what}, version {version}, was rejected; compute it again.")
    return run


def _refuse_act(connection: Connection, run: StoredRun, act: Act, by: str) -> None:
    what = f"run {run.number} of season {run.season}"
    if act == "approved" and any(a.by == by for a in run.approvals):
        raise PayRefused(f"{by} has approved {what} already; a second person must approve it.")
    if act != "closed":
        return
    if len({a.by for a in run.approvals}) < APPROVALS:
        names = ", ".join(a.by for a in run.approvals) or "nobody"
        raise PayRefused(f"{what} is approved by {names}; two different persons must approve it before it is closed.")
    newest = _agreement(connection, run.season)
    if newest is not None and newest.id != run.agreement_id:
        raise PayRefused(
            f"The agreement of season {run.season} has a newer version {newest.version}; compute it again."
        )
    query = sa.select(pay_correction.c.id).where(
        pay_correction.c.season == run.season, pay_correction.c.run == run.number
    )
    if set(connection.execute(query).scalars()) != set(run.content.get("by_hand", ())):
        raise PayRefused(f"A correction by hand was recorded after {what} was computed; compute it again.")


# --- rows -------------------------------------------------------------------------------------------------------------


def _stored(found: Found | None) -> Found:
    """What was just written, read again."""
    if found is None:
        raise PayRefused("What was just stored cannot be read again; check the disk.")
    return found


def _person(row: Row[Any]) -> PayPerson:
    return PayPerson(
        row.name, tuple(row.rights), row.grower, row.secret, row.entered_by, row.entered_at, row.reason
    )  # fmt: skip


def _agreement_of(row: Row[Any]) -> PayAgreement:
    return PayAgreement(
        row.id, row.season, row.version, row.text, row.sha256, row.entered_by, row.entered_at, row.reason
    )  # fmt: skip


def _correction(row: Row[Any]) -> PayCorrection:
    return PayCorrection(
        row.id, row.season, row.run, row.grower, row.period, row.ticket, row.amount, row.entered_by, row.entered_at,
        row.reason,
    )  # fmt: skip
