"""Back-pressure turbine: steam expands to the exhaust range and drives a generator or a machine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.either import either
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, result, setting
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


class BackPressureTurbine(Station):
    """Expansion with an isentropic efficiency, shaft and generator losses, at the steam flow that is set.

    It decides the flow of steam; the pressure of the exhaust is the exhaust range's. The ideal end point may be wet (by
    the quality of the mixture) or superheated; the real exhaust must be superheated, and a wet one is refused by name.
    Isentropic efficiency of alternators 72-85 %, of mechanical drives 45-65 % (common practice, no source).
    """

    kind = "back-pressure turbine"
    hazards = (
        "Overspeed and live steam: governors, trips and relief are for licensed persons under local codes.",
        "Rotating shafts and couplings: guards and lock-out.",
    )

    steam = inlet(Steam)
    exhaust, power = outlet(Steam), outlet(Power)
    steam_flow = setting("t/h", 60.0, "steam to the turbine", limits=(0.0, 500.0), prior=1.5)
    isentropic_efficiency = setting("%", 78.0, "real on ideal fall of enthalpy", limits=(20.0, 92.0), prior=2.0)
    mechanical_efficiency = setting("%", 95.0, "bearings and gear", limits=(70.0, 100.0))
    generator_efficiency = setting("%", 96.0, "generator; 100 for a mechanical drive", limits=(70.0, 100.0))
    swallow = setting("t/h", 150.0, "most steam that the turbine swallows", limits=(0.0, 600.0))

    end_quality = result("1", 0.95, "vapour in the ideal exhaust", limits=(0.6, 1.0))
    end_superheat = result("K", 10.0, "superheat of the ideal exhaust", limits=(0.0, 400.0))
    exhaust_superheat = result("K", 20.0, "superheat of the real exhaust", limits=(0.0, 400.0))

    def equations(self) -> Equations:
        """The ideal end point by entropy, the real one by efficiency, the power by what the steam gives up."""
        steam, exhaust = self.steam, self.exhaust
        yield "steam comes at the flow that is set", steam.water, self.steam_flow
        yield "water in is water out", steam.water, exhaust.water
        yield (
            "ideal expansion keeps the entropy",
            steam_entropy(steam.temperature, steam.pressure),
            self._end_entropy(),
        )
        yield from either(
            "the ideal exhaust is wet or superheated",
            HUNDRED_KELVIN * (1.0 - self.end_quality),
            self.end_superheat,
            JOIN,
        )
        entering = steam_enthalpy(steam.temperature, steam.pressure)
        fall = entering - steam_enthalpy(exhaust.temperature, exhaust.pressure)
        ideal = entering - self._end_enthalpy()
        yield "the fall of enthalpy is its share of the ideal", PERCENT * fall, self.isentropic_efficiency * ideal
        boiling = exhaust.saturation_temperature
        yield "superheat is above the boiling point", exhaust.temperature - boiling, self.exhaust_superheat
        yield (
            "power is what the steam gives up, less losses",
            self.power.enthalpy_flow,
            self._kept() * (steam.enthalpy_flow - exhaust.enthalpy_flow),
        )

    def _kept(self) -> Num:
        return self.mechanical_efficiency / PERCENT * self.generator_efficiency / PERCENT

    def _end_entropy(self) -> Num:
        pressure, boiling = self.exhaust.pressure, self.exhaust.saturation_temperature
        liquid, dry = water_entropy(boiling, pressure), steam_entropy(boiling, pressure)
        beyond = steam_entropy(boiling + self.end_superheat, pressure) - dry
        return liquid + self.end_quality * (dry - liquid) + beyond

    def _end_enthalpy(self) -> Num:
        pressure, boiling = self.exhaust.pressure, self.exhaust.saturation_temperature
        liquid, dry = water_enthalpy(boiling, pressure), steam_enthalpy(boiling, pressure)
        beyond = steam_enthalpy(boiling + self.end_superheat, pressure) - dry
        return liquid + self.end_quality * (dry - liquid) + beyond

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of bearings, gear and generator."""
        given_up = self.steam.enthalpy_flow - self.exhaust.enthalpy_flow
        yield Exchange("lost in bearings, gear and generator", "energy", -(1.0 - self._kept()) * given_up)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the turbine swallows."""
        yield "steam within what the turbine swallows", self.steam.water, self.swallow

    def estimate(self) -> Mapping[str, float]:
        """The end points by hand."""
        steam, exhaust = self.steam, self.exhaust
        pressure, flow = float(exhaust.pressure), float(self.steam_flow)
        boiling = saturation_temperature(pressure)
        liquid, dry = water_entropy(boiling, pressure), steam_entropy(boiling, pressure)
        quality = (steam_entropy(steam.temperature, steam.pressure) - liquid) / (dry - liquid)
        beyond = max(0.0, quality - 1.0) * (dry - liquid) * (boiling + 273.15) / 2.1
        entering = steam_enthalpy(steam.temperature, steam.pressure)
        latent = steam_enthalpy(boiling, pressure) - water_enthalpy(boiling, pressure)
        ideal = steam_enthalpy(boiling, pressure) - max(0.0, 1.0 - quality) * latent + 2.1 * beyond
        fall = float(self.isentropic_efficiency) / 100.0 * (entering - ideal)
        superheat = max(0.1, (entering - fall - steam_enthalpy(boiling, pressure)) / 2.1)
        own = {"end_quality": min(quality, 1.0), "end_superheat": beyond, "exhaust_superheat": superheat}
        return {f"{self.name}.{key}": float(value) for key, value in own.items()} | {
            f"{steam.prefix}.water": flow,
            f"{exhaust.prefix}.water": flow,
            f"{exhaust.prefix}.temperature": float(boiling + superheat),
            f"{self.power.prefix}.power": float(self._kept() * flow * fall / 3.6),
        }
