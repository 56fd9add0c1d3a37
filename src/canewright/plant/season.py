"""A season of days smoothed together: how slow settings and meters' errors went, with what changed and when.

Each day is reconciled on its own, from the state of the day before; along straight lines at its answer its readings
tell of the slow quantities, once the day's own unknowns are let free within their priors. ``engine.changes`` joins the
days. A meter's slow error is its lasting part (``COMMON_PART`` of its variance); only the rest is new every day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.linalg import solve_triangular

from canewright.engine import NotSolved, Reconciliation
from canewright.engine.changes import Altered, altered
from canewright.engine.season import Change, Day, Told, Walk, rows_of
from canewright.engine.spread import Matrix, Vector
from canewright.plant.metering import COMMON_PART
from canewright.plant.plant import Plant, State
from canewright.plant.slow import BIAS, GAIN, SETTING, Slow, slow_quantities

TELLS = 0.1
"""Information on a slow quantity, in units of what is known before, that its days must add for it to be kept: a change
of some three times its first uncertainty is then told."""
MOST = 100
"""Slow quantities that are kept by default at most: those of which the season tells most."""
FIRST_PACE = 0.03
"""Pace from which the estimate begins, as part of the first uncertainty, a day."""
LEAST_DAYS = 3
TOLD_EVERY = 5


class CannotSmooth(ValueError):
    """A season that cannot be smoothed; the message says why and what to do."""


@dataclass(frozen=True)
class SeasonDay:
    """One day: readings by meter tag, the settings known for it, and uncertainties where they are settled already."""

    day: dt.date
    readings: Mapping[str, float]
    settings: Mapping[str, float] = field(default_factory=dict)
    uncertainties: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Known:
    """What all other days say of a slow quantity on one day."""

    slow: Slow
    value: float
    uncertainty: float


@dataclass(frozen=True)
class Course:
    """The smoothed season: every calendar day from the first to the last, and every slow quantity kept.

    ``left_out`` says, by day, why its readings could not be used; ``without`` are days that have none.
    """

    days: tuple[dt.date, ...]
    slow: tuple[Slow, ...]
    answer: Altered
    left_out: Mapping[dt.date, str]
    without: tuple[dt.date, ...]
    untold: tuple[str, ...]

    @property
    def values(self) -> Matrix:
        """Most likely value of each slow quantity (columns) on each day (rows)."""
        return self.answer.mean

    @property
    def uncertainties(self) -> Matrix:
        """Standard uncertainty of each."""
        return self.answer.uncertainty

    @property
    def pace(self) -> Vector:
        """Standard step of each from day to day, as estimated."""
        return self.answer.walk.pace

    @property
    def changes(self) -> tuple[Change, ...]:
        """Steps and drifts, in order of their days."""
        return tuple(sorted(self.answer.changes, key=lambda c: (c.begins, c.name)))

    def of(self, change: Change) -> Slow:
        """The slow quantity that changed."""
        return next(s for s in self.slow if s.key == change.name)

    def known_without(self, day: dt.date) -> list[Known]:
        """What the other days say of each slow quantity on a day. Raises ValueError for a day outside the season."""
        value, covariance = self.answer.without_own(self.days.index(day))
        spread = np.sqrt(np.diagonal(covariance))
        return [Known(s, float(v), float(u)) for s, v, u in zip(self.slow, value, spread, strict=True)]


def smooth(plant: Plant, days: Sequence[SeasonDay], say: Callable[[str], None] = lambda _: None) -> Course:
    """Smooth a season together.

    Raises CannotSmooth where no readings are given, nothing may change slowly, too few days reconcile, or the days
    tell nothing of any slow quantity.
    """
    read = sorted((d for d in days if d.readings), key=lambda d: d.day)
    if not read:
        raise CannotSmooth(
            "none of the days has a usable reading: every one is missing or bad; enter or correct some first"
        )
    work = _Work(plant, read, say)
    work.reconcile_days()
    return work.course()


class _Work:
    """A season being smoothed."""

    def __init__(self, plant: Plant, days: Sequence[SeasonDay], say: Callable[[str], None]) -> None:
        self.plant, self.days, self.say = plant, days, say
        self.candidates = slow_quantities(plant)
        if not self.candidates:
            raise CannotSmooth("nothing may change slowly: [season] names no setting and no meter")
        self.told: dict[dt.date, Told] = {}
        self.left_out: dict[dt.date, str] = {}

    def reconcile_days(self) -> None:
        """Every day on its own, each from the state of the one before."""
        state: State | None = None
        for number, day in enumerate(self.days, start=1):
            if number % TOLD_EVERY == 1:
                self.say(f"reconciling day {number} of {len(self.days)}: {day.day}")
            found = self._reconciled(day, state)
            if found is not None:
                state, result = found
                self.told[day.day] = self._told(result)
        if len(self.told) < LEAST_DAYS:
            why = "; ".join(f"{day}: {reason}" for day, reason in list(self.left_out.items())[:3])
            raise CannotSmooth(
                f"{len(self.told)} of {len(self.days)} days reconcile, at least {LEAST_DAYS} are needed"
                f"{f' ({why})' if why else ''}; close or mend more days first"
            )

    def _reconciled(self, day: SeasonDay, start: State | None) -> tuple[State, Reconciliation] | None:
        """The day's state and result; None, with the reason kept, where it has no state within limits."""
        for begin in (start, None) if start is not None else (None,):
            try:
                found = self.plant.reconcile(day.readings, day.settings, begin, day.uncertainties)
            except NotSolved as lack:
                why = str(lack)
                continue
            if not found.result.at_bound:
                return found.state, found.result
            why = f"held at a limit: {', '.join(found.result.at_bound[:3])}"
        self.left_out[day.day] = why
        return None

    def _told(self, result: Reconciliation) -> Told:
        """What the day tells of every candidate; nothing of a meter that was not read."""
        read = {m.name for m in result.measured}
        settings, gains, biases = (
            [s.name for s in self.candidates if s.kind == kind and (kind == SETTING or s.name in read)]
            for kind in (SETTING, GAIN, BIAS)
        )
        told = rows_of(result, settings, gains, biases, COMMON_PART)
        rows = np.zeros((len(told.missed), len(self.candidates)))
        present = [(SETTING, n) for n in settings] + [(GAIN, n) for n in gains] + [(BIAS, n) for n in biases]
        rows[:, [self._place[one] for one in present]] = told.rows
        return Told(rows, told.missed)

    @cached_property
    def _place(self) -> dict[tuple[str, str], int]:
        return {(s.kind, s.name): i for i, s in enumerate(self.candidates)}

    # --- all days together ------------------------------------------------------------------------------------------

    def course(self) -> Course:
        """The season from the days' answers."""
        self.say(f"joining {len(self.told)} days")
        kept = self._kept()
        slow = [self.candidates[i] for i in kept]
        others = {
            i: (s.first, s.uncertainty)
            for i, s in enumerate(self.candidates)
            if i not in set(kept) and s.kind == SETTING
        }
        others |= {
            i: (0.0, s.uncertainty) for i, s in enumerate(self.candidates) if i not in set(kept) and s.kind != SETTING
        }
        first, last = min(self.told), max(self.told)
        calendar = [first + dt.timedelta(days=t) for t in range((last - first).days + 1)]
        days = [self.told[d].day(kept, others) if d in self.told else Day.silent(len(kept)) for d in calendar]
        spread = np.array([s.uncertainty for s in slow])
        walk = Walk(tuple(s.key for s in slow), np.array([s.first for s in slow]), spread, FIRST_PACE * spread)
        answer = altered(walk, days, say=lambda what: self.say(f"found {what}"))
        read = {d.day for d in self.days}
        untold = tuple(s.key for i, s in enumerate(self.candidates) if i not in set(kept))
        without = tuple(d for d in calendar if d not in read)
        return Course(tuple(calendar), tuple(slow), answer, dict(self.left_out), without, untold)

    def _kept(self) -> list[int]:
        """The candidates to follow: those that the description names, else those of which the days tell most."""
        given = self.plant.description.season
        share = self._shares()
        named = {SETTING: given.settings is not None, GAIN: given.meters is not None, BIAS: given.meters is not None}
        free = [i for i, s in enumerate(self.candidates) if not named[s.kind] and share[i] > TELLS]
        most = sorted(free, key=lambda i: -share[i])[:MOST]
        kept = [i for i, s in enumerate(self.candidates) if named[s.kind] or i in set(most)]
        if not kept:
            raise CannotSmooth(
                "the days tell nothing of any slow quantity: no meter is checked by others and no setting is measured; "
                "canewright plant check says which meters would tell"
            )
        return kept

    def _shares(self) -> Vector:
        """What the days say of each candidate alone, all else new every day, in units of what is known before."""
        spread = np.array([s.uncertainty for s in self.candidates])
        total = np.zeros(len(spread))
        for told in self.told.values():
            rows = told.rows * spread
            left = np.linalg.cholesky(np.eye(len(rows)) + rows @ rows.T)
            own = np.sum(solve_triangular(left, rows, lower=True) ** 2, axis=0)
            total += own / (1.0 - own)
        return np.asarray(total)
