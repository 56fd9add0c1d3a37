"""Back-pressure turbine: steam expands to the exhaust range and drives a generator or a machine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.either import surplus
from canewright.plant.expansion import Expansion
from canewright.plant.station import Equations, Exchange, choice, outlet, result, setting
from canewright.plant.streams import Steam
from canewright.properties.steam import saturation_temperature, steam_enthalpy
from canewright.quantity import Num, constant

CORNER = constant(1e-6, "1")
"""Square of the width (0.1 % of the swallow) of the corner where the admission valve shuts."""


class BackPressureTurbine(Expansion):
    """Expansion with an isentropic efficiency, shaft and generator losses, at a set flow or following the exhaust.

    It decides the flow of steam; the pressure of the exhaust is the exhaust range's. Following, its governor admits
    steam in proportion to what the exhaust lacks of the top of its droop, and its swallow at ``wide_open_pressure``.
    With an exhaust range that is governed the turbine meets the demand and the range lets down what is beyond its
    ``most_exhaust`` (proportional back-pressure governor, droop 2-5 %; common practice, no source). The ideal end
    point may be wet (by the quality of the mixture) or superheated; the real exhaust must be superheated, and a wet
    one is refused by name.
    Isentropic efficiency of alternators 72-85 %, of mechanical drives 45-65 % (common practice, no source).
    """

    kind = "back-pressure turbine"
    hazards = (
        "Overspeed and live steam: governors, trips and relief are for licensed persons under local codes.",
        "Rotating shafts and couplings: guards and lock-out.",
    )

    exhaust = outlet(Steam)
    admission = choice("set flow", "follows exhaust", says="what decides how much steam the turbine takes")
    wide_open_pressure = setting(
        "kPa", 235.0, "following: exhaust pressure at which the turbine is wide open", limits=(110.0, 600.0), prior=1.0
    )
    droop = setting("kPa", 8.0, "following: rise of exhaust pressure from wide open to shut", limits=(0.5, 60.0))
    exhaust_superheat = result("K", 20.0, "superheat of the real exhaust", limits=(0.0, 400.0))

    def equations(self) -> Equations:
        """The ideal end point by entropy, the real one by efficiency, the power by what the steam gives up."""
        steam, exhaust = self.steam, self.exhaust
        yield from self.ideal(exhaust.pressure)
        yield "water in is water out", steam.water, exhaust.water
        real = self.live_enthalpy - steam_enthalpy(exhaust.temperature, exhaust.pressure)
        yield "the fall of enthalpy is its share of the ideal", real, self.fall(exhaust.pressure)
        boiling = exhaust.saturation_temperature
        yield "superheat is above the boiling point", exhaust.temperature - boiling, self.exhaust_superheat
        given_up = steam.enthalpy_flow - exhaust.enthalpy_flow
        yield "power is what the steam gives up, less losses", self.power.enthalpy_flow, self.kept * given_up

    @property
    def flow_wanted(self) -> Num:
        """Steam that is admitted, t/h: as set, or as the governor gives at the pressure of the exhaust."""
        if self.admission == "set flow":
            return self.steam_flow
        opening = (self.wide_open_pressure + self.droop - self.exhaust.pressure) / self.droop
        return self.swallow * surplus(opening, CORNER)

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of bearings, gear and generator."""
        given_up = self.steam.enthalpy_flow - self.exhaust.enthalpy_flow
        yield Exchange("lost in bearings, gear and generator", "energy", -(1.0 - self.kept) * given_up)

    def estimate(self) -> Mapping[str, float]:
        """The end points by hand."""
        exhaust = self.exhaust
        pressure, guess = float(exhaust.pressure), dict(self.guessed_end(float(exhaust.pressure)))
        boiling = saturation_temperature(pressure)
        left = float(self.live_enthalpy) - guess.pop("fall") - steam_enthalpy(boiling, pressure)
        superheat = max(0.1, left / 2.1)
        return guess | {
            f"{self.name}.exhaust_superheat": float(superheat),
            f"{exhaust.prefix}.water": float(self.flow_wanted),
            f"{exhaust.prefix}.temperature": float(boiling + superheat),
        }
