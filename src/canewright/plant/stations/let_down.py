"""Let-down station: live steam is throttled to the exhaust range and cooled with feedwater."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.station import Equations, Station, inlet, outlet, setting
from canewright.plant.streams import BoilerWater, Steam
from canewright.quantity import Num


class LetDown(Station):
    """Reducing valve with desuperheater; superheat left 5-20 K (common practice, no source).

    It decides the flow of live steam and of cooling water; pressure and flow of the reduced steam are the exhaust
    range's.
    """

    kind = "let-down"
    hazards = ("Live steam: reducing valves and relief are for licensed persons under local pressure codes.",)
    handles = ("superheat",)
    measured = ("reduced mass flow", "reduced pressure", "reduced temperature")

    steam, water = inlet(Steam), inlet(BoilerWater)
    reduced = outlet(Steam)
    rating = setting("t/h", 200.0, "reduced steam that the valve passes", limits=(0.0, 1000.0))
    superheat = setting("K", 10.0, "superheat left in the reduced steam", limits=(0.0, 150.0), prior=2.0)

    def equations(self) -> Equations:
        """Mass, energy and the superheat that is left."""
        reduced = self.reduced
        yield "water in is water out", self.steam.water + self.water.water, reduced.water
        yield from conserve_energy(self)
        yield "reduced steam keeps its superheat", reduced.temperature, reduced.saturation_temperature + self.superheat

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Reduced steam within what the valve passes, t/h."""
        yield "reduced steam within what the valve passes", self.reduced.water, self.rating

    def estimate(self) -> Mapping[str, float]:
        """The range's guess of the flow, with a sixth of it water."""
        reduced = self.reduced
        flow = max(float(reduced.water), 0.01)
        return {
            f"{reduced.prefix}.water": flow,
            f"{reduced.prefix}.temperature": float(reduced.saturation_temperature + self.superheat),
            f"{self.steam.prefix}.water": flow * 5.0 / 6.0,
            f"{self.water.prefix}.water": flow / 6.0,
        }
