"""Boiler: burns bagasse and raises steam; its losses make its efficiency."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import CONSERVED, conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, BoilerWater, Juice, Steam
from canewright.properties.bagasse import gross_calorific_value
from canewright.properties.steam import saturation_temperature
from canewright.quantity import Num, constant

DRY_FUEL = constant(gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg")
FOR_WATER = constant(gross_calorific_value(1.0, 0.0, 0.0) - gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg/%")
FOR_ASH = constant(gross_calorific_value(0.0, 1.0, 0.0) - gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg/%")
FOR_BRIX = constant(gross_calorific_value(0.0, 0.0, 1.0) - gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg/%")
"""The calorific value is linear in moisture, ash and brix, so a flow of fuel brings a sum over its parts."""
AIR_FOR_CARBON, AIR_FOR_HYDROGEN, WATER_OF_HYDROGEN = 11.5, 34.5, 9.0
GAS_HEAT, VAPOUR_HEAT, WATER_HEAT = (constant(x, "kJ/kg/K") for x in (1.02, 1.88, 4.19))
EVAPORATION = constant(2501.0, "kJ/kg")
OXYGEN_IN_AIR = constant(21.0, "%")
ZERO = constant(0.0, "°C")
NO_FUEL = constant(1e-7, "t/h")
NO_HEAT = constant(1e-3, "MJ/h")


class Boiler(Station):
    """A bagasse boiler by its losses on gross calorific value, counted from the temperature of the air.

    It decides the flow of fuel (from the steam wanted) and of feedwater; the flow of steam is its users'. Losses: dry
    gas, water of fuel and of hydrogen, humidity of the air, unburnt, radiation, other; theoretical air
    11.5 C + 34.5 (H - O/8) (handbook relations, from memory). Unburnt 1.5-4 %, excess air 25-60 % (common practice, no
    source). The warmth of the fuel itself counts for nothing, as is usual in mills.
    """

    kind = "boiler"
    hazards = (
        (
            "Fire and steam under pressure: low water, furnace explosion, burns. Design, protection, operation and "
            "inspection are for licensed persons under local boiler codes; nothing here replaces a trip or interlock."
        ),
        "Sugar in feedwater foams and corrodes: divert at the first sign under the site's procedure.",
        "Boiler chemicals and blowdown scald and burn.",
    )

    fuel, feedwater = inlet(Juice), inlet(BoilerWater)
    steam, blowdown = outlet(Steam), outlet(BoilerWater)

    pressure = setting("kPa", 4500.0, "absolute pressure of the steam", limits=(300.0, 10000.0))
    temperature = setting("°C", 440.0, "temperature of the steam", limits=(140.0, 560.0), prior=3.0)
    blowdown_on_steam = setting("%", 1.5, "blowdown on steam", limits=(0.0, 15.0), prior=0.5)
    stack_temperature = setting("°C", 165.0, "temperature of the gas that leaves", limits=(110.0, 400.0), prior=3.0)
    excess_air = setting("%", 30.0, "air beyond what combustion needs", limits=(5.0, 240.0), prior=5.0)
    air_temperature = setting("°C", 28.0, "temperature of the air drawn in", limits=(-10.0, 50.0))
    air_humidity = setting("1", 0.013, "water in the air, t per t dry air", limits=(0.0, 0.04))
    carbon = setting("%", 48.0, "carbon in dry, ash-free bagasse", limits=(42.0, 54.0))
    hydrogen = setting("%", 6.5, "hydrogen in dry, ash-free bagasse", limits=(5.0, 7.5))
    oxygen = setting("%", 45.5, "oxygen in dry, ash-free bagasse", limits=(38.0, 50.0))
    unburnt = setting("%", 2.0, "unburnt fuel, on calorific value", limits=(0.0, 10.0), prior=0.5)
    radiation = setting("%", 1.2, "radiation and convection, on calorific value", limits=(0.0, 6.0), prior=0.3)
    other_losses = setting("%", 1.0, "other losses, on calorific value", limits=(0.0, 10.0), prior=0.5)
    rating = setting("t/h", 260.0, "maximum continuous rating", limits=(0.0, 1000.0))

    heat_fired = result("kW", 1e5, "gross heat of combustion fired", limits=(0.0, 1e7))
    efficiency = result("%", 65.0, "heat to steam and blowdown on gross heat fired", limits=(0.0, 85.0))
    fuel_moisture = result("%", 50.0, "moisture of the fuel", limits=(0.0, 65.0))
    gas_oxygen = result("%", 5.0, "oxygen in the dry gas, by volume", limits=(0.0, 21.0))

    def equations(self) -> Equations:
        """Steam as set, its water from the feed, its heat from the fuel less the losses."""
        steam, blowdown, fuel = self.steam, self.blowdown, self.fuel
        yield "steam leaves at the pressure", steam.pressure, self.pressure
        yield "steam leaves at the temperature", steam.temperature, self.temperature
        yield "blowdown leaves at the pressure", blowdown.pressure, self.pressure
        yield "blowdown leaves boiling", blowdown.temperature, saturation_temperature(self.pressure)
        yield "blowdown is its share of steam", PERCENT * blowdown.water, self.blowdown_on_steam * steam.water
        yield "water in is water out", self.feedwater.water, steam.water + blowdown.water
        yield from conserve_energy(self)
        yield "heat fired is that of the fuel", self.KILOWATT * self.heat_fired, self._fired()
        yield (
            "efficiency is useful on fired heat",
            self.efficiency * (self._fired() + NO_HEAT),
            PERCENT * (steam.enthalpy_flow + blowdown.enthalpy_flow - self.feedwater.enthalpy_flow),
        )
        yield (
            "moisture is water on fuel",
            self.fuel_moisture * (fuel.flow + NO_FUEL + NO_FUEL),
            PERCENT * (fuel.water + NO_FUEL),
        )
        excess = self.excess_air
        yield "excess air leaves its oxygen in the gas", self.gas_oxygen * (PERCENT + excess), OXYGEN_IN_AIR * excess

    def _insoluble(self) -> Num:
        return self.fuel.ash + self.fuel.suspended

    def _fired(self) -> Num:
        """Gross heat of combustion, MJ/h."""
        fuel = self.fuel
        parts = FOR_WATER * fuel.water + FOR_ASH * self._insoluble() + FOR_BRIX * fuel.solids
        return DRY_FUEL * fuel.flow + PERCENT * parts

    def _stack(self) -> tuple[Num, Num, Num]:
        """Heat up the stack, MJ/h: in dry gas, in the water of fuel and of hydrogen, in the humidity of the air."""
        fuel = self.fuel
        combustible = fuel.flow - fuel.water - self._insoluble()
        needed = (AIR_FOR_CARBON * self.carbon + AIR_FOR_HYDROGEN * (self.hydrogen - self.oxygen / 8.0)) / PERCENT
        air = (PERCENT + self.excess_air) / PERCENT * needed * combustible
        formed = WATER_OF_HYDROGEN * self.hydrogen / PERCENT * combustible
        rise = self.stack_temperature - self.air_temperature
        gas = GAS_HEAT * rise * (air + combustible - formed)
        vapour = (
            EVAPORATION + VAPOUR_HEAT * (self.stack_temperature - ZERO) - WATER_HEAT * (self.air_temperature - ZERO)
        )
        return gas, vapour * (fuel.water + formed), VAPOUR_HEAT * rise * (self.air_humidity * air)

    def exchanges(self) -> Iterable[Exchange]:
        """All of the fuel is burnt or leaves as gas and ash; its heat, and each loss."""
        for name in CONSERVED[:-2]:
            yield Exchange("burnt, or left as gas and ash", name, -self.fuel.component(name))
        yield Exchange("colour burnt", "colour", -self.fuel.colour)
        fired = self._fired()
        yield Exchange("heat of combustion", "energy", fired)
        gas, water, humidity = self._stack()
        yield Exchange("heat up the stack in dry gas", "energy", -gas)
        yield Exchange("heat up the stack in water of the fuel", "energy", -water)
        yield Exchange("heat up the stack in humidity of the air", "energy", -humidity)
        yield Exchange("unburnt fuel", "energy", -self.unburnt / PERCENT * fired)
        yield Exchange("radiation and convection", "energy", -self.radiation / PERCENT * fired)
        yield Exchange("other losses", "energy", -self.other_losses / PERCENT * fired)
        yield Exchange("warmth of the fuel, counted for nothing", "energy", -self.fuel.enthalpy_flow)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Maximum continuous rating."""
        yield "steam within the maximum continuous rating", self.steam.water, self.rating

    def estimate(self) -> Mapping[str, float]:
        """Two tonnes of steam from a tonne of bagasse."""
        steam, fuel, pressure = float(self.steam.water), self.fuel, float(self.pressure)
        blown = steam * float(self.blowdown_on_steam) / 100.0
        burnt = {"water": 0.5, "fibre": 0.47, "sucrose": 0.015, "suspended": 0.012, "ash": 0.001, "other": 0.002}
        if float(fuel.flow) > 0:
            burnt = {n: float(getattr(fuel, n)) / float(fuel.flow) for n in fuel.holds if n != "temperature"}
        guess = {f"{fuel.prefix}.{name}": part * steam / 2.2 for name, part in burnt.items()}
        guess |= {f"{self.feedwater.prefix}.water": steam + blown, f"{self.blowdown.prefix}.water": blown}
        guess |= {f"{s.prefix}.pressure": pressure for s in (self.steam, self.blowdown)}
        guess[f"{self.steam.prefix}.temperature"] = float(self.temperature)
        guess[f"{self.blowdown.prefix}.temperature"] = saturation_temperature(pressure)
        results = {"heat_fired": 1150.0 * steam, "efficiency": 66.0, "fuel_moisture": 50.0, "gas_oxygen": 5.0}
        return guess | {f"{self.name}.{key}": value for key, value in results.items()}
