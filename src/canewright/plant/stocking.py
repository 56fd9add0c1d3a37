"""Stocks: what comes and is not drawn is laid in, and what is drawn beyond what comes is taken from the stock."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from canewright.plant.balance import CONSERVED, amount, conserve_energy
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.splitting import flowing
from canewright.plant.station import Equations, Exchange, Station, result, setting
from canewright.plant.streams import PERCENT, Stream
from canewright.quantity import Num

CHANGE = "change of the stock"
"""The name of what a stock takes up or gives back, in every balance."""


class Store(Station):
    """A stock between what comes and what is drawn; what is laid in is a declared exchange of every component."""

    stock = setting("t", 1000.0, "stock in store", limits=(0.0, 1e6))
    capacity = setting("t", 1e4, "what the store holds", limits=(1.0, 1e6))
    stock_change = result("t/h", 1.0, "laid in: what comes less what is drawn", limits=(-1e6, 1e6))
    residence = result("h", 24.0, "stock on what is drawn: hours in hand", limits=(0.0, 1e11))

    def _stocked(self, laid_in: Num, drawn: Stream) -> Equations:
        yield "stock grows by what is not drawn", self.stock_change, laid_in
        yield "hours in hand are stock on what is drawn", self.residence * (drawn.flow + STANDSTILL), self.stock

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """The stock fits the store."""
        yield "stock against what the store holds", self.stock, self.capacity


class StockTank(Store):
    """A tank whose stock changes over the period: it gives a set share of what came, cooled by a set difference.

    What is laid in or given back has the composition of what came, which a stock of another strike or day has not:
    where that matters, analyse the stock and describe a supply.
    """

    handles: ClassVar[tuple[str, ...]] = ("drawn",)

    drawn = setting("%", 100.0, "drawn on what came", limits=(0.0, 300.0), prior=1.0)
    cooling = setting("K", 1.0, "how much cooler it leaves", limits=(-5.0, 60.0))
    heat_lost = result("kW", 10.0, "heat lost or taken by cooling", limits=(-1e5, 1e6))

    def _came(self) -> Stream:
        return self.entering[0]

    def _given(self) -> Stream:
        return self.leaving[0]

    def _kept(self) -> Num:
        """Part of what came that is laid in."""
        return (PERCENT - self.drawn) / PERCENT

    def equations(self) -> Equations:
        """Everything is drawn in one share; it leaves cooler; the stock takes the rest."""
        came, given = self._came(), self._given()
        for name in flowing(given):
            yield f"{name.replace('_', ' ')} is drawn", PERCENT * getattr(given, name), self.drawn * getattr(came, name)
        yield "it leaves cooler by the difference", came.temperature, given.temperature + self.cooling
        yield from conserve_energy(self)
        yield from self._stocked(self._kept() * came.flow, given)

    def exchanges(self) -> Iterable[Exchange]:
        """What came and is not drawn, of everything it holds, and the heat lost."""
        for what in (w for w in CONSERVED if w not in {"dry_air", "fuel"}):
            yield Exchange(CHANGE, what, -(self._kept() * amount(self._came(), what)))
        yield Exchange("heat lost", "energy", -(self.KILOWATT * self.heat_lost))

    def estimate(self) -> Mapping[str, float]:
        """What came, as far as it is drawn."""
        came, given, share = self._came(), self._given(), float(self.drawn) / 100.0
        guess = {f"{given.prefix}.{n}": share * float(getattr(came, n)) for n in flowing(given)}
        flow = float(came.flow)
        results = {
            "stock_change": (1.0 - share) * flow, "residence": float(self.stock) / (share * flow + 1e-4),
            "heat_lost": share * flow * float(self.cooling) * 3.0 / 3.6,
        }  # fmt: skip
        cool = float(came.temperature) - float(self.cooling)
        return {**guess, f"{given.prefix}.temperature": cool, **self.own(results)}
