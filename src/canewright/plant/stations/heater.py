"""Heaters: vapour condenses on tubes in which juice or liquor is warmed to a temperature."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.heat import heat_capacity_flow
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Liquor, Steam, Water
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

HALF = constant(0.5, "1")


class LiquorHeater(Station):
    """Warms clear juice, syrup or liquor. It decides the flow of its vapour, which condenses at one temperature.

    Exact law of a condensing heater of constant specific heat: ``Ts - T2 = (Ts - T1) exp(-NTU)``, NTU = U A / C. The
    coefficient that this takes is a result: 1.0-1.6 kW/m²K clean, 0.5-0.9 scaled (from memory); 1.2-1.4 in Kern,
    Process Heat Transfer (1950), example 14.4 (read). Superheat of the vapour counts as heat, not as
    driving temperature.
    """

    kind = "liquor heater"
    hazards = ("Hot juice and vapour scald; vent and isolate before opening, under local pressure codes.",)

    liquor, vapour = inlet(Liquor), inlet(Steam)
    heated, condensate = outlet(Liquor), outlet(Water)

    temperature = setting(
        "°C", 100.0, "temperature of the juice or liquor that leaves", limits=(20.0, 130.0), prior=1.0
    )
    area = setting("m²", 500.0, "heating surface in service", limits=(1.0, 10000.0))
    heat_loss = setting("%", 1.0, "heat lost, on the heat given off by the vapour", limits=(0.0, 10.0))
    duty = result("kW", 10000.0, "heat given off by the vapour", limits=(0.0, 1e6))
    heat_transfer_coefficient = result("kW/m²/K", 1.0, "coefficient that the surface must show", limits=(0.0, 50.0))
    transfer_units = result("1", 1.0, "number of transfer units", limits=(0.0, 12.0))

    def equations(self) -> Equations:
        """Balances, the temperature, and the approach to the condensing vapour."""
        cold, hot, vapour, condensate = self.liquor, self.heated, self.vapour, self.condensate
        condensing = vapour.saturation_temperature
        yield from conserve(cold, into=[hot])
        yield "juice leaves at its temperature", hot.temperature, self.temperature
        yield "vapour in is condensate out", vapour.water, condensate.water
        yield "condensate leaves as it condenses", condensate.temperature, condensing
        yield (
            "duty is the heat that the vapour gives off",
            self.KILOWATT * self.duty,
            vapour.enthalpy_flow - condensate.enthalpy_flow,
        )
        yield from conserve_energy(self)
        yield (
            "juice approaches the condensing vapour",
            condensing - hot.temperature,
            (condensing - cold.temperature) * exp(-self.transfer_units),
        )
        yield (
            "the surface passes the heat by its coefficient",
            self.KILOWATT * self.heat_transfer_coefficient * self.area,
            self.transfer_units * self._capacity_flow(),
        )

    def _capacity_flow(self) -> Num:
        """Heat capacity flow of the juice at its mean temperature, MJ/h/K."""
        rise = self.heated.temperature - self.liquor.temperature
        return heat_capacity_flow(self.liquor, self.liquor.temperature + HALF * rise)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost to the surroundings."""
        yield Exchange(
            "heat lost to the surroundings", "energy", -(self.KILOWATT * self.heat_loss / PERCENT * self.duty)
        )

    def estimate(self) -> Mapping[str, float]:
        """The heat of warming at 3.8 kJ/kg K, and vapour by the latent heat. Asks for its vapour."""
        rise = max(float(self.temperature) - float(self.liquor.temperature), 0.0)
        duty = float(self.liquor.flow) * 3.8 * rise / 3.6
        flow = duty * 3.6 / 2200.0
        condensing = float(self.vapour.saturation_temperature)
        guess = spread([self.liquor], {self.heated: 1.0}, float(self.temperature))
        guess |= {f"{self.vapour.prefix}.water": flow, f"{self.condensate.prefix}.water": flow}
        guess |= {f"{self.condensate.prefix}.temperature": condensing}
        return {**guess, f"{self.name}.duty": duty, f"{self.name}.transfer_units": 1.5}


class JuiceHeater(LiquorHeater):
    """Warms raw or limed juice that may carry fibre: 30-75 °C before and 70-105 °C after liming (from memory)."""

    kind = "juice heater"

    liquor, heated = inlet(Juice), outlet(Juice)
