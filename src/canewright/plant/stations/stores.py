"""Stores of sugar: the raw store, the hopper before the refinery, and the conditioning silo of refined sugar."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from canewright.plant.balance import CONSERVED, amount, conserve_energy
from canewright.plant.liquor_station import KILOGRAMS
from canewright.plant.station import Equations, Exchange, inlet, inlets, outlet, result, setting, spread
from canewright.plant.stocking import CHANGE, Store
from canewright.plant.streams import PERCENT, Massecuite
from canewright.properties.steam import saturation_pressure
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

SUGAR = ("sucrose", "reducing_sugars", "ash", "other", "crystal", "suspended", "colour", "crystal_colour")
"""What dry sugar carries, with its colour."""
STOCKED = tuple(what for what in CONSERVED if what not in {"fibre", "dry_air", "fuel"})
"""What a stock of sugar can hold."""
GRAMS = constant(1000.0, "g/kg")
DUST = "Sugar dust explodes: housekeeping, earthing, venting and no open flame or hot work, under local codes."
ENGULFING = "Sugar buries people: entry to a store, hopper or silo only by permit, isolated, with a line and a watch."


class RawStore(Store):
    """Raw sugar in store: receipts are laid in, and sugar of the composition of the stock is melted at a rate.

    All non-sucrose is in the film round pure crystals; a stated share of the colour is in the film, which affination
    can take, the rest in the crystal. Raw sugar 1,000-6,000 IU, very high pol sugar 600-1,200 IU; a safety factor
    (moisture on all that is not sucrose) of 0.25 or less keeps (common practice, no source).
    """

    kind = "raw store"
    hazards = (DUST, ENGULFING, "Undercut faces of a pile fall; loaders and people are kept apart.")
    handles = ("rate",)
    measured = ("stock", "sugar pol", "sugar moisture", "sugar colour", "sugar ash", "sugar temperature")

    receipts = inlets(Massecuite, may_be_open=True)
    sugar = outlet(Massecuite)
    stock = setting("t", 20000.0, "stock in store", limits=(0.0, 1e6))
    capacity = setting("t", 55000.0, "what the store holds", limits=(1.0, 1e6))
    rate = setting("t/h", 46.0, "raw sugar drawn", limits=(0.0, 1000.0), prior=0.5)
    moisture = setting("%", 0.20, "moisture of the stock", limits=(0.0, 5.0), prior=0.03)
    purity = setting("%", 99.15, "sucrose on dry substance", limits=(80.0, 100.0), prior=0.08)
    film_purity = setting("%", 65.0, "purity of the film", limits=(20.0, 99.0), prior=4.0)
    reducing_sugars = setting("%", 25.0, "reducing sugars on non-sucrose", limits=(0.0, 100.0), prior=5.0)
    ash = setting("%", 30.0, "soluble ash on non-sucrose", limits=(0.0, 100.0), prior=5.0)
    suspended = setting("%", 0.03, "insolubles in the sugar", limits=(0.0, 2.0), prior=0.01)
    colour = setting("IU", 1600.0, "colour of the sugar on solids", limits=(0.0, 20000.0), prior=100.0)
    colour_in_film = setting("%", 60.0, "share of the colour outside the crystal", limits=(0.0, 100.0), prior=8.0)
    temperature = setting("°C", 35.0, "temperature of the stock", limits=(0.0, 60.0), prior=2.0)
    film_solids = result("%", 2.5, "dissolved solids of the film on the sugar", limits=(0.0, 100.0))
    safety_factor = result("1", 0.2, "moisture on all that is not sucrose", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Rate and composition of the stock make what is drawn."""
        sugar = self.sugar
        yield "sugar is drawn at the rate", sugar.flow, self.rate
        yield "moisture is its share", PERCENT * sugar.water, self.moisture * self.rate
        yield "insolubles are their share", PERCENT * sugar.suspended, self.suspended * self.rate
        yield (
            "sucrose is the purity of the solids",
            PERCENT * (sugar.sucrose + sugar.crystal),
            self.purity * sugar.solids,
        )
        yield "film has its purity", PERCENT * sugar.sucrose, self.film_purity * sugar.dissolved
        yield (
            "reducing sugars are their share",
            PERCENT * sugar.reducing_sugars,
            self.reducing_sugars * sugar.non_sucrose,
        )
        yield "ash is its share", PERCENT * sugar.ash, self.ash * sugar.non_sucrose
        yield "colour is on the solids", sugar.total_colour, self.colour * sugar.solids
        yield "film holds its share of colour", PERCENT * sugar.colour, self.colour_in_film * sugar.total_colour
        yield "sugar has the temperature of the stock", sugar.temperature, self.temperature
        yield from self._stocked(sum(s.flow for s in self.receipts) - sugar.flow, sugar)
        solids = (PERCENT - self.moisture - self.suspended) / PERCENT
        rest = PERCENT - self.purity * solids
        yield "safety factor is moisture on what is not sucrose", self.safety_factor * rest, self.moisture
        film = (PERCENT - self.purity) * solids * PERCENT
        yield "film holds all non-sucrose", self.film_solids * (PERCENT - self.film_purity), film

    def exchanges(self) -> Iterable[Exchange]:
        """What is drawn from the stock above what comes, of everything."""
        for what in STOCKED:
            came = sum(amount(s, what) for s in self.receipts)
            yield Exchange(CHANGE, what, amount(self.sugar, what) - came)

    def estimate(self) -> Mapping[str, float]:
        """The composition itself."""
        rate, prefix = float(self.rate), self.sugar.prefix
        solids = rate * (100.0 - float(self.moisture) - float(self.suspended)) / 100.0
        rest = solids * (100.0 - float(self.purity)) / 100.0
        film = rest * float(self.film_purity) / (100.0 - float(self.film_purity))
        inverted, ash = rest * float(self.reducing_sugars) / 100.0, rest * float(self.ash) / 100.0
        total, outside = float(self.colour) * solids, float(self.colour_in_film) / 100.0
        parts = {
            "water": rate * float(self.moisture) / 100.0, "sucrose": film, "crystal": solids - rest - film,
            "reducing_sugars": inverted, "ash": ash, "other": rest - inverted - ash,
            "suspended": rate * float(self.suspended) / 100.0, "temperature": float(self.temperature),
            "colour": total * outside, "crystal_colour": total * (1.0 - outside),
        }  # fmt: skip
        change = sum(float(s.flow) for s in self.receipts) - rate
        hours = float(self.stock) / (rate + 1e-4)
        return {
            **{f"{prefix}.{c}": v for c, v in parts.items()},
            f"{self.name}.stock_change": change, f"{self.name}.residence": hours,
        }  # fmt: skip


class _PlugFlow(Store):
    """Sugar leaves in the order in which it came; over a day as much is drawn as its share of what came."""

    sugar = inlet(Massecuite)
    sugar_out = outlet(Massecuite)
    drawn = setting("%", 100.0, "drawn on what came", limits=(0.0, 300.0), prior=1.0)

    def _kept(self) -> Num:
        return (PERCENT - self.drawn) / PERCENT

    def _passes(self) -> Iterator[tuple[str, Num, Num]]:
        for name in SUGAR:
            came = getattr(self.sugar, name)
            yield f"{name.replace('_', ' ')} is drawn", PERCENT * getattr(self.sugar_out, name), self.drawn * came

    def exchanges(self) -> Iterable[Exchange]:
        """What came and is not drawn, of everything."""
        for what in STOCKED:
            yield Exchange(CHANGE, what, -(self._kept() * amount(self.sugar, what)))

    def estimate(self) -> Mapping[str, float]:
        """What came, as far as it is drawn."""
        drawn, flow = float(self.drawn) / 100.0, float(self.sugar.flow)
        guess = spread([self.sugar], {self.sugar_out: drawn})
        guess[f"{self.sugar_out.prefix}.crystal_colour"] = drawn * float(self.sugar.crystal_colour)
        hours = float(self.stock) / (drawn * flow + 1e-4)
        return {**guess, f"{self.name}.stock_change": (1.0 - drawn) * flow, f"{self.name}.residence": hours}


class Hopper(_PlugFlow):
    """Hopper of raw sugar before the refinery: it evens out receipts and keeps the melt going.

    850 t at 46 t/h is 18.5 h in hand. Sugar leaves as it came; heat lost in a day is neglected.
    """

    kind = "hopper"
    hazards = (DUST, ENGULFING)
    handles = ("drawn",)
    measured = ("stock", "sugar_out mass flow", "sugar_out temperature")
    stock = setting("t", 425.0, "sugar in the hopper", limits=(0.0, 1e5))
    capacity = setting("t", 850.0, "what the hopper holds", limits=(1.0, 1e5))

    def equations(self) -> Equations:
        """Sugar leaves as it came."""
        came, drawn = self.sugar, self.sugar_out
        yield from self._passes()
        yield "water is drawn", PERCENT * drawn.water, self.drawn * came.water
        yield "sugar leaves as warm as it came", drawn.temperature, came.temperature
        yield from self._stocked(self._kept() * came.flow, drawn)


class Silo(_PlugFlow):
    """Conditioning silo: refined sugar gives its last loose moisture to dry air while it passes, and is cooled.

    The surface gives water off much faster than the film inside lets it go, so the slow compartment alone counts: in
    plug flow ``x = x* + (x0 - x*) exp(-k t)`` with moisture on dry sugar (two-compartment law, own statement; the
    final moisture x* rises with the humidity of the air and strongly with ash). Sugar cakes at a wall where the vapour
    over warm sugar condenses. Air 25-30 °C at 45-60 % relative humidity, sugar 30-38 °C, 24-48 h (common practice, no
    source).
    """

    kind = "silo"
    hazards = (DUST, ENGULFING, "Hot sugar against a cold wall moves moisture to it and cakes.")
    handles = ("drawn", "air_gain")
    measured = ("stock", "sugar_out moisture", "sugar_out temperature")
    stock = setting("t", 1500.0, "sugar in the silo", limits=(0.0, 1e5))
    capacity = setting("t", 2200.0, "what the silo holds", limits=(1.0, 1e5))
    release_rate = setting("1/h", 0.06, "rate at which the film releases moisture", limits=(0.0, 2.0), prior=0.01)
    final_moisture = setting(
        "%", 0.018, "moisture on dry sugar after endless time in this air", limits=(0.0, 1.0), prior=0.003
    )
    temperature = setting("°C", 33.0, "temperature of the sugar that leaves", limits=(5.0, 60.0), prior=1.0)
    air_gain = setting("g/kg", 2.0, "water that each kilogram of dry air takes up", limits=(0.1, 30.0))
    wall = setting("°C", 25.0, "coldest wall", limits=(-10.0, 60.0))
    equilibrium_humidity = setting("%", 45.0, "relative humidity over the sugar", limits=(5.0, 90.0), prior=5.0)
    moisture_released = result("kg/h", 5.0, "water given to the air", limits=(-1e4, 1e4))
    air_needed = result("kg/h", 3000.0, "dry air that takes the water up", limits=(-1e7, 1e7))
    heat_removed = result("kW", 100.0, "heat that the air carries off", limits=(-1e6, 1e6))

    def equations(self) -> Equations:
        """Sugar leaves as it came, less the moisture released, at its temperature."""
        came, drawn = self.sugar, self.sugar_out
        yield from self._passes()
        taken = self.drawn / PERCENT
        dry = taken * (came.flow - came.water)
        loose = taken * came.water - self.final_moisture / PERCENT * dry
        gone = 1.0 - exp(-(self.release_rate * self.residence))
        yield "loose moisture is released in the time of passage", self.moisture_released, KILOGRAMS * (loose * gone)
        yield "water is drawn less what is released", drawn.water, taken * came.water - self._released()
        yield "air takes the moisture up", self.air_needed * self.air_gain, GRAMS * self.moisture_released
        yield "sugar leaves at its temperature", drawn.temperature, self.temperature
        yield from conserve_energy(self)
        yield from self._stocked(self._kept() * came.flow, drawn)

    def _released(self) -> Num:
        return self.moisture_released / KILOGRAMS

    def exchanges(self) -> Iterable[Exchange]:
        """What is laid in stock, the moisture given to the air, and the heat that air carries off."""
        yield from super().exchanges()
        yield Exchange("moisture given to the air", "water", -self._released())
        yield Exchange("heat carried off by the air", "energy", -(self.KILOWATT * self.heat_removed))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """The stock fits, and sugar as warm as it comes gives off no vapour that the wall condenses."""
        yield from super().capacities()
        over = self.equilibrium_humidity / PERCENT * saturation_pressure(self.sugar.temperature)
        yield "vapour over the sugar against saturation at the wall", over, saturation_pressure(self.wall)

    def estimate(self) -> Mapping[str, float]:
        """What came, at the temperature that leaves."""
        return {**super().estimate(), f"{self.sugar_out.prefix}.temperature": float(self.temperature)}
