"""Carbonatation: lime, and carbon dioxide in two saturators, make chalk that takes colour out of refinery liquor."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.dosing import carbon_dioxide_needed, carbonate_precipitate, gas_for_carbon_dioxide
from canewright.plant.asking import asked
from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.liquor_station import KILOGRAMS, STANDSTILL, TONNES, LiquorStation, liquor_density
from canewright.plant.station import Equations, Exchange, inlet, outlet, result, setting, spread
from canewright.plant.streams import ATMOSPHERE, PERCENT, Air, Liquor, Water
from canewright.properties.air import humidity_at
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

CARBON_DIOXIDE, REST, VOLUME = constant(44.009, "kg/mol"), constant(28.965, "kg/mol"), constant(22.414, "m³/mol")
"""Molar masses of carbon dioxide and of the rest of the gas (as dry air), and molar volume, each for 1,000 mol."""
REACTION = constant(2590.0, "kJ/kg")
"""Heat on carbon dioxide of Ca(OH)2 + CO2 = CaCO3 + H2O: 114 kJ/mol from standard enthalpies (from memory)."""
MEGAJOULES = constant(1e-3, "MJ/kJ")
SATURATED = constant(100.0, "%")
MINUTES = constant(60.0, "min/h")


class Carbonatation(LiquorStation):
    """Milk of lime and gas: a first saturator takes most of the lime down to pH 9.5, a second the rest to 8.2-8.6.

    Colour removed is ``greatest (1 - exp(-lime/characteristic lime))``, own form with two numbers to fit; 40-60 % at
    0.4-0.8 % CaO on solids (from memory). Chalk and gas follow from molar masses; each saturator absorbs its share of
    the carbon dioxide blown in (40-80 %, from memory) and its gas leaves saturated at the liquor's temperature, which
    cools the liquor. Lime left uncarbonated stays dissolved; alkali destroys a share of the reducing sugars, which
    become other non-sucrose. Gas is cleaned boiler flue gas (public page on refinery carbonatation, read). 80-85 °C,
    30-60 min. Chalk leaves with the liquor for a pressure filter. Decides the flows of ``water`` and ``gas``.
    """

    kind = "carbonatation"
    hazards = (
        "Carbon dioxide and monoxide suffocate without warning: gas alarms, ventilation, entry only by permit.",
        "Quicklime and milk of lime burn eyes and skin and boil when slaked: goggles, gloves, a shower at hand.",
        "Foam over the top of a saturator scalds; above pH 10 reducing sugars are destroyed and colour forms.",
    )
    handles = ("lime_dose", "first_share")
    measured = ("lime", "liquor colour", "carbonated colour", "carbonated temperature", "gas temperature")

    liquor, water, gas = inlet(Liquor), inlet(Water), inlet(Air)
    carbonated, gas_out = outlet(Liquor), outlet(Air)

    lime_dose = setting("%", 0.6, "CaO on solids", limits=(0.0, 4.0), prior=0.03)
    milk_strength = setting("%", 12.0, "CaO in the milk of lime, by mass", limits=(2.0, 28.0), prior=0.5)
    lime_left = setting("%", 1.0, "lime that stays dissolved: the final alkalinity", limits=(0.0, 20.0), prior=0.3)
    first_share = setting("%", 90.0, "of the lime carbonated, in the first saturator", limits=(10.0, 100.0), prior=3.0)
    strength = setting("% v/v", 10.0, "carbon dioxide in the dry gas", limits=(3.0, 45.0), prior=0.5)
    first_absorbs = setting("%", 65.0, "carbon dioxide that the first absorbs", limits=(10.0, 100.0), prior=5.0)
    second_absorbs = setting("%", 45.0, "carbon dioxide that the second absorbs", limits=(10.0, 100.0), prior=5.0)
    greatest_removal = setting("%", 60.0, "colour that chalk can remove", limits=(0.0, 90.0), prior=5.0)
    characteristic_lime = setting("%", 0.35, "CaO on solids for 63 % of that", limits=(0.02, 4.0), prior=0.08)
    sugars_destroyed = setting("%", 3.0, "reducing sugars that alkali destroys", limits=(0.0, 60.0), prior=1.0)
    volume = setting("m³", 60.0, "liquor in the saturators", limits=(0.1, 1000.0))
    time_wanted = setting("min", 40.0, "time that the liquor should stay", limits=(1.0, 180.0))

    lime = result("kg/h", 300.0, "lime, as CaO", limits=(0.0, 1e5))
    chalk = result("kg/h", 600.0, "chalk formed, dry", limits=(0.0, 1e5))
    absorbed = result("kg/h", 260.0, "carbon dioxide bound in the chalk", limits=(0.0, 1e5))
    first_gas = result("m³/h", 1800.0, "dry gas to the first, at 0 °C and 101.325 kPa", limits=(0.0, 1e7))
    second_gas = result("m³/h", 300.0, "dry gas to the second, at 0 °C and 101.325 kPa", limits=(0.0, 1e7))
    colour_removal = result("%", 50.0, "colour removed on colour of the liquor", limits=(0.0, 100.0))

    def equations(self) -> Equations:
        """Lime and gas by stoichiometry, chalk and colour, and gas that leaves saturated with water."""
        liquor, out, off = self.liquor, self.carbonated, self.gas_out
        yield from conserve(liquor, self.water, self.gas, into=[out, off], exchanges=self.exchanges())
        yield "lime is its dose on solids", PERCENT * self.lime, self.lime_dose * (KILOGRAMS * liquor.solids)
        slurry = (PERCENT - self.milk_strength) * (TONNES * self.lime)
        yield "milk of lime has its strength", self.milk_strength * self.water.water, slurry
        bound = self._carbonated()
        yield "chalk holds the lime and its carbon dioxide", self.chalk, carbonate_precipitate(bound)
        yield "carbon dioxide is bound by the lime", self.absorbed, carbon_dioxide_needed(bound, PERCENT)
        first = self.first_share / PERCENT * bound
        for sentence, gas, lime, absorbs in (
            ("first saturator gets gas for its lime", self.first_gas, first, self.first_absorbs),
            ("second saturator gets gas for the rest", self.second_gas, bound - first, self.second_absorbs),
        ):
            yield sentence, gas, gas_for_carbon_dioxide(carbon_dioxide_needed(lime, absorbs), self.strength)
        yield "gas is what both saturators get", self.gas.dry_air, self._gas_mass()
        yield "colour goes by the saturating law", self.colour_removal, self._removal()
        wet = humidity_at(out.temperature, SATURATED, ATMOSPHERE)
        yield "gas leaves saturated with water", off.water, wet * off.dry_air
        yield "gas leaves as warm as the liquor", off.temperature, out.temperature
        yield from conserve_energy(self)

    def _carbonated(self) -> Num:
        """Lime that becomes chalk, kg/h as CaO."""
        return (PERCENT - self.lime_left) / PERCENT * self.lime

    def _gas_mass(self) -> Num:
        """Dry gas, t/h."""
        share = self.strength / PERCENT
        return TONNES * ((self.first_gas + self.second_gas) * (share * CARBON_DIOXIDE + (1.0 - share) * REST) / VOLUME)

    def _removal(self) -> Num:
        return self.greatest_removal * (1.0 - exp(-(self.lime_dose / self.characteristic_lime)))

    def exchanges(self) -> Iterable[Exchange]:
        """Lime and carbon dioxide become chalk, colour goes with it; sugars destroyed; heat of reaction and lost."""
        yield Exchange("chalk formed", "suspended", TONNES * self.chalk)
        yield Exchange("carbon dioxide taken from the gas", "dry_air", -(TONNES * self.absorbed))
        yield Exchange("lime that stays dissolved", "ash", self.lime_left / PERCENT * (TONNES * self.lime))
        taken = self.colour_removal / PERCENT * amount(self.liquor, "colour")
        yield Exchange("colour taken by the chalk", "colour", -taken)
        destroyed = self.sugars_destroyed / PERCENT * self.liquor.reducing_sugars
        yield Exchange("reducing sugars destroyed by alkali", "reducing_sugars", -destroyed)
        yield Exchange("acids and coloured matter of them", "other", destroyed)
        yield Exchange("heat of carbonatation", "energy", MEGAJOULES * (REACTION * self.absorbed))
        yield self._lost(self.carbonated.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Time in the saturators."""
        liquor = self.liquor
        dry_substance = PERCENT * liquor.solids / (liquor.solution + STANDSTILL)
        held = liquor.flow / liquor_density(dry_substance, liquor) * self.time_wanted / MINUTES
        yield "liquor of the time wanted within the saturators", held, self.volume

    def estimate(self) -> Mapping[str, float]:
        """Doses as set; the gas takes half its mass of water along, and cools the liquor by a few kelvin."""
        liquor, out, off = self.liquor, self.carbonated.prefix, self.gas_out.prefix
        lime = 10.0 * float(self.lime_dose * liquor.solids)
        bound = lime * (1.0 - float(self.lime_left) / 100.0)
        removal, carbon_dioxide = float(self._removal()), 0.785 * bound
        blown = 50.93 * carbon_dioxide / float(self.strength)
        share = float(self.first_share) / 100.0
        first = 100.0 * share * blown / float(self.first_absorbs)
        second = 100.0 * (1.0 - share) * blown / float(self.second_absorbs)
        dry = 1.36e-3 * (first + second)
        warm = float(liquor.temperature) - 5.0
        guess = spread([liquor], {self.carbonated: 1.0}, warm)
        water = 1e-3 * lime * (100.0 - float(self.milk_strength)) / float(self.milk_strength)
        guess[f"{out}.water"] += water - 0.5 * dry
        guess[f"{out}.suspended"] += 1.785e-3 * bound
        guess[f"{out}.colour"] *= 1.0 - removal / 100.0
        guess |= {f"{off}.dry_air": dry - 1e-3 * carbon_dioxide, f"{off}.water": 0.5 * dry, f"{off}.temperature": warm}
        results = {"lime": lime, "chalk": 1.785 * bound, "absorbed": carbon_dioxide, "first_gas": first,
                   "second_gas": second, "colour_removal": removal}  # fmt: skip
        now = float(self.gas.dry_air)
        humid = float(self.gas.water) / now if now > 1e-9 else 0.01
        guess |= {f"{self.gas.prefix}.dry_air": dry, f"{self.gas.prefix}.water": humid * dry}
        return {**guess, **asked(self.water, water), **self.own(results)}
