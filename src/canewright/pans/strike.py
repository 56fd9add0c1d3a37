"""A strike boiled from footing to drop: concentrated, seeded, filled, tightened; its course and what it gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from canewright.analysis.grain import GrainSize
from canewright.engine.dynamics import Followed, Leg, Motion, NotIntegrated
from canewright.pans import motion, pan
from canewright.pans.description import Described, StrikeRefused, closest
from canewright.pans.settings import feed_name
from canewright.pans.sizes import sieved
from canewright.quantity import Num, noting_breaches

Vector = NDArray[np.float64]
MINUTES = 60.0
EVERY = 2.0 / 60.0
"""Minutes between the points of a course."""
ROUNDED_FALSE_GRAIN = 1e-3
"""Per cent of false grain that the rounded limit of its law makes of nothing."""

AHEAD = 30.0
"""Minutes followed before an event is looked for: far beyond it a pan comes to where nothing can be."""
NOTHING = 1e-9
"""t of a component below which there is none of it."""
TOPPED = 3.0 * motion.LEVEL_BAND
"""Share of the full volume by which topping up stays below it: the valve opens over a band."""
STIFF = {"crystal on massecuite": "drop.most_crystal"}
"""What ends any phase after seeding, to be refused."""
UNITS: dict[str, str] = {
    "volume": "m³", "massecuite": "t", "brix": "%", "purity": "%", "liquor brix": "%", "liquor purity": "%",
    "supersaturation": "", "temperature": "°C", "boiling point": "°C", "crystal": "t", "crystal on massecuite": "%",
    "crystal on solids": "%", "crystals": "10⁹", "mean size": "mm", "variation": "%", "false grain": "%",
    "false crystals": "%", "growth": "µm/min", "crystal surface": "m²/m³", "coefficient": "kW/m²/K", "opening": "%",
    "steam rate": "t/h", "evaporation": "t/h", "feed rate": "t/h", "water rate in": "t/h", "steam": "t",
    "evaporated": "t", "fed": "t", "movement water": "t", "liquor colour": "IU", "massecuite colour": "IU",
    "crystal colour": "IU", "viscosity": "Pa·s", "water in pan": "t", "sucrose in solution": "t", "non-sucrose": "t",
    "heat in pan": "MJ",
}  # fmt: skip
"""Everything told of a strike at a moment, with its unit."""

HAZARDS = (
    "A pan is a vessel under vacuum with steam behind its tubes: relief, interlocks and entry follow the local code.",
    "Hot massecuite, vapour and condensate scald: break the vacuum slowly, stand clear of the discharge.",
    "A pan is a confined space: isolate steam; enter only by permit, ventilated and watched, by licensed practice.",
    "Sugar slurry made with alcohol burns: keep it from sparks and flame.",
)


@dataclass(frozen=True)
class Boiled:
    """A strike from footing to drop."""

    strike: Described
    motion: Motion
    legs: tuple[Followed, ...]

    @cached_property
    def settings(self) -> Vector:
        """Settings in the order of the motion."""
        return self.motion.vector(self.strike.values)

    @cached_property
    def times(self) -> Vector:
        """Minutes since steam was opened; a moment between two phases stands once."""
        return np.concatenate([self.legs[0].times[:1], *(leg.times[1:] for leg in self.legs)])

    @cached_property
    def course(self) -> Mapping[str, Vector]:
        """Everything told of the strike at every moment (``UNITS``)."""
        parts = []
        for i, leg in enumerate(self.legs):
            states = leg.states if i == 0 else leg.states[:, 1:]
            parts.append(self.motion.told(states, self.settings, self.motion.drive(leg.leg.inputs)))
        return {name: np.concatenate([part[name] for part in parts]) for name in self.motion.outputs}

    @property
    def phases(self) -> list[tuple[str, float, float]]:
        """Name, begin and end (min) of each phase."""
        return [(leg.leg.name, float(leg.times[0]), float(leg.times[-1])) for leg in self.legs]

    @cached_property
    def end(self) -> Mapping[str, float]:
        """Everything told of the massecuite as it is dropped."""
        last = self.legs[-1]
        told = self.motion.told(last.states[:, -1:], self.settings, self.motion.drive(last.leg.inputs))
        return {name: float(value[0]) for name, value in told.items()}

    @cached_property
    def grain(self) -> GrainSize:
        """Mean aperture and coefficient of variation of the crystals dropped, as a sieve analysis would find them."""
        return sieved(self.strike, self.state("travel"), self.state("merged"), self.false_moments)

    @property
    def false_moments(self) -> list[float]:
        """Moments of the false grain dropped."""
        return [self.state(f"false {k}") for k in range(6)]

    def state(self, name: str) -> float:
        """A state at the drop, in its own unit."""
        i = next(k for k, s in enumerate(self.motion.states) if s.name == name)
        return float(self.legs[-1].last[i] * self.motion.nominal[i])

    def figures(self) -> dict[str, tuple[float, str]]:
        """What the strike gives: each figure with its unit."""
        end, minutes = self.end, float(self.times[-1])
        ends = {name: to for name, _, to in self.phases}
        steam = self.course["steam rate"]
        return {
            "seeded after": (ends["concentrate"], "min"),
            "full after": (ends[_last_filling(self.phases)], "min"),
            "boiling time": (minutes, "min"),
            "time with turn-round": (minutes + self.strike.values["pan.turn_round"], "min"),
            "massecuite": (end["massecuite"], "t"),
            "volume at the drop": (end["volume"], "m³"),
            "brix": (end["brix"], "%"),
            "purity": (end["purity"], "%"),
            "mother liquor purity": (end["liquor purity"], "%"),
            "supersaturation at the drop": (end["supersaturation"], ""),
            "temperature": (end["temperature"], "°C"),
            "crystal": (end["crystal"], "t"),
            "crystal on massecuite": (end["crystal on massecuite"], "%"),
            "crystal on solids": (end["crystal on solids"], "%"),
            "mean aperture": (self.grain.mean_aperture, "mm"),
            "coefficient of variation": (self.grain.coefficient_of_variation, "%"),
            "mean size by mass": (end["mean size"], "mm"),
            "crystals": (end["crystals"], "10⁹"),
            "false grain by mass": (end["false grain"], "%"),
            "false grain by number": (end["false crystals"], "%"),
            "highest supersaturation": (float(self.course["supersaturation"].max()), ""),
            "steam": (end["steam"], "t"),
            "steam on crystal": (end["steam"] / end["crystal"], "t/t"),
            "highest steam rate": (float(steam.max()), "t/h"),
            "evaporated": (end["evaporated"], "t"),
            "fed": (end["fed"], "t"),
            "movement water": (end["movement water"], "t"),
            "massecuite colour": (end["massecuite colour"], "IU"),
            "mother liquor colour": (end["liquor colour"], "IU"),
            "crystal colour": (end["crystal colour"], "IU"),
        }

    def cautions(self) -> list[str]:
        """What the strike does that a pan boiler would not want: each limit with what was found."""
        return list(_cautions(self))

    def sensitivity(self, wanted: Sequence[str]) -> dict[str, dict[str, float]]:
        """Exact derivative of what is told at the drop, and of the boiling time, by each wanted setting.

        Raises StrikeRefused naming a setting that is none.
        """
        for name in wanted:
            if name not in self.strike.values:
                raise StrikeRefused(f"no setting is called '{name}'; accepted: {closest(name, self.strike.values)}")
        along, time = self.motion.response(self.legs, self.settings, wanted)
        last = self.legs[-1]
        u = self.motion.drive(last.leg.inputs)
        told = self.motion.told_response(last.last, self.settings, u, along, wanted)
        told["boiling time"] = time
        return {name: dict(zip(wanted, map(float, row), strict=True)) for name, row in told.items()}


def _last_filling(phases: Sequence[tuple[str, float, float]]) -> str:
    return [name for name, _, _ in phases if name.startswith("fill")][-1]


# --- phases -----------------------------------------------------------------------------------------------------------


def boil(strike: Described, every: float = EVERY, progress: Callable[[str], None] | None = None) -> Boiled:
    """Boil a strike as described, its course kept ``every`` minutes.

    Raises StrikeRefused naming what stands in the way: the phase, the quantity, what it reached and the limit.
    """
    moved = motion.by_law(strike.feeds, strike.choices["growth.law"], strike.choices["colour.included_from"])
    settings = moved.vector(strike.values)
    x: Vector = np.zeros(len(moved.states))
    at, legs = 0.0, []
    chunk = max(1, min(900, round(AHEAD / every)))
    with noting_breaches():
        for leg in _legs(strike, moved):
            if progress is not None:
                progress(leg.name)
            left = MINUTES * strike.values["drop.longest"] - at
            told = _told_once(moved, x, settings, leg)
            _refuse_start(strike, leg, told)
            if any(told[name] >= value for name, value in leg.until.items()):
                continue  # already there: brix of the full pan at or above what this phase is to reach
            try:
                followed = moved.follow(replace(leg, longest=left), x, settings, at, every, chunk)
            except NotIntegrated as stopped:
                raise StrikeRefused(
                    f"{leg.name}: the strike cannot be followed after {at:.1f} min: {stopped}"
                ) from None
            _refuse_end(strike, followed, moved, settings)
            x, at = followed.last, float(followed.times[-1])
            legs.append(followed)
    return Boiled(strike, moved, tuple(legs))


def _legs(strike: Described, moved: Motion) -> Iterator[Leg]:
    v = strike.values
    shut = dict.fromkeys(moved.inputs, 0.0) | {"level": v["pan.footing"]}
    first, last = {motion.feeding(1): 1.0}, {motion.feeding(strike.feeds): 1.0}

    def leg(name: str, inputs: Mapping[str, float], output: str, setting: str) -> Leg:
        """A phase until an output has the value of a setting, or the massecuite no longer flows."""
        set_by = {output: setting} | ({} if name == "concentrate" else STIFF)
        return Leg(name, {**shut, **inputs}, {o: v[s] for o, s in set_by.items()}, set_by=set_by)

    concentrating = {"concentrating": 1.0, "holding level": 1.0}
    yield leg("concentrate", {**first, **concentrating}, "supersaturation", "seed.supersaturation")
    growing = {"seeded": 1.0, "water on": 1.0, "steam by surface": 1.0}
    for i in range(1, strike.feeds + 1):
        to = feed_name(i, "until") if i < strike.feeds else "pan.full"
        yield leg(f"fill {i}", {**growing, motion.feeding(i): 1.0, "feeding": 1.0}, "volume", to)
    if v["drop.hold_brix"]:
        topping = {"holding level": 1.0, "level": v["pan.full"] * (1.0 - TOPPED)}
        yield leg("top up", {**growing, **last, **topping}, "brix", "drop.hold_brix")
    by_brix = strike.choices["drop.by"] == "brix"
    yield leg(
        "tighten", {**growing, **last}, *(("brix", "drop.brix") if by_brix else ("crystal on solids", "drop.crystal"))
    )


def _told_once(moved: Motion, x: Vector, settings: Vector, leg: Leg) -> dict[str, float]:
    told = moved.told(x[:, None], settings, moved.drive(leg.inputs))
    return {name: float(value[0]) for name, value in told.items()}


def _refuse_start(strike: Described, leg: Leg, told: Mapping[str, float]) -> None:
    v = strike.values
    if leg.name == "concentrate" and told["supersaturation"] >= v["seed.supersaturation"]:
        raise StrikeRefused(
            f"footing: supersaturation is {told['supersaturation']:.3f} before steam is opened, at or above the seed "
            f"point of {v['seed.supersaturation']:g}; draw in thinner or hotter liquor, or seed later"
        )
    if leg.name == "fill 1" and told["supersaturation"] <= 1.0:
        raise StrikeRefused(
            f"seed: supersaturation is {told['supersaturation']:.3f} once the seed with its liquor is in; it must be "
            f"above 1, or the seed dissolves: seed at more than {v['seed.supersaturation']:g}, or with less liquor"
        )
    if told["volume"] > v["pan.full"] * (1.0 + 1e-9):
        raise StrikeRefused(
            f"{leg.name}: volume is {told['volume']:.2f} m³, the pan is full at {v['pan.full']:g} m³ (pan.full)"
        )


def _refuse_end(strike: Described, followed: Followed, moved: Motion, settings: Vector) -> None:
    leg, v = followed.leg, strike.values
    told = _told_once(moved, followed.last, settings, leg)
    if followed.ended_by == "crystal on massecuite":
        wanted = ", ".join(f"{n} {x:g} {UNITS[n]}".rstrip() for n, x in leg.until.items() if n != followed.ended_by)
        raise StrikeRefused(
            f"{leg.name}: crystal on massecuite reaches {v['drop.most_crystal']:g} % (drop.most_crystal: beyond it "
            f"nothing flows) after {followed.times[-1]:.0f} min, before {wanted}: brix is {told['brix']:.1f} %, volume "
            f"{told['volume']:.1f} m³; ask for less brix, or fill with less brix"
        )
    if followed.ended_by == "time":
        missed = "; ".join(
            f"{name} is {told[name]:.4g} {UNITS[name]} of {value:g}".replace("  ", " ")
            for name, value in leg.until.items()
            if name != "crystal on massecuite"
        )
        raise StrikeRefused(
            f"{leg.name}: the strike does not finish in {v['drop.longest']:g} h (drop.longest): {missed}; "
            f"supersaturation is {told['supersaturation']:.3f}, evaporation {told['evaporation']:.2f} t/h, growth "
            f"{told['growth']:.2f} µm/min: more steam, a better vacuum, more seed, or more time"
        )


def _cautions(boiled: Boiled) -> Iterator[str]:
    v, figures = boiled.strike.values, boiled.figures()
    after = boiled.times >= figures["seeded after"][0]
    course = boiled.course
    highest = float(course["supersaturation"][after].max())
    false = figures["false grain by mass"][0]
    if highest > v["false_grain.limit"]:
        yield (
            f"supersaturation reaches {highest:.3f}, above the limit of false grain {v['false_grain.limit']:g}; false "
            f"grain is {false:.2g} % of the crystal by mass"
        )
    if false > max(v["drop.most_false_grain"], ROUNDED_FALSE_GRAIN):
        yield f"false grain is {false:.2f} % of the crystal by mass, more than {v['drop.most_false_grain']:g} % purges"
    lowest = float(course["supersaturation"][after].min())
    if lowest < 1.0:
        yield f"supersaturation falls to {lowest:.3f}: crystal dissolves below 1"
    spread = boiled.grain.coefficient_of_variation
    if spread > v["drop.most_variation"]:
        yield f"the grain varies by {spread:.1f} %, more than {v['drop.most_variation']:g} % (drop.most_variation)"
    least = float(course["volume"].min())
    if least < v["pan.least"]:
        yield f"volume falls to {least:.1f} m³ and uncovers the calandria at {v['pan.least']:g} m³: caramel and scale"
    mean = boiled.end["mean size"]
    if abs(mean / v["drop.size"] - 1.0) > 0.1:
        yield (
            f"the mean size by mass is {mean:.3f} mm where {v['drop.size']:g} mm is wanted (drop.size): seed "
            f"{v['seed.mass'] * (mean / v['drop.size']) ** 3:.3g} kg instead of {v['seed.mass']:g} kg"
        )


def balances(boiled: Boiled) -> dict[str, float]:
    """How far each component misses at the worst moment, on all that came in: summed anew from the course.

    Water, sucrose (dissolved and crystal) and non-sucrose in the pan against footing, seed, feeds, water and vapour.
    """
    v, course = dict(boiled.strike.values), boiled.course
    came = _came(boiled, v)
    held = {
        "water": course["water in pan"] + course["evaporated"] - course["movement water"],
        "sucrose": course["sucrose in solution"] + course["crystal"],
        "non-sucrose": course["non-sucrose"],
    }
    return {name: float(np.max(np.abs(held[name] - came[name])) / max(np.max(came[name]), NOTHING)) for name in held}


def _came(boiled: Boiled, v: dict[str, float]) -> dict[str, Vector]:
    seeded = np.concatenate(
        [np.full(len(leg.times) - (i > 0), leg.leg.inputs["seeded"]) for i, leg in enumerate(boiled.legs)]
    )
    states = np.hstack([leg.states if i == 0 else leg.states[:, 1:] for i, leg in enumerate(boiled.legs)])
    sized = states * boiled.motion.nominal[:, None]
    place = {s.name: k for k, s in enumerate(boiled.motion.states)}
    with noting_breaches():
        base, seed = pan.footing(v), pan.seed(v)
        feeds = [(pan.fed_liquor(v, i), sized[place[f"fed {i}"]]) for i in range(1, boiled.strike.feeds + 1)]
    return {
        "water": base.water + seeded * seed.water + sum(one.water * mass for one, mass in feeds),
        "sucrose": _sucrose(base) + seeded * _sucrose(seed) + sum(_sucrose(one) * mass for one, mass in feeds),
        "non-sucrose": base.non_sucrose
        + seeded * seed.non_sucrose
        + sum(one.non_sucrose * mass for one, mass in feeds),
    }


def _sucrose(one: pan.Portion) -> Num:
    return one.sucrose + one.crystal
