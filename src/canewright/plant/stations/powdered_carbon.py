"""Powdered carbon: carbon is stirred into liquor, takes colour to equilibrium, and leaves with it for a filter."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.adsorption import equilibrium_colour
from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.liquor_station import KILOGRAMS, STANDSTILL, TONNES, LiquorStation, liquor_density
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor
from canewright.quantity import Num, constant

MINUTES = constant(60.0, "min/h")
NOTHING = constant(0.0, "IU")


class PowderedCarbon(LiquorStation):
    """Carbon and liquor stirred to Freundlich equilibrium ``q = k C^(1/n)``, colour on solids, in one or two stages.

    Cross-current, each stage gets fresh carbon; counter-current, fresh carbon meets the liquor of the first stage and
    goes from there to the raw liquor. For the same colour counter-current takes least carbon. Dose 0.1-1 % on solids,
    80-85 °C, 20-30 min, then a pressure filter (common practice, no source).
    """

    kind = "powdered carbon"
    hazards = (
        "Carbon dust explodes; wet carbon takes oxygen out of the air of a vessel: masks, earthing, entry by permit.",
        "Hot liquor at 80-85 °C scalds.",
    )
    handles = ("dose",)
    measured = ("liquor colour", "treated colour", "carbon")

    liquor, treated = inlet(Liquor), outlet(Liquor)
    contacting = choice("one stage", "cross-current", "counter-current", says="how carbon and liquor meet")

    dose = setting("%", 0.5, "carbon on solids", limits=(0.0, 20.0), prior=0.03)
    first_share = setting("%", 50.0, "carbon to the first stage, where two get fresh carbon", limits=(1.0, 99.0))
    isotherm_capacity = setting("IU", 4000.0, "Freundlich: held at a colour of 1 IU", limits=(10.0, 1e5), prior=400.0)
    isotherm_exponent = setting("1", 1.6, "Freundlich: n in q = k C^(1/n)", limits=(1.0, 5.0), prior=0.1)
    volume = setting("m³", 40.0, "liquor in the contact tanks", limits=(0.1, 1000.0))
    time_wanted = setting("min", 25.0, "time that the liquor should stay", limits=(1.0, 180.0))

    carbon = result("kg/h", 250.0, "carbon", limits=(0.0, 1e6))
    colour_in = result("IU", 500.0, "colour of the liquor", limits=(0.0, 1e6))
    colour_between = result("IU", 300.0, "colour after the first stage", limits=(-1e-3, 1e6))
    colour_out = result("IU", 200.0, "colour of the treated liquor", limits=(-1e-3, 1e6))
    held_first = result("IU", 5e4, "colour held by the carbon of the first stage", limits=(-1e-3, 1e6))
    held_second = result("IU", 5e4, "colour held by the carbon of the second stage", limits=(-1e-3, 1e6))

    def equations(self) -> Equations:
        """Balances, and equilibrium of each stage."""
        liquor, treated = self.liquor, self.treated
        yield from conserve(liquor, into=[treated], exchanges=self.exchanges())
        yield "carbon is its dose on solids", PERCENT * self.carbon, self.dose * (KILOGRAMS * liquor.solids)
        yield "colour is on solids", self.colour_in * (liquor.solids + STANDSTILL), amount(liquor, "colour")
        between = equilibrium_colour(self.held_first, self.isotherm_capacity, self.isotherm_exponent)
        yield "first stage comes to equilibrium", self.colour_between, between
        yield from self._stages()
        yield from conserve_energy(self)

    def _stages(self) -> Equations:
        """Colour balances on carbon for each solids, and the second stage."""
        dose, before, between, out = self.dose / PERCENT, self.colour_in, self.colour_between, self.colour_out
        share = self.first_share / PERCENT
        after = equilibrium_colour(self.held_second, self.isotherm_capacity, self.isotherm_exponent)
        if self.contacting == "one stage":
            yield "carbon holds what the liquor lost", before, between + dose * self.held_first
            yield "there is no second stage", out, between
            yield "no carbon is in it", self.held_second, NOTHING
        elif self.contacting == "cross-current":
            yield "carbon holds what the liquor lost", before, between + share * dose * self.held_first
            yield "second stage comes to equilibrium", out, after
            yield "its fresh carbon holds the rest", between, out + (1.0 - share) * dose * self.held_second
        else:
            yield "carbon holds what both stages lost", before, out + dose * self.held_first
            yield "second stage comes to equilibrium", out, after
            yield "its fresh carbon holds what it lost", between, out + dose * self.held_second

    def exchanges(self) -> Iterable[Exchange]:
        """Carbon added, colour taken by it, and warmth lost."""
        yield Exchange("carbon added", "suspended", TONNES * self.carbon)
        solids = self.liquor.solids + STANDSTILL
        yield Exchange("colour taken by carbon", "colour", (self.colour_out - self.colour_in) * solids)
        yield self._lost(self.treated.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time in the contact tanks."""
        liquor = self.liquor
        dry_substance = PERCENT * liquor.solids / (liquor.solution + STANDSTILL)
        held = liquor.flow / liquor_density(dry_substance, liquor) * self.time_wanted / MINUTES
        yield "liquor of the time wanted within the tanks", held, self.volume

    def estimate(self) -> Mapping[str, float]:
        """Half the colour gone in each stage."""
        liquor = self.liquor
        solids, colour = float(liquor.solids), float(amount(liquor, "colour"))
        carbon, before = 10.0 * float(self.dose) * solids, colour / (solids + 1e-4)
        k, power = float(self.isotherm_capacity), 1.0 / float(self.isotherm_exponent)
        guess = spread([liquor], {self.treated: 1.0})
        guess[f"{self.treated.prefix}.suspended"] += 1e-3 * carbon
        guess[f"{self.treated.prefix}.colour"] *= 0.5
        results = {
            "carbon": carbon, "colour_in": before, "colour_between": 0.5 * before, "colour_out": 0.5 * before,
            "held_first": k * (0.5 * before) ** power, "held_second": k * (0.3 * before) ** power,
        }  # fmt: skip
        return {**guess, **{f"{self.name}.{name}": value for name, value in results.items()}}
