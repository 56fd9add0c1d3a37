"""How well a closed season saw through its files, held against the truth: faults, suspects, sizes, alarms, totals."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from canewright.accounts.charts import OutOfLine
from canewright.accounts.periods import figure_over
from canewright.accounts.specifications import SPECIFICATIONS
from canewright.accounts.trends import LOSS
from canewright.demonstration.closing import Alarm, Season, SeasonDay
from canewright.demonstration.faults import Fault
from canewright.demonstration.truth import Truth

WIDTH = 1.6448536269514722
"""Half width of a 90 % interval in standard uncertainties (definition of the normal distribution)."""
GRACE = 14
"""Days after a fault in which an alarm about its place still belongs to it."""
SAME_MATTER = 7
"""Alarms of one place that follow one another within so many days are one matter."""
WORTH_FINDING = 6.0
"""Standard uncertainties of the day's figure from which a mistyped result is worth finding."""
LOSSES = ("undetermined loss of the mill", LOSS)
CREDIT_SECOND = 0.5
PRICE_OF_ALARM = 0.1
WEEKLY = (
    "cane crushed", "pol in cane", "fibre in cane", "imbibition on fibre", "mixed juice",
    "apparent purity of mixed juice", "pol in bagasse", "moisture of bagasse", "raw sugar made", "pol of raw sugar",
    "final molasses", "apparent purity of final molasses", "pol lost in bagasse", "pol lost in filter cake",
    "pol lost in final molasses", "undetermined loss of the mill", LOSS, "raw sugar melted", "refined sugar made",
    "refinery molasses",
)  # fmt: skip
"""The twenty weekly totals whose intervals are tried."""
_COMBINE = {s.name: s.combine for s in SPECIFICATIONS}


@dataclass(frozen=True)
class Found:
    """What became of a planted fault: day found (None if never), rank of the right suspect, estimated size."""

    fault: Fault
    day: int | None
    rank: int | None
    says: str
    size: float | None

    @property
    def in_time(self) -> bool:
        """Whether it was found by its deadline (a control: not flagged at all)."""
        if not self.fault.must_be_found:
            return self.day is None
        return self.day is not None and self.day <= self.fault.deadline

    @property
    def credit(self) -> float:
        """One for the right suspect first, half for second, nothing else."""
        if not self.fault.must_be_found:
            return 1.0 if self.day is None else 0.0
        return {0: 1.0, 1: CREDIT_SECOND}.get(-1 if self.rank is None else self.rank, 0.0) if self.in_time else 0.0

    @property
    def size_error(self) -> float | None:
        """Relative error of the size, where one was told."""
        if self.size is None or not self.fault.size:
            return None
        return abs(self.size) / self.fault.size - 1.0


@dataclass(frozen=True)
class Matter:
    """Alarms of one place in a row: first and last day, what the first said, and of which fault ('' for none)."""

    about: str
    first: int
    last: int
    days: int
    says: str
    fault: str


@dataclass(frozen=True)
class Restored:
    """A season total: truth, as weighed, as the accounts restore it, with the uncertainty they state."""

    name: str
    unit: str
    truth: float
    raw: float
    restored: float
    uncertainty: float

    @property
    def ratio(self) -> float:
        """Error of the restored total on that of the raw one."""
        return abs(self.restored - self.truth) / abs(self.raw - self.truth) if self.raw != self.truth else math.inf


@dataclass(frozen=True)
class Undetermined:
    """The undetermined losses of the mill together, % of pol in cane.

    ``by_book`` is what the accounts tell once the sugar made is that of the closed ledger instead of the days' weigher.
    """

    truth: float
    told: float
    by_book: float
    uncertainty: float


@dataclass(frozen=True)
class Score:
    """Everything that was counted on one season."""

    found: tuple[Found, ...]
    matters: tuple[Matter, ...]
    weeks: float
    flagged_days: int
    slips: tuple[int, int]
    totals: tuple[Restored, ...]
    undetermined: Undetermined | None
    covered: Mapping[str, tuple[int, int]]
    not_solved: tuple[str, ...]

    @property
    def false_alarms(self) -> tuple[Matter, ...]:
        """Matters that belong to no fault."""
        return tuple(m for m in self.matters if not m.fault)

    @property
    def false_a_week(self) -> float:
        """False matters a week."""
        return len(self.false_alarms) / self.weeks

    @property
    def points(self) -> float:
        """Faults found in time, less a tenth for each false alarm a week."""
        return sum(f.in_time for f in self.found) - PRICE_OF_ALARM * self.false_a_week


def score(season: Season, truth: Truth) -> Score:
    """Hold a closed season against its truth."""
    solved = [d for d in season.days if d.sums]
    found = tuple(_found(fault, season, truth) for fault in truth.faults)
    return Score(
        found,
        tuple(_matters(season, truth)),
        len(season.days) / 7.0,
        sum(any(not _owner(a, d.number, truth) for a in d.alarms) for d in season.days),
        _slips(season, truth),
        tuple(_totals(season, solved, truth)),
        _undetermined(season, solved, truth) if solved else None,
        covered(solved, truth),
        tuple(f"day {d.number}: {d.not_solved}" for d in season.days if d.not_solved),
    )


# --- faults -----------------------------------------------------------------------------------------------------------


def _about(fault: Fault, alarm: Alarm) -> int | None:
    """The place of the right suspect among those that an alarm names; None where it is not named."""
    places = [i for i, one in enumerate(alarm.about) if one in fault.about]
    return min(places, default=None)


def _found(fault: Fault, season: Season, truth: Truth) -> Found:
    if fault.id == "K":
        return _corrected(fault, season)
    for day in season.days:
        if not fault.first <= day.number <= max(fault.last, fault.deadline):
            continue
        ranked = [(rank, a) for a in day.alarms if (rank := _about(fault, a)) is not None]
        if ranked:
            rank, alarm = min(ranked, key=lambda pair: pair[0])
            return Found(fault, day.number, rank, alarm.says, _size(fault, season))
    return Found(fault, None, None, "", None)


def _corrected(fault: Fault, season: Season) -> Found:
    """A late correction: told on the day's sheet with what it changed, and the day's old version as published."""
    for date, notes in season.notes.items():
        number = next(d.number for d in season.days if d.date == date)
        told = [n for n in notes if "was closed again" in n and "purity of final molasses" in n]
        if told and number >= fault.first and season.kept_as_published:
            was, now = (float(w) for w in _between(told[0], "apparent purity of final molasses ", " %").split(" to "))
            return Found(fault, number, 0, told[0], now - was)
    return Found(fault, None, None, "", None)


def _between(text: str, before: str, after: str) -> str:
    return text.partition(before)[2].partition(after)[0]


def _size(fault: Fault, season: Season) -> float | None:
    """The size that the accounts tell of a fault: by its waters, its ledger, or how far results were out of line."""
    window = range(fault.first, fault.last + GRACE + 1)
    days = [d for d in season.days if d.number in window]
    told = [(d, a) for d in days for a in d.alarms if _about(fault, a) is not None and a.size is not None]
    if fault.id in {"C", "D"}:
        return sum(a.size or 0.0 for _, a in told if a.unit == "t")
    if fault.id == "A":
        return _overstated(fault, season)
    if fault.id == "E":
        return next((_sugar_lost(season, d, o) for d in days for o in d.lines if o.tag == fault.about[0]), None)
    return next((a.size for _, a in told), None)


def _overstated(fault: Fault, season: Season) -> float | None:
    """What the weigher showed too much between clean-outs, beyond what it did in the interval before."""
    tag, first = fault.about[0], season.days[0].date
    mine = [i for i in season.intervals if tag in i.weighed]
    numbered = [((i.first - first).days + 1, (i.last - first).days + 1, i) for i in mine]
    before = next((i for _, last, i in numbered if last == fault.first - 1), None)
    during = [i for begin, last, i in numbered if begin >= fault.first and last <= fault.last]
    if before is None or not during:
        return None
    usual = before.weighed[tag] / before.restored[tag]
    return sum(i.weighed[tag] - usual * i.restored[tag] for i in during)


def _sugar_lost(season: Season, day: SeasonDay, line: OutOfLine) -> float:
    """Sugar in molasses by a purity out of line, t, over the days in a row that are half as far off or more."""
    at = season.days.index(day)
    off = [(d, d.read.get(line.tag, math.nan) - line.usual) for d in season.days]
    first = last = at
    while first > 0 and off[first - 1][1] > line.excess / 2:
        first -= 1
    while last + 1 < len(off) and off[last + 1][1] > line.excess / 2:
        last += 1
    return sum(points * _solids(d) / 100.0 for d, points in off[first : last + 1])


def _solids(day: SeasonDay) -> float:
    """Refractometer solids of the day's molasses, t."""
    return float(day.sums["apparent purity of final molasses"]["totals"][1]) if day.sums else 0.0


# --- alarms -----------------------------------------------------------------------------------------------------------


def _owner(alarm: Alarm, day: int, truth: Truth) -> str:
    """The fault or slip that an alarm is about; empty for a false alarm."""
    for fault in truth.faults:
        near = fault.first <= day <= fault.last + GRACE and fault.must_be_found
        if near and _about(fault, alarm) is not None:
            return fault.id
    slipped = {tag for at, tag, _ in truth.slips if at <= day <= at + 2}
    return "typed" if slipped & set(alarm.about) else ""


def _matters(season: Season, truth: Truth) -> Iterable[Matter]:
    """Alarms gathered by what they are first about."""
    standing: dict[str, Matter] = {}
    for day in season.days:
        for alarm in day.alarms:
            about, owner = alarm.about[0], _owner(alarm, day.number, truth)
            before = standing.get(about)
            if before is not None and day.number - before.last <= SAME_MATTER and (before.fault or not owner):
                more = before.days + (day.number > before.last)
                standing[about] = Matter(about, before.first, day.number, more, before.says, before.fault)
                continue
            if before is not None:
                yield before
            standing[about] = Matter(about, day.number, day.number, 1, alarm.says, owner)
    yield from standing.values()


def _slips(season: Season, truth: Truth) -> tuple[int, int]:
    """Mistyped results worth finding, and how many of them an alarm of the day is about."""
    worth = found = 0
    for day, tag, error in truth.slips:
        mine = next((d for d in season.days if d.number == day), None)
        if mine is None or abs(error) < WORTH_FINDING * _scatter(season, tag):
            continue
        worth += 1
        found += any(tag in a.about for a in mine.alarms)
    return worth, found


def _scatter(season: Season, tag: str) -> float:
    """Median step of a figure from day to day as a standard deviation: what is usual of the tag."""
    read = [d.read[tag] for d in season.days if tag in d.read]
    steps = sorted(abs(b - a) for a, b in pairwise(read))
    return steps[len(steps) // 2] / 0.9539 if steps else math.inf


# --- totals -----------------------------------------------------------------------------------------------------------


def _totals(season: Season, solved: Sequence[SeasonDay], truth: Truth) -> Iterable[Restored]:
    """Season totals as weighed and as restored, against the truth."""
    days = [d.number for d in solved]
    for name, tag in (("raw sugar made", "raw sugar weight"), ("raw sugar melted", "melt weight")):
        raw = sum(d.read[tag] for d in season.days if tag in d.read)
        value, u = season.restored[tag]
        yield Restored(name, "t", sum(truth.readings[d.number, tag] for d in season.days), raw, value, u)
    if not solved:
        return
    for name, parts in _RAW.items():
        mine = [d for d in solved if all(p in d.read for p in parts)]
        listed = [d.number for d in mine]
        raw = sum(math.prod([d.read[parts[0]], *(d.read[p] / 100.0 for p in parts[1:])]) for d in mine)
        rows = [d.sums[name] for d in mine]
        value, u = sum(r["totals"][0] for r in rows), _of_first(rows)
        yield Restored(f"{name}, pol", "t", truth.over(name, listed)[0], raw, value, u)
    lost = [[d.sums[name] for d in solved] for name in LOSSES]
    told = sum(truth.over(name, days)[0] for name in LOSSES)
    value = sum(r["totals"][0] for each in lost for r in each) + _by_book(season, solved)
    u = math.hypot(*(_of_first(each) for each in lost))
    yield Restored("undetermined losses together, pol", "t", told, _raw_loss(solved), value, u)


_RAW = {
    "pol in cane": ("cane weight", "cane pol"),
    "pol in bagasse": ("bagasse weight", "bagasse pol"),
    "pol lost in filter cake": ("filter cake weight", "filter cake pol"),
    "pol lost in final molasses": ("final molasses weight", "final molasses brix", "final molasses purity"),
}
"""Totals of pol by destination, and the meters from which they are worked out without a model."""


_WAYS_OUT = (
    ("raw sugar weight", "raw sugar pol"),
    _RAW["pol in bagasse"],
    _RAW["pol lost in filter cake"],
    _RAW["pol lost in final molasses"],
)


def _raw_loss(days: Sequence[SeasonDay]) -> float:
    """Pol in cane less what is weighed of it in products, bagasse and cake, without a model."""
    every = (_RAW["pol in cane"], *_WAYS_OUT)
    lost, counted = 0.0, 0
    for d in days:
        if all(tag in d.read for parts in every for tag in parts):
            came, *out = (d.read[parts[0]] * math.prod(d.read[p] / 100.0 for p in parts[1:]) for parts in every)
            lost, counted = lost + came - sum(out), counted + 1
    return lost * len(days) / max(counted, 1)


def _of_first(rows: Sequence[Mapping[str, Any]]) -> float:
    """Uncertainty of the sum of the first totals of a figure."""
    own = sum(r["covariance"][0][0] - r["common"][0][0] for r in rows)
    common = sum(math.sqrt(max(r["common"][0][0], 0.0)) for r in rows)
    return math.sqrt(max(own + common**2, 0.0))


def _by_book(season: Season, days: Sequence[SeasonDay]) -> float:
    """Pol that the loss gains where the sugar made is that of the ledger, t: sugar that was not made was lost."""
    made = sum(float(d.sums["raw sugar made"]["totals"][0]) for d in days)
    pol, mass = (sum(float(d.sums["pol of raw sugar"]["totals"][i]) for d in days) for i in (0, 1))
    known = season.restored["raw sugar weight"][0] - sum(
        d.read.get("raw sugar weight", 0.0) for d in season.days if not d.sums
    )
    return (made - known) * pol / mass


def _undetermined(season: Season, days: Sequence[SeasonDay], truth: Truth) -> Undetermined:
    numbers = [d.number for d in days]
    true = sum(100.0 * a / b for a, b in (truth.over(n, numbers) for n in LOSSES))
    pairs = [figure_over(n, [d.sums[n] for d in days]) for n in LOSSES]
    told = sum(v or 0.0 for v, _ in pairs)
    cane = sum(float(d.sums["pol in cane"]["totals"][0]) for d in days)
    by_book = told + 100.0 * _by_book(season, days) / cane
    return Undetermined(true, told, by_book, math.hypot(*(u or 0.0 for _, u in pairs)))


def covered(days: Sequence[SeasonDay], truth: Truth) -> dict[str, tuple[int, int]]:
    """Of the 90 % intervals of each weekly total, how many cover the truth, and of how many."""
    counts = dict.fromkeys(WEEKLY, (0, 0))
    weeks: dict[int, list[SeasonDay]] = {}
    for d in days:
        weeks.setdefault((d.number - 1) // 7, []).append(d)
    for week in weeks.values():
        for name in WEEKLY:
            value, u = figure_over(name, [d.sums[name] for d in week])
            true = _COMBINE[name](*truth.over(name, [d.number for d in week]))
            if value is not None and u:
                hit, of = counts[name]
                counts[name] = (hit + (abs(value - true) <= WIDTH * u), of + 1)
    return counts
