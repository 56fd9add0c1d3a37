"""Laws that hold everywhere: inverses invert, more sugar is denser, blending conserves heat."""

from __future__ import annotations

import casadi as ca
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from canewright.properties.air import dew_point, humidity_at, relative_humidity
from canewright.properties.bagasse import gross_calorific_value, net_calorific_value
from canewright.properties.boiling import boiling_temperature, hydrostatic_boiling_rise, water_activity
from canewright.properties.steam import (
    latent_heat,
    saturated_steam_enthalpy,
    saturated_water_enthalpy,
    saturation_pressure,
    saturation_temperature,
    steam_enthalpy,
    steam_entropy,
    steam_volume,
    water_enthalpy,
    water_entropy,
    water_volume,
)
from canewright.properties.sucrose import brix_of_refractive_index, refractive_index, sucrose_density, viscosity
from canewright.properties.thermal import (
    crystal_enthalpy,
    heat_of_crystallisation,
    liquor_enthalpy_flow,
    liquor_specific_heat,
)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    """Any number of a range, ends included."""
    return st.floats(low, high, allow_nan=False)


celsius = between(0.0, 130.0)
flow = between(0.0, 500.0)


@given(between(0.5, 369.0))
def test_boiling_pressure_and_temperature_invert(t: float) -> None:
    assert saturation_temperature(saturation_pressure(t)) == pytest.approx(t, abs=2e-7)


@given(between(0.0, 85.0))
def test_refractive_index_inverts(brix: float) -> None:
    assert brix_of_refractive_index(min(refractive_index(brix), 1.5037)) == pytest.approx(brix, abs=5e-3)
    if brix < 84.9:
        assert brix_of_refractive_index(refractive_index(brix)) == pytest.approx(brix, abs=1e-9)


@given(between(0.0, 84.9), between(0.01, 0.1), celsius)
def test_more_sugar_is_denser_and_thicker(brix: float, more: float, t: float) -> None:
    assert sucrose_density(brix + more, t) > sucrose_density(brix, t)
    if t <= 120.0:
        assert viscosity(brix + more, t) > viscosity(brix, t)


@given(between(5.0, 300.0))
def test_latent_heat_is_the_difference(t: float) -> None:
    assert latent_heat(t) == pytest.approx(saturated_steam_enthalpy(t) - saturated_water_enthalpy(t), rel=1e-12)


@pytest.mark.parametrize(
    ("enthalpy", "entropy", "volume", "superheat"),
    [(water_enthalpy, water_entropy, water_volume, -20.0), (steam_enthalpy, steam_entropy, steam_volume, 20.0)],
)
@pytest.mark.parametrize("boiling", [40.0, 100.0, 180.0, 260.0])
def test_enthalpy_entropy_and_volume_fit_together(
    enthalpy: object, entropy: object, volume: object, superheat: float, boiling: float
) -> None:
    """T ds = dh at one pressure and T ds = dh - v dp at one temperature, by exact derivatives."""
    t, p = ca.SX.sym("t"), ca.SX.sym("p")
    h, s, v = (f(t, p) for f in (enthalpy, entropy, volume))  # type: ignore[operator]
    kelvin = t + 273.15
    warm = kelvin * ca.gradient(s, t) - ca.gradient(h, t)
    press = kelvin * ca.gradient(s, p) - ca.gradient(h, p) + v
    rests = ca.Function("r", [t, p], [warm / ca.gradient(h, t), press / v])
    for rest in rests(boiling + superheat, saturation_pressure(boiling)):
        assert abs(float(rest)) < 1e-10


@given(flow, flow, flow, flow, between(0.001, 100.0))
def test_water_activity_depends_on_proportions_only(w: float, s: float, r: float, n: float, scale: float) -> None:
    w, tens = 1.0 + w, 5000.0 / 501.0
    scale = min(scale, tens)
    once, again = water_activity(w, s, r, n), water_activity(scale * w, scale * s, scale * r, scale * n)
    assert again == pytest.approx(once, rel=1e-5)
    assert 0.0 < once <= 1.0


def test_an_idle_stream_boils_like_water() -> None:
    assert water_activity(0.0, 0.0, 0.0, 0.0) == 1.0
    assert boiling_temperature(0.0, 0.0, 0.0, 0.0, 20.0) == pytest.approx(saturation_temperature(20.0), abs=1e-12)
    assert hydrostatic_boiling_rise(20.0, 1300.0, 0.0) == 0.0
    assert liquor_enthalpy_flow(0.0, 0.0, 0.0, 80.0) == 0.0


@pytest.mark.parametrize("purity", [100.0, 85.0, 60.0, 40.0])
@pytest.mark.parametrize("dry", [65.0, 75.0])
def test_mixing_rules_for_water_activity_part_by_less_than_a_tenth_kelvin(dry: float, purity: float) -> None:
    """The square-root rule beside the mean-constant rule: they part by less than published formulas do."""
    sucrose = dry * purity / 100.0
    reducing, others = 0.35 * (dry - sucrose), 0.65 * (dry - sucrose)
    moles = np.array([(100.0 - dry) / 18.015, sucrose / 342.3, reducing / 180.16, others / 120.0])
    x = moles / moles.sum()
    mean_rule = x[0] * np.exp(-(6.47 * x[1] + 2.25 * x[2]) * (x[1] + x[2]))
    other = float(saturation_temperature(101.418 / mean_rule))
    ours = float(boiling_temperature(100.0 - dry, sucrose, reducing, others, 101.418))
    assert 0.0 <= other - ours + 2e-3 < 0.1


@given(flow, flow, flow, flow, flow, flow, celsius)
def test_blending_at_one_temperature_conserves_heat(
    w: float, s: float, n: float, water: float, sucrose: float, other: float, t: float
) -> None:
    apart = liquor_enthalpy_flow(w, s, n, t) + liquor_enthalpy_flow(water, sucrose, other, t)
    assert liquor_enthalpy_flow(w + water, s + sucrose, n + other, t) == pytest.approx(apart, rel=1e-12, abs=1e-9)


@given(between(1.0, 80.0), between(1.0, 100.0), between(1.0, 129.0))
def test_specific_heat_is_the_slope_of_the_enthalpy(dry: float, purity: float, t: float) -> None:
    parts = (100.0 - dry, dry * purity / 100.0, dry * (1.0 - purity / 100.0))
    slope = (liquor_enthalpy_flow(*parts, t + 0.5) - liquor_enthalpy_flow(*parts, t - 0.5)) / 100.0
    assert liquor_specific_heat(dry, purity, t) == pytest.approx(slope, rel=1e-10)


@given(celsius)
def test_dissolving_takes_up_what_crystallising_gives(t: float) -> None:
    dissolved = liquor_enthalpy_flow(0.0, 1.0, 0.0, t)
    assert dissolved - crystal_enthalpy(t) == pytest.approx(heat_of_crystallisation(t), rel=1e-12, abs=1e-11)


@pytest.mark.parametrize("t", [20.0, 60.0])
def test_crystal_warms_as_published(t: float) -> None:
    """Mohos (2010), Confectionery and Chocolate Engineering, appendix 2 (read): 1.1355 + 0.004312 t kJ/(kg·K)."""
    slope = crystal_enthalpy(t + 0.5) - crystal_enthalpy(t - 0.5)
    assert slope == pytest.approx(1.1355 + 0.004312 * t, rel=1e-3)


@given(between(6.0, 85.0), between(1.0, 100.0), between(85.0, 110.0))
def test_humidity_and_relative_humidity_invert(t: float, percent: float, pressure: float) -> None:
    humidity = humidity_at(t, percent, pressure)
    if humidity <= 1.0:
        assert relative_humidity(t, humidity, pressure) == pytest.approx(percent, rel=1e-12)


@given(between(6.0, 80.0), between(85.0, 110.0))
def test_saturated_air_is_at_its_dew_point(t: float, pressure: float) -> None:
    assert dew_point(humidity_at(t, 100.0, pressure), pressure) == pytest.approx(t, abs=1e-6)


@given(between(0.0, 65.0), between(0.0, 20.0), between(0.0, 15.0))
def test_gross_less_net_is_heat_to_evaporate_water(moisture: float, ash: float, brix: float) -> None:
    """2503 kJ per kg of moisture and a fixed hydrogen of the dry ash-free matter."""
    gap = gross_calorific_value(moisture, ash, brix) - net_calorific_value(moisture, ash, brix)
    assert gap == pytest.approx(25.03 * moisture + 13.45 * (100.0 - moisture - ash), abs=1e-6)
