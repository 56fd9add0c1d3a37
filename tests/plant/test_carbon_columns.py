"""Carbon columns: breakthrough in closed form, staggered columns stepped through time, and published schedules."""

from __future__ import annotations

from math import exp

import pytest

from canewright.analysis.adsorption import column_passed as passed
from canewright.analysis.adsorption import column_passing as passing
from canewright.properties.sucrose import sucrose_density
from plant.refinery_line import alone, colour, idle, liquor, solved

WORKED = {
    "streams": 6.0, "carbon": 60.0, "working_capacity": 1e5, "rate_constant": 3e-5, "untakable": 0.0,
    "left_by_regeneration": 1.0, "isotherm_capacity": 1e5, "isotherm_exponent": 5.0,
}  # fmt: skip
"""q0 = 1e5, 60 t a column, 55 t/h of solids in six streams, k = 3e-5, no floor: worked by hand from Thomas' form."""


@pytest.mark.parametrize(("hours", "share"), [(654.5, 0.50), (556.4, 0.05), (596.7, 0.15)])
def test_breakthrough_of_the_oldest_column(hours: float, share: float) -> None:
    """At 1,000 IU half breaks through at 654.5 h, 5 % at 556.4 and 15 % at 596.7 h (worked by hand)."""
    state = solved(alone("carbon columns", **WORKED, days_between_changes=hours / 24.0 / 6.0))
    assert state.values["it.oldest_passes"] == pytest.approx(share, abs=0.001)


def test_schedule_of_a_public_case() -> None:
    """Three streams of two in series, a column off every 3 days: 18 days a column.

    Source: public web page on refinery decolourisation, read.
    """
    state = solved(alone("carbon columns", in_series="2", streams=3.0, days_between_changes=3.0))
    assert state.values["it.column_life"] == pytest.approx(18.0, rel=1e-12)


def test_loading_is_colour_on_carbon_burnt() -> None:
    """440 kg/h burnt takes 1,000 to 150 IU off 55 t/h of solids: 106,250 IU (worked by hand)."""
    settings = {
        **WORKED,
        "untakable": 15.0,
        "working_capacity": 1e6,
        "carbon": 0.44 * 48.0,
        "days_between_changes": 2.0,
    }
    state = solved(alone("carbon columns", **settings))
    assert state.values["it.burn_rate"] == pytest.approx(440.0, rel=1e-9)
    assert state.values["it.colour_removal"] == pytest.approx(85.0, rel=1e-6)
    assert state.values["it.loading"] == pytest.approx(106_250.0, rel=1e-5)


def test_contact_time_is_bed_volume_on_flow() -> None:
    state = solved(alone("carbon columns", streams=6.0, carbon=24.0, bulk_density=480.0))
    volume = 55.0 / 0.65 / (sucrose_density(65.0, 80.0) / 1000.0)
    assert state.values["it.contact_time"] == pytest.approx(300.0 / volume, rel=1e-5)


def _stepped(units: float, fed: float, places: int, steps: int = 4000) -> tuple[list[float], float]:
    """One stream followed in small steps through its changes until it repeats: exposures past each place."""
    exposure = [0.0] * places
    out = [0.0] * places
    for _ in range(12):
        out = [0.0] * places
        for _ in range(steps):
            arriving = fed / steps
            for place in range(places):
                middle = exposure[place] + 0.5 * arriving
                exposure[place] += arriving
                arriving *= float(passing(units, middle))
                out[place] += arriving
        oldest = exposure[0]
        exposure = [*exposure[1:], 0.0]
    return out, float(passing(units, oldest))


@pytest.mark.parametrize("places", [1, 2, 3])
def test_closed_form_is_what_stepping_through_time_gives(places: int) -> None:
    """Columns changed in turn, each followed hour by hour, give the same mean as the closed form."""
    settings = {"streams": 2.0, "carbon": 20.0, "days_between_changes": 4.0, "rate_constant": 1.5e-5}
    state = solved(alone("carbon columns", in_series=str(places), **settings))
    v = state.values
    fed = 1.5e-5 * (1.0 - v["it.floor"]) * v["it.colour_in"] * 24.0 * 4.0 * 2.0
    out, oldest = _stepped(v["it.transfer_units"], fed, places)
    names = ("it.after_first", "it.after_second", "it.after_third")
    assert [v[n] for n in names[:places]] == pytest.approx(out, rel=1e-4)
    assert v["it.oldest_passes"] == pytest.approx(oldest, rel=1e-4)
    assert v["it.colour_passed"] == pytest.approx(out[-1] / fed, rel=1e-4)


def test_passed_is_the_integral_of_passing() -> None:
    for units in (0.0, 0.5, 5.0, 20.0):
        steps = 20_000
        exposures = [12.0 * (i + 0.5) / steps for i in range(steps)]
        total = sum(float(passing(units, x)) for x in exposures) * 12.0 / steps
        assert float(passed(units, 12.0)) == pytest.approx(total, rel=1e-6)


def test_two_columns_in_a_row_are_one_of_both_lengths() -> None:
    """Fresh beds in a row: transfer units add (a property of the Bohart-Adams law)."""
    once = float(passed(7.0, 9.0))
    assert float(passed(4.0, float(passed(3.0, 9.0)))) == pytest.approx(once, rel=1e-12)
    assert float(passed(0.0, 9.0)) == pytest.approx(9.0, rel=1e-12)


def _fine(changes: dict[str, float], in_series: str = "1") -> float:
    return colour(solved(alone("carbon columns", in_series=in_series), changes), "it.decolourised")


@pytest.mark.parametrize("in_series", ["1", "2", "3"])
def test_carbon_contact_and_changes_lighten(in_series: str) -> None:
    """More carbon in a column, more streams, faster changes: lighter. Darker or more liquor: darker."""
    usual = _fine({}, in_series)
    assert _fine({"it.carbon": 30.0}, in_series) < usual
    assert _fine({"it.streams": 8.0}, in_series) < usual
    assert _fine({"it.days_between_changes": 1.8}, in_series) < usual
    assert _fine({"melt.colour": 1300.0}, in_series) > usual
    assert _fine({"melt.rate": 100.0}, in_series) > usual
    assert _fine({"it.left_by_regeneration": 3000.0}, in_series) > usual
    assert _fine({"it.untakable": 8.0}, in_series) > usual


def test_no_carbon_takes_no_colour() -> None:
    state = solved(alone("carbon columns", carbon=0.0001, liquor_off=0.0, sweetening_water=0.0))
    assert state.values["it.colour_removal"] < 0.01


def test_floor_is_the_equilibrium_of_regenerated_carbon() -> None:
    """(1500/400)^1.6 = 8.29 IU for dark liquor; with carbon without end that is what is left (worked by hand)."""
    settings = {"working_capacity": 1e6, "rate_constant": 1e-4, "untakable": 0.0, "liquor_off": 0.0}
    state = solved(alone("carbon columns", **settings))
    held = (1500.0 / 400.0) ** 1.6
    assert colour(state, "it.decolourised") == pytest.approx(held / (1.0 + held / 1000.0), rel=1e-3)


def test_acid_bed_inverts() -> None:
    """Half a pH unit is 3.16 times the inversion (Vukov 1965, from memory: one decade for each unit of pH)."""
    plant = alone("carbon columns")
    made = []
    for ph in (7.0, 6.5):
        state = solved(plant, {"it.ph": ph})
        before, after = liquor(state, "melt.liquor"), liquor(state, "it.decolourised")
        sweet = liquor(state, "it.sweet_water")
        made.append(float(after.reducing_sugars + sweet.reducing_sugars - before.reducing_sugars))
    assert made[0] > 0
    assert made[1] / made[0] == pytest.approx(10.0**0.5, rel=1e-3)


def test_sweet_water_by_hand() -> None:
    """15 t liquor and 60 t water at each change every 2.4 days."""
    state = solved(alone("carbon columns", liquor_off=15.0, sweetening_water=60.0, days_between_changes=2.4))
    assert float(state.stream("hot.water.1").flow) == pytest.approx(60.0 / 57.6, rel=1e-9)
    assert float(liquor(state, "it.sweet_water").flow) == pytest.approx(75.0 / 57.6, rel=1e-4)


def test_liquor_without_colour_stays_without() -> None:
    state = solved(alone("carbon columns", {"colour": 0.0}))
    assert float(liquor(state, "it.decolourised").colour) == pytest.approx(0.0, abs=1e-9)


def test_idle() -> None:
    state = idle(alone("carbon columns"), {"melt.rate": 0.0})
    assert float(liquor(state, "it.decolourised").sucrose) == pytest.approx(0.0, abs=1e-12)
    assert state.values["it.oldest_passes"] == pytest.approx(exp(-1e3), abs=1e-12)
