"""What boilers share: steam as set, its water from the feed, its heat from what burns less the losses."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

from canewright.analysis.combustion import oxygen_in_gas, theoretical_air
from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, result, setting
from canewright.plant.streams import PERCENT, BoilerWater, Fuel, Steam
from canewright.properties.steam import saturation_temperature
from canewright.quantity import Num, constant

AIR_FOR_CARBON = theoretical_air(100.0, 0.0, 0.0)
AIR_FOR_HYDROGEN = theoretical_air(0.0, 100.0, 0.0)
AIR_OF_OXYGEN = -theoretical_air(0.0, 0.0, 100.0)
"""The air that combustion needs is linear in the elements, so a flow of fuel asks for a sum over its parts."""
WATER_OF_HYDROGEN = 9.0
GAS_HEAT, VAPOUR_HEAT, WATER_HEAT = (constant(x, "kJ/kg/K") for x in (1.02, 1.88, 4.19))
EVAPORATION = constant(2501.0, "kJ/kg")
ZERO = constant(0.0, "°C")
NO_HEAT = constant(1e-3, "MJ/h")


@dataclass(frozen=True)
class Burnt:
    """What burns of one fuel: its elements and water in t/h, its gross heat in MJ/h, and the part of it unburnt, %."""

    carbon: Num
    hydrogen: Num
    oxygen: Num
    combustible: Num
    water: Num
    heat: Num
    unburnt: Num

    @property
    def air(self) -> Num:
        """Dry air that combustion needs, t/h."""
        return AIR_FOR_CARBON * self.carbon + AIR_FOR_HYDROGEN * self.hydrogen - AIR_OF_OXYGEN * self.oxygen

    @property
    def formed(self) -> Num:
        """Water formed of hydrogen, t/h."""
        return WATER_OF_HYDROGEN * self.hydrogen


class SteamRaising(Station):
    """A boiler by its losses on gross calorific value, counted from the temperature of the air.

    It decides the flow of feedwater and of what it burns; the flow of steam is its users'. Losses: dry gas, water of
    fuel and of hydrogen, humidity of the air, unburnt, radiation, other (handbook relations, from memory). The warmth
    of the fuel itself counts for nothing, as is usual in mills. Sulphur and nitrogen of a fuel are left out.
    """

    handles: ClassVar[tuple[str, ...]] = ("excess_air", "blowdown_on_steam")
    measured: ClassVar[tuple[str, ...]] = (
        "steam mass flow",
        "steam pressure",
        "steam temperature",
        "feedwater temperature",
        "stack_temperature",
        "gas_oxygen",
    )

    feedwater = inlet(BoilerWater)
    auxiliary = inlets(Fuel, may_be_open=True)
    steam, blowdown = outlet(Steam), outlet(BoilerWater)

    pressure = setting("kPa", 4500.0, "absolute pressure of the steam", limits=(300.0, 10000.0))
    temperature = setting("°C", 440.0, "temperature of the steam", limits=(140.0, 560.0), prior=3.0)
    blowdown_on_steam = setting("%", 1.5, "blowdown on steam", limits=(0.0, 15.0), prior=0.5)
    stack_temperature = setting("°C", 165.0, "temperature of the gas that leaves", limits=(110.0, 400.0), prior=3.0)
    excess_air = setting("%", 30.0, "air beyond what combustion needs", limits=(5.0, 240.0), prior=5.0)
    air_temperature = setting("°C", 28.0, "temperature of the air drawn in", limits=(-10.0, 50.0))
    air_humidity = setting("1", 0.013, "water in the air, t per t dry air", limits=(0.0, 0.04))
    auxiliary_unburnt = setting("%", 0.2, "unburnt auxiliary fuel, on its calorific value", limits=(0.0, 10.0))
    radiation = setting("%", 1.2, "radiation and convection, on calorific value", limits=(0.0, 6.0), prior=0.3)
    other_losses = setting("%", 1.0, "other losses, on calorific value", limits=(0.0, 10.0), prior=0.5)
    rating = setting("t/h", 260.0, "maximum continuous rating", limits=(0.0, 1000.0))

    heat_fired = result("kW", 1e5, "gross heat of combustion fired", limits=(0.0, 1e7))
    efficiency = result("%", 65.0, "heat to steam and blowdown on gross heat fired", limits=(0.0, 96.0))
    gas_oxygen = result("%", 5.0, "oxygen in the dry gas, by volume", limits=(0.0, 21.0))

    def burnt(self) -> Iterator[Burnt]:
        """What burns, fuel by fuel."""
        for fuel in self.auxiliary:
            combustible = fuel.carbon + fuel.hydrogen + fuel.oxygen
            yield Burnt(
                fuel.carbon,
                fuel.hydrogen,
                fuel.oxygen,
                combustible,
                fuel.water,
                fuel.combustion_heat,
                self.auxiliary_unburnt,
            )

    def equations(self) -> Equations:
        """Steam as set, its water from the feed, its heat from the fuel less the losses."""
        steam, blowdown = self.steam, self.blowdown
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
        yield "excess air leaves its oxygen in the gas", self.gas_oxygen, oxygen_in_gas(self.excess_air)
        for other in self.auxiliary[1:]:
            yield "auxiliary fuels bring equal heat", other.combustion_heat, self.auxiliary[0].combustion_heat

    def _fired(self) -> Num:
        """Gross heat of combustion, MJ/h."""
        return sum(part.heat for part in self.burnt())

    def _stack(self) -> tuple[Num, Num, Num]:
        """Heat up the stack, MJ/h: in dry gas, in the water of fuel and of hydrogen, in the humidity of the air."""
        parts = list(self.burnt())
        air = (PERCENT + self.excess_air) / PERCENT * sum(part.air for part in parts)
        dry = air + sum(part.combustible - part.formed for part in parts)
        water = sum(part.water + part.formed for part in parts)
        rise = self.stack_temperature - self.air_temperature
        warmth = VAPOUR_HEAT * (self.stack_temperature - ZERO) - WATER_HEAT * (self.air_temperature - ZERO)
        return GAS_HEAT * rise * dry, (EVAPORATION + warmth) * water, VAPOUR_HEAT * rise * (self.air_humidity * air)

    def exchanges(self) -> Iterable[Exchange]:
        """All of the fuel is burnt or leaves as gas and ash; its heat, and each loss."""
        for fuel in self.auxiliary:
            yield Exchange("moisture of the auxiliary fuel, left as gas", "water", -fuel.water)
            yield Exchange("auxiliary fuel burnt, or left as gas and ash", "fuel", -fuel.fuel)
        fired = self._fired()
        yield Exchange("heat of combustion", "energy", fired)
        gas, water, humidity = self._stack()
        yield Exchange("heat up the stack in dry gas", "energy", -gas)
        yield Exchange("heat up the stack in water of the fuel", "energy", -water)
        yield Exchange("heat up the stack in humidity of the air", "energy", -humidity)
        left = sum(part.unburnt / PERCENT * part.heat for part in self.burnt())
        yield Exchange("unburnt fuel", "energy", -left)
        yield Exchange("radiation and convection", "energy", -self.radiation / PERCENT * fired)
        yield Exchange("other losses", "energy", -self.other_losses / PERCENT * fired)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Maximum continuous rating."""
        yield "steam within the maximum continuous rating", self.steam.water, self.rating

    def _guessed(self, efficiency: float) -> dict[str, float]:
        """Steam as set, its water, and the heat for it."""
        steam, pressure = float(self.steam.water), float(self.pressure)
        blown = steam * float(self.blowdown_on_steam) / 100.0
        guess = {f"{self.feedwater.prefix}.water": steam + blown, f"{self.blowdown.prefix}.water": blown}
        guess |= {f"{s.prefix}.pressure": pressure for s in (self.steam, self.blowdown)}
        guess[f"{self.steam.prefix}.temperature"] = float(self.temperature)
        guess[f"{self.blowdown.prefix}.temperature"] = saturation_temperature(pressure)
        results = {"heat_fired": 76000.0 * steam / efficiency, "efficiency": efficiency, "gas_oxygen": 5.0}
        return guess | {f"{self.name}.{key}": value for key, value in results.items()}

    def _guessed_auxiliary(self, heat: float) -> dict[str, float]:
        """Auxiliary fuels that bring so much heat together, MJ/h, each as its supply last made it up."""
        guess: dict[str, float] = {}
        for fuel in self.auxiliary:
            now = float(fuel.combustion_heat)
            per_heat = {n: float(getattr(fuel, n)) / now for n in fuel.holds} if now > 0 else {"combustion_heat": 1.0}
            guess |= {f"{fuel.prefix}.{n}": part * heat / len(self.auxiliary) for n, part in per_heat.items()}
        return guess
