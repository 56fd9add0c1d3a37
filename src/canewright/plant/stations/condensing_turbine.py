"""Condensing turbine: steam expands into its own condenser and drives a generator."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve_energy
from canewright.plant.expansion import TurboGenerator, generated
from canewright.plant.station import Equations, Exchange, setting
from canewright.plant.surface_condenser import SurfaceCondenser
from canewright.quantity import Num


class CondensingTurbine(SurfaceCondenser, TurboGenerator):
    """Expansion to the pressure of a surface condenser, with it.

    It decides the flows of steam and of cooling water. The exhaust is wet; one wetter than 0.84 is refused by the name
    of its quality, for drops erode the last blades.
    """

    kind = "condensing turbine"
    hazards = (
        "Overspeed, live steam and vacuum: governors, trips and relief are for licensed persons under local codes.",
        "Rotating shafts and couplings: guards and lock-out.",
    )
    handles = ("steam_flow", "pressure")
    measured = ("power power", "steam mass flow", "condensate mass flow", "warm temperature")

    steam_flow = setting("t/h", 60.0, "steam to the turbine", limits=(0.0, 500.0), prior=1.5)
    least_flow = setting("t/h", 0.0, "least steam that keeps the last blades cool", limits=(0.0, 200.0))

    def equations(self) -> Equations:
        """The expansion, the quality it ends at, the power, and the condenser's balances."""
        yield "steam comes at the flow that is wanted", self.steam.water, self.steam_flow
        yield from self.ideal(self.pressure)
        yield from self.condensing(self.live_enthalpy - self.fall(self.pressure), self.steam.water)
        yield "power is the fall of the steam, less losses", self.power.enthalpy_flow, self.kept * self._work()
        yield from conserve_energy(self)

    def _work(self) -> Num:
        """What the steam gives up, MJ/h."""
        return self.fall(self.pressure) * self.steam.water

    def exchanges(self) -> Iterable[Exchange]:
        """Losses of bearings, gear and generator."""
        yield Exchange("lost in bearings, gear and generator", "energy", -(1.0 - self.kept) * self._work())

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Swallow and rating, and the least that the last blades need."""
        yield from super().capacities()
        yield "least steam to the condenser within what it gets", self.least_flow, self.steam.water

    def estimate(self) -> Mapping[str, float]:
        """The end points by hand, and the cooling water by the latent heat."""
        flow = float(self.steam_flow)
        ends, fall = self.guessed_end(float(self.pressure))
        cooled = self.guessed_condensing(flow, float(self.live_enthalpy) - fall)
        return ends | generated(self, flow * fall) | cooled | {f"{self.steam.prefix}.water": flow}
