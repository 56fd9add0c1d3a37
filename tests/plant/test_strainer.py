"""Strainer: insolubles caught and liquor lost with them, by hand."""

from __future__ import annotations

import pytest

from plant.refinery_line import alone, idle, liquor, solved


def test_hand_worked_case() -> None:
    """100 t/h with 0.1 % insolubles, 30 % caught with 4 t/t liquor: 0.03 and 0.12 t/h (worked by hand)."""
    state = solved(alone("strainer", {"rate": 100.0, "suspended": 0.1}, caught=30.0, clinging_liquor=4.0))
    screenings, strained = liquor(state, "it.screenings"), liquor(state, "it.strained")
    assert float(screenings.suspended) == pytest.approx(0.03, rel=1e-12)
    assert float(screenings.flow) == pytest.approx(0.15, rel=1e-6)
    assert float(screenings.dry_substance) == pytest.approx(65.0, rel=1e-9)
    assert float(strained.suspended) == pytest.approx(0.07, rel=1e-12)


def test_more_clinging_liquor_loses_more_sugar() -> None:
    plant = alone("strainer", {"suspended": 0.1})
    lost = [float(liquor(solved(plant, {"it.clinging_liquor": x}), "it.screenings").sucrose) for x in (0.0, 3.0, 6.0)]
    assert lost[0] < 1e-6
    assert lost[1] < lost[2]
    assert lost[2] == pytest.approx(2.0 * lost[1], rel=1e-6)


def test_idle_strainer_is_as_warm_as_its_surroundings() -> None:
    state = idle(alone("strainer"), {"melt.rate": 0.0})
    assert float(liquor(state, "it.strained").flow) == pytest.approx(0.0, abs=1e-12)
    assert float(liquor(state, "it.strained").temperature) == pytest.approx(30.0, abs=1e-6)
