"""Strainer: the liquor of the melter leaves bagacillo, sand and scale on a screen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.liquor_station import LiquorStation, equally_warm, held_share, in_proportion
from canewright.plant.station import Equations, Exchange, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor
from canewright.quantity import Num


class Strainer(LiquorStation):
    """Screen after the melter. Catches 10-60 % of the insolubles with 2-6 t of liquor for each tonne caught.

    What is caught is the coarse part; the liquor that clings to it is the sugar lost with the screenings (common
    practice, no source for the ranges).
    """

    kind = "strainer"
    hazards = ("Liquor at 80 °C scalds and sticks: isolate, drain and cool before a basket or screen is opened.",)
    measured = ("screenings mass flow", "screenings pol")

    liquor = inlet(Liquor)
    strained, screenings = outlet(Liquor), outlet(Liquor)
    heat_loss = setting("kW/K", 0.1, "heat lost for each kelvin above the surroundings", limits=(0.01, 50.0))
    caught = setting("%", 30.0, "insolubles caught", limits=(0.0, 99.0), prior=10.0)
    clinging_liquor = setting("1", 4.0, "liquor that clings to insolubles caught, t/t", limits=(0.0, 20.0), prior=1.0)
    area = setting("m²", 4.0, "screen area", limits=(0.01, 200.0))
    most_load = setting("t/h/m²", 60.0, "liquor that a square metre passes", limits=(1.0, 1000.0))
    liquor_share = result("1", 0.01, "liquor lost on liquor that entered", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Insolubles are caught as set, and liquor of one composition clings to them."""
        liquor, screenings = self.liquor, self.screenings
        yield from conserve(liquor, into=[self.strained, screenings])
        yield "insolubles are caught as set", PERCENT * screenings.suspended, self.caught * liquor.suspended
        clings = self.clinging_liquor * screenings.suspended
        yield from held_share("liquor lost is its share", self.liquor_share, clings, liquor.water + liquor.solids)
        yield from in_proportion(screenings, self.liquor_share, liquor)
        yield from conserve_energy(self)
        yield from equally_warm(self.strained, screenings)

    def exchanges(self) -> Iterable[Exchange]:
        """Warmth lost to the surroundings."""
        yield self._lost(self.strained.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Load of the screen."""
        yield "liquor within what the screen passes", self.liquor.flow, self.most_load * self.area

    def estimate(self) -> Mapping[str, float]:
        """Nearly all passes; a part of the insolubles stays."""
        guess = spread([self.liquor], {self.strained: 0.999, self.screenings: 0.001})
        solids = float(self.liquor.suspended)
        part = float(self.caught) / 100.0 * solids
        return {
            **guess,
            f"{self.screenings.prefix}.suspended": part,
            f"{self.strained.prefix}.suspended": solids - part,
        }
