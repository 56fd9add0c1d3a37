"""Melt liquor to fine liquor by phosphatation and carbon, and by carbonatation and resin, solved cold together."""

from __future__ import annotations

import pytest

from plant.refinery_line import carbonatation_line, colour, idle, liquor, liquor_line, solved

AFTER_MELT = ("strainer.strained", "phosphatation.clarified", "filter.filtered", "carbon.decolourised")


@pytest.mark.parametrize("in_series", ["1", "2", "3"])
def test_line_solves_cold_and_closes(in_series: str) -> None:
    """Colour falls at phosphatation and at carbon, and nowhere rises."""
    state = solved(liquor_line(in_series))
    assert state.method == "newton"
    colours = [colour(state, name) for name in AFTER_MELT]
    assert colours[0] == pytest.approx(1000.0, rel=1e-9)
    assert 500.0 < colours[1] < 800.0
    assert colours[2] == pytest.approx(colours[1], rel=1e-9)
    assert 20.0 < colours[3] < 250.0


def test_darker_melt_is_darker_at_every_later_point() -> None:
    lighter, darker = (solved(liquor_line(), {"melt.colour": c}) for c in (900.0, 1100.0))
    for name in AFTER_MELT:
        assert colour(darker, name) > colour(lighter, name)


def test_more_phosphate_spares_the_carbon() -> None:
    less, more = (solved(liquor_line(), {"phosphatation.p2o5_dose": d}) for d in (150.0, 400.0))
    assert colour(more, "carbon.decolourised") < colour(less, "carbon.decolourised")
    assert more.values["carbon.loading"] < less.values["carbon.loading"]


def test_sugar_lost_is_what_leaves_elsewhere() -> None:
    """Sucrose melted less inversion is in fine liquor, sweet waters, screenings, spent scum and sludge."""
    state = solved(liquor_line())
    out = ("carbon.decolourised", "carbon.sweet_water", "filter.sweet_water", "filter.sludge", "scum.sweet_water",
           "scum.spent", "strainer.screenings")  # fmt: skip
    total = sum(float(liquor(state, name).sucrose) for name in out)
    brought = float(liquor(state, "melt.liquor").sucrose)
    inverted = (float(liquor(state, "melt.liquor").reducing_sugars)
                - sum(float(liquor(state, name).reducing_sugars) for name in out))  # fmt: skip
    assert total == pytest.approx(brought + inverted / 1.05263, rel=1e-9)


def test_idle_line() -> None:
    state = idle(liquor_line(), {"melt.rate": 0.0})
    assert float(liquor(state, "carbon.decolourised").sucrose) == pytest.approx(0.0, abs=1e-12)


def test_carbonatation_line_solves_cold_and_closes() -> None:
    """Colour falls at the saturators and at each resin; the filter keeps the chalk."""
    state = solved(carbonatation_line())
    assert state.method == "newton"
    after = ("carbonatation.carbonated", "press.filtered", "acrylic.decolourised", "styrenic.decolourised")
    colours = [colour(state, name) for name in after]
    assert 400.0 < colours[0] < 600.0
    assert colours[1] == pytest.approx(colours[0], rel=1e-9)
    assert colours[1] > 1.5 * colours[2] > 2.0 * colours[3]
    kept = float(liquor(state, "press.cake").suspended)
    assert kept == pytest.approx(0.998 * float(liquor(state, "carbonatation.carbonated").suspended), rel=1e-9)


def test_cake_stirred_up_and_washed_again_loses_a_quarter_of_its_sugar() -> None:
    """One ideal stage with 3 t of water on the liquid of the cake leaves 1/(1 + 3) (worked by hand)."""
    state = solved(carbonatation_line())
    kept = float(liquor(state, "cake.spent").sucrose) / float(liquor(state, "press.cake").sucrose)
    assert kept == pytest.approx(0.25, rel=1e-9)


def test_idle_carbonatation_line() -> None:
    state = idle(carbonatation_line(), {"melt.rate": 0.0})
    assert float(liquor(state, "styrenic.decolourised").sucrose) == pytest.approx(0.0, abs=1e-12)
