"""The cheapest meters that make wanted quantities checkable: each still determined when any one of them fails.

Candidates come from a small file with a row for each meter that could be bought: what it would read, how surely, and
its price. Meters of the description are there already and cost nothing. What the readings must determine is taken
without priors; ties so weak that they move a quantity by less than ``WEAK`` of its doubt do not count.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from canewright.accounts.specifications import specifications_for
from canewright.accounts.totals import Totals
from canewright.engine.instruments import Candidate, NotPossible, cheapest
from canewright.engine.model import Values
from canewright.engine.spread import Matrix, Vector
from canewright.plant.description import nearest, outlet_streams
from canewright.plant.measures import MEASURABLE
from canewright.plant.metering import quantities_of
from canewright.plant.plant import Plant
from canewright.quantity import Num, noting_breaches

COLUMNS = ("name", "stream", "quantity", "uncertainty", "price")
WEAK = 0.02
"""Part of a quantity's doubt below which a tie does not count: neither as a need nor as a check."""
LEAST_OF_VALUE = 1e-9


class OutfitRefused(ValueError):
    """Something asked that cannot be done; the message says what, where, what was found and what is accepted."""


@dataclass(frozen=True)
class Offered:
    """A meter that could be bought: name, stream and quantity that it would read, uncertainty, price."""

    name: str
    stream: str
    quantity: str
    uncertainty: float
    relative: bool
    price: float


@dataclass(frozen=True)
class Wanted:
    """A quantity that must be checkable: value and standard uncertainty before and with the meters chosen."""

    name: str
    unit: str
    value: float
    before: float
    after: float


@dataclass(frozen=True)
class ChosenMeters:
    """The cheapest set: what to buy with its cost, and each quantity before and after."""

    buy: tuple[Offered, ...]
    cost: float
    wanted: tuple[Wanted, ...]
    checked: bool


# --- candidates -------------------------------------------------------------------------------------------------------


def read_offers(plant: Plant, data: bytes) -> list[Offered]:
    """The candidate meters of a file in CSV with the columns name, stream, quantity, uncertainty and price.

    The uncertainty is in the unit of the quantity or, with a per cent sign, in per cent of the reading; a stream may be
    called by its trade name. Raises OutfitRefused listing every fault by row and column.
    """
    try:
        rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as trouble:
        raise OutfitRefused(f"the file of candidate meters is not a CSV file in UTF-8: {trouble}") from trouble
    if not rows or [c.strip() for c in rows[0]] != list(COLUMNS):
        found = ",".join(rows[0]) if rows else "an empty file"
        raise OutfitRefused(f"row 1: found {found[:80]}; accepted: {','.join(COLUMNS)}")
    faults: list[str] = []
    offers = [o for n, row in enumerate(rows[1:], start=2) if any(row) and (o := _offer(plant, n, row, faults))]
    taken = [m.tag for m in plant.description.meters]
    twice = {o.name for o in offers if [p.name for p in offers].count(o.name) > 1 or o.name in taken}
    faults += [
        f"name: found '{name}' more than once, or a meter of the plant; accepted: a name of its own"
        for name in sorted(twice)
    ]
    if faults or not offers:
        raise OutfitRefused("; ".join(faults) if faults else "no candidate meters; give a row for each")
    return offers


def _offer(plant: Plant, number: int, row: Sequence[str], faults: list[str]) -> Offered | None:
    cells = [c.strip() for c in row]
    before = len(faults)
    if len(cells) != len(COLUMNS):
        faults.append(f"row {number}: found {len(cells)} cells; accepted: {len(COLUMNS)}")
        return None
    name, stream, quantity, uncertainty, price = cells
    streams = outlet_streams(plant.description.stations, plant.description.connections)
    stream = plant.description.roles.get(stream, stream)
    if not name:
        faults.append(f"row {number}, name: found nothing; accepted: a name of its own")
    if stream not in streams:
        faults.append(f"row {number}, stream: found '{stream}'; accepted: {nearest(stream, streams)}")
    elif quantity not in quantities_of(streams[stream]):
        accepted = nearest(quantity, quantities_of(streams[stream]))
        faults.append(f"row {number}, quantity: found '{quantity}'; accepted: {accepted}")
    relative = uncertainty.endswith("%")
    u, cost = _number(uncertainty.removesuffix("%")), _number(price)
    if u is None or u <= 0:
        faults.append(
            f"row {number}, uncertainty: found '{uncertainty}'; accepted: a number above zero, or such as 0.4 %"
        )
    if cost is None or cost < 0:
        faults.append(f"row {number}, price: found '{price}'; accepted: a number of zero or more")
    if len(faults) > before or u is None or cost is None:
        return None
    return Offered(name, stream, quantity, u, relative, cost)


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


# --- choosing ---------------------------------------------------------------------------------------------------------


def cheapest_meters(
    plant: Plant, wanted: Sequence[str], offers: Sequence[Offered], *, checked: bool = True
) -> ChosenMeters:
    """The cheapest of the offered meters that make every wanted quantity checkable beside the plant's own meters.

    A wanted quantity is a figure of the day sheet, or such as ``pol of bagasse`` with a stream or its trade name.
    ``checked`` false asks only that they are determined. Raises OutfitRefused where one is not known or no set does it,
    NotSolved where the plant has no state.
    """
    work = _Work(plant, wanted, offers)
    rows, present = work.quantities, [m.tag for m in plant.description.meters if m.tag in work.tags]
    try:
        found = cheapest(rows, work.candidates, checked=checked, present=present, loose=WEAK)
    except NotPossible as lack:
        raise OutfitRefused(work.refusal(lack)) from lack
    buy = tuple(o for o in offers if o.name in found.names)
    before, after = (work.deviations(names) for names in (present, [*present, *(o.name for o in buy)]))
    told = [
        Wanted(name, unit, float(v), float(b), float(a))
        for name, unit, v, b, a in zip(wanted, work.units, work.values, before, after, strict=True)
    ]
    return ChosenMeters(buy, sum(o.price for o in buy), tuple(told), checked)


class _Work:
    """Quantities and candidates as derivatives to the released settings, each in units of its prior."""

    def __init__(self, plant: Plant, wanted: Sequence[str], offers: Sequence[Offered]) -> None:
        self.plant, self.asked = plant, tuple(wanted)
        state = plant.predict()
        meters = [m for m in plant.description.meters if math.isfinite(state.measured(m.stream, m.quantity))]
        read = {m.tag: state.measured(m.stream, m.quantity) for m in meters}
        self.result = plant.reconcile(read, start=state).result
        self.units = [self._unit(name) for name in wanted]
        priors = plant.priors()
        size = plant.model.nominal[[plant.model.index[n] for n in self.result.free]]
        self._prior = np.array([priors[n][1] for n in self.result.free]) / size
        with noting_breaches():
            self.values, slopes = self.result.gradient(
                plant.model.expressions(lambda v: [self._wanted(name, v) for name in wanted])
            )
            offered, along = self.result.gradient(
                plant.model.expressions(lambda v: [plant.assembly.measured(o.stream, o.quantity, v) for o in offers])
            )
            _, own = self.result.gradient(self.result.expressions)
        self.quantities: Matrix = slopes * self._prior
        self.tags = [m.name for m in self.result.measured]
        self.candidates = [
            Candidate(m.name, row * self._prior, m.uncertainty, 0.0)
            for m, row in zip(self.result.measured, own, strict=True)
        ]
        self.candidates += [
            Candidate(o.name, row * self._prior, _spread(o, float(value)), o.price)
            for o, value, row in zip(offers, offered, along, strict=True)
        ]

    def _unit(self, name: str) -> str:
        figures = {s.name: s.unit for s in specifications_for(self.plant.description.roles)}
        if name in figures:
            return figures[name]
        quantity, of, where = name.partition(" of ")
        stream = self.plant.description.roles.get(where, where)
        streams = outlet_streams(self.plant.description.stations, self.plant.description.connections)
        if not of or stream not in streams:
            raise OutfitRefused(
                f"found '{name}'; accepted: a figure of the day sheet ({nearest(name, figures)}), or such as "
                "'pol of bagasse'"
            )
        if quantity not in quantities_of(streams[stream]):
            raise OutfitRefused(
                f"found '{name}'; accepted: {nearest(quantity, quantities_of(streams[stream]))} of {where}"
            )
        return MEASURABLE[quantity].unit

    def _wanted(self, name: str, values: Values) -> Num:
        for s in specifications_for(self.plant.description.roles):
            if s.name == name:
                return s.combine(*s.totals(Totals(self.plant.assembly, values)))
        quantity, _, where = name.partition(" of ")
        stream = self.plant.description.roles.get(where, where)
        return self.plant.assembly.measured(stream, quantity, values)

    def deviations(self, names: Sequence[str]) -> Vector:
        """Standard uncertainties of the wanted quantities with these meters and the priors."""
        rows = np.array([c.slope / c.uncertainty for c in self.candidates if c.name in set(names)])
        rows = rows.reshape(-1, self.quantities.shape[1])
        inner = np.linalg.cholesky(np.eye(len(rows)) + rows @ rows.T)
        along = np.linalg.solve(inner, rows @ self.quantities.T)
        variance = np.sum(self.quantities**2, axis=1) - np.sum(along**2, axis=0)
        return np.asarray(np.sqrt(np.maximum(variance, 0.0)))

    def refusal(self, lack: NotPossible) -> str:
        """Which quantity stays loose, and along which settings."""
        name = self.asked[lack.row]
        most = np.argsort(-np.abs(lack.direction))[:3]
        settings = ", ".join(self.result.free[int(i)] for i in most)
        many = "no candidate feels" if lack.feel == 0 else f"only {lack.feel} of the candidates feel"
        return (
            f"'{name}' cannot be made checkable: {many} what leaves it loose, which is mostly {settings}; offer meters "
            "that read there, or ask with --determined that it be determined only"
        )


def _spread(offer: Offered, value: float) -> float:
    return max(offer.uncertainty / 100.0 * abs(value), LEAST_OF_VALUE) if offer.relative else offer.uncertainty


def as_data(found: ChosenMeters) -> Mapping[str, object]:
    """The choice as plain data."""
    return {
        "buy": [vars(o) for o in found.buy], "cost": found.cost, "checked": found.checked,
        "quantities": [vars(w) for w in found.wanted],
    }  # fmt: skip
