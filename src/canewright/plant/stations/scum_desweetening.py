"""Scum desweetening: scum is slurried with water and floated again, stage after stage against the water."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.liquor_station import LiquorStation, equally_warm, in_proportion
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Water
from canewright.quantity import Num, constant

LIGHT = constant(1.0, "t/m³")
MINUTES = constant(60.0, "min/h")
DISSOLVED = ("sucrose", "reducing_sugars", "ash", "other", "colour")


class ScumDesweetening(LiquorStation):
    """Counter-current washing of scum, each stage ideally mixed and the liquid that goes with the scum constant.

    With ``wash`` water on the liquid in the scum and n stages, ``1/(1 + wash + ... + wash^n)`` of what is dissolved
    stays with the spent scum (stage balances); ``bypass`` is the part that escapes washing, to be fitted. Wash 1-3,
    2 or 3 stages, 0.02-0.1 % of sugar melted lost (common practice, no source). Decides the flow of ``water``.
    """

    kind = "scum desweetening"
    hazards = ("Hot scum and water scald; spent scum ferments if it stands: keep it hot or send it away fresh.",)
    handles = ("wash",)
    measured = ("sweet_water refractometer brix", "spent pol")

    scum, water = inlet(Liquor), inlet(Water)
    sweet_water, spent = outlet(Liquor), outlet(Liquor)
    stages = choice("3", "1", "2", "4", says="stages of washing")
    wash = setting("1", 2.0, "water on the liquid in the scum, t/t", limits=(0.0, 8.0), prior=0.1)
    bypass = setting("%", 0.0, "liquid that escapes washing", limits=(0.0, 50.0), prior=2.0)
    insolubles_lost = setting("%", 2.0, "insolubles that go with the sweet water", limits=(0.0, 50.0), prior=1.0)
    heat_loss = setting("kW/K", 0.2, "heat lost for each kelvin above the surroundings", limits=(0.01, 50.0))
    tanks = setting("m³", 12.0, "volume of slurry tanks and floaters", limits=(0.1, 500.0))
    time_wanted = setting("min", 30.0, "time that scum and water should stay", limits=(1.0, 240.0))
    loss = result("1", 0.07, "dissolved solids lost on those in the scum", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Wash ratio, constant liquid with the scum, and the loss of the stages."""
        scum, spent = self.scum, self.spent
        liquid = scum.water + scum.solids
        yield from conserve(scum, self.water, into=[self.sweet_water, spent])
        yield "water is the wash on the liquid", self.water.water, self.wash * liquid
        yield "as much liquid leaves with the scum as came", spent.water + spent.dissolved, liquid
        yield "stages wash against the water", (self.loss - self.bypass / PERCENT) * self._series(), self._washed()
        yield from in_proportion(spent, self.loss, scum, DISSOLVED)
        lost = self.insolubles_lost * scum.suspended
        yield "some insolubles go with the sweet water", PERCENT * self.sweet_water.suspended, lost
        yield from conserve_energy(self)
        yield from equally_warm(self.sweet_water, spent)

    def _series(self) -> Num:
        """1 + wash + ... + wash^n."""
        total: Num = 1.0
        for _ in range(int(self.stages)):
            total = 1.0 + self.wash * total
        return total

    def _washed(self) -> Num:
        return 1.0 - self.bypass / PERCENT

    def exchanges(self) -> Iterable[Exchange]:
        """Warmth lost to the surroundings."""
        yield self._lost(self.spent.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time in tanks and floaters, at the density of water: scum holds air."""
        held = (self.scum.flow + self.water.water) * self.time_wanted / LIGHT / MINUTES
        yield "scum and water of the time wanted within the tanks", held, self.tanks

    def estimate(self) -> Mapping[str, float]:
        """The loss of the stages and the water they take."""
        escaped = float(self.bypass) / 100.0
        loss = escaped + (1.0 - escaped) / float(self._series())
        scum, spent, sweet = self.scum, self.spent.prefix, self.sweet_water.prefix
        water = float(self.wash * (scum.water + scum.solids))
        guess = spread([scum], {self.spent: loss, self.sweet_water: 1.0 - loss})
        moved = (1.0 - loss) * float(scum.solids)
        guess |= {f"{spent}.water": float(scum.water) + moved, f"{sweet}.water": max(water - moved, 0.0)}
        guess |= {
            f"{spent}.suspended": 0.98 * float(scum.suspended),
            f"{sweet}.suspended": 0.02 * float(scum.suspended),
        }
        return {**guess, f"{self.name}.loss": loss, f"{self.water.prefix}.water": water}
