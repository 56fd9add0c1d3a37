"""Massecuite reheater: thins cold massecuite by warmth before curing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve
from canewright.plant.crystals import placed, totals
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.station import Equations, inlet, outlet, setting
from canewright.plant.streams import PERCENT, Massecuite
from canewright.plant.water_elements import WaterElements
from canewright.quantity import Num


class MassecuiteReheater(WaterElements):
    """Finned or stirred elements with hot water warm massecuite to its saturation temperature, and no further.

    Warmed past saturation, crystal dissolves again: the share is a setting. Operator's handles: water, its
    temperature. Measured: temperatures, purity of the mother liquor before and after. C massecuite 40-45 to 50-55 °C
    in 1-2 h, water no more than 5-8 K warmer (from memory).
    """

    kind = "massecuite reheater"
    hazards = ("Hot water scalds; a stalled reheater overheats massecuite on its tubes and can set it foaming.",)
    handles = ("temperature", "water_on_massecuite")
    measured = ("warmed temperature", "warmed mother liquor purity", "used_water temperature")

    massecuite, warmed = inlet(Massecuite), outlet(Massecuite)
    temperature = setting("°C", 53.0, "temperature of the massecuite that leaves", limits=(20.0, 80.0), prior=1.0)
    crystal_dissolved = setting("%", 0.0, "crystal that dissolves again", limits=(0.0, 20.0), prior=0.5)
    heat_transfer_coefficient = setting(
        "kW/m²/K", 0.1, "overall heat transfer coefficient of the elements", limits=(0.001, 1.0), prior=0.02
    )
    volume = setting("m³", 30.0, "volume of the reheaters", limits=(0.0, 500.0))
    longest_stay = setting("h", 3.0, "time beyond which warm massecuite dissolves crystal", limits=(0.2, 12.0))
    density = setting("t/m³", 1.48, "density of the massecuite (1.45-1.52, from memory)", limits=(1.2, 1.6))

    def equations(self) -> Equations:
        """Everything passes; a share of the crystal dissolves; water gives the heat."""
        came, warmed = self.massecuite, self.warmed
        stays = PERCENT - self.crystal_dissolved
        yield from conserve(came, into=[warmed])
        yield "crystal stays but for what dissolves", PERCENT * warmed.crystal, stays * came.crystal
        yield "crystal colour stays with the crystal", PERCENT * warmed.crystal_colour, stays * came.crystal_colour
        yield from self.elements(came, warmed)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Surface of the elements, and time in the warmth."""
        shown, there = self.coefficient_shown, self.heat_transfer_coefficient
        yield "elements need show no more than their coefficient", shown, there
        held = self.volume * self.density / (self.massecuite.flow + STANDSTILL)
        yield "massecuite is warm no longer than crystal bears", held, self.longest_stay

    def estimate(self) -> Mapping[str, float]:
        """All but the crystal that dissolves, at the temperature set."""
        total = totals([self.massecuite])
        gone = float(self.crystal_dissolved) / 100.0
        total["sucrose"] += gone * total["crystal"]
        total["colour"] += gone * total["crystal_colour"]
        total |= {n: (1.0 - gone) * total[n] for n in ("crystal", "crystal_colour")}
        parts = placed(self.warmed, {**total, "temperature": float(self.temperature)})
        return {**parts, **self.guess_elements(self.massecuite)}
