"""Batch vacuum pan: strikes of a volume, boiled up on a footing by a calandria."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.grained_pan import GrainedPan
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.station import Equations, result, setting
from canewright.plant.streams import PERCENT
from canewright.quantity import Num, constant

KILOGRAMS = constant(1000.0, "kg/t")
HOURS = constant(24.0, "h/d")


class BatchPan(GrainedPan):
    """Equal batch pans on one kind of strike: strikes a day, seed in a strike, and the time that its heat takes.

    Operator's handles: steam pressure, vacuum, brix and purity at drop, size of grain, footing, time of boiling.
    Measured: brix, purity and crystal of the massecuite, purity of its mother liquor, volume, temperature, grain.
    The coefficient is the mean over a strike, against massecuite as dropped, the least difference there is.

    A 2-4 h, B 4-5 h, C 6-10 h under steam, turn-round 0.5-1 h, 5-7 m² of calandria per m³, 0.3-0.6 kW/m²K for A,
    0.15-0.3 for C (from memory). Graining volume 35-45 % of the strike: public page on graining volume (read).
    Seed by the cube of the sizes: constant number of crystals (derived).
    """

    kind = "batch pan"
    handles = ("brix", "steam", "feeds", "footing", "boiling_time", "seed_size")

    pans = setting("1", 3.0, "number of pans", limits=(0.0, 40.0))
    strike_volume = setting("m³", 60.0, "volume of one strike", limits=(1.0, 300.0))
    boiling_time = setting("h", 3.0, "time of one strike under steam", limits=(0.3, 24.0))
    turn_round = setting("h", 0.75, "time to drop, steam out, draw vacuum and charge", limits=(0.0, 6.0))
    area = setting("m²", 360.0, "calandria of one pan", limits=(1.0, 3000.0))
    heat_transfer_coefficient = setting(
        "kW/m²/K", 0.45, "overall heat transfer coefficient, mean over a strike", limits=(0.01, 3.0), prior=0.05
    )
    graining_volume = setting("%", 40.0, "volume that covers the calandria, on strike volume", limits=(10.0, 70.0))

    strikes_a_day = result("1/d", 12.0, "strikes a day of all pans", limits=(0.0, 1e4))
    seed_in_strike = result("kg", 5000.0, "crystal that one strike takes as seed", limits=(0.0, 1e6))
    heating_time = result("h", 2.5, "time under steam that the heat of a strike takes", limits=(0.0, 1e6))

    def equations(self) -> Equations:
        """Those of a pan on a footing; strikes by their volume, seed and time under steam of one strike."""
        yield from super().equations()
        flow, strike = self.massecuite.flow, self.density * self.strike_volume
        yield "strikes take the massecuite away", self.strikes_a_day * strike, HOURS * flow
        between = strike / (flow + STANDSTILL)
        yield "a strike has its part of the seed", self.seed_in_strike, KILOGRAMS * self.seed_crystal * between
        passes = self.heat_transfer_coefficient * self.area * self._driving()
        yield "heat of a strike passes its calandria", self.heating_time, self.duty * between / passes

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Pan hours, heating surface, footing, and crystal that still flows."""
        busy = self.strikes_a_day * (self.boiling_time + self.turn_round)
        yield "hours of all strikes within those of the pans", busy, HOURS * self.pans
        yield "heat of a strike passed in its time under steam", self.heating_time, self.boiling_time
        footing = sum((s.flow for s in self.footing), 0.0 * self.massecuite.flow)
        there = self.graining_volume * self.massecuite.flow / PERCENT
        yield "footing no more than the graining volume", footing, there
        yield from super().capacities()

    def estimate(self) -> Mapping[str, float]:
        """Strikes by the massecuite of the estimate; two hours under steam."""
        guess = dict(super().estimate())
        names = [n for n in self.massecuite.holds if n in self.massecuite.COMPONENTS]
        flow = sum(guess.get(f"{self.massecuite.prefix}.{n}", 0.0) for n in names)
        strike = float(self.density * self.strike_volume)
        seed = 1000.0 * guess[f"{self.name}.seed_crystal"] * strike / max(flow, 1e-6)
        results = {"strikes_a_day": 24.0 * flow / strike, "seed_in_strike": seed, "heating_time": 2.0}
        return {**guess, **self.own(results)}
