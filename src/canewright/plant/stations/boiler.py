"""Boiler: burns bagasse, and other fuel beside it, and raises steam; its losses make its efficiency."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from canewright.plant.balance import CONSERVED
from canewright.plant.either import either
from canewright.plant.station import Equations, Exchange, choice, inlet, result, setting
from canewright.plant.steam_raising import Burnt, SteamRaising
from canewright.plant.streams import PERCENT, Juice
from canewright.properties.bagasse import gross_calorific_value
from canewright.quantity import Num, constant

DRY_FUEL = constant(gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg")
FOR_WATER = constant(gross_calorific_value(1.0, 0.0, 0.0) - gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg/%")
FOR_ASH = constant(gross_calorific_value(0.0, 1.0, 0.0) - gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg/%")
FOR_BRIX = constant(gross_calorific_value(0.0, 0.0, 1.0) - gross_calorific_value(0.0, 0.0, 0.0), "kJ/kg/%")
"""The calorific value is linear in moisture, ash and brix, so a flow of fuel brings a sum over its parts."""
NO_FUEL = constant(1e-7, "t/h")
LEAK = 1e-6
"""Auxiliary fuel times bagasse to spare, on all fuel times the most bagasse: nothing leaks where one is nothing."""
AT_REST = constant(1e-20, "t²/h²")


class Boiler(SteamRaising):
    """A bagasse boiler, which may burn oil, gas, coal or wood beside the bagasse.

    Auxiliary fuel comes when bagasse cannot give the steam (beyond ``most_bagasse``) or brings a set share of the
    heat. Unburnt bagasse 1.5-4 %, excess air 25-60 %, the flame fails above 52-54 % of moisture (common practice, no
    source).
    """

    kind = "boiler"
    hazards = (
        (
            "Fire and steam under pressure: low water, furnace explosion, burns. Design, protection, operation and "
            "inspection are for licensed persons under local boiler codes; nothing here replaces a trip or interlock."
        ),
        "Auxiliary burners: purge, flame supervision and fuel shut-off are for licensed persons.",
        "Sugar in feedwater foams and corrodes: divert at the first sign under the site's procedure.",
        "Boiler chemicals and blowdown scald and burn.",
    )
    handles = ("excess_air", "blowdown_on_steam", "auxiliary_share")
    measured = (
        "steam mass flow",
        "steam pressure",
        "steam temperature",
        "feedwater temperature",
        "fuel moisture",
        "stack_temperature",
        "gas_oxygen",
    )

    fuel = inlet(Juice)
    firing = choice("bagasse first", "set share", says="how auxiliary fuel, where there is any, comes to the bagasse")
    most_bagasse = setting("t/h", 400.0, "bagasse first: most that there is or that the grate burns", limits=(0.0, 1e3))
    auxiliary_share = setting("%", 5.0, "set share: heat of auxiliary fuel on all heat fired", limits=(0.0, 99.0))
    carbon = setting("%", 48.0, "carbon in dry, ash-free bagasse", limits=(42.0, 54.0))
    hydrogen = setting("%", 6.5, "hydrogen in dry, ash-free bagasse", limits=(5.0, 7.5))
    oxygen = setting("%", 45.5, "oxygen in dry, ash-free bagasse", limits=(38.0, 50.0))
    wettest_fuel = setting("%", 54.0, "moisture above which the flame fails", limits=(40.0, 60.0))
    unburnt = setting("%", 2.0, "unburnt bagasse, on its calorific value", limits=(0.0, 10.0), prior=0.5)
    fuel_moisture = result("%", 50.0, "moisture of the bagasse", limits=(0.0, 65.0))

    def equations(self) -> Equations:
        """Steam from the heat of bagasse and auxiliary fuel; the moisture of the bagasse."""
        yield from super().equations()
        yield (
            "moisture is water on fuel",
            self.fuel_moisture * (self.fuel.flow + NO_FUEL + NO_FUEL),
            PERCENT * (self.fuel.water + NO_FUEL),
        )
        if self.auxiliary:
            yield from self._fired_beside()

    def _fired_beside(self) -> Equations:
        helped = sum(fuel.combustion_heat for fuel in self.auxiliary)
        if self.firing == "set share":
            yield "auxiliary fuel brings its share of heat", PERCENT * helped, self.auxiliary_share * self._fired()
        else:
            spare, burnt = self.most_bagasse - self.fuel.flow, sum(fuel.flow for fuel in self.auxiliary)
            leak = 4.0 * LEAK * (self.fuel.flow + burnt) * self.most_bagasse
            yield from either("there is bagasse to spare or auxiliary fuel burns", spare, burnt, leak + AT_REST)

    def burnt(self) -> Iterator[Burnt]:
        """Bagasse, then auxiliary fuel."""
        fuel, insoluble = self.fuel, self.fuel.ash + self.fuel.suspended
        combustible = fuel.flow - fuel.water - insoluble
        carbon, hydrogen, oxygen = (x / PERCENT * combustible for x in (self.carbon, self.hydrogen, self.oxygen))
        parts = FOR_WATER * fuel.water + FOR_ASH * insoluble + FOR_BRIX * fuel.solids
        heat = DRY_FUEL * fuel.flow + PERCENT * parts
        yield Burnt(carbon, hydrogen, oxygen, combustible, fuel.water, heat, self.unburnt)
        yield from super().burnt()

    def exchanges(self) -> Iterable[Exchange]:
        """All of the bagasse is burnt or leaves as gas and ash; the heat of all fuel, and each loss."""
        for name in CONSERVED[:-2]:
            yield Exchange("burnt, or left as gas and ash", name, -self.fuel.component(name))
        yield Exchange("colour burnt", "colour", -self.fuel.colour)
        yield from super().exchanges()
        yield Exchange("warmth of the fuel, counted for nothing", "energy", -self.fuel.enthalpy_flow)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Maximum continuous rating; bagasse within what there is or the grate burns, t/h; dry enough to burn, %."""
        yield from super().capacities()
        yield "bagasse within what there is or the grate burns", self.fuel.flow, self.most_bagasse
        yield "bagasse dry enough to burn", self.fuel_moisture, self.wettest_fuel

    def estimate(self) -> Mapping[str, float]:
        """Two tonnes of steam from a tonne of bagasse, and what bagasse cannot give from auxiliary fuel."""
        steam, fuel = float(self.steam.water), self.fuel
        wanted = steam / 2.2
        bagasse = self._bagasse(wanted)
        burnt = {"water": 0.5, "fibre": 0.47, "sucrose": 0.015, "suspended": 0.012, "ash": 0.001, "other": 0.002}
        if float(fuel.flow) > 0:
            burnt = {n: float(getattr(fuel, n)) / float(fuel.flow) for n in fuel.holds if n != "temperature"}
        guess = {f"{fuel.prefix}.{name}": part * bagasse for name, part in burnt.items()}
        guess |= self._guessed(66.0) | {f"{self.name}.fuel_moisture": 50.0}
        return guess | self._guessed_auxiliary(8000.0 * (wanted - bagasse) + 1.0)

    def _bagasse(self, wanted: float) -> float:
        """What of the bagasse wanted is burnt, t/h."""
        if not self.auxiliary:
            return wanted
        if self.firing == "set share":
            return wanted * (1.0 - float(self.auxiliary_share) / 100.0)
        return min(wanted, float(self.most_bagasse))
