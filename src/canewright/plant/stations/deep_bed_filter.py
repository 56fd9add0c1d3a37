"""Deep-bed filter: clarified liquor passes a bed of sand that keeps what is left of the insolubles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from canewright.plant.balance import conserve, conserve_energy
from canewright.plant.liquor_station import (
    KILOGRAMS,
    LIQUID,
    TONNES,
    LiquorStation,
    draw_ratio,
    dry_substance_of,
    equally_warm,
    in_proportion,
    liquor_density,
)
from canewright.plant.station import Equations, Exchange, choice, inlet, outlet, published, result, setting, spread
from canewright.plant.streams import PERCENT, Liquor, Water
from canewright.properties.sucrose import sucrose_density, water_density
from canewright.quantity import Num, constant
from canewright.quantity.maths import exp, smooth_positive

METRES = constant(1e-3, "m/mm")
HOURS = constant(1.0 / 3600.0, "h/s")
KILOPASCALS = constant(1e-3, "kPa/Pa")
RESISTANCE = {"Ergun": 150.0, "Carman-Kozeny": 180.0}
"""Constant of the viscous term of the head loss."""
INERTIA = 1.75
KILOPASCAL = constant(1.0, "kPa")
JOIN = 0.1
"""Width, kPa, of the smooth join at no head left, so that an overloaded filter still has an answer: no run at all."""


class DeepBedFilter(LiquorStation):
    """Several sand or gravel filters that share the liquor, less those off line for backwash or waiting.

    Insolubles that pass are ``exp(-coefficient * depth)`` of those brought. Clean-bed head loss is that of Ergun
    (1952, Chem. Eng. Prog. 48, 89, from memory); it rises with what the bed holds, so the run ends when the head-loss
    limit is reached, or by slow fouling of another kind at the longest run: both rates of ending add. At each change
    the liquor left in the bed goes to sweet water and its last part, with the insolubles, to the sludge. Flow
    5-10 m/h, runs 8-24 h, limit 100-200 kPa, backwash 2-4 bed volumes (common practice, no source). Decides the flow
    of ``backwash``.
    """

    kind = "deep-bed filter"
    hazards = (
        "Hot liquor under pressure: vent and drain before a filter is opened; a filter is a confined space.",
        "Head loss that falls during a run means channels in the bed: insolubles pass.",
    )
    handles = ("head_loss_limit", "longest_run", "backwash_volumes")
    measured = ("liquor temperature", "clean_head_loss", "run_length", "filtered suspended solids")

    liquor, backwash = inlet(Liquor), inlet(Water)
    filtered, sweet_water, sludge = outlet(Liquor), outlet(Liquor), outlet(Liquor)
    viscosity = published("viscosity", says="law of the viscosity of pure sucrose solution")
    resistance = choice(*RESISTANCE, says="constant of the viscous head loss: Ergun 150 or Carman-Kozeny 180")

    filters = setting("1", 4.0, "filters", limits=(1.0, 40.0))
    off_line = setting("1", 1.0, "filters off line, in backwash or waiting", limits=(0.0, 20.0))
    area = setting("m²", 2.8, "bed area of one filter", limits=(0.1, 60.0))
    depth = setting("m", 1.0, "depth of the bed", limits=(0.1, 4.0))
    grain_size = setting("mm", 0.9, "size of the grain", limits=(0.2, 5.0), prior=0.05)
    sphericity = setting("1", 0.8, "sphericity of the grain", limits=(0.4, 1.0), prior=0.05)
    voidage = setting("1", 0.40, "voids of the clean bed", limits=(0.25, 0.65), prior=0.02)
    viscosity_factor = setting(
        "1", 1.0, "viscosity of the liquor on that of pure sucrose solution", limits=(0.5, 5.0), prior=0.1
    )
    coefficient = setting("1/m", 2.5, "filter coefficient", limits=(0.0, 30.0), prior=0.5)
    head_loss_limit = setting("kPa", 150.0, "head loss at which a filter is backwashed", limits=(10.0, 600.0))
    head_rise = setting("kPa·m²/kg", 6.0, "rise of head loss for insolubles held", limits=(0.05, 200.0), prior=2.0)
    longest_run = setting("h", 240.0, "run on liquor without insolubles", limits=(4.0, 2000.0))
    off_time = setting("h", 1.0, "time off for one backwash", limits=(0.05, 12.0), prior=0.2)
    liquor_left = setting("1", 0.4, "bed volumes of liquor left at a change", limits=(0.0, 2.0), prior=0.05)
    sweetening_off = setting("1", 1.0, "bed volumes of water that displace it", limits=(0.01, 5.0), prior=0.2)
    backwash_volumes = setting("1", 3.0, "bed volumes of backwash", limits=(0.01, 10.0), prior=0.3)
    tail = setting("%", 3.0, "liquor left that goes to the sludge", limits=(0.0, 50.0), prior=1.0)

    dry_substance = result("%", 65.0, "dry substance of the liquor", limits=(0.0, 100.0))
    in_backwash = result("1", 0.2, "filters that backwash keeps off line, mean over the day", limits=(0.0, 40.0))
    velocity = result("m/h", 8.0, "liquor through the beds on line", limits=(0.0, 1000.0))
    clean_head_loss = result("kPa", 50.0, "head loss of the clean bed", limits=(0.0, 1e5))
    run_length = result("h", 20.0, "run between backwashes", limits=(0.0, 2000.0))
    left_share = result("1", 0.003, "liquor to sweet water and sludge on liquor", limits=(0.0, 1.0))

    def equations(self) -> Equations:
        """Balances, the law of the bed, and what each backwash takes."""
        liquor, washing = self.liquor, self.backwash
        yield from conserve(liquor, washing, into=[self.filtered, self.sweet_water, self.sludge])
        yield from self._bed()
        yield from self._run()
        yield from self._change()
        yield from conserve_energy(self)
        yield from equally_warm(self.filtered, self.sweet_water, self.sludge)

    def _bed(self) -> Equations:
        liquor, passing = self.liquor, 1.0 - self._captured()
        yield from dry_substance_of(self.dry_substance, liquor)
        volume = liquor.flow / liquor_density(self.dry_substance, liquor)
        yield "liquor passes the beds on line", self.velocity * self._beds(), volume
        yield "clean beds lose head by Ergun", self.clean_head_loss, KILOPASCALS * self._ergun() * self.depth
        whole = passing * liquor.suspended
        for part, ratio in ((self.filtered, 1.0 - self.left_share), (self.sweet_water, self.left_share)):
            yield "insolubles pass by depth of the bed", part.suspended, ratio * whole

    def _beds(self) -> Num:
        """Area of the beds on line, m²."""
        return (self.filters - self.off_line) * self.area

    def _captured(self) -> Num:
        return 1.0 - exp(-(self.coefficient * self.depth))

    def _ergun(self) -> Num:
        """Head loss of the clean bed, Pa/m."""
        speed, solid = HOURS * self.velocity, 1.0 - self.voidage
        size = METRES * self.grain_size * self.sphericity
        pure = self.form("viscosity")(dry_substance=self.dry_substance, temperature=self.liquor.temperature)
        thickness = self.viscosity_factor * pure
        density = sucrose_density(self.dry_substance, self.liquor.temperature)
        cube = self.voidage * self.voidage * self.voidage
        viscous = RESISTANCE[self.resistance] * thickness * speed * solid * solid / (cube * size * size)
        return viscous + INERTIA * density * speed * speed * solid / (cube * size)

    def _run(self) -> Equations:
        margin = KILOPASCAL * smooth_positive((self.head_loss_limit - self.clean_head_loss) / KILOPASCAL, JOIN)
        held = KILOGRAMS * self._captured() * self.liquor.suspended / self._beds()
        ended = self.head_rise * held * self.longest_run + margin
        yield "run ends at the head-loss limit", self.run_length * ended / self.longest_run, margin
        washed = self.filters * self.off_time
        yield "each run is followed by a backwash", self.in_backwash * (self.run_length + self.off_time), washed

    def _change(self) -> Equations:
        liquor, washing, sweet, sludge = self.liquor, self.backwash, self.sweet_water, self.sludge
        changed = self.filters * self.area * self.depth / (self.run_length + self.off_time)
        left = self.liquor_left * changed * liquor_density(self.dry_substance, liquor)
        yield from draw_ratio("liquor left in the beds is drawn off", self.left_share, left, liquor.flow)
        volumes = self.sweetening_off + self.backwash_volumes
        water = TONNES * water_density(washing.temperature)
        yield "backwash is its bed volumes", washing.water, volumes * changed * water
        yield from in_proportion(self.filtered, 1.0 - self.left_share, liquor)
        last = self.tail / PERCENT * self.left_share
        yield from in_proportion(sludge, last, liquor, LIQUID[1:])
        displacing = self.sweetening_off / volumes * washing.water
        whole = liquor.water * (1.0 - self.tail / PERCENT) * self.left_share
        yield "sweet water is displaced by its bed volumes", sweet.water, whole + displacing

    def exchanges(self) -> Iterable[Exchange]:
        """Warmth lost to the surroundings."""
        yield self._lost(self.filtered.temperature)

    def capacities(self) -> Iterable[tuple[str, Num, Num]]:
        """The clean bed must leave head for a run, and backwash no more filters off line than there are."""
        yield "head loss of the clean bed against the limit", self.clean_head_loss, self.head_loss_limit
        yield "filters in backwash against those off line", self.in_backwash, self.off_line

    def estimate(self) -> Mapping[str, float]:
        """A run of twenty hours at 8 m/h, nearly all liquor filtered."""
        liquor, water = self.liquor, 0.1 * float(self.filters * self.area * self.depth)
        guess = spread([liquor], {self.filtered: 0.996, self.sweet_water: 0.003, self.sludge: 0.001})
        solids = float(liquor.suspended)
        guess |= {f"{self.filtered.prefix}.suspended": 0.1 * solids, f"{self.sludge.prefix}.suspended": 0.9 * solids}
        guess |= {f"{self.sweet_water.prefix}.water": 0.25 * water, f"{self.sludge.prefix}.water": 0.75 * water}
        on_line = float(self._beds())
        run = min(20.0, float(self.longest_run))
        results = {"dry_substance": 65.0, "velocity": float(liquor.flow) / 1.28 / on_line, "run_length": run}
        results |= {"clean_head_loss": 0.3 * float(self.head_loss_limit), "left_share": 0.003, "in_backwash": 0.2}
        return {**guess, **self.own(results), f"{self.backwash.prefix}.water": water}
