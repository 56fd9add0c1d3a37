"""Melter and dilution tank: dissolve sugar, or thin liquor, to a set dry substance."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.asking import asked
from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.crystals import placed, totals
from canewright.plant.jacketed import Jacketed
from canewright.plant.station import Equations, Exchange, Station, inlet, inlets, outlet, setting
from canewright.plant.streams import PERCENT, Liquor, Massecuite, Steam, Stream, Water
from canewright.properties.sucrose import sucrose_density
from canewright.quantity import Num, constant

KILOGRAMS = constant(1000.0, "kg/t")
MINUTES = constant(60.0, "min/h")


def _melted(entering: tuple[Stream, ...]) -> dict[str, float]:
    total = totals(entering)
    total["sucrose"] += total["crystal"]
    total["colour"] += total["crystal_colour"]
    return total


def _water_wanted(total: dict[str, float], dry_substance: float) -> float:
    solids = sum(total[n] for n in ("sucrose", "reducing_sugars", "ash", "other"))
    return max(0.0, solids * (100.0 - dry_substance) / dry_substance - total["water"])


class Melter(Station):
    """Melter or remelter: sugar dissolves in sweet water and hot water, heated by direct steam.

    Usual: 64-68 % dry substance, 75-82 °C, 10-20 min for grain of 1 mm (from memory). Upstream it decides the flows of
    water and of steam; sweet water comes as it comes, and more of it than can be used leaves no answer (water would be
    negative): the surplus must go elsewhere.
    """

    kind = "melter"
    hazards = ("Hot liquor and direct steam scald; covers on stirred melters.",)
    handles = ("dry_substance", "temperature", "sweet_water")
    measured = ("liquor refractometer brix", "liquor temperature", "liquor colour")

    sugar, sweet_water = inlets(Massecuite), inlets(Liquor, may_be_open=True)
    water, steam = inlet(Water), inlet(Steam)
    liquor = outlet(Liquor)
    dry_substance = setting("%", 65.0, "true dry substance of the liquor", limits=(40.0, 76.0), prior=0.5)
    temperature = setting("°C", 80.0, "temperature of the liquor", limits=(40.0, 95.0), prior=1.0)
    colour_formed = setting("%", 0.0, "colour formed, on all colour that enters", limits=(0.0, 10.0), prior=0.5)
    heat_loss = setting("%", 2.0, "heat lost, on heat brought by the steam", limits=(0.0, 20.0))
    volume = setting("m³", 40.0, "volume of the melters", limits=(0.0, 1000.0))
    time_wanted = setting("min", 15.0, "time that the liquor should stay", limits=(1.0, 120.0))

    def equations(self) -> Equations:
        """Everything dissolves; water gives the dry substance and steam the temperature."""
        liquor = self.liquor
        yield from conserve(*self.entering, into=[liquor], exchanges=self.exchanges())
        yield "liquor has its dry substance", PERCENT * liquor.solids, self.dry_substance * liquor.solution
        yield "liquor has its temperature", liquor.temperature, self.temperature
        yield from conserve_energy(self)

    def exchanges(self) -> Iterable[Exchange]:
        """Colour formed, and heat lost."""
        colour = sum(s.colour + s.crystal_colour for s in (*self.sugar, *self.sweet_water))
        yield Exchange("colour formed in melting", "colour", self.colour_formed * colour / PERCENT)
        yield Exchange("heat lost", "energy", -(self.heat_loss * self.steam.enthalpy_flow) / PERCENT)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time to dissolve."""
        density = sucrose_density(self.dry_substance, self.temperature)
        held = self.liquor.flow * KILOGRAMS * self.time_wanted / (MINUTES * density)
        yield "liquor of the time wanted within the melters", held, self.volume

    def estimate(self) -> Mapping[str, float]:
        """Water and steam for the dry substance, a third of a tenth of the liquor as steam."""
        total = _melted((*self.sugar, *self.sweet_water))
        wanted = _water_wanted(total, float(self.dry_substance))
        solids = sum(total[n] for n in ("sucrose", "reducing_sugars", "ash", "other"))
        steam = min(0.05 * solids, 0.5 * wanted)
        total["water"] += wanted
        total["colour"] *= 1.0 + float(self.colour_formed) / 100.0
        guess = placed(self.liquor, {**total, "temperature": float(self.temperature)})
        return {**guess, **asked(self.water, wanted - steam), **asked(self.steam, steam)}


class DilutionTank(Jacketed):
    """Molasses or liquor thinned with water to a set dry substance; crystals that come along dissolve.

    Upstream it decides the flow of water; the heat that its coil or jacket gives (or that it loses) is a result.
    Usual: A and B molasses 68-72 % and 65-70 °C before boiling (common practice, no source).
    """

    kind = "dilution tank"
    hazards = ("Hot molasses and water scald.",)
    handles = ("dry_substance", "temperature")
    measured = ("liquor refractometer brix", "liquor temperature")

    feeds, water = inlets(Massecuite), inlet(Water)
    liquor = outlet(Liquor)
    dry_substance = setting("%", 72.0, "true dry substance of the liquor", limits=(5.0, 85.0), prior=0.5)
    temperature = setting("°C", 68.0, "temperature of the liquor", limits=(20.0, 95.0), prior=1.0)
    volume = setting("m³", 20.0, "volume of the tanks", limits=(0.0, 1000.0))
    time_wanted = setting("min", 20.0, "time that grain in the molasses takes to dissolve", limits=(1.0, 240.0))

    def equations(self) -> Equations:
        """Everything dissolves; water gives the dry substance, heat the temperature."""
        liquor = self.liquor
        yield from conserve(*self.feeds, self.water, into=[liquor])
        yield "liquor has its dry substance", PERCENT * liquor.solids, self.dry_substance * liquor.solution
        yield "liquor has its temperature", liquor.temperature, self.temperature
        yield from conserve_energy(self)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time to thin and to dissolve."""
        density = sucrose_density(self.dry_substance, self.temperature)
        held = self.liquor.flow * KILOGRAMS * self.time_wanted / (MINUTES * density)
        yield "liquor of the time wanted within the tanks", held, self.volume

    def estimate(self) -> Mapping[str, float]:
        """Water for the dry substance."""
        total = _melted(self.feeds)
        wanted = _water_wanted(total, float(self.dry_substance))
        total["water"] += wanted
        guess = placed(self.liquor, {**total, "temperature": float(self.temperature)})
        return {**guess, **asked(self.water, wanted)}
