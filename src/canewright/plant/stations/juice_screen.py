"""Juice screen: catches most fibre of the raw juice and returns it with the juice that clings to it."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.balance import conserve
from canewright.plant.ratios import share
from canewright.plant.station import Equations, Station, inlets, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice


class JuiceScreen(Station):
    """Screen or cush-cush strainer.

    Catch of fibre 80-95 %, juice 3-5 t per t of fibre caught (common practice, no source).
    """

    kind = "juice screen"
    hazards = ("Moving screens and wet floors: guards, lock-out; clean against bacterial growth.",)

    raw = inlets(Juice)
    screened, caught = outlet(Juice), outlet(Juice)
    fibre_caught = setting("%", 90.0, "fibre caught", limits=(0.0, 99.9), prior=3.0)
    solids_caught = setting("%", 15.0, "suspended solids caught", limits=(0.0, 90.0), prior=5.0)
    clinging_juice = setting("1", 4.0, "juice that clings to caught fibre, t/t", limits=(0.0, 12.0), prior=0.5)
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
        yield from share(
            "juice returned is its share",
            self.juice_share,
            self.clinging_juice * caught.fibre,
            sum(s.water + s.dissolved for s in raw),
        )
        for name in ("water", "sucrose", "reducing_sugars", "ash", "other", "colour"):
            whole = sum(getattr(s, name) for s in raw)
            yield f"{name.replace('_', ' ')} clings in proportion", getattr(caught, name), self.juice_share * whole
        heat_in = sum(s.enthalpy_flow for s in raw)
        yield "energy in is energy out", heat_in, self.screened.enthalpy_flow + caught.enthalpy_flow
        yield "both streams are equally warm", self.screened.temperature, caught.temperature

    def estimate(self) -> Mapping[str, float]:
        """A small share of juice returned, with the fibre."""
        fibre = sum(float(s.fibre) for s in self.raw) * float(self.fibre_caught) / 100.0
        liquid = sum(float(s.water + s.dissolved) for s in self.raw) or 1.0
        part = min(0.5, fibre * float(self.clinging_juice) / liquid)
        guess = spread(self.raw, {self.screened: 1.0 - part, self.caught: part})
        total = sum(float(s.fibre) for s in self.raw)
        guess |= {f"{self.caught.prefix}.fibre": fibre, f"{self.screened.prefix}.fibre": total - fibre}
        return {**guess, f"{self.name}.juice_share": part}
