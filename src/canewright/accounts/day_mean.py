"""The mean of a day from readings that each stand for a part of it.

A sample or reading taken at a time stands for what passed since the one before (since the cut hour for the first); the
last one also for the rest of the day. Where the same stream was weighed for just these parts, tonnes weigh; else hours.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Mapping, Sequence

from canewright.accounts.dayfiles import FactoryDay
from canewright.quantity import Figure
from canewright.quantity.figure import Source

Timed = tuple[dt.datetime, Figure]
BY_TONNES = "mean of the day, each part by the tonnes weighed in it"
ALIKE = 1e-9
"""Weights that differ by less, relative to their sum, are alike."""


def day_mean(
    name: str, parts: Sequence[Timed], unit: str, window: FactoryDay, tonnes: Mapping[dt.datetime, Figure]
) -> Figure:
    """The mean of a day's readings, each by the tonnes or hours that it stands for.

    ``tonnes`` by time weigh where they are known for just these parts; the mean then answers to them as well. A single
    reading is the day's figure as it stands.
    """
    ordered = sorted(parts, key=lambda part: part[0])
    if len(ordered) == 1:
        return ordered[0][1]
    times, decimals = [time for time, _ in ordered], ordered[0][1].decimals
    values = [float(figure.value or 0.0) for _, figure in ordered]
    masses = [float(tonnes[time].value or 0.0) for time in times if time in tonnes]
    if set(times) == set(tonnes) and all(mass > 0 for mass in masses):
        whole = sum(masses)
        value = sum(m * v for m, v in zip(masses, values, strict=True)) / whole
        inputs = [Source(figure, m / whole, m / whole) for m, (_, figure) in zip(masses, ordered, strict=True)]
        inputs += [Source(tonnes[t], (v - value) / whole, 0.0) for t, v in zip(times, values, strict=True)]
        return Figure(name, value, unit, None, BY_TONNES, tuple(inputs), decimals=decimals)
    weights, by = _by_hours(times, window)
    value = sum(w * v for w, v in zip(weights, values, strict=True))
    inputs = [Source(figure, w, w) for w, (_, figure) in zip(weights, ordered, strict=True)]
    return Figure(name, value, unit, None, by, tuple(inputs), decimals=decimals)


def _by_hours(times: Sequence[dt.datetime], window: FactoryDay) -> tuple[list[float], str]:
    """Weights that sum to one, and what they go by."""
    marks = [window.start, *times[:-1], max(times[-1], window.end)]
    hours = [max((later - earlier).total_seconds(), 0.0) for earlier, later in itertools.pairwise(marks)]
    if sum(hours) <= 0 or max(hours) - min(hours) <= ALIKE * sum(hours):
        return [1.0 / len(times)] * len(times), "mean of the day, each part alike"
    return [one / sum(hours) for one in hours], "mean of the day, each part by its hours"
