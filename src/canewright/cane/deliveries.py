"""Deliveries as payment takes them: plain rows, gathered into columns in one order whatever the order they came in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

import numpy as np

from canewright.cane.exact import Exact, Units
from canewright.cane.schemes import NOTHING_WHERE_ABSENT, READABLE

MOST_TOLD = 50
"""Faults listed one by one; the rest is counted."""


class PaymentRefused(ValueError):
    """Deliveries, agreement or prices that cannot be paid on as they stand; ``faults`` lists what is wrong."""

    def __init__(self, faults: Sequence[str]) -> None:
        """Keep every fault; the message tells the first ones and counts the rest."""
        self.faults = tuple(faults)
        more = [f"and {len(faults) - MOST_TOLD} more"] if len(faults) > MOST_TOLD else []
        super().__init__("\n".join([*faults[:MOST_TOLD], *more]))


@dataclass(frozen=True)
class Delivery:
    """One consignment as weighed and analysed.

    ``net`` in t; ``readings`` by the names of ``READABLE``, as decimals; ``ccs_uncertainty`` one standard deviation in
    units of CCS, None where there is no estimate; ``marks`` say in words where a fall-back stands for a sample;
    ``sources`` name the stored reading behind each figure, for a page to open.
    """

    ticket: str
    day: dt.date
    grower: str
    farm: str
    block: str
    net: Decimal
    readings: Mapping[str, Decimal]
    ccs_uncertainty: float | None = None
    marks: tuple[str, ...] = ()
    sources: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Column:
    """One reading over all deliveries, and where it was taken; elsewhere the value means nothing."""

    values: Exact
    taken: Units


@dataclass(frozen=True)
class Deliveries:
    """Consignments in columns, by day and ticket. ``days`` are ordinals; ``grower`` numbers ``growers`` from 0."""

    tickets: list[str]
    days: Units
    growers: list[str]
    grower: Units
    farms: list[str]
    blocks: list[str]
    net: Exact
    readings: Mapping[str, Column]
    uncertainty: Units
    marks: Mapping[int, tuple[str, ...]]
    sources: Mapping[int, Mapping[str, int]]

    @classmethod
    def of(cls, rows: Iterable[Delivery]) -> Deliveries:
        """Columns of these rows, by day and ticket.

        Raises PaymentRefused listing repeated tickets, impossible masses and readings out of range.
        """
        ordered = sorted(rows, key=lambda d: (d.day, d.ticket))
        faults = _repeated(ordered) + _impossible(ordered)
        if faults:
            raise PaymentRefused(faults)
        growers = sorted({d.grower for d in ordered})
        number = {name: i for i, name in enumerate(growers)}
        names = [n for n in READABLE if any(n in d.readings for d in ordered)]
        return cls(
            [d.ticket for d in ordered],
            np.array([d.day.toordinal() for d in ordered], dtype=np.int64),
            growers,
            np.array([number[d.grower] for d in ordered], dtype=np.int64),
            [d.farm for d in ordered],
            [d.block for d in ordered],
            Exact.of(d.net for d in ordered),
            {name: _gathered(ordered, name) for name in names},
            np.array([np.nan if d.ccs_uncertainty is None else d.ccs_uncertainty for d in ordered], dtype=float),
            {i: d.marks for i, d in enumerate(ordered) if d.marks},
            {i: d.sources for i, d in enumerate(ordered) if d.sources},
        )

    def __len__(self) -> int:
        """How many consignments."""
        return len(self.tickets)

    def day(self, place: int) -> dt.date:
        """The factory day of one consignment."""
        return dt.date.fromordinal(int(self.days[place]))

    def called(self, place: int) -> str:
        """What a message calls one consignment."""
        return f"ticket {self.tickets[place]} of {self.day(place)}"

    def column(self, name: str) -> Column:
        """A reading over all deliveries; nothing at all where that is what its absence means, else not taken."""
        if name in self.readings:
            found = self.readings[name]
            return Column(found.values, np.ones(len(self), dtype=bool)) if name in NOTHING_WHERE_ABSENT else found
        absent = Exact(np.zeros(len(self), dtype=np.int64), 0)
        return Column(absent, np.full(len(self), name in NOTHING_WHERE_ABSENT))

    def between(self, first: dt.date, last: dt.date) -> Deliveries:
        """The deliveries from first to last day, both included."""
        return self.chosen(np.flatnonzero((self.days >= first.toordinal()) & (self.days <= last.toordinal())))

    def chosen(self, places: Units) -> Deliveries:
        """The deliveries at these places, in their order."""
        listed = places.tolist()
        return Deliveries(
            [self.tickets[i] for i in listed],
            self.days[places],
            self.growers,
            self.grower[places],
            [self.farms[i] for i in listed],
            [self.blocks[i] for i in listed],
            self.net.take(places),
            {name: Column(c.values.take(places), c.taken[places]) for name, c in self.readings.items()},
            self.uncertainty[places],
            {new: self.marks[i] for new, i in enumerate(listed) if i in self.marks},
            {new: self.sources[i] for new, i in enumerate(listed) if i in self.sources},
        )


def _gathered(rows: Sequence[Delivery], name: str) -> Column:
    values = Exact.of(d.readings.get(name, Decimal(0)) for d in rows)
    return Column(values, np.array([name in d.readings for d in rows], dtype=bool))


def _repeated(ordered: Sequence[Delivery]) -> list[str]:
    return [
        f"ticket {b.ticket} of {b.day} is given more than once; a load is paid once, remove the repeat"
        for a, b in pairwise(ordered)
        if (a.day, a.ticket) == (b.day, b.ticket)
    ]


def _impossible(rows: Sequence[Delivery]) -> list[str]:
    faults = []
    for d in rows:
        where = f"ticket {d.ticket} of {d.day}"
        faults += [
            f"{where}: {n} is empty; complete the note" for n in ("grower", "block") if not getattr(d, n).strip()
        ]
        if not d.net.is_finite() or d.net <= 0:
            faults.append(f"{where}: net mass is {d.net} t; accepted: more than 0 t; weigh or enter again")
        faults += [f"{where}: {said}" for name, value in d.readings.items() if (said := _outside(name, value))]
    return faults


def _outside(name: str, value: Decimal) -> str:
    if name not in READABLE:
        return f"'{name}' is not a reading that payment knows; known: {', '.join(READABLE)}"
    limits = READABLE[name]
    if value.is_finite() and limits.low <= value <= limits.high:
        return ""
    return f"{name} is {value} {limits.unit}; accepted: {limits.low:g} to {limits.high:g} {limits.unit}"
