"""What centrifugals share: crystal kept, film washed, moisture, and molasses by balance."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import ClassVar

from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import on_whole, placed, totals
from canewright.plant.ratios import share
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Liquor, Massecuite, Water
from canewright.quantity import Num
from canewright.quantity.maths import exp


class Curing(Station):
    """Machines curing one massecuite or magma, in balance form.

    Crystals lost are those the wash dissolves and those that pass the screen; both take their colour into the
    molasses. The film that stays on the crystals has the composition of the mother liquor and is washed off as
    ``film exp(-wash effect × wash / crystal)`` (form common for wash-time series, from memory). Usual: wash 1-4 % on
    massecuite, 2-3 t sucrose dissolved per t of wash, film 1-1.5 % washed white sugar, 5-20 % low-grade sugar,
    moisture 0.5-3 % (from memory).

    Upstream it decides the flow of wash water. Sugar and molasses leave cooler than the massecuite by set differences;
    the heat that the air takes follows.
    """

    hazards = (
        "Fast rotors: interlocks, balance and inspection follow local codes; nobody reaches into a turning basket.",
        "Hot wash water and steam scald.",
    )
    handles: ClassVar[tuple[str, ...]] = ("wash_on_massecuite",)
    measured: ClassVar[tuple[str, ...]] = (
        "massecuite temperature",
        "sugar pol",
        "sugar moisture",
        "sugar colour",
        "molasses refractometer brix",
        "molasses apparent purity",
        "wash mass flow",
    )

    massecuite, wash = inlet(Massecuite), inlet(Water)
    sugar, molasses = outlet(Massecuite), outlet(Liquor)

    wash_on_massecuite = setting("%", 2.0, "wash water on massecuite", limits=(0.0, 15.0), prior=0.3)
    dissolving_power = setting("1", 2.5, "sucrose dissolved by the wash, t/t", limits=(0.0, 4.0), prior=0.3)
    crystal_loss = setting("%", 2.0, "crystal through the screen, on crystal cured", limits=(0.0, 40.0), prior=1.0)
    film = setting("%", 4.0, "solids of the film before washing, on crystal", limits=(0.0, 60.0), prior=1.0)
    wash_effect = setting(
        "1", 25.0, "how fast wash clears the film, t crystal per t wash", limits=(0.0, 200.0), prior=5.0
    )
    moisture = setting("%", 1.0, "moisture of the sugar", limits=(0.0, 8.0), prior=0.1)
    suspended_kept = setting("%", 5.0, "suspended solids that stay with the sugar", limits=(0.0, 100.0), prior=3.0)
    sugar_cooling = setting("K", 6.0, "how much cooler than the massecuite sugar leaves", limits=(-20.0, 40.0))
    molasses_cooling = setting("K", 3.0, "how much cooler than the massecuite molasses leaves", limits=(-20.0, 40.0))
    machines = setting("1", 6.0, "number of machines", limits=(0.0, 60.0))

    wash_on_crystal = result("1", 0.04, "wash on crystal cured, t/t", limits=(0.0, 1e9))
    film_share = result("1", 0.02, "part of the mother liquor that stays as film", limits=(-0.001, 1.001))
    recovered = result("1", 0.9, "crystal in sugar on crystal cured", limits=(-0.001, 1.001))
    heat_lost = result("kW", 100.0, "heat that air and drying of the film take", limits=(-1e5, 1e5))

    def run_offs(self) -> tuple[Liquor, ...]:
        """Every stream of molasses that leaves."""
        return (self.molasses,)

    def equations(self) -> Equations:
        """Wash, crystal lost, film left, moisture, and balances for the molasses."""
        massecuite, sugar = self.massecuite, self.sugar
        yield from conserve(massecuite, self.wash, into=[sugar, *self.run_offs()])
        yield "wash is its share of massecuite", PERCENT * self.wash.water, self.wash_on_massecuite * massecuite.flow
        yield from self._crystal()
        yield from self._film()
        yield "sugar has its moisture", PERCENT * sugar.water, self.moisture * sugar.flow
        yield (
            "suspended solids stay with the sugar in their share",
            PERCENT * sugar.suspended,
            self.suspended_kept * massecuite.suspended,
        )
        yield "sugar is cooler by its difference", massecuite.temperature, sugar.temperature + self.sugar_cooling
        for molasses in self.run_offs():
            warm = molasses.temperature
            yield "molasses is cooler by its difference", massecuite.temperature, warm + self.molasses_cooling
        yield from conserve_energy(self)

    def _crystal(self) -> Equations:
        cured, sugar = self.massecuite.crystal, self.sugar
        kept = cured - self.dissolving_power * self.wash.water - self._through(cured)
        yield "crystal in sugar is what is neither washed away nor lost", sugar.crystal, kept
        yield from share("crystal recovered is its share", self.recovered, sugar.crystal, cured)
        inside = self.recovered * self.massecuite.crystal_colour
        yield "crystal keeps its colour inside", sugar.crystal_colour, inside
        yield from share("wash on crystal is their ratio", self.wash_on_crystal, self.wash.water, cured)

    def _through(self, crystal: Num) -> Num:
        """What passes the screen of crystal or of its colour."""
        return self.crystal_loss * crystal / PERCENT

    def _film(self) -> Equations:
        massecuite, sugar = self.massecuite, self.sugar
        left = self.film * sugar.crystal / PERCENT * exp(-self.wash_effect * self.wash_on_crystal)
        yield from on_whole("film is its part of the mother liquor", self.film_share, left, massecuite.dissolved)
        for name in ("sucrose", "reducing_sugars", "ash", "other", "colour"):
            of = getattr(massecuite, name)
            yield f"{name.replace('_', ' ')} of the film is mother liquor", getattr(sugar, name), self.film_share * of

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost."""
        yield Exchange("heat lost to air", "energy", -(self.KILOWATT * self.heat_lost))

    def estimate(self) -> Mapping[str, float]:
        """Wash, crystal and film by the same rules, in plain numbers."""
        total = totals([self.massecuite])
        wash = float(self.wash_on_massecuite * self.massecuite.flow) / 100.0
        cured = total["crystal"]
        kept = cured * (1.0 - float(self.crystal_loss) / 100.0) - float(self.dissolving_power) * wash
        crystal = max(kept, 0.0)
        ratio = wash / cured if cured > 1e-9 else 1.0
        film = float(self.film) / 100.0 * crystal * math.exp(-float(self.wash_effect) * ratio)
        dissolved = sum(total[n] for n in ("sucrose", "reducing_sugars", "ash", "other"))
        part = min(film / dissolved, 1.0) if dissolved > 1e-9 else 0.0
        recovered = crystal / cured if cured > 1e-9 else 1.0
        sugar = {n: part * total[n] for n in ("sucrose", "reducing_sugars", "ash", "other", "colour")}
        sugar |= {"crystal": crystal, "crystal_colour": recovered * total["crystal_colour"]}
        sugar |= {"suspended": float(self.suspended_kept) / 100.0 * total["suspended"]}
        dry = film + crystal + sugar["suspended"]
        sugar["water"] = dry * float(self.moisture) / (100.0 - float(self.moisture))
        warm = float(self.massecuite.temperature)
        guess = placed(self.sugar, {**sugar, "temperature": warm - float(self.sugar_cooling)})
        guess |= placed(self.molasses, self._molasses(total, sugar, wash, warm - float(self.molasses_cooling)))
        guess |= {f"{self.name}.wash_on_crystal": ratio, f"{self.name}.film_share": part}
        return {**guess, f"{self.name}.recovered": recovered, **asked(self.wash, wash)}

    @staticmethod
    def _molasses(
        total: dict[str, float], sugar: dict[str, float], wash: float, temperature: float
    ) -> dict[str, float]:
        rest = {n: total[n] - sugar.get(n, 0.0) for n in total}
        rest["sucrose"] += rest["crystal"]
        rest["colour"] += rest["crystal_colour"]
        rest["water"] += wash
        return {**rest, "temperature": temperature}
