"""Assumed settings estimated from many days at once.

What is computed: the most likely values, given every reading of every day, of three sorts of things together,

- settings taken to be the same on all days (``steady``), each with its prior of the description, **once** for all days;
- the mean, over days, of settings that differ from day to day by nature (cane, losses, targets held by hand), or that
  were found to differ; each day has its own value around that mean, within the uncertainty of the description;
- an error of each meter that is common to all days, ``COMMON_PART`` of its variance; only the rest is new every day.
  Without it a week of readings of one weigher would count as seven weighers.

Every other loose setting has a value of its own each day, within its prior. For given common unknowns a day is an
ordinary reconciliation; its gradient in the common unknowns is exact (the day's own unknowns are at their optimum), its
curvature the Gauss-Newton one with the day's own unknowns projected out. The days' gradients and curvatures add up, the
prior is added once, and the step is taken until it is small beside the uncertainty left. The covariance is the inverse
of the summed curvature: first order, as in a single reconciliation.

Whether a steady setting is steady is tested by the days' gradients, whose squares over their expected sizes add up to
chi-square. One that fails is taken to differ from day to day, and the fit is made again.

Source of the method: variable projection (Golub & Pereyra, SIAM J. Numer. Anal. 10 (1973) 413) and the nuisance
parameters of linear models (both from memory); the tests recover known truths and compare with one large system.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from canewright.engine import Measured, NotSolved, Reconciliation, reconcile
from canewright.engine.model import Expressions, Vector
from canewright.engine.sensitivity import total_slope
from canewright.engine.spread import Matrix
from canewright.plant.assumptions import Assumption, assumptions
from canewright.plant.metering import COMMON_PART
from canewright.plant.plant import Plant

CLOSE = 1e-3
"""Largest last step, in units of the uncertainty left."""
MOST_STEPS = 25
LEVEL = 0.99
"""Probability with which a truly steady setting passes the test of steadiness, over all settings tested."""
TELLS = 0.1
"""Least part of the prior's information that the days must add before steadiness is tested."""
MOST_VARYING = 8
"""How many settings may be found to differ from day to day before the fit is given back as it is."""
LEAST_DAYS = 3


class CannotFit(ValueError):
    """A fit that cannot be made; the message says why."""


@dataclass(frozen=True)
class FitDay:
    """One day: its readings by meter tag, and the settings known for it, such as running hours."""

    day: dt.date
    readings: Mapping[str, float]
    settings: Mapping[str, float]


@dataclass(frozen=True)
class FittedSetting:
    """An assumption before and after: value and standard uncertainty, and whether it is the same on all days.

    For one that ``varies`` the new value is the mean over days, the uncertainty that of the mean, and ``daily`` the
    lowest and highest day.
    """

    assumption: Assumption
    value: float
    uncertainty: float
    varies: bool
    found_varying: bool
    daily: tuple[float, float] | None
    at_limit: bool

    @property
    def told(self) -> float:
        """Share of the prior's variance that the days took away."""
        return 1.0 - (self.uncertainty / self.assumption.uncertainty) ** 2


@dataclass(frozen=True)
class Fit:
    """What many days say of the assumptions, with the covariance of the fitted values, and the test of all readings."""

    settings: tuple[FittedSetting, ...]
    covariance: Matrix
    biases: Mapping[str, tuple[float, float]]
    days: tuple[dt.date, ...]
    left_out: Mapping[dt.date, str]
    objective: float
    freedom: int

    @property
    def level(self) -> float:
        """95 % point of chi-square for the readings of all days."""
        return float(chi2.ppf(0.95, self.freedom))

    @property
    def passes(self) -> bool:
        """Whether all readings of all days agree with the equations and the priors."""
        return self.objective <= self.level


def fit(plant: Plant, days: Sequence[FitDay], say: Callable[[str], None] = lambda _: None) -> Fit:
    """Estimate every assumed setting that has an uncertainty from the readings of these days.

    Raises CannotFit where nothing is assumed, too few days can be used, or the fit does not settle.
    """
    chosen = [a for a in assumptions(plant) if a.uncertainty > 0]
    if not chosen:
        raise CannotFit("nothing to fit: the description has no assumed setting with an uncertainty above zero")
    work = _Work(plant, chosen, days, say)
    found: set[str] = set()
    while True:
        work.settle()
        unsteady = work.unsteady() if len(found) < MOST_VARYING else None
        if unsteady is None:
            return work.result(found)
        say(f"{unsteady} differs from day to day: fitted again with a value for each day")
        found.add(unsteady)
        work.let_vary(unsteady)


@dataclass(frozen=True)
class _DayPart:
    """A day at given common unknowns: its sum of squares, gradient and curvature in them (units of their priors)."""

    objective: float
    gradient: Vector
    curvature: Matrix
    result: Reconciliation


class _Work:
    """A fit in progress. Common unknowns are counted in units of their priors, from the priors' values."""

    def __init__(
        self, plant: Plant, chosen: Sequence[Assumption], days: Sequence[FitDay], say: Callable[[str], None]
    ) -> None:
        self.plant, self.say = plant, say
        self.chosen = {a.name: a for a in chosen}
        self.varying = {a.name for a in chosen if by_nature(plant, a.name)}
        self.meters = {m.tag: m for m in plant.description.meters}
        self.names = [*self.chosen, *(f"error of {tag}" for tag in self._read_tags(days))]
        self.tags = self._read_tags(days)
        self.held: dict[str, float] = {}
        self.left_out: dict[dt.date, str] = {}
        self.expressions: dict[tuple[str, ...], Expressions] = {}
        self.starts: dict[dt.date, Vector] = {}
        self.spreads: dict[dt.date, dict[str, float]] = {}
        self.days = [d for d in days if self._usable(d)]
        self._enough()
        self.z = np.zeros(len(self.names))
        self.parts: list[_DayPart] = []

    @staticmethod
    def _read_tags(days: Sequence[FitDay]) -> list[str]:
        return list(dict.fromkeys(tag for d in days for tag in d.readings))

    def _enough(self) -> None:
        if len(self.days) < LEAST_DAYS:
            why = "; ".join(f"{day}: {reason}" for day, reason in self.left_out.items())
            raise CannotFit(
                f"{len(self.days)} days can be used, at least {LEAST_DAYS} are needed{f' ({why})' if why else ''}"
            )

    def _usable(self, day: FitDay) -> bool:
        """Whether the day can be predicted; its start, and its readings' uncertainties, are kept."""
        try:
            state = self.plant.predict(day.settings)
        except NotSolved as lack:
            self.left_out[day.day] = str(lack)
            return False
        self.starts[day.day] = self.plant.model.scaled({**state.values, **self.plant.settings(day.settings)})
        expected = self._measuring(day).at(self.starts[day.day])
        self.spreads[day.day] = {
            tag: self.meters[tag].standard_uncertainty(float(x)) for tag, x in zip(day.readings, expected, strict=True)
        }
        return True

    def _measuring(self, day: FitDay) -> Expressions:
        tags = tuple(day.readings)
        if tags not in self.expressions:
            wanted = [(self.meters[t].stream, self.meters[t].quantity) for t in tags]
            assembly = self.plant.assembly
            self.expressions[tags] = self.plant.model.expressions(
                lambda v: [assembly.measured(stream, quantity, v) for stream, quantity in wanted]
            )
        return self.expressions[tags]

    # --- one day ------------------------------------------------------------------------------------------------

    @property
    def steady(self) -> list[str]:
        """Settings that are the same on all days."""
        return [n for n in self.chosen if n not in self.varying]

    def value(self, name: str, z: Vector) -> float:
        """A chosen setting, or its mean over days."""
        a = self.chosen[name]
        return a.value + a.uncertainty * float(z[self.names.index(name)])

    def _day(self, day: FitDay, z: Vector) -> _DayPart:
        spread, model = self.spreads[day.day], self.plant.model
        sd = np.array([spread[t] for t in day.readings])
        error = np.array([z[self.names.index(f"error of {t}")] for t in day.readings]) * np.sqrt(COMMON_PART) * sd
        rest = np.sqrt(1.0 - COMMON_PART) * sd
        read = np.array(list(day.readings.values())) - error
        measured = [Measured(t, float(x), float(s)) for t, x, s in zip(day.readings, read, rest, strict=True)]
        priors = {n: p for n, p in self.plant.priors(day.settings).items() if n not in self.chosen or n in self.varying}
        priors |= {n: (self.value(n, z), self.chosen[n].uncertainty) for n in self.varying}
        start = self.starts[day.day].copy()
        for name in self.steady:
            at = model.index[name]
            start[at] = self.value(name, z) / model.nominal[at]
        result = reconcile(model, self._measuring(day), measured, priors, start)
        self.starts[day.day] = result.scaled
        return self._part(day, result, sd, rest)

    def _part(self, day: FitDay, result: Reconciliation, sd: Vector, rest: Vector) -> _DayPart:
        """Gradient and curvature in the common unknowns, the day's own unknowns projected out."""
        count, columns = len(sd), np.zeros((result.rows.shape[0], len(self.names)))
        steady = self.steady
        if steady:
            slope = total_slope(self.plant.model, self._measuring(day), result.scaled, steady)
            sizes = [self.chosen[n].uncertainty / self.plant.model.nominal[self.plant.model.index[n]] for n in steady]
            columns[:count, [self.names.index(n) for n in steady]] = slope * np.array(sizes) / rest[:, None]
        for i, tag in enumerate(day.readings):
            columns[i, self.names.index(f"error of {tag}")] = np.sqrt(COMMON_PART) * sd[i] / rest[i]
        for name in self.varying:
            columns[count + result.free.index(name), self.names.index(name)] = -1.0
        gaps = np.concatenate([result.adjustments, result.prior_adjustments])
        own, _ = np.linalg.qr(result.rows)
        left = columns - own @ (own.T @ columns)
        return _DayPart(result.objective, columns.T @ gaps, left.T @ left, result)

    # --- all days -----------------------------------------------------------------------------------------------

    def settle(self) -> None:
        """Step until the common unknowns settle.

        Raises CannotFit where they do not.
        """
        merit = self._all(self.z)
        for step in range(1, MOST_STEPS + 1):
            change = self._change()
            small = np.max(np.abs(change) / self._deviations(), initial=0.0)
            self.say(f"step {step}: {len(self.days)} days, largest change {small:.2g} standard uncertainties")
            if small < CLOSE:
                return
            merit = self._step(change, merit)
        raise CannotFit(f"the fit did not settle in {MOST_STEPS} steps; look at the days one by one first")

    def _step(self, change: Vector, merit: float) -> float:
        fraction = 1.0
        before = self.z.copy()
        while fraction > 1e-3:
            after = self._all(self._within(before + fraction * change))
            if after <= merit * (1 + 1e-9) + 1e-9:
                return after
            fraction /= 2
        self._all(before)
        raise CannotFit("the fit did not settle: no step improves it; look at the days one by one first")

    def _within(self, z: Vector) -> Vector:
        """Settings beyond a limit are held at it from now on."""
        for name, a in self.chosen.items():
            at = self.names.index(name)
            variable = self.plant.model.variables[self.plant.model.index[name]]
            low, high = ((limit - a.value) / a.uncertainty for limit in (variable.low, variable.high))
            if not low <= z[at] <= high:
                z[at] = self.held[name] = min(max(z[at], low), high)
        return z

    def _all(self, z: Vector) -> float:
        """Every day at these common unknowns; the whole sum of squares. A day without a state is left out."""
        parts = []
        for day in list(self.days):
            try:
                part = self._day(day, z)
            except NotSolved as lack:
                part, self.left_out[day.day] = None, str(lack)
            if part is not None and part.result.at_bound:
                self.left_out[day.day] = f"held at a limit: {', '.join(part.result.at_bound[:3])}"
                part = None
            if part is None:
                self.days.remove(day)
            else:
                parts.append(part)
        self._enough()
        self.parts, self.z = parts, z
        return sum(p.objective for p in parts) + float(np.sum(z**2))

    @property
    def _loose(self) -> NDArray[np.int_]:
        return np.array([i for i, n in enumerate(self.names) if n not in self.held], dtype=int)

    def _curvature(self) -> Matrix:
        total = sum((p.curvature for p in self.parts), start=np.eye(len(self.names)))
        return np.asarray(total)[np.ix_(self._loose, self._loose)]

    def _change(self) -> Vector:
        downhill = sum((p.gradient for p in self.parts), start=-self.z)
        change = np.zeros(len(self.names))
        change[self._loose] = np.linalg.solve(self._curvature(), np.asarray(downhill)[self._loose])
        return change

    def covariance(self) -> Matrix:
        """Covariance of the common unknowns, in units of their priors; nothing of what is held at a limit."""
        found = np.zeros((len(self.names), len(self.names)))
        found[np.ix_(self._loose, self._loose)] = np.linalg.inv(self._curvature())
        return found

    def _deviations(self) -> Vector:
        return np.asarray(np.sqrt(np.maximum(np.diag(self.covariance()), 1e-6)))

    # --- steadiness ---------------------------------------------------------------------------------------------

    def unsteady(self) -> str | None:
        """The steady setting whose days disagree most beyond what readings explain; None where all agree."""
        steady = [n for n in self.steady if n not in self.held]
        at = [self.names.index(n) for n in steady]
        sizes = np.array([np.diag(p.curvature)[at] for p in self.parts])
        pulls = np.array([p.gradient[at] for p in self.parts])
        told = sizes.sum(axis=0) > TELLS
        if not np.any(told):
            return None
        mean = pulls.sum(axis=0) / np.maximum(sizes.sum(axis=0), 1e-12)
        apart = (pulls - sizes * mean) ** 2 / np.maximum(sizes, 1e-12)
        test = np.where(told, apart.sum(axis=0), 0.0)
        level = chi2.ppf(LEVEL ** (1.0 / int(told.sum())), len(self.parts) - 1)
        worst = int(np.argmax(test))
        return steady[worst] if test[worst] > level else None

    def let_vary(self, name: str) -> None:
        """Give a setting a value for each day, around a mean that is fitted."""
        self.varying.add(name)

    # --- the answer -----------------------------------------------------------------------------------------------

    def result(self, found: set[str]) -> Fit:
        """Values and covariance in the settings' own units."""
        covariance = self.covariance()
        sizes = np.array([a.uncertainty for a in self.chosen.values()])
        spread = np.sqrt(np.diag(covariance))
        rows = []
        for i, (name, a) in enumerate(self.chosen.items()):
            daily = [p.result.values[name] for p in self.parts] if name in self.varying else []
            rows.append(
                FittedSetting(
                    a, self.value(name, self.z), float(sizes[i] * spread[i]), name in self.varying, name in found,
                    (min(daily), max(daily)) if daily else None, name in self.held,
                )
            )  # fmt: skip
        n = len(sizes)
        biases = {
            tag: (float(self.z[n + i]) * np.sqrt(COMMON_PART), float(spread[n + i]) * np.sqrt(COMMON_PART))
            for i, tag in enumerate(self.tags)
        }
        objective = float(sum(p.objective for p in self.parts) + np.sum(self.z**2))
        readings = sum(len(d.readings) for d in self.days)
        return Fit(
            tuple(rows), covariance[:n, :n] * np.outer(sizes, sizes), biases, tuple(d.day for d in self.days),
            self.left_out, objective, readings,
        )  # fmt: skip


def by_nature(plant: Plant, name: str) -> bool:
    """Whether a setting differs from day to day by what it is: what is delivered, losses, what people hold."""
    if name.startswith("target.") or plant.assembly.unit_of[name] == "t/h":
        return True
    station = plant.description.stations.get(name.partition(".")[0])
    return station is not None and (station.kind.boundary or station.kind.kind.startswith("undetermined"))
