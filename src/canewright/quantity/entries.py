"""What a person types for an input: ``15.2``, ``72 degF``, ``15.2 ± 0.1 %``, ``70; 75; 80 °C``, read into its unit."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from canewright.quantity.formula import Argument
from canewright.quantity.spellings import same_kind, spelt
from canewright.quantity.units import UnknownUnit, convert, unit

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_AMOUNT = re.compile(rf"\s*({_NUMBER})(?![\d,])\s*(.*?)\s*", re.DOTALL)
_PLUS_MINUS = re.compile(r"±|\+ ?/ ?-|\+-")
_STANDARD = re.compile(r"\s*\(?\b(standard|std|sd|k ?= ?1)\b\)?\s*$", re.IGNORECASE)
_PLAIN = {"1": "1 (a plain number)"}
_DIGITS = frozenset("0123456789.,+-")
_NEAR_MISSES = str.maketrans({"−": "-", "\u00a0": " ", "\u202f": " "})

T = TypeVar("T")


class NotUnderstood(ValueError):
    """What was typed for an input cannot be read; the message says what was found and what is accepted."""


@dataclass(frozen=True)
class Entry:
    """An input in its declared unit: one value or several, each with its half-width or standard uncertainty.

    ``spread`` is None where no uncertainty was typed; ``standard`` says that it is one standard uncertainty instead of
    the half-width of a 95 % interval.
    """

    name: str
    typed: str
    values: tuple[float, ...]
    spread: tuple[float, ...] | None
    standard: bool


@dataclass(frozen=True)
class _Amount:
    """One value as typed; a spread without a unit of its own is in the unit of the value."""

    value: float
    symbol: str | None
    spread: float | None
    spread_symbol: str | None


def read_entry(name: str, typed: str, declared: Argument) -> Entry:
    """Read what was typed for an argument. Several values are parted by ``;``; a last unit or ± serves them all.

    ± is the half-width of a 95 % interval, or one standard uncertainty where ``standard`` follows. A unit after ± alone
    is that of both, but ± in per cent of what is not itself a share is relative to the value.
    Raises NotUnderstood for what is no number, a unit that is not known or measures something else, and a negative ±.
    """
    text = typed.translate(_NEAR_MISSES)
    mark = _STANDARD.search(text)
    amounts = [_amount(name, each, declared) for each in (text[: mark.start()] if mark else text).split(";")]
    symbols = [each or declared.unit for each in _for_all(name, "a unit", [a.symbol for a in amounts])]
    spreads = _for_all(name, "±", [a.spread for a in amounts])
    own = _for_all(name, "a unit of ±", [a.spread_symbol for a in amounts])
    values = tuple(_converted(name, a.value, s, declared) for a, s in zip(amounts, symbols, strict=True))
    if any(each is None for each in spreads):
        if mark:
            raise NotUnderstood(f"{name}: found '{typed.strip()}'; accepted: '{mark[1]}' only after ± and a number")
        return Entry(name, typed.strip(), values, None, False)
    sizes = tuple(
        _size(name, each or 0.0, o or s, value, declared)
        for each, o, s, value in zip(spreads, own, symbols, values, strict=True)
    )
    return Entry(name, typed.strip(), values, sizes, mark is not None)


def _for_all(name: str, what: str, found: Sequence[T | None]) -> list[T | None]:
    """Each its own; the last one's for all where only the last has any."""
    given = [each for each in found if each is not None]
    if len(given) in {0, len(found)}:
        return list(found)
    if len(given) == 1 and found[-1] is not None:
        return [found[-1]] * len(found)
    raise NotUnderstood(f"{name}: some values have {what} and some have none; give it for each, or once after the last")


def _amount(name: str, text: str, declared: Argument) -> _Amount:
    head, *tail = _PLUS_MINUS.split(text)
    value, symbol = _number(name, head, declared)
    if not tail:
        return _Amount(value, symbol, None, None)
    if len(tail) > 1:
        raise NotUnderstood(f"{name}: found '{text.strip()}'; accepted: ± once for each value")
    spread, spread_symbol = _number(name, tail[0], declared)
    if spread < 0:
        raise NotUnderstood(f"{name}: found ± {spread:g}; accepted: an uncertainty of zero or more")
    _refuse_unclear(name, text, declared, symbol, spread_symbol)
    if symbol is None and spread_symbol is not None and not _relative(spread_symbol, declared):
        symbol = spread_symbol
    return _Amount(value, symbol, spread, spread_symbol)


def _refuse_unclear(name: str, text: str, declared: Argument, symbol: str | None, spread_symbol: str | None) -> None:
    """Refuse ± in per cent of a share that is not itself in per cent: of the value, or per cent of the whole?"""
    if (
        spread_symbol == "%"
        and not _relative("%", declared)
        and unit(symbol or declared.unit).factor != unit("%").factor
    ):
        raise NotUnderstood(
            f"{name}: found '{text.strip()}', where ± may be a part of the value or of the whole; "
            f"accepted: ± in {'a plain number' if declared.unit == '1' else declared.unit}"
        )


def _number(name: str, text: str, declared: Argument) -> tuple[float, str | None]:
    """A number and the symbol of the unit behind it, if any."""
    found = _AMOUNT.fullmatch(text)
    if not found or (found[2][:1] in _DIGITS and not found[2].startswith("1/")):
        raise NotUnderstood(f"{name}: found '{text.strip()}'; accepted: {_accepted(text, declared)}")
    value = float(found[1])
    if not math.isfinite(value):
        raise NotUnderstood(f"{name}: found '{text.strip()}', too large a number; accepted: {_limits(declared)}")
    if not found[2]:
        return value, None
    try:
        return value, spelt(found[2])
    except UnknownUnit as unknown:
        raise NotUnderstood(f"{name}: {unknown}; accepted: {_units(declared)}") from None


def _accepted(text: str, declared: Argument) -> str:
    if re.fullmatch(r"\s*[+-]?\d+,\d+.*", text, re.DOTALL):
        return "decimals after a point (15.2); several values parted by ; (15.2; 15.4)"
    return f"a number, {_limits(declared)}, with or without unit and ±"


def _limits(declared: Argument) -> str:
    shown = "" if declared.unit == "1" else f" {declared.unit}"
    return f"{declared.low:g} to {declared.high:g}{shown}"


def _units(declared: Argument) -> str:
    if declared.unit == "K":
        return "K (a difference of temperature)"
    kind = same_kind(declared.unit)
    return f"{declared.unit}, or what converts to it" if len(kind) == 1 else ", ".join(_PLAIN.get(k, k) for k in kind)


def _converted(name: str, value: float, symbol: str, declared: Argument) -> float:
    typed, wanted = unit(symbol), unit(declared.unit)
    if typed.exponents != wanted.exponents:
        raise NotUnderstood(f"{name}: found {symbol}, which measures something else; accepted: {_units(declared)}")
    if typed.is_point and not wanted.is_point:
        raise NotUnderstood(
            f"{name}: found {symbol}, a point on a scale; accepted: K, for this is a difference of temperature"
        )
    return value if symbol == declared.unit else convert(value, symbol, declared.unit)


def _relative(symbol: str, declared: Argument) -> bool:
    """Whether a ± in this unit is a share of the value."""
    return symbol == "%" and unit(symbol).exponents != unit(declared.unit).exponents


def _size(name: str, spread: float, symbol: str, value: float, declared: Argument) -> float:
    """A spread in the declared unit; of a temperature only the size of the degree counts."""
    if _relative(symbol, declared):
        return abs(value) * spread / 100.0
    typed, wanted = unit(symbol), unit(declared.unit)
    if typed.exponents != wanted.exponents:
        raise NotUnderstood(
            f"{name}: found ± in {symbol}, which measures something else; accepted: {_units(declared)}, %"
        )
    return spread * typed.factor / wanted.factor
