"""Cooling tower or spray pond: warm water meets air, a part evaporates, the rest goes round again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, outlets, result, setting
from canewright.plant.streams import PERCENT, Water
from canewright.properties.condensing import evaporated_by_cooling
from canewright.properties.steam import water_enthalpy
from canewright.quantity import Num


class CoolingTower(Station):
    """Water leaves an approach above the wet bulb; evaporation takes its share of the heat; what is over overflows.

    Users decide the flows of cold water, a setting that of the make-up, the balance the overflow: where vapour is
    condensed in the water there is often more than evaporates. Approach 4-8 K for towers, 6-12 K for spray ponds, share
    of evaporation 75-100 %, drift 0.02 % (common practice, no source).
    """

    kind = "cooling tower"
    hazards = (
        "Warm spray breeds legionella: treatment, cleaning and drift control by local health rules.",
        "Ponds drown and pumps draw in: fences, lock-out and no work alone.",
        "Overflow carries sugar and salts: keep to the discharge licence.",
    )
    handles = ("makeup_flow",)
    measured = ("cold temperature", "warm temperature", "overflow mass flow", "wet_bulb")

    warm, makeup = inlets(Water), inlet(Water)
    cold, overflow = outlets(Water), outlet(Water)

    wet_bulb = setting("°C", 24.0, "wet-bulb temperature of the air", limits=(1.0, 38.0), prior=1.0)
    approach = setting("K", 6.0, "cold water above the wet bulb", limits=(0.5, 25.0), prior=1.0)
    latent_share = setting("%", 85.0, "share of the heat that leaves by evaporation", limits=(30.0, 110.0), prior=5.0)
    drift = setting("%", 0.02, "water blown away, on warm water", limits=(0.0, 2.0))
    makeup_flow = setting("t/h", 0.0, "make-up water", limits=(0.0, 2000.0))
    greatest_cooling = setting("kW", 200000.0, "heat that tower or pond can take from water", limits=(1.0, 1e7))
    cooling = result("kW", 50000.0, "heat taken from the water", limits=(-1e6, 1e7))
    evaporated = result("t/h", 60.0, "water evaporated", limits=(-1e3, 1e5))

    def equations(self) -> Equations:
        """Balances with what air takes; cold water by the wet bulb."""
        leaving = (*self.cold, self.overflow)
        yield from conserve(*self.warm, self.makeup, into=leaving, exchanges=self.exchanges())
        for water in leaving:
            yield "water is cooled to its approach to the wet bulb", water.temperature, self._cold()
        yield "make-up comes as set", self.makeup.water, self.makeup_flow
        evaporated = evaporated_by_cooling(self.KILOWATT * self.cooling, self.latent_share, self._cold())
        yield "evaporation takes its share of the heat", self.evaporated, evaporated
        yield from conserve_energy(self)

    def _cold(self) -> Num:
        return self.wet_bulb + self.approach

    def _drifted(self) -> Num:
        return self.drift / PERCENT * sum(s.water for s in self.warm)

    def exchanges(self) -> Iterable[Exchange]:
        """Water and heat that go with the air."""
        yield Exchange("water evaporated into the air", "water", -self.evaporated)
        yield Exchange("water blown away", "water", -self._drifted())
        gone = (self.evaporated + self._drifted()) * water_enthalpy(self._cold(), Water.LINE_PRESSURE)
        yield Exchange("heat given to the air", "energy", -(self.KILOWATT * self.cooling + gone))

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Heat within what the air takes, kW."""
        yield "heat within what the air takes", self.cooling, self.greatest_cooling

    def estimate(self) -> Mapping[str, float]:
        """Cold water as asked for; the overflow is what is left."""
        cold = float(self._cold())
        guess = {f"{s.prefix}.temperature": cold for s in (*self.cold, self.overflow)}
        warm = sum(float(s.water) for s in self.warm)
        heat = sum(float(s.water) * 4.18 * (float(s.temperature) - cold) for s in self.warm)
        evaporated = heat * float(self.latent_share) / 100.0 / 2430.0
        over = max(warm - sum(float(s.water) for s in self.cold) - evaporated, 0.0)
        guess |= {f"{self.overflow.prefix}.water": over, f"{self.makeup.prefix}.water": float(self.makeup_flow)}
        return {**guess, f"{self.name}.cooling": heat / 3.6, f"{self.name}.evaporated": evaporated}
