"""Formulas on symbols: each traced once, then inlined wherever it is called, with the ranges it must keep.

A formula called twice on the same symbols becomes one set of operations, so a model stays small; and every argument
with a range is kept as an expression, so that all ranges of a solved state are checked in one evaluation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import casadi as ca
import numpy as np

from canewright.quantity import Argument, Formula, Num, RangeBreach, answering


@dataclass(frozen=True)
class Ranged:
    """An argument of a formula that has a range: the formula's and the argument's name, and what was declared."""

    formula: str
    name: str
    declared: Argument

    def breach(self, value: float) -> RangeBreach:
        """The breach of this range by a value."""
        limits = self.declared
        return RangeBreach(self.formula, self.name, value, limits.low, limits.high, limits.unit)


@dataclass(frozen=True)
class _Traced:
    """A formula as a function of its symbolic arguments: the result first, then every argument with a range."""

    function: ca.Function
    ranged: tuple[Ranged, ...]
    symbolic: bool


class _Known:
    """A formula as a key: the same declaration is the same formula."""

    def __init__(self, formula: Formula) -> None:
        self.name, self.arguments, self.function = formula.name, formula.arguments, formula.function

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Known) and self.function is other.function

    def __hash__(self) -> int:
        return hash(self.function)


Checked = list[tuple[Ranged, Any]]
Numbers = tuple[float | None, ...]


class Tracer:
    """Answers formulas while a model is traced and keeps the arguments that have ranges, with their expressions."""

    def __init__(self) -> None:
        """Nothing traced yet."""
        self.checked: Checked = []
        self._known: dict[tuple[int, tuple[Any, ...]], tuple[tuple[Num, ...], Num, Checked]] = {}

    def __call__(self, formula: Formula, values: tuple[Num, ...]) -> Num:
        """The formula on these values, at least one of them a symbol."""
        key = (id(formula), tuple(identity(v) for v in values))
        if key not in self._known:
            self._known[key] = (values, *_inlined(formula, values))  # the values are kept so that identities last
        _, result, checked = self._known[key]
        self.checked += checked
        return result


def traced(work: Callable[[], Any]) -> tuple[Any, Checked]:
    """What ``work`` gives with formulas inlined, and the arguments with ranges that it met."""
    tracer = Tracer()
    with answering(tracer):
        return work(), tracer.checked


def identity(value: Num) -> Any:
    """What makes two values the same: the node of a symbol while it lives, else the value."""
    return ("symbol", value.element_hash()) if isinstance(value, ca.SX) else value


def _inlined(formula: Formula, values: tuple[Num, ...]) -> tuple[Num, Checked]:
    if not all(isinstance(v, float | int) or (isinstance(v, ca.SX) and v.is_scalar()) for v in values):
        return formula.function(*values), []  # symbols of another kind, or many at once
    numbers = tuple(None if isinstance(v, ca.SX) else float(v) for v in values)
    known = _traced_once(_Known(formula), numbers)
    result, *ranged = known.function.call([v for v in values if isinstance(v, ca.SX)])
    return result if known.symbolic else float(ca.DM(result)), list(zip(known.ranged, ranged, strict=True))


@lru_cache(maxsize=4096)
def _traced_once(formula: _Known, numbers: Numbers) -> _Traced:
    declared = formula.arguments
    values = [ca.SX.sym(name) if n is None else n for name, n in zip(declared, numbers, strict=True)]
    result, inner = traced(lambda: formula.function(*values))
    own = [
        (Ranged(formula.name, name, limits), value)
        for (name, limits), value in zip(declared.items(), values, strict=True)
        if isinstance(value, ca.SX) and (np.isfinite(limits.low) or np.isfinite(limits.high))
    ]
    checked = own + inner
    graph = [ca.SX(result), *(expression for _, expression in checked)]
    symbols = [v for v in values if isinstance(v, ca.SX)]
    return _Traced(ca.Function("formula", symbols, graph), tuple(r for r, _ in checked), isinstance(result, ca.SX))
