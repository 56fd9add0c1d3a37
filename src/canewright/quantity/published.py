"""Published checks kept as data: how the files in ``canewright/published`` are read, worked and weighed.

A check can be read only when its formula is declared: import the parts that declare formulas first.

A file holds ``[source.<key>]`` (author, title, year, where), ``[[case]]`` and ``[[table]]``. A case names a formula of
the catalogue, its source, its status, its inputs and what is expected, each with a unit (``"72 °F"``); figures stay
text so that the digits printed are known. A table is many cases of one formula: ``columns`` names what varies, ``rows``
holds the figures, ``inputs`` what is the same for all.

A case closes when it agrees within half a unit of the last printed digit, or within ``within`` (in the unit of the
expected figure) or ``within_percent``; a wider limit must say ``why``. A case that does not close stays, with
``closes = false`` and a ``reason``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from math import inf, log10
from pathlib import Path
from typing import Any

from canewright.quantity.formula import CATALOGUE
from canewright.quantity.units import convert, unit

FOLDER = Path(__file__).parents[1] / "published"
OWN = "derived, own numbers"
STATUSES = ("read", "recomputed", "from memory", OWN)
"""``read``: the figure was seen at the source. ``recomputed``: the equation or data were seen there, the figure was
worked from them apart from this code. ``from memory``: recalled. ``derived, own numbers``: not published at all."""
MOST_DIGITS = 9.0
"""Agreement beyond this many digits is not told apart: it is rounding."""
_SHARED = {"formula", "source", "status", "inputs", "within", "within_percent", "why", "note", "closes", "reason"}
_CASE = _SHARED | {"id", "expected"}
_TABLE = _SHARED | {"id", "columns", "rows"}
_SOURCE = ("author", "title", "year", "where")


class CheckUnreadable(ValueError):
    """A file of published checks says something that cannot be used."""


@dataclass(frozen=True)
class Reading:
    """A printed figure and its unit."""

    printed: str
    unit: str

    @property
    def value(self) -> float:
        """The figure as a number."""
        return float(self.printed)

    @property
    def half_step(self) -> float:
        """Half a unit of the last printed digit."""
        exponent = Decimal(self.printed).as_tuple().exponent
        return 0.5 * 10.0 ** int(exponent)

    def __str__(self) -> str:
        """As printed, with its unit."""
        return self.printed if self.unit == "1" else f"{self.printed} {self.unit}"


@dataclass(frozen=True)
class Source:
    """Where figures were published."""

    author: str
    title: str
    year: str
    where: str

    def __str__(self) -> str:
        """The citation in one line."""
        return f"{self.author}, {self.title} ({self.year}), {self.where}"


@dataclass(frozen=True)
class Check:
    """One published figure, and all that is needed to work it out again."""

    name: str
    formula: str
    source: Source
    status: str
    inputs: Mapping[str, Reading]
    expected: Reading
    within: float
    why: str
    note: str
    reason: str
    file: str

    @property
    def should_close(self) -> bool:
        """Whether ours is expected to agree; where not, ``reason`` says why."""
        return not self.reason

    @property
    def published(self) -> bool:
        """Whether the figure or its equation comes from a publication, not from numbers made up for the test."""
        return self.status != OWN

    def ours(self) -> float:
        """What the formula gives, in the unit of the expected figure."""
        formula = CATALOGUE[self.formula]
        given = {
            name: convert(each.value, each.unit, formula.arguments[name].unit) for name, each in self.inputs.items()
        }
        return convert(float(formula(**given)), formula.result.unit, self.expected.unit)

    def closes(self) -> bool:
        """Whether ours agrees within the limit; rounding of the limit itself is forgiven."""
        return abs(self.ours() - self.expected.value) <= self.within * (1 + 1e-9) + 1e-12 * abs(self.expected.value)

    def digits(self) -> float:
        """Digits agreed: minus the decimal logarithm of the relative difference, 0 to 9."""
        expected = self.expected.value
        apart = abs(self.ours() - expected) / (abs(expected) or 1.0)
        return MOST_DIGITS if apart == 0 else min(MOST_DIGITS, max(0.0, -log10(apart)))


def reading(text: str, place: str) -> Reading:
    """Split ``"1.945 g/m/s"`` into figure and unit; a bare figure has unit 1.

    Raises CheckUnreadable for what is no number and ValueError for an unknown unit.
    """
    printed, _, symbol = text.strip().partition(" ")
    try:
        Decimal(printed)
    except InvalidOperation:
        raise CheckUnreadable(f"{place}: '{text}' does not begin with a number, as in '20 °C'") from None
    unit(symbol or "1")
    return Reading(printed, symbol or "1")


def read_file(path: Path) -> list[Check]:
    """All cases of a file, tables written out.

    Raises CheckUnreadable naming file, case and what is wrong.
    """
    found = tomllib.loads(path.read_text(encoding="utf-8"))
    for key in found:
        if key not in {"source", "case", "table"}:
            raise CheckUnreadable(f"{path.name}: '{key}' is not known; known are source, case, table")
    sources = {key: _source(key, given, path.name) for key, given in found.get("source", {}).items()}
    cases = list(found.get("case", []))
    for table in found.get("table", []):
        cases.extend(_rows(table, path.name))
    return [_check(case, sources, path.name) for case in cases]


def read_folder(folder: Path = FOLDER) -> list[Check]:
    """All cases of all files, in the order of the file names.

    Raises CheckUnreadable where two cases share an id.
    """
    checks = [check for path in sorted(folder.glob("*.toml")) for check in read_file(path)]
    seen: set[str] = set()
    for check in checks:
        if check.name in seen:
            raise CheckUnreadable(f"{check.file}: id '{check.name}' is used twice")
        seen.add(check.name)
    return checks


@cache
def _all_checks() -> tuple[Check, ...]:
    return tuple(read_folder())


def published_checks(name: str) -> tuple[Check, ...]:
    """The checks of one formula, read once; none where nothing was published about it.

    Raises CheckUnreadable as ``read_folder``, which also happens where not every formula is declared yet.
    """
    return tuple(check for check in _all_checks() if check.formula == name)


def _source(key: str, given: Mapping[str, Any], file: str) -> Source:
    if set(given) != set(_SOURCE):
        raise CheckUnreadable(f"{file}: source '{key}' must give exactly {', '.join(_SOURCE)}")
    return Source(*(str(given[name]) for name in _SOURCE))


def _rows(table: Mapping[str, Any], file: str) -> Iterator[dict[str, Any]]:
    _refuse_unknown(table, _TABLE, file)
    columns = [column.partition(" ")[::2] for column in table["columns"]]
    shared = {key: value for key, value in table.items() if key in _SHARED}
    for row in table["rows"]:
        if len(row) != len(columns):
            raise CheckUnreadable(f"{file}: table '{table['id']}': row {row} has not {len(columns)} figures")
        cells = {name: f"{cell} {symbol}".strip() for (name, symbol), cell in zip(columns, row, strict=True)}
        expected = cells.pop("expected")
        marks = "/".join(cell for (name, _), cell in zip(columns, row, strict=True) if name != "expected")
        inputs = {**table.get("inputs", {}), **cells}
        yield {**shared, "id": f"{table['id']} at {marks}", "inputs": inputs, "expected": expected}


def _refuse_unknown(given: Mapping[str, Any], known: set[str], file: str) -> None:
    unknown = sorted(set(given) - known)
    if unknown:
        raise CheckUnreadable(f"{file}: '{given.get('id')}': {', '.join(unknown)} not known; known are {sorted(known)}")


def _check(case: Mapping[str, Any], sources: Mapping[str, Source], file: str) -> Check:
    _refuse_unknown(case, _CASE, file)
    place = f"{file}: '{case.get('id')}'"
    if case["status"] not in STATUSES:
        raise CheckUnreadable(f"{place}: status '{case['status']}' is not one of {', '.join(STATUSES)}")
    if case["formula"] not in CATALOGUE:
        raise CheckUnreadable(f"{place}: no formula is called '{case['formula']}'")
    if case["source"] not in sources:
        raise CheckUnreadable(f"{place}: source '{case['source']}' is not among {', '.join(sources)}")
    wanted = set(CATALOGUE[case["formula"]].arguments)
    if set(case["inputs"]) != wanted:
        raise CheckUnreadable(f"{place}: {case['formula']} takes {', '.join(sorted(wanted))}")
    if (case.get("closes", True)) == ("reason" in case):
        raise CheckUnreadable(f"{place}: a case has a reason if, and only if, closes = false")
    expected = reading(case["expected"], place)
    within = _within(case, expected, place)
    return Check(
        case["id"], case["formula"], sources[case["source"]], case["status"],
        {name: reading(text, place) for name, text in case["inputs"].items()},
        expected, within, case.get("why", ""), case.get("note", ""), case.get("reason", ""), file,
    )  # fmt: skip


def _within(case: Mapping[str, Any], expected: Reading, place: str) -> float:
    limits = [float(case.get("within", inf)), case.get("within_percent", inf) / 100.0 * abs(expected.value)]
    given: float = min(limits)
    if given == inf:
        return expected.half_step
    if given > expected.half_step and "why" not in case:
        raise CheckUnreadable(f"{place}: a limit wider than the printed digits must say why")
    return given
