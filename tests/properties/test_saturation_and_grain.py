"""Saturation, boiling, massecuite, crystal and heat transfer: published figures and a second way to each.

``read``: the figure was seen at the source. ``from memory`` and ``derived`` rows guard against change.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Any

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from canewright.properties import (
    air,
    boiling,
    crystal,
    heat_transfer,
    kinetics,
    massecuite,
    saturation,
    steam,
    sucrose,
    thermal,
)
from canewright.properties.choices import CHOICES, ChoiceUnknown, choices, choose, default


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


CHECKS: list[tuple[Any, float, float, str]] = [
    (lambda: crystal.crystal_growth_rate(1.08, 65.0, 0.45), 2.47, 0.01, "own constants"),
    (lambda: crystal.crystal_growth_rate(1.20, 65.0, 3.0), 0.40, 0.01, "own constants"),
    (lambda: crystal.linear_growth(3.0), 3.78, 0.005, "derived"),
    (lambda: massecuite.massecuite_viscosity(1.0, 0.40, 0.65), 6.76, 0.005, "Maron and Pierce, derived"),
    (lambda: massecuite.massecuite_viscosity(1.0, 0.50, 0.65), 18.8, 0.05, "Maron and Pierce, derived"),
    (lambda: massecuite.massecuite_pressure_drop(500.0, 0.85, 0.1, 0.3), 15919.0, 1.0, "Metzner and Reed, derived"),
    (lambda: boiling.boiling_point_elevation_norrish(65.0, 85.0, 100.0), 4.39, 0.1, "mean-constant rule, derived"),
    (lambda: heat_transfer.overall_coefficient(7.422, 10.0, 0.3), 1.87, 0.01, "derived"),
]


@pytest.mark.parametrize(("ours", "expected", "tolerance", "source"), CHECKS)
def test_published_figures(ours: Any, expected: float, tolerance: float, source: str) -> None:
    assert float(ours()) == pytest.approx(expected, abs=tolerance), source


@given(between(0.0, 90.0))
def test_the_two_solubilities_agree_within_what_is_stated(t: float) -> None:
    assert saturation.solubility_bubnik(t) == pytest.approx(sucrose.solubility(t), abs=0.25)


@given(between(1.0, 89.0), between(0.0, 0.8))
def test_saturation_temperature_inverts(t: float, other: float) -> None:
    q = float(saturation.saturated_sucrose_to_water(t, other))
    if 1.84 <= q <= 4.2:
        assert saturation.liquor_saturation_temperature(q, other) == pytest.approx(t, abs=1e-9)
        assert saturation.supersaturation(q, other, t) == pytest.approx(1.0, abs=1e-12)
        assert saturation.oversaturation(q, other, t) == pytest.approx(0.0, abs=1e-12)


@given(between(76.0, 90.0), between(40.0, 80.0), between(0.9, 1.3), between(0.0, 0.1))
def test_a_liquor_of_saturation_purity_is_at_its_supersaturation(b: float, t: float, y: float, slope: float) -> None:
    purity = float(saturation.saturation_purity(b, t, y, slope))
    solids = b / (100.0 - b)
    q, other = solids * purity / 100.0, solids * (1.0 - purity / 100.0)
    pure = float(saturation.saturated_sucrose_to_water(t, 0.0))
    assert q / (pure * (1.0 - slope * other)) == pytest.approx(y, rel=1e-10)


@given(between(66.0, 90.0), between(70.0, 100.0), between(20.0, 90.0))
def test_supersaturation_of_liquor_is_that_of_its_ratios(b: float, purity: float, t: float) -> None:
    solids = b / (100.0 - b)
    q, other = solids * purity / 100.0, solids * (1.0 - purity / 100.0)
    if other <= 5.0:
        assert saturation.supersaturation_of_liquor(b, purity, t) == pytest.approx(
            saturation.supersaturation(q, other, t), rel=1e-12
        )


@given(between(0.0, 5.0))
def test_the_fitted_coefficient_holds_the_named_sets(x: float) -> None:
    fitted = saturation.solubility_coefficient_fitted
    assert fitted(x, -0.06265, 0.982, 2.1) == pytest.approx(sucrose.solubility_coefficient(x), abs=1e-12)
    assert fitted(x, 0.178, 0.820, 2.1) == pytest.approx(saturation.solubility_coefficient_beet(x), abs=1e-12)


@given(between(5.0, 80.0), between(40.0, 100.0), between(5.0, 120.0))
def test_elevation_is_the_boiling_temperature_less_that_of_water(b: float, purity: float, t: float) -> None:
    pressure = float(steam.saturation_pressure(t))
    if 5.0 <= pressure <= 400.0:
        at_surface = boiling.boiling_temperature_at_depth(b, purity, pressure, 1300.0, 0.0)
        elevation = boiling.boiling_point_elevation_norrish(b, purity, t)
        assert at_surface - t == pytest.approx(elevation, abs=2e-6)
        sugar, rest = b * purity / 100.0, b * (1.0 - purity / 100.0)
        apart = boiling.boiling_temperature(100.0 - b, sugar, 0.35 * rest, 0.65 * rest, pressure)
        assert at_surface == pytest.approx(apart, abs=1e-9)


def test_head_raises_water_as_the_hydrostatic_formula_says() -> None:
    with_head = boiling.boiling_temperature_at_depth(0.0, 100.0, 20.0, 1300.0, 1.0)
    rise = boiling.hydrostatic_boiling_rise(20.0, 1300.0, 1.0)
    assert with_head - steam.saturation_temperature(20.0) == pytest.approx(rise, abs=1e-9)


def test_hot_syrup_elevations_stand_as_far_apart_as_stated() -> None:
    """At 65 % and 100 °C: Norrish 4.10, handbook 4.58, textbook 3.79, short form 3.71."""
    forms = [each.formula for each in choices("boiling point elevation")]
    values = [
        float(forms[0](65.0, 100.0, 100.0)), float(forms[1](65.0, 100.0)), float(forms[2](65.0)), float(forms[3](65.0)),
    ]  # fmt: skip
    assert max(values) - min(values) < 0.25 * values[0]


@pytest.mark.parametrize("t", [0.1, 20.0, 40.0, 60.0, 80.0, 99.0])
def test_viscosity_of_water_is_that_of_the_steam_library(t: float) -> None:
    published = IAPWS97(T=t + 273.15, P=0.101325).mu
    assert massecuite.water_viscosity(t) == pytest.approx(published, rel=1e-3)
    assert massecuite.viscosity_with_water_limit(0.0, t) == pytest.approx(massecuite.water_viscosity(t), rel=1e-6)


@given(between(60.0, 80.0), between(0.0, 100.0))
def test_the_water_limit_leaves_syrup_alone(b: float, t: float) -> None:
    assert massecuite.viscosity_with_water_limit(b, t) == pytest.approx(sucrose.viscosity(b, t), rel=3e-3)


@given(between(0.0, 80.0), between(20.0, 100.0), between(0.0, 2.0))
def test_impure_viscosity_of_a_pure_liquor_is_that_of_sucrose(b: float, t: float, decades: float) -> None:
    assert massecuite.impure_viscosity(b, 100.0, t, decades) == pytest.approx(sucrose.viscosity(b, t), rel=1e-12)


@given(between(0.0, 100.0), between(1300.0, 1500.0))
def test_massecuite_volumes_add(x: float, liquor: float) -> None:
    density = float(massecuite.massecuite_density(x, 1587.9, liquor))
    share = float(massecuite.crystal_volume_share(x, 1587.9, liquor))
    assert share * 1587.9 + (1.0 - share) * liquor == pytest.approx(density, rel=1e-12)
    assert share == pytest.approx(x / 100.0 * density / 1587.9, rel=1e-12)


@given(between(1.0, 1000.0), between(0.01, 2.0), between(0.05, 1.0))
def test_a_newtonian_massecuite_flows_by_poiseuille(k: float, v: float, d: float) -> None:
    assert massecuite.massecuite_pressure_drop(k, 1.0, v, d) == pytest.approx(32.0 * k * v / d**2, rel=1e-12)
    assert massecuite.apparent_viscosity(k, 1.0, 7.0) == pytest.approx(k, rel=1e-12)


@given(between(0.01, 5.0), between(0.45, 0.95))
def test_crystal_size_and_mass_invert(size: float, shape: float) -> None:
    mass = float(crystal.crystal_mass(size, shape))
    if 1e-6 <= mass <= 200.0:
        assert crystal.crystal_size(mass, shape) == pytest.approx(size, rel=1e-12)
        per_mass = float(crystal.crystal_surface(mass)) / (mass * 1e-6)
        assert crystal.specific_crystal_surface(size, shape) == pytest.approx(per_mass, rel=1e-12)


def test_crystal_surface_lies_between_sphere_and_cube() -> None:
    volume = 1e-3 / 1.5879
    sphere = (36.0 * math.pi) ** (1.0 / 3.0) * volume ** (2.0 / 3.0) * 1e-4
    cube = 6.0 * volume ** (2.0 / 3.0) * 1e-4
    assert sphere < float(crystal.crystal_surface(1.0)) < cube


def test_crystal_number_counts_a_spread_of_sizes() -> None:
    """Mass of a normal spread of sizes, summed, against the closed form."""
    spread = NormalDist(0.6, 0.6 * 0.2)
    shares = (np.arange(20000) + 0.5) / 20000
    sizes = np.array([spread.inv_cdf(float(s)) for s in shares])
    mean_mass = float(np.mean(crystal.DENSITY * 0.69 * (1e-3 * sizes) ** 3))
    assert crystal.crystal_number(0.6, 20.0, 0.69) == pytest.approx(1.0 / mean_mass, rel=1e-4)


@given(between(0.5, 150.0), between(0.5, 150.0))
def test_log_mean_is_the_textbook_quotient(a: float, b: float) -> None:
    mean = float(heat_transfer.log_mean_difference(a, b))
    if abs(a / b - 1.0) > 1e-3:
        assert mean == pytest.approx((a - b) / math.log(a / b), rel=1e-9)
    assert math.sqrt(a * b) * (1 - 1e-12) <= mean <= 0.5 * (a + b) * (1 + 1e-12)


def test_juice_heater_film_of_the_worked_case() -> None:
    """15 brix at 60 °C, 1.9 m/s in 38.1 mm tubes: Reynolds 106 651 and 7.42 kW/(m²·K), worked apart from this code."""
    fluid = (
        float(sucrose.sucrose_density(15.0, 60.0)), float(sucrose.viscosity(15.0, 60.0)),
        float(thermal.liquor_specific_heat(15.0, 85.0, 60.0)), float(thermal.liquor_conductivity(15.0, 60.0)),
    )  # fmt: skip
    assert heat_transfer.reynolds_number(1.9, 0.0381, *fluid[:2]) == pytest.approx(106651, rel=1e-3)
    film = float(heat_transfer.film_coefficient_sieder_tate(1.9, 0.0381, *fluid))
    assert film == pytest.approx(7.422, rel=5e-3)
    reynolds = float(heat_transfer.reynolds_number(1.9, 0.0381, *fluid[:2]))
    prandtl = float(heat_transfer.prandtl_number(*fluid[1:]))
    nusselt = 0.023 * reynolds**0.8 * prandtl**0.4
    other = heat_transfer.film_coefficient_dittus_boelter(1.9, 0.0381, *fluid)
    assert other == pytest.approx(nusselt * fluid[3] / 0.0381 / 1e3, rel=1e-12)


@given(between(0.5, 5.0), between(0.0, 0.01), between(0.0, 1000.0))
def test_scale_adds_its_resistance(clean: float, rate: float, hours: float) -> None:
    assert heat_transfer.fouled_coefficient(clean, rate, hours) == pytest.approx(clean / (1 + clean * rate * hours))
    assert heat_transfer.fouled_coefficient_by_root(clean, rate, 0.0) == clean


@given(between(1.0, 90.0), between(0.001, 0.3), between(85.0, 115.0))
def test_moist_air_volume_is_that_of_the_library(t: float, humidity: float, pressure: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    published = psychrolib.GetMoistAirVolume(t, humidity, pressure * 1e3)
    assert air.moist_air_volume(t, humidity, pressure) == pytest.approx(published, rel=2e-5)


@given(between(0.0, 95.0), between(0.0, 100.0), between(0.0, 130.0))
def test_enthalpy_per_kilogram_is_that_of_the_flow(b: float, purity: float, t: float) -> None:
    sugar = b * purity / 100.0
    flow = thermal.liquor_enthalpy_flow(100.0 - b, sugar, b - sugar, t) / 100.0
    assert thermal.liquor_enthalpy(b, purity, t) == pytest.approx(flow, rel=1e-10, abs=1e-9)


@given(between(0.0, 0.01), between(0.0, 1.0))
def test_little_inversion_is_rate_times_time(rate: float, hours: float) -> None:
    assert kinetics.sucrose_inverted(rate, hours) == pytest.approx(100.0 * rate * hours, rel=6e-3, abs=1e-12)


def test_colour_forms_at_its_reference_rate_at_100() -> None:
    assert kinetics.colour_formation_rate(12.0, 100.0, 115.0) == pytest.approx(12.0, rel=1e-12)
    doubling = float(kinetics.colour_formation_rate(1.0, 107.0, 115.0))
    assert 1.8 < doubling < 2.2  # doubles in 6 to 8 K, from memory


def test_every_property_has_one_default_and_named_alternatives() -> None:
    for about, forms in CHOICES.items():
        assert default(about) is forms[0]
        assert len({each.name for each in forms}) == len(forms) >= 2
        for each in forms:
            assert choose(about, each.name) is each
            assert each.formula.name in str(each)


@pytest.mark.parametrize(
    ("about", "name", "says"),
    [("solubilty", "charles", "did you mean 'solubility'"), ("solubility", "charls", "known are charles, bubnik")],
)
def test_unknown_choices_are_refused_with_the_nearest(about: str, name: str, says: str) -> None:
    with pytest.raises(ChoiceUnknown, match=says):
        choose(about, name)


@given(between(0.0, 80.0), between(0.0, 100.0))
def test_impure_density_of_pure_sugar_is_that_of_sucrose(b: float, t: float) -> None:
    assert massecuite.impure_density(b, 100.0, t, 0.4) == pytest.approx(sucrose.sucrose_density(b, t), rel=1e-12)


def test_final_molasses_is_one_to_two_per_cent_denser() -> None:
    ours = float(massecuite.impure_density(80.0, 35.0, 20.0, 0.4)) / float(sucrose.sucrose_density(80.0, 20.0))
    assert 1.01 < ours < 1.02


def test_crystal_density_is_that_of_the_handbook_at_20() -> None:
    assert massecuite.crystal_density_at(20.0) == pytest.approx(float(sucrose.crystal_density), abs=1e-9)


@given(between(20.0, 60.0), between(10.0, 20.0))
def test_wet_bulb_is_that_of_the_library(t: float, wet: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    ours = float(air.humidity_of_wet_bulb(t, wet, 101.325))
    if ours > 1e-4:
        assert ours == pytest.approx(psychrolib.GetHumRatioFromTWetBulb(t, wet, 101325.0), abs=2e-5)


@given(between(5.0, 8.0), between(20.0, 120.0))
def test_hot_ph_speeds_inversion_by_its_fall(ph: float, t: float) -> None:
    hot = float(kinetics.ph_at_temperature(ph, t, 0.01))
    faster = kinetics.inversion_rate(t, hot, 15.0, 85.0) / kinetics.inversion_rate(t, ph, 15.0, 85.0)
    assert faster == pytest.approx(10.0 ** (0.01 * (t - 20.0)), rel=1e-9)


@pytest.mark.parametrize("t", [60.0, 80.0, 100.0, 120.0])
def test_condensing_film_is_that_of_the_steam_library(t: float) -> None:
    """Nusselt's film with density, conductivity, viscosity and latent heat of IAPWS; conductivity parts by 2 %."""
    film, vapour = IAPWS97(T=t + 273.15, x=0), IAPWS97(T=t + 273.15, x=1)
    latent = vapour.h - film.h
    inside = film.rho**2 * 9.80665 * latent * 1e3 * film.k**3 / (film.mu * 3.0 * 5.0)
    ours = heat_transfer.condensing_coefficient(t, 3.0, 5.0, latent)
    assert ours == pytest.approx(0.943 * inside**0.25 / 1e3, rel=0.02)


@given(between(0.0, 80.0), between(60.0, 140.0))
def test_fitted_coefficient_holds_dessin(b: float, t: float) -> None:
    base = float(kinetics.heat_transfer_dessin(0.0, t))
    if 0.1 <= base <= 10.0:
        ours = heat_transfer.heat_transfer_fitted(base, b, 100.0, 1.0)
        assert ours == pytest.approx(kinetics.heat_transfer_dessin(b, t), rel=1e-12)


def test_read_critical_humidities_of_raw_sugar_ask_for_a_plausible_film() -> None:
    """79.5 % for grain above 1 mm and 73.2 % below 0.425 mm at 30 °C, Chitprasert and others (2006), read.

    The paper gives no film: this asks only that both lie below pure sugar and within films of up to 2 kg of non-sucrose
    per kg of water, the fine grain with more.
    """
    films = np.linspace(0.0, 2.0, 2001)
    humidity = np.asarray(crystal.film_equilibrium_humidity(films, 30.0, 35.0))
    assert (np.diff(humidity) < 0.0).all()
    coarse, fine = (float(np.interp(-h, -humidity, films)) for h in (79.5, 73.2))
    assert 0.0 < coarse < fine < 2.0
