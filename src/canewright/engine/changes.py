"""Sudden steps and drifts in a season: found by their tests, dated, and sized together with the walk.

A change is one more unknown: its size, times a shape over the days (nothing before, all after, a straight rise
between). The walk explains a change badly, by many steps that all go one way; the test is how much better the readings
are explained with it. The steps of the smoothed walk over a stretch of days, and their covariance, give the test of
every stretch at once (Harvey and Koopman, J. Am. Stat. Assoc. 87 (1992) 1106, from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from canewright.engine.hypotheses import level
from canewright.engine.season import WITHIN, Change, Day, Smoothed, Walk, with_pace
from canewright.engine.spread import Matrix, Vector

SHORTEST = 7
"""Days that a drift lasts at least; what is quicker is told as a step."""
MOST = 8
"""Changes looked for at most."""
MOVED = 1.0
"""A quantity that moves over the season by less than this many of its uncertainties is not searched for changes."""
ROUNDS = 20
"""Rounds of estimating the pace, each time from the pace given: with a change allowed for it is another."""
TRIED = 4
"""Candidates, the likeliest first, that are tried before the search is given up."""


def shape(change: Change, count: int) -> Vector:
    """How much of a change there is on each of so many days, 0 to 1."""
    days = np.arange(count)
    if change.kind == "step":
        return (days >= change.begins).astype(float)
    return np.asarray(np.clip((days - change.begins) / (change.ends - change.begins), 0.0, 1.0))


class Altered:
    """The most likely course of slow quantities that walk and, beside, change: everything estimated together."""

    def __init__(self, walk: Walk, days: Sequence[Day], changes: Sequence[Change] = ()) -> None:
        """Solve the walk, then the sizes of the changes. Raises ValueError where there is no day."""
        self.walk, self.days = walk, tuple(days)
        self.plain = Smoothed(walk, days)
        self._given = tuple(changes)
        count, width = len(days), len(walk.names)
        self._shapes = np.zeros((len(changes), count, width))
        for i, change in enumerate(changes):
            self._shapes[i, :, walk.names.index(change.name)] = shape(change, count)
        felt = [np.array([d.information @ s for d, s in zip(days, one, strict=True)]) for one in self._shapes]
        self._beyond = [one - self.plain.solved(f) for one, f in zip(self._shapes, felt, strict=True)]
        normal = np.array([[float(np.sum(f * b)) for b in self._beyond] for f in felt]).reshape(
            len(changes), len(changes)
        )
        course = self.plain.mean
        left = np.array([d.pull - d.information @ x for d, x in zip(days, course, strict=True)])
        self._covariance = (
            np.linalg.pinv(0.5 * (normal + normal.T), hermitian=True) if len(changes) else np.zeros((0, 0))
        )
        self._sizes = self._covariance @ np.array([float(np.sum(one * left)) for one in self._shapes])

    @property
    def changes(self) -> tuple[Change, ...]:
        """The changes with their sizes, estimated together."""
        spread = np.sqrt(np.maximum(np.diagonal(self._covariance), 1e-300))
        return tuple(
            replace(c, size=float(b), uncertainty=float(s))
            for c, b, s in zip(self._given, self._sizes, spread, strict=True)
        )

    @cached_property
    def mean(self) -> Matrix:
        """Most likely value of each quantity on each day."""
        return self.plain.mean + sum(
            (b * beyond for b, beyond in zip(self._sizes, self._beyond, strict=True)), np.zeros_like(self.plain.mean)
        )

    def covariance(self, day: int) -> Matrix:
        """Covariance of all quantities on one day, what is not known of the changes' sizes included."""
        along = np.array([beyond[day] for beyond in self._beyond]).reshape(len(self._given), len(self.walk.names))
        return np.asarray(self.plain.covariance(day) + along.T @ self._covariance @ along)

    @cached_property
    def uncertainty(self) -> Matrix:
        """Standard uncertainty of each quantity on each day."""
        return np.array([np.sqrt(np.diagonal(self.covariance(t))) for t in range(len(self.days))])

    @cached_property
    def freed(self) -> list[Day]:
        """The days as they would be without the changes."""
        gone = np.tensordot(self._sizes, self._shapes, 1) if len(self._given) else np.zeros_like(self.plain.mean)
        return [
            Day(d.information, d.pull - d.information @ g,
                d.misfit - 2.0 * float(d.pull @ g) + float(g @ d.information @ g))
            for d, g in zip(self.days, gone, strict=True)
        ]  # fmt: skip

    def without_own(self, day: int) -> tuple[Vector, Matrix]:
        """What all other days say of the quantities on one day: value and covariance.

        The day's own information is taken out of the posterior; where that leaves nothing definite it stays in.
        """
        covariance = self.covariance(day)
        inverse = np.linalg.inv(covariance)
        rest = inverse - self.days[day].information
        rest = 0.5 * (rest + rest.T)
        if np.linalg.eigvalsh(rest)[0] <= 1e-9 * float(np.trace(inverse)) / len(rest):
            return self.mean[day], covariance
        found = np.asarray(np.linalg.inv(rest), dtype=float)
        return np.asarray(found @ (inverse @ self.mean[day] - self.days[day].pull)), found


def altered(
    walk: Walk, days: Sequence[Day], names: Sequence[str] | None = None, say: Callable[[str], None] = lambda _: None
) -> Altered:
    """The season with every change that its days bear out, at the likeliest pace beside them.

    A change is looked for at a slow pace, for a walk at a quick one follows any change. It counts where the season is
    likelier with it than without, each at the pace that is likeliest then, by more than a season without any change
    gains once in twenty. ``names`` are those searched (by default all). Raises ValueError where there is no day.
    """
    searched = tuple(walk.names if names is None else names)
    gain = 0.5 * level(len(searched) * len(days)) ** 2
    paced = with_pace(walk, days, ROUNDS)
    found = Altered(paced, days)
    while len(found.changes) < MOST:
        likelier = _likelier(walk, found, searched, gain)
        if likelier is None:
            return found
        found = likelier
        say(f"a {found.changes[-1].kind} of {found.changes[-1].name}")
    return found


def _likelier(walk: Walk, now: Altered, names: Sequence[str], gain: float) -> Altered | None:
    """The season with a further change that makes it likelier by this much; None where none does."""
    freed = now.freed
    before = Smoothed(now.walk, freed)
    candidates = sorted(_candidates(walk, before, names), key=lambda c: -c.test)
    for change in candidates[:TRIED]:
        changes = [*now.changes, change]
        paced = with_pace(walk, Altered(now.walk, now.days, changes).freed, ROUNDS)
        then = Altered(paced, now.days, changes)
        if Smoothed(paced, then.freed).log_likelihood - before.log_likelihood > gain:
            return then
    return None


def _candidates(walk: Walk, course: Smoothed, names: Sequence[str]) -> Iterator[Change]:
    """The likeliest change of each quantity that moves, at a pace no quicker than the one it began with."""
    for name in names:
        k = walk.names.index(name)
        value, spread = course.mean[:, k], course.uncertainty[:, k]
        if np.ptp(value) <= MOVED * float(np.min(spread)):
            continue
        slow = course
        if course.walk.pace[k] > walk.pace[k]:
            pace = course.walk.pace.copy()
            pace[k] = walk.pace[k]
            slow = Smoothed(replace(walk, pace=pace), course.days)
        change = likeliest_change(slow, name)
        if change is not None:
            yield change


def likeliest_change(course: Smoothed, name: str, shortest: int = SHORTEST) -> Change | None:
    """The likeliest step or drift of a quantity; ``earliest`` and ``latest`` bound the day on which it began.

    None for one day only, or where the days say nothing of it.
    """
    tests, sizes, spreads = _tests(course, name)
    length = np.subtract.outer(np.arange(len(tests)), np.arange(len(tests))).T
    tests = np.where((length == 1) | (length >= shortest), tests, 0.0)
    if not tests.max(initial=0.0) > 0:
        return None
    begins, ends = np.unravel_index(int(np.argmax(tests)), tests.shape)
    best = float(tests[begins, ends])
    near = np.flatnonzero(tests.max(axis=1) > max(best - WITHIN, 0.0))
    size, spread = float(sizes[begins, ends]), float(spreads[begins, ends])
    if ends - begins == 1:
        return Change(name, "step", int(ends), int(ends), int(near[0]) + 1, int(near[-1]) + 1, size, spread)
    return Change(name, "drift", int(begins), int(ends), int(near[0]), int(near[-1]), size, spread)


def _tests(course: Smoothed, name: str) -> tuple[Matrix, Matrix, Matrix]:
    """Squared test, size and uncertainty of a change by equal amounts after each day (rows) up to each (columns)."""
    k, count = course.walk.names.index(name), len(course.days)
    pace = float(course.walk.steps[k]) ** 2
    joint = course.across_days(name)
    own = np.diagonal(joint)
    length = np.subtract.outer(np.arange(count), np.arange(count)).T.astype(float)
    later = length > 0
    moved = np.subtract.outer(course.mean[:, k], course.mean[:, k]).T
    information = length / pace - (own[:, None] + own[None, :] - 2.0 * joint) / pace**2
    told = later & (information > 1e-12 * np.maximum(length, 1.0) / pace)
    safe = np.where(told, information, 1.0)
    score = np.where(told, moved / pace, 0.0)
    return score**2 / safe, score / safe * length, np.where(told, length / np.sqrt(safe), np.inf)
