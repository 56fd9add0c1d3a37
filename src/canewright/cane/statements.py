"""Statements: what a run says to each grower, every step with its unit, as plain data that prints the same for good.

Every number is text with the decimals it was settled with; a statement is stored as it was published and never worked
out again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

import numpy as np
import polars as pl

from canewright.cane.exact import Exact, Units
from canewright.cane.pay_groups import Group
from canewright.cane.pay_relative import WeekMean
from canewright.cane.pay_run import Account, Correction, PayRun
from canewright.cane.paying import Paid, Pool
from canewright.cane.rounding import rounded
from canewright.cane.schemes import READABLE, Kind
from canewright.cane.season import Adjustment, MillBalance, Relative

SHOWN = ("juice brix", "juice pol", "fibre")
"""Readings that every statement shows beside mass and CCS; others follow where a scheme pays on them."""
PRINTED = 8
"""Most decimals of a price that are printed; it is settled with all that the agreement keeps."""
PRINTED_MEAN = 6
RELATIVE_SAYS = {
    Relative.NONE: "none",
    Relative.ADDITIVE: "additive, own + mean of the season - mean of the week",
    Relative.MULTIPLICATIVE: "multiplicative, own x mean of the season / mean of the week",
}
EPOCH = dt.date(1970, 1, 1).toordinal()
Statement = dict[str, Any]


def statements(run: PayRun) -> Iterator[tuple[str, Statement]]:
    """The statement of every grower with an account in the run, by name."""
    table = _Table(run)
    rules = _rules(run)
    uncertain = dict(zip(run.paid.deliveries.growers, run.paid.uncertainty_by_grower().tolist(), strict=True))
    for name, account in run.accounts.items():
        places = table.places(name)
        yield (
            name,
            {
                "grower": name,
                "season": run.season.name,
                "run": run.number,
                "final": run.final,
                "first": (run.period.first if run.period else run.season.first).isoformat(),
                "last": (run.period.last if run.period else run.season.last).isoformat(),
                "currency": run.season.currency,
                "rounding": run.season.rounding.says(),
                "schemes": [_scheme(g) for g in _groups_of(run.paid, places)],
                "means": [_mean(m, run) for m in run.paid.means],
                "pools": [_pool(p) for p in run.paid.pools],
                "rules": rules,
                "heads": table.heads,
                "lines": table.lines(name),
                "totals": table.totals(name),
                "marks": table.marks(name),
                "sources": table.sources(name),
                "corrections": [_correction(c) for c in run.corrections if c.grower == name],
                "account": _build_up(account, run),
                "payable": f"{account.payable:.{run.season.rounding.money}f}",
                "uncertainty": _told(uncertain.get(name)),
            },
        )


class _Table:
    """The lines of all consignments as text, made once, and where each grower's stand."""

    def __init__(self, run: PayRun) -> None:
        self._paid = paid = run.paid
        d = paid.deliveries
        wanted = [n for g in paid.groups for n in g.use.scheme.needs]
        wanted += [a.reading for a in run.season.adjustments if a.reading is not None]
        needed = dict.fromkeys(n for n in wanted if n not in (*SHOWN, "CCS"))
        shown = [n for n in (*SHOWN, *needed) if n in d.readings]
        self.heads = [
            *("Ticket", "Day"),
            *(["Farm"] if any(d.farms) else []),
            *("Block", "Net, t"),
            *(f"{_head(n)}, {READABLE[n].unit}" for n in shown),
            *(["CCS, %", "CCS ±, %"] if "CCS" in d.readings else []),
            *_paid_heads(paid),
            *(f"{_head(name)}, $" for name, _ in paid.adjustments),
            "Value, $",
        ]
        columns: list[pl.Series] = [
            pl.Series(d.tickets), pl.Series(d.days - EPOCH).cast(pl.Int32).cast(pl.Date).cast(pl.String),
            *([pl.Series(d.farms)] if any(d.farms) else []), pl.Series(d.blocks), d.net.texts(),
            *(_read(paid, n) for n in shown),
        ]  # fmt: skip
        if "CCS" in d.readings:
            columns += [_read(paid, "CCS"), _spread(d.uncertainty)]
        columns += [paid.own.texts(), paid.relative.texts(), _prices(paid), paid.amount.texts()]
        columns += [column.texts() for _, column in paid.adjustments]
        columns.append(paid.value.texts())
        order = np.argsort(d.grower, kind="stable")
        self._edges = np.searchsorted(d.grower[order], np.arange(len(d.growers) + 1)).tolist()
        self._order = order.tolist()
        self._lines = pl.DataFrame([c.alias(str(i)) for i, c in enumerate(columns)])[order]
        self._marks = _marks(paid)
        self._sums = [d.net, paid.amount, *(c for _, c in paid.adjustments), paid.value]
        self._by_grower = [paid.by_grower(c).decimals() for c in self._sums]
        self._number = {name: i for i, name in enumerate(d.growers)}

    def places(self, name: str) -> list[int]:
        """Where a grower's consignments stand among all."""
        number = self._number.get(name)
        return [] if number is None else self._order[self._edges[number] : self._edges[number + 1]]

    def lines(self, name: str) -> list[tuple[str, ...]]:
        """A grower's lines, each a text for every head."""
        number = self._number.get(name)
        if number is None:
            return []
        first, end = self._edges[number], self._edges[number + 1]
        return self._lines[first:end].rows()

    def marks(self, name: str) -> list[list[str]]:
        """What a grower's lines carry in words, by ticket: fall-backs of the laboratory, then those of the payment."""
        number = self._number.get(name)
        return [] if number is None else self._marks.get(number, [])

    def sources(self, name: str) -> dict[str, dict[str, int]]:
        """Stored readings behind a grower's lines, by ticket."""
        d = self._paid.deliveries
        return {d.tickets[i]: dict(d.sources[i]) for i in self.places(name) if i in d.sources} if d.sources else {}

    def totals(self, name: str) -> dict[str, str]:
        """Sums of the grower's columns that can be added up."""
        if name not in self._number:
            return {}
        heads = ["Net, t", "Amount, $", *(f"{_head(what)}, $" for what, _ in self._paid.adjustments), "Value, $"]
        held = self._by_grower
        return {head: str(column[self._number[name]]) for head, column in zip(heads, held, strict=True)}


def _marks(paid: Paid) -> dict[int, list[list[str]]]:
    d, found = paid.deliveries, dict[int, list[list[str]]]()
    for i in sorted(set(d.marks) | set(paid.notes)):
        said = (*d.marks.get(i, ()), *paid.notes.get(i, ()))
        found.setdefault(int(d.grower[i]), []).extend([d.tickets[i], each] for each in said)
    return found


def _head(name: str) -> str:
    return f"{name[:1].upper()}{name[1:]}"


def _rules(run: PayRun) -> list[str]:
    """Levies, bonuses, penalties and mill balances that hold on some day of the run, in words."""
    first = run.period.first if run.period else run.season.first
    last = run.period.last if run.period else run.season.last
    levies = [f"levy: {each}" for each in run.season.levies if each.first <= last and each.last >= first]
    others: list[Adjustment | MillBalance] = [*run.season.adjustments, *run.season.balances]
    return levies + [str(each) for each in others if each.first <= last and each.last >= first]


def _paid_heads(paid: Paid) -> list[str]:
    """Heads of quality and price; where growers are paid in several ways, in words that fit all."""
    names = {(g.use.scheme.quality_name, g.use.scheme.quality_unit) for g in paid.groups}
    name, unit = names.pop() if len(names) == 1 else ("quality", "see scheme")
    kinds = {g.use.scheme.kind for g in paid.groups}
    price = (
        "Pay units per t" if kinds == {Kind.POOL} else "Price, $/t" if kinds == {Kind.PRICE} else "Price or units per t"
    )
    return [f"{name} paid on, {unit}", f"Relative {name}, {unit}", price, "Amount, $"]


def _read(paid: Paid, name: str) -> pl.Series:
    column = paid.deliveries.readings[name]
    texts = column.values.texts()
    return texts if column.taken.all() else _where(column.taken, texts, "not read")


def _spread(uncertainty: Units) -> pl.Series:
    known = ~np.isnan(uncertainty)
    hundredths = np.rint(np.where(known, uncertainty, 0.0) * 100).astype(np.int64)
    return _where(known, Exact(hundredths, 2).texts(), "not known")


def _where(mask: Units, texts: pl.Series, otherwise: str) -> pl.Series:
    return texts.zip_with(pl.Series(mask), pl.Series([otherwise]))


def _prices(paid: Paid) -> pl.Series:
    """Prices with the digits that they are settled with, at most so many as fit a line."""
    return paid.price.rounded(max(2, min(paid.price.places, PRINTED))).texts()


def _groups_of(paid: Paid, places: Sequence[int]) -> list[Group]:
    return [paid.groups[i] for i in np.unique(paid.group[places]).tolist()] if places else []


def _scheme(group: Group) -> dict[str, Any]:
    scheme, use = group.use.scheme, group.use
    return {
        "title": scheme.title,
        "says": scheme.says,
        "source": f"{scheme.source} ({scheme.status})",
        "steps": list(scheme.steps),
        "since": group.since.isoformat(),
        "constants": [
            [c.says, str(group.terms[c.name].decimals()[0]), "" if c.unit == "1" else c.unit] for c in scheme.constants
        ],
        "relative": RELATIVE_SAYS[use.relative],
        "least_price": str(use.least_price),
        "blend": str(use.blend),
        "quality": [scheme.quality_name, scheme.quality_unit],
    }


def _mean(mean: WeekMean, run: PayRun) -> list[str]:
    unit = run.season.schemes[mean.scheme].scheme.quality_unit
    rows = (mean.tonnes, rounded(mean.mean, PRINTED_MEAN), rounded(mean.season_mean, PRINTED_MEAN))
    return [mean.scheme, str(mean.week), *map(str, rows), unit]


def _pool(pool: Pool) -> list[str]:
    return [pool.scheme, str(pool.money), str(rounded(pool.units, 6)), str(rounded(pool.each, 6))]


def _correction(c: Correction) -> list[str]:
    return [str(c.period), c.ticket, c.day.isoformat() if c.day else "", str(c.amount), c.reason]


def _told(uncertainty: float | None) -> str | None:
    if uncertainty is None or np.isnan(uncertainty):
        return None
    return f"{uncertainty:.2f}"


def _build_up(account: Account, run: PayRun) -> list[list[str]]:
    """How the payment comes about, line by line, each with its unit."""
    unit, places = run.season.currency, run.season.rounding.money
    told: list[tuple[str, Decimal]] = [
        ("value credited before this run", account.value_before),
        ("value of the period's consignments", account.value),
        ("corrections" if not run.final else "final adjustment and corrections", account.corrections),
        ("value to date", account.value_to_date),
    ]
    rows = [[says, f"{amount:.{places}f}", unit] for says, amount in told]
    rows.append(["part of it that is paid by now", f"{account.advance * 100:f}", "%"])
    rest = [
        ("advance to date", account.advanced_to_date),
        ("less advanced before", -account.advanced_before),
        *((f"less {name}", -amount) for name, amount in account.charges),
        ("carried from the run before", account.carried_before),
        ("balance", account.balance),
        ("payable now", account.payable),
        ("carried to the next run", account.carried),
    ]
    return rows + [[says, f"{amount:.{places}f}", unit] for says, amount in rest]
