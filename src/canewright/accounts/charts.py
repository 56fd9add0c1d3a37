"""Laboratory results against those of the days before: out of line, or copied from the day before.

A result that no other reading checks is still held to its own past: a day, or the mean of three days, far from the
month before. And results that repeat those of the day before to the last digit are most unlikely to have been
determined.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Collection, Iterable, Mapping, Sequence
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
FAR = 4.5
"""Standard deviations beyond which a result is out of line: with fifty charts chance alone speaks less than weekly."""
RUN = 3
AT_LEAST = 0.7
"""A month that happens to be quiet does not make the scatter smaller than this part of the result's own uncertainty."""
MOST_KEPT = 0.9
"""What a day keeps of the departure of the day before is taken as no more than this."""
CLIPPED = 2.5
"""Deviations beyond so many robust standard deviations count as these: one slip does not widen a month."""
CHANCE, AT_LEAST_REPEATED = 1e-3, 2
"""Chance at which repeated results are no longer believed: a dozen determinations meet it once in some months."""
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


def out_of_line(
    meters: Iterable[Meter], read: Mapping[str, float], past: Sequence[PastDay], come: Collection[str] = ()
) -> list[OutOfLine]:
    """Laboratory results far from what their month lets expect, the furthest first; ``past`` is in order of days.

    ``come`` are streams that are as they come, cane and juice: a slow change of theirs is no station's fault, and they
    are held to single days only.
    """
    found = []
    for meter in meters:
        if meter.file != "laboratory" or meter.tag not in read:
            continue
        mine = [p for p in past if meter.tag in p.read]
        least = AT_LEAST * meter.standard_uncertainty(read[meter.tag])
        one = _one_day(meter.tag, read[meter.tag], mine, least)
        if one is None and meter.stream not in come:
            one = _run(meter.tag, read[meter.tag], mine, least)
        found += [one] if one is not None else []
    return sorted(found, key=lambda o: -abs(o.excess) / o.scatter)


def _in_line(days: Sequence[PastDay], tag: str) -> np.ndarray:
    """The month's values that were in line.

    Once a tag was out of line for a week on end its new level is the usual one, and what was before no longer counts.
    """
    run, accepted = 0, 0
    for k, p in enumerate(days):
        run = run + 1 if tag in p.out else 0
        accepted = k + 1 if run == AGAIN else accepted
    level = days[max(accepted - AGAIN, 0) :]
    first = AGAIN if accepted else 0
    kept = [p for k, p in enumerate(level) if k < first or tag not in p.out]
    return np.array([p.read[tag] for p in kept[-MONTH:]])


def _one_day(tag: str, value: float, days: Sequence[PastDay], least: float) -> OutOfLine | None:
    """The day against what its month lets expect."""
    month = _in_line(days, tag)
    return _judged(tag, value, month, 1, least) if len(month) >= ENOUGH else None


def _run(tag: str, value: float, days: Sequence[PastDay], least: float) -> OutOfLine | None:
    """The mean of three days, none of them out of line alone, against what the month before them lets expect."""
    latest = days[-(RUN - 1) :]
    month = _in_line(days[: -(RUN - 1)], tag)
    if len(month) < ENOUGH or any(tag in p.out for p in latest):
        return None
    return _judged(tag, (value + sum(p.read[tag] for p in latest)) / RUN, month, RUN, least / math.sqrt(RUN))


def _judged(tag: str, value: float, month: np.ndarray, days: int, least: float) -> OutOfLine | None:
    """A mean of days against the forecast from the day before them: most results keep part of a departure.

    Residuals of a first-order forecast (Alwan and Roberts, J. Business & Economic Statistics 6 (1988) 87, from memory),
    their scatter from the month's own forecasts.
    """
    usual, scatter = _middle(month)
    off = np.clip(month - usual, -CLIPPED * scatter, CLIPPED * scatter)
    kept = min(max(float(off[1:] @ off[:-1] / max(float(off @ off), 1e-300)), 0.0), MOST_KEPT)
    kept = float(np.mean([kept**k for k in range(1, days + 1)]))
    means = np.convolve(month - usual, np.full(days, 1.0 / days), mode="valid")
    _, left = _middle(means[1:] - kept * off[: len(means) - 1])
    departed = value - usual - kept * float(off[-1])
    return OutOfLine(tag, value, usual, max(scatter, least), days) if abs(departed) > FAR * max(left, least) else None


def _middle(values: np.ndarray) -> tuple[float, float]:
    """Mean and standard deviation of values of which what is far off is drawn in."""
    middle = float(np.median(values))
    robust = 1.4826 * float(np.median(np.abs(values - middle))) or float(values.std()) or 1e-12
    drawn = np.clip(values, middle - CLIPPED * robust, middle + CLIPPED * robust)
    return float(drawn.mean()), float(drawn.std(ddof=1))


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
    meters: Sequence[Meter], today: Sequence[Reading], before: Sequence[Reading], past: Sequence[PastDay]
) -> list[Attention]:
    """Determinations of which every result of the day repeats the one before at the same hour, to the last digit.

    ``before`` holds the readings of the days before, in order of time; what repeated on those days counts too.
    """
    found = []
    for meter in meters:
        if meter.file != "laboratory" or meter.quantity in METHODS:
            continue
        now = _results(meter, today)
        month = [p.read[meter.tag] for p in past[-MONTH:] if meter.tag in p.read]
        run = _repeated([*_results(meter, before), *now])
        if len(month) < ENOUGH or len(run) < len(now) or len(run) < AT_LEAST_REPEATED:
            continue
        chance = _chance_to_repeat(run, len(now), month)
        if chance < CHANCE:
            said = ", ".join(str(v) for v in run)
            why = (
                f"the last {len(run)} results ({said} {meter.unit}) repeat those before them at the same hour to the "
                f"last digit; by chance that happens once in {1 / chance:,.0f} days"
            )
            act = "ask who determined them, and repeat them on the retained samples"
            found.append(Attention(f"{meter.tag} looks copied from the day before", why, act, None, (meter.tag,)))
    return found


Result = tuple[dt.datetime, Decimal]


def _results(meter: Meter, readings: Sequence[Reading]) -> list[Result]:
    """Results of a directly read determination as they were written, in order of time."""
    mine = [r for r in readings if r.place == meter.sample and r.quantity == meter.quantity and r.value is not None]
    ordered = sorted(mine, key=lambda r: (r.taken_at, r.duplicate))
    return [(r.taken_at, Decimal(repr(r.value)).normalize()) for r in ordered]


def _repeated(results: Sequence[Result]) -> list[Decimal]:
    """The latest results that each repeat the one before at the same hour, without a break."""
    run: list[Decimal] = []
    for i in range(len(results) - 1, -1, -1):
        time, value = results[i]
        earlier = next((v for t, v in reversed(results[:i]) if t.time() == time.time()), None)
        if earlier is None or earlier != value:
            break
        run.append(value)
    return run[::-1]


def _chance_to_repeat(run: Sequence[Decimal], a_day: int, month: Sequence[float]) -> float:
    """Chance that so many results repeat by themselves, by their scatter and the last digit that is written."""
    step = 10.0 ** min(min(int(v.as_tuple().exponent), 0) for v in run)
    scatter = max(float(np.std(month, ddof=1)) * math.sqrt(max(a_day, 1)), step)
    one = min(step / (2.0 * math.sqrt(math.pi) * scatter), 1.0)
    return float(one ** len(run))
