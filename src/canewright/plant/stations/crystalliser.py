"""Crystallisers: massecuite is cooled so that its mother liquor gives up more crystal before curing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import crystals_by_purity, grown_colour, mother_liquor_has, on_whole, placed, totals
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.ratios import SEEPAGE
from canewright.plant.saturation import saturated_sucrose_to_water
from canewright.plant.station import Equations, Exchange, Station, choice, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Massecuite
from canewright.plant.water_elements import WaterElements
from canewright.quantity import Num
from canewright.quantity.maths import exp


class _Growing(Station):
    """What crystallisers share: only sucrose passes from solution to crystal, to a purity or towards saturation.

    Towards saturation: of the sucrose in solution above that of the saturated liquor at the temperature that leaves,
    ``exp(-rate × time)`` is left (first order in what is over; own form, the rate is to be fitted to purities in and
    out). It asks for mother liquors within the range of the solubility, up to 5 t of non-sucrose per t of water.
    """

    hazards = ("Stirred cold massecuite stalls and breaks drives: guards and lock-out; reheating water scalds.",)
    handles: ClassVar[tuple[str, ...]] = ("temperature",)
    measured: ClassVar[tuple[str, ...]] = (
        "cooled temperature",
        "cooled mother liquor purity",
        "cooled refractometer brix",
    )

    massecuite, cooled = inlet(Massecuite), outlet(Massecuite)
    exhaustion = choice(
        "mother liquor purity", "approach to saturation", says="which of the two decides how much crystal grows"
    )
    mother_liquor_purity = setting(
        "%", 34.0, "true purity of the mother liquor that leaves", limits=(15.0, 99.0), prior=1.0
    )
    crystallisation_rate = setting(
        "1/h", 0.08, "rate at which sucrose above saturation crystallises", limits=(0.0, 5.0), prior=0.02
    )
    crystal_inclusion = setting(
        "1", 0.02, "colour of grown crystal on colour of the massecuite", limits=(0.0, 1.0), prior=0.005
    )
    volume = setting("m³", 500.0, "volume of all crystallisers", limits=(0.0, 5000.0))
    time_wanted = setting("h", 24.0, "time that the massecuite should stay", limits=(1.0, 72.0))
    density = setting("t/m³", 1.48, "density of the massecuite (1.45-1.52, from memory)", limits=(1.2, 1.6))
    most_crystal = setting("%", 65.0, "crystal on solids that still flows (from memory)", limits=(20.0, 80.0))
    colour_on_solids = result("IU", 10000.0, "colour of the massecuite on all its solids", limits=(0.0, 1e6))
    residence_time = result("h", 25.0, "time that the massecuite stays", limits=(0.0, 1e9))

    def _grow(self) -> Equations:
        """Everything passes; crystal grows to the purity of the mother liquor or towards saturation."""
        cooled = self.cooled
        yield from conserve(self.massecuite, into=[cooled])
        held = self.volume * self.density
        yield "massecuite stays by volume and flow", self.residence_time * (self.massecuite.flow + STANDSTILL), held
        if self.exhaustion == "approach to saturation":
            yield from self._approach()
        else:
            yield from mother_liquor_has(self.mother_liquor_purity, cooled)
        yield from on_whole(
            "colour on solids is that of the massecuite", self.colour_on_solids, cooled.total_colour, cooled.solids
        )
        yield from grown_colour(cooled, [self.massecuite], self.crystal_inclusion, self.colour_on_solids)

    def _approach(self) -> Equations:
        cooled = self.cooled
        per_water = cooled.non_sucrose / (cooled.water + SEEPAGE)
        saturated = cooled.water * saturated_sucrose_to_water(self.forms, cooled.temperature, per_water)
        left = exp(-self.crystallisation_rate * self.residence_time)
        over = (self.massecuite.sucrose - saturated) * left
        yield "sucrose above saturation crystallises with time", cooled.sucrose, saturated + over

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Volume for the time wanted, and crystal that the mother liquor can still carry through the crystallisers."""
        needed = self.massecuite.flow * self.time_wanted / self.density
        yield "massecuite of the time wanted within the volume", needed, self.volume
        flows = self.most_crystal * self.cooled.solids / PERCENT
        yield "crystal little enough for the massecuite to flow", self.cooled.crystal, flows

    def _grown(self, temperature: float) -> dict[str, float]:
        """Crystal by the purity of the mother liquor, for first estimates."""
        total = totals([self.massecuite])
        sucrose = total["sucrose"] + total["crystal"]
        crystal = crystals_by_purity(total, float(self.mother_liquor_purity))
        solids = sucrose + total["reducing_sugars"] + total["ash"] + total["other"]
        colour = (total["colour"] + total["crystal_colour"]) / max(solids, 1e-6)
        inside = float(self.crystal_inclusion) * colour * (crystal - total["crystal"])
        parts = {**total, "sucrose": sucrose - crystal, "crystal": crystal, "temperature": temperature}
        parts |= {"colour": total["colour"] - inside, "crystal_colour": total["crystal_colour"] + inside}
        stays = float(self.volume * self.density) / (float(self.massecuite.flow) + float(STANDSTILL))
        results = {f"{self.name}.colour_on_solids": colour, f"{self.name}.residence_time": stays}
        return {**placed(self.cooled, parts), **results}


class Crystalliser(_Growing):
    """Crystallisers, reheating included, of which only the temperature when cured is known.

    Usual for C massecuite: 65 to 45-52 °C, 16-40 h, purity drop of the mother liquor 3-6 points (from memory).
    It decides no upstream flow; heat removed is what the balance gives.
    """

    kind = "crystalliser"

    temperature = setting("°C", 52.0, "temperature when cured, after any reheating", limits=(25.0, 80.0), prior=1.0)
    heat_removed = result("kW", 200.0, "heat removed by cooling water and surroundings", limits=(-1e5, 1e5))

    def equations(self) -> Equations:
        """Everything passes; crystal grows; heat leaves."""
        yield from self._grow()
        yield "massecuite leaves at its temperature", self.cooled.temperature, self.temperature
        yield from conserve_energy(self)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat removed."""
        yield Exchange("heat removed", "energy", -(self.KILOWATT * self.heat_removed))

    def estimate(self) -> Mapping[str, float]:
        """Crystal by the purity of the mother liquor."""
        return self._grown(float(self.temperature))


class CoolingCrystalliser(WaterElements, _Growing):
    """Crystallisers cooled by water in stirring or fixed elements; heat of crystallisation goes to the water too.

    Operator's handles: cooling water, its temperature, time, stirring, dilution before curing. Measured: temperature
    by vessel, purity and brix of the mother liquor, water in and out, torque. C massecuite 65 to 40-45 °C in 24-40 h,
    drop of purity 3-6 points, 1-2 m² of element per m³ (from memory).
    """

    kind = "cooling crystalliser"
    handles = ("temperature", "water_on_massecuite")
    measured = (
        "cooled temperature",
        "cooled mother liquor purity",
        "cooled refractometer brix",
        "used_water temperature",
    )

    greatest_difference = setting(
        "K", 40.0, "massecuite above the water, beyond which it stiffens on the elements", limits=(2.0, 60.0)
    )

    def equations(self) -> Equations:
        """Everything passes; crystal grows; water takes the heat."""
        yield from self._grow()
        yield from self.elements(self.massecuite, self.cooled)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Volume, crystal that flows, surface of the elements, and massecuite not too far above its water."""
        yield from super().capacities()
        shown, there = self.coefficient_shown, self.heat_transfer_coefficient
        yield "elements need show no more than their coefficient", shown, there
        apart = self.cooled.temperature - self.water.temperature
        yield "massecuite little enough above the water", apart, self.greatest_difference

    def estimate(self) -> Mapping[str, float]:
        """Crystal by the purity of the mother liquor, water at its ratio."""
        return {**self._grown(float(self.temperature)), **self.guess_elements(self.massecuite)}
