"""Money: the price list of a plant description, what each line makes a day, and what bears no price."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from canewright.engine.model import Expressions, Values
from canewright.plant.assembly import Assembly
from canewright.plant.description import OUTSIDE, StationGiven
from canewright.plant.plant import Plant
from canewright.plant.streams import Air, Liquor, Power
from canewright.plant.tables import price_in
from canewright.quantity import Num


@dataclass(frozen=True)
class Price:
    """A price of a stream's mass ($/t), of its energy ($/MWh), or of a station's result ($ for its unit times hour)."""

    what: str
    stream: str
    sign: float
    price: float
    unit: str

    def a_day(self, assembly: Assembly, values: Values) -> Num:
        """Money a day, $: income positive, cost negative."""
        hours = assembly.hours(self.stream, values)
        if self.stream not in assembly.streams:
            return self.sign * self.price * values[self.stream] * hours
        stream = assembly.stream(self.stream, values)
        amount = stream.power / 1000.0 if isinstance(stream, Power) else stream.flow
        return self.sign * self.price * amount * hours


def price_list(plant: Plant) -> list[Price]:
    """The price list of the plant description."""
    return [
        Price(str(p["what"]), str(p["stream"]), 1.0 if p["kind"] == "income" else -1.0, price_in(p), str(p["unit"]))
        for p in plant.description.data.get("prices", [])
    ]


def worth_of(plant: Plant, prices: Sequence[Price] | None = None) -> Expressions:
    """Money a day of everything in the price list, $/d."""
    listed = price_list(plant) if prices is None else prices
    return plant.model.expressions(lambda v: [sum(p.a_day(plant.assembly, v) for p in listed)], "worth")


def unpriced(plant: Plant, prices: Sequence[Price]) -> list[str]:
    """What crosses the site's fence without a price: streams with sugar that leave, and supplies other than air.

    What a loss takes is never sold; condensate and waste water carry no sugar worth a price.
    """
    priced = {p.stream for p in prices}
    stations, streams = plant.description.stations, plant.assembly.streams
    leaving = [".".join(c.source) for c in plant.description.connections if c.target[0] == OUTSIDE]
    sold = {n for n in leaving if issubclass(streams.get(n, Air), Liquor) and not _lost(stations, n)}
    entering: dict[str, list[str]] = {}
    for name, kind in streams.items():
        station = name.partition(".")[0]
        if stations[station].kind.boundary and not issubclass(kind, Air):
            entering.setdefault(station, []).append(name)
    bought = {station for station, names in entering.items() if not priced & set(names)}
    return sorted({n for n in sold if n not in priced} | bought)


def _lost(stations: Mapping[str, StationGiven], stream: str) -> bool:
    return stations[stream.partition(".")[0]].kind.kind.startswith("undetermined")
