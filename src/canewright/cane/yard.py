"""The mill yard: how long vehicles wait at the tippler, and how much cane stands there from hour to hour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heapify, heapreplace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STOPS_A_DAY, STOP_HOURS = 6.0, 22.0 / 60.0
"""Stops of the mill in a day and their mean length (ours, to be replaced by the mill's own record)."""
LATE_HOURS = 0.5
"""Spread of arrivals about their planned hour, h (ours)."""
DAYS_BEFORE = 1
"""Days run through before the day that is told, so that it does not hang on the opening stock alone."""


class QueueRefused(ValueError):
    """A queue that grows without end, or figures that make no queue."""


@dataclass(frozen=True)
class Queue:
    """A queue in the long run: share of vehicles that wait, and mean minutes waiting and in all."""

    waits: float
    wait_minutes: float
    whole_minutes: float


def erlang_c(arrivals: float, served: float, places: int) -> Queue:
    """Vehicles that come by chance at ``arrivals`` an hour, each of ``places`` tipplers doing ``served`` an hour.

    Erlang's formula for calls that wait: P = [A^c/c! · c/(c - A)] / [sum of A^k/k! below c + the same], A = arrivals /
    served (A. K. Erlang 1917, from memory; the formula as read in a handbook page on the Erlang C model). Real arrivals
    bunch, so that the true wait is longer. Raises QueueRefused where more comes than can be served.
    """
    if not (arrivals >= 0.0 and served > 0.0 and places >= 1):
        raise QueueRefused(f"{arrivals:g} an hour, {served:g} served, {places} places; accepted: 0 or more, above 0, 1")
    load = arrivals / served
    if load >= places:
        raise QueueRefused(
            f"{arrivals:g} vehicles an hour come and {places * served:g} can be served: the queue grows without end; "
            "add a place or shorten the tipping"
        )
    term, below = 1.0, 0.0
    for k in range(places):
        below += term
        term *= load / (k + 1)
    last = term * places / (places - load)
    waits = last / (below + last)
    wait = waits / (places * served - arrivals)
    return Queue(waits, 60.0 * wait, 60.0 * (wait + 1.0 / served))


def waits_of(arrived: Floats, service: Floats, places: int) -> Floats:
    """Hours each vehicle waits, first come first served, at ``places`` tipplers; ``arrived`` in order, h."""
    free = [-np.inf] * places
    heapify(free)
    found = np.empty(arrived.size)
    for k, (at, takes) in enumerate(zip(arrived.tolist(), service.tolist(), strict=True)):
        begins = max(at, free[0])
        heapreplace(free, begins + takes)
        found[k] = begins - at
    return found


@dataclass(frozen=True)
class YardForecast:
    """A day in the yard by hour: t at the end of each, as a rule (``middle``) and in nine days of ten at least or most.

    ``short`` is the share of hours in which less than an hour's crush stands there; ``starved`` t a day that the mill
    could have crushed and did not get; ``night`` t that must stand there when hauling stops to reach its next start.
    """

    low: Floats
    middle: Floats
    high: Floats
    short: float
    starved: float
    night: float


def yard_forecast(
    arriving: Sequence[float], crush: float, opening: float, seed: int, days: int = 200, stops: float = STOPS_A_DAY
) -> YardForecast:
    """Run ``days`` days with chance arrivals and mill stops; ``arriving`` is t planned by hour from the day's cut hour.

    The same seed gives the same forecast. Raises QueueRefused for a crush of nothing or other than 24 hours.
    """
    planned = np.asarray(arriving, dtype=np.float64)
    if planned.size != 24 or np.any(planned < 0.0) or not crush > 0.0 or opening < 0.0:
        raise QueueRefused(
            f"{planned.size} hours, crush {crush:g} t/h, opening {opening:g} t; accepted: 24 hours of 0 t or more, a "
            "crush above 0 and an opening stock of 0 or more"
        )
    chance = np.random.default_rng(seed)
    stock, starved = np.empty((days, 24)), np.empty(days)
    for day in range(days):
        stock[day], starved[day] = _one_day(planned, crush, opening, stops, chance)
    low, middle, high = np.quantile(stock, (0.1, 0.5, 0.9), axis=0)
    return YardForecast(low, middle, high, float((stock < crush).mean()), float(starved.mean()), _night(planned, crush))


def _one_day(
    planned: Floats, crush: float, opening: float, stops: float, chance: np.random.Generator
) -> tuple[Floats, float]:
    """Stock at the end of each hour, t, and t that the mill lacked."""
    hours = 24 * (DAYS_BEFORE + 1)
    came = np.zeros(hours)
    load = float(planned.max()) / 10.0 or 1.0
    for hour, tonnes in enumerate(np.tile(planned, DAYS_BEFORE + 1)):
        late = chance.normal(0.0, LATE_HOURS, int(np.ceil(tonnes / load)))
        places = (np.floor(hour + 0.5 + late)).astype(int) % hours
        np.add.at(came, places, tonnes / max(1, late.size))
    running = 1.0 - np.minimum(1.0, chance.poisson(stops / 24.0, hours) * chance.exponential(STOP_HOURS, hours))
    stock, lacked = np.empty(hours), np.empty(hours)
    now = opening
    for hour in range(hours):
        wanted = crush * running[hour]
        taken = min(now + came[hour], wanted)
        now += came[hour] - taken
        stock[hour], lacked[hour] = now, wanted - taken
    return stock[-24:], float(lacked[-24:].sum())


def _night(planned: Floats, crush: float) -> float:
    """Crush over the longest stretch of hours in which nothing comes, also over the day's end."""
    empty = np.tile(planned <= 0.0, 2)
    longest = run = 0
    for each in empty:
        run = run + 1 if each else 0
        longest = max(longest, run)
    return crush * min(longest, 24)
