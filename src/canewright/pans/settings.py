"""Everything that describes a strike: each setting once, with unit, meaning, limits and what is usual.

Defaults are of an invented pan; growth, nucleation and heat transfer are orders of magnitude until they are fitted to
logged strikes (``canewright strike fit``).
"""

from __future__ import annotations

from dataclasses import dataclass

from canewright.properties.ranges import COLOUR


@dataclass(frozen=True)
class Setting:
    """A number that a strike is described by."""

    unit: str
    usual: float
    says: str
    low: float
    high: float


@dataclass(frozen=True)
class Choice:
    """A word that a strike is described by; the first is the default."""

    options: tuple[str, ...]
    says: str


SETTINGS: dict[str, dict[str, Setting]] = {
    "pan": {
        "full": Setting("m³", 40.0, "volume at which the pan is full", 1.0, 300.0),
        "footing": Setting("m³", 14.0, "liquor drawn in before steam is opened", 0.2, 200.0),
        "least": Setting("m³", 12.0, "volume that just covers the calandria: the graining volume", 0.1, 200.0),
        "heating_surface": Setting("m²", 220.0, "heating surface of the calandria", 5.0, 3000.0),
        "cross_section": Setting("m²", 12.0, "cross-section above the calandria", 0.5, 80.0),
        "head_share": Setting("1", 0.25, "share of half the head that is felt by the mean of the massecuite", 0.0, 1.0),
        "heat_transfer": Setting("kW/m²/K", 0.95, "coefficient at 0.1 Pa·s and graining volume", 0.1, 5.0),
        "viscosity_exponent": Setting("1", 0.28, "exponent by which the coefficient falls with viscosity", 0.0, 1.0),
        "level_slope": Setting("1", 0.2, "share of the coefficient lost at full level", 0.0, 0.9),
        "flash_time": Setting("min", 0.15, "time in which superheat flashes off at the surface", 0.02, 2.0),
        "heat_loss": Setting("%", 2.0, "heat lost, on heat given by the steam", 0.0, 15.0),
        "turn_round": Setting("min", 20.0, "drawing in, dropping and steaming out together", 0.0, 180.0),
    },
    "vapour": {
        "pressure": Setting("kPa", 18.0, "absolute pressure over the massecuite while it boils", 5.0, 60.0),
        "steam_pressure": Setting("kPa", 120.0, "absolute pressure of the heating steam or vapour", 30.0, 350.0),
        "least_pressure": Setting("kPa", 8.0, "lowest absolute pressure that the condenser holds", 3.0, 40.0),
    },
    "seed": {
        "mass": Setting("kg", 1.0, "crystal in the seed", 1e-3, 60000.0),
        "size": Setting("mm", 0.015, "mean size of the seed crystals by number", 0.005, 1.0),
        "variation": Setting("%", 40.0, "coefficient of variation of the seed by number", 0.0, 100.0),
        "supersaturation": Setting("1", 1.10, "supersaturation at which the pan is seeded", 0.5, 1.6),
        "liquor": Setting("t/t", 0.0, "liquor that comes with the seed, on its crystal", 0.0, 5.0),
        "liquor_brix": Setting("%", 80.0, "dry substance of that liquor", 40.0, 92.0),
        "liquor_purity": Setting("%", 90.0, "true purity of that liquor", 20.0, 100.0),
        "liquor_colour": Setting("IU", 1000.0, "colour of that liquor on its solids", *COLOUR),
        "crystal_colour": Setting("IU", 0.0, "colour of the seed's crystal", *COLOUR),
        "temperature": Setting("°C", 60.0, "temperature of the seed", 5.0, 90.0),
    },
    "growth": {
        "rate": Setting("µm/min", 50.0, "growth per supersaturation above 1, at 65 °C in a pure liquor", 0.5, 1000.0),
        "activation": Setting("kJ/mol", 60.0, "activation energy of the growth", 20.0, 90.0),
        "order": Setting("1", 1.0, "order of the growth in the supersaturation above 1", 1.0, 2.5),
        "turn": Setting("1", 0.05, "excess at which the spiral law turns", 0.001, 1.0),
        "hindrance": Setting("1", 1.07, "hindrance by non-sucrose per water", 0.0, 3.0),
        "dispersion": Setting("%", 22.0, "coefficient of variation of the crystals' own paces", 0.0, 60.0),
    },
    "false_grain": {
        "limit": Setting("1", 1.20, "supersaturation above which grain forms beside crystal", 1.02, 1.6),
        "rate": Setting("1/t/min", 0.05, "crystals (10⁹) formed 0.1 above the limit", 0.0, 1e4),
        "order": Setting("1", 2.0, "order in the excess above the limit", 1.0, 6.0),
        "size": Setting("mm", 0.005, "size at which new grain is counted", 0.001, 0.05),
    },
    "merging": {
        "readiness": Setting("m³/mm", 0.02, "volume swept for merging by 10⁹ crystals per size grown", 0.0, 10.0),
    },
    "liquor": {
        "solubility_slope": Setting("1", -0.06265, "slope of the solubility coefficient", -0.2, 0.3),
        "solubility_intercept": Setting("1", 0.982, "intercept of that slope", 0.7, 1.1),
        "solubility_decay": Setting("1", 2.1, "rate at which its start dies away", 0.5, 5.0),
        "viscosity_decades": Setting("1", 0.0, "powers of ten of viscosity from pure sucrose to no sucrose", -1.0, 4.0),
        "density_rise": Setting("kg/m³", 0.3, "rise of density per % of non-sucrose", -1.0, 2.0),
        "densest": Setting("1", 0.66, "volume share of crystal at which the grain jams", 0.58, 0.72),
    },
    "colour": {
        "inclusion": Setting("1", 0.03, "colour of crystal as it grows, on the colour it grows from", 0.0, 1.0),
        "on_feeding": Setting("%", 0.0, "colour formed at once, on the colour fed", 0.0, 50.0),
        "formation": Setting("IU/h", 20.0, "colour formed on solids per hour at 100 °C", 0.0, 1000.0),
        "activation": Setting("kJ/mol", 115.0, "activation energy of colour formation", 60.0, 160.0),
    },
    "control": {
        "brix": Setting("%", 79.5, "dry substance of the massecuite held by the feed after seeding", 60.0, 95.0),
        "brix_full": Setting("%", 88.0, "dry substance held by the feed when the pan is full", 60.0, 96.0),
        "bend": Setting("1", 1.0, "power of the level by which the one passes into the other", 0.3, 4.0),
        "feed_most": Setting("t/h", 60.0, "most that the feed valve passes", 0.5, 500.0),
        "water_at": Setting("1", 1.15, "supersaturation at which movement water opens", 1.0, 1.6),
        "water_most": Setting("t/h", 12.0, "most movement water", 0.0, 100.0),
        "steam_concentrating": Setting("%", 100.0, "opening of the steam valve while concentrating", 1.0, 100.0),
        "steam_seeded": Setting("%", 15.0, "opening of the steam valve with hardly any crystal surface", 1.0, 100.0),
        "steam_full": Setting("%", 100.0, "opening of the steam valve with much crystal surface", 1.0, 100.0),
        "surface_for_steam": Setting("m²/m³", 1500.0, "crystal surface at which the valve is half way", 1.0, 1e5),
        "feed_band": Setting("%", 0.3, "dry substance over which the feed valve opens", 0.02, 5.0),
        "water_band": Setting("1", 0.01, "supersaturation over which the water valve opens", 0.001, 0.1),
    },
    "drop": {
        "hold_brix": Setting("%", 0.0, "brix to which the pan is topped up at full level; 0: no topping up", 0.0, 97.0),
        "brix": Setting("%", 91.0, "dry substance of the massecuite when dropped", 80.0, 97.0),
        "most_crystal": Setting("%", 62.0, "crystal on massecuite that still flows out", 20.0, 70.0),
        "most_variation": Setting("%", 45.0, "coefficient of variation of the grain that still purges", 5.0, 100.0),
        "most_false_grain": Setting("%", 1.0, "false grain by mass that still purges", 0.0, 50.0),
        "size": Setting("mm", 0.6, "mean size by mass that is wanted", 0.05, 3.0),
        "longest": Setting("h", 4.0, "longest that a strike may boil", 0.2, 30.0),
        "crystal": Setting("%", 50.0, "crystal on solids at which the strike ends, where that is chosen", 5.0, 75.0),
    },
}  # fmt: skip
"""Settings by table of the description."""

FEED: dict[str, Setting] = {
    "brix": Setting("%", 72.0, "dry substance of the feed", 20.0, 85.0),
    "purity": Setting("%", 99.0, "true purity of the feed", 20.0, 100.0),
    "reducing_sugars": Setting("%", 35.0, "reducing sugars in the non-sucrose", 0.0, 100.0),
    "ash": Setting("%", 30.0, "ash in the non-sucrose", 0.0, 100.0),
    "colour": Setting("IU", 200.0, "colour of the feed on its solids", *COLOUR),
    "temperature": Setting("°C", 70.0, "temperature of the feed", 20.0, 105.0),
    "until": Setting("m³", 0.0, "volume up to which this feed is used; the last one always to full", 0.0, 300.0),
}
"""Settings of each feed, in the order in which they are used."""

CHOICES: dict[str, dict[str, Choice]] = {
    "seed": {"kind": Choice(("slurry", "caster", "magma"), "what the pan is seeded with")},
    "growth": {"law": Choice(("power", "spiral"), "law of the growth")},
    "colour": {"included_from": Choice(("mother liquor", "massecuite"), "the colour that crystal takes its share of")},
    "drop": {"by": Choice(("brix", "crystal on solids"), "what ends the strike")},
}

SEED_SIZES = {"slurry": (0.005, 0.08), "caster": (0.08, 0.6), "magma": (0.08, 1.0)}
"""Sizes that go by each name, mm (common practice, no source)."""

GRADES = ("raw A", "raw B", "raw C", "refined")
"""What is boiled: a word for headings and defaults of templates."""


def feed_name(number: int, key: str) -> str:
    """The full name of a setting of a feed, counted from 1."""
    return f"feed {number}.{key}"


def names(feeds: int) -> list[str]:
    """Every setting of a strike with so many feeds, by full name."""
    listed = [f"{table}.{key}" for table, keys in SETTINGS.items() for key in keys]
    return listed + [feed_name(i, key) for i in range(1, feeds + 1) for key in FEED]


def declared(name: str) -> Setting:
    """The declaration of a setting by its full name. Raises KeyError for a name that is none."""
    table, _, key = name.partition(".")
    return FEED[key] if table.startswith("feed ") else SETTINGS[table][key]
