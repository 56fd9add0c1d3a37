"""What stands in a pan at a moment, and how fast it changes: the equations of a strike.

The states are only what has passed: feed, movement water, vapour and heat since the start, the growth travel of the
crystals, and the moments of false grain. What stands in the pan is what went in less what went out, and crystal follows
from the moments, so that water, sucrose, non-sucrose and heat balance to rounding at any step of the integrator. Units:
t, MJ, min, mm, kPa, °C; crystals in 10⁹.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from canewright.pans import grain
from canewright.pans.settings import feed_name
from canewright.properties.boiling import boiling_temperature
from canewright.properties.crystal import DENSITY
from canewright.properties.crystallising import (
    crystal_growth_power_law,
    crystal_growth_spiral_law,
    false_grain_rate,
    merging_rate,
    pan_heat_transfer,
)
from canewright.properties.kinetics import colour_formation_rate
from canewright.properties.massecuite import (
    crystal_volume_share,
    impure_density,
    impure_viscosity,
    massecuite_density,
    massecuite_viscosity,
)
from canewright.properties.saturation import solubility_coefficient_fitted
from canewright.properties.steam import latent_heat, saturated_steam_enthalpy, saturation_temperature
from canewright.properties.sucrose import solubility
from canewright.properties.thermal import crystal_enthalpy, liquor_enthalpy_flow, massecuite_temperature
from canewright.quantity import Num
from canewright.quantity.maths import exp, smooth_positive, tanh

Values = Mapping[str, Num]
GRAVITY = 9.80665
BOILING_HEAT = 2350.0
"""Latent heat at pan temperatures by which superheat is turned into a rate of flashing, MJ/t; heat itself is exact."""
NO_LIQUOR = 1e-9
"""t; keeps quotients of an empty pan finite."""
WET = 0.2
"""Superheat over which boiling sets in, K."""


@dataclass(frozen=True)
class Portion:
    """So much of a liquor or magma: t of each component, colour in IU·t, heat in MJ."""

    water: Num
    sucrose: Num
    reducing_sugars: Num
    ash: Num
    other: Num
    crystal: Num
    colour: Num
    crystal_colour: Num
    heat: Num

    def times(self, mass: Num) -> Portion:
        """The same in another amount."""
        return Portion(*(mass * part for part in vars(self).values()))

    def plus(self, other: Portion) -> Portion:
        """Both together."""
        return Portion(*(a + b for a, b in zip(vars(self).values(), vars(other).values(), strict=True)))

    @property
    def non_sucrose(self) -> Num:
        """Everything dissolved besides sucrose, t."""
        return self.reducing_sugars + self.ash + self.other

    @property
    def solids(self) -> Num:
        """Dry substance, crystal included, t."""
        return self.sucrose + self.crystal + self.non_sucrose


def fed_liquor(v: Values, number: int) -> Portion:
    """A tonne of a feed."""
    about = {key: v[feed_name(number, key)] for key in ("brix", "purity", "reducing_sugars", "ash")}
    return liquor(**about, colour=v[feed_name(number, "colour")], temperature=v[feed_name(number, "temperature")])


def liquor(*, brix: Num, purity: Num, reducing_sugars: Num, ash: Num, colour: Num, temperature: Num) -> Portion:
    """A tonne of liquor from its analysis: %, % on solids, % of the non-sucrose, IU, °C."""
    solids = brix / 100.0
    sucrose = solids * purity / 100.0
    besides = solids - sucrose
    reducing, mineral = besides * reducing_sugars / 100.0, besides * ash / 100.0
    heat = liquor_enthalpy_flow(1.0 - solids, sucrose, besides, temperature)
    zero = 0.0 * brix
    return Portion(
        1.0 - solids, sucrose, reducing, mineral, besides - reducing - mineral, zero, colour * solids, zero, heat
    )


def footing(v: Values) -> Portion:
    """What stands in the pan before steam is opened: so much of the first feed by volume."""
    density = impure_density(
        v[feed_name(1, "brix")], v[feed_name(1, "purity")], v[feed_name(1, "temperature")], v["liquor.density_rise"]
    )
    return fed_liquor(v, 1).times(1e-3 * v["pan.footing"] * density)


def seed(v: Values) -> Portion:
    """The seed with its liquor."""
    crystal = 1e-3 * v["seed.mass"]
    with_it = liquor(
        brix=v["seed.liquor_brix"], purity=v["seed.liquor_purity"], reducing_sugars=v[feed_name(1, "reducing_sugars")],
        ash=v[feed_name(1, "ash")], colour=v["seed.liquor_colour"], temperature=v["seed.temperature"],
    ).times(crystal * v["seed.liquor"])  # fmt: skip
    zero = 0.0 * crystal
    warm = crystal * crystal_enthalpy(v["seed.temperature"])
    alone = Portion(zero, zero, zero, zero, zero, crystal, zero, crystal * v["seed.crystal_colour"], warm)
    return with_it.plus(alone)


def seed_moments(v: Values) -> list[Num]:
    """Moments of the seed."""
    spread = v["seed.variation"] / 100.0
    number = grain.number_for(1e-3 * v["seed.mass"], v["seed.size"], spread)
    return grain.log_normal_moments(number, v["seed.size"], spread)


@dataclass(frozen=True)
class Contents:
    """What stands in the pan at a moment."""

    total: Portion
    crop: list[Num]
    false: list[Num]
    crystal: Num
    sucrose: Num
    crystal_colour: Num
    temperature: Num
    supersaturation: Num
    impurity: Num
    liquor_brix: Num
    liquor_purity: Num
    liquor_viscosity: Num
    density: Num
    crystal_share: Num

    @property
    def mass(self) -> Num:
        """Massecuite, t."""
        return self.total.water + self.total.solids

    @property
    def volume(self) -> Num:
        """Massecuite, m³."""
        return 1e3 * self.mass / self.density

    @property
    def brix(self) -> Num:
        """True dry substance of the massecuite, %."""
        return 100.0 * self.total.solids / self.mass

    @property
    def all_grain(self) -> list[Num]:
        """Moments of crop and false grain together."""
        return [a + b for a, b in zip(self.crop, self.false, strict=True)]

    @property
    def surface(self) -> Num:
        """Crystal surface per volume of massecuite, m²/m³."""
        return 1e3 * grain.SURFACE * (self.crop[2] + self.false[2]) / self.volume

    @property
    def liquor_colour(self) -> Num:
        """Colour of the mother liquor, IU."""
        return self.total.colour / (self.sucrose + self.total.non_sucrose)

    @property
    def massecuite_colour(self) -> Num:
        """Colour of the massecuite on all its solids, IU."""
        return (self.total.colour + self.crystal_colour) / self.total.solids


def brought(v: Values, feeds: int) -> Portion:
    """Everything that has come into the pan, the seed where it has been given, and water."""
    total = footing(v).plus(seed(v).times(v["seeded"]))
    for i in range(1, feeds + 1):
        total = total.plus(fed_liquor(v, i).times(v[f"fed {i}"]))
    return total


def contents(v: Values, feeds: int) -> Contents:
    """What stands in the pan: what came less what boiled off; sucrose in solution is what is not crystal."""
    came = brought(v, feeds)
    pace = grain.pace_moments(v["growth.dispersion"] / 100.0)
    crop = [v["seeded"] * m for m in grain.grown(seed_moments(v), pace, v["travel"], v["merged"])]
    false = [v[f"false {k}"] for k in range(grain.MOMENTS)]
    crystal = grain.mass(crop) + grain.mass(false)
    water = came.water + v["water"] - v["evaporated"]
    sucrose = came.sucrose + came.crystal - crystal
    formed = v["colour formed"] + v["colour.on_feeding"] / 100.0 * came.colour
    dissolved_colour = came.colour + formed + came.crystal_colour - v["crystal colour"]
    heat = came.heat + v["heat"] - v["vapour heat"]
    total = Portion(
        water, sucrose, came.reducing_sugars, came.ash, came.other, crystal, dissolved_colour, v["crystal colour"], heat
    )
    temperature = massecuite_temperature(water, sucrose + crystal, total.non_sucrose, crystal, heat)
    impurity = total.non_sucrose / water
    dissolved = sucrose + total.non_sucrose
    brix, purity = 100.0 * dissolved / (water + dissolved), 100.0 * sucrose / dissolved
    share = 100.0 * crystal / (water + dissolved + crystal)
    liquor_density = impure_density(brix, purity, temperature, v["liquor.density_rise"])
    return Contents(
        total, crop, false, crystal, sucrose, v["crystal colour"], temperature,
        sucrose / (water * _saturated(v, temperature, impurity)), impurity, brix, purity,
        impure_viscosity(brix, purity, temperature, v["liquor.viscosity_decades"]),
        massecuite_density(share, DENSITY, liquor_density), crystal_volume_share(share, DENSITY, liquor_density),
    )  # fmt: skip


def _saturated(v: Values, temperature: Num, impurity: Num) -> Num:
    """Sucrose per water at saturation, t/t."""
    pure = solubility(temperature)
    coefficient = solubility_coefficient_fitted(
        impurity, v["liquor.solubility_slope"], v["liquor.solubility_intercept"], v["liquor.solubility_decay"]
    )
    return pure / (100.0 - pure) * coefficient


def boils_at(v: Values, c: Contents, pressure: Num) -> Num:
    """Temperature at which the massecuite boils as a whole: elevation, and its share of the head, °C."""
    depth = c.volume / v["pan.cross_section"]
    head = 0.5e-3 * GRAVITY * c.density * depth * v["pan.head_share"]
    total = c.total
    return boiling_temperature(total.water, c.sucrose, total.reducing_sugars, total.ash + total.other, pressure + head)


def liquor_boils_at(v: Values, number: int, pressure: Num) -> Num:
    """Temperature at which a feed boils at its surface, °C."""
    one = fed_liquor(v, number)
    return boiling_temperature(one.water, one.sucrose, one.reducing_sugars, one.ash + one.other, pressure)


@dataclass(frozen=True)
class Exchanged:
    """What passes the pan's walls in a minute: heat given by the steam, MJ, and its mass, vapour and its heat."""

    heat: Num
    steam: Num
    vapour: Num
    vapour_heat: Num
    coefficient: Num
    boiling: Num


def exchanged(v: Values, c: Contents, opening: Num, pressure: Num) -> Exchanged:
    """Heat through the calandria at a steam opening (0 to 1) and vapour at an absolute pressure, kPa."""
    room = v["pan.full"] - v["pan.least"]
    viscosity = massecuite_viscosity(c.liquor_viscosity, c.crystal_share, v["liquor.densest"])
    coefficient = pan_heat_transfer(
        v["pan.heat_transfer"], viscosity, v["pan.viscosity_exponent"], (c.volume - v["pan.least"]) / room,
        v["pan.level_slope"],
    )  # fmt: skip
    hot = saturation_temperature(v["vapour.steam_pressure"])
    heat = 0.06 * coefficient * v["pan.heating_surface"] * (hot - c.temperature) * opening
    boiling = boils_at(v, c, pressure)
    flashing = smooth_positive(c.temperature - boiling, WET)
    vapour = _heat_capacity(c) * flashing / (BOILING_HEAT * v["pan.flash_time"])
    carried = saturated_steam_enthalpy(saturation_temperature(pressure))
    return Exchanged(heat, heat / latent_heat(hot), vapour, vapour * carried, coefficient, boiling)


def _heat_capacity(c: Contents) -> Num:
    """MJ/K of the massecuite, by the slope of its enthalpy without crystallising."""
    total, one = c.total, 1.0
    warm = liquor_enthalpy_flow(total.water, c.sucrose, total.non_sucrose, c.temperature + one)
    cool = liquor_enthalpy_flow(total.water, c.sucrose, total.non_sucrose, c.temperature - one)
    solid = crystal_enthalpy(c.temperature + one) - crystal_enthalpy(c.temperature - one)
    return 0.5 * (warm - cool + c.crystal * solid)


def growth(v: Values, c: Contents, law: str) -> Num:
    """Growth of a crystal of pace 1, µm/min."""
    known = (c.supersaturation, c.temperature, c.impurity, v["growth.rate"], v["growth.activation"])
    if law == "spiral":
        return crystal_growth_spiral_law(*known, v["growth.turn"], v["growth.hindrance"])
    return crystal_growth_power_law(*known, v["growth.order"], v["growth.hindrance"])


def opened(excess: Num, over: Num) -> Num:
    """A valve from shut to open as a quantity passes its mark."""
    return 0.5 * (1.0 + tanh(excess / over))


@dataclass(frozen=True)
class Flows:
    """What is let in, per minute: t of each feed, t of movement water; steam opening 0 to 1; absolute pressure, kPa."""

    feeds: list[Num]
    water: Num
    opening: Num
    pressure: Num


def rates(v: Values, c: Contents, flows: Flows, law: str, included_from: str) -> dict[str, Num]:
    """Rate of every state, per minute."""
    through = exchanged(v, c, flows.opening, flows.pressure)
    speed = growth(v, c, law)
    forward = 1e-3 * speed * v["seeded"]
    born = false_grain_rate(
        c.supersaturation, c.crystal, v["false_grain.limit"], v["false_grain.rate"], v["false_grain.order"]
    )
    false = grain.born_and_grown(c.false, forward, born, v["false_grain.size"])
    # merging has made every crystal larger by the same factor; growth adds the same length as before
    travel = forward * exp(-v["merged"])
    seeded = [v["seeded"] * m for m in seed_moments(v)]
    pace = grain.pace_moments(v["growth.dispersion"] / 100.0)
    crystallising = grain.PER_CUBE * (grain.growing(seeded, pace, v["travel"]) * travel + false[3])
    source = c.liquor_colour if included_from == "mother liquor" else c.massecuite_colour
    formation = colour_formation_rate(v["colour.formation"], c.temperature, v["colour.activation"]) / 60.0
    return {
        **{f"fed {i}": flow for i, flow in enumerate(flows.feeds, start=1)},
        **{f"false {k}": rate for k, rate in enumerate(false)},
        "water": flows.water,
        "evaporated": through.vapour,
        "heat": (1.0 - v["pan.heat_loss"] / 100.0) * through.heat,
        "vapour heat": through.vapour_heat,
        "steam": through.steam,
        "travel": travel,
        "merged": merging_rate(speed, c.crop[0] / c.volume, v["merging.readiness"]) / 3.0,
        "crystal colour": v["colour.inclusion"] * source * crystallising,
        "colour formed": formation * (c.sucrose + c.total.non_sucrose),
    }
