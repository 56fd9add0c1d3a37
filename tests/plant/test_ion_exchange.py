"""Ion exchange: colour by bed volumes, regeneration by hand, columns stepped through time."""

from __future__ import annotations

from math import exp

import pytest

from canewright.analysis.adsorption import column_passing
from canewright.plant.plant import State
from canewright.properties.sucrose import sucrose_density, water_density
from plant.refinery_line import alone, colour, idle, liquor, solved

VOLUME = 55.0 / 0.65 / (sucrose_density(65.0, 80.0) / 1000.0)
"""Liquor of the worked case, m³/h."""


def _it(state: State, name: str) -> float:
    return float(state.values[f"it.{name}"])


def test_run_and_regenerations_by_hand() -> None:
    """65.9 m³/h over three columns of 8 m³: 2.75 bed volumes an hour, 50 bed volumes in 18.2 h (worked by hand).

    Duty of 16-20 h at 2-4 bed volumes an hour (an anonymous process description, read; flow from memory).
    """
    state = solved(alone("ion exchange"))
    assert _it(state, "loading_rate") == pytest.approx(VOLUME / 24.0, rel=1e-6)
    assert _it(state, "run_length") == pytest.approx(50.0 * 24.0 / VOLUME, rel=1e-3)
    assert 16.0 < _it(state, "run_length") < 20.0
    assert _it(state, "regenerations") == pytest.approx(VOLUME / 400.0, rel=1e-6)


def test_salt_caustic_and_water_by_hand() -> None:
    """A regeneration of 8 m³: 1,400 kg salt, 160 kg caustic, 12.6 t water in 10 % brine, 3 volumes of rinse."""
    state = solved(alone("ion exchange"))
    changes = VOLUME / 400.0
    assert _it(state, "salt") == pytest.approx(175.0 * 8.0 * changes, rel=1e-6)
    assert _it(state, "caustic") == pytest.approx(20.0 * 8.0 * changes, rel=1e-6)
    bed = 8.0 * changes * water_density(75.0) / 1000.0
    brine = 9.0 * 1.4 * changes + 3.0 * bed
    assert float(liquor(state, "it.effluent").water) == pytest.approx(brine, rel=1e-6)
    assert float(state.stream("hot.water.1").flow) == pytest.approx(brine + 1.2 * bed, rel=1e-6)
    salted = float(liquor(state, "it.effluent").ash)
    assert salted == pytest.approx(1.56 * changes - 1e-4 * 55.0, rel=2e-3)


def test_breakthrough_by_hand() -> None:
    """Fresh resin that takes all colour: A = 4e-4·24000·24/55 = 4.189, X = 4e-4·500·18.2 = 3.64 (worked by hand)."""
    state = solved(alone("ion exchange", {"colour": 500.0}, untakable=0.0, cycles_made=0.0))
    units, exposure = 4e-4 * 2.4e4 * 24.0 / 55.0, 4e-4 * 500.0 * 1200.0 / VOLUME
    assert _it(state, "transfer_units") == pytest.approx(units, rel=1e-5)
    assert _it(state, "exposure") == pytest.approx(exposure, rel=1e-3)
    shown = exp(exposure - units)
    assert _it(state, "passes_at_end") == pytest.approx(shown / (shown + 1.0 - exp(-units)), rel=1e-3)
    assert 50.0 < _it(state, "colour_removal") < 95.0


def test_mean_of_a_run_is_what_stepping_through_it_gives() -> None:
    """A column followed in small steps from one regeneration to the next."""
    state = solved(alone("ion exchange", {"colour": 500.0}))
    units, exposure, steps = _it(state, "transfer_units"), _it(state, "exposure"), 20_000
    shares = [float(column_passing(units, exposure * (i + 0.5) / steps)) for i in range(steps)]
    assert _it(state, "colour_passed") == pytest.approx(sum(shares) / steps, rel=1e-6)


def test_two_thirds_of_the_colour_goes() -> None:
    """50-70 % (from memory); up to 65-70 % of the colour that enters (public page of an equipment maker, read)."""
    state = solved(alone("ion exchange", {"colour": 500.0}))
    assert 50.0 < _it(state, "colour_removal") < 70.0
    assert colour(state, "it.decolourised") == pytest.approx(5.0 * (100.0 - _it(state, "colour_removal")), rel=3e-4)


@pytest.mark.parametrize(
    ("handle", "values"),
    [
        ("bed_volumes", (30.0, 50.0, 80.0, 120.0)),
        ("cycles_made", (0.0, 200.0, 600.0, 1200.0)),
        ("untakable", (10.0, 25.0, 40.0)),
    ],
)
def test_longer_runs_and_older_resin_leave_more_colour(handle: str, values: tuple[float, ...]) -> None:
    plant = alone("ion exchange", {"colour": 500.0})
    left = [colour(solved(plant, {f"it.{handle}": v}), "it.decolourised") for v in values]
    assert left == sorted(left)
    assert len(set(left)) == len(left)


def test_more_resin_lightens_and_darker_liquor_darkens() -> None:
    plant = alone("ion exchange", {"colour": 500.0})
    usual = colour(solved(plant), "it.decolourised")
    assert colour(solved(plant, {"it.resin": 12.0, "it.bed_volumes": 50.0 * 8.0 / 12.0}), "it.decolourised") < usual
    assert colour(solved(plant, {"melt.colour": 700.0}), "it.decolourised") > usual


def test_longer_runs_save_salt_and_sugar() -> None:
    plant = alone("ion exchange")
    short, long = solved(plant, {"it.bed_volumes": 30.0}), solved(plant, {"it.bed_volumes": 90.0})
    assert _it(long, "salt") == pytest.approx(_it(short, "salt") / 3.0, rel=1e-9)
    assert float(liquor(long, "it.effluent").sucrose) < float(liquor(short, "it.effluent").sucrose)


def test_more_sweetening_off_saves_sugar_for_more_sweet_water() -> None:
    plant = alone("ion exchange")
    states = [solved(plant, {"it.sweetening_off": v}) for v in (0.0, 0.6, 1.2, 2.4)]
    lost = [float(liquor(s, "it.effluent").sucrose) for s in states]
    assert lost == sorted(lost, reverse=True)
    left = _it(states[0], "left_share") * float(liquor(states[0], "melt.liquor").sucrose)
    assert lost[0] == pytest.approx(left, rel=1e-9)
    assert lost[2] == pytest.approx(left * 0.2 ** (1.2 / 0.45), rel=1e-9)
    sweet = [float(liquor(s, "it.sweet_water").water) for s in states]
    assert sweet == sorted(sweet)


def test_all_colour_taken_leaves_with_the_effluent() -> None:
    state = solved(alone("ion exchange"))
    brought = float(liquor(state, "melt.liquor").colour)
    out = [float(liquor(state, f"it.{o}").colour) for o in ("decolourised", "sweet_water", "effluent")]
    assert sum(out) == pytest.approx(brought, rel=1e-12)
    assert out[2] == pytest.approx(brought * _it(state, "colour_removal") / 100.0, rel=1e-3)


def test_capacities_name_columns_flow_and_heat() -> None:
    state = solved(alone("ion exchange", {"temperature": 90.0}, columns=1.0, installed=1.0, resin=8.0))
    limits = list(state.assembly.stations["it"].bound(state.values.__getitem__).capacities())
    assert len(limits) == 3
    assert all(float(used) > float(there) for _, used, there in limits)


def test_liquor_without_colour_and_no_liquor() -> None:
    pale = solved(alone("ion exchange", {"colour": 0.0}))
    assert float(liquor(pale, "it.decolourised").colour) == pytest.approx(0.0, abs=1e-9)
    nothing = idle(alone("ion exchange"), {"melt.rate": 0.0})
    assert float(liquor(nothing, "it.decolourised").flow) == pytest.approx(0.0, abs=1e-12)
    assert float(liquor(nothing, "it.effluent").flow) == pytest.approx(0.0, abs=1e-9)
