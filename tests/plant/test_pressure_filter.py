"""Pressure filter: the law of cake and cloth against published runs, washing by hand, and limits."""

from __future__ import annotations

from typing import Any

import pytest

from canewright.plant.plant import Plant, State
from canewright.properties.sucrose import sucrose_density, viscosity, water_density
from plant.refinery_line import alone, colour, idle, liquor, solved

CHALKY = {"suspended": 0.7}
"""About 9 kg of insolubles for each cubic metre: liquor after carbonatation with 0.6 % of lime on solids."""


def _it(state: State, name: str) -> float:
    return float(state.values[f"it.{name}"])


def slurry(on_area: float, solids: float, *, temperature: float, poise: float, **settings: Any) -> Plant:
    """Water with insolubles; a run ends at ``on_area`` m³/m² where each m³ of filtrate leaves ``solids`` kg of cake.

    The water is given the viscosity ``poise`` (Pa·s); the cloth itself bears 200 m³/m².
    """
    density = sucrose_density(0.0, temperature)
    full = solids * on_area / (1.0 - on_area / 200.0)
    made = {
        "thickness": full, "cake_density": 1000.0, "most_filtrate": 200.0, "retention": 100.0, "compressibility": 0.0,
        "viscosity_factor": poise / viscosity(0.0, temperature), "heat_loss": 0.01,
    }  # fmt: skip
    water = {"dry_substance": 0.0, "purity": 20.0, "suspended": 100.0 * solids / (density + solids), "colour": 0.0,
             "rate": 20.0, "temperature": temperature}  # fmt: skip
    return alone("pressure filter", water, **made | settings)


@pytest.mark.parametrize(("volume", "seconds_on_volume"), [(0.024, 3859.7852), (0.071, 4551.3628), (0.106, 5066.3674)])
def test_published_filtration_run(volume: float, seconds_on_volume: float) -> None:
    """Filtration worksheet, 2.72 m² and 3 bar, 125.24655 kg/m³, 5.215e11 m/kg, 2.861e12 1/m (public document, read).

    Its fitted t/V agree to the digits of its printed constants.
    """
    v = volume / 2.72
    state = solved(slurry(v, 125.24655, temperature=25.0, poise=0.001, pressure=300.0, resistance=5.215e11,
                          cloth=2.861e12, area=2.72))  # fmt: skip
    assert _it(state, "filtrate_on_area") == pytest.approx(v, rel=1e-4)
    assert 3600.0 * _it(state, "filtration") / volume == pytest.approx(seconds_on_volume, rel=3e-4)


def test_press_of_a_textbook() -> None:
    """Geankoplis, Transport Processes and Unit Operations, 3rd ed. (1993), examples 14.2-2 and 14.2-3 (from memory).

    20 frames of 0.873 m², 338 kPa, 23.47 kg/m³, 1.863e11 m/kg, 10.63e10 1/m: 3.37 m³ in 269.7 s; one tenth of it as
    wash through the cakes in 194 s; with 20 min to clean, a cycle of 27.73 min. The wash takes this model's viscosity.
    """
    v, wash_on_area = 3.37 / 17.46, 0.337 / 17.46
    on_liquid = wash_on_area * water_density(75.0) / (23.47 * v)
    state = solved(slurry(v, 23.47, temperature=25.0, poise=8.937e-4, pressure=338.0, resistance=1.863e11,
                          cloth=1.063e11, area=17.46, make="plate press", wash_ratio=on_liquid,
                          off_time=20.0 / 60.0))  # fmt: skip
    assert 3600.0 * _it(state, "filtration") == pytest.approx(269.7, abs=0.2)
    washing = 3600.0 * _it(state, "washing") * 8.937e-4 / viscosity(0.0, 75.0)
    assert washing == pytest.approx(194.0, abs=0.2)
    assert 60.0 * (_it(state, "filtration") + washing / 3600.0 + 20.0 / 60.0) == pytest.approx(27.73, abs=0.01)


def test_time_on_volume_is_a_straight_line() -> None:
    """t/v on v: slope μ α c / 2 Δp, intercept μ R / Δp (the law itself, read off three cake thicknesses)."""
    plant = alone("pressure filter", CHALKY, compressibility=0.0)
    points = []
    for thickness in (8.0, 16.0, 24.0):
        state = solved(plant, {"it.thickness": thickness})
        v = _it(state, "filtrate_on_area")
        points.append((v, 3600.0 * _it(state, "filtration") / v))
    (v1, y1), (v2, y2), (v3, y3) = points
    slope = (y3 - y1) / (v3 - v1)
    assert y2 == pytest.approx(y1 + slope * (v2 - v1), rel=1e-9)
    thick = viscosity(65.0, 80.0)
    assert slope == pytest.approx(thick * 6e10 * _it(state, "solids_filtered") / (2.0 * 3e5), rel=1e-6)
    assert y1 - slope * v1 == pytest.approx(thick * 5e10 / 3e5, rel=1e-6)


def test_filters_needed_pass_the_liquor() -> None:
    """Filters times area times filtrate of a run is the liquor of a cycle (worked by hand)."""
    state = solved(alone("pressure filter", CHALKY))
    volume = float(liquor(state, "melt.liquor").solution) / (sucrose_density(65.0, 80.0) / 1000.0)
    passed = _it(state, "filters_needed") * 80.0 * _it(state, "filtrate_on_area") / _it(state, "cycle")
    assert passed == pytest.approx(volume, rel=1e-6)
    (limit,) = state.assembly.stations["it"].bound(state.values.__getitem__).capacities()
    assert float(limit[1]) == pytest.approx(_it(state, "filters_needed"))


def test_cake_and_its_washing_by_hand() -> None:
    """Cake half liquid; wash 1.5 on liquid leaves 0.25^1.5 = 1/8 of what the liquid held (worked by hand)."""
    state = solved(alone("pressure filter", CHALKY))
    fed, cake = liquor(state, "melt.liquor"), liquor(state, "it.cake")
    assert float(cake.suspended) == pytest.approx(0.998 * float(fed.suspended), rel=1e-9)
    assert float(cake.flow) == pytest.approx(2.0 * float(cake.suspended), rel=1e-5)
    held = float(cake.suspended) / float(fed.solution)
    assert float(cake.sucrose) == pytest.approx(0.125 * held * float(fed.sucrose), rel=1e-5)
    assert float(state.stream("hot.water.1").flow) == pytest.approx(1.5 * float(cake.suspended), rel=1e-9)
    both = float(cake.sucrose + liquor(state, "it.sweet_water").sucrose)
    assert both == pytest.approx(held * float(fed.sucrose), rel=1e-5)


def test_more_wash_loses_less_and_thins_the_sweet_water() -> None:
    plant = alone("pressure filter", CHALKY)
    states = [solved(plant, {"it.wash_ratio": w}) for w in (0.0, 0.5, 1.5, 3.0)]
    lost = [float(liquor(s, "it.cake").sucrose) for s in states]
    assert lost == sorted(lost, reverse=True)
    assert len(set(lost)) == len(lost)
    assert _it(states[3], "washing") > _it(states[1], "washing") > 0.0
    thin = [float(liquor(s, "it.sweet_water").dry_substance) for s in states[1:]]
    assert thin == sorted(thin, reverse=True)


def test_dirtier_colder_or_softer_asks_more_filters_and_pressure_fewer() -> None:
    plant = alone("pressure filter", CHALKY)
    usual = _it(solved(plant), "filters_needed")
    assert _it(solved(plant, {"melt.suspended": 1.2}), "filters_needed") > usual
    assert _it(solved(plant, {"melt.temperature": 70.0}), "filters_needed") > usual
    assert _it(solved(plant, {"it.resistance": 1e11}), "filters_needed") > usual
    assert _it(solved(plant, {"it.pressure": 400.0}), "filters_needed") < usual


def test_pressure_helps_a_soft_cake_less() -> None:
    gains = []
    for soft in (0.0, 0.5, 0.9):
        plant = alone("pressure filter", CHALKY, compressibility=soft, cloth=1e9, wash_ratio=0.0)
        low, high = (solved(plant, {"it.pressure": p}) for p in (200.0, 400.0))
        gains.append(_it(low, "filtration") / _it(high, "filtration"))
    assert gains == pytest.approx([2.0, 2.0**0.5, 2.0**0.1], rel=2e-3)


def test_filter_aid_is_cake() -> None:
    """3,000 mg/kg on 55 t/h of solids: 165 kg/h, kept with the rest (worked by hand)."""
    state = solved(alone("pressure filter", {"suspended": 0.01}, filter_aid=3000.0, retention=100.0))
    assert _it(state, "aid") == pytest.approx(165.0, rel=2e-4)
    brought = float(liquor(state, "melt.liquor").suspended)
    assert float(liquor(state, "it.cake").suspended) == pytest.approx(brought + 1e-3 * _it(state, "aid"), rel=1e-9)


def test_colour_passes_and_nothing_solves() -> None:
    assert colour(solved(alone("pressure filter", CHALKY)), "it.filtered") == pytest.approx(1000.0, rel=1e-9)
    assert _it(solved(alone("pressure filter")), "filtrate_on_area") == pytest.approx(20.0, rel=1e-6)
    state = idle(alone("pressure filter"), {"melt.rate": 0.0})
    assert float(liquor(state, "it.filtered").flow) == pytest.approx(0.0, abs=1e-12)
    assert _it(state, "filters_needed") == pytest.approx(0.0, abs=1e-9)
