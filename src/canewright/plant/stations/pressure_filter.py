"""Pressure filter: leaf filters or plate presses part chalk or filter aid from liquor, and wash the cake."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.analysis.filtration import cake_resistance, filtration_rate, filtration_time, left_by_washing
from canewright.plant.balance import amount, conserve, conserve_energy
from canewright.plant.liquor_station import (
    KILOGRAMS,
    TONNES,
    LiquorStation,
    dry_substance_of,
    equally_warm,
    held_share,
    in_proportion,
    liquor_density,
)
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Water
from canewright.properties.sucrose import viscosity, water_density
from canewright.quantity import Num, constant

METRES = constant(1e-3, "m/mm")
HOURS = constant(1.0 / 3600.0, "h/s")
GRAMS = constant(1e-3, "kg/g")
PURE_WATER = constant(0.0, "%")
STANDSTILL_VOLUME = constant(1e-4, "m³/h")
WASH_PATH = {"leaf filter": 1.0, "plate press": 4.0}
"""Time of washing on that at the last rate: in a press the wash passes two cakes through half the area."""
DISSOLVED = ("sucrose", "reducing_sugars", "ash", "other", "colour")


class PressureFilter(LiquorStation):
    """Batch filters in turn, each opened when its cake is full, or after the most filtrate that its cloth passes.

    At constant pressure ``t/V = (μ α c / 2 A² Δp) V + μ R / A Δp``, a straight line of t/V on V (Ruth 1935, from
    memory), with ``α = α₁ (Δp/100 kPa)ⁿ``. The cake is washed at the last rate; ``(1 - e)^w`` of what its liquid held
    dissolved stays, w wash on liquid. Carbonatation cake leaves at about 50 % moisture (public page on refinery
    carbonatation, read); 200-400 kPa, runs 3-8 h, cake 15-30 mm (common practice, no source). Decides the flow of
    ``wash``.
    """

    kind = "pressure filter"
    hazards = (
        "Hot liquor under pressure: vent, drain and lock before a filter is opened; cloth that bursts sprays liquor.",
        "Closing plates and sluicing arms crush: guards and two-hand controls.",
        "Dry filter aid is silica dust that harms lungs: dust masks where bags are emptied.",
    )
    handles = ("pressure", "filter_aid", "wash_ratio")
    measured = ("filtered suspended solids", "filtered colour", "sweet_water refractometer brix", "cycle")

    liquor, wash = inlet(Liquor), inlet(Water)
    filtered, sweet_water, cake = outlet(Liquor), outlet(Liquor), outlet(Liquor)
    make = choice(*WASH_PATH, says="the make of the filter, which decides how the wash passes the cake")

    filters = setting("1", 5.0, "filters", limits=(1.0, 60.0))
    area = setting("m²", 80.0, "filter area of one", limits=(0.01, 1000.0))
    pressure = setting("kPa", 300.0, "pressure drop over cake and cloth", limits=(20.0, 2000.0), prior=15.0)
    resistance = setting("m/kg", 6e10, "specific resistance of the cake at 100 kPa", limits=(1e8, 1e13), prior=1.5e10)
    compressibility = setting("1", 0.3, "rise of that with pressure: 0 rigid, near 1 soft", limits=(0.0, 1.0))
    cloth = setting("1/m", 5e10, "resistance of the cloth with its precoat", limits=(1e8, 1e13), prior=2e10)
    viscosity_factor = setting("1", 1.0, "viscosity on that of pure sucrose", limits=(0.5, 5.0), prior=0.1)
    filter_aid = setting("mg/kg", 0.0, "filter aid on solids of the liquor", limits=(0.0, 20000.0), prior=50.0)
    retention = setting("%", 99.8, "insolubles kept in the cake", limits=(50.0, 100.0), prior=0.2)
    thickness = setting("mm", 20.0, "cake on the cloth when a filter is opened", limits=(1.0, 100.0), prior=2.0)
    cake_density = setting("kg/m³", 700.0, "dry insolubles in a volume of cake", limits=(100.0, 2000.0), prior=50.0)
    most_filtrate = setting("m³/m²", 20.0, "filtrate that blinds a cloth without any cake", limits=(1.0, 200.0))
    cake_liquid = setting("%", 50.0, "liquid in the cake that is dropped", limits=(10.0, 90.0), prior=2.0)
    wash_ratio = setting("1", 1.5, "wash water on the liquid in the cake, t/t", limits=(0.0, 20.0), prior=0.1)
    wash_efficiency = setting("1", 0.75, "displaced by as much wash as liquid", limits=(0.0, 0.99), prior=0.05)
    off_time = setting("h", 0.75, "time to drain, drop the cake, close and fill", limits=(0.0, 6.0), prior=0.1)

    dry_substance = result("%", 65.0, "dry substance of the liquor", limits=(0.0, 100.0))
    aid = result("kg/h", 20.0, "filter aid", limits=(0.0, 1e5))
    solids_filtered = result("kg/m³", 9.0, "dry cake for each volume of filtrate", limits=(0.0, 500.0))
    filtrate_on_area = result("m³/m²", 1.5, "filtrate of one run", limits=(0.0, 200.0))
    filtration = result("h", 5.0, "filtration of one run", limits=(0.0, 1e6))
    last_rate = result("m/h", 0.15, "rate at the end of a run", limits=(0.0, 1e6))
    washing = result("h", 0.3, "washing of one cake", limits=(0.0, 1e6))
    cycle = result("h", 6.0, "filtration, washing and time off", limits=(0.0, 1e6))
    filters_needed = result("1", 4.0, "filters that the liquor asks for", limits=(0.0, 1e6))
    liquor_share = result("1", 0.01, "liquor that the cake holds before washing, on liquor", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Balances, insolubles kept, the run by the law of the cake, and the washing."""
        outlets = [self.filtered, self.sweet_water, self.cake]
        yield from conserve(self.liquor, self.wash, into=outlets, exchanges=self.exchanges())
        yield from dry_substance_of(self.dry_substance, self.liquor)
        yield "filter aid is its dose on solids", self.aid, GRAMS * self.filter_aid * self.liquor.solids
        kept = self.retention * (self.liquor.suspended + TONNES * self.aid)
        yield "insolubles stay in the cake as kept", PERCENT * self.cake.suspended, kept
        yield "wash comes clear through the cake", self.sweet_water.suspended, constant(0.0, "t/h")
        yield from self._run()
        yield from self._washed()
        yield from conserve_energy(self)
        yield from equally_warm(*outlets)

    def _volume(self) -> Num:
        """Filtrate, m³/h."""
        return self.liquor.solution / liquor_density(self.dry_substance, self.liquor)

    def _run(self) -> Equations:
        dry = KILOGRAMS * self.cake.suspended
        yield "dry cake is on filtrate", self.solids_filtered * (self._volume() + STANDSTILL_VOLUME), dry
        full = METRES * self.thickness * self.cake_density
        ends = self.solids_filtered * self.most_filtrate + full
        yield "a run ends with full cake or blind cloth", self.filtrate_on_area * ends, full * self.most_filtrate
        thick = self.viscosity_factor * viscosity(self.dry_substance, self.liquor.temperature)
        run = (self.filtrate_on_area, self.solids_filtered, self._resistance(), self.cloth, thick, self.pressure)
        yield "cake and cloth resist in series", self.filtration, HOURS * filtration_time(*run)
        yield "the last rate is the lowest", self.last_rate, filtration_rate(*run)
        yield "a cycle is filtration, washing and time off", self.cycle, self.filtration + self.washing + self.off_time
        passed = self.filters_needed * self.area * self.filtrate_on_area
        yield "filters pass the liquor, each once in a cycle", passed, self._volume() * self.cycle

    def _resistance(self) -> Num:
        return cake_resistance(self.resistance, self.pressure, self.compressibility)

    def _washed(self) -> Equations:
        liquor, cake, sweet, wash = self.liquor, self.cake, self.sweet_water, self.wash
        held = self.cake_liquid / (PERCENT - self.cake_liquid)
        liquid = held * cake.suspended
        yield from held_share("liquid of the cake is its share", self.liquor_share, liquid, liquor.solution)
        yield "wash is its ratio to the liquid", wash.water, self.wash_ratio * liquid
        before = self.liquor_share * liquor.solution
        yield "as much liquid stays as before washing", cake.water + cake.dissolved, before
        stays = self.liquor_share * left_by_washing(self.wash_ratio, self.wash_efficiency)
        yield from in_proportion(cake, stays, liquor, DISSOLVED)
        yield from in_proportion(sweet, self.liquor_share - stays, liquor, DISSOLVED)
        displaced = self.liquor_share * amount(liquor, "water") + wash.water
        yield "sweet water is liquor and wash displaced", sweet.water, displaced - cake.water
        # water passes the full cake at its own viscosity
        thin = viscosity(PURE_WATER, wash.temperature)
        rate = filtration_rate(
            self.filtrate_on_area, self.solids_filtered, self._resistance(), self.cloth, thin, self.pressure
        )
        on_area = self.wash_ratio * held * self.solids_filtered * self.filtrate_on_area
        slow = WASH_PATH[self.make] * on_area / water_density(wash.temperature)
        yield "wash passes at the last rate", self.washing * rate, slow

    def exchanges(self) -> Iterable[Exchange]:
        """Filter aid added, and warmth lost."""
        yield Exchange("filter aid added", "suspended", TONNES * self.aid)
        yield self._lost(self.filtered.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """Filters."""
        yield "filters needed within those there are", self.filters_needed, self.filters

    def estimate(self) -> Mapping[str, float]:
        """Cake by its solids, and a run by the law for liquor of 8 mPa·s."""
        liquor, wash = self.liquor, self.wash
        aid = 1e-3 * float(self.filter_aid * liquor.solids)
        dry = float(self.retention) / 100.0 * (float(liquor.suspended) + 1e-3 * aid)
        held = float(self.cake_liquid) / (100.0 - float(self.cake_liquid)) * dry
        part = min(held / (float(liquor.solution) + 1e-4), 0.5)
        guess = spread([liquor], {self.filtered: 1.0 - part, self.sweet_water: 0.8 * part, self.cake: 0.2 * part})
        water = float(self.wash_ratio) * held
        guess[f"{self.sweet_water.prefix}.water"] += 0.4 * water
        guess |= {f"{self.cake.prefix}.suspended": dry, f"{self.sweet_water.prefix}.suspended": 0.0}
        guess |= {f"{self.filtered.prefix}.suspended": float(liquor.suspended) + 1e-3 * aid - dry}
        volume = float(liquor.solution) / 1.28
        solids, full = 1e3 * dry / (volume + 1e-4), 1e-3 * float(self.thickness * self.cake_density)
        on_area = full / (solids + full / float(self.most_filtrate))
        run = (on_area, solids, float(self._resistance()), float(self.cloth), 8e-3, float(self.pressure))
        hours = float(filtration_time(*run)) / 3600.0
        cycle = 1.1 * hours + float(self.off_time)
        results = {
            "dry_substance": 65.0, "aid": aid, "solids_filtered": solids, "filtrate_on_area": on_area,
            "filtration": hours, "last_rate": float(filtration_rate(*run)), "washing": 0.1 * hours, "cycle": cycle,
            "filters_needed": volume * cycle / (float(self.area) * on_area), "liquor_share": part,
        }  # fmt: skip
        return {**guess, **self.own(results), f"{wash.prefix}.water": water}
