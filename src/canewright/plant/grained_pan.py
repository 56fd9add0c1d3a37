"""What pans share whose grain is counted: seed from slurry, or from a footing that the pan draws."""

from __future__ import annotations

from collections.abc import Mapping

from canewright.plant.asking import asked
from canewright.plant.boiling_pan import BoilingPan
from canewright.plant.crystals import totals
from canewright.plant.ratios import share
from canewright.plant.station import Equations, inlets, result, setting
from canewright.plant.streams import Massecuite
from canewright.quantity import Num


class GrainedPan(BoilingPan):
    """A pan whose grain comes from a footing (magma, massecuite or grain cut over) or from slurry.

    Crystals keep their number, so seed is to crystal as the cubes of their sizes. With a ``footing`` connected, the
    pan draws as much of it as that needs; without one, the seed is slurry, too little to weigh in a balance.
    """

    footing = inlets(Massecuite, may_be_open=True)
    grain_size = setting("mm", 0.8, "size of the crystal when dropped", limits=(0.03, 3.0), prior=0.05)
    seed_size = setting("mm", 0.35, "size of the crystal of footing or slurry", limits=(0.002, 2.0), prior=0.03)

    seed_crystal = result("t/h", 2.0, "crystal that must come as seed", limits=(0.0, 1e4))
    footing_crystal = result("1", 0.8, "crystal in the footing, t/t", limits=(-0.001, 1.001))

    def fed(self) -> tuple[Massecuite, ...]:
        """Every sugar stream that is boiled."""
        return (*self.feeds, *self.footing)

    def equations(self) -> Equations:
        """Those of every pan, and the count of crystals."""
        yield from super().equations()
        yield "crystals keep their number", self.seed_crystal, self._cubes() * self.massecuite.crystal
        flow, crystal = sum(s.flow for s in self.footing), sum(s.crystal for s in self.footing)
        yield from share("crystal in the footing is its share", self.footing_crystal, crystal, flow)
        if self.footing:
            yield "footing brings the seed", self.footing_crystal * flow, self.seed_crystal

    def _cubes(self) -> Num:
        """Mass of a crystal as seed on its mass when dropped."""
        ratio = self.seed_size / self.grain_size
        return ratio * ratio * ratio

    def estimate(self) -> Mapping[str, float]:
        """The footing by the cubes of the sizes for the crystal that the feeds alone would give, then the strike."""
        ratio = float(self._cubes())
        crystal = self._strike(totals(self.feeds))["crystal"]
        came = sum(float(s.crystal) for s in self.footing)
        wanted = min(ratio / max(1.0 - ratio, 0.05), 1.5) * crystal
        guess = dict(super().estimate())
        for stream in self.footing:
            scale = wanted / came if came > 1e-9 else 0.0
            guess |= asked(stream, float(stream.flow) * scale if came > 1e-9 else wanted / len(self.footing))
        return {**guess, f"{self.name}.seed_crystal": wanted, f"{self.name}.footing_crystal": 0.8}
