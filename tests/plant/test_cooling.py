"""Cooling crystallisers and reheaters: water through elements, time, and the approach to saturation."""

from __future__ import annotations

import math

import pytest
from iapws import IAPWS97

from canewright.plant.plant import Plant, State
from plant.boiling_house import described, idle, number, of, worst_closure

PAN = {
    "kind": "massecuite supply", "rate": 25.6984, "moisture": 3.98079, "purity": 57.4949, "film_purity": 38,
    "reducing_sugars": 27.1385, "ash": 21.4989, "suspended": 0.4786, "temperature": 66,
}  # fmt: skip
THIN = {**PAN, "moisture": 8.0}
"""The same with water enough for the published solubility (up to 5 t of non-sucrose per t of water)."""


def cooled(pan: dict[str, object] | None = None, **settings: object) -> Plant:
    stations = {
        "pan": pan or PAN,
        "cold": {"kind": "water supply", "temperature": 28},
        "crystallisers": {
            "kind": "cooling crystalliser", "temperature": 44, "mother_liquor_purity": 33, "area": 1500, **settings,
        },
    }  # fmt: skip
    return described(
        stations,
        {
            "crystallisers.massecuite": "pan.massecuite", "crystallisers.water": "cold.water",
            "outside.cooled": "crystallisers.cooled", "outside.warm": "crystallisers.used_water",
        },
    )  # fmt: skip


def reheated(**settings: object) -> Plant:
    stations = {
        "cold": {**PAN, "film_purity": 33, "temperature": 44},
        "hot": {"kind": "water supply", "temperature": 58},
        "reheater": {"kind": "massecuite reheater", "temperature": 52, "area": 300, **settings},
    }
    return described(
        stations,
        {
            "reheater.massecuite": "cold.massecuite", "reheater.water": "hot.water",
            "outside.warmed": "reheater.warmed", "outside.used": "reheater.used_water",
        },
    )  # fmt: skip


def capacities(state: State, name: str) -> dict[str, tuple[float, float]]:
    station = state.assembly.stations[name].bound(state.values.__getitem__)
    return {sentence: (float(used), float(there)) for sentence, used, there in station.capacities()}


def test_crystal_of_a_c_massecuite_cooled_from_38_to_33_purity() -> None:
    """Crystal 7.7201 struck, 8.9762 cured for 10.4361 t/h of non-sucrose: NS (P/(1-P)) twice, by hand."""
    state = cooled().predict()
    assert number(state, "crystallisers.cooled", "crystal") == pytest.approx(8.9762, rel=1e-4)
    assert worst_closure(state) <= 1e-9


def test_water_takes_the_heat_of_cooling_and_of_crystallising() -> None:
    """Heat of water by an independent IAPWS-97; coefficient by T - t_out = (T - t_in) exp(-UA/C), c 4.18, by hand."""
    state = cooled().predict()
    water, used = of(state, "cold.water.1"), of(state, "crystallisers.used_water")
    assert water.water == pytest.approx(25.6984, rel=1e-9)
    taken = water.water * (IAPWS97(P=0.5, T=float(used.temperature) + 273.15).h - IAPWS97(P=0.5, T=301.15).h)
    came, out = of(state, "pan.massecuite"), of(state, "crystallisers.cooled")
    assert taken == pytest.approx(came.enthalpy_flow - out.enthalpy_flow, rel=1e-6)
    units = math.log((44 - 28) / (44 - used.temperature))
    shown = units * water.water * 4.179 / 3.6 / 1500
    assert state.values["crystallisers.coefficient_shown"] == pytest.approx(shown, rel=1e-3)
    used_up, there = capacities(state, "crystallisers")["elements need show no more than their coefficient"]
    assert (used_up, there) == pytest.approx((shown, 0.03), rel=1e-3)


def test_surface_decides_the_temperature_where_it_is_asked() -> None:
    """With its coefficient set to what it must show for 44 °C, the surface gives 44 °C; warm water cools less."""
    shown = cooled().predict().values["crystallisers.coefficient_shown"]
    plant = cooled(leaves_by="surface", heat_transfer_coefficient=float(shown))
    state = plant.predict()
    assert number(state, "crystallisers.cooled", "temperature") == pytest.approx(44.0, abs=1e-6)
    warm = plant.predict({"cold.temperature": 32.0})
    assert number(warm, "crystallisers.cooled", "temperature") > 45.0
    more = plant.predict({"crystallisers.water_on_massecuite": 2.0})
    assert number(more, "crystallisers.cooled", "temperature") < 43.0
    assert worst_closure(warm) <= 1e-9


def test_approach_to_saturation_by_hand() -> None:
    """Mother liquor of 2.044 t/h water and 10.00 t/h non-sucrose at 50 °C: saturated sucrose 72.2 % pure, SC by x.

    Solubility of Vavrinecz and SC of Rózsa (both from memory), written out here; 740 t held, 0.08 per h.
    """
    state = cooled(THIN, exhaustion="approach to saturation", temperature=50, crystallisation_rate=0.08).predict()
    came, out = of(state, "pan.massecuite"), of(state, "crystallisers.cooled")
    x = came.non_sucrose / came.water
    pure = 64.397 + 0.07251 * 50 + 0.0020569 * 2500 - 9.035e-6 * 125000
    coefficient = -0.06265 * x + 0.982 + 0.018 * math.exp(-2.1 * x)
    saturated = came.water * pure / (100 - pure) * coefficient
    stays = 500 * 1.48 / came.flow
    assert state.values["crystallisers.residence_time"] == pytest.approx(stays, rel=1e-5)
    wanted = saturated + (came.sucrose - saturated) * math.exp(-0.08 * stays)
    assert out.sucrose == pytest.approx(wanted, rel=1e-5)
    assert out.crystal == pytest.approx(came.crystal + came.sucrose - wanted, rel=1e-5)
    assert worst_closure(state) <= 1e-9


def test_longer_and_colder_exhausts_further_down_to_saturation() -> None:
    plant = cooled(THIN, exhaustion="approach to saturation", temperature=50)

    def purity(**changes: float) -> float:
        state = plant.predict({f"crystallisers.{k}": v for k, v in changes.items()})
        out = of(state, "crystallisers.cooled")
        return float(100 * out.sucrose / out.dissolved)

    base = purity()
    assert purity(volume=900.0) < base
    assert purity(temperature=42.0) < base
    nearly = purity(crystallisation_rate=5.0)
    assert nearly < base
    assert purity(crystallisation_rate=4.0) == pytest.approx(nearly, abs=1e-9), "saturated: no rate takes it further"
    assert purity(crystallisation_rate=0.0) == pytest.approx(38.0, abs=1e-6)


@pytest.mark.parametrize("how", ["temperature", "surface"])
@pytest.mark.parametrize("exhaustion", ["mother liquor purity", "approach to saturation"])
def test_crystallisers_at_rest_solve(how: str, exhaustion: str) -> None:
    values = idle(cooled(THIN, leaves_by=how, exhaustion=exhaustion), pan__rate=0.0)
    assert values["crystallisers.cooled.crystal"] == pytest.approx(0.0, abs=1e-12)
    assert values["crystallisers.used_water.water"] == pytest.approx(0.0, abs=1e-12)


def test_reheating_changes_nothing_but_warmth() -> None:
    """Hot water warms 44 to 52 °C: heat by IAPWS-97; crystal and mother liquor stay as they are."""
    state = reheated().predict()
    came, out = of(state, "cold.massecuite"), of(state, "reheater.warmed")
    for name in ("water", "sucrose", "crystal", "ash", "colour", "crystal_colour"):
        assert getattr(out, name) == pytest.approx(getattr(came, name), rel=1e-10)
    used = number(state, "reheater.used_water", "temperature")
    given = came.flow * (IAPWS97(P=0.5, T=331.15).h - IAPWS97(P=0.5, T=used + 273.15).h)
    assert given == pytest.approx(out.enthalpy_flow - came.enthalpy_flow, rel=1e-5)
    assert 52 < used < 58
    assert worst_closure(state) <= 1e-9


def test_reheated_too_far_dissolves_crystal_and_raises_the_purity_of_the_mother_liquor() -> None:
    plant = reheated()
    base, far = plant.predict(), plant.predict({"reheater.crystal_dissolved": 3.0})
    came = of(far, "cold.massecuite")
    assert number(far, "reheater.warmed", "crystal") == pytest.approx(0.97 * came.crystal, rel=1e-12)
    purities = [s.measured("reheater.warmed", "mother liquor purity") for s in (base, far)]
    assert purities[1] > purities[0] + 1.0
    assert far.values["reheater.coefficient_shown"] > base.values["reheater.coefficient_shown"]


@pytest.mark.parametrize("how", ["temperature", "surface"])
def test_a_reheater_at_rest_solves_and_has_limits(how: str) -> None:
    plant = reheated(leaves_by=how)
    values = idle(plant, cold__rate=0.0)
    assert values["reheater.used_water.water"] == pytest.approx(0.0, abs=1e-12)
    limits = capacities(plant.predict(), "reheater")
    held, longest = limits["massecuite is warm no longer than crystal bears"]
    assert (held, longest) == pytest.approx((30 * 1.48 / 25.6984, 3.0), rel=1e-5)
