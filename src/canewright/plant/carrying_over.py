"""What entrainment separators share: vapour rises through a cross-section and takes droplets of what boils along."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve
from canewright.plant.liquor_station import KILOGRAMS, STANDSTILL, held_share
from canewright.plant.station import Equations, Station, inlet, outlet, result, setting
from canewright.plant.streams import Liquor, Steam
from canewright.properties.entrainment import greatest_vapour_velocity, juice_entrained
from canewright.properties.steam import steam_enthalpy, steam_volume
from canewright.quantity import Num, constant

PARTS = constant(1e6, "mg/kg")
SECONDS = constant(3600.0, "s/h")


class CarryingOver(Station):
    """Droplets have the composition of the liquid that boils, and are the more the faster the vapour rises.

    Each kind says what boils and what is kept of it, which of its parts are liquid, and how dense that liquid is.
    """

    hazards = (
        "Sugar in boiler water burns out tubes: test condensate and turn it away by the rules of the boiler house.",
        "Vapour and hot liquor scald; vessels under vacuum draw in what is opened.",
    )
    handles = ("vapour",)
    measured = ("sugar_in_condensate",)

    vapour = inlet(Steam)
    carried, cleaned = outlet(Liquor), outlet(Steam)

    cross_section = setting("m²", 20.0, "cross-section in which the vapour rises", limits=(0.1, 500.0))
    separator_constant = setting("m/s", 0.05, "constant of Souders and Brown", limits=(0.005, 0.3))
    carried_at_greatest = setting("mg/kg", 200.0, "droplets on vapour at the greatest velocity", limits=(0.0, 1e5))
    velocity_exponent = setting("1", 3.0, "exponent by which that rises with velocity", limits=(1.0, 8.0))
    sugar_limit = setting("mg/kg", 50.0, "sugar that the condensate may carry", limits=(1.0, 1e5))
    pressure_drop = setting("kPa", 0.0, "pressure that the vapour loses", limits=(0.0, 5.0))

    velocity = result("m/s", 10.0, "velocity of the vapour", limits=(0.0, 500.0))
    juice_on_vapour = result("mg/kg", 50.0, "liquid carried over on vapour", limits=(0.0, 1e6))
    sugar_in_condensate = result("mg/kg", 25.0, "sucrose in the condensate of this vapour", limits=(0.0, 1e6))
    carried_share = result("1", 1e-5, "liquid carried over on all liquid", limits=(0.0, 1.0))

    def _boiled(self) -> Liquor:
        """What boils."""
        raise TypeError(f"separator kind '{self.kind}' does not say what boils")

    def _kept(self) -> Liquor:
        """What is kept of it."""
        raise TypeError(f"separator kind '{self.kind}' does not say what is kept")

    def _liquid(self) -> Num:
        """Flow of the liquid of which droplets are torn, t/h."""
        return self._boiled().flow - self._boiled().crystal

    def _density(self) -> Num:
        """Density of that liquid, kg/m³."""
        raise TypeError(f"separator kind '{self.kind}' does not say how dense its liquid is")

    def equations(self) -> Equations:
        """Balances; velocity and what it takes along; vapour throttled."""
        boiled, vapour, carried, cleaned = self._boiled(), self.vapour, self.carried, self.cleaned
        yield "vapour in is vapour out", vapour.water, cleaned.water
        yield from conserve(boiled, into=[self._kept(), carried])
        volume = KILOGRAMS * steam_volume(vapour.temperature, vapour.pressure)
        rises = SECONDS * self.velocity * self.cross_section / volume
        yield "vapour fills the cross-section as it rises", vapour.water, rises
        yield "vapour takes liquid along by its velocity", self.juice_on_vapour, self._taken(self.velocity)
        drops = self.juice_on_vapour / PARTS * vapour.water
        yield from held_share("droplets are their share of the liquid", self.carried_share, drops, self._liquid())
        for name in (n for n in carried.holds if n != "temperature"):
            gone = self.carried_share * getattr(boiled, name)
            yield f"{name.replace('_', ' ')} goes in proportion", getattr(carried, name), gone
        for part in (self._kept(), carried):
            yield "what boiled stays as warm", part.temperature, boiled.temperature
        sugar = self.sugar_in_condensate * (vapour.water + STANDSTILL)
        yield "sugar goes into the condensate of the vapour", sugar, PARTS * carried.sucrose
        yield "vapour loses its pressure drop", cleaned.pressure, vapour.pressure - self.pressure_drop
        before = steam_enthalpy(vapour.temperature, vapour.pressure)
        yield "vapour keeps its enthalpy", steam_enthalpy(cleaned.temperature, cleaned.pressure), before

    def _greatest(self) -> Num:
        volume = steam_volume(self.vapour.temperature, self.vapour.pressure)
        return greatest_vapour_velocity(self.separator_constant, self._density(), 1.0 / volume)

    def _taken(self, velocity: Num) -> Num:
        return juice_entrained(self.carried_at_greatest, velocity, self._greatest(), self.velocity_exponent)

    def _fastest(self) -> Num:
        """Velocity that counts against the greatest, m/s."""
        return self.velocity

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Velocity within the greatest, m/s; sugar in condensate within its limit, mg/kg."""
        yield "vapour rises slower than droplets follow", self._fastest(), self._greatest()
        yield "condensate stays clean enough", self.sugar_in_condensate, self.sugar_limit

    def estimate(self) -> Mapping[str, float]:
        """Vapour and liquid as they came, with a hundred-thousandth of the liquid carried over."""
        boiled, vapour, kept, cleaned = self._boiled(), self.vapour, self._kept(), self.cleaned
        guess = {f"{kept.prefix}.{n}": float(getattr(boiled, n)) for n in kept.holds}
        guess |= {f"{self.carried.prefix}.{n}": 1e-5 * float(getattr(boiled, n)) for n in self.carried.holds}
        guess |= {f"{self.carried.prefix}.temperature": float(boiled.temperature)}
        guess |= {f"{cleaned.prefix}.{n}": float(getattr(vapour, n)) for n in cleaned.holds}
        volume = float(steam_volume(vapour.temperature, vapour.pressure))
        speed = float(vapour.water) / 3.6 * volume / float(self.cross_section)
        return {**guess, f"{self.name}.velocity": speed, f"{self.name}.carried_share": 1e-5}
