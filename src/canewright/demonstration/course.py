"""The true course of the invented season: what is crushed, how the stations do hour by hour, faults in the plant.

Nothing here is drawn from the priors that the accounts reconcile with: cane ripens along the district's curve, rates
and qualities wander with a memory of some hours, surfaces foul from clean to clean, stops are exponential.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from canewright.demonstration.faults import (
    ENTRAINED_RATE,
    LEAK_BRIX,
    LEAK_JUICE,
    LEAK_PURITY,
    PURER,
    STRIKES_SHARE,
    Variant,
    leak_of,
)
from canewright.engine.solve import RESIDUAL, newton
from canewright.plant.plant import Plant, State
from canewright.plant.streams import PERCENT

Vector = np.ndarray
KEPT = 0.9
"""How much of an hour's departure from the day's mean the next hour keeps."""
KEPT_BY_DAY = 0.85
CURVE = ((1.0, 8.0, 15.0, 22.0, 27.0), (12.50, 13.73, 14.03, 13.40, 12.62))
"""CCS of the district by week of the season."""
LOST_ON_THE_WAY = 0.33
"""CCS lost by delay of 13 h and by 1.5 points of extraneous matter above 6."""
CCS_OF_DESCRIPTION, SUCROSE_OF_DESCRIPTION = 13.6, 14.86
FOULING = 0.012
"""Heat transfer lost by the day since the last clean."""
CLEAN_EVERY = 14
EXTRACTION_FALL, EXTRACTION_SPREAD = -0.015, 0.15
"""Pol extraction, points for each t/h of cane above 420, and its own wandering."""

HOURLY: Mapping[str, float] = {
    "cane yard.rate": 12.0, "cane yard.fibre": 0.35, "cane yard.sucrose": 0.25, "cane yard.reducing_sugars": 0.05,
    "cane yard.ash": 0.03, "cane yard.other": 0.06, "cane yard.suspended": 0.1, "cane yard.colour": 500.0,
    "imbibition.on_fibre": 4.0, "mill 5.moisture": 0.5, "clarifier.mud_solids": 0.3, "mud filter.cake_moisture": 0.5,
    "centrifugals A.film": 0.15, "centrifugals B.film": 0.3, "centrifugals C.film": 0.4, "bagasse sold.share": 1.0,
    "raw dryer.moisture": 0.005, "raw store.rate": 0.5, "raw store.colour": 50.0, "affination centrifugals.film": 0.1,
    "carbon.untakable": 0.3, "refined dryer.moisture": 0.003, "mill house power.demand": 40.0,
    "refinery power.demand": 30.0,
}  # fmt: skip
"""Standard deviation within the day of what wanders."""
DAILY: Mapping[str, float] = {
    "cane yard.fibre": 0.25, "cane yard.sucrose": 0.15, "cane yard.reducing_sugars": 0.06, "cane yard.ash": 0.03,
    "cane yard.other": 0.10, "cane yard.suspended": 0.1, "cane yard.colour": 600.0, "imbibition.on_fibre": 4.0,
    "crystallisers C.mother_liquor_purity": 0.3, "mill loss.loss": 0.03, "boiling house loss.loss": 0.06,
    "raw store.colour": 40.0, "raw store.purity": 0.03, "raw store.moisture": 0.01, "pan A.mother_liquor_purity": 0.5,
    "pan B.mother_liquor_purity": 0.6, "clarifier.mud_solids": 0.3, "mud filter.retention": 0.8,
}  # fmt: skip
"""Standard deviation from day to day of what keeps part of yesterday."""
EFFECTS = tuple(f"effect {k}.heat_transfer_coefficient" for k in range(1, 6))
MILLS = tuple(f"mill {k}.imbibition_coefficient" for k in range(2, 6))
LOSSES = {"mill loss.loss": 0.10, "boiling house loss.loss": 0.70}
"""True undetermined losses, 0.8 % of pol in cane together."""


@dataclass(frozen=True)
class Period:
    """A period of a section: minutes after the cut, and 'running' or the cause of the stop."""

    start: int
    end: int
    what: str

    def within(self, start: int, end: int) -> float:
        """Hours of it between two minutes of the day."""
        return max(0, min(self.end, end) - max(self.start, start)) / 60.0


def running(parts: Sequence[Period], start: int = 0, end: int = 1440) -> float:
    """Running hours between two minutes of the day."""
    return sum(p.within(start, end) for p in parts if p.what == "running")


@dataclass(frozen=True)
class Stops:
    """How a section stands: stops a day and their mean length, h."""

    number: float
    mean: float
    causes: tuple[str, ...]


STOPS: Mapping[str, Stops] = {
    "mill": Stops(6.0, 0.51, ("choke at the first mill", "no cane", "carrier slat", "juice pump tripped",
                              "cane knife change", "turbine trip")),
    "refinery": Stops(2.0, 1.0, ("melter screen blocked", "carbon column change", "steam let down")),
}  # fmt: skip
"""Mean lengths that give the time efficiencies of 85 and 90 % with the fortnightly clean."""
LEAST_RUN = 6.0
"""Running hours that every day of the season has."""


def periods(section: str, day: int, chance: np.random.Generator) -> list[Period]:
    """Running and standing of a section from cut to cut; the mill begins every fourteenth day with a clean of 8 h."""
    if section not in STOPS:
        return [Period(0, 1440, "running")]
    stops, clean = STOPS[section], section == "mill" and day % CLEAN_EVERY == 0
    first = 480 if clean else 0
    lengths = np.round(60 * chance.exponential(stops.mean, chance.poisson(stops.number * (1440 - first) / 1440)))
    lengths = lengths[lengths >= 4].astype(int)
    while lengths.sum() > 1440 - first - 60 * LEAST_RUN:
        lengths = lengths[:-1]
    gaps = chance.dirichlet(np.full(len(lengths) + 1, 3.0)) * (1440 - first - lengths.sum())
    found, here = [Period(0, 480, "clean of the evaporator")] if clean else [], first
    for gap, length in zip(gaps[:-1], lengths, strict=True):
        begin = here + max(1, int(gap))
        found += [Period(here, begin, "running"), Period(begin, begin + int(length), str(chance.choice(stops.causes)))]
        here = begin + int(length)
    return [*found, Period(here, 1440, "running")]


class Wander:
    """Several quantities that keep part of their departure: the same spread at every step."""

    def __init__(self, spread: Mapping[str, float], kept: float, chance: np.random.Generator) -> None:
        """Begin at a departure of the usual size."""
        self.names, self.sd, self.kept, self.chance = tuple(spread), np.array(list(spread.values())), kept, chance
        self.now = self.sd * chance.standard_normal(len(self.sd))

    def step(self) -> dict[str, float]:
        """The departures of the next step."""
        fresh = (1 - self.kept**2) ** 0.5 * self.sd * self.chance.standard_normal(len(self.sd))
        self.now = self.kept * self.now + fresh
        return dict(zip(self.names, self.now.tolist(), strict=True))


@dataclass(frozen=True)
class TrueDay:
    """What truly happened on a day: its mean state, that of each shift (scaled vectors), and the section periods."""

    number: int
    mean: Vector
    shifts: tuple[Vector, ...]
    periods: Mapping[str, Sequence[Period]]
    purer: Vector | None = None

    def hours(self, section: str, shift: int | None = None) -> float:
        """Running hours of a section on the day, or in a shift."""
        span = (0, 1440) if shift is None else (480 * shift, 480 * shift + 480)
        return running(self.periods[section], *span)


class Course:
    """The season's days one after another, each state solved from the one before."""

    def __init__(self, plant: Plant, variant: Variant, chance: np.random.Generator) -> None:
        """Solve the described plant, and how its extraction answers to the coefficients of its mills."""
        self.plant, self.variant, self.chance = plant, variant, chance
        self.start = plant.predict()
        self.daily = Wander(DAILY, KEPT_BY_DAY, chance)
        self.hourly = Wander(HOURLY, KEPT, chance)
        self.own = Wander({"extraction": EXTRACTION_SPREAD}, KEPT, chance)
        self.described = plant.settings()
        self.slope = self._slope()
        self.not_as_wanted = 0

    def _slope(self) -> float:
        """Points of extraction for the coefficients of all mills moved by one."""
        moved = self.plant.predict({m: self.described[m] + 0.02 for m in MILLS}, self.start)
        return (self._extraction(moved) - self._extraction(self.start)) / 0.02

    @staticmethod
    def _extraction(state: State) -> float:
        juice, cane = state.stream("juice screen.screened"), state.stream("cane yard.cane")
        return float(PERCENT * juice.sucrose / cane.sucrose)

    def days(self, first: int, last: int) -> Iterator[TrueDay]:
        """The days from the first to the last of them; the days before are passed through quickly."""
        for number in range(1, last + 1):
            base, parts = self._day_settings(number)
            if number >= first:
                yield self._day(number, base, parts)

    def _day_settings(self, number: int) -> tuple[dict[str, float], dict[str, list[Period]]]:
        parts = {s: periods(s, number, self.chance) for s in self.plant.description.sections}
        week = (number - 1) / 7.0 + 1.0
        ccs = float(np.interp(week, *CURVE)) - LOST_ON_THE_WAY
        season = number / 182.0
        fouled = float(np.exp(-FOULING * ((number - 1) % CLEAN_EVERY)))
        wet = 1.0 if number > 140 else 0.0
        base = dict(self.described) | LOSSES
        base |= {f"sections.{s}.hours": running(p) for s, p in parts.items()}
        base["cane yard.sucrose"] = SUCROSE_OF_DESCRIPTION + (ccs - CCS_OF_DESCRIPTION)
        base["cane yard.fibre"] = 13.2 + 1.4 * season
        base["cane yard.other"] += 0.1 * wet
        base["crystallisers C.mother_liquor_purity"] += 0.25 * wet
        base["target.effect 5.concentrated dry substance"] -= 0.1 * ((number - 1) % CLEAN_EVERY)
        base |= {name: self.described[name] * 1.08 * fouled for name in EFFECTS}
        for name, departure in self.daily.step().items():
            base[name] += departure
        return base, parts

    def _day(self, number: int, base: Mapping[str, float], parts: Mapping[str, Sequence[Period]]) -> TrueDay:
        middle = self._solved(dict(base), self.start.scaled)
        start, states, weights = middle, [], []
        for hour in range(24):
            start = self._solved(self._hour(number, hour, base), start)
            states.append(start)
            weights.append(running(parts["mill"], 60 * hour, 60 * hour + 60) + 1e-9)
        self.start = State(self.plant.assembly, self.plant.model.named(start), start, "newton")
        shifts = tuple(np.average(states[k : k + 8], axis=0, weights=weights[k : k + 8]) for k in (0, 8, 16))
        mean = np.average(states, axis=0, weights=weights)
        pure = self._without_false_grain(number, base, middle)
        return TrueDay(number, mean, shifts, parts, pure)

    def _hour(self, number: int, hour: int, base: Mapping[str, float]) -> dict[str, float]:
        wanted = dict(base)
        for name, departure in self.hourly.step().items():
            wanted[name] += departure
        rate = wanted["cane yard.rate"] - self.described["cane yard.rate"]
        points = EXTRACTION_FALL * rate + self.own.step()["extraction"]
        for name in MILLS:
            wanted[name] += points / self.slope
        sugar = wanted["cane yard.rate"] * wanted["cane yard.sucrose"] / 100.0
        gone = ENTRAINED_RATE if self.variant.on("C", number) else 0.0
        if self.variant.on("D", number):
            gone += leak_of(number + hour / 24.0) * LEAK_JUICE * LEAK_BRIX * LEAK_PURITY / 1e4
        wanted["boiling house loss.loss"] += 100.0 * gone / (0.94 * sugar)
        if self.variant.on("E", number):
            self._grained(wanted)
        return wanted

    @staticmethod
    def _grained(wanted: dict[str, float]) -> None:
        wanted["crystallisers C.mother_liquor_purity"] += PURER * STRIKES_SHARE
        wanted["pan C.mother_liquor_purity"] += PURER * STRIKES_SHARE
        wanted["centrifugals C.film"] += 1.5

    def _without_false_grain(self, number: int, base: Mapping[str, float], middle: Vector) -> Vector | None:
        """The difference that false grain makes to the day's mean settings; None on other days."""
        if not self.variant.on("E", number):
            return None
        with_it = dict(base)
        self._grained(with_it)
        return np.asarray(self._solved(with_it, middle) - middle)

    def _solved(self, wanted: Mapping[str, float], start: Vector) -> Vector:
        """The state at these settings; where the plant cannot run so, half way to the one before, and so on."""
        model = self.plant.model
        held = np.array([model.index[v.name] for v in model.settings])
        goal = np.array([wanted[v.name] for v in model.settings]) / model.nominal[held]
        first = start[held].copy()
        hours = [i for i, v in enumerate(model.settings) if v.name.startswith("sections.")]
        first[hours] = goal[hours]
        for part in (1.0, 0.5, 0.25, 0.125, 0.0):
            begin = start.copy()
            begin[held] = first + part * (goal - first)
            reached = newton(model, begin)
            gap = np.max(np.abs(np.asarray(model.residual(reached)).ravel()))
            if gap <= RESIDUAL and not model.outside(reached):
                self.not_as_wanted += part < 1.0
                return np.asarray(reached)
        raise RuntimeError(f"the plant does not run at the settings of the hour, nor at those before: gap {gap:.1e}")
