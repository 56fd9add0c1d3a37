"""Elements through which water flows in stirred massecuite: cooling and reheating."""

from __future__ import annotations

from canewright.plant.balance import conserve_energy
from canewright.plant.heat import heat_capacity_flow
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.station import Equations, Station, choice, inlet, outlet, result, setting
from canewright.plant.streams import Massecuite, Water
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

HALF = constant(0.5, "1")
TRICKLE = constant(4e-6, "MJ/h/K")
"""Heat capacity flow of a trickle of 1 g/h of water, so that water that does not flow has a temperature."""


def at_rest(flow: Num) -> Num:
    """One where nothing flows and nothing (to the last digit) from a kilogram an hour on."""
    still = flow / STANDSTILL
    return exp(-(still * still))


class WaterElements(Station):
    """Water passes elements in massecuite that is stirred, so as warm throughout as it leaves.

    Exact for such a vessel: ``T - t_out = (T - t_in) exp(-U A / C)``, C the heat capacity flow of the water. A row of
    vessels or plug flow does better with the same surface: fit the coefficient to the plant. 0.015-0.06 kW/m²K for
    C massecuite cooled, 0.05-0.15 reheated by finned tubes (from memory). Upstream it decides the flow of water.
    """

    water, used_water = inlet(Water), outlet(Water)

    leaves_by = choice("temperature", "surface", says="what decides how warm the massecuite leaves")
    temperature = setting("°C", 50.0, "temperature of the massecuite that leaves", limits=(20.0, 80.0), prior=1.0)
    water_on_massecuite = setting("1", 1.0, "water through the elements on massecuite, t/t", limits=(0.0, 20.0))
    area = setting("m²", 600.0, "surface of all elements", limits=(1.0, 20000.0))
    heat_transfer_coefficient = setting(
        "kW/m²/K", 0.03, "overall heat transfer coefficient of the elements", limits=(0.001, 1.0), prior=0.005
    )
    coefficient_shown = result("kW/m²/K", 0.03, "coefficient that the surface must show", limits=(0.0, 100.0))
    transfer_units = result("1", 1.0, "transfer units of the elements on the water", limits=(0.0, 1e12))

    def elements(self, came: Massecuite, leaves: Massecuite) -> Equations:
        """Heat from massecuite to water, or the other way, through the surface."""
        water, used = self.water, self.used_water
        yield "water is its part of the massecuite", water.water, self.water_on_massecuite * came.flow
        yield "water in is water out", water.water, used.water
        trickle = TRICKLE * at_rest(water.water)
        for sentence, brought, carried in conserve_energy(self):
            yield sentence, brought, carried + trickle * (used.temperature - water.temperature)
        far = leaves.temperature - water.temperature
        near = leaves.temperature - used.temperature
        yield "water approaches the massecuite", near, far * exp(-self.transfer_units)
        middle = water.temperature + HALF * (used.temperature - water.temperature)
        capacity = heat_capacity_flow(water, middle) + trickle
        passes = self.KILOWATT * self.coefficient_shown * self.area
        yield "transfer units are surface on water", self.transfer_units * capacity, passes
        if self.leaves_by == "surface":
            yield "surface shows its coefficient", self.coefficient_shown, self.heat_transfer_coefficient
        else:
            yield "massecuite leaves at its temperature", leaves.temperature, self.temperature

    def guess_elements(self, came: Massecuite) -> dict[str, float]:
        """Water at its part of the massecuite, halfway to the temperature of the massecuite; for first estimates."""
        flow = float(self.water_on_massecuite) * float(came.flow)
        used, water = self.used_water, self.water
        warm = 0.5 * (float(self.temperature) + float(water.temperature))
        guess = {f"{water.prefix}.water": flow, f"{used.prefix}.water": flow, f"{used.prefix}.temperature": warm}
        results = {"transfer_units": 0.7, "coefficient_shown": float(self.heat_transfer_coefficient)}
        return {**guess, **self.own(results)}
