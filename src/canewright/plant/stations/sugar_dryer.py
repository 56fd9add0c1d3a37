"""Sugar dryer and sugar cooler: hot air takes water from sugar, then cold air takes its heat."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Exchange, Station, choice, inlet, outlet, result, setting, spread
from canewright.plant.streams import ATMOSPHERE, PERCENT, Air, Massecuite
from canewright.properties.air import MASS_RATIO
from canewright.properties.crystal import crystal_specific_heat
from canewright.properties.steam import saturation_pressure
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

AIR_HEAT = constant(1.02, "kJ/kg/K")
"""Specific heat of cooling air with about 8 g of water per kg."""

TRICKLE = constant(4e-9, "MJ/h/K")
"""Heat capacity flow of a trickle of 1e-9 t/h of water: it gives air that does not flow a temperature."""


class SugarAndAir(Station):
    """What dryer and cooler share: everything passes, the air is its ratio to sugar and carries what heat is left.

    Upstream it decides the flow of air, on dry air. Where no air flows the air outlet is as warm as the sugar.
    """

    handles: ClassVar[tuple[str, ...]] = ("air_ratio",)
    measured: ClassVar[tuple[str, ...]] = (
        "air temperature",
        "air_out temperature",
        "sugar moisture",
        "sugar temperature",
    )

    sugar, air = inlet(Massecuite), inlet(Air)
    air_out = outlet(Air)
    air_ratio = setting("1", 0.8, "dry air per sugar that enters, t/t", limits=(0.05, 10.0), prior=0.1)
    rated = setting("t/h", 100.0, "sugar that drum or bed carries", limits=(0.1, 500.0))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Sugar that drum or bed carries."""
        yield "sugar within what drum or bed carries", self.sugar.flow, self.rated

    def passing(self, left: Massecuite, temperature: Num) -> Equations:
        """Balances of sugar and air but for the moisture; the sugar is ``left`` at a temperature."""
        sugar = self.sugar
        yield from conserve(sugar, self.air, into=[left, self.air_out])
        yield "crystal passes", sugar.crystal, left.crystal
        yield "crystal keeps its colour inside", sugar.crystal_colour, left.crystal_colour
        yield "sugar leaves at its temperature", left.temperature, temperature
        yield "air is its ratio to sugar", self.air.dry_air, self.air_ratio * sugar.flow
        for sentence, brought, carried in conserve_energy(self):
            yield sentence, brought, carried + TRICKLE * (self.air_out.temperature - left.temperature)

    def guessed(self, left: Massecuite, at: float, water: float, warm: float) -> dict[str, float]:
        """First estimate: sugar ``left`` at a temperature with ``water`` t/h, and the air at ``warm`` °C or so."""
        guess = spread([self.sugar], {left: 1.0}, at)
        there, now = float(self.air_ratio * self.sugar.flow), float(self.air.dry_air)
        humid = there * (float(self.air.water) / now if now > 1e-9 else 0.015)
        lifted = max(0.0, float(self.sugar.water) - water)
        out = {"dry_air": there, "water": humid + lifted, "temperature": max(warm, 20.0)}
        guess |= {f"{self.air_out.prefix}.{n}": v for n, v in out.items()}
        return guess | {
            f"{left.prefix}.water": water,
            f"{left.prefix}.crystal_colour": float(self.sugar.crystal_colour),
            f"{self.air.prefix}.dry_air": there,
            f"{self.air.prefix}.water": humid,
        }


class SugarDryer(SugarAndAir):
    """Rotary or fluid-bed dryer, co-current or counter-current: hot air takes the moisture down to what is set.

    Usual: moisture 0.5-1 % in, 0.03-0.05 % (white) or 0.1-0.2 % (raw) out, air 0.5-1 t per t sugar at 80-110 °C, sugar
    out at 45-60 °C (from memory). It does not cool: for sugar at no more than 42 °C to store a sugar cooler follows,
    with cold air of its own. Air is the hottest that enters, so the fall of its temperature is never below nothing.
    """

    kind = "sugar dryer"
    hazards = ("Sugar dust explodes: earthing, venting and housekeeping follow local codes and licensed practice.",)
    handles = ("air_ratio", "air")
    measured = ("dried moisture", "dried temperature", "air temperature", "air_out temperature", "air_out humidity")

    dried = outlet(Massecuite)
    moisture = setting("%", 0.04, "moisture of the dried sugar", limits=(0.0, 2.0), prior=0.01)
    temperature = setting("°C", 52.0, "temperature of the dried sugar", limits=(10.0, 80.0), prior=2.0)
    heat_loss = setting("%", 0.0, "heat lost, on heat that the air brings", limits=(0.0, 30.0))
    most_humidity = setting("%", 60.0, "relative humidity of air out beyond which sugar stays wet", limits=(10.0, 95.0))
    air_fall = result("K", 15.0, "air in above air out: hot air can only give heat", limits=(0.0, 120.0))
    air_above_sugar = result("K", 30.0, "hot air in above sugar out", limits=(0.0, 120.0))

    def equations(self) -> Equations:
        """Sugar passes but for its water; air takes up water and gives heat."""
        yield from self.passing(self.dried, self.temperature)
        yield "dried sugar has its moisture", PERCENT * self.dried.water, self.moisture * self.dried.flow
        yield "the air falls in temperature", self.air.temperature - self.air_out.temperature, self.air_fall
        yield "the air is hotter than the sugar", self.air.temperature - self.dried.temperature, self.air_above_sugar

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost."""
        yield Exchange("heat lost", "energy", -(self.heat_loss * self.air.enthalpy_flow) / PERCENT)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Sugar carried, and vapour that the air out may hold: said for flows, so that no air is no quotient."""
        yield from super().capacities()
        out = self.air_out
        held = self.most_humidity / PERCENT * saturation_pressure(out.temperature)
        holds = held / ATMOSPHERE * (MASS_RATIO * out.dry_air + out.water)
        yield "vapour in the air out within the humidity it may have", out.water, holds

    def estimate(self) -> Mapping[str, float]:
        """Sugar at its moisture; the air cools in giving the heat of evaporation."""
        sugar, moisture = self.sugar, float(self.moisture)
        left = (float(sugar.flow) - float(sugar.water)) * moisture / (100.0 - moisture)
        lifted, there = max(0.0, float(sugar.water) - left), float(self.air_ratio * sugar.flow)
        fall = 2450.0 * lifted / max(there, 1e-6)
        guess = self.guessed(self.dried, float(self.temperature), left, float(self.air.temperature) - fall)
        above = float(self.air.temperature) - float(self.temperature)
        return guess | {f"{self.name}.air_fall": fall, f"{self.name}.air_above_sugar": above}


class SugarCooler(SugarAndAir):
    """Drum, fluid-bed or plate cooler with cold, usually dehumidified air; the sugar keeps its moisture.

    Usual: air at 15-25 °C, 0.6-1.5 t per t sugar, sugar out at 35-42 °C (from memory). Neither end may cross: in
    counter-current flow the air leaves no warmer than the sugar comes, in co-current flow no warmer than it leaves. In
    a fluidised bed the air crosses the sugar and leaves each part of it at best as warm as that part: the sugar cools
    no further than ``Ta + (Ts - Ta) exp(-air/sugar · ca/cs)`` (heat balance along the bed, own statement).
    """

    kind = "sugar cooler"
    hazards = ("Sugar dust explodes: earthing, venting and housekeeping follow local codes and licensed practice.",)
    handles = ("air_ratio", "air")
    measured = ("cooled temperature", "air temperature", "air_out temperature")

    cooled = outlet(Massecuite)
    flow = choice("counter-current", "co-current", "fluidised bed", says="which way the air runs")
    temperature = setting("°C", 38.0, "temperature of the cooled sugar", limits=(10.0, 80.0), prior=1.0)
    sugar_above_air = result("K", 15.0, "sugar out above cold air in", limits=(0.0, 100.0))
    air_below_sugar = result(
        "K", 10.0, "air out below the sugar that it meets; in a bed, sugar above its limit", limits=(0.0, 100.0)
    )

    def equations(self) -> Equations:
        """Sugar and its water pass; air takes heat; both ends of the cooler keep their difference."""
        yield from self.passing(self.cooled, self.temperature)
        yield "sugar keeps its water", self.cooled.water, self.sugar.water
        above = self.cooled.temperature - self.air.temperature
        yield "sugar leaves warmer than the cold air", above, self.sugar_above_air
        if self.flow == "fluidised bed":
            room = self.cooled.temperature - self._coldest()
            yield "sugar leaves warmer than the bed could make it", room, self.air_below_sugar
            return
        met = self.sugar if self.flow == "counter-current" else self.cooled
        yield "air leaves colder than the sugar", met.temperature - self.air_out.temperature, self.air_below_sugar

    def _coldest(self) -> Num:
        """Sugar after a bed where all air leaves as warm as the sugar that it crosses, °C."""
        ratio = self.air_ratio * AIR_HEAT / crystal_specific_heat(self.temperature)
        return self.air.temperature + (self.sugar.temperature - self.air.temperature) * exp(-ratio)

    def estimate(self) -> Mapping[str, float]:
        """The air warms by what the sugar gives."""
        sugar, set_at, cold = self.sugar, float(self.temperature), float(self.air.temperature)
        warm = cold + 1.35 * (float(sugar.temperature) - set_at) / max(float(self.air_ratio), 0.05)
        met = float(sugar.temperature) if self.flow == "counter-current" else set_at
        ends = {f"{self.name}.sugar_above_air": set_at - cold, f"{self.name}.air_below_sugar": met - warm}
        return self.guessed(self.cooled, set_at, float(sugar.water), warm) | ends
