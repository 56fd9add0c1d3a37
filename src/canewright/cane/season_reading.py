"""Reading a season's agreement from a plain TOML text: every fault by line and field, with what is accepted."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from typing import Any

from canewright.cane.rounding import Half
from canewright.cane.schemes import READABLE, SCHEMES, Scheme, scheme_names, versions_of
from canewright.cane.season import (
    WEEK,
    Adjustment,
    DatedTerms,
    GrowersAgreement,
    Levy,
    MillBalance,
    MillTerms,
    PayRounding,
    Per,
    Period,
    Recovery,
    Relative,
    SchemeInUse,
    Season,
)
from canewright.plant.faults import DescriptionFaults, Fault, Reader, nearest
from canewright.plant.toml_lines import Path as Keys
from canewright.plant.toml_lines import TomlSyntax, read_lined

LARGEST = Decimal(10) ** 11
MOST_PLACES = 9
TABLES = (
    "season", "rounding", "schemes", "agreements", "periods", "levies", "adjustments", "recoveries", "mill_balances",
    "mill",
)  # fmt: skip
ADJUSTMENT_SIGNS = {"bonus": 1, "penalty": -1}


class SeasonFaults(DescriptionFaults):
    """An agreement that cannot be used; ``faults`` lists every one found, by line and field."""


def read_season(text: str) -> Season:
    """The agreement in a text. Raises SeasonFaults naming line and field of every fault."""
    try:
        reader = _SeasonReader(read_lined(text))
    except TomlSyntax as error:
        raise SeasonFaults([Fault(1, "file", str(error), "a TOML text")]) from error
    season = reader.season(text)
    if reader.faults:
        raise SeasonFaults(reader.faults)
    return season


class _SeasonReader(Reader):
    """Reads the tables one by one; whatever is wrong goes to the list and the reading goes on."""

    first: dt.date
    last: dt.date

    def season(self, text: str) -> Season:
        self.known((), self.lined.data, TABLES)
        table = self.table("season")
        self.known(("season",), table, ("name", "first_day", "last_day", "currency", "least_correction"))
        self.first = self.date(("season", "first_day"), table.get("first_day"))
        self.last = self.date(("season", "last_day"), table.get("last_day"))
        if self.last < self.first:
            self.fault(("season", "last_day"), str(self.last), f"a day from {self.first} on")
        schemes = {key: self.scheme(key) for key in self.table("schemes")}
        if not schemes:
            self.fault(("schemes",), None, "at least one table [schemes.NAME]")
        used = {key: found for key, found in schemes.items() if found is not None}
        periods = self.periods(weekly=any(s.relative is not Relative.NONE for s in used.values()))
        return Season(
            self.words(("season", "name"), table.get("name")),
            self.first,
            self.last,
            self.words(("season", "currency"), table.get("currency", "$")),
            self.rounding(),
            self.decimal(("season", "least_correction"), table.get("least_correction", "0"), Decimal(0), LARGEST),
            used,
            self.agreements(schemes),
            periods,
            self.levies(),
            self.adjustments(),
            self.recoveries(len(periods)),
            self.balances(),
            self.mill(),
            text,
        )

    # --- single values ------------------------------------------------------------------------------------------------

    def date(self, path: Keys, value: object) -> dt.date:
        if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
            return value
        self.say(path, "nothing" if value is None else str(value), "a day without quotes, such as 2031-06-02")
        return dt.date(2000, 1, 1)

    def decimal(self, path: Keys, value: object, low: Decimal, high: Decimal, accepted: str = "") -> Decimal:
        """Money and rates are decimals: a text or a whole number, never a binary fraction, which nobody typed."""
        accepted = accepted or f'a decimal number in quotes from {low} to {high}, such as "0.35"'
        if isinstance(value, str) or (isinstance(value, int) and not isinstance(value, bool)):
            try:
                found = Decimal(value)
            except InvalidOperation:
                found = Decimal("NaN")
            if found.is_finite() and low <= found <= high and -int(found.as_tuple().exponent) <= 2 * MOST_PLACES:
                return found
        self.fault(path, value, accepted)
        return low

    def span(self, path: Keys, table: Mapping[str, Any]) -> tuple[dt.date, dt.date]:
        """The days from and to of an entry, the season's where they are left out."""
        first = self.date((*path, "from"), table.get("from", self.first))
        last = self.date((*path, "to"), table.get("to", self.last))
        if last < first:
            self.fault((*path, "to"), str(last), f"a day from {first} on")
        return first, last

    def choice(self, path: Keys, value: object, known: Mapping[str, Any]) -> Any:
        if isinstance(value, str) and value in known:
            return known[value]
        self.fault(path, value, nearest(str(value), known))
        return next(iter(known.values()))

    # --- tables -------------------------------------------------------------------------------------------------------

    def rounding(self) -> PayRounding:
        table = self.table("rounding")
        self.known(("rounding",), table, ("quality", "relative", "price", "money", "half"))
        usual = PayRounding()

        def places(name: str, otherwise: int) -> int:
            value = table.get(name, otherwise)
            if isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MOST_PLACES:
                return value
            self.fault(("rounding", name), value, f"a whole number of decimals from 0 to {MOST_PLACES}")
            return otherwise

        half = self.choice(("rounding", "half"), table.get("half", "even"), {"even": Half.EVEN, "up": Half.UP})
        price = places("price", 4) if "price" in table else None
        return PayRounding(
            places("quality", usual.quality), places("relative", usual.relative), price, places("money", 2), half
        )

    def scheme(self, key: str) -> SchemeInUse | None:
        path: Keys = ("schemes", key)
        table = self.table("schemes", key)
        self.known(
            path, table,
            ("scheme", "version", "relative", "season_mean", "relative_from", "relative_to", "blend", "least_price",
             "terms", "final"),
        )  # fmt: skip
        name, version = table.get("scheme"), table.get("version", 1)
        if not isinstance(name, str) or name not in scheme_names():
            self.fault((*path, "scheme"), name, nearest(str(name), scheme_names()))
            return None
        if version not in versions_of(name):
            self.fault((*path, "version"), version, " or ".join(str(v) for v in versions_of(name)))
            return None
        scheme = SCHEMES[name, version]
        relative: Relative = self.choice(
            (*path, "relative"), table.get("relative", "none"), {r.value: r for r in Relative}
        )
        first = self.date((*path, "relative_from"), table.get("relative_from", self.first))
        last = self.date((*path, "relative_to"), table.get("relative_to", self.last))
        mean = table.get("season_mean")
        if relative is not Relative.NONE and mean is None:
            self.fault((*path, "season_mean"), None, 'the expected mean quality of the season, such as "13.20"')
        return SchemeInUse(
            key,
            scheme,
            relative,
            self.mean((*path, "season_mean"), mean),
            first,
            last,
            self.decimal((*path, "blend"), table.get("blend", "1"), Decimal(0), Decimal(1)),
            self.decimal((*path, "least_price"), table.get("least_price", "0"), -LARGEST, LARGEST),
            self.terms(path, scheme, table),
            self.constants((*path, "final"), scheme, table["final"]) if "final" in table else None,
        )

    def mean(self, path: Keys, value: object) -> Decimal | None:
        """A mean quality, where one is given."""
        return None if value is None else self.decimal(path, value, Decimal("0.01"), Decimal(1000))

    def terms(self, path: Keys, scheme: Scheme, table: Mapping[str, Any]) -> tuple[DatedTerms, ...]:
        rows = self.array("terms", table, path)
        found: list[DatedTerms] = []
        if not rows:
            self.fault((*path, "terms"), None, f"tables [[{'.'.join(map(str, path))}.terms]] with from and constants")
        for i, row in enumerate(rows):
            first = self.date((*path, "terms", i, "from"), row.get("from", self.first))
            if found and first <= found[-1].first:
                self.fault((*path, "terms", i, "from"), str(first), f"a day after {found[-1].first}, in order")
            if not scheme.in_force(first, first):
                since = scheme.since or "the beginning"
                self.fault((*path, "terms", i, "from"), str(first), f"{scheme.title} is in force from {since}")
            values = {k: v for k, v in row.items() if k not in {"from", "season_mean"}}
            mean = self.mean((*path, "terms", i, "season_mean"), row.get("season_mean"))
            found.append(DatedTerms(first, self.constants((*path, "terms", i), scheme, values), mean))
        return tuple(found)

    def constants(self, path: Keys, scheme: Scheme, given: object) -> dict[str, Decimal]:
        """Every constant of the scheme; one that is lacking is a fault, never a usual value."""
        if not isinstance(given, dict):
            self.fault(path, given, f"a table with {', '.join(scheme.names)}")
            return {}
        self.known(path, given, (*scheme.names, *(c.name for c in scheme.crosschecks)))
        before = len(self.faults)
        values = {
            c.name: self.decimal((*path, c.name), given.get(c.name), c.low, c.high, f"{c.says}: {c.accepted()}")
            for c in scheme.constants
        }
        if len(self.faults) == before:
            self.crosschecks(path, scheme, given, values)
        return values

    def crosschecks(self, path: Keys, scheme: Scheme, given: Mapping[str, Any], values: Mapping[str, Decimal]) -> None:
        """Numbers that a notice prints beside the constants must follow from them."""
        for check in scheme.crosschecks:
            if check.name not in given:
                continue
            printed = self.decimal((*path, check.name), given[check.name], -LARGEST, LARGEST)
            if not check.agrees(printed, values):
                found = check.follows(values).quantize(Decimal("0.01"))
                accepted = f"{found} {check.unit}, {check.says}; the notice contradicts itself: ask for the right one"
                self.fault((*path, check.name), given[check.name], accepted)

    def agreements(self, schemes: Mapping[str, Any]) -> tuple[GrowersAgreement, ...]:
        found: list[GrowersAgreement] = []
        for i, row in enumerate(self.array("agreements")):
            path: Keys = ("agreements", i)
            self.known(path, row, ("growers", "scheme", "from", "to"))
            growers = self.growers((*path, "growers"), row.get("growers", "all"))
            key = row.get("scheme")
            if key not in schemes:
                self.fault((*path, "scheme"), key, nearest(str(key), schemes))
            new = GrowersAgreement(growers, str(key), *self.span(path, row))
            clash = next((a for a in found if _overlap(a, new)), None)
            if clash is not None:
                self.fault((*path, "from"), str(new.first), f"no day that agreement {found.index(clash) + 1} holds too")
            found.append(new)
        if not found:
            self.fault(("agreements",), None, "at least one table [[agreements]] with growers and scheme")
        return tuple(found)

    def growers(self, path: Keys, value: object) -> frozenset[str] | None:
        if value == "all":
            return None
        if isinstance(value, list) and value and all(isinstance(v, str) and v.strip() for v in value):
            return frozenset(value)
        self.fault(path, value, '"all" or a list of growers, such as ["Reed Bank Farm"]')
        return frozenset()

    def periods(self, *, weekly: bool) -> tuple[Period, ...]:
        found: list[Period] = []
        for i, row in enumerate(self.array("periods")):
            path: Keys = ("periods", i)
            self.known(path, row, ("from", "to", "advance"))
            first, last = self.span(path, row)
            share = self.decimal((*path, "advance"), row.get("advance", "1"), Decimal(0), Decimal(1))
            found.append(Period(i + 1, first, last, share))
            if weekly and ((first - self.first).days % WEEK or (last - first).days % WEEK != WEEK - 1):
                accepted = f"whole weeks from {self.first}, since a scheme pays relative to the mean of the week"
                self.fault((*path, "to"), f"{first} to {last}", accepted)
        if not found:
            self.fault(("periods",), None, "at least one table [[periods]] with from, to and advance")
        for one, two in pairwise(found):
            if two.first != one.last + dt.timedelta(days=1):
                path = ("periods", two.number - 1, "from")
                self.fault(path, str(two.first), f"{one.last + dt.timedelta(days=1)}, the day after the period before")
        if found and (found[0].first, found[-1].last) != (self.first, self.last):
            says = f"{found[0].first} to {found[-1].last}"
            self.say(("periods",), says, f"the whole season, {self.first} to {self.last}")
        return tuple(found)

    def levies(self) -> tuple[Levy, ...]:
        found = []
        for i, row in enumerate(self.array("levies")):
            path: Keys = ("levies", i)
            self.known(path, row, ("name", "rate", "per", "from", "to"))
            per: Per = self.choice((*path, "per"), row.get("per", "t of cane"), {p.value: p for p in Per})
            rate = self.decimal((*path, "rate"), row.get("rate"), Decimal(0), LARGEST)
            found.append(Levy(self.words((*path, "name"), row.get("name")), rate, per, *self.span(path, row)))
        return tuple(found)

    def adjustments(self) -> tuple[Adjustment, ...]:
        found = []
        for i, row in enumerate(self.array("adjustments")):
            path: Keys = ("adjustments", i)
            self.known(path, row, ("name", "kind", "rate", "reading", "free", "most", "from", "to"))
            sign: int = self.choice((*path, "kind"), row.get("kind"), ADJUSTMENT_SIGNS)
            reading = row.get("reading")
            if reading is not None and reading not in READABLE:
                self.fault((*path, "reading"), reading, nearest(str(reading), READABLE))
            most = row.get("most")
            found.append(
                Adjustment(
                    self.words((*path, "name"), row.get("name")),
                    sign,
                    self.decimal((*path, "rate"), row.get("rate"), Decimal(0), LARGEST),
                    *self.span(path, row),
                    reading,
                    self.decimal((*path, "free"), row.get("free", "0"), -LARGEST, LARGEST),
                    None if most is None else self.decimal((*path, "most"), most, Decimal(0), LARGEST),
                )
            )
        return tuple(found)

    def recoveries(self, periods: int) -> tuple[Recovery, ...]:
        found = []
        for i, row in enumerate(self.array("recoveries")):
            path: Keys = ("recoveries", i)
            self.known(path, row, ("name", "grower", "amount", "period"))
            number = row.get("period")
            if not isinstance(number, int) or isinstance(number, bool) or not 1 <= number <= periods:
                self.fault((*path, "period"), number, f"the number of a period, 1 to {periods}")
                number = 1
            name, grower = (self.words((*path, key), row.get(key)) for key in ("name", "grower"))
            amount = self.decimal((*path, "amount"), row.get("amount"), Decimal(0), LARGEST)
            found.append(Recovery(name, grower, amount, number))
        return tuple(found)

    def balances(self) -> tuple[MillBalance, ...]:
        found = []
        shared = ("pol in cane", "brix in cane", "fibre")
        for i, row in enumerate(self.array("mill_balances")):
            path: Keys = ("mill_balances", i)
            self.known(path, row, ("from", "to", *shared))
            tonnes = {
                name: self.decimal((*path, name), row[name], Decimal("0.001"), LARGEST)
                for name in shared
                if name in row
            }
            found.append(MillBalance(*self.span(path, row), tonnes))
        return tuple(found)

    def mill(self) -> MillTerms | None:
        if "mill" not in self.lined.data:
            return None
        table = self.table("mill")
        self.known(("mill",), table, ("recovery", "sugar_price"))
        return MillTerms(
            self.decimal(("mill", "recovery"), table.get("recovery"), Decimal(1), Decimal(110)),
            self.decimal(("mill", "sugar_price"), table.get("sugar_price"), Decimal(0), LARGEST),
        )


def _overlap(one: GrowersAgreement, two: GrowersAgreement) -> bool:
    """Whether two agreements of the same sort hold for one grower on one day."""
    if one.first > two.last or two.first > one.last or (one.growers is None) != (two.growers is None):
        return False
    return one.growers is None or two.growers is None or bool(one.growers & two.growers)
