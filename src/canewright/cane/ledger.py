"""A pay run as plain data for the records, and the history that the next run follows on from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from canewright.cane.deliveries import PaymentRefused
from canewright.cane.pay_run import History, Key, PayRun
from canewright.cane.season import Season


def ledger_of(run: PayRun) -> dict[str, Any]:
    """What the run credits and charges, with exact decimals as text."""
    return {
        "number": run.number,
        "credited": [[day.isoformat(), ticket, grower, str(v)] for (day, ticket, grower), v in run.credits().items()],
        "by_hand": [[c.grower, str(c.amount)] for c in run.corrections if c.by_hand],
        "accounts": {
            name: {
                "value": str(a.value_to_date),
                "advanced": str(a.advanced_to_date),
                "carried": str(a.carried),
                "charges": [[what, str(amount)] for what, amount in a.charges],
            }
            for name, a in run.accounts.items()
        },
    }


def history_of(ledgers: Sequence[Mapping[str, Any]]) -> History:
    """What closed runs credited, in the order of their numbers."""
    credited: dict[Key, Decimal] = {}
    period_of: dict[Key, int] = {}
    by_hand: dict[str, Decimal] = {}
    charged: dict[tuple[str, str], Decimal] = {}
    to_date: dict[str, dict[str, Decimal]] = {"value": {}, "advanced": {}, "carried": {}}
    for ledger in ledgers:
        for day, ticket, grower, amount in ledger["credited"]:
            key = (dt.date.fromisoformat(day), ticket, grower)
            credited[key] = credited.get(key, Decimal(0)) + Decimal(amount)
            period_of.setdefault(key, int(ledger["number"]))
        for grower, amount in ledger["by_hand"]:
            by_hand[grower] = by_hand.get(grower, Decimal(0)) + Decimal(amount)
        for grower, account in ledger["accounts"].items():
            for what, held in to_date.items():
                held[grower] = Decimal(account[what])
            for what, amount in account["charges"]:
                charged[grower, what] = charged.get((grower, what), Decimal(0)) + Decimal(amount)
    return History(
        len(ledgers), credited, period_of, by_hand, to_date["value"], to_date["advanced"], charged, to_date["carried"]
    )


def refuse_changed(closed_with: Sequence[Season], now: Season) -> None:
    """Raise PaymentRefused where the agreement now holds other terms for a closed period than it was closed with.

    ``closed_with`` has the agreement of each closed run, in order; a change after closing belongs to the final
    settlement, or is a correction by hand.
    """
    faults = []
    for i, old in enumerate(closed_with):
        if i >= len(old.periods):  # the final settlement closes no period
            break
        period = old.periods[i]
        before = old.holding(period)
        after = now.holding(now.periods[period.number - 1]) if period.number <= len(now.periods) else {}
        for what in [*before, *(k for k in after if k not in before)]:
            was, is_now = before.get(what, "nothing"), after.get(what, "nothing")
            if was != is_now:
                faults.append(
                    f"period {period.number} is closed and was paid with {what}: {was}; found now: {is_now}. Put it "
                    "back; a price known later belongs into the final constants of its scheme"
                )
    if faults:
        raise PaymentRefused(faults)
