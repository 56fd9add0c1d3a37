"""Vapour main: steam or vapour of one pressure, shared out to users through a throttle."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.ratios import SEEPAGE
from canewright.plant.station import Equations, Station, inlets, outlets, setting
from canewright.plant.streams import Steam
from canewright.properties.steam import steam_enthalpy, steam_volume
from canewright.quantity import Num, constant

KILOGRAMS = constant(1000.0, "kg/t")
SECONDS = constant(3600.0, "s/h")


class VapourMain(Station):
    """Joins vapours of one pressure and feeds branches at that pressure less a drop; throttling keeps the enthalpy.

    Users decide the flows of their branches; one branch, usually the next calandria, takes what is left. Each supply
    after the first is held at the pressure of the first. Drops: 0.5-5 kPa in vapour pipes, 25-50 m/s (common practice,
    no source).
    """

    kind = "vapour main"
    hazards = ("Steam and vapour burn: isolate, vent and lock out before opening, under local pressure codes.",)
    measured = ("branches pressure", "branches temperature")

    supply = inlets(Steam)
    branches = outlets(Steam)
    cross_section = setting("m²", 4.0, "cross-section of the pipe", limits=(0.01, 50.0))
    greatest_velocity = setting("m/s", 50.0, "velocity at which the pipe still serves", limits=(5.0, 150.0))
    pressure_drop = setting("kPa", 0.0, "pressure lost between the supply and the branches", limits=(0.0, 2000.0))

    def equations(self) -> Equations:
        """Vapour is shared out, at one enthalpy, at the pressure of the supply less the drop."""
        first, *others = self.supply
        for other in others:
            yield "supplies have one pressure", other.pressure, first.pressure
        yield "vapour in is vapour out", sum(s.water for s in self.supply), sum(b.water for b in self.branches)
        specific = self._specific_enthalpy()
        for branch in self.branches:
            yield "branch has the pressure after the drop", branch.pressure, first.pressure - self.pressure_drop
            yield "throttling keeps the enthalpy", _specific(branch), specific

    def _specific_enthalpy(self) -> Num:
        """Mixed enthalpy, kJ/kg; the seepage gives it a value where nothing flows."""
        flow = sum(s.water + SEEPAGE for s in self.supply)
        return sum((s.water + SEEPAGE) * _specific(s) for s in self.supply) / flow

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Volume of the vapour as it enters within what the pipe passes at its greatest velocity, m³/h."""
        volume = KILOGRAMS * sum(s.water * steam_volume(s.temperature, s.pressure) for s in self.supply)
        yield "vapour within what the pipe passes", volume, SECONDS * self.greatest_velocity * self.cross_section

    def estimate(self) -> Mapping[str, float]:
        """Branches like the supply; a single supply is asked for the sum of the branches."""
        first = self.supply[0]
        pressure = max(float(first.pressure) - float(self.pressure_drop), 5.0)
        guess = {f"{b.prefix}.temperature": float(first.temperature) for b in self.branches}
        guess |= {f"{b.prefix}.pressure": pressure for b in self.branches}
        if len(self.supply) == 1:
            guess[f"{first.prefix}.water"] = sum(float(b.water) for b in self.branches)
        return guess


def _specific(steam: Steam) -> Num:
    """Enthalpy of a stream of steam, kJ/kg."""
    return steam_enthalpy(steam.temperature, steam.pressure)
