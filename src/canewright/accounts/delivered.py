"""Deliveries of a season from the stored readings, as payment takes them: raw readings, never reconciled values."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from decimal import Decimal

from canewright.accounts.growers import consignments_of, readings_by_ticket
from canewright.cane.consignment import Consignment, analyse, ccs_of_consignment
from canewright.cane.deliveries import Delivery, PaymentRefused
from canewright.cane.rounding import Rounding, rounded
from canewright.cane.scheme import PaidOn, Rung, SettlementRefused, ccs_paid_on
from canewright.cane.schemes.readings import CCS, FIBRE, JUICE_BRIX, JUICE_POL
from canewright.plant.description import Description
from canewright.store import Reading, Store

READ_PLACES = 6
"""Decimals kept of a figure that a laboratory formula gives; all a payment formula can tell apart and more."""
Say = Callable[[str], None]


def deliveries_between(
    store: Store,
    description: Description,
    first: dt.date,
    last: dt.date,
    say: Say = lambda _: None,
    told_from: dt.date | None = None,
) -> list[Delivery]:
    """Every delivery from first to last day, both included; before ``told_from`` without an estimate of uncertainty.

    Periods that are paid are worked out again for their money only, and the estimate is most of the work.

    Raises PaymentRefused listing consignments that cannot be paid on as they stand.
    """
    found: list[Delivery] = []
    faults: list[str] = []
    for day in [d for d in store.days() if first <= d <= last]:
        say(f"reading the consignments of {day}")
        readings = store.readings(day)
        consignments, notes = consignments_of(description, day, store.consignments(day), readings)
        faults += [f"{day}: {note}" for note in notes]
        by_ticket = readings_by_ticket(readings)
        try:
            judged = ccs_paid_on(consignments, Rounding())
        except SettlementRefused as refused:
            faults.append(f"{day}: {refused}")
            continue
        told = told_from is None or day >= told_from
        found += [_delivery(each, by_ticket[each.consignment.ticket], told=told) for each in judged]
    if faults:
        raise PaymentRefused(faults)
    return found


def _delivery(paid_on: PaidOn, readings: Mapping[str, Reading], *, told: bool) -> Delivery:
    consignment = paid_on.consignment
    own = paid_on.rung is Rung.OWN_SAMPLE
    marks = () if own else (*paid_on.notes, f"CCS is the {paid_on.basis}")
    return Delivery(
        consignment.ticket,
        consignment.day,
        consignment.grower,
        "",
        consignment.block,
        consignment.net,
        _read(consignment, own=own) | {CCS: paid_on.ccs},
        ccs_of_consignment(consignment).uncertainty if own and told else None,
        marks,
        {quantity: r.id for quantity, r in sorted(readings.items())},
    )


def _read(consignment: Consignment, *, own: bool) -> dict[str, Decimal]:
    """Juice and fibre where the consignment has a sample that is paid on."""
    if not own or consignment.juice is None:
        return {}
    found = analyse(consignment.juice, consignment.fibre.fibre)
    values = {JUICE_BRIX: found.brix, JUICE_POL: found.pol, FIBRE: consignment.fibre.fibre}
    return {name: rounded(Decimal(value), READ_PLACES) for name, value in values.items()}
