"""Repeated days of the demo plant with known truth: does the reconciliation find a biased weigher and stay honest?

The truth of each day is the plant solved at settings drawn from their priors; draws that the plant cannot run (a
valve or a branch would have to flow backwards) are drawn again and counted. Readings are the truth with noise of the
declared uncertainty.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import numpy as np

import canewright
from canewright.accounts.specifications import Specification, specifications_for
from canewright.accounts.totals import Totals
from canewright.engine import NotSolved
from canewright.engine.model import Expressions, Values
from canewright.engine.solve import RESIDUAL, newton
from canewright.plant.plant import Plant, Reconciled, State
from canewright.quantity import Num, noting_breaches

DEMO_PLANT = Path(canewright.__file__).parent / "demo_data" / "plant.toml"
CANE, JUICE = "cane weight", "mixed juice weight"
BIAS = 0.03
WIDTH = 1.6448536269514722
"""Half width of a 90 % interval in standard uncertainties (definition of the normal distribution)."""


@dataclass
class Counts:
    """What was found over a number of days."""

    draws: int = 0
    refused_truths: int = 0
    limits_met: Counter[str] = field(default_factory=Counter)
    false_alarms: int = 0
    false_alarm_meters: Counter[str] = field(default_factory=Counter)
    days_at_limit: int = 0
    at_limit: Counter[str] = field(default_factory=Counter)
    not_solved: list[str] = field(default_factory=list)
    global_passes: int = 0
    found: Counter[str] = field(default_factory=Counter)
    first: Counter[str] = field(default_factory=Counter)
    itself: Counter[str] = field(default_factory=Counter)
    anything: Counter[str] = field(default_factory=Counter)
    covered: Counter[str] = field(default_factory=Counter)
    asked: Counter[str] = field(default_factory=Counter)
    z: dict[str, list[float]] = field(default_factory=dict)

    @property
    def coverage(self) -> float:
        """Share of the 90 % intervals of all day-sheet figures that cover the truth."""
        return sum(self.covered.values()) / sum(self.asked.values())


RATES = {"cane yard.rate", "imbibition.on_fibre", "raw store.rate", "rakes.rate", "turbine.steam_flow"}
"""Rates that a person sets. Their priors are wide, so that the day's weights decide; days are nearer the plan."""
NEAR_PLAN = 0.25
"""Spread of the true rates on that of their priors: beyond it this plant's evaporators cannot follow."""


class Trial:
    """The demo plant, asked day after day."""

    def __init__(self, seed: int, text: str | None = None) -> None:
        """Solve the plant (the demo plant, or another description) once; draws follow from the seed alone."""
        self.plant = Plant.from_text(DEMO_PLANT.read_text(encoding="utf-8") if text is None else text)
        self.base = self.plant.predict()
        self.chance = np.random.default_rng(seed)
        self.counts = Counts()
        self.names = [s.name for s in self._specifications]

    @cached_property
    def _specifications(self) -> list[Specification]:
        return list(specifications_for(self.plant.description.roles))

    def _build(self, values: Values) -> list[Num]:
        totals = Totals(self.plant.assembly, values)
        return [s.combine(*s.totals(totals)) for s in self._specifications]

    @cached_property
    def figures(self) -> Expressions:
        """The figures of the day sheet."""
        with noting_breaches():
            return self.plant.model.expressions(self._build)

    @cached_property
    def readings(self) -> Expressions:
        """What every meter reads."""
        return self.plant.measure(self.plant.description.meters)

    def truth(self) -> State:
        """A day that the plant can run, at settings drawn from their priors."""
        while True:
            drawn = {name: self._within(name, *prior) for name, prior in self.plant.priors().items()}
            reached = newton(self.plant.model, self.plant.model.scaled({**self.base.values, **drawn}))
            gap = np.max(np.abs(np.asarray(self.plant.model.residual(reached)).ravel()))
            outside = self.plant.model.outside(reached) if gap <= RESIDUAL else []
            if gap <= RESIDUAL and not outside:
                return State(self.plant.assembly, self.plant.model.named(reached), reached, "newton")
            self.counts.refused_truths += 1
            self.counts.limits_met.update([v.name for v, _ in outside] or ["not solved"])

    def _within(self, name: str, value: float, sd: float) -> float:
        variable = self.plant.model.variables[self.plant.model.index[name]]
        if name in RATES:
            sd *= NEAR_PLAN
        while True:
            drawn = float(self.chance.normal(value, sd))
            if variable.low <= drawn <= variable.high:
                return drawn

    def noisy(self, truth: State) -> dict[str, float]:
        """Readings of every meter with noise of its declared uncertainty."""
        exact = self.readings.at(truth.scaled)
        meters = self.plant.description.meters
        noise = self.chance.standard_normal(len(meters))
        return {
            m.tag: float(x + m.standard_uncertainty(float(x)) * e) for m, x, e in zip(meters, exact, noise, strict=True)
        }

    def reconciled(self, readings: Mapping[str, float], start: State) -> Reconciled | None:
        """The reconciled day, or None where no state was found (noted)."""
        try:
            return self.plant.reconcile(readings, start=start)
        except NotSolved as lack:
            self.counts.not_solved.append(str(lack))
            return None

    def day(self) -> None:
        """One truth, read three times over the same noise: as it is, cane weigher biased, juice weigher biased."""
        truth = self.truth()
        readings = self.noisy(truth)
        counts = self.counts
        counts.draws += 1
        clean = self.reconciled(readings, self.base)
        if clean is not None:
            self._judge_clean(clean, truth)
        for tag in (CANE, JUICE):
            for sign in self._signs():
                biased = {**readings, tag: readings[tag] * (1 + sign * BIAS)}
                day = self.reconciled(biased, clean.state if clean is not None else self.base)
                if day is not None:
                    self._judge_biased(day, tag)

    def _signs(self) -> Iterator[float]:
        yield 1.0 if self.counts.draws % 2 else -1.0

    def _judge_clean(self, day: Reconciled, truth: State) -> None:
        counts = self.counts
        flagged = [s.name for s in day.result.suspicions if s.flagged]
        counts.false_alarms += bool(flagged)
        counts.false_alarm_meters.update(flagged)
        counts.days_at_limit += bool(day.result.at_bound)
        counts.at_limit.update(day.result.at_bound)
        counts.global_passes += day.result.global_passes
        value, sd = day.result.uncertainty(self.figures)
        exact = self.figures.at(truth.scaled)
        for name, x, u, t in zip(self.names, value, sd, exact, strict=True):
            if not (np.isfinite(u) and np.isfinite(t)) or u <= 1e-12 * abs(t):
                continue
            counts.asked[name] += 1
            counts.covered[name] += bool(abs(x - t) <= WIDTH * u)
            counts.z.setdefault(name, []).append(float((x - t) / u))

    def _judge_biased(self, day: Reconciled, tag: str) -> None:
        counts = self.counts
        flagged = [s.name for s in day.result.suspicions if s.flagged]
        counts.anything[tag] += bool(flagged)
        counts.itself[tag] += tag in flagged
        counts.found[tag] += bool({CANE, JUICE} & set(flagged))
        counts.first[tag] += bool(flagged) and flagged[0] == tag
