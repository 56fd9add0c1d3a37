"""Deaerator: steam and make-up by hand, and the surplus of condensate refused by name."""

from __future__ import annotations

import pytest
from iapws import IAPWS97

from canewright.engine import NotSolved
from plant.steam_plant import CONNECTIONS, STATIONS, plant_of, solved, steam_plant


def test_steam_and_make_up_by_hand() -> None:
    """Feedwater F at 110 °C from make-up at 28 °C and exhaust: steam = F (h feed - h cold) / (h steam - h cold).

    Enthalpies by the iapws library; feedwater at saturation, the pump's work apart.
    """
    state = solved(steam_plant())
    exhaust = state.stream("range.branches.1")
    cold, feed = IAPWS97(T=301.15, P=0.5).h, IAPWS97(T=383.15, x=0).h
    hot = IAPWS97(T=float(exhaust.temperature) + 273.15, P=0.23).h
    needed = state.stream("deaerator.feedwater").flow
    assert needed == pytest.approx(135.0415 * 1.015, abs=1e-3)
    assert exhaust.flow == pytest.approx(needed * (feed - cold) / (hot - cold), rel=1e-4)
    assert state.stream("water.water.1").flow == pytest.approx(float(needed - exhaust.flow), rel=1e-9)


def test_delivery_pressure_is_the_pumps_work_not_the_steams() -> None:
    usual, high = (solved(steam_plant(), {"deaerator.pressure": p}) for p in (150.0, 5000.0))
    before, after = (s.stream("range.branches.1").flow / s.stream("deaerator.feedwater").flow for s in (usual, high))
    assert after == pytest.approx(float(before), rel=1e-4)
    assert high.stream("store.reclaimed").flow < usual.stream("store.reclaimed").flow


def test_vent_costs_steam_and_make_up() -> None:
    """0.5 % of the feedwater leaves as saturated steam at 110 °C, 2691.1 kJ/kg (iapws): mass and heat by hand."""
    venting = plant_of(STATIONS, {**CONNECTIONS, "outside.vent": "deaerator.vent"})
    closed, open_ = solved(steam_plant()), solved(venting, {"deaerator.vented": 0.5})
    lost = 0.005 * float(open_.stream("deaerator.feedwater").flow)
    exhaust = open_.stream("range.branches.1")
    assert open_.stream("deaerator.vent.1").flow == pytest.approx(lost, rel=1e-9)
    hot = IAPWS97(T=float(exhaust.temperature) + 273.15, P=0.23).h
    cold = IAPWS97(T=301.15, P=0.5).h
    more = lost * (IAPWS97(T=383.15, x=1).h - cold) / (hot - cold)
    assert float(exhaust.flow) == pytest.approx(float(closed.stream("range.branches.1").flow) + more, rel=1e-5)


def test_condensate_returned_saves_make_up_and_steam() -> None:
    connections = {k: v for k, v in CONNECTIONS.items() if k != "outside.condensate"}
    returning = plant_of(STATIONS, {**connections, "deaerator.condensates": "heater.condensate"})
    cold, warm = solved(steam_plant()), solved(returning)
    assert warm.stream("water.water.1").flow < cold.stream("water.water.1").flow - 40.0
    assert warm.stream("range.branches.1").flow < cold.stream("range.branches.1").flow
    with pytest.raises(NotSolved, match=r"water\.water\.1\.water"):
        returning.predict({"turbine.steam_flow": 20.0})
