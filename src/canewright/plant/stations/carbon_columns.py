"""Carbon columns: granular carbon takes colour from filtered liquor until colour breaks through."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.adsorption import column_passed, column_passing, equilibrium_colour
from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.liquor_station import (
    KILOGRAMS,
    STANDSTILL,
    TONNES,
    LiquorStation,
    draw_ratio,
    dry_substance_of,
    equally_warm,
    in_proportion,
    liquor_density,
)
from canewright.plant.reactions import inversion
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Water
from canewright.properties.kinetics import inversion_rate
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp

HOURS = constant(24.0, "h/d")
STANDSTILL_VOLUME = constant(1e-4, "m³/h")
TRACE = 1e-12
"""An exposure too small to matter, added to both sides so that liquor without colour has a passing share."""


class CarbonColumns(LiquorStation):
    """Granular carbon columns at evenly staggered ages, in parallel streams of one to three columns in series.

    Every ``days_between_changes`` one column is taken off for regeneration. A fresh column starts last in its stream
    and moves one place towards the feed for each column of that stream that goes. Colour out is the mean over all
    ages of the Bohart-Adams breakthrough (exact for any colour history, so also for columns in series), on top of a
    floor: a share that carbon never takes, and the colour in Freundlich equilibrium, ``q = k C^(1/n)``, with what
    regeneration leaves on the carbon. Working capacity and rate are to be fitted from colour in and out by age.

    About 65 % solids, 78-82 °C, 3-4 h on liquor, 0.5-1 % carbon on solids (common practice, no source). Three
    streams of two columns, one off every 3 days, last 18 days each, about 90 % removed: public page on refinery
    decolourisation (read). Inversion by Vukov at the pH in the bed. Decides the flow of ``water``.
    """

    kind = "carbon columns"
    hazards = (
        "Wet carbon takes oxygen out of the air in a vessel: people have died. Entry only by permit, tested air.",
        "Fresh carbon lowers the pH by 0.3-1.0: below 6.8 hot sucrose inverts; dose magnesium oxide.",
        "Furnace at 900-950 °C, hot carbon and carbon dust: licensed operation under local codes.",
    )
    handles = ("days_between_changes", "streams")
    measured = (
        "liquor colour",
        "decolourised colour",
        "decolourised temperature",
        "ph",
        "sweet_water refractometer brix",
    )

    liquor, water = inlet(Liquor), inlet(Water)
    decolourised, sweet_water = outlet(Liquor), outlet(Liquor)
    in_series = choice("1", "2", "3", says="columns that the liquor passes one after another")

    streams = setting("1", 6.0, "streams in parallel", limits=(1.0, 40.0))
    carbon = setting("t", 24.0, "carbon in one column, dry", limits=(0.0, 200.0))
    days_between_changes = setting("d", 2.4, "days from one column change to the next", limits=(0.1, 60.0))
    working_capacity = setting("IU", 1.0e5, "colour on solids held by its mass of carbon", limits=(0.0, 1e6), prior=1e4)
    rate_constant = setting("1/IU/h", 1.2e-5, "rate of adsorption", limits=(0.0, 2e-4), prior=2e-6)
    untakable = setting("%", 4.0, "colour that carbon never takes", limits=(0.0, 60.0), prior=1.0)
    isotherm_capacity = setting("IU", 400.0, "Freundlich: held at a colour of 1 IU", limits=(10.0, 1e5), prior=40.0)
    isotherm_exponent = setting("1", 1.6, "Freundlich: n in q = k C^(1/n)", limits=(1.0, 5.0), prior=0.1)
    left_by_regeneration = setting("IU", 1500.0, "colour held by regenerated carbon", limits=(1.0, 1e5), prior=300.0)
    bulk_density = setting("kg/m³", 480.0, "bulk density of the carbon, dry", limits=(200.0, 900.0), prior=15.0)
    liquor_volume = setting("1", 0.75, "liquor in its voids and pores on bed volume", limits=(0.2, 0.95))
    attrition = setting("%", 4.0, "carbon lost in one regeneration", limits=(0.0, 20.0), prior=1.0)
    liquor_off = setting("t", 15.0, "liquor that goes to sweet water at a change", limits=(0.0, 500.0), prior=3.0)
    sweetening_water = setting("t", 60.0, "water to sweet water at a change", limits=(0.0, 2000.0), prior=6.0)
    ph = setting("1", 7.0, "pH in the beds, at their temperature", limits=(5.5, 9.0), prior=0.1)
    contact_wanted = setting("h", 2.0, "contact time below which colour slips through", limits=(0.0, 12.0))
    furnace = setting("kg/h", 1500.0, "carbon that the furnace regenerates", limits=(0.0, 1e5))

    dry_substance = result("%", 65.0, "dry substance of the liquor", limits=(0.0, 100.0))
    purity = result("1", 0.99, "sucrose on solids of the liquor", limits=(0.0, 1.0))
    colour_in = result("IU", 500.0, "colour of the liquor", limits=(0.0, 1e6))
    floor = result("1", 0.06, "colour that fresh carbon leaves on colour in", limits=(0.0, 1.0))
    transfer_units = result("1", 4.0, "transfer units of one column", limits=(0.0, 1e12))
    after_first = result("1", 0.2, "exposure of adsorbable colour past the first place", limits=(0.0, 1e9))
    after_second = result("1", 0.2, "exposure past the second place", limits=(0.0, 1e9))
    after_third = result("1", 0.2, "exposure past the last place", limits=(0.0, 1e9))
    colour_passed = result("1", 0.1, "adsorbable colour that passes, mean over the ages", limits=(0.0, 1.0))
    oldest_passes = result("1", 0.2, "adsorbable colour that the oldest column passes", limits=(0.0, 1.0))
    colour_removal = result("%", 85.0, "colour removed on colour in", limits=(0.0, 100.0))
    contact_time = result("h", 4.0, "bed volume on liquor flow", limits=(0.0, 1e9))
    inverted = result("kg/h", 3.0, "sucrose inverted in the beds", limits=(0.0, 1e6))
    column_life = result("d", 15.0, "days from regeneration to regeneration", limits=(0.0, 1e5))
    burn_rate = result("kg/h", 400.0, "carbon regenerated", limits=(0.0, 1e6))
    carbon_make_up = result("kg/h", 16.0, "new carbon for attrition", limits=(0.0, 1e6))
    loading = result("IU", 5e4, "colour taken on its mass of carbon regenerated", limits=(0.0, 1e8))
    left_share = result("1", 0.003, "liquor to sweet water on liquor", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Balances, colour by breakthrough, and the column changes."""
        liquor = self.liquor
        yield from conserve(
            liquor, self.water, into=[self.decolourised, self.sweet_water], exchanges=self.exchanges()
        )  # fmt: skip
        yield from dry_substance_of(self.dry_substance, liquor)
        sucrose = amount(liquor, "sucrose")
        yield "purity is sucrose on solids", self.purity * (liquor.solids + STANDSTILL), sucrose + STANDSTILL
        yield from self._equilibrium()
        yield from self._places()
        yield from self._carbon_use()
        yield from self._changes()
        yield from conserve_energy(self)
        yield from equally_warm(self.decolourised, self.sweet_water)

    def _equilibrium(self) -> Equations:
        never = self.untakable / PERCENT
        held = equilibrium_colour(self.left_by_regeneration, self.isotherm_capacity, self.isotherm_exponent)
        colour = amount(self.liquor, "colour")
        yield "colour is on solids", self.colour_in * (self.liquor.solids + STANDSTILL), colour
        # C·Ce/(C + Ce): the equilibrium colour for dark liquor, and never more than the liquor brings
        yield (
            "floor is what is never taken and the equilibrium",
            (self.floor - never) * (self.colour_in + held),
            ((1.0 - never) * held),
        )
        removed = PERCENT * (1.0 - self.floor) * (1.0 - self.colour_passed)
        yield "colour removed is what is taken and held", self.colour_removal, removed

    def _places(self) -> Equations:
        """Exposure from place to place; each place is held for the time between changes in one stream."""
        capacity = self.rate_constant * self.working_capacity * self.carbon * self.streams
        yield "transfer units are capacity by flow", self.transfer_units * (self.liquor.solids + STANDSTILL), capacity
        time = HOURS * self.days_between_changes * self.streams
        fed = self.rate_constant * (1.0 - self.floor) * self.colour_in * time
        places = int(self.in_series)
        entering = [fed, self.after_first, self.after_second]
        for place, after in enumerate((self.after_first, self.after_second, self.after_third)):
            if place < places:
                before = sum(entering[place + 1 : places])
                out = column_passed(self.transfer_units, before + entering[place])
                out = out - column_passed(self.transfer_units, before)
                yield f"colour passes place {place + 1} by breakthrough", after, out
            else:
                yield f"place {place + 1} has no column", after, entering[place]
        yield (
            "colour passed is what leaves on what is fed",
            self.colour_passed * (fed + TRACE),
            self.after_third + TRACE,
        )
        yield (
            "the oldest column has had all exposures",
            self.oldest_passes,
            column_passing(self.transfer_units, sum(entering[:places])),
        )

    def _carbon_use(self) -> Equations:
        liquor = self.liquor
        columns = int(self.in_series) * self.streams
        volume = columns * self.carbon / (TONNES * self.bulk_density)
        flow = liquor.flow / liquor_density(self.dry_substance, liquor)
        yield "contact time is bed volume on liquor flow", self.contact_time * (flow + STANDSTILL_VOLUME), volume
        yield "a column lasts until its turn comes", self.column_life, columns * self.days_between_changes
        burnt = KILOGRAMS * self.carbon
        yield "one column is burnt at each change", self.burn_rate * (HOURS * self.days_between_changes), burnt
        yield "new carbon makes up attrition", PERCENT * self.carbon_make_up, self.attrition * self.burn_rate
        rate = inversion_rate(liquor.temperature, self.ph, self.dry_substance, PERCENT * self.purity)
        left = exp(-(rate * self.contact_time * self.liquor_volume))
        yield "sucrose inverts while it is in the beds", self.inverted, KILOGRAMS * ((1.0 - left) * liquor.sucrose)
        taken = KILOGRAMS * (self.colour_removal / PERCENT * amount(liquor, "colour"))
        yield "carbon carries the colour off", self.loading * self.burn_rate, taken

    def _changes(self) -> Equations:
        liquor, sweet = self.liquor, self.sweet_water
        time = HOURS * self.days_between_changes
        drawn = self.liquor_off / time
        yield from draw_ratio("liquor goes to sweet water at changes", self.left_share, drawn, liquor.flow)
        yield "water displaces it", self.water.water * time, self.sweetening_water
        yield from in_proportion(sweet, self.left_share, liquor, ("ash", "other", "suspended"))
        for name in ("water", "sucrose", "reducing_sugars", "colour"):
            added = self.water.water if name == "water" else 0.0
            whole = getattr(self.decolourised, name) + getattr(sweet, name) - added
            yield f"{name.replace('_', ' ')} goes in proportion", getattr(sweet, name), self.left_share * whole + added

    def exchanges(self) -> Iterable[Exchange]:
        """Colour taken by carbon, sucrose inverted in the beds, and warmth lost."""
        liquor = self.liquor
        taken = self.colour_removal / PERCENT * amount(liquor, "colour")
        yield Exchange("colour taken by carbon", "colour", -taken)
        yield from inversion(TONNES * self.inverted)
        yield self._lost(self.decolourised.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Contact time and furnace."""
        yield "contact time wanted within what the beds give", self.contact_wanted, self.contact_time
        yield "carbon within what the furnace regenerates", self.burn_rate, self.furnace

    def estimate(self) -> Mapping[str, float]:
        """Colour removal by the laws themselves for the liquor that comes."""
        liquor, flow = self.liquor, float(self.liquor.flow)
        solids, colour = float(liquor.solids), float(amount(liquor, "colour"))
        time = 24.0 * float(self.days_between_changes)
        water = float(self.sweetening_water) / time
        guess = spread([liquor], {self.decolourised: 0.997, self.sweet_water: 0.003})
        guess[f"{self.sweet_water.prefix}.water"] += water
        guess[f"{self.decolourised.prefix}.colour"] *= 0.15
        columns = int(self.in_series) * float(self.streams)
        units = float(self.rate_constant * self.working_capacity * self.carbon * self.streams) / (solids + 1e-4)
        colour_in = colour / (solids + 1e-4)
        fed = float(self.rate_constant) * 0.9 * colour_in * time * float(self.streams)
        out = min(fed, float(column_passed(units, min(fed, 600.0))))
        results = {
            "inverted": 3.0, "dry_substance": 65.0, "purity": 0.99, "colour_in": colour_in, "floor": 0.1,
            "transfer_units": units,
            "after_first": out, "after_second": 0.5 * out, "after_third": 0.25 * out, "colour_passed": 0.05,
            "oldest_passes": 0.2, "colour_removal": 85.0, "column_life": columns * time / 24.0, "left_share": 0.003,
            "contact_time": 2.7 * columns * float(self.carbon) / (flow + 1e-4),
            "burn_rate": 1000.0 * float(self.carbon) / time, "carbon_make_up": 10.0, "loading": 5e4,
        }  # fmt: skip
        return {**guess, **self.own(results), f"{self.water.prefix}.water": water}
