"""Magma mixer: mixes sugar with water, syrup or molasses to a magma, for a footing or for affination."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import placed, totals
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, result, setting
from canewright.plant.streams import PERCENT, Liquor, Massecuite
from canewright.quantity import Num, constant

MINUTES = constant(60.0, "min/h")


class MagmaMixer(Station):
    """Mingler or magma mixer: as much liquor as gives the set dry substance; a share of the crystal dissolves.

    Usual: 88-91 % dry substance, 60-70 °C; in affination 2-6 % of the crystal dissolves until the liquor is saturated
    (from memory). Upstream it decides the flow of liquor (a water supply or a draw); the heat that its jacket gives
    is a result.
    """

    kind = "magma mixer"
    hazards = ("Open mixing screws: covers, interlocks and lock-out.",)

    sugar, liquor = inlets(Massecuite), inlet(Liquor)
    magma = outlet(Massecuite)
    dry_substance = setting("%", 90.0, "true dry substance of the magma", limits=(70.0, 96.0), prior=0.5)
    crystal_dissolved = setting("%", 0.0, "crystal that dissolves", limits=(0.0, 60.0), prior=2.0)
    temperature = setting("°C", 60.0, "temperature of the magma", limits=(20.0, 80.0), prior=1.0)
    volume = setting("m³", 30.0, "volume of the mixer", limits=(0.1, 500.0))
    time_wanted = setting("min", 15.0, "time that the magma should stay", limits=(0.5, 120.0))
    density = setting("t/m³", 1.42, "density of the magma (1.40-1.46, from memory)", limits=(1.2, 1.6))
    heat = result("kW", 100.0, "heat given by the jacket or by hot surroundings", limits=(-1e5, 1e5))

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

    def exchanges(self) -> Iterable[Exchange]:
        """Heat given."""
        yield Exchange("heat given", "energy", self.KILOWATT * self.heat)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time in the mixer."""
        held = self.magma.flow * self.time_wanted / (self.density * MINUTES)
        yield "magma of the time wanted within the mixer", held, self.volume

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
