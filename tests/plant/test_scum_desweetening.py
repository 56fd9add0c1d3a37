"""Scum desweetening: loss of ideal counter-current stages, in closed form and stage by stage."""

from __future__ import annotations

import numpy as np
import pytest

from plant.refinery_line import alone, colour, idle, liquor, solved

SCUM = {"rate": 2.0, "suspended": 4.0}


def _stage_by_stage(wash: float, stages: int) -> float:
    """Loss from the balances of the single stages, solved as linear equations."""
    matrix, brought = np.zeros((stages, stages)), np.zeros(stages)
    for i in range(stages):  # liquid of unit flow leaves stage i with the scum, wash flows the other way
        matrix[i, i] = 1.0 + wash
        if i > 0:
            matrix[i, i - 1] = -1.0
        if i < stages - 1:
            matrix[i, i + 1] = -wash
    brought[0] = 1.0
    return float(np.linalg.solve(matrix, brought)[-1])


def test_published_loss() -> None:
    """Wash 2 in 3 stages loses 1/15 (closed form 1/(1 + w + w² + w³), worked by hand)."""
    state = solved(alone("scum desweetening", SCUM, wash=2.0, stages="3"))
    assert state.values["it.loss"] == pytest.approx(1.0 / 15.0, rel=1e-12)
    scum, spent = liquor(state, "melt.liquor"), liquor(state, "it.spent")
    assert float(spent.sucrose) == pytest.approx(float(scum.sucrose) / 15.0, rel=1e-9)
    assert float(state.stream("hot.water.1").flow) == pytest.approx(2.0 * 0.96 * 2.0, rel=1e-9)


@pytest.mark.parametrize("stages", [1, 2, 3, 4])
@pytest.mark.parametrize("wash", [0.1, 0.7, 1.0, 2.5])
def test_stage_by_stage(stages: int, wash: float) -> None:
    """The polynomial is what the balances of the single stages give."""
    state = solved(alone("scum desweetening", SCUM, wash=wash, stages=str(stages)))
    assert state.values["it.loss"] == pytest.approx(_stage_by_stage(wash, stages), rel=1e-10)


def test_more_water_less_sugar_lost_and_bypass_more() -> None:
    plant = alone("scum desweetening", SCUM)
    lost = [float(liquor(solved(plant, {"it.wash": w}), "it.spent").sucrose) for w in (0.5, 1.0, 2.0, 4.0)]
    assert lost == sorted(lost, reverse=True)
    assert len(set(lost)) == len(lost)
    bypassed = solved(plant, {"it.bypass": 10.0})
    assert bypassed.values["it.loss"] == pytest.approx(0.1 + 0.9 / 15.0, rel=1e-12)


def test_washing_keeps_colour_on_solids() -> None:
    state = solved(alone("scum desweetening", SCUM))
    assert colour(state, "it.spent") == pytest.approx(1000.0, rel=1e-9)
    assert colour(state, "it.sweet_water") == pytest.approx(1000.0, rel=1e-9)


def test_tanks_too_small_are_named() -> None:
    """2 t/h of scum and 3.84 t/h of water for 30 min: 2.92 m³ (worked by hand)."""
    state = solved(alone("scum desweetening", SCUM, tanks=2.0))
    ((_, held, there),) = state.assembly.stations["it"].bound(state.values.__getitem__).capacities()
    assert float(held) == pytest.approx((2.0 + 3.84) / 2.0, rel=1e-9)
    assert float(held) > float(there)


def test_idle() -> None:
    state = idle(alone("scum desweetening", SCUM), {"melt.rate": 0.0})
    assert float(liquor(state, "it.spent").flow) == pytest.approx(0.0, abs=1e-12)
