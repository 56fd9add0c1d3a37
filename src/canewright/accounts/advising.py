"""Advice for a day of the books: from its reconciled state, the ranges of closed days, and what its cane costs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from canewright.accounts.growers import settle_day
from canewright.accounts.reckoning import Reckoning
from canewright.accounts.what_if import DayWhatIf, what_if_of
from canewright.plant.advising import Adviser, PlantAdvice, Question, responses_of
from canewright.plant.experience import ClosedState
from canewright.plant.handles import handles
from canewright.plant.plant import Plant
from canewright.plant.prices import Price, price_list
from canewright.store import Store

BACK = 120
"""Days back from the day asked about whose closings are looked at for ranges and responses."""


@dataclass(frozen=True)
class Advising:
    """What advice and what-if questions of one business rest on; the programme stays traced between questions."""

    plant: Plant
    store: Store
    adviser: Adviser

    def advice(
        self, reckoning: Reckoning, chosen: Collection[str] | None = None, held: Collection[str] = ()
    ) -> PlantAdvice:
        """Advice from the reckoned day, the first suspect left out; raises as ``Adviser.advise`` does."""
        asked = Question(
            reckoning.trusted, self.closed_states(reckoning.day), chosen, held, tuple(self.cane_cost(reckoning.day))
        )
        return self.adviser.advise(reckoning.trusted.state, asked)

    def what_if(self, reckoning: Reckoning) -> DayWhatIf:
        """What-if questions about the reckoned day, the first suspect left out."""
        days, trusted = self.closed_states(reckoning.day), reckoning.trusted
        listed = handles(self.plant, trusted.state, days)
        prices = [*price_list(self.plant), *self.cane_cost(reckoning.day)]
        found = responses_of(self.plant, listed, days)
        return what_if_of(self.plant, reckoning.day, trusted, prices, listed, found, self.adviser.keeping)

    def closed_states(self, day: dt.date) -> list[ClosedState]:
        """The settings that handles and responses are about, of every closed day up to this one."""
        advice = self.plant.description.data.get("advice", {})
        names = {str(t["setting"]) for key in ("moves", "responses") for t in advice.get(key, [])}
        found = []
        for closed in self.store.closed_days(day - dt.timedelta(days=BACK), day):
            if closed.status != "closed":
                continue
            values, spread = closed.state["values"], closed.state["uncertainty"]
            found.append(
                ClosedState(
                    closed.day,
                    {n: float(values[n]) for n in names if values.get(n) is not None},
                    {n: spread.get(n) for n in names},
                )
            )
        return found

    def cane_cost(self, day: dt.date) -> list[Price]:
        """What the day's cane costs, as a line of the price list: the mean price of a tonne by the day's settlement.

        Nothing where no consignment is settled, or where the price list has a price of cane itself.
        """
        description = self.plant.description
        cane = description.roles.get("cane")
        if cane is None or cane in {p.stream for p in price_list(self.plant)}:
            return []
        settled, _ = settle_day(description, day, self.store.consignments(day), self.store.readings(day))
        tonnes = sum(float(line.net) for line in settled.lines) if settled is not None else 0.0
        if settled is None or tonnes <= 0:
            return []
        return [Price("cane payment, at the day's mean price", cane, -1.0, float(settled.owed) / tonnes, "$/t")]
