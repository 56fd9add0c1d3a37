"""What all turbines share: the ideal end point of the expansion, wet or superheated, and the losses of the shaft."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from canewright.analysis.combustion import part_load_efficiency
from canewright.plant.either import either, surplus
from canewright.plant.station import Equations, Station, choice, inlet, outlet, result, setting
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
CORNER = constant(1e-6, "1")
"""Square of the width (0.1 % of the swallow) of the corner where the admission valve shuts."""


def at_end(
    pressure: Num,
    quality: Num,
    superheat: Num,
    of_water: Callable[[Num, Num], Num],
    of_steam: Callable[[Num, Num], Num],
) -> Num:
    """Entropy or enthalpy where an expansion ends: ``s' + quality (s'' - s')`` plus what superheat adds."""
    boiling = saturation_temperature(pressure)
    liquid, dry = of_water(boiling, pressure), of_steam(boiling, pressure)
    beyond = of_steam(boiling + superheat, pressure) - dry
    return liquid + quality * (dry - liquid) + beyond


def ideal_fall(live: Num, pressure: Num, quality: Num, superheat: Num) -> Num:
    """Ideal fall of enthalpy from that of the ``live`` steam to an end point, kJ/kg."""
    return live - at_end(pressure, quality, superheat, water_enthalpy, steam_enthalpy)


def keeps_entropy(entropy: Num, pressure: Num, quality: Num, superheat: Num) -> Equations:
    """The ideal end point at a pressure: quality is one or superheat is nothing."""
    yield (
        "ideal expansion keeps the entropy",
        entropy,
        at_end(pressure, quality, superheat, water_entropy, steam_entropy),
    )
    yield from either("the ideal exhaust is wet or superheated", HUNDRED_KELVIN * (1.0 - quality), superheat, JOIN)


def guessed_ideal(entropy: float, pressure: float) -> tuple[float, float, float]:
    """First estimate of an ideal end point: quality, superheat in K, and enthalpy in kJ/kg."""
    boiling = saturation_temperature(pressure)
    liquid, dry = water_entropy(boiling, pressure), steam_entropy(boiling, pressure)
    quality = float((entropy - liquid) / (dry - liquid))
    beyond = max(0.0, quality - 1.0) * float(dry - liquid) * (boiling + 273.15) / 2.1
    latent = steam_enthalpy(boiling, pressure) - water_enthalpy(boiling, pressure)
    enthalpy = steam_enthalpy(boiling, pressure) - max(0.0, 1.0 - quality) * latent + 2.1 * beyond
    return min(quality, 1.0), float(beyond), float(enthalpy)


class Expansion(Station):
    """Steam expanding towards a pressure; subclasses say how much, where it goes from there and what it drives.

    At part load the efficiency is constant, or falls so that power is a straight line of the steam down to the steam
    of no load: 5-15 % of full steam (common practice, no source).
    """

    steam = inlet(Steam)
    isentropic_efficiency = setting(
        "%", 78.0, "real on ideal fall of enthalpy, at its swallow", limits=(20.0, 92.0), prior=2.0
    )
    mechanical_efficiency = setting("%", 95.0, "bearings and gear", limits=(70.0, 100.0))
    swallow = setting("t/h", 150.0, "most steam that the turbine swallows", limits=(0.0, 600.0))
    part_load = choice("constant efficiency", "straight steam line", says="how efficiency answers to part load")
    no_load_steam = setting(
        "%", 10.0, "straight steam line: steam that turns it without load, on its swallow", limits=(1.0, 50.0)
    )
    end_quality = result("1", 0.95, "vapour in the ideal exhaust", limits=(0.6, 1.0))
    end_superheat = result("K", 10.0, "superheat of the ideal exhaust", limits=(0.0, 400.0))

    def ideal(self, pressure: Num) -> Equations:
        """The ideal end point at a pressure."""
        entropy = steam_entropy(self.steam.temperature, self.steam.pressure)
        yield from keeps_entropy(entropy, pressure, self.end_quality, self.end_superheat)

    @property
    def live_enthalpy(self) -> Num:
        """Enthalpy of the steam that enters, kJ/kg."""
        return steam_enthalpy(self.steam.temperature, self.steam.pressure)

    @property
    def efficiency(self) -> Num:
        """Real on ideal fall of enthalpy at the present load."""
        full = self.isentropic_efficiency / PERCENT
        if self.part_load == "constant efficiency":
            return full
        return full * part_load_efficiency(self.steam.water / self.swallow, self.no_load_steam / PERCENT)

    def fall(self, pressure: Num) -> Num:
        """Real fall of enthalpy, kJ/kg: the ideal one times the isentropic efficiency."""
        return self.efficiency * ideal_fall(self.live_enthalpy, pressure, self.end_quality, self.end_superheat)

    @property
    def kept(self) -> Num:
        """Share of the steam's work that becomes power."""
        return self.mechanical_efficiency / PERCENT

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the turbine swallows."""
        yield "steam within what the turbine swallows", self.steam.water, self.swallow

    def guessed_end(self, pressure: float) -> tuple[dict[str, float], float]:
        """First estimate of the ideal end point, by name, and of the real fall, kJ/kg."""
        entropy = steam_entropy(self.steam.temperature, self.steam.pressure)
        quality, superheat, enthalpy = guessed_ideal(entropy, pressure)
        ends = {f"{self.name}.end_quality": quality, f"{self.name}.end_superheat": superheat}
        return ends, float(self.isentropic_efficiency) / 100.0 * float(self.live_enthalpy - enthalpy)


class TurboGenerator(Expansion):
    """A turbine with a generator on its shaft, or a machine that takes whatever power the steam gives."""

    power = outlet(Power)
    generator_efficiency = setting("%", 96.0, "generator; 100 for a mechanical drive", limits=(70.0, 100.0))
    rating = setting("kW", 60000.0, "continuous rating of the generator", limits=(0.0, 300000.0))

    @property
    def kept(self) -> Num:
        """Share of the steam's work that becomes power."""
        return self.mechanical_efficiency / PERCENT * self.generator_efficiency / PERCENT

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the turbine swallows, and what the generator stands."""
        yield from super().capacities()
        yield "power within the rating of the generator", self.power.power, self.rating


class FollowsExhaust(Expansion):
    """A turbine that may admit steam as the exhaust range asks: in proportion to what is lacking of the droop."""

    admission = choice("set flow", "follows exhaust", says="what decides how much steam goes to the exhaust")
    wide_open_pressure = setting(
        "kPa", 235.0, "following: exhaust pressure at which the turbine is wide open", limits=(110.0, 4000.0), prior=1.0
    )
    droop = setting("kPa", 8.0, "following: rise of exhaust pressure from wide open to shut", limits=(0.5, 60.0))

    def admitted(self, flow: Num, most: Num, pressure: Num) -> Num:
        """Steam to the exhaust, t/h: the ``flow`` set, or of the ``most`` what the governor gives at a pressure."""
        if self.admission == "set flow":
            return flow
        opening = (self.wide_open_pressure + self.droop - pressure) / self.droop
        return most * surplus(opening, CORNER)


def guessed_real(live: float, fall: float, pressure: float) -> float:
    """First estimate of the superheat of a real exhaust, K."""
    boiling = saturation_temperature(pressure)
    return max(0.1, (live - fall - float(steam_enthalpy(boiling, pressure))) / 2.1)


def generated(station: TurboGenerator, work: float) -> dict[str, float]:
    """First estimate of the power that is made of the ``work`` of the steam, MJ/h."""
    return {f"{station.power.prefix}.power": float(station.kept) * work / 3.6}
