"""A formula: a named calculation declared once with units, plausible ranges, source, caveat and a worked example.

A declared formula is still an ordinary function. Called with floats or arrays it checks its ranges; called with
symbols it builds the model; called with dimensions it checks units; called with words it prints itself.
"""

from __future__ import annotations

import contextlib
import contextvars
import functools
import inspect
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from canewright.quantity.maths import Num
from canewright.quantity.readings import Dimensional, UnitMismatch, Word
from canewright.quantity.units import Constant, unit

_NUMBERS = (int, float, np.ndarray)

_ROUNDING = 1e-12
"""Beyond a limit by less than this, relative to it, is rounding: a flow of -1e-31 t/h is nothing."""

BLOCK = 8_192
"""Longer arrays are worked through in blocks of so many values. Chosen by measurement (docs/decisions/0003): long
formulas with many intermediate results are several times slower in larger blocks."""


class OutOfRange(ValueError):
    """A formula was given a value outside the range for which its source holds."""


@dataclass(frozen=True)
class Argument:
    """One argument or the result of a formula: unit, meaning, trade symbol, kind and range of validity.

    ``kind`` keeps apart quantities that share a unit but must not be mixed, such as apparent and true purity.
    """

    unit: str
    says: str
    low: float = -np.inf
    high: float = np.inf
    symbol: str = ""
    kind: str = ""

    @functools.cached_property
    def least(self) -> float:
        """The lower limit less rounding."""
        return self.low - _ROUNDING * (1 + abs(self.low))

    @functools.cached_property
    def most(self) -> float:
        """The upper limit plus rounding."""
        return self.high + _ROUNDING * (1 + abs(self.high))

    def outside(self, value: Num) -> float | None:
        """The first value (of a float or array) outside the range, not-a-number included; None where all fit."""
        flat = np.atleast_1d(np.asarray(value, dtype=float))
        # the ends tell whether all fit, in less time and memory than a mask; not-a-number fails both comparisons
        if flat.size == 0 or (flat.min() >= self.least and flat.max() <= self.most):
            return None
        bad = ~((flat >= self.least) & (flat <= self.most))
        return float(flat[bad][0])


def argument(
    unit_symbol: str,
    says: str,
    low: float = -np.inf,
    high: float = np.inf,
    *,
    symbol: str = "",
    kind: str = "",
) -> Argument:
    """Declare an argument or a result; an unknown unit is refused at once."""
    unit(unit_symbol)
    return Argument(unit_symbol, says, low, high, symbol, kind)


@dataclass(frozen=True)
class RangeBreach:
    """An argument that lay outside a formula's range in a solved state."""

    formula: str
    argument: str
    value: float
    low: float
    high: float
    unit: str

    def __str__(self) -> str:
        """One sentence naming formula, argument, value and limits."""
        return (
            f"{self.formula}: {self.argument} is {self.value:.6g} {self.unit}, "
            f"outside {self.low:g} to {self.high:g} {self.unit}"
        )


_notes: contextvars.ContextVar[list[RangeBreach] | None] = contextvars.ContextVar("range_breaches", default=None)

Answer = Callable[["Formula", tuple[Num, ...]], Num]
_answer: contextvars.ContextVar[Answer | None] = contextvars.ContextVar("answer_on_symbols", default=None)


@contextlib.contextmanager
def answering(answer: Answer) -> Iterator[None]:
    """Let ``answer`` give the result of every formula called on symbols, while a model is traced.

    It must give what ``formula.function`` gives on the same values; it may remember and reuse.
    """
    token = _answer.set(answer)
    try:
        yield
    finally:
        _answer.reset(token)


@contextlib.contextmanager
def noting_breaches() -> Iterator[list[RangeBreach]]:
    """Collect range breaches instead of raising, while a state is computed or examined."""
    breaches: list[RangeBreach] = []
    token = _notes.set(breaches)
    try:
        yield breaches
    finally:
        _notes.reset(token)


@dataclass(frozen=True)
class Formula:
    """A declared calculation. ``example`` maps argument names to values and ``gives`` is the expected result."""

    name: str
    says: str
    arguments: Mapping[str, Argument]
    result: Argument
    equation: str
    source: str
    status: str
    caveat: str
    example: Mapping[str, float]
    gives: float
    function: Callable[..., Num]
    module: str

    def __call__(self, *given: Num, **named: Num) -> Num:
        """Evaluate on floats, arrays, symbols, dimensions or words.

        Raises OutOfRange for floats or arrays outside the declared ranges, unless breaches are being noted;
        UnitMismatch for dimensions that do not fit the signature.
        """
        if not named and len(given) == self._count:
            return self._quick(*given)
        return self._any_kind(self._ordered(given, named))

    @functools.cached_property
    def _count(self) -> int:
        return len(self.arguments)

    @functools.cached_property
    def _quick(self) -> Callable[..., Num]:
        limits = tuple((declared.least, declared.most) for declared in self.arguments.values())
        return _quick_way(self.function, limits, self._any_kind)

    def _any_kind(self, values: tuple[Num, ...]) -> Num:
        """Evaluate on arguments in order, of whatever kind."""
        if any(isinstance(v, Dimensional) for v in values):
            return self._on_dimensions(values)
        if any(isinstance(v, Word) for v in values):
            return Word(f"{self.name}({', '.join(_printed(v) for v in values)})")
        self._check_ranges(values)
        answer = _answer.get()
        if answer is None or all(isinstance(v, _NUMBERS) for v in values):
            return self._on_numbers(values)
        return answer(self, values)

    def _on_numbers(self, values: tuple[Num, ...]) -> Num:
        """Long arrays of one shape block by block, which gives what the whole at once gives; all else at once."""
        arrays = [v for v in values if isinstance(v, np.ndarray)]
        long = bool(arrays) and arrays[0].size > BLOCK and all(_alike(v, arrays[0]) for v in arrays)
        # formulas called inside would note a breach once for each block
        if not long or _notes.get() is not None:
            return self.function(*values)
        return _in_blocks(self.function, values, arrays[0].shape)

    def _ordered(self, given: tuple[Num, ...], named: Mapping[str, Num]) -> tuple[Num, ...]:
        rest = list(self.arguments)[len(given) :]
        wrong = [k for k in named if k not in rest] + [k for k in rest if k not in named]
        if wrong or len(given) > len(self.arguments):
            raise TypeError(f"{self.name} takes {', '.join(self.arguments)}; wrong or missing: {', '.join(wrong)}")
        return (*given, *(named[k] for k in rest))

    def _on_dimensions(self, values: tuple[Num, ...]) -> Dimensional:
        for (name, declared), value in zip(self.arguments.items(), values, strict=False):
            wanted = unit(declared.unit)
            if isinstance(value, (Dimensional, Constant)) and not (
                wanted.same_measure(value.unit) and wanted.is_point == value.unit.is_point
            ):
                raise UnitMismatch(f"{self.name}: {name} must be in {declared.unit}, not {value.unit.symbol}")
            kind = getattr(value, "kind", "")
            if kind and declared.kind and kind != declared.kind:
                raise UnitMismatch(f"{self.name}: {name} must be {declared.kind}, not {kind}")
        return Dimensional(self.result.unit, self.result.kind)

    def _check_ranges(self, values: tuple[Num, ...]) -> None:
        for (name, declared), value in zip(self.arguments.items(), values, strict=False):
            if not isinstance(value, _NUMBERS):
                continue
            bad = declared.outside(value)
            if bad is None:
                continue
            breach = RangeBreach(self.name, name, bad, declared.low, declared.high, declared.unit)
            notes = _notes.get()
            if notes is None:
                raise OutOfRange(str(breach))
            notes.append(breach)


Otherwise = Callable[[tuple[Num, ...]], Num]


def _quick_way(
    function: Callable[..., Num], limits: tuple[tuple[float, float], ...], otherwise: Otherwise
) -> Callable[..., Num]:
    """``function`` for floats within their limits and ``otherwise`` for all else, with as little between as may be."""
    if len(limits) == 1:
        ((least, most),) = limits
        return lambda x: function(x) if isinstance(x, float) and least <= x <= most else otherwise((x,))

    def quick(*values: Num) -> Num:
        for value, (least, most) in zip(values, limits, strict=True):
            if not isinstance(value, float) or not least <= value <= most:
                return otherwise(values)
        return function(*values)

    return quick


def _alike(one: np.ndarray, other: np.ndarray) -> bool:
    """Plain arrays of ordinary floats, of one shape."""
    return type(one) is np.ndarray and one.dtype == np.float64 and one.shape == other.shape


def _in_blocks(function: Callable[..., Num], values: tuple[Num, ...], shape: tuple[int, ...]) -> Num:
    """What ``function`` gives for each element of arrays of one shape, which floats accompany unchanged."""
    flat = [v.reshape(-1) if isinstance(v, np.ndarray) else v for v in values]
    found = np.empty(math.prod(shape))
    for begin in range(0, found.size, BLOCK):
        block = slice(begin, begin + BLOCK)
        found[block] = function(*[v[block] if isinstance(v, np.ndarray) else v for v in flat])
    return found.reshape(shape)


def _printed(value: Num) -> str:
    return value.text if isinstance(value, Word) else f"{float(value):.12g}"


CATALOGUE: dict[str, Formula] = {}
"""Every declared formula by name."""


def formula(
    *,
    result: Argument,
    equation: str,
    source: str,
    status: str,
    example: tuple[float, ...],
    gives: float,
    caveat: str = "",
    **arguments: Argument,
) -> Callable[[Callable[..., Num]], Formula]:
    """Declare a function as a formula.

    ``status`` is ``read`` (source seen), ``from memory``, ``derived`` (follows from a balance or definition) or
    ``own fit``. ``example`` gives the arguments in order and ``gives`` the value they must produce.

    Raises ValueError when the declaration and the function disagree or the name is taken.
    """

    def declare(function: Callable[..., Num]) -> Formula:
        name = function.__name__
        signature = list(inspect.signature(function).parameters)
        if signature != list(arguments):
            raise ValueError(f"formula {name}: arguments {signature} but declared {list(arguments)}")
        if name in CATALOGUE and CATALOGUE[name].module != function.__module__:
            raise ValueError(f"formula {name} is declared twice")
        if status not in {"read", "from memory", "derived", "own fit"}:
            raise ValueError(f"formula {name}: status '{status}' is not one of read, from memory, derived, own fit")
        says = inspect.getdoc(function) or ""
        if not says or not source or not equation:
            raise ValueError(f"formula {name}: needs a docstring, an equation and a source")
        made = Formula(
            name, says, dict(arguments), result, equation, source, status, caveat,
            dict(zip(signature, example, strict=True)), gives, function, function.__module__,
        )  # fmt: skip
        CATALOGUE[name] = made
        return made

    return declare
