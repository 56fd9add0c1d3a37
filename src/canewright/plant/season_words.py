"""What a smoothed season tells, in words: what changed, since when, by how much, and where it is now."""

from __future__ import annotations

import datetime as dt
import math

from canewright.engine.season import Change
from canewright.plant.season import Course
from canewright.plant.slow import SETTING, Slow

TIMES = 1.96
"""Half-width of an interval that is told, in standard uncertainties (95 %)."""
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def told(course: Course, change: Change) -> str:
    """A change as a person would say it, with its dates, its size and where the quantity stands on the last day."""
    slow = course.of(change)
    return f"{_who(slow)} {_moved(course, change, slow)} {_since(course, change)}; {_now(course, slow)}"


def every_change(course: Course) -> list[str]:
    """Every change in order of its day."""
    return [told(course, change) for change in course.changes]


def _who(slow: Slow) -> str:
    if slow.kind != SETTING:
        return f"the {slow.name}"
    station, _, key = slow.name.partition(".")
    return f"{key.replace('_', ' ')} of {station}"


def _moved(course: Course, change: Change, slow: Slow) -> str:
    """Has read so much more a day, or so much more at once."""
    more = change.size > 0
    unit = "" if slow.unit == "1" else f" {slow.unit}"
    if change.kind == "step":
        amount = f"{_digits(abs(change.size))}{unit}"
        verb = f"has read {amount} {'more' if more else 'less'}" if slow.kind != SETTING else (
            f"has been {amount} {'higher' if more else 'lower'}"
        )  # fmt: skip
        low, high = sorted(
            (abs(change.size) - TIMES * change.uncertainty, abs(change.size) + TIMES * change.uncertainty)
        )
        return f"{verb} ({_digits(low)} to {_digits(high)})"
    rate = f"{_digits(abs(change.size) / (change.ends - change.begins))}{unit} a day"
    over = change.ends < len(course.days) - 1
    if slow.kind != SETTING:
        return f"{'read' if over else 'has read'} {rate} {'more' if more else 'less'}"
    return f"{'rose' if more else 'fell'} by {rate}" if over else f"has {'risen' if more else 'fallen'} by {rate}"


def _since(course: Course, change: Change) -> str:
    """Since or from the first day of the change, the days between which it may have begun, and its end."""
    first = change.begins if change.kind == "step" else change.begins + 1
    shift = first - change.begins
    span = (course.days[min(i + shift, len(course.days) - 1)] for i in (change.earliest, change.latest))
    between = " to ".join(_day(d) for d in dict.fromkeys(span))
    over = change.kind == "drift" and change.ends < len(course.days) - 1
    until = f", until {_day(course.days[change.ends])}" if over else ""
    return f"{'from' if over else 'since'} {_day(course.days[first])} ({between}){until}"


def _now(course: Course, slow: Slow) -> str:
    at = [s.key for s in course.slow].index(slow.key)
    value, spread = float(course.values[-1, at]), TIMES * float(course.uncertainties[-1, at])
    unit = "" if slow.unit == "1" else f" {slow.unit}"
    if slow.kind == SETTING:
        return f"{_digits(value)}{unit} now ({_digits(value - spread)} to {_digits(value + spread)})"
    low, high = abs(value) - spread, abs(value) + spread
    way = "high" if value > 0 else "low"
    return f"{_digits(abs(value))}{unit} {way} now ({_digits(low)} to {_digits(high)})"


def _digits(value: float) -> str:
    """Two digits."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    decimals = max(0, 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{min(decimals, 6)}f}"


def _day(day: dt.date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
