"""The pay office: agreements, runs computed, previewed, approved by two and closed, statements; every act by a person.

A run goes: preview (stores nothing), compute (stores a version), approve by two different persons, close. What is
closed stays; corrections of readings and corrections by hand become new lines of the next run.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from canewright.accounts.delivered import Say, deliveries_between
from canewright.accounts.pay_people import APPROVE, PREPARE, NotAllowed, Signed
from canewright.cane.deliveries import Deliveries
from canewright.cane.exposure import exposure
from canewright.cane.ledger import history_of, ledger_of, refuse_changed
from canewright.cane.pay_run import Correction, PayRun, compute
from canewright.cane.season import Season
from canewright.cane.season_reading import read_season
from canewright.cane.statements import statements
from canewright.plant.description import Description
from canewright.store import PayAgreement, PayCorrection, PayRefused, Store, StoredRun

Statement = Mapping[str, Any]


@dataclass(frozen=True)
class PayOffice:
    """The payments of one business, from its store and its plant description."""

    store: Store
    description: Description

    # --- agreements ---------------------------------------------------------------------------------------------------

    def enter_agreement(self, by: Signed, text: str, reason: str) -> PayAgreement:
        """Store a season's agreement as its next version.

        Raises NotAllowed, SeasonFaults, PaymentRefused where it holds other terms for closed periods, PayRefused.
        """
        by.need(PREPARE)
        season = read_season(text)
        refuse_changed(self._closed_with(season.name), season)
        return self.store.payments.add_agreement(season.name, text, by.name, reason)

    def season(self, name: str) -> tuple[PayAgreement, Season]:
        """The newest agreement of a season, as stored and as read. Raises PayRefused."""
        found = self.store.payments.agreement(name)
        if found is None:
            known = ", ".join(self.seasons()) or "none is stored"
            raise PayRefused(f"Season '{name[:40]}' has no agreement; known: {known}. Enter one first.")
        return found, read_season(found.text)

    def seasons(self) -> list[str]:
        """The names of the seasons that have an agreement, newest first."""
        return list(dict.fromkeys(a.season for a in reversed(self.store.payments.agreements())))

    def _closed_with(self, season: str) -> list[Season]:
        texts = {a.id: a.text for a in self.store.payments.agreements(season)}
        return [read_season(texts[run.agreement_id]) for run in self.store.payments.runs(season) if run.closed]

    # --- runs ---------------------------------------------------------------------------------------------------------

    def preview(self, by: Signed, season: str, reason: str = "", say: Say = lambda _: None) -> dict[str, Any]:
        """The next run as it would be computed now; stores nothing. Raises NotAllowed, PaymentRefused, PayRefused."""
        by.need(PREPARE)
        return self._content(season, reason, say)[1]

    def compute(self, by: Signed, season: str, reason: str = "", say: Say = lambda _: None) -> StoredRun:
        """Compute the next run and store it as a version that waits for approval.

        Raises NotAllowed, PaymentRefused, PayRefused; nothing is stored then.
        """
        by.need(PREPARE)
        agreement, content = self._content(season, reason, say)
        say("storing the run")
        return self.store.payments.add_run(
            season, int(content["number"]), agreement.id, content, by.name, reason or None
        )  # fmt: skip

    def approve(self, by: Signed, season: str, number: int, version: int) -> StoredRun:
        """Approve a version of a run. Raises NotAllowed, PayRefused."""
        by.need(APPROVE)
        return self.store.payments.act(season, number, version, "approved", by.name)

    def reject(self, by: Signed, season: str, number: int, version: int, reason: str) -> StoredRun:
        """Reject a version of a run with a reason. Raises NotAllowed, PayRefused, ReasonMissing."""
        by.need(APPROVE)
        return self.store.payments.act(season, number, version, "rejected", by.name, reason)

    def close(self, by: Signed, season: str, number: int, version: int, say: Say = lambda _: None) -> StoredRun:
        """Close a run that two approved, when it still comes to the same from the readings as they are now.

        Raises NotAllowed, PaymentRefused, PayRefused.
        """
        by.need(APPROVE)
        stored = self.run(season, number, version)
        if stored.closed is None:
            now = self._content(season, stored.reason or "", say)[1]
            if now["number"] != number or now["statements"] != stored.content["statements"]:
                raise PayRefused(
                    f"Run {number} of season {season} comes to something else than version {version} says: a reading "
                    "was corrected since. Compute it again; the approvals of this version do not hold for that."
                )
        return self.store.payments.act(season, number, version, "closed", by.name)

    def run(self, season: str, number: int, version: int | None = None) -> StoredRun:
        """A run as stored. Raises PayRefused."""
        found = self.store.payments.run(season, number, version)
        if found is None:
            raise PayRefused(f"Season '{season[:40]}' has no run {number}; compute it first.")
        return found

    def correct(
        self, by: Signed, season: str, grower: str, amount: str, reason: str, period: int, ticket: str = ""
    ) -> PayCorrection:
        """Credit (or, below nothing, take back) money by hand with the next run. Raises NotAllowed, PayRefused."""
        by.need(PREPARE)
        _, agreement = self.season(season)
        places = agreement.rounding.money
        try:
            money = Decimal(amount)
        except InvalidOperation:
            money = Decimal("NaN")
        if not money.is_finite() or not money or -int(money.as_tuple().exponent) > places:
            raise PayRefused(f"amount: found '{amount[:40]}'; accepted: $ with at most {places} decimals, not nothing.")
        if not 1 <= period <= len(agreement.periods):
            raise PayRefused(f"period: found {period}; accepted: 1 to {len(agreement.periods)}.")
        number = self._next(season)
        return self.store.payments.add_correction(season, number, grower, period, ticket, str(money), by.name, reason)

    # --- what is seen -------------------------------------------------------------------------------------------------

    def statement(self, by: Signed, season: str, number: int, grower: str, version: int | None = None) -> Statement:
        """A grower's statement as it was published; a grower gets his own and only from closed runs.

        Raises NotAllowed, PayRefused.
        """
        if not by.may_see(grower):
            raise NotAllowed(f"{by.name} may not see this statement.")
        run = self.run(season, number, version)
        if not by.may_see(None) and run.closed is None:
            raise NotAllowed(f"Run {number} of season {season} is not closed yet.")
        found: Statement | None = run.content["statements"].get(grower)
        if found is None:
            raise PayRefused(f"Run {number} of season {season} has no statement for '{grower[:60]}'.")
        return found

    def seen_runs(self, by: Signed, season: str) -> list[StoredRun]:
        """The runs a person may see: all, or for a grower the closed ones that name him."""
        runs = self.store.payments.runs(season)
        if by.may_see(None):
            return list(runs)
        return [run for run in runs if run.closed and by.grower in run.content["statements"]]

    # --- computing ----------------------------------------------------------------------------------------------------

    def _next(self, season: str) -> int:
        return sum(1 for run in self.store.payments.runs(season) if run.closed) + 1

    def _content(self, name: str, reason: str, say: Say) -> tuple[PayAgreement, dict[str, Any]]:
        """The next run as plain data."""
        agreement, season = self.season(name)
        refuse_changed(self._closed_with(name), season)
        closed = [run for run in self.store.payments.runs(name) if run.closed]
        history = history_of([run.content["ledger"] for run in closed])
        number = history.runs + 1
        period = season.periods[min(number, len(season.periods)) - 1]
        told_from = season.first if number > len(season.periods) else period.first
        rows = deliveries_between(self.store, self.description, season.first, period.last, say, told_from)
        hand = self.store.payments.corrections(name, number)
        say(f"computing run {number} from {len(rows)} consignments")
        run = compute(season, Deliveries.of(rows), history, [_by_hand(c) for c in hand], reason)
        return agreement, content_of(run) | {
            "by_hand": [c.id for c in hand],
            "agreement": agreement.version,
            "agreement_sha256": agreement.sha256,
        }


def _by_hand(stored: PayCorrection) -> Correction:
    says = f"{stored.reason} (by hand, {stored.by})"
    return Correction(stored.grower, stored.period, None, stored.ticket, Decimal(stored.amount), says, by_hand=True)


def content_of(run: PayRun) -> dict[str, Any]:
    """A run as plain data that can be stored, shown and printed again the same for good."""
    found, places = exposure(run.paid, run.season), run.season.rounding.money
    return {
        "season": run.season.name,
        "number": run.number,
        "final": run.final,
        "first": (run.period.first if run.period else run.season.first).isoformat(),
        "last": (run.period.last if run.period else run.season.last).isoformat(),
        "currency": run.season.currency,
        "consignments": len(run.paid.deliveries),
        "tonnes": str(run.paid.deliveries.net.total()),
        "value": str(run.paid.value.total()),
        "corrections": [
            [c.grower, str(c.period), c.ticket, c.day.isoformat() if c.day else "", str(c.amount), c.reason]
            for c in run.corrections
        ],
        "payable": f"{run.payable:.{places}f}",
        "growers": [
            [name, *(f"{v:.{places}f}" for v in (a.value, a.corrections, a.value_to_date, a.payable, a.carried))]
            for name, a in run.accounts.items()
        ],
        "exposure": {
            "paid": str(found.paid),
            "proceeds": None if found.proceeds is None else str(found.proceeds),
            "left": None if found.left is None else str(found.left),
            "per_recovery": None if found.per_recovery is None else str(found.per_recovery),
            "growers_share": None if found.growers_share is None else f"{found.growers_share:.4f}",
            "per_term": [[says, unit, str(amount)] for says, unit, amount in found.per_term],
            "uncertainty": None if found.uncertainty is None else f"{found.uncertainty:.2f}",
        },
        "statements": {name: as_stored(s) for name, s in statements(run)},
        "ledger": ledger_of(run),
    }


def as_stored(statement: Statement) -> dict[str, Any]:
    """A statement with lists in place of tuples, as it comes back from the records."""
    return dict(statement) | {"lines": [list(line) for line in statement["lines"]]}
