"""The checks of a day beside its reconciliation: against its past, its ledgers and its waters."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from canewright.accounts.attending import Attention
from canewright.accounts.charts import OutOfLine, PastDay, copied, line_matters, out_of_line
from canewright.accounts.ledgers import Entry, Gap, Stock, kept, ledger_matters, weighers
from canewright.accounts.measuring import STOCK
from canewright.accounts.trends import LOSS, trend_matters
from canewright.accounts.waters import water_matters
from canewright.plant.description import Description
from canewright.plant.plant import State
from canewright.plant.stocktaking import Ledger, ledgers_of, movements_of, traces_of
from canewright.store import Reading, Store

USABLE = ("good", "estimated")
AS_IT_COMES = ("cane", "first juice", "last juice", "mixed juice", "clear juice", "melted raw")
"""Roles of streams whose quality comes with the cane or the raw sugar."""


@dataclass(frozen=True)
class Checked:
    """What the checks of a day found: matters for its sheet, and the tags that are out of line."""

    matters: tuple[Attention, ...]
    out: tuple[str, ...]
    lines: tuple[OutOfLine, ...] = ()


@dataclass(frozen=True)
class Checks:
    """The checks of a business: its description and its store of readings."""

    description: Description
    store: Store
    begin: dt.date
    price: float | None

    def of(
        self, day: dt.date, read: Mapping[str, float], state: State, past: Sequence[PastDay], loss: float | None
    ) -> Checked:
        """Everything that the checks find on a day; ``past`` is in order of days and ends before it."""
        meters = self.description.meters
        today = self.store.readings(day)
        before = [r for ago in (3, 2, 1) for r in self.store.readings(day - dt.timedelta(days=ago))]
        come = {self.description.roles[role] for role in AS_IT_COMES if role in self.description.roles}
        lines = out_of_line(meters, read, past, come)
        matters = line_matters(meters, lines)
        matters += copied(meters, today, before, past)
        matters += self._waters(today, state)
        matters += self._trend(past, loss)
        for ledger in ledgers_of(self.description.data):
            matters += self._ledger(ledger, day, today)
        return Checked(tuple(matters), tuple(one.tag for one in lines), tuple(lines))

    def _waters(self, today: Sequence[Reading], state: State) -> list[Attention]:
        traces = traces_of(self.description.data)
        flows = {t.stream: state.measured(t.stream, "mass flow") for t in traces}
        hours = {t.stream: float(state.assembly.hours(t.stream, state.values)) for t in traces}
        return water_matters(traces, today, flows, hours, self.price)

    def _trend(self, past: Sequence[PastDay], loss: float | None) -> list[Attention]:
        """The trend of the boiling house's balance; its products' weighers are suspect, the greater first."""
        streams = [self.description.roles.get(role) for role in ("raw sugar", "final molasses")]
        tags = [m.tag for s in streams for m in self.description.meters if m.stream == s and m.quantity == "mass"]
        season = [p for p in past if p.day >= self.begin]
        return trend_matters(season, loss, tags) if tags else []

    # --- ledgers ----------------------------------------------------------------------------------------------------

    def _ledger(self, ledger: Ledger, day: dt.date, today: Sequence[Reading]) -> list[Attention]:
        if not any(r.place == ledger.store and r.quantity == STOCK and r.value is not None for r in today):
            return []
        entries, stocks = self.entries(ledger, day), self.stocks(ledger, day)
        scales = weighers(ledger, self.description.meters, movements_of(self.description.data))
        gaps: list[Gap] = kept(ledger, scales, entries, stocks, self.begin, day)
        return ledger_matters(ledger, scales, gaps, entries, day, self.price)

    def entries(self, ledger: Ledger, last: dt.date) -> list[Entry]:
        """What was weighed in and out from the season's first day on."""
        return [
            Entry(r.day, tag, float(r.value))
            for tag in (*ledger.receipts, *ledger.issues)
            for r in self.store.readings_of(tag, "mass", self.begin, last)
            if r.value is not None and r.quality in USABLE
        ]

    def stocks(self, ledger: Ledger, last: dt.date) -> list[Stock]:
        """The store's stock-takes from the season's first day on, one a day."""
        found = self.store.readings_of(ledger.store, STOCK, self.begin, last)
        return list(
            {r.day: Stock(r.day, float(r.value)) for r in found if r.value is not None and r.quality in USABLE}.values()
        )


def past_of(account: Mapping[str, object]) -> PastDay:
    """What a closed day left for the checks of later days."""
    day = dt.date.fromisoformat(str(account["day"]))
    meters, sheet = account.get("meters"), account.get("sheet")
    read = {m["tag"]: float(m["read"]) for m in meters if m["read"] is not None} if isinstance(meters, list) else {}
    out = account.get("out_of_line")
    losses = {
        r["name"]: (float(r["value"]), float(r["uncertainty"]))
        for r in (sheet if isinstance(sheet, list) else [])
        if r["name"] == LOSS and r["value"] is not None and r["uncertainty"] is not None
    }
    return PastDay(day, read, frozenset(out if isinstance(out, list) else ()), losses)
