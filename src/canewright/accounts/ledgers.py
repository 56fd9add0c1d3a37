"""A store by its book: what was weighed in and out, against what is found when stock is taken.

The book is carried forward with what is known of it and of each weigher: every stock-take tells a little of a survey
and, where the store is seen empty, much of the weighers. What a stock-take finds beyond its uncertainty is told with
the weigher that most likely made it. Sequential least squares (Kalman, J. Basic Eng. 82 (1960) 35, from memory).
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from canewright.accounts.attending import Attention
from canewright.plant.description import Meter
from canewright.plant.metering import COMMON_PART
from canewright.plant.stocktaking import Ledger, Movement

FAR = 3.0
"""Standard uncertainties beyond which a stock-take does not agree with the book."""
PACE = 0.04
"""Standard step of a weigher's gain from day to day, on its lasting uncertainty (common practice, no source)."""
CHANGED = 3.0
"""How many times less sure weighers are taken to be once a stock-take did not agree: something has changed."""
EMPTY = 10.0
"""Standard uncertainty of a store that is seen to be empty, t."""
SAME, SOON = 2.5, 7
"""Standard uncertainties within which a doubled entry explains a gap, and days between its two entries at most."""


@dataclass(frozen=True)
class Weigher:
    """A weigher of receipts or issues: its own scatter and lasting part, as parts of a day's mass.

    ``loads`` tells that its entries are single loads, of which no two are alike but by chance.
    """

    tag: str
    sign: float
    scatter: float
    lasting: float
    loads: bool = False


@dataclass(frozen=True)
class Entry:
    """One mass as entered: day, weigher, t."""

    day: dt.date
    tag: str
    mass: float


@dataclass(frozen=True)
class Stock:
    """A stock as found: day, t."""

    day: dt.date
    mass: float


@dataclass(frozen=True)
class Gap:
    """A stock-take against the book: how much the book is above it, its uncertainty, and each weigher's likely gain.

    ``told`` says by weigher how much the gap tells of its gain: near the gap's own test value for the one that most
    likely made it.
    """

    stock: Stock
    book: float
    uncertainty: float
    gains: Mapping[str, float]
    told: Mapping[str, float]
    since: dt.date

    @property
    def excess(self) -> float:
        """The book less the stock, t."""
        return self.book - self.stock.mass

    @property
    def test(self) -> float:
        """The gap over its uncertainty."""
        return abs(self.excess) / self.uncertainty


def weighers(ledger: Ledger, meters: Sequence[Meter], movements: Sequence[Movement]) -> tuple[Weigher, ...]:
    """The weighers of a ledger with what the description says of them.

    Where repeatability is not told apart, the usual part of the variance is taken as lasting.
    """
    known = {m.tag: m for m in meters}
    moved = {m.tag: m.uncertainty / 100.0 for m in movements}
    found = []
    for sign, tags in ((1.0, ledger.receipts), (-1.0, ledger.issues)):
        for tag in tags:
            if tag in moved:
                found.append(Weigher(tag, sign, moved[tag], moved[tag], loads=True))
                continue
            meter = known[tag]
            part = 100.0 if meter.relative else max(meter.high, 1.0)
            lasting, scatter = meter.uncertainty / part, meter.repeatability / part
            if not scatter:
                lasting, scatter = lasting * COMMON_PART**0.5, lasting * (1 - COMMON_PART) ** 0.5
            found.append(Weigher(tag, sign, scatter, lasting))
    return tuple(found)


class Book:
    """The book of one store, carried from day to day: stock and the gain of each weigher, with their covariance."""

    def __init__(self, ledger: Ledger, scales: Sequence[Weigher], begin: dt.date) -> None:
        """Open the book with the opening stock."""
        self.ledger, self.scales, self.since = ledger, tuple(scales), begin
        self.state = np.zeros(len(scales) + 1)
        self.state[0] = ledger.opening
        self.covariance = np.diag([self._survey(ledger.opening) ** 2, *(s.lasting**2 for s in scales)])

    def _survey(self, mass: float) -> float:
        return math.hypot(self.ledger.survey / 100.0 * mass, EMPTY)

    def carry(self, masses: Mapping[str, float]) -> None:
        """Carry the book over a day with the masses weighed."""
        step = np.eye(len(self.state))
        noise = np.zeros_like(step)
        for i, scale in enumerate(self.scales, start=1):
            mass = masses.get(scale.tag, 0.0)
            self.state[0] += scale.sign * mass * (1.0 - self.state[i])
            step[0, i] = -scale.sign * mass
            noise[0, 0] += (scale.scatter * mass) ** 2
            noise[i, i] = (PACE * scale.lasting) ** 2
        self.covariance = step @ self.covariance @ step.T + noise

    def take(self, stock: Stock) -> Gap:
        """Hold a stock against the book, then go on from both; from the stock alone where they do not agree."""
        book, survey = float(self.state[0]), self._survey(stock.mass)
        spread = float(self.covariance[0, 0]) + survey**2
        gain = self.covariance[:, 0] / spread
        moved = gain * (stock.mass - book)
        likely = {s.tag: float(self.state[i] + moved[i]) for i, s in enumerate(self.scales, start=1)}
        sure = np.sqrt(np.diagonal(self.covariance))
        told = {s.tag: float(abs(moved[i]) / sure[i]) for i, s in enumerate(self.scales, start=1)}
        gap = Gap(stock, book, math.sqrt(spread), likely, told, self.since)
        if gap.test > FAR:
            self.state = self.state + moved
            self.state[0] = stock.mass
            self.covariance = np.diag([survey**2, *((CHANGED * s.lasting) ** 2 for s in self.scales)])
        else:
            self.state = self.state + moved
            self.covariance = self.covariance - np.outer(gain, self.covariance[0])
        if stock.mass <= EMPTY or gap.test > FAR:
            self.since = stock.day
        return gap


def kept(
    ledger: Ledger,
    scales: Sequence[Weigher],
    entries: Sequence[Entry],
    stocks: Sequence[Stock],
    begin: dt.date,
    last: dt.date,
) -> list[Gap]:
    """The book from its opening to a day: every stock-take against it, in order."""  # fmt: skip
    book, gaps, day = Book(ledger, scales, begin), [], begin
    by_day: dict[dt.date, dict[str, float]] = {}
    for e in entries:
        masses = by_day.setdefault(e.day, {})
        masses[e.tag] = masses.get(e.tag, 0.0) + e.mass
    found = {s.day: s for s in stocks}
    while day <= last:
        book.carry(by_day.get(day, {}))
        if day in found:
            gaps.append(book.take(found[day]))
        day += dt.timedelta(days=1)
    return gaps


def entered_twice(gap: Gap, scales: Sequence[Weigher], entries: Sequence[Entry]) -> tuple[Entry, Entry] | None:
    """Two loads of one weigher within some days, alike to the last digit, that explain the gap; None without such."""
    mine = [e for e in entries if gap.since <= e.day <= gap.stock.day]
    return _alike(scales, mine, gap.excess, gap.uncertainty)


def _alike(
    scales: Sequence[Weigher], entries: Sequence[Entry], gap: float, uncertainty: float
) -> tuple[Entry, Entry] | None:
    """Two loads alike, one of which taken out leaves less than half of the gap and no more than chance allows."""
    singly = {s.tag: s.sign for s in scales if s.loads}
    for one, other in combinations([e for e in entries if e.tag in singly], 2):
        alike = one.tag == other.tag and one.mass == other.mass and abs((other.day - one.day).days) <= SOON
        left = abs(gap - singly[one.tag] * one.mass)
        if alike and left < min(SAME * uncertainty, abs(gap) / 2.0):
            return one, other
    return None


def ledger_matters(
    ledger: Ledger,
    scales: Sequence[Weigher],
    gaps: Sequence[Gap],
    entries: Sequence[Entry],
    day: dt.date,
    price: float | None,
) -> list[Attention]:
    """What a stock-take of the day finds beyond its uncertainty."""  # fmt: skip
    today = (gap for gap in gaps if gap.stock.day == day and gap.test > FAR)
    return [_gap_matter(ledger, scales, gap, entries, price) for gap in today]


def _gap_matter(
    ledger: Ledger, scales: Sequence[Weigher], gap: Gap, entries: Sequence[Entry], price: float | None
) -> Attention:
    less = "less" if gap.excess > 0 else "more"
    why = (
        f"{gap.stock.mass:,.0f} t found, {gap.book:,.0f} t by the book, ± {1.96 * gap.uncertainty:,.0f} t (95 %), "
        f"since {gap.since}"
    )
    money, size = abs(gap.excess) * price if price else None, gap.excess
    twice = entered_twice(gap, scales, entries)
    if twice is not None:
        one, other = twice
        size = math.copysign(one.mass, gap.excess)
        why += f"; {one.tag} has {one.mass:,.2f} t on {one.day} and the same again on {other.day}"
        act = "look at the papers of both; correct the one that was entered twice, with a reason"
        about: tuple[str, ...] = (one.tag, ledger.store)
    else:
        first = max(scales, key=lambda s: gap.told[s.tag])
        way = "high" if gap.gains[first.tag] > 0 else "low"
        why += f"; likeliest {first.tag}, which then reads {100 * abs(gap.gains[first.tag]):.2f} % {way} at the end"
        act = "check that weigher with test weights; look for a load not entered, or entered twice"
        about = (first.tag, ledger.store)
    return Attention(
        f"{ledger.store} holds {abs(gap.excess):,.0f} t {less} than its book", why, act, money, about, size, "t"
    )


# --- restored totals --------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Interval:
    """From one stock to the next: by weigher what was weighed, what it most likely was, and the variance of that."""

    first: dt.date
    last: dt.date
    weighed: Mapping[str, float]
    restored: Mapping[str, float]
    variance: Mapping[str, float]


def intervals(
    ledger: Ledger,
    scales: Sequence[Weigher],
    entries: Sequence[Entry],
    stocks: Sequence[Stock],
    begin: dt.date,
    last: dt.date,
) -> list[Interval]:
    """What each weigher's total most likely was once the book closes on the stocks.

    From one empty store to the next, and to the last stock-take, the gap is shared by what each weigher may be off;
    what came after the last stock-take stays as weighed. An entry made twice that explains a gap counts once.
    """
    ends = [s for s in stocks if s.mass <= EMPTY]
    ends += [stocks[-1]] if stocks and stocks[-1] not in ends else []
    before, first, found = ledger.opening, begin, list[Interval]()
    sure = float(Book(ledger, scales, begin).covariance[0, 0])
    for end in ends:
        mine = [e for e in entries if first <= e.day <= end.day]
        survey = math.hypot(ledger.survey / 100.0 * end.mass, EMPTY) ** 2
        found.append(_shared(scales, mine, (first, end.day), end.mass - before, sure + survey))
        before, first, sure = end.mass, end.day + dt.timedelta(days=1), survey
    rest = [e for e in entries if first <= e.day <= last]
    masses, variances, _ = _interval(scales, rest, 0.0)
    weighed = {tag: sum(m) for tag, m in masses.items()}
    return [*found, Interval(first, last, weighed, weighed, variances)]


def restored(parts: Sequence[Interval]) -> dict[str, tuple[float, float]]:
    """The total of each weigher over all intervals, with its uncertainty."""
    tags = {tag for part in parts for tag in part.restored}
    return {
        tag: (sum(p.restored[tag] for p in parts), math.sqrt(sum(p.variance[tag] for p in parts)))
        for tag in sorted(tags)
    }  # fmt: skip


def _variance(scale: Weigher, masses: Sequence[float]) -> float:
    return float((scale.lasting * sum(masses)) ** 2 + sum((scale.scatter * m) ** 2 for m in masses))


def _shared(
    scales: Sequence[Weigher], entries: Sequence[Entry], span: tuple[dt.date, dt.date], grown: float, stocks: float
) -> Interval:
    """The gap of one interval shared among its weighers; a store that has ``grown`` by so much, with that variance."""
    masses, variances, gap = _interval(scales, entries, grown)
    weighed = {tag: sum(m) for tag, m in masses.items()}
    total = sum(variances.values()) + stocks
    twice = _alike(scales, entries, gap, math.sqrt(total))
    if twice is not None:
        masses, variances, gap = _interval(scales, [e for e in entries if e is not twice[1]], grown)
        total = sum(variances.values()) + stocks
    right = {s.tag: sum(masses[s.tag]) - s.sign * variances[s.tag] / total * gap for s in scales}
    return Interval(*span, weighed, right, {tag: v - v**2 / total for tag, v in variances.items()})


def _interval(
    scales: Sequence[Weigher], entries: Sequence[Entry], grown: float
) -> tuple[dict[str, list[float]], dict[str, float], float]:
    """Masses and variances of an interval by weigher, and how much the book is above the stocks."""
    masses = {s.tag: [e.mass for e in entries if e.tag == s.tag] for s in scales}
    variances = {s.tag: _variance(s, masses[s.tag]) for s in scales}
    return masses, variances, sum(s.sign * sum(masses[s.tag]) for s in scales) - grown
