"""Diffuser stage: one stage of a bed, so that juice brix and temperature stand stage by stage."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.diffusing import Diffusing
from canewright.plant.pressing import SOLUTES
from canewright.plant.ratios import proportion
from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, inlet, inlets, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Juice, Power, Steam
from canewright.plant.strength import volume_flow
from canewright.quantity import Num, constant

MINUTES = constant(60.0, "min/h")


class DiffuserStage(Diffusing):
    """Bed and juice meet, and the bed's juice comes nearer to the free juice by the stage efficiency.

    Stages stand in a row: the bed goes to the next, the juice to the one before, the juice of the first is drawn; water
    enters at the last and press water where its brix fits, often at the last but one. Connections say where sprays
    fall. Each stage has its own warmth: as it mixes, by heaters on the juice between stages, or held by direct steam
    where some is led to it. With equal stages it is what the diffuser's one law says of the whole. Efficiency 0.3-0.6 a
    stage, 3-6 t of juice held on fibre (from memory).

    Moved by where juice is sprayed, steam, lime. Measured: brix and temperature of the juice of each stage: a stage
    whose brix does not fall is flooded or channels.
    """

    kind = "diffuser stage"
    handles = ("liquids", "steam")
    measured = ("juice refractometer brix", "juice temperature")

    bed, power = inlet(Juice), inlet(Power)
    steam = inlets(Steam, may_be_open=True)
    liquids = inlets(Juice)
    washed, juice = outlet(Juice), outlet(Juice)

    temperature = setting("°C", 80.0, "temperature, where direct steam holds it", limits=(30.0, 95.0), prior=1.0)
    inversion = setting("%", 0.01, "sucrose inverted or eaten, on sucrose in the bed", limits=(0.0, 2.0))
    colour_formed = setting("%", 1.2, "colour formed, on colour in the bed", limits=(0.0, 50.0), prior=0.5)
    fibre_to_juice = setting("%", 0.2, "fibre that leaves with the juice", limits=(0.0, 10.0), prior=0.1)
    solids_to_juice = setting("%", 2.0, "suspended solids that leave with the juice", limits=(0.0, 90.0), prior=1.0)
    specific_power = setting("kW/t·h", 0.5, "power of chains and pump on fibre", limits=(0.0, 5.0), prior=0.1)
    heat_loss = setting("kW/K", 0.8, "heat lost for each kelvin above the surroundings", limits=(0.01, 50.0))
    area = setting("m²", 45.0, "area of the stage on which juice is sprayed", limits=(0.5, 500.0))

    held_on_drawn = result("1", 0.7, "juice held on juice that leaves", limits=(0.0, 100.0))
    efficiency = result("1", 0.45, "stage efficiency of sucrose", limits=(0.0, 1.5))

    def equations(self) -> Equations:
        """Balances, the juice held, the approach of each dissolved part, and the heat."""
        bed, washed, juice = self.bed, self.washed, self.juice
        yield from conserve(bed, *self.liquids, *self.steam, into=[juice, washed], exchanges=self.exchanges())
        held = washed.water + washed.dissolved
        yield "bed holds its juice on fibre", held, self.juice_held * washed.fibre
        yield from proportion(
            "juice held on juice that leaves", self.held_on_drawn, held, juice.water + juice.dissolved
        )
        reached = self._percent_efficiency(bed, washed.temperature)
        yield "efficiency is that of opened and closed cells", PERCENT * self.efficiency, reached
        yield from self._approach()
        for name, gone in (("fibre", self.fibre_to_juice), ("suspended", self.solids_to_juice)):
            whole = sum(getattr(s, name) for s in (bed, *self.liquids))
            yield f"{name} goes with the juice as set", PERCENT * getattr(juice, name), gone * whole
        yield "power is what the fibre asks", self.power.power, self.specific_power * bed.fibre
        yield "bed leaves as warm as the juice", washed.temperature, juice.temperature
        if self.steam:
            yield "direct steam holds the temperature", juice.temperature, self.temperature
        yield from conserve_energy(self)

    def _approach(self) -> Equations:
        exchanges = tuple(self.exchanges())
        for name in SOLUTES:
            came = amount(self.bed, name) + sum(x.amount for x in exchanges if x.what == name)
            reached = self._reached(name, self.efficiency)
            stays = reached * self.held_on_drawn * getattr(self.juice, name) + (1.0 - reached) * came
            yield f"{name.replace('_', ' ')} in the bed nears the juice", getattr(self.washed, name), stays

    def exchanges(self) -> Iterable[Exchange]:
        """Sucrose inverted, colour formed, and heat lost."""
        yield from inversion(self.inversion / PERCENT * self.bed.sucrose)
        yield Exchange("colour formed", "colour", self.colour_formed / PERCENT * self.bed.colour)
        lost = self.KILOWATT * self.heat_loss * (self.juice.temperature - self.surroundings)
        yield Exchange("heat lost to the surroundings", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """The juice sprayed percolates before the bed floods, m³/h."""
        sprayed = sum(volume_flow(s) for s in self.liquids)
        yield "juice on the stage within what percolates", sprayed, self.percolation * MINUTES * self.area

    def estimate(self) -> Mapping[str, float]:
        """Half of the way to one composition, in the juice that the bed holds. Asks for power and steam."""
        fed = (self.bed, *self.liquids)
        warm = float(self.temperature) if self.steam else None
        guess = spread(fed, {self.washed: 0.5, self.juice: 0.5}, warm)
        fibre, water = float(self.bed.fibre), sum(float(s.water) for s in fed)
        wet = min(0.95 * float(self.juice_held) * fibre, 0.7 * water)
        guess |= {f"{self.washed.prefix}.water": wet, f"{self.juice.prefix}.water": water - wet}
        for name, gone in (("fibre", float(self.fibre_to_juice)), ("suspended", float(self.solids_to_juice))):
            whole = sum(float(getattr(s, name)) for s in fed)
            guess[f"{self.juice.prefix}.{name}"] = gone / 100.0 * whole
            guess[f"{self.washed.prefix}.{name}"] = (1.0 - gone / 100.0) * whole
        for steam in self.steam:
            guess[f"{steam.prefix}.water"] = 0.01 * water / len(self.steam)
        guess |= {f"{self.power.prefix}.power": float(self.specific_power) * fibre}
        guess |= {f"{self.name}.held_on_drawn": wet / max(water - wet, 1e-6) if water > 1e-6 else 0.0}
        return {**guess, f"{self.name}.efficiency": 0.45}
