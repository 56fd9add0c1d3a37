"""Laboratory results against those of the days before: out of line, or copied from the day before.

A result that no other reading checks is still held to its own past: a day, or the mean of three days, far from the month
before. And results that repeat those of the day before to the last digit are most unlikely to have been determined.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from canewright.accounts.attending import Attention
from canewright.accounts.laboratory import METHODS
from canewright.cane.sample_checks import transposed
from canewright.plant.description import Meter
from canewright.store import Reading

MONTH, ENOUGH = 30, 15
"""Days of the past that a result is held to, at most and at least."""
FAR = 4.2
"""Standard deviations from the month's mean beyond which a result is out of line: with fifty charts, read day by day and
as means of three days, chance alone speaks less than once in a month."""
RUN = 3
AT_LEAST = 0.7
"""A month that happens to be quiet does not make the scatter smaller than this part of the result's own uncertainty."""
CHANCE = 1e-4
"""Chance at which repeated results are no longer believed."""
AGAIN = 7
"""Days out of line after which the new level is taken as the usual one."""


@dataclass(frozen=True)
class PastDay:
    """What a day before left: figures read by tag, tags that were out of line, and undetermined losses in %."""

    day: dt.date
    read: Mapping[str, float]
    out: frozenset[str] = frozenset()
    losses: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class OutOfLine:
    """A result out of line: its tag, value, what is usual and its scatter, how far off, and over how many days."""

    tag: str
    value: float
    usual: float
    scatter: float
    days: int

    @property
    def excess(self) -> float:
        """How far it is from what is usual."""
        return self.value - self.usual


def _usual_days(past: Sequence[PastDay], tag: str) -> list[PastDay]:
    """The month before in which the tag was read and in line; all of it once the new level has lasted."""
    mine = [p for p in past if tag in p.read]
    lasting = len(mine) >= AGAIN and all(tag in p.out for p in mine[-AGAIN:])
    return (mine[-AGAIN:] if lasting else [p for p in mine if tag not in p.out])[-MONTH:]


def out_of_line(meters: Iterable[Meter], read: Mapping[str, float], past: Sequence[PastDay]) -> list[OutOfLine]:
    """Laboratory results far from their month, the furthest first. ``past`` is in order of days."""
    found = []
    for meter in meters:
        if meter.file != "laboratory" or meter.tag not in read:
            continue
        usual = _usual_days(past, meter.tag)
        if len(usual) >= ENOUGH:
            least = AT_LEAST * meter.standard_uncertainty(read[meter.tag])
            before = np.array([p.read[meter.tag] for p in usual])
            recent = [p.read[meter.tag] for p in past[-(RUN - 1) :] if meter.tag in p.read]
            found += [o for o in (_one_day(meter.tag, read[meter.tag], before, least),
                                  _three_days(meter.tag, [*recent, read[meter.tag]], before, least)) if o]  # fmt: skip
    ordered = sorted(found, key=lambda o: -abs(o.excess) / o.scatter)
    return list({o.tag: o for o in reversed(ordered)}.values())[::-1]


def _one_day(tag: str, value: float, before: np.ndarray, least: float) -> OutOfLine | None:
    scatter = max(float(before.std(ddof=1)), least)
    one = OutOfLine(tag, value, float(before.mean()), scatter, 1)
    return one if abs(one.excess) > FAR * scatter else None


def _three_days(tag: str, latest: Sequence[float], before: np.ndarray, least: float) -> OutOfLine | None:
    """The mean of three days against the means of three days before; a level that wanders widens both."""
    if len(latest) < RUN:
        return None
    means = np.convolve(before, np.full(RUN, 1.0 / RUN), mode="valid")
    scatter = max(float(means.std(ddof=1)), least / math.sqrt(RUN))
    one = OutOfLine(tag, float(np.mean(latest)), float(before.mean()), scatter, RUN)
    return one if abs(one.excess) > FAR * scatter else None


def line_matters(meters: Sequence[Meter], found: Sequence[OutOfLine]) -> list[Attention]:
    """Results out of line in words, with a slip of the pen where one explains it."""
    known = {m.tag: m for m in meters}
    return [_line_matter(known[one.tag], one) for one in found]


def _line_matter(meter: Meter, one: OutOfLine) -> Attention:
    places = 2 if abs(one.usual) < 1000 else 0
    over = "" if one.days == 1 else f", mean of {one.days} days"
    why = (
        f"{one.value:.{places}f} {meter.unit}{over}; the month before {one.usual:.{places}f} ± "
        f"{1.96 * one.scatter:.{places}f} {meter.unit} (95 %)"
    )
    slip = _slip(meter, one) if one.days == 1 else None
    if slip is not None:
        why += f"; with two digits exchanged it would be {slip}"
    act = "look at the sheet and repeat the analysis of the retained sample, then look at the station"
    return Attention(f"{meter.tag} is out of line", why, act, None, (meter.tag,), one.excess, meter.unit)


def _slip(meter: Meter, one: OutOfLine) -> Decimal | None:
    """The value that an exchange of two digits would explain, of a figure written as it stands."""
    if meter.quantity in METHODS:
        return None
    written = Decimal(f"{one.value:.2f}")
    return transposed(written, lambda v: abs(float(v) - one.usual) < 2.0 * one.scatter)


# --- copied results ---------------------------------------------------------------------------------------------------


def copied(
    meters: Sequence[Meter], today: Sequence[Reading], yesterday: Sequence[Reading], past: Sequence[PastDay]
) -> list[Attention]:
    """Determinations whose results of a whole day repeat those of the day before to the last digit."""
    found = []
    for meter in meters:
        if meter.file != "laboratory" or meter.quantity in METHODS:
            continue
        now, before = (_results(meter, day) for day in (today, yesterday))
        month = [p.read[meter.tag] for p in past[-MONTH:] if meter.tag in p.read]
        if not now or now != before or len(month) < ENOUGH:
            continue
        chance = _chance_to_repeat(now, month)
        if chance < CHANCE:
            said = ", ".join(str(v) for v in now)
            why = (f"all {len(now)} results ({said} {meter.unit}) repeat those of the day before to the last digit; "
                   f"by chance that happens once in {1 / chance:,.0f} days")  # fmt: skip
            act = "ask who determined it, and repeat it on the retained samples"
            found.append(Attention(f"{meter.tag} looks copied from the day before", why, act, None, (meter.tag,)))
    return found


def _results(meter: Meter, readings: Sequence[Reading]) -> list[Decimal]:
    """A day's results of a directly read determination as they were written, in order of time."""
    mine = [r for r in readings if r.place == meter.sample and r.quantity == meter.quantity and r.value is not None]
    ordered = sorted(mine, key=lambda r: (r.taken_at, r.duplicate))
    return [Decimal(repr(r.value)).normalize() for r in ordered]


def _chance_to_repeat(results: Sequence[Decimal], month: Sequence[float]) -> float:
    """Chance that so many results repeat by themselves, by their scatter and the last digit that is written."""
    step = 10.0 ** min(min(int(v.as_tuple().exponent), 0) for v in results)
    scatter = max(float(np.std(month, ddof=1)) * math.sqrt(len(results)), step)
    one = min(step / (2.0 * math.sqrt(math.pi) * scatter), 1.0)
    return float(one ** len(results))
