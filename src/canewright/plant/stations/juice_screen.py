"""Juice screen: catches most fibre of the raw juice and returns it with the juice that clings to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.liquor_station import KILOGRAMS, LiquorStation
from canewright.plant.ratios import SEEPAGE, proportion
from canewright.plant.station import Equations, Exchange, inlets, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num


class JuiceScreen(LiquorStation):
    """Screen or cush-cush strainer; what it catches goes back to the second mill.

    Catch of fibre 80-95 %, juice 3-5 t per t of fibre caught (common practice, no source); 30-60 m³/h of juice on a
    square metre of wedge wire (from memory). Blinded wire floods: the juice then runs off with what should be caught.
    Moved by area and cleaning; measured: fibre and suspended solids of the juice before and after.
    """

    kind = "juice screen"
    hazards = ("Moving screens and wet floors: guards, lock-out; clean against bacterial growth.",)
    measured = ("screened suspended solids", "caught mass flow")

    raw = inlets(Juice)
    screened, caught = outlet(Juice), outlet(Juice)
    fibre_caught = setting("%", 90.0, "fibre caught", limits=(0.0, 99.9), prior=3.0)
    solids_caught = setting("%", 15.0, "suspended solids caught", limits=(0.0, 90.0), prior=5.0)
    clinging_juice = setting("1", 4.0, "juice that clings to caught fibre, t/t", limits=(0.0, 12.0), prior=0.5)
    area = setting("m²", 20.0, "area of the screen", limits=(0.1, 500.0))
    most_on_area = setting("m³/m²/h", 40.0, "juice that a square metre lets through", limits=(1.0, 300.0))
    most_returned = setting("%", 15.0, "screenings on juice that the mills take back", limits=(0.1, 60.0))
    juice_share = result("1", 0.05, "juice returned on juice that entered", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Fibre and solids are caught as set; juice of one composition leaves both ways."""
        raw, caught = self.raw, self.caught
        yield from conserve(*raw, into=[self.screened, caught])
        yield "fibre is caught as set", PERCENT * caught.fibre, self.fibre_caught * sum(s.fibre for s in raw)
        yield (
            "suspended solids are caught as set",
            PERCENT * caught.suspended,
            self.solids_caught * sum(s.suspended for s in raw),
        )
        yield from proportion(
            "juice returned is its share",
            self.juice_share,
            self.clinging_juice * caught.fibre,
            sum(s.water + s.dissolved for s in raw),
        )
        for name in ("water", "sucrose", "reducing_sugars", "ash", "other", "colour"):
            whole = sum(getattr(s, name) for s in raw)
            yield f"{name.replace('_', ' ')} clings in proportion", getattr(caught, name), self.juice_share * whole
        yield from conserve_energy(self)
        yield "both streams are equally warm", self.screened.temperature, caught.temperature

    def exchanges(self) -> Iterable[Exchange]:
        """Warmth lost to the surroundings."""
        yield self._lost(self.screened.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """What the wire lets through, m³/h; what the mills take back, t/h: more of it takes sucrose round and round."""
        juice = self.screened
        density = sucrose_density(PERCENT * juice.solids / (juice.solution + SEEPAGE), juice.temperature)
        there = self.area * self.most_on_area
        yield "juice within what the screen lets through", KILOGRAMS * juice.flow / density, there
        back = self.most_returned / PERCENT * sum(s.flow for s in self.raw)
        yield "screenings within what the mills take back", self.caught.flow, back

    def estimate(self) -> Mapping[str, float]:
        """A small share of juice returned, with the fibre."""
        fibre = sum(float(s.fibre) for s in self.raw) * float(self.fibre_caught) / 100.0
        liquid = sum(float(s.water + s.dissolved) for s in self.raw) or 1.0
        part = min(0.5, fibre * float(self.clinging_juice) / liquid)
        guess = spread(self.raw, {self.screened: 1.0 - part, self.caught: part})
        total = sum(float(s.fibre) for s in self.raw)
        guess |= {f"{self.caught.prefix}.fibre": fibre, f"{self.screened.prefix}.fibre": total - fibre}
        return {**guess, f"{self.name}.juice_share": part}
