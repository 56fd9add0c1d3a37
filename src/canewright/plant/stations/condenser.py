"""Condensers: cold water takes vapour down and a pump takes the gas that does not condense."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Station, choice, inlet, inlets, outlet, result, setting
from canewright.plant.streams import ATMOSPHERE, Steam, Water
from canewright.properties.condensing import gas_drawn, tail_pipe_column
from canewright.properties.steam import saturation_temperature
from canewright.quantity import Num, constant

GRAMS = constant(1e-3, "kg·kg/mg/t")
"""A milligram on a kilogram is a gram on a tonne."""


class _JetCondenser(Station):
    """What both condensers say; each has its own way to the pressure."""

    hazards = (
        "A flooded tail pipe or lost water breaks the vacuum and can draw water back: levels and seals by site rules.",
        "Sugar carried over fouls rivers: watch the water for sugar and keep to the discharge licence.",
    )
    handles: ClassVar[tuple[str, ...]] = ("water",)
    measured: ClassVar[tuple[str, ...]] = ("warm temperature", "water temperature", "water mass flow", "pressure")

    vapours, water = inlets(Steam), inlet(Water)
    warm = outlet(Water)
    gas_flow = choice("counter-current", "parallel", says="whether gas leaves beside the cold or the warm water")

    pressure: Num
    approach = setting("K", 5.0, "how far the warm water stays below the boiling point", limits=(0.1, 40.0), prior=1.0)
    air_leak = setting("kg/h", 50.0, "air that leaks in", limits=(0.0, 5000.0))
    gas_in_vapour = setting("mg/kg", 1000.0, "gas that comes with the vapour", limits=(0.0, 20000.0))
    gas_in_water = setting("mg/kg", 20.0, "air that cold water gives off", limits=(0.0, 100.0))
    suction_approach = setting("K", 4.0, "gas warmer than the water it leaves", limits=(0.0, 30.0))
    pump_displacement = setting("m³/h", 10000.0, "volume that the vacuum pump draws", limits=(1.0, 1e6))
    tail_pipe_height = setting("m", 10.5, "height of the condenser above the seal", limits=(0.0, 20.0))
    gas = result("kg/h", 150.0, "gas to be drawn off")
    water_column = result("m", 9.0, "height at which water stands in the tail pipe")

    def equations(self) -> Equations:
        """One pressure; vapour and water leave together, an approach below the boiling point; gas adds up."""
        for vapour in self.vapours:
            yield "vapour has the pressure of the condenser", vapour.pressure, self.pressure
        boils = saturation_temperature(self.pressure)
        yield "water in is water out", sum(v.water for v in self.vapours) + self.water.water, self.warm.water
        yield "water leaves an approach below the boiling point", self.warm.temperature, boils - self.approach
        yield from conserve_energy(self)
        brought = self.gas_in_vapour * sum(v.water for v in self.vapours) + self.gas_in_water * self.water.water
        yield "gas comes by leaks, vapour and water", self.gas, self.air_leak + GRAMS * brought
        column = tail_pipe_column(self.pressure, self.warm.temperature, ATMOSPHERE)
        yield "the vacuum lifts water", self.water_column, column

    def _drawn(self, volume: Num) -> Num:
        """Gas in a volume at the suction, kg/h."""
        beside = self.water if self.gas_flow == "counter-current" else self.warm
        away = self.suction_approach if self.gas_flow == "counter-current" else 0.0 * self.suction_approach
        return gas_drawn(volume, beside.temperature + away, self.pressure)

    def _column(self) -> tuple[str, Num, Num]:
        return "water stands below the condenser", self.water_column, self.tail_pipe_height

    def _taken_down(self, pressure: float) -> dict[str, float]:
        """The pressure of the vapours, water by the latent heat, and the gas of both."""
        vapour, cold = sum(float(v.water) for v in self.vapours), float(self.water.temperature)
        warm = float(saturation_temperature(pressure) - self.approach)
        water = vapour * 2400.0 / (4.18 * max(warm - cold, 3.0))
        gas = float(self.air_leak) + 1e-3 * float(self.gas_in_vapour * vapour + self.gas_in_water * water)
        guess = {f"{v.prefix}.pressure": pressure for v in self.vapours}
        guess |= {f"{self.water.prefix}.water": water, f"{self.warm.prefix}.water": water + vapour}
        guess |= {f"{self.warm.prefix}.temperature": warm, f"{self.name}.gas": gas}
        return guess | {f"{self.name}.water_column": float(tail_pipe_column(pressure, warm, ATMOSPHERE))}

    def _volume(self, guess: Mapping[str, float], pressure: float) -> float:
        """Volume of the guessed gas, m³/h."""
        beside = guess[f"{self.warm.prefix}.temperature"]
        if self.gas_flow == "counter-current":
            beside = float(self.water.temperature + self.suction_approach)
        drawn = float(gas_drawn(1.0, beside, pressure))
        return guess[f"{self.name}.gas"] / max(drawn, 1e-3)


class Condenser(_JetCondenser):
    """Jet condenser of one or more vapours at a set pressure. It decides those pressures and the flow of its water.

    Water leaves an approach below the boiling point at the pressure: 3-8 K (from memory), within 3 K read for
    counter-current. Gas comes with vapour, by leaks and dissolved in the water, 20 mg/kg (from memory); 5-8 kg with a
    tonne of vapour in all was read for pans. Its volume at the suction is what the pump must draw.
    """

    kind = "condenser"
    handles = ("pressure", "water")

    pressure = setting("kPa", 15.0, "absolute pressure", limits=(4.0, 150.0), prior=0.5)
    pump_volume = result("m³/h", 2000.0, "volume that the vacuum pump has to draw")

    def equations(self) -> Equations:
        """Those of every jet condenser, and the volume of the gas."""
        yield from super().equations()
        yield "gas fills the volume that is drawn", self.gas, self._drawn(self.pump_volume)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Volume within what the pump draws, m³/h; water within the tail pipe, m."""
        yield "gas within what the vacuum pump draws", self.pump_volume, self.pump_displacement
        yield self._column()

    def estimate(self) -> Mapping[str, float]:
        """The set pressure."""
        guess = self._taken_down(float(self.pressure))
        return guess | {f"{self.name}.pump_volume": self._volume(guess, float(self.pressure))}


class PumpedCondenser(_JetCondenser):
    """Jet condenser whose vacuum is what its pump can hold against the gas: an air leak shows in the pressure.

    It decides the pressures of its vapours and the flow of its water.
    """

    kind = "condenser with vacuum pump"

    pressure = result("kPa", 15.0, "absolute pressure that the pump holds", limits=(2.0, 150.0))

    def equations(self) -> Equations:
        """Those of every jet condenser; the pump draws all it can."""
        yield from super().equations()
        yield "the pump draws the gas", self.gas, self._drawn(self.pump_displacement)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Water within the tail pipe, m."""
        yield self._column()

    def estimate(self) -> Mapping[str, float]:
        """A usual vacuum."""
        return self._taken_down(15.0) | {f"{self.name}.pressure": 15.0}
