"""Sugar dryer: hot air takes water from sugar."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, outlet, setting, spread
from canewright.plant.streams import PERCENT, Air, Massecuite
from canewright.quantity import constant

TRICKLE = constant(4e-9, "MJ/h/K")
"""Heat capacity flow of a trickle of 1e-9 t/h of water: it gives air that does not flow a temperature."""


class SugarDryer(Station):
    """Rotary or fluid-bed dryer and cooler: moisture and temperature of the sugar are set, the air carries the rest.

    Usual: moisture 0.5-1 % in, 0.03-0.05 % (white) or 0.1-0.2 % (raw) out, air 0.5-1 t per t sugar at no more than
    110 °C, sugar out at most 60 °C and at most 42 °C to store (from memory). Upstream it decides the flow of air, on
    dry air. Where no air flows the air outlet is as warm as the sugar.
    """

    kind = "sugar dryer"
    hazards = ("Sugar dust explodes: earthing, venting and housekeeping follow local codes and licensed practice.",)

    sugar, air = inlet(Massecuite), inlet(Air)
    dried, air_out = outlet(Massecuite), outlet(Air)
    moisture = setting("%", 0.04, "moisture of the dried sugar", limits=(0.0, 2.0), prior=0.01)
    temperature = setting("°C", 42.0, "temperature of the dried sugar", limits=(10.0, 80.0), prior=2.0)
    air_ratio = setting("1", 0.8, "dry air per sugar that enters, t/t", limits=(0.05, 10.0), prior=0.1)
    heat_loss = setting("%", 0.0, "heat lost, on heat that the air brings", limits=(0.0, 30.0))

    def equations(self) -> Equations:
        """Sugar passes but for its water; air takes up water and gives heat."""
        sugar, dried = self.sugar, self.dried
        yield from conserve(sugar, self.air, into=[dried, self.air_out])
        yield "crystal passes", sugar.crystal, dried.crystal
        yield "crystal keeps its colour inside", sugar.crystal_colour, dried.crystal_colour
        yield "dried sugar has its moisture", PERCENT * dried.water, self.moisture * dried.flow
        yield "dried sugar has its temperature", dried.temperature, self.temperature
        yield "air is its ratio to sugar", self.air.dry_air, self.air_ratio * sugar.flow
        for sentence, brought, carried in conserve_energy(self):
            yield sentence, brought, carried + TRICKLE * (self.air_out.temperature - dried.temperature)

    def exchanges(self) -> Iterable[Exchange]:
        """Heat lost."""
        yield Exchange("heat lost", "energy", -(self.heat_loss * self.air.enthalpy_flow) / PERCENT)

    def estimate(self) -> Mapping[str, float]:
        """Sugar at its moisture; the air cools in giving the heat of evaporation."""
        guess = spread([self.sugar], {self.dried: 1.0}, float(self.temperature))
        dry = float(self.sugar.flow) - float(self.sugar.water)
        left = dry * float(self.moisture) / (100.0 - float(self.moisture))
        lifted = max(0.0, float(self.sugar.water) - left)
        there, now = float(self.air_ratio * self.sugar.flow), float(self.air.dry_air)
        humidity = float(self.air.water) / now if now > 1e-9 else 0.015
        cooler = float(self.air.temperature) - 2450.0 * lifted / max(there, 1e-6)
        guess |= {
            f"{self.dried.prefix}.water": left,
            f"{self.dried.prefix}.crystal_colour": float(self.sugar.crystal_colour),
        }
        guess |= {f"{self.air.prefix}.dry_air": there, f"{self.air.prefix}.water": humidity * there}
        out = {"dry_air": there, "water": humidity * there + lifted, "temperature": max(cooler, 20.0)}
        return {**guess, **{f"{self.air_out.prefix}.{n}": v for n, v in out.items()}}
