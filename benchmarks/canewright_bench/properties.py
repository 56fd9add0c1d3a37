"""Steam and solution properties over many values and over one, against CoolProp and the bare numpy expression."""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from canewright.properties import steam, sucrose
from canewright.quantity import Formula
from canewright_bench.timing import Result, Rival, against, timed

KELVIN, PASCAL = 273.15, 1e3
AGREES = 2e-9
"""Both are IF97: results part by rounding only. The lines of saturation are each other's inverse to 1e-9 or so."""

Array = np.ndarray


def properties(values: int, seed: int, repeats: int) -> Iterator[Result]:
    """Every measurement of a formula, in order."""
    _load_rival()
    chance = np.random.default_rng(seed)
    boiling = chance.uniform(5.0, 300.0, values)
    pressure = chance.uniform(10.0, 4000.0, values)
    superheated = steam.saturation_temperature(pressure) + chance.uniform(1.0, 100.0, values)
    liquor = (chance.uniform(0.0, 80.0, values), chance.uniform(5.0, 100.0, values))
    yield _saturation(boiling, repeats)
    yield _steam(superheated, pressure, repeats)
    yield _solution(liquor, repeats)
    yield _scalar(repeats)


def _saturation(boiling: Array, repeats: int) -> Result:
    formula, kelvin = steam.saturation_pressure, boiling + KELVIN
    ours = timed(lambda: formula(boiling), repeats)
    rival = against(
        "CoolProp vector call, IF97", lambda: _cool_prop("P", "T", kelvin, "Q", 0.0) / PASCAL, _same_as(ours.gave), 3
    )
    return _result("properties.saturation", ours.seconds, formula, (boiling,), (rival,), repeats)


def _steam(superheated: Array, pressure: Array, repeats: int) -> Result:
    formula, kelvin, pascal = steam.steam_enthalpy, superheated + KELVIN, pressure * PASCAL
    ours = timed(lambda: formula(superheated, pressure), repeats)
    rival = against(
        "CoolProp vector call, IF97", lambda: _cool_prop("H", "T", kelvin, "P", pascal) / 1e3, _same_as(ours.gave), 3
    )
    return _result("properties.steam", ours.seconds, formula, (superheated, pressure), (rival,), repeats)


def _solution(liquor: tuple[Array, Array], repeats: int) -> Result:
    """CoolProp has no sucrose: the rival is the same expression as a person writes it for numpy."""
    formula = sucrose.sucrose_density
    ours = timed(lambda: formula(*liquor), repeats)
    rival = against("numpy polynomials", lambda: _density_by_numpy(*liquor), _same_as(ours.gave), repeats)
    return _result("properties.solution", ours.seconds, formula, liquor, (rival,), repeats)


def _scalar(repeats: int) -> Result:
    formula, calls = steam.saturation_pressure, 2_000
    ours = timed(lambda: _called(calls, lambda: formula(100.0)), repeats)
    rivals = tuple(
        against(
            f"CoolProp scalar call, {backend}",
            functools.partial(_scalars_of_rival, calls, f"{backend}::Water"),
            _same_as(ours.gave, allowed),
            repeats,
        )
        for backend, allowed in (("IF97", AGREES), ("HEOS", 1e-3))
    )
    bare = timed(lambda: _called(calls, lambda: formula.function(100.0)), repeats)
    note = f"{calls} calls, each a float; range checked; one call takes {1e6 * ours.seconds / calls:.2f} microseconds"
    return Result("properties.scalar", ours.seconds, calls, rivals, bare.seconds, (note,))


def _scalars_of_rival(calls: int, fluid: str) -> float:
    from CoolProp.CoolProp import PropsSI

    return float(_called(calls, lambda: PropsSI("P", "T", 373.15, "Q", 0.0, fluid)) / PASCAL)


def _result(
    identity: str, seconds: float, formula: Formula, given: tuple[Array, ...], rivals: tuple[Rival, ...], repeats: int
) -> Result:
    """The floor is the bare expression on whole arrays, without ranges."""
    bare = timed(lambda: formula.function(*given), repeats)
    note = (
        f"{formula.name} of {given[0].size} values, ranges checked; bare numpy expression {1e3 * bare.seconds:.1f} ms"
    )
    return Result(identity, seconds, given[0].size, rivals, bare.seconds, (note,))


def _cool_prop(wanted: str, first: str, one: Any, second: str, other: Any, backend: str = "IF97") -> Any:
    """CoolProp's answer for water."""
    from CoolProp.CoolProp import PropsSI

    return PropsSI(wanted, first, one, second, other, f"{backend}::Water")


def _load_rival() -> None:
    """CoolProp reads its fluids at the first call, which is no part of its speed; without it the rivals say why."""
    with contextlib.suppress(ImportError):
        for backend in ("IF97", "HEOS"):
            _cool_prop("P", "T", 373.15, "Q", 0.0, backend)


def _called(calls: int, work: Callable[[], Any]) -> Any:
    """The answer of the last of so many calls."""
    answer = None
    for _ in range(calls):
        answer = work()
    return answer


def _same_as(ours: Any, allowed: float = AGREES) -> Callable[[Any], str]:
    def check(theirs: Any) -> str:
        worst = float(np.max(np.abs(theirs / ours - 1.0)))
        return "" if worst <= allowed else f"another answer: parts by {worst:.1g}"

    return check


def _density_by_numpy(percent: Array, temperature: Array) -> Any:
    fraction, theta = percent / 100.0, (temperature - 20.0) / 100.0
    water = np.polynomial.polynomial.polyval(temperature, sucrose.KELL) / (1.0 + 16.887236e-3 * temperature)
    rows = [np.polynomial.polynomial.polyval(fraction, row) * theta**k for k, row in enumerate(sucrose.SOLUTION)]
    return water + fraction * sum(rows)
