"""Diffuser: its law against stages solved one by one, a whole plant with dewatering, and what moves extraction."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import numpy as np
import pytest

from canewright.plant.stations.diffuser import left_after
from plant.extraction_plants import diffuser_plant, extracted, solved, standing

STAGES = ("8", "10", "12", "14", "16", "18")


def washed(stages: int, held: float, flowing: float, efficiency: float, entering: float) -> float:
    """Concentration left in the bed, each stage an equation: what the first receives is 1 in ``held`` of juice."""
    unknowns = 2 * stages  # concentration in the bed, then in the free juice, of each stage
    system, right = np.zeros((unknowns, unknowns)), np.zeros(unknowns)
    for i in range(stages):
        bed, free = i, stages + i
        system[bed, bed] = 1.0  # approach to the free juice
        system[bed, free] = -efficiency
        system[free, bed] = held  # balance of the stage
        system[free, free] = flowing
        if i:
            system[bed, bed - 1] = -(1.0 - efficiency)
            system[free, bed - 1] = -held
        else:
            right[bed] += 1.0 - efficiency
            right[free] += held
        if i < stages - 1:
            system[free, free + 1] = -flowing
        else:
            right[free] += flowing * entering
    return float(np.linalg.solve(system, right)[stages - 1])


@pytest.mark.parametrize("stages", [1, 2, 5, 12, 18])
@pytest.mark.parametrize("ratio", [0.5, 0.8, 1.0, 1.2])
@pytest.mark.parametrize("efficiency", [0.1, 0.34, 0.6, 1.0])
def test_closed_form_is_what_stage_by_stage_gives(stages: int, ratio: float, efficiency: float) -> None:
    """Worked apart: one equation for each stage's bed and juice, solved as a linear system."""
    for entering in (0.0, 0.2):
        found = entering + left_after(stages, ratio, efficiency) * (1.0 - entering)
        assert found == pytest.approx(washed(stages, ratio, 1.0, efficiency, entering), rel=1e-9)


@pytest.mark.parametrize(("stages", "unextracted"), [(3, 1 / 15), (4, 1 / 31), (5, 1 / 63)])
def test_perfect_stages_give_the_series_of_kremser(stages: int, unextracted: float) -> None:
    """Juice flow twice the juice held: 1 / (1 + 2 + ... + 2^m) (own, closed form)."""
    assert left_after(stages, 0.5, 1.0) == pytest.approx(unextracted, rel=1e-14)


def test_equal_flows_are_no_singular_point() -> None:
    near = [left_after(12, 1.0 + d, 0.4) for d in (-1e-7, 0.0, 1e-7)]
    assert near[1] == pytest.approx(1.0 / (1.0 + 12 * 0.4), rel=1e-14)
    assert near[0] < near[1] < near[2]
    assert near[2] - near[1] == pytest.approx(near[1] - near[0], rel=1e-4)


def test_the_station_solves_its_stages() -> None:
    """The bed of the solved plant against the stages one by one, fed with what the plant feeds it."""
    v = solved(diffuser_plant()).values
    solutes = ("sucrose", "reducing_sugars", "ash", "other")
    bagasse, drawn = (sum(v[f"diffuser.{s}.{c}"] for c in ("water", *solutes)) for s in ("bagasse", "juice"))
    press = [f"dewatering {i}.juice" for i in (1, 2)]
    flowing = v["imbibition.water.water"] + sum(v[f"{p}.{c}"] for p in press for c in ("water", *solutes))
    entering = sum(v[f"{p}.sucrose"] for p in press) / flowing
    e, stages = v["diffuser.efficiency"], 12
    fed = 0.999 * v["preparation.prepared.sucrose"]
    system, right = np.zeros((2 * stages, 2 * stages)), np.zeros(2 * stages)
    for i in range(stages):
        bed, free = i, stages + i
        system[bed, bed], system[bed, free] = 1.0, -e
        system[free, bed], system[free, free] = bagasse, drawn if i == 0 else flowing
        if i:
            system[bed, bed - 1], system[free, bed - 1] = e - 1.0, -bagasse
        if i < stages - 1:
            system[free, free + 1] = -flowing
    right[0], right[stages] = (1.0 - e) * fed / bagasse, fed
    right[2 * stages - 1] = flowing * entering
    worked = np.linalg.solve(system, right)
    assert v["diffuser.bagasse.sucrose"] == pytest.approx(bagasse * worked[stages - 1], rel=1e-8)
    assert v["diffuser.juice.sucrose"] == pytest.approx(drawn * worked[stages], rel=1e-8)


# --- a whole plant ----------------------------------------------------------------------------------------------------


def extraction(stages: str = "12", changes: Mapping[str, float] | None = None) -> float:
    """Sucrose extraction of the diffuser plant, %."""
    state = solved(diffuser_plant(stages), changes)
    return extracted(state, "yard.crushed", "dewatering 2.bagasse")


def test_usual_settings_extract_what_diffusers_do() -> None:
    """Five-year mean of South African diffusers 97.85 % (Koster, Proc. SASTA 1995, read), at 350 on fibre."""
    assert extraction() == pytest.approx(97.85, abs=0.5)


@pytest.mark.parametrize("dewatering", [("mill",), ("mill", "mill"), ("volumetric mill", "volumetric mill")])
@pytest.mark.parametrize("rate", [20.0, 400.0])
def test_diffuser_plants_solve(dewatering: tuple[str, ...], rate: float) -> None:
    solved(diffuser_plant("12", dewatering), {"cane.rate": rate})


@pytest.mark.parametrize("dewatering", [("mill",), ("mill", "mill"), ("volumetric mill", "volumetric mill")])
def test_a_diffuser_plant_at_rest_solves(dewatering: tuple[str, ...]) -> None:
    standing(diffuser_plant("12", dewatering))


def test_more_stages_extract_more_with_ever_smaller_gain() -> None:
    found = [extraction(n) for n in STAGES]
    gains = [b - a for a, b in itertools.pairwise(found)]
    assert all(g > 0 for g in gains)
    assert gains == sorted(gains, reverse=True)


def test_more_imbibition_extracts_more_with_ever_smaller_gain_into_thinner_juice() -> None:
    states = [solved(diffuser_plant(), {"imbibition.on_fibre": float(x)}) for x in range(200, 451, 50)]
    found = [extracted(s, "yard.crushed", "dewatering 2.bagasse") for s in states]
    gains = [b - a for a, b in itertools.pairwise(found)]
    assert all(g > 0 for g in gains)
    assert gains == sorted(gains, reverse=True)
    brix = [s.measured("diffuser.juice", "refractometer brix") for s in states]
    assert brix == sorted(brix, reverse=True)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("preparation.specific_power", 25.0, 60.0),
        ("diffuser.temperature", 70.0, 85.0),
        ("diffuser.efficiency_opened", 0.4, 0.6),
    ],
)
def test_preparation_and_heat_extract_more(name: str, low: float, high: float) -> None:
    assert extraction(changes={name: low}) < extraction(changes={name: high})


def test_drier_bagasse_and_less_juice_held_extract_more() -> None:
    assert extraction(changes={"dewatering 2.moisture": 53.0}) < extraction(changes={"dewatering 2.moisture": 48.0})
    assert extraction(changes={"diffuser.juice_held": 6.0}) < extraction(changes={"diffuser.juice_held": 4.0})


def test_diffuser_juice_is_darker_than_that_of_the_cane() -> None:
    """Colour of diffuser juice is higher (public entry on cane diffusion, read); without formation it is not."""
    plant = diffuser_plant()
    dark, even = (
        solved(plant, {"diffuser.colour_formed": c, "diffuser.inversion": 0.0}).measured("diffuser.juice", "colour")
        for c in (15.0, 0.0)
    )
    assert dark / even == pytest.approx(1.15, rel=1e-6)


def test_heat_of_the_bed_by_hand() -> None:
    """All that leaves is at 80 °C; the steam brings what warming takes and what is lost."""
    state = solved(diffuser_plant())
    steam = state.values["diffuser.condensate.water"]
    brought = sum(
        float(state.stream(s).enthalpy_flow)
        for s in ("preparation.prepared", "imbibition.water", "dewatering 1.juice", "dewatering 2.juice")
    )
    out = sum(float(state.stream(s).enthalpy_flow) for s in ("diffuser.juice", "diffuser.bagasse"))
    lost, power = 10.0 * 50.0 * 3.6, 6.0 * state.values["preparation.prepared.fibre"] * 3.6
    given = float(state.stream("vapour.steam.1").enthalpy_flow) - float(
        state.stream("diffuser.condensate").enthalpy_flow
    )
    assert state.values["diffuser.juice.temperature"] == pytest.approx(80.0)
    assert given == pytest.approx(out + lost - power - brought, rel=1e-9)
    assert steam > 0


def test_limits_of_bed_and_percolation() -> None:
    """9 m · 1.7 m · 1.0 m/min of 65 kg/m³ carry 59.67 t/h of fibre; 0.2 m/min on 45 m² lets 540 m³/h through."""
    state = solved(diffuser_plant())
    station = state.assembly.stations["diffuser"].bound(state.values.__getitem__)
    limits = {said: (float(used), float(there)) for said, used, there in station.capacities()}
    fibre, carried = limits["fibre within what the bed carries"]
    assert fibre == pytest.approx(56_000.0, rel=1e-9)
    assert carried == pytest.approx(59_670.0, rel=1e-12)
    flowing, percolates = limits["juice on a stage within what percolates"]
    assert percolates == pytest.approx(540.0, rel=1e-12)
    assert 300.0 < flowing < percolates
    assert state.values["diffuser.hours_in_bed"] == pytest.approx(9.0 * 60.0 * 1.7 * 65.0 / 56_000.0, rel=1e-5)
