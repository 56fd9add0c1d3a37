"""Ion exchange: columns of anion resin take colour from filtered liquor; brine takes it from the resin."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.adsorption import column_passed, column_passing
from canewright.analysis.filtration import left_by_washing
from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.liquor_station import (
    STANDSTILL,
    TONNES,
    LiquorStation,
    draw_ratio,
    dry_substance_of,
    equally_warm,
    in_proportion,
    liquor_density,
)
from canewright.plant.station import Equations, Exchange, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Water
from canewright.properties.sucrose import water_density
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp, sqrt

GRAMS = constant(1e-3, "kg/g")
TRACE = 1e-8
"""An exposure too small to matter, added to both sides so that liquor without colour has a passing share."""
DISSOLVED = ("sucrose", "reducing_sugars", "ash", "other", "suspended")


class IonExchange(LiquorStation):
    """Columns of strong anion resin, chloride form, side by side at evenly staggered ages; brine takes the colour off.

    Colour out is the mean over a run of the Bohart-Adams breakthrough above a share that resin never takes; capacity
    falls with the cycles made, ``exp(-cycles / fouling cycles)``. Two resins in a row are two of these stations.
    At each change water sweetens the column off: the liquor left goes to sweet water but for what washing leaves,
    which goes to the effluent with brine, rinse and all the colour taken. The chloride form keeps the pH at 7-9, so
    inversion is not reckoned. Duty 16-20 h, liquor at 80-85 °C, regeneration with 10 % salt and 1-2 % caustic soda,
    sweet water to the melter (an anonymous process description, read); 2-4 bed volumes an hour, 50-70 % of the colour,
    150-200 kg salt for each cubic metre (from memory). Decides the flow of ``water``.
    """

    kind = "ion exchange"
    hazards = (
        "Caustic brine at 60-80 °C and acid rinses burn eyes and skin: goggles, gloves, a shower at hand.",
        "Brine effluent harms rivers and works: strength, colour and quantity by the discharge permit.",
        "Hot liquor under pressure; a column is a confined space: isolate, drain, enter only by permit.",
    )
    handles = ("longest_run", "salt_dose")
    measured = ("liquor colour", "decolourised colour", "decolourised ash", "liquor temperature", "run_length")

    liquor, water = inlet(Liquor), inlet(Water)
    decolourised, sweet_water, effluent = outlet(Liquor), outlet(Liquor), outlet(Liquor)

    columns = setting("1", 3.0, "columns on line side by side", limits=(1.0, 40.0))
    installed = setting("1", 5.0, "columns in all, those in regeneration too", limits=(1.0, 60.0))
    resin = setting("m³", 8.0, "resin in one column", limits=(0.0, 60.0))
    bed_volumes = setting("1", 50.0, "bed volumes of liquor between regenerations", limits=(2.0, 600.0), prior=2.0)
    longest_run = setting("h", 1000.0, "run at no flow to speak of", limits=(24.0, 2000.0))
    working_capacity = setting("IU·t/m³", 2.4e4, "colour held by fresh resin", limits=(0.0, 5e5), prior=3e3)
    rate_constant = setting("1/IU/h", 4e-4, "rate of exchange", limits=(0.0, 1e-2), prior=1e-4)
    untakable = setting("%", 25.0, "colour that resin never takes", limits=(0.0, 80.0), prior=5.0)
    cycles_made = setting("1", 100.0, "regenerations that the resin has seen", limits=(0.0, 3000.0), prior=5.0)
    fouling_cycles = setting("1", 900.0, "cycles that leave 37 % of its capacity", limits=(50.0, 1e5), prior=200.0)
    ash_gain = setting("mg/kg", 100.0, "chloride given for colour, on solids", limits=(0.0, 5000.0), prior=50.0)
    liquor_left = setting("1", 0.45, "bed volumes of liquor left at a change", limits=(0.01, 2.0), prior=0.05)
    sweetening_off = setting("1", 1.2, "bed volumes of water that sweeten off", limits=(0.0, 6.0), prior=0.2)
    displacement = setting("1", 0.8, "share displaced by as much water as liquor left", limits=(0.0, 0.99), prior=0.1)
    salt_dose = setting("kg/m³", 175.0, "salt on resin at a regeneration", limits=(0.0, 400.0), prior=10.0)
    caustic_dose = setting("kg/m³", 20.0, "caustic soda on resin at a regeneration", limits=(0.0, 100.0), prior=3.0)
    brine_strength = setting("%", 10.0, "salt in the brine", limits=(2.0, 26.0), prior=0.5)
    rinse = setting("1", 3.0, "bed volumes of rinse to effluent", limits=(0.0, 12.0), prior=0.5)
    regeneration_time = setting("h", 6.0, "off line for one regeneration", limits=(0.5, 24.0))
    most_bed_volumes = setting("1/h", 5.0, "bed volumes an hour that the resin bears", limits=(0.5, 20.0))
    highest_temperature = setting("°C", 86.0, "temperature that the resin bears", limits=(40.0, 100.0))

    dry_substance = result("%", 65.0, "dry substance of the liquor", limits=(0.0, 100.0))
    colour_in = result("IU", 500.0, "colour of the liquor", limits=(0.0, 1e6))
    loading_rate = result("1/h", 3.0, "bed volumes an hour", limits=(0.0, 1e4))
    run_length = result("h", 17.0, "run between regenerations", limits=(0.0, 2000.0))
    regenerations = result("1/h", 0.2, "regenerations an hour", limits=(0.0, 1e4))
    transfer_units = result("1", 4.0, "transfer units of one column", limits=(0.0, 1e12))
    exposure = result("1", 3.0, "rate times colour brought in a run", limits=(0.0, 600.0))
    colour_passed = result("1", 0.1, "colour passed of what resin takes, mean of a run", limits=(-1e-3, 1.001))
    passes_at_end = result("1", 0.3, "colour passed of what resin takes, at the end", limits=(0.0, 1.0))
    colour_removal = result("%", 65.0, "colour removed on colour in", limits=(-0.1, 100.0))
    left_share = result("1", 0.01, "liquor left at changes on liquor", limits=(0.0, 1.0))
    salt = result("kg/h", 250.0, "salt, as NaCl", limits=(0.0, 1e6))
    caustic = result("kg/h", 30.0, "caustic soda, as NaOH", limits=(0.0, 1e6))

    def equations(self) -> Equations:
        """Balances, colour by breakthrough, and what each regeneration takes."""
        outlets = [self.decolourised, self.sweet_water, self.effluent]
        yield from conserve(self.liquor, self.water, into=outlets, exchanges=self.exchanges())
        yield from dry_substance_of(self.dry_substance, self.liquor)
        yield from self._run()
        yield from self._colour()
        yield from self._change()
        yield from conserve_energy(self)
        yield from equally_warm(*outlets)

    def _run(self) -> Equations:
        volume = self.liquor.flow / liquor_density(self.dry_substance, self.liquor)
        on_line, whole = self.resin * self.columns, self.bed_volumes * self.resin
        yield "liquor passes the resin on line", self.loading_rate * on_line, volume
        yield "a column is regenerated after its bed volumes", self.regenerations * whole, volume
        slowest = self.bed_volumes / self.longest_run
        pace = sqrt(self.loading_rate * self.loading_rate + slowest * slowest)
        yield "run is bed volumes on pace", self.run_length * pace, self.bed_volumes

    def _colour(self) -> Equations:
        liquor, rate = self.liquor, self.rate_constant
        yield "colour is on solids", self.colour_in * (liquor.solids + STANDSTILL), amount(liquor, "colour")
        capacity = self.working_capacity * exp(-(self.cycles_made / self.fouling_cycles))
        held = rate * capacity * self.resin * self.columns
        yield "transfer units are capacity by flow", self.transfer_units * (liquor.solids + STANDSTILL), held
        takable = 1.0 - self.untakable / PERCENT
        yield "exposure is colour over the run", self.exposure, rate * takable * self.colour_in * self.run_length
        through = column_passed(self.transfer_units, self.exposure)
        yield "colour passed is the mean of a run", self.colour_passed * (self.exposure + TRACE), through + TRACE
        yield "colour passed at the end", self.passes_at_end, column_passing(self.transfer_units, self.exposure)
        yield "colour removed is taken and held", self.colour_removal, PERCENT * takable * (1.0 - self.colour_passed)

    def _change(self) -> Equations:
        liquor, sweet, effluent, water = self.liquor, self.sweet_water, self.effluent, self.water
        changed = self.resin * self.regenerations
        left = self.liquor_left * changed * liquor_density(self.dry_substance, liquor)
        yield from draw_ratio("liquor left in the columns is drawn off", self.left_share, left, liquor.flow)
        yield "salt is its dose on resin", self.salt, self.salt_dose * changed
        yield "caustic soda is its dose on resin", self.caustic, self.caustic_dose * changed
        bed = TONNES * water_density(water.temperature) * changed
        brine = (PERCENT - self.brine_strength) / self.brine_strength * (TONNES * self.salt) + self.rinse * bed
        yield "water sweetens off, makes brine and rinses", water.water, self.sweetening_off * bed + brine
        yield "brine and rinse go to the effluent", effluent.water, brine
        tail = left_by_washing(self.sweetening_off / self.liquor_left, self.displacement)
        lost, kept = self.left_share * tail, self.left_share * (1.0 - tail)
        for name in DISSOLVED:
            added = self._chemicals() - self._given() if name == "ash" else constant(0.0, "t/h")
            yield (
                f"{name.replace('_', ' ')} left after washing is lost",
                getattr(effluent, name),
                (lost * getattr(liquor, name) + added),
            )
        yield from in_proportion(sweet, kept, liquor, DISSOLVED)
        yield (
            "sweet water is liquor left and its water",
            sweet.water,
            (self.left_share * liquor.water + self.sweetening_off * bed),
        )
        taken = self.colour_removal / PERCENT * amount(liquor, "colour")
        passed = amount(liquor, "colour") - taken
        yield "effluent carries the colour taken off the resin", effluent.colour, taken + lost * passed
        yield "sweet water has the colour of treated liquor", sweet.colour, kept * passed

    def _chemicals(self) -> Num:
        """Salt and caustic soda, t/h."""
        return TONNES * (self.salt + self.caustic)

    def _given(self) -> Num:
        """Chloride that the liquor takes up for its colour, t/h."""
        return TONNES * (GRAMS * self.ash_gain * self.liquor.solids)

    def exchanges(self) -> Iterable[Exchange]:
        """Salt and caustic soda of the brine, and warmth lost."""
        yield Exchange("salt and caustic soda of the brine", "ash", self._chemicals())
        yield self._lost(self.decolourised.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Columns on line and off, flow through the resin, and the temperature it bears."""
        off = self.regenerations * self.regeneration_time
        yield "columns on line and in regeneration within those installed", self.columns + off, self.installed
        yield "bed volumes an hour within what the resin bears", self.loading_rate, self.most_bed_volumes
        yield "liquor no hotter than the resin bears", self.liquor.temperature, self.highest_temperature

    def estimate(self) -> Mapping[str, float]:
        """Two thirds of the colour to the effluent, at the bed volumes of a density of 1.28 t/m³."""
        liquor, flow = self.liquor, float(self.liquor.flow)
        guess = spread([liquor], {self.decolourised: 0.992, self.sweet_water: 0.0079, self.effluent: 0.0001})
        colour, solids = float(liquor.total_colour), float(liquor.solids)
        pace = flow / 1.28 / float(self.resin * self.columns)
        regenerations = flow / 1.28 / float(self.bed_volumes * self.resin)
        changed = regenerations * float(self.resin)
        salt, off = changed * float(self.salt_dose), float(self.sweetening_off) * changed
        brine = 9e-3 * salt + float(self.rinse) * changed
        run = min(float(self.bed_volumes) / (pace + 1e-3), float(self.longest_run))
        guess |= {f"{self.effluent.prefix}.colour": 0.65 * colour, f"{self.effluent.prefix}.water": brine}
        guess |= {f"{self.decolourised.prefix}.colour": 0.35 * colour}
        guess[f"{self.sweet_water.prefix}.water"] += off
        guess[f"{self.effluent.prefix}.ash"] += 1e-3 * (salt + changed * float(self.caustic_dose))
        colour_in = colour / (solids + 1e-4)
        held = float(self.rate_constant * self.working_capacity * self.resin * self.columns)
        exposure = min(float(self.rate_constant) * 0.75 * colour_in * run, 500.0)
        results = {
            "dry_substance": 65.0, "colour_in": colour_in, "loading_rate": pace, "run_length": run,
            "regenerations": regenerations, "transfer_units": held / (solids + 1e-4), "exposure": exposure,
            "colour_passed": 0.1, "passes_at_end": 0.3, "colour_removal": 65.0, "left_share": 0.008,
            "salt": salt, "caustic": changed * float(self.caustic_dose),
        }  # fmt: skip
        return {
            **guess,
            **self.own(results),
            f"{self.water.prefix}.water": off + brine,
        }
