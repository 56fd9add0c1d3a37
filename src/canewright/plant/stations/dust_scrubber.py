"""Dust scrubber: sugar dust of dryer, coolers and conveyors is caught in water and comes back as sweet water."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.station import Equations, Station, inlet, outlet, setting
from canewright.plant.streams import PERCENT, Liquor, Massecuite, Water
from canewright.quantity import Num

SUGAR = ("water", "sucrose", "reducing_sugars", "ash", "other", "crystal", "suspended", "colour", "crystal_colour")


class DustScrubber(Station):
    """A share of the sugar goes with the air as dust; the scrubber catches most of it, the rest leaves the stack.

    Dust 0.2-1 % of the sugar dried, caught 99-99.9 %, sweet water 5-20 % dry substance (common practice, no source).
    Dust has the composition of the sugar; the air itself is left to dryer and cooler. Decides the flow of ``water``.
    """

    kind = "dust scrubber"
    hazards = (
        "Sugar dust explodes: venting or suppression, earthing and housekeeping under local codes.",
        "A layer over 1/32 inch on a twentieth of a room counts as a hazard (NFPA, as quoted in InTech 2008, read).",
        "Warm dilute sweet water ferments: empty and clean by schedule.",
    )
    handles = ("dry_substance",)
    measured = ("sweet_water refractometer brix", "sweet_water mass flow")

    sugar, water = inlet(Massecuite), inlet(Water)
    passed, lost = outlet(Massecuite), outlet(Massecuite)
    sweet_water = outlet(Liquor)

    dust = setting("%", 0.5, "dust on sugar", limits=(0.0, 10.0), prior=0.1)
    caught = setting("%", 99.5, "dust caught", limits=(50.0, 100.0), prior=0.2)
    dry_substance = setting("%", 12.0, "dry substance of the sweet water", limits=(1.0, 60.0), prior=1.0)
    most_water = setting("t/h", 20.0, "water that the scrubber sprays", limits=(0.0, 500.0))

    def equations(self) -> Equations:
        """Dust in its share, caught in its share, dissolved to the strength."""
        sugar, lost, sweet = self.sugar, self.lost, self.sweet_water
        yield from conserve(sugar, self.water, into=[self.passed, lost, sweet])
        share = self.dust / PERCENT
        for name in SUGAR:
            of = getattr(sugar, name)
            spoken = name.replace("_", " ")
            yield f"{spoken} passes but for the dust", getattr(self.passed, name), (1.0 - share) * of
            yield f"{spoken} is lost with dust not caught", getattr(lost, name), self._escaped() * of
        yield "sweet water has its strength", PERCENT * sweet.solids, self.dry_substance * sweet.solution
        yield "sugar passes as warm as it came", self.passed.temperature, sugar.temperature
        yield "dust is as warm as the sugar", lost.temperature, sugar.temperature
        yield from conserve_energy(self)

    def _escaped(self) -> Num:
        """Dust that leaves the stack, on sugar."""
        return self.dust / PERCENT * (PERCENT - self.caught) / PERCENT

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Water that the scrubber sprays."""
        yield "water within what the scrubber sprays", self.water.water, self.most_water

    def estimate(self) -> Mapping[str, float]:
        """The shares themselves."""
        share, escaped = float(self.dust) / 100.0, float(self._escaped())
        warm = float(self.sugar.temperature)
        guess = {f"{s.prefix}.temperature": warm for s in (self.passed, self.lost)}
        for stream, part in ((self.passed, 1.0 - share), (self.lost, escaped)):
            guess |= {f"{stream.prefix}.{name}": part * float(getattr(self.sugar, name)) for name in SUGAR}
        caught, strength = share - escaped, float(self.dry_substance)
        solids = caught * float(self.sugar.solids)
        water = max(solids * (100.0 - strength) / strength - caught * float(self.sugar.water), 0.0)
        sweet = self.sweet_water.prefix
        for name in ("reducing_sugars", "ash", "other", "suspended"):
            guess[f"{sweet}.{name}"] = caught * float(getattr(self.sugar, name))
        guess |= {
            f"{sweet}.water": solids * (100.0 - strength) / strength,
            f"{sweet}.sucrose": caught * float(self.sugar.sucrose + self.sugar.crystal),
            f"{sweet}.colour": caught * float(self.sugar.total_colour),
            f"{sweet}.temperature": float(self.water.temperature),
        }
        return {**guess, **asked(self.water, water)}
