"""Crystalliser: cools massecuite so that its mother liquor gives up more crystal before curing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import crystals_by_purity, grown_colour, mother_liquor_has, on_whole, placed, totals
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Massecuite
from canewright.quantity import Num


class Crystalliser(Station):
    """Cooling crystallisers, reheating included: only sucrose passes from solution to crystal.

    Usual for C massecuite: 65 to 45-52 °C, 16-40 h, purity drop of the mother liquor 3-6 points (from memory).
    It decides no upstream flow; heat removed is what the balance gives.
    """

    kind = "crystalliser"
    hazards = ("Stirred cold massecuite stalls and breaks drives: guards and lock-out; reheating water scalds.",)

    massecuite, cooled = inlet(Massecuite), outlet(Massecuite)
    temperature = setting("°C", 52.0, "temperature when cured, after any reheating", limits=(25.0, 80.0), prior=1.0)
    mother_liquor_purity = setting(
        "%", 34.0, "true purity of the mother liquor that leaves", limits=(15.0, 99.0), prior=1.0
    )
    crystal_inclusion = setting(
        "1", 0.02, "colour of grown crystal on colour of the massecuite", limits=(0.0, 1.0), prior=0.005
    )
    volume = setting("m³", 500.0, "volume of all crystallisers", limits=(0.0, 5000.0))
    time_wanted = setting("h", 24.0, "time that the massecuite should stay", limits=(1.0, 72.0))
    density = setting("t/m³", 1.48, "density of the massecuite (1.45-1.52, from memory)", limits=(1.2, 1.6))
    most_crystal = setting("%", 65.0, "crystal on solids that still flows (from memory)", limits=(20.0, 80.0))
    heat_removed = result("kW", 200.0, "heat removed by cooling water and surroundings", limits=(-1e5, 1e5))
    colour_on_solids = result("IU", 10000.0, "colour of the massecuite on all its solids", limits=(0.0, 1e6))

    def equations(self) -> Equations:
        """Everything passes; crystal grows to the purity of the mother liquor; heat leaves."""
        cooled = self.cooled
        yield from conserve(self.massecuite, into=[cooled])
        yield from mother_liquor_has(self.mother_liquor_purity, cooled)
        yield from on_whole(
            "colour on solids is that of the massecuite", self.colour_on_solids, cooled.total_colour, cooled.solids
        )
        yield from grown_colour(cooled, [self.massecuite], self.crystal_inclusion, self.colour_on_solids)
        yield "massecuite leaves at its temperature", cooled.temperature, self.temperature
        yield from conserve_energy(self)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat removed."""
        yield Exchange("heat removed", "energy", -(self.KILOWATT * self.heat_removed))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Volume for the time wanted, and crystal that the mother liquor can still carry through the crystallisers."""
        needed = self.massecuite.flow * self.time_wanted / self.density
        yield "massecuite of the time wanted within the volume", needed, self.volume
        flows = self.most_crystal * self.cooled.solids / PERCENT
        yield "crystal little enough for the massecuite to flow", self.cooled.crystal, flows

    def estimate(self) -> Mapping[str, float]:
        """Crystal by the purity of the mother liquor."""
        total = totals([self.massecuite])
        sucrose = total["sucrose"] + total["crystal"]
        crystal = crystals_by_purity(total, float(self.mother_liquor_purity))
        solids = sucrose + total["reducing_sugars"] + total["ash"] + total["other"]
        colour = (total["colour"] + total["crystal_colour"]) / max(solids, 1e-6)
        inside = float(self.crystal_inclusion) * colour * (crystal - total["crystal"])
        parts = {**total, "sucrose": sucrose - crystal, "crystal": crystal, "temperature": float(self.temperature)}
        parts |= {"colour": total["colour"] - inside, "crystal_colour": total["crystal_colour"] + inside}
        return {**placed(self.cooled, parts), f"{self.name}.colour_on_solids": colour}
