"""What each grower is owed for a day's consignments, from the stored readings and under the declared scheme."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from canewright.accounts.laboratory import mean
from canewright.accounts.measuring import fibre_classes, reading_figure
from canewright.cane.consignment import ClassFibre, Consignment, ConsignmentRefused, JuiceSample
from canewright.cane.scheme import Price, Settlement, SettlementRefused, settle
from canewright.plant.description import Description
from canewright.store import Consignment as Ticket
from canewright.store import Reading

FIBRE_UNCERTAINTY = 0.5
"""Standard uncertainty of a fibre class, % of cane (from memory: 0.3-0.5 for direct analysis)."""


def price_of(description: Description) -> Price | None:
    """The terms of the season in the plant description, or None where there are none."""
    table = description.data.get("cane", {})
    if "sugar_price" not in table:
        return None
    return Price(
        str(table.get("season", "")), Decimal(str(table["sugar_price"])), Decimal(str(table.get("constant", "0.578")))
    )


def settle_day(
    description: Description, day: dt.date, tickets: Sequence[Ticket], readings: Sequence[Reading]
) -> tuple[Settlement | None, list[str]]:
    """The settlement of a day's consignments and notes on what could not be settled."""
    price = price_of(description)
    if price is None or not tickets:
        return None, []
    consignments, notes = consignments_of(description, day, tickets, readings)
    try:
        return settle(consignments, price), notes
    except SettlementRefused as error:
        return None, [*notes, f"the day's cane is not settled: {error}"]


def consignments_of(
    description: Description, day: dt.date, tickets: Sequence[Ticket], readings: Sequence[Reading]
) -> tuple[list[Consignment], list[str]]:
    """The day's consignments with masses, fibre and juice from the readings, and notes on those that make no sense."""
    notes: list[str] = []
    fibre = _class_fibre(description, readings)
    by_ticket = readings_by_ticket(readings)
    consignments = []
    for ticket in tickets:
        try:
            consignments.append(_consignment(day, ticket, by_ticket[ticket.ticket], fibre))
        except ConsignmentRefused as error:
            notes.append(f"ticket {ticket.ticket} is not settled: {error}")
        except KeyError as lacking:
            notes.append(f"ticket {ticket.ticket} is not settled: no reading of {lacking}; enter it")
    return consignments, notes


def readings_by_ticket(readings: Sequence[Reading]) -> dict[str, dict[str, Reading]]:
    """The readings of each consignment by quantity."""
    found: dict[str, dict[str, Reading]] = defaultdict(dict)
    for r in readings:
        if r.place.startswith("ticket "):
            found[r.place.removeprefix("ticket ")][r.quantity] = r
    return found


def _class_fibre(description: Description, readings: Sequence[Reading]) -> dict[str, ClassFibre]:
    found = {}
    for name, default in fibre_classes(description).items():
        mine = [
            reading_figure(r)
            for r in readings
            if r.place == f"fibre class {name}"
            and r.quantity == "fibre"
            and r.value is not None
            and r.quality == "good"
        ]
        value = mean(name, mine, "%", "mean of the day").value if mine else default
        found[name] = ClassFibre(name, float(value or default), FIBRE_UNCERTAINTY, max(len(mine), 1))
    return found


def _consignment(
    day: dt.date, ticket: Ticket, readings: Mapping[str, Reading], fibre: Mapping[str, ClassFibre]
) -> Consignment:
    if ticket.fibre_class not in fibre:
        raise ConsignmentRefused(f"fibre class '{ticket.fibre_class}' is not one of {', '.join(sorted(fibre))}")
    gross, tare = readings["gross mass"].value, readings["tare mass"].value
    return Consignment(
        ticket.ticket, day, ticket.grower, ticket.block, Decimal(str(gross)), Decimal(str(tare)),
        fibre[ticket.fibre_class], _sample(readings),
    )  # fmt: skip


def _sample(readings: Mapping[str, Reading]) -> JuiceSample | None:
    direct = [readings.get(name) for name in ("juice brix", "juice pol")]
    if all(each is not None for each in direct):
        return _direct_sample([each for each in direct if each is not None])
    brix, pol, warm = (readings.get(k) for k in ("refractometer brix", "polarimeter reading", "temperature"))
    if brix is None or pol is None or brix.value is None or pol.value is None:
        return None
    bad = [r for r in (brix, pol) if r.quality == "bad"]
    temperature = warm.value if warm is not None else None
    return JuiceSample(brix.value, pol.value, temperature, rejected_because="the sample is marked bad" if bad else "")


def _direct_sample(read: Sequence[Reading]) -> JuiceSample | None:
    """Juice whose brix and pol the laboratory gave itself."""
    brix, pol = read
    if brix.value is None or pol.value is None:
        return None
    bad = "bad" in {brix.quality, pol.quality}
    because = "the sample is marked bad" if bad else ""
    return JuiceSample(brix.value, None, rejected_because=because, juice_pol=pol.value)


def settlement_to_json(settlement: Settlement | None) -> dict[str, Any] | None:
    """Plain data for the store: lines and totals with exact decimals as text."""
    if settlement is None:
        return None
    return {
        "scheme": settlement.version,
        "season": settlement.price.season,
        "mean_ccs": str(settlement.mean_ccs) if settlement.mean_ccs is not None else None,
        "owed": str(settlement.owed),
        "owed_by_grower": {k: str(v) for k, v in sorted(settlement.owed_by_grower.items())},
        "tonnes": str(sum((line.net for line in settlement.lines), Decimal(0))),
        "lines": [
            {
                "ticket": x.ticket,
                "grower": x.grower,
                "block": x.block,
                "net": str(x.net),
                "ccs": str(x.ccs),
                "basis": x.basis,
                "price": str(x.price_per_tonne),
                "amount": str(x.amount),
                "notes": list(x.notes),
            }
            for x in settlement.lines
        ],
    }
