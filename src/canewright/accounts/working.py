"""A formula of the catalogue worked on what a person typed: the same for the command line and for the pages."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

import canewright.analysis
import canewright.properties  # noqa: F401 - both declare their formulas
from canewright.engine.uncertainty import BadUncertainty, Propagated, propagated
from canewright.intervals import TIMES
from canewright.quantity import CATALOGUE, Argument, Formula, OutOfRange, UnknownUnit, convert, unit
from canewright.quantity.entries import NotUnderstood, read_entry
from canewright.quantity.searching import nearest
from canewright.quantity.spellings import same_kind, spelt
from canewright.quantity.synonyms import plain

Array = NDArray[np.float64]
Correlations = Mapping[tuple[str, str], float]
CURVED = 0.05
"""From this part of the first-order uncertainty on, what curvature adds is told."""


class CannotWork(ValueError):
    """A formula cannot be worked on what was given; the message is one line: what, found, accepted."""


@dataclass(frozen=True)
class Taken:
    """An input as it was taken, in its declared unit; ``standard`` is None where no uncertainty was given."""

    name: str
    declared: Argument
    typed: str
    values: Array
    standard: Array | None


@dataclass(frozen=True)
class Worked:
    """A formula's answer in ``unit``, one value or as many as the inputs have, with what it was worked from.

    ``standard`` is the first-order standard uncertainty, ``second_order`` the same with curvature, ``shares`` each
    input's part of the variance; all None where no input carries an uncertainty.
    """

    formula: Formula
    inputs: tuple[Taken, ...]
    unit: str
    values: Array
    standard: Array | None
    second_order: Array | None
    shares: Mapping[str, Array] | None
    notes: tuple[str, ...]

    @property
    def half_width(self) -> Array | None:
        """Half the 95 % interval."""
        return None if self.standard is None else TIMES * self.standard

    def to_json(self) -> dict[str, Any]:
        """The answer as plain data: single values where there is one, else lists."""
        return {
            "formula": self.formula.name,
            "equation": self.formula.equation,
            "inputs": {
                t.name: {"typed": t.typed, "value": _bare(t.values), "unit": t.declared.unit,
                         "standard_uncertainty": None if t.standard is None else _bare(t.standard)}
                for t in self.inputs
            },
            "value": _bare(self.values),
            "unit": self.unit,
            "half_width_95": None if self.half_width is None else _bare(self.half_width),
            "standard_uncertainty": None if self.standard is None else _bare(self.standard),
            "standard_uncertainty_second_order": None if self.second_order is None else _bare(self.second_order),
            "variance_shares": None if self.shares is None else {k: _bare(v) for k, v in self.shares.items()},
            "notes": list(self.notes),
            "source": self.formula.source,
            "status": self.formula.status,
            "caveat": self.formula.caveat,
        }  # fmt: skip


def _bare(values: Array) -> Any:
    """A number, or a list of them; None for what is not finite, which plain data cannot hold."""
    each = [float(v) if np.isfinite(v) else None for v in np.atleast_1d(values)]
    return each[0] if values.size == 1 else each


def find_formula(asked: str) -> Formula:
    """The formula of this name, however its words are joined. Raises CannotWork with the nearest names."""
    known = {plain(name): name for name in CATALOGUE}
    if plain(asked) in known:
        return CATALOGUE[known[plain(asked)]]
    near = nearest(asked, CATALOGUE)
    hint = f"; nearest: {', '.join(near)}" if near else ""
    raise CannotWork(f"no formula is called '{asked[:80]}'{hint}; canewright formulas {asked[:80]} searches")


def work(
    asked: str,
    given: Iterable[tuple[str, str]],
    wanted_unit: str | None = None,
    correlations: Correlations | None = None,
) -> Worked:
    """The formula's answer on inputs as typed: ``[("brix", "15.2 ± 0.1"), ("temperature", "72 °F")]``.

    An input is named by its name or trade symbol. ± is the half-width of a 95 % interval. Inputs without ± are taken as
    exact. ``correlations`` are of pairs of inputs. Raises CannotWork for whatever cannot be used.
    """
    formula = find_formula(asked)
    taken = _taken(formula, given)
    values = [t.values if t.values.size > 1 else float(t.values[0]) for t in taken]
    _refuse_outside(formula, taken)
    answer = _evaluated(formula, values)
    spread = _propagated(formula, taken, correlations or {})
    symbol, scale, convertible = _wanted(formula, wanted_unit)
    shown = np.array([convert(float(v), formula.result.unit, symbol) if convertible else float(v) for v in answer])
    return Worked(
        formula, taken, symbol, shown,
        None if spread is None else spread.standard * scale,
        None if spread is None else spread.second_order * scale,
        None if spread is None else dict(zip(formula.arguments, spread.shares, strict=True)),
        tuple(_notes(formula, taken, answer, spread)),
    )  # fmt: skip


# --- inputs -----------------------------------------------------------------------------------------------------------


def _taken(formula: Formula, given: Iterable[tuple[str, str]]) -> tuple[Taken, ...]:
    typed: dict[str, str] = {}
    for word, text in given:
        name = _argument(formula, word)
        if name in typed:
            raise CannotWork(f"{formula.name}: {name} is given twice; give it once, several values parted by ;")
        typed[name] = text
    missing = [f"{n} ({_range(a)})" for n, a in formula.arguments.items() if not typed.get(n, "").strip()]
    if missing:
        raise CannotWork(f"{formula.name}: missing {'; '.join(missing)}; give each as name=value")
    taken = tuple(_read(name, typed[name], declared) for name, declared in formula.arguments.items())
    several = {t.name: t.values.size for t in taken if t.values.size > 1}
    if len(set(several.values())) > 1:
        counted = ", ".join(f"{name} has {count} values" for name, count in several.items())
        raise CannotWork(f"{formula.name}: {counted}; give as many of each, or one value that serves for all")
    return taken


def _argument(formula: Formula, word: str) -> str:
    """The argument that a person means, by name or by a trade symbol that only one has."""
    for name in formula.arguments:
        if plain(name) == plain(word):
            return name
    by_symbol = [name for name, a in formula.arguments.items() if a.symbol == word.strip()]
    if len(by_symbol) == 1:
        return by_symbol[0]
    known = ", ".join(formula.arguments)
    near = nearest(word, formula.arguments, 1)
    hint = f"; nearest: {near[0]}" if near else ""
    raise CannotWork(f"{formula.name}: '{word[:80]}' is none of its inputs{hint}; accepted: {known}")


def _range(declared: Argument) -> str:
    symbol = "" if declared.unit == "1" else f" {declared.unit}"
    if np.isinf(declared.high):
        return f"{declared.low:g}{symbol} and up"
    return f"{declared.low:g} to {declared.high:g}{symbol}"


def _read(name: str, typed: str, declared: Argument) -> Taken:
    try:
        entry = read_entry(name, typed, declared)
    except NotUnderstood as refused:
        raise CannotWork(str(refused)) from None
    spread = None if entry.spread is None else np.array(entry.spread) / (1.0 if entry.standard else TIMES)
    return Taken(name, declared, entry.typed, np.array(entry.values), spread)


def _refuse_outside(formula: Formula, taken: Iterable[Taken]) -> None:
    for each in taken:
        bad = each.declared.outside(each.values)
        if bad is None:
            continue
        shown = "" if each.declared.unit == "1" else f" {each.declared.unit}"
        given = "" if each.typed in {f"{bad:g}", f"{bad:g}{shown}"} else f" (typed '{each.typed[:60]}')"
        raise CannotWork(
            f"{formula.name}: {each.name} is {bad:.6g}{shown}{given}; accepted: {_range(each.declared)}, "
            "for which the source holds"
        )


# --- answer -----------------------------------------------------------------------------------------------------------


def _evaluated(formula: Formula, values: Sequence[float | Array]) -> Array:
    try:
        with np.errstate(all="ignore"):
            answer = np.atleast_1d(np.asarray(formula(*values), dtype=float))
    except OutOfRange as outside:
        raise CannotWork(f"{formula.name}: these inputs lead outside a range on the way: {outside}") from None
    except (ArithmeticError, ValueError):  # a quotient by zero or a root of what is negative
        answer = np.array([np.nan])
    if not np.isfinite(answer).all():
        raise CannotWork(f"{formula.name} has no value at these inputs; move them off the limits of their ranges")
    size = max((np.size(v) for v in values), default=1)
    return np.array(np.broadcast_to(answer, (size,)))


def _propagated(formula: Formula, taken: Sequence[Taken], correlations: Correlations) -> Propagated | None:
    related = _related(formula, taken, correlations)
    if all(t.standard is None for t in taken):
        return None
    values = [t.values for t in taken]
    standard = [np.zeros(1) if t.standard is None else t.standard for t in taken]
    try:
        return propagated(formula, values, standard, correlation=related)
    except BadUncertainty as refused:
        raise CannotWork(f"{formula.name}: correlations: {refused}") from None


def _related(formula: Formula, taken: Sequence[Taken], correlations: Correlations) -> Array:
    related = np.eye(len(taken))
    place = {t.name: i for i, t in enumerate(taken)}
    for (one, other), size in correlations.items():
        a, b = _argument(formula, one), _argument(formula, other)
        if a == b or not -1.0 <= size <= 1.0:
            raise CannotWork(f"correlation of {one} and {other}: found {size:g}; accepted: two inputs, -1 to 1")
        lacking = [t.name for t in taken if t.name in {a, b} and t.standard is None]
        if lacking:
            raise CannotWork(f"correlation of {one} and {other}: {lacking[0]} has no ±; give both an uncertainty")
        related[place[a], place[b]] = related[place[b], place[a]] = size
    return related


def _wanted(formula: Formula, wanted: str | None) -> tuple[str, float, bool]:
    """The unit of the answer, the size of the declared unit in it, and whether values have to be converted."""
    declared = formula.result.unit
    if wanted is None:
        return declared, 1.0, False
    try:
        symbol = spelt(wanted)
    except UnknownUnit as unknown:
        raise CannotWork(f"answer: {unknown}; accepted: {', '.join(same_kind(declared))}") from None
    to, own = unit(symbol), unit(declared)
    if to.exponents != own.exponents or (to.is_point and not own.is_point):
        raise CannotWork(f"answer: found {symbol}; accepted: {', '.join(same_kind(declared))}")
    return symbol, own.factor / to.factor, symbol != declared


def _notes(formula: Formula, taken: Sequence[Taken], answer: Array, spread: Propagated | None) -> Iterable[str]:
    """What a person should know beside the number."""
    bad = formula.result.outside(answer)
    if bad is not None:
        yield f"the answer {bad:.6g} lies outside {_range(formula.result)}, where answers are expected"
    if spread is None:
        return
    for each in taken:
        if each.standard is None:
            continue
        reach = TIMES * each.standard
        if (
            each.declared.outside(each.values - reach) is not None
            or each.declared.outside(each.values + reach) is not None
        ):
            yield f"the interval of {each.name} reaches beyond {_range(each.declared)}, for which the source holds"
    exact = [t.name for t in taken if t.standard is None]
    if exact:
        yield f"taken as exact: {', '.join(exact)}"
    if not np.isfinite(spread.standard).all():
        yield "no uncertainty can be given here: the formula has no slope at these inputs"
    with np.errstate(all="ignore"):
        bent = np.abs(spread.second_order / spread.standard - 1)
    if (bent > CURVED).any():
        first, second = (float(np.nanmax(TIMES * s)) for s in (spread.standard, spread.second_order))
        yield (
            f"the formula is curved over these intervals: ± {second:.3g} with second-order terms, not {first:.3g} "
            f"{formula.result.unit}"
        )
