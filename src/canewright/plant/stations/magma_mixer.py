"""Magma mixer: mixes sugar with water, syrup or molasses to a magma, for a footing or for affination."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import placed, totals
from canewright.plant.jacketed import Jacketed
from canewright.plant.station import Equations, inlet, inlets, outlet, setting
from canewright.plant.streams import PERCENT, Liquor, Massecuite
from canewright.quantity import Num, constant

MINUTES = constant(60.0, "min/h")


class MagmaMixer(Jacketed):
    """Mingler or magma mixer: as much liquor as gives the set dry substance; a share of the crystal dissolves.

    Usual: 88-91 % dry substance, 60-70 °C; in affination 2-6 % of the crystal dissolves until the liquor is saturated
    (from memory); pumped up to 85 % crystal (common practice, no source). Upstream it
    decides the flow of liquor (a water supply or a draw); the heat that its jacket gives is a result.
    """

    kind = "magma mixer"
    hazards = ("Open mixing screws: covers, interlocks and lock-out.",)
    handles = ("dry_substance", "temperature")
    measured = ("magma refractometer brix", "magma apparent purity", "magma temperature")

    sugar, liquor = inlets(Massecuite), inlet(Liquor)
    magma = outlet(Massecuite)
    dry_substance = setting("%", 90.0, "true dry substance of the magma", limits=(70.0, 96.0), prior=0.5)
    crystal_dissolved = setting("%", 0.0, "crystal that dissolves", limits=(0.0, 60.0), prior=2.0)
    temperature = setting("°C", 60.0, "temperature of the magma", limits=(20.0, 80.0), prior=1.0)
    volume = setting("m³", 20.0, "volume of the mixers", limits=(0.0, 500.0))
    time_wanted = setting("min", 15.0, "time that mixing takes", limits=(1.0, 240.0))
    density = setting("t/m³", 1.45, "density of the magma (1.42-1.48, from memory)", limits=(1.2, 1.6))
    most_crystal = setting("%", 85.0, "crystal on magma that can still be pumped", limits=(20.0, 99.0))

    def equations(self) -> Equations:
        """Balances, dry substance, crystal left, and heat for the temperature."""
        magma = self.magma
        yield from conserve(*self.sugar, self.liquor, into=[magma])
        yield "magma has its dry substance", PERCENT * magma.solids, self.dry_substance * magma.solution
        stays = PERCENT - self.crystal_dissolved
        yield "crystal stays but for what dissolves", PERCENT * magma.crystal, stays * self._crystal("crystal")
        inside = stays * self._crystal("crystal_colour")
        yield "crystal colour stays with the crystal", PERCENT * magma.crystal_colour, inside
        yield "magma has its temperature", magma.temperature, self.temperature
        yield from conserve_energy(self)

    def _crystal(self, name: str) -> Num:
        return sum(getattr(s, name) for s in self.sugar)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time to mix, and crystal that the liquor can still carry."""
        held = self.magma.flow * self.time_wanted / (MINUTES * self.density)
        yield "magma of the time wanted within the mixers", held, self.volume
        there = self.most_crystal * self.magma.flow / PERCENT
        yield "crystal little enough for the magma to be pumped", self.magma.crystal, there

    def estimate(self) -> Mapping[str, float]:
        """Liquor for the dry substance, and the mixture."""
        liquor, sugar = self._liquor(), totals(self.sugar)
        now = float(self.liquor.flow)
        scale = liquor / now if now > 1e-9 else 0.0
        drawn = totals([self.liquor])
        total = {n: sugar[n] + scale * drawn[n] for n in sugar}
        total["water"] += 0.0 if now > 1e-9 else liquor
        dissolves = float(self.crystal_dissolved) / 100.0
        total["sucrose"] += drawn["crystal"] * scale + dissolves * sugar["crystal"]
        total["colour"] += drawn["crystal_colour"] * scale + dissolves * sugar["crystal_colour"]
        total |= {n: (1.0 - dissolves) * sugar[n] for n in ("crystal", "crystal_colour")}
        guess = placed(self.magma, {**total, "temperature": float(self.temperature)})
        return {**guess, **asked(self.liquor, liquor)}

    def _liquor(self) -> float:
        """Flow of liquor, t/h, that gives the dry substance, in plain numbers."""
        wanted = float(self.dry_substance)
        lacking = sum(100.0 * float(s.solids) - wanted * float(s.solution) for s in self.sugar)
        now = float(self.liquor.flow)
        thins = (
            (wanted * float(self.liquor.solution) - 100.0 * float(self.liquor.solids)) / now if now > 1e-9 else wanted
        )
        return max(0.0, lacking / thins) if thins > 1.0 else 0.0
