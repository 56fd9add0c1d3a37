"""Effluent drain: what overflows, leaks and is washed down goes to the pond, and the sugar in it with it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.effluent import oxygen_demand
from canewright.plant.liquor_station import STANDSTILL
from canewright.plant.mixing import Mixing
from canewright.plant.station import Equations, inlets, outlet, result, setting
from canewright.plant.streams import Liquor, Water
from canewright.quantity import Num, constant

KILOGRAMS = constant(1000.0, "kg/t")
PARTS = constant(1e6, "mg/kg")


class EffluentDrain(Mixing):
    """Water and lost liquors as one stream, with the oxygen that what is dissolved in it takes.

    Lead to it the losses that leave as liquid (seal tank, leaks, wash-down, sweet water run off) and the water that
    carries them. Oxygen demand of sugars by their formula, 1.12 kg for a kg of sucrose; of other organic matter as set
    (about 1, common practice, no source); ash takes none. Moved by keeping clean and dirty water apart. Measured: flow,
    sugar trace, chemical oxygen demand. A pond takes what its licence says, usually far below 1000 mg/kg at discharge.
    """

    kind = "effluent drain"
    hazards = (
        "Ponds without air give off hydrogen sulphide and methane; ponds drown: fences, gas tests, no work alone.",
        "Discharge is bound by the licence of the place: test before anything leaves the site.",
    )
    handles = ("waters", "losses")
    measured = ("effluent mass flow", "effluent sugar trace", "demand_on_water")

    waters, losses = inlets(Water, may_be_open=True), inlets(Liquor)
    effluent = outlet(Liquor)
    demand_of_other = setting("1", 1.0, "oxygen demand of other dissolved non-sucrose, t/t", limits=(0.0, 3.0))
    pond_rating = setting("kg/h", 500.0, "oxygen demand that the treatment takes away", limits=(0.0, 1e5))
    strength_limit = setting("mg/kg", 5000.0, "oxygen demand that its inlet may carry", limits=(1.0, 1e6))
    demand = result("kg/h", 50.0, "chemical oxygen demand", limits=(-1e-3, 1e7))
    demand_on_water = result("mg/kg", 500.0, "chemical oxygen demand on effluent", limits=(-1.0, 3e6))

    def equations(self) -> Equations:
        """One stream, and the oxygen that it takes."""
        yield from super().equations()
        out = self.effluent
        taken = oxygen_demand(out.sucrose, out.reducing_sugars, out.other, self.demand_of_other)
        yield "what is dissolved takes oxygen", self.demand, KILOGRAMS * taken
        yield "oxygen demand is on effluent", self.demand_on_water * (out.flow + STANDSTILL), PARTS * taken

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Load within what the treatment takes, kg/h; strength within what its inlet may carry, mg/kg."""
        yield "oxygen demand within what the treatment takes", self.demand, self.pond_rating
        yield "effluent weak enough for the treatment", self.demand_on_water, self.strength_limit

    def estimate(self) -> Mapping[str, float]:
        """The sum of what enters, and what its sucrose takes."""
        guess = dict(super().estimate())
        sugar = sum(float(s.sucrose) for s in self.losses)
        flow = sum(float(s.flow) for s in self.entering)
        return {
            **guess, f"{self.name}.demand": 1122.0 * sugar,
            f"{self.name}.demand_on_water": 1.122e6 * sugar / max(flow, 1e-3),
        }  # fmt: skip
