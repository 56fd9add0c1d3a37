"""Fuel supply: oil, gas, coal, wood or other fuel from outside, as much as the boilers ask."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.station import Equations, Station, outlets, result, setting
from canewright.plant.streams import PERCENT, Fuel
from canewright.quantity import Num


class FuelSupply(Station):
    """Fuel by its analysis as received; each boiler sets its own flow. The default is heavy oil.

    As received, %, and kJ/kg (from memory): heavy oil C 86, H 11, O 1, water 0.3, 43,000; natural gas C 74, H 24, O 0,
    water 0, 53,000; bituminous coal C 65, H 4, O 8, water 8, 26,500; wood C 25, H 3, O 21, water 50, 10,000. What is
    neither element nor water is ash (with a little sulphur and nitrogen). Bagasse bought comes through the bagasse
    store.
    """

    kind = "fuel supply"
    boundary = True
    hazards = ("Fuels burn and explode, oil is fired hot: tanks, pipes and coal heaps follow local fire codes.",)

    fuel = outlets(Fuel)
    moisture = setting("%", 0.3, "water in the fuel", limits=(0.0, 65.0), prior=0.1)
    carbon = setting("%", 86.0, "carbon", limits=(15.0, 100.0), prior=1.0)
    hydrogen = setting("%", 11.0, "hydrogen without that of the water", limits=(0.0, 26.0), prior=0.3)
    oxygen = setting("%", 1.0, "oxygen without that of the water", limits=(0.0, 50.0), prior=0.3)
    calorific_value = setting(
        "kJ/kg", 43000.0, "gross calorific value as received", limits=(5000.0, 60000.0), prior=400.0
    )

    ash = result("%", 1.7, "what the analysis leaves: ash, with sulphur and nitrogen", limits=(0.0, 60.0))

    def equations(self) -> Equations:
        """Every branch has the analysis of the supply, which leaves no less than nothing for ash."""
        yield "the rest is ash", self.ash, PERCENT - self.moisture - self.carbon - self.hydrogen - self.oxygen
        for branch in self.fuel:
            yield "water is the moisture", PERCENT * branch.water, self.moisture * branch.flow
            for name in ("carbon", "hydrogen", "oxygen"):
                yield f"{name} is its share", PERCENT * getattr(branch, name), getattr(self, name) * branch.flow
            yield "heat is the calorific value", branch.combustion_heat, self.calorific_value * branch.flow

    def estimate(self) -> Mapping[str, float]:
        """The analysis; flows are the users' guess, as heat."""
        rest = 100.0 - float(self.moisture + self.carbon + self.hydrogen + self.oxygen)
        guess = {f"{self.name}.ash": rest}
        for branch in self.fuel:
            flow = float(branch.combustion_heat) / float(self.calorific_value)
            guess |= {f"{branch.prefix}.{name}": self._part(name) * flow for name in ("carbon", "hydrogen", "oxygen")}
            water = self._part("moisture")
            guess |= {f"{branch.prefix}.water": water * flow, f"{branch.prefix}.fuel": (1.0 - water) * flow}
        return guess

    def _part(self, name: str) -> Num:
        return float(getattr(self, name)) / 100.0
