"""The quick ways through a formula, for floats and for long arrays, give what its bare function gives."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from canewright.properties import saturation, steam, sucrose
from canewright.quantity import OutOfRange, noting_breaches
from canewright.quantity.formula import BLOCK

LONG = 2 * BLOCK + 7
"""Two whole blocks and a part of one."""


@pytest.fixture
def liquors() -> tuple[Any, Any]:
    chance = np.random.default_rng(5)
    return chance.uniform(0.0, 85.0, LONG), chance.uniform(0.0, 100.0, LONG)


def test_a_long_array_is_worked_as_the_whole_is(liquors: tuple[Any, Any]) -> None:
    found = sucrose.sucrose_density(*liquors)
    np.testing.assert_array_equal(found, sucrose.sucrose_density.function(*liquors))


def test_a_float_beside_a_long_array_holds_for_all_of_it(liquors: tuple[Any, Any]) -> None:
    found = sucrose.sucrose_density(liquors[0], 20.0)
    np.testing.assert_array_equal(found, sucrose.sucrose_density.function(liquors[0], 20.0))


def test_a_table_keeps_its_shape_and_order(liquors: tuple[Any, Any]) -> None:
    whole = [part[: 2 * BLOCK].reshape(2, BLOCK) for part in liquors]
    for given in (whole, [part.T for part in whole]):
        np.testing.assert_array_equal(sucrose.sucrose_density(*given), sucrose.sucrose_density.function(*given))


def test_a_column_beside_a_row_still_makes_a_table() -> None:
    column, row = np.linspace(0.0, 80.0, BLOCK + 1)[:, None], np.array([20.0, 40.0])
    assert sucrose.sucrose_density(column, row).shape == (BLOCK + 1, 2)


@pytest.mark.parametrize("place", [0, BLOCK, LONG - 1])
@pytest.mark.parametrize("bad", [-1.0, 400.0, float("nan")])
def test_one_bad_value_in_a_long_array_is_found(place: int, bad: float) -> None:
    temperatures = np.full(LONG, 100.0)
    temperatures[place] = bad
    with pytest.raises(OutOfRange, match=f"saturation_pressure: temperature is {bad:g} °C"):
        steam.saturation_pressure(temperatures)


def test_a_breach_inside_a_long_array_is_noted_once() -> None:
    with noting_breaches() as noted:
        saturation.saturated_sucrose_to_water(np.full(LONG, 95.0), 0.5)
    assert [(b.formula, b.value) for b in noted] == [("saturated_sucrose_to_water", 95.0), ("solubility", 95.0)]


def test_an_empty_array_gives_an_empty_one() -> None:
    assert steam.saturation_pressure(np.array([])).size == 0


@pytest.mark.parametrize("value", [100, np.float64(100.0), np.array(100.0)])
def test_whole_numbers_and_single_array_values_are_worked_as_floats(value: Any) -> None:
    assert float(steam.saturation_pressure(value)) == pytest.approx(steam.saturation_pressure(100.0), rel=1e-14)


@pytest.mark.parametrize("given", [(), (20.0,), (20.0, 30.0, 40.0)])
def test_too_few_and_too_many_floats_are_refused(given: tuple[float, ...]) -> None:
    with pytest.raises(TypeError, match="sucrose_density takes dry_substance, temperature"):
        sucrose.sucrose_density(*given)


def test_rounding_beyond_a_limit_is_no_breach() -> None:
    assert steam.saturation_pressure(-1e-13) == pytest.approx(steam.saturation_pressure(0.0))
    with pytest.raises(OutOfRange):
        steam.saturation_pressure(-1e-11)
