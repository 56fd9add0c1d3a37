"""What all turbines share: the ideal end point of the expansion, wet or superheated, and the losses of the shaft."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.either import either
from canewright.plant.station import Equations, Station, inlet, outlet, result, setting
from canewright.plant.streams import PERCENT, Power, Steam
from canewright.properties.steam import (
    saturation_temperature,
    steam_enthalpy,
    steam_entropy,
    water_enthalpy,
    water_entropy,
)
from canewright.quantity import Num, constant

HUNDRED_KELVIN = constant(100.0, "K")
JOIN = constant(1e-8, "K²")
"""Square of the width (1e-4 K) of the join between wet and superheated ideal end points; error below 1e-5 kJ/kg."""


class Expansion(Station):
    """Steam at the flow that is wanted, expanding towards a pressure; subclasses say where it goes from there.

    The ideal end point is ``s' + quality (s'' - s')`` plus what superheat adds; quality is one or superheat is nothing.
    """

    steam, power = inlet(Steam), outlet(Power)
    steam_flow = setting("t/h", 60.0, "steam to the turbine", limits=(0.0, 500.0), prior=1.5)
    isentropic_efficiency = setting("%", 78.0, "real on ideal fall of enthalpy", limits=(20.0, 92.0), prior=2.0)
    mechanical_efficiency = setting("%", 95.0, "bearings and gear", limits=(70.0, 100.0))
    generator_efficiency = setting("%", 96.0, "generator; 100 for a mechanical drive", limits=(70.0, 100.0))
    swallow = setting("t/h", 150.0, "most steam that the turbine swallows", limits=(0.0, 600.0))
    end_quality = result("1", 0.95, "vapour in the ideal exhaust", limits=(0.6, 1.0))
    end_superheat = result("K", 10.0, "superheat of the ideal exhaust", limits=(0.0, 400.0))

    def ideal(self, pressure: Num) -> Equations:
        """The flow that is wanted and the ideal end point at a pressure."""
        steam = self.steam
        yield "steam comes at the flow that is wanted", steam.water, self.flow_wanted
        entropy = steam_entropy(steam.temperature, steam.pressure)
        yield "ideal expansion keeps the entropy", entropy, self._end(pressure, water_entropy, steam_entropy)
        yield from either(
            "the ideal exhaust is wet or superheated",
            HUNDRED_KELVIN * (1.0 - self.end_quality),
            self.end_superheat,
            JOIN,
        )

    def _end(self, pressure: Num, of_water: Num, of_steam: Num) -> Num:
        """Entropy or enthalpy at the ideal end point."""
        boiling = saturation_temperature(pressure)
        liquid, dry = of_water(boiling, pressure), of_steam(boiling, pressure)
        beyond = of_steam(boiling + self.end_superheat, pressure) - dry
        return liquid + self.end_quality * (dry - liquid) + beyond

    @property
    def flow_wanted(self) -> Num:
        """Steam that the turbine takes, t/h: what is set."""
        return self.steam_flow

    @property
    def live_enthalpy(self) -> Num:
        """Enthalpy of the steam that enters, kJ/kg."""
        return steam_enthalpy(self.steam.temperature, self.steam.pressure)

    def fall(self, pressure: Num) -> Num:
        """Real fall of enthalpy, kJ/kg: the ideal one times the isentropic efficiency."""
        ideal = self.live_enthalpy - self._end(pressure, water_enthalpy, steam_enthalpy)
        return self.isentropic_efficiency / PERCENT * ideal

    @property
    def kept(self) -> Num:
        """Share of the steam's work that becomes power."""
        return self.mechanical_efficiency / PERCENT * self.generator_efficiency / PERCENT

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the turbine swallows."""
        yield "steam within what the turbine swallows", self.steam.water, self.swallow

    def guessed_end(self, pressure: float) -> Mapping[str, float]:
        """First estimate of the ideal end point and of the power (kW), by name; and the fall, kJ/kg, under ``fall``."""
        steam, boiling = self.steam, saturation_temperature(pressure)
        liquid, dry = water_entropy(boiling, pressure), steam_entropy(boiling, pressure)
        quality = (steam_entropy(steam.temperature, steam.pressure) - liquid) / (dry - liquid)
        beyond = max(0.0, quality - 1.0) * (dry - liquid) * (boiling + 273.15) / 2.1
        latent = steam_enthalpy(boiling, pressure) - water_enthalpy(boiling, pressure)
        ideal = steam_enthalpy(boiling, pressure) - max(0.0, 1.0 - quality) * latent + 2.1 * beyond
        fall = float(self.isentropic_efficiency) / 100.0 * (float(self.live_enthalpy) - ideal)
        return {
            f"{self.name}.end_quality": min(float(quality), 1.0),
            f"{self.name}.end_superheat": float(beyond),
            f"{steam.prefix}.water": float(self.flow_wanted),
            f"{self.power.prefix}.power": float(self.kept * self.flow_wanted) * fall / 3.6,
            "fall": fall,
        }
