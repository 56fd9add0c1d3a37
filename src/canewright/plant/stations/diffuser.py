"""Diffuser: a bed of prepared cane moves under hot juice, stage by stage, against the flow of the water."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.diffusing import Diffusing
from canewright.plant.liquor_station import KILOGRAMS
from canewright.plant.pressing import SOLUTES
from canewright.plant.ratios import SEEPAGE, proportion
from canewright.plant.reactions import inversion
from canewright.plant.station import (
    Equations,
    Exchange,
    choice,
    inlet,
    inlets,
    outlet,
    result,
    setting,
    spread,
)
from canewright.plant.streams import PERCENT, Juice, Power, Steam, Water
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num, constant

MINUTES = constant(60.0, "min/h")
NO_BED = constant(1e-4, "t/h")


def left_after(stages: int, ratio: Num, efficiency: Num) -> Num:
    """Share of the excess over the liquid that enters which these stages leave in the bed.

    Each stage brings the bed's juice nearer to its free juice by the efficiency e; ``ratio`` is juice held on juice
    that flows. Steps shrink by ``g = 1 - e (1 - ratio)``, so ``g^n / (g^n + e (1 + g + ... + g^(n-1)))``: with e = 1
    the series of Kremser, ``1 / (1 + L/H + ... + (L/H)^n)``. No division by nought at equal flows.
    """
    step = 1.0 - efficiency * (1.0 - ratio)
    power, series = 1.0, 0.0
    for _ in range(stages):
        series = series + power
        power = power * step
    return power / (power + efficiency * series)


class Diffuser(Diffusing):
    """Moving-bed diffuser with its stages in one law; its wet bagasse goes to dewatering mills, their juice returns.

    Stage efficiency is the share of the approach of the bed's juice to the free juice, 0.3-0.6 (from memory), by the
    opened cells of the cane that comes (or, for the bagasse of a first mill, as set). It is the lumped limit of Rein's
    model (Proc. ISSCT 15, 1974, abstract read: preparation matters most); 34 % a stage, of a kind not stated, was found
    at a plant (Proc. SASTA, April 1968, discussion read). 10-16 stages, 75-85 °C, 3-6 t of juice held on fibre, 60-70
    kg of fibre in a m³, percolation 0.1-0.2 m/min (from memory). Below 70 °C bacteria eat sucrose. Mean extraction
    97.85 % of sucrose in South Africa, of mills 97.47 (Koster, Proc. SASTA 1995, read). It decides the flow of its
    steam, which heats through surfaces.
    Moved by imbibition, temperature, bed speed and depth; measured: brix of juice and press water, moisture. Where the
    brix of each stage is wanted, diffuser stages in a row give the same extraction stage by stage.
    """

    kind = "diffuser"
    handles = ("imbibition", "temperature", "bed_speed", "bed_depth")
    measured = (
        "juice refractometer brix",
        "juice pol",
        "juice temperature",
        "press_water refractometer brix",
        "bagasse moisture",
    )
    cane, steam, power = inlet(Juice), inlet(Steam), inlet(Power)
    press_water = inlets(Juice, may_be_open=True)
    imbibition = inlets(Juice)
    juice, bagasse, condensate = outlet(Juice), outlet(Juice), outlet(Water)
    stages = choice("12", "8", "10", "14", "16", "18", says="stages of the bed, each with its pump")

    temperature = setting("°C", 80.0, "temperature of bed and juice", limits=(30.0, 95.0), prior=1.0)
    inversion = setting("%", 0.1, "sucrose inverted or eaten, on sucrose that enters", limits=(0.0, 5.0))
    colour_formed = setting("%", 15.0, "colour formed, on colour that enters", limits=(0.0, 100.0), prior=5.0)
    fibre_to_juice = setting("%", 0.2, "fibre that leaves with the juice", limits=(0.0, 10.0), prior=0.1)
    solids_to_juice = setting("%", 10.0, "suspended solids that leave with the juice", limits=(0.0, 90.0), prior=3.0)
    specific_power = setting("kW/t·h", 6.0, "power of chains, screws and pumps on fibre", limits=(0.0, 40.0), prior=1.0)
    heat_loss = setting("kW/K", 10.0, "heat lost for each kelvin above the surroundings", limits=(0.01, 200.0))
    width = setting("m", 9.0, "width of the bed, of all diffusers together", limits=(0.5, 40.0))
    length = setting("m", 60.0, "length of the bed", limits=(2.0, 150.0))
    bed_depth = setting("m", 1.7, "depth of the bed", limits=(0.2, 4.0), prior=0.05)
    bed_speed = setting("m/min", 1.0, "speed of the bed", limits=(0.05, 5.0), prior=0.02)
    packing = setting("kg/m³", 65.0, "fibre in the bed", limits=(20.0, 150.0), prior=5.0)

    ratio = result("1", 0.8, "juice held on juice that flows", limits=(0.0, 10.0))
    held_on_draft = result("1", 0.7, "juice held on juice drawn", limits=(0.0, 100.0))
    efficiency = result("1", 0.35, "stage efficiency of sucrose", limits=(0.0, 1.0))
    hours_in_bed = result("h", 1.0, "hours in the bed", limits=(0.0, 1e9))

    def equations(self) -> Equations:
        """Balances, the juice held, what the stages leave of each dissolved part, and the heat."""
        cane, bagasse, juice = self.cane, self.bagasse, self.juice
        yield from conserve(cane, *self._liquids, into=[juice, bagasse], exchanges=self.exchanges())
        held = bagasse.water + bagasse.dissolved
        yield "bed holds its juice on fibre", held, self.juice_held * bagasse.fibre
        flowing = sum(s.water + s.dissolved for s in self._liquids)
        yield from proportion("juice held is its ratio of juice that flows", self.ratio, held, flowing)
        yield from proportion("juice held on juice drawn", self.held_on_draft, held, juice.water + juice.dissolved)
        yield "efficiency is that of opened and closed cells", PERCENT * self.efficiency, self._efficiency()
        yield from self._washed()
        for name, gone in (("fibre", self.fibre_to_juice), ("suspended", self.solids_to_juice)):
            whole = sum(getattr(s, name) for s in (cane, *self._liquids))
            yield f"{name} goes with the juice as set", PERCENT * getattr(juice, name), gone * whole
        yield "hours in the bed are its fibre on fibre that comes", *self._passage()
        yield "power is what the fibre asks", self.power.power, self.specific_power * cane.fibre
        yield "juice leaves at the temperature of the bed", juice.temperature, self.temperature
        yield "bagasse leaves as warm as the juice", bagasse.temperature, juice.temperature
        yield "steam in is condensate out", self.steam.water, self.condensate.water
        yield "condensate leaves as it condenses", self.condensate.temperature, self.steam.saturation_temperature
        yield from conserve_energy(self)

    @property
    def _liquids(self) -> tuple[Juice, ...]:
        return (*self.press_water, *self.imbibition)

    def _efficiency(self) -> Num:
        return self._percent_efficiency(self.cane, self.temperature)

    def _washed(self) -> Equations:
        """The first stage mixes cane with the juice drawn; the others wash it with the liquids that enter."""
        exchanges = tuple(self.exchanges())
        for name in SOLUTES:
            reached = self._reached(name, self.efficiency)
            fed = amount(self.cane, name) + sum(x.amount for x in exchanges if x.what == name)
            first = reached * self.held_on_draft * getattr(self.juice, name) + (1.0 - reached) * fed
            entering = self.ratio * sum(getattr(s, name) for s in self._liquids)
            left = left_after(int(self.stages) - 1, self.ratio, reached)
            yield (
                f"{name.replace('_', ' ')} stays in the bed as the stages leave it",
                getattr(self.bagasse, name),
                entering + left * (first - entering),
            )

    def _passage(self) -> tuple[Num, Num]:
        bed = self.width * self.length * self.bed_depth * self.packing
        return self.hours_in_bed * (self.cane.fibre + NO_BED), bed / KILOGRAMS

    def exchanges(self) -> Iterable[Exchange]:
        """Sucrose inverted, colour formed, and heat lost."""
        yield from inversion(self.inversion / PERCENT * self.cane.sucrose)
        yield Exchange("colour formed", "colour", self.colour_formed / PERCENT * self.cane.colour)
        lost = self.KILOWATT * self.heat_loss * (self.juice.temperature - self.surroundings)
        yield Exchange("heat lost to the surroundings", "energy", -lost)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """The bed moves the fibre, and the juice percolates before it floods."""
        carried = self.width * self.bed_depth * self.bed_speed * self.packing * MINUTES
        yield "fibre within what the bed carries", KILOGRAMS * self.cane.fibre, carried
        juice = self.juice
        density = sucrose_density(PERCENT * juice.solids / (juice.solution + SEEPAGE), juice.temperature)
        stage = self.width * self.length / int(self.stages)
        flowing = KILOGRAMS * sum(s.flow for s in self._liquids) / density
        yield "juice on a stage within what percolates", flowing, self.percolation * MINUTES * stage

    def estimate(self) -> Mapping[str, float]:
        """A tenth of the dissolved matter left, in the juice that the bed holds. Asks for steam and power."""
        fed, warm = (self.cane, *self._liquids), float(self.temperature)
        fibre = float(self.cane.fibre)
        held, flowing = float(self.juice_held) * fibre, sum(float(s.flow) for s in self._liquids) or 1.0
        guess = spread(fed, {self.bagasse: 0.1, self.juice: 0.9}, warm)
        whole = sum(float(s.water) for s in fed)
        wet = min(held, 0.7 * whole)
        guess |= {f"{self.bagasse.prefix}.water": wet, f"{self.juice.prefix}.water": whole - wet}
        for name, gone in (("fibre", float(self.fibre_to_juice)), ("suspended", float(self.solids_to_juice))):
            total = sum(float(getattr(s, name)) for s in fed)
            guess[f"{self.juice.prefix}.{name}"] = gone / 100.0 * total
            guess[f"{self.bagasse.prefix}.{name}"] = (1.0 - gone / 100.0) * total
        steam = 4.0 * float(self.cane.flow) * max(warm - float(self.cane.temperature), 0.0) / 2200.0
        results = {
            "ratio": min(held / flowing, 3.0), "held_on_draft": 0.7, "efficiency": float(self._efficiency()) / 100.0,
            "hours_in_bed": 1.0,
        }  # fmt: skip
        guess |= {f"{self.steam.prefix}.water": steam, f"{self.condensate.prefix}.water": steam}
        guess |= {f"{self.condensate.prefix}.temperature": float(self.steam.saturation_temperature)}
        guess |= {f"{self.power.prefix}.power": float(self.specific_power) * fibre}
        return {**guess, **self.own(results)}
