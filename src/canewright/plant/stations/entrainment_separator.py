"""Entrainment separator: vapour leaves boiling juice with droplets of it, and sugar with them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve
from canewright.plant.liquor_station import KILOGRAMS, LIQUID, STANDSTILL, held_share, in_proportion
from canewright.plant.station import Equations, Station, inlet, outlet, result, setting
from canewright.plant.streams import Liquor, Steam
from canewright.plant.strength import density
from canewright.properties.entrainment import greatest_vapour_velocity, juice_entrained
from canewright.properties.steam import steam_enthalpy, steam_volume
from canewright.quantity import Num, constant

PARTS = constant(1e6, "mg/kg")
SECONDS = constant(3600.0, "s/h")


class EntrainmentSeparator(Station):
    """Vapour space and separator of a body: vapour takes along a little of the juice that boils, the more the faster.

    It stands behind an effect: juice and vapour enter as they left it. What is carried over has the composition
    of the juice and leaves at its own outlet; as sugar in condensate or in condenser water it is what the laboratory
    finds. Sucrose entrained is about 0.01 % of sucrose in juice in good order (from memory); water to boilers is turned
    away above some 20-50 mg/kg of sugar (from memory, local rules govern).
    """

    kind = "entrainment separator"
    hazards = (
        "Sugar in boiler water burns out tubes: test condensate and turn it away by the rules of the boiler house.",
        "Vapour and hot juice scald; vessels under vacuum draw in what is opened.",
    )

    liquor, vapour = inlet(Liquor), inlet(Steam)
    kept, carried, cleaned = outlet(Liquor), outlet(Liquor), outlet(Steam)

    cross_section = setting("m²", 20.0, "cross-section in which the vapour rises", limits=(0.1, 200.0))
    separator_constant = setting("m/s", 0.05, "constant of Souders and Brown", limits=(0.005, 0.3))
    carried_at_greatest = setting("mg/kg", 200.0, "juice on vapour at the greatest velocity", limits=(0.0, 1e5))
    velocity_exponent = setting("1", 3.0, "exponent by which that rises with velocity", limits=(1.0, 8.0))
    sugar_limit = setting("mg/kg", 50.0, "sugar that the condensate may carry", limits=(1.0, 1e5))
    pressure_drop = setting("kPa", 0.0, "pressure that the vapour loses", limits=(0.0, 5.0))

    velocity = result("m/s", 10.0, "velocity of the vapour", limits=(0.0, 500.0))
    juice_on_vapour = result("mg/kg", 50.0, "juice carried over on vapour", limits=(0.0, 1e6))
    sugar_in_condensate = result("mg/kg", 25.0, "sucrose in the condensate of this vapour", limits=(0.0, 1e6))
    carried_share = result("1", 1e-5, "juice carried over on all juice", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Balances; velocity and what it takes along; vapour throttled."""
        liquor, vapour, carried, cleaned = self.liquor, self.vapour, self.carried, self.cleaned
        yield "vapour in is vapour out", vapour.water, cleaned.water
        yield from conserve(liquor, into=[self.kept, carried])
        volume = steam_volume(vapour.temperature, vapour.pressure)
        rises = SECONDS * self.velocity * self.cross_section
        yield "vapour fills the cross-section", rises, KILOGRAMS * vapour.water * volume
        yield "vapour takes juice along by its velocity", self.juice_on_vapour, self._taken(self.velocity)
        drops = self.juice_on_vapour / PARTS * vapour.water
        yield from held_share("droplets are their share of juice", self.carried_share, drops, liquor.flow)
        yield from in_proportion(carried, self.carried_share, liquor, (*LIQUID, "suspended"))
        for juice in (self.kept, carried):
            yield "juice stays as warm as it boiled", juice.temperature, liquor.temperature
        sugar = self.sugar_in_condensate * (vapour.water + STANDSTILL)
        yield "sugar goes into the condensate of the vapour", sugar, PARTS * carried.sucrose
        yield "vapour loses its pressure drop", cleaned.pressure, vapour.pressure - self.pressure_drop
        before = steam_enthalpy(vapour.temperature, vapour.pressure)
        yield "vapour keeps its enthalpy", steam_enthalpy(cleaned.temperature, cleaned.pressure), before

    def _greatest(self) -> Num:
        volume = steam_volume(self.vapour.temperature, self.vapour.pressure)
        return greatest_vapour_velocity(self.separator_constant, density(self.liquor), 1.0 / volume)

    def _taken(self, velocity: Num) -> Num:
        return juice_entrained(self.carried_at_greatest, velocity, self._greatest(), self.velocity_exponent)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Velocity within the greatest, m/s; sugar in condensate within its limit, mg/kg."""
        yield "vapour rises slower than droplets follow", self.velocity, self._greatest()
        yield "condensate stays clean enough", self.sugar_in_condensate, self.sugar_limit

    def estimate(self) -> Mapping[str, float]:
        """Vapour and juice as they came, with a hundred-thousandth of the juice carried over."""
        liquor, vapour, cleaned = self.liquor, self.vapour, self.cleaned
        guess = {f"{self.kept.prefix}.{n}": float(getattr(liquor, n)) for n in self.kept.holds}
        guess |= {f"{self.carried.prefix}.{n}": 1e-5 * float(getattr(liquor, n)) for n in self.carried.holds}
        guess |= {f"{self.carried.prefix}.temperature": float(liquor.temperature)}
        guess |= {f"{cleaned.prefix}.{n}": float(getattr(vapour, n)) for n in cleaned.holds}
        volume = float(steam_volume(vapour.temperature, vapour.pressure))
        speed = float(vapour.water) / 3.6 * volume / float(self.cross_section)
        return {**guess, f"{self.name}.velocity": speed, f"{self.name}.carried_share": 1e-5}
