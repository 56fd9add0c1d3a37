"""Cane yard: cane waits between cutting and crushing, dries, and loses sucrose every hour."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from canewright.analysis.deterioration import cane_deterioration_rate
from canewright.plant.balance import CONSERVED, amount, conserve_energy
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.reactions import dextran_formation, inversion
from canewright.plant.station import Equations, Exchange, Station, inlets, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

HOURS = constant(24.0, "h/d")
STOCKED = tuple(what for what in CONSERVED if what in (*Juice.holds, "energy"))
"""What a stock of cane can hold."""


class CaneYard(Station):
    """Cane is crushed in the order in which it came, after the hours in field and haul and those in the yard.

    Each hour a share of the sucrose left is lost, ``S = S0 exp(-k hours)``; k rises with warmth. Most of it inverts
    and takes up water; bacteria turn the rest into dextran, which slows filters and pans, and fructose. Receipts are
    as cut, so the whole delay counts here. Loss 0.010-0.023 units of sucrose % cane an hour in the field, 1.2 units
    in 40 h over a commercial chain (Larrahondo and others, Sugar Tech 8(4), 2006, read); mass lost 0.4-0.8 % a day
    (Cox and Sahadeo, 1992, read); billets crushed within 16 h (Mackintosh, Sugar Milling, ch. 17, read).
    Moved by receipts and the order of cutting; measured: tickets with hours of burning and cutting, stock, purity.
    """

    kind = "cane yard"
    hazards = (
        "Cranes, tipplers, moving vehicles and falling cane kill: people and machines are kept apart, lock-out.",
        "Dry trash and burnt cane catch fire; piles of stale cane give off gas: local rules govern.",
    )
    handles = ("crushed_on_receipts",)
    measured = ("receipts mass", "stock")

    receipts = inlets(Juice)
    crushed = outlet(Juice)

    stock = setting("t", 2000.0, "cane in the yard", limits=(0.0, 1e5), prior=100.0)
    capacity = setting("t", 5000.0, "cane that the yard holds", limits=(1.0, 1e5))
    crushed_on_receipts = setting("%", 100.0, "crushed on received, over the period", limits=(0.0, 300.0), prior=1.0)
    hours_before = setting("h", 8.0, "hours from cutting or burning to the yard", limits=(0.0, 240.0), prior=1.0)
    keeps = setting("h", 16.0, "hours from cutting or burning in which cane should be crushed", limits=(1.0, 240.0))
    loss_rate = setting("1/h", 0.0008, "sucrose lost in an hour at 20 °C", limits=(0.0, 0.02), prior=0.0003)
    rise_with_warmth = setting("1", 2.0, "factor of the loss for ten kelvin", limits=(1.0, 5.0))
    to_dextran = setting("%", 15.0, "sucrose lost that goes to dextran and fructose", limits=(0.0, 100.0), prior=5.0)
    drying = setting("%/d", 0.6, "water lost to the air on the mass of cane", limits=(0.0, 5.0), prior=0.2)
    temperature = setting("°C", 27.0, "temperature of the cane", limits=(0.0, 50.0), prior=2.0)
    stock_change = result("t/h", 1.0, "cane laid in: received less taken from the yard", limits=(-1e4, 1e4))
    hours_in_yard = result("h", 5.0, "hours in the yard", limits=(0.0, 1e9))
    delay = result("h", 13.0, "hours from cutting or burning to crushing", limits=(0.0, 1e9))
    sucrose_lost = result("t/h", 0.5, "sucrose lost by waiting", limits=(0.0, 1e3))
    water_lost = result("t/h", 1.0, "water that dries off", limits=(0.0, 1e3))
    heat_gained = result("kW", 100.0, "heat from air and sun, and of the cane's own breathing", limits=(-1e6, 1e6))

    def equations(self) -> Equations:
        """Hours of delay; what they cost; the rest of what is taken from the yard is crushed as it came."""
        crushed = self.crushed
        came = sum(s.flow for s in self.receipts)
        taken = self._taken() * came
        yield "stock grows by what is not taken", self.stock_change, came - taken
        yield (
            "hours in the yard are stock on what is taken",
            self.hours_in_yard * (taken + STANDSTILL),
            self.stock,
        )
        yield "delay is hours before and in the yard", self.delay, self.hours_before + self.hours_in_yard
        rate = cane_deterioration_rate(self.loss_rate, self.rise_with_warmth, self.temperature)
        gone = 1.0 - exp(-(rate * self.delay))
        yield "sucrose is lost every hour of the delay", self.sucrose_lost, gone * self._fed("sucrose")
        dried = 1.0 - exp(-(self.drying / PERCENT * self.delay / HOURS))
        yield "water dries off every hour of the delay", self.water_lost, dried * taken
        changes = tuple(self._changes())
        for what in STOCKED[:-1]:
            formed = sum(x.amount for x in changes if x.what == what)
            yield (
                f"{what.replace('_', ' ')} is crushed as the delay left it",
                amount(crushed, what),
                self._fed(what) + formed,
            )
        yield "cane is crushed at its temperature", crushed.temperature, self.temperature
        yield from conserve_energy(self)

    def _taken(self) -> Num:
        return self.crushed_on_receipts / PERCENT

    def _fed(self, what: str) -> Num:
        """What is taken from the yard, as it came."""
        return self._taken() * sum(amount(s, what) for s in self.receipts)

    def _changes(self) -> Iterator[Exchange]:
        to_dextran = self.to_dextran / PERCENT * self.sucrose_lost
        yield from inversion(self.sucrose_lost - to_dextran)
        yield from dextran_formation(to_dextran)
        yield Exchange("water dried off", "water", -self.water_lost)

    def exchanges(self) -> Iterable[Exchange]:
        """Sucrose lost and what it becomes, water dried off, heat gained, and what is laid in stock."""
        yield from self._changes()
        yield Exchange("heat gained", "energy", self.KILOWATT * self.heat_gained)
        for what in STOCKED:
            came = sum(amount(s, what) for s in self.receipts)
            yield Exchange("laid in stock", what, self._fed(what) - came)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Room in the yard, and the hours that cane keeps."""
        yield "cane in the yard within its room", self.stock, self.capacity
        yield "cane crushed within the hours it keeps", self.delay, self.keeps

    def estimate(self) -> Mapping[str, float]:
        """What came, as far as it is taken, and its hours."""
        taken, came = float(self._taken()), sum(float(s.flow) for s in self.receipts)
        hours = float(self.stock) / (taken * came + 1e-4)
        guess = spread(self.receipts, {self.crushed: taken}, float(self.temperature))
        results = {
            "stock_change": (1.0 - taken) * came, "hours_in_yard": hours, "delay": hours + float(self.hours_before),
            "sucrose_lost": 0.0, "water_lost": 0.0, "heat_gained": 0.0,
        }  # fmt: skip
        return {**guess, **self.own(results)}
