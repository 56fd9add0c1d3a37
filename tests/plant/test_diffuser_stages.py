"""Diffuser stages in a row: the exact series, the one law of the whole diffuser, and the brix of each stage."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from functools import cache
from typing import Any

import pytest

from canewright.engine import predict
from canewright.plant.plant import Plant, State
from canewright.quantity import noting_breaches
from plant.extraction_plants import SUPPLIES, Described, Joined, extracted, solved
from plant.steam_plant import plant_of

STILL: dict[str, Any] = {
    "efficiency_rise": 0, "non_sucrose_ratio": 1, "inversion": 0, "colour_formed": 0, "fibre_to_juice": 0,
    "solids_to_juice": 0,
}  # fmt: skip
"""Nothing but washing: no reaction, no fines, one efficiency."""
BED = {"rate": 100, "fibre": 20, "dry_substance": 15, "suspended": 0, "temperature": 60}
"""Bed of 20 t/h of fibre with 80 t/h of juice."""


def row(stages: int, given: Mapping[str, Any], washing: float, *, first_to_last: bool = True, more: str = "") -> Plant:
    """A bed of 20 t/h of fibre washed with so much water, t/h, through equal stages without steam."""
    stations: Described = {
        "bed": {"kind": "juice supply", **BED},
        "water": {"kind": "juice supply", "rate": washing, "fibre": 0, "dry_substance": 0, "suspended": 0},
        "grid": {"kind": "grid"}, "board": {"kind": "power board"},
    }  # fmt: skip
    joined: Joined = {"board.imported": "grid.power", "outside.export": "board.exported"}
    order = range(1, stages + 1) if first_to_last else range(stages, 0, -1)
    for i in order:
        stations[f"stage {i}"] = {"kind": "diffuser stage", **given}
    before = "bed.juice"
    for i in range(1, stages + 1):
        joined |= {
            f"stage {i}.bed": before, f"stage {i}.power": "board.branches",
            f"stage {i}.liquids": "water.juice" if i == stages else f"stage {i + 1}.juice",
        }  # fmt: skip
        before = f"stage {i}.washed"
    return plant_of(stations, {**joined, "outside.bagasse": before, "outside.juice": "stage 1.juice"}, more)


def profile(state: State, stages: int) -> list[float]:
    """Brix of the juice of each stage, first to last."""
    return [state.measured(f"stage {i}.juice", "dry substance") for i in range(1, stages + 1)]


# --- exact ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("first_to_last", [True, False])
@pytest.mark.parametrize(("stages", "unextracted"), [(3, 1 / 15), (4, 1 / 31), (5, 1 / 63)])
def test_perfect_stages_give_the_exact_series(stages: int, unextracted: float, first_to_last: bool) -> None:
    """Juice flow twice the juice held: 1 / (1 + 2 + ... + 2^m) is left (own, closed form), in each stage its part.

    Brix of stage i is that of the bed times (2^(m+1-i) - 1) / (2^(m+1) - 1).
    """
    perfect = {**STILL, "efficiency_opened": 1, "efficiency_closed": 1, "juice_held": 4}
    state = solved(row(stages, perfect, 160.0, first_to_last=first_to_last))
    left = state.values[f"stage {stages}.washed.sucrose"] / state.values["bed.juice.sucrose"]
    assert left == pytest.approx(unextracted, rel=1e-8)
    steps = [15.0 * (2 ** (stages + 1 - i) - 1) / (2 ** (stages + 1) - 1) for i in range(1, stages + 1)]
    assert profile(state, stages) == pytest.approx(steps, rel=1e-8)


@pytest.mark.parametrize("efficiency", [0.2, 0.34, 0.6])
@pytest.mark.parametrize("washing", [60.0, 80.0, 130.0])
def test_equal_stages_are_the_one_law_of_the_diffuser(efficiency: float, washing: float) -> None:
    """The closed form of the diffuser station and twelve stages solved together leave the same, part by part."""
    given = {**STILL, "efficiency_opened": efficiency, "efficiency_closed": efficiency, "juice_held": 4}
    staged = solved(row(12, given, washing))
    stations: Described = {
        "bed": {"kind": "juice supply", **BED},
        "water": {"kind": "juice supply", "rate": washing, "fibre": 0, "dry_substance": 0, "suspended": 0},
        "grid": {"kind": "grid"}, "vapour": {"kind": "steam supply"}, "diffuser": {"kind": "diffuser", **given},
    }  # fmt: skip
    whole = solved(plant_of(stations, {
        "diffuser.cane": "bed.juice", "diffuser.imbibition": "water.juice", "diffuser.steam": "vapour.steam",
        "diffuser.power": "grid.power", "outside.condensate": "diffuser.condensate",
        "outside.juice": "diffuser.juice", "outside.bagasse": "diffuser.bagasse",
    }))  # fmt: skip
    for part in ("sucrose", "reducing_sugars", "ash", "other", "colour"):
        one = whole.values[f"diffuser.bagasse.{part}"]
        assert staged.values[f"stage 12.washed.{part}"] == pytest.approx(one, rel=1e-7), part
    assert profile(staged, 12)[0] == pytest.approx(whole.measured("diffuser.juice", "dry substance"), rel=1e-8)


def test_steps_of_the_profile_shrink_by_one_factor() -> None:
    """Brix falls by steps in the ratio 1 - e (1 - held / flowing), the step of a line on a logarithmic scale."""
    given = {**STILL, "efficiency_opened": 0.4, "efficiency_closed": 0.4, "juice_held": 4}
    brix = profile(solved(row(10, given, 100.0)), 10)
    steps = [a - b for a, b in itertools.pairwise(brix)]
    # equal in the bed's juice; free juice follows, so the factor is that of the law: 1 - 0.4 (1 - 80 / 100)
    assert [b / a for a, b in itertools.pairwise(steps)][:-1] == pytest.approx([0.92] * 7, rel=1e-7)


# --- a whole diffuser -------------------------------------------------------------------------------------------------


@cache
def staged_plant(stages: int = 12) -> Plant:
    """Cane prepared, washed in stages, pressed; press water to the last but one. Steam holds the second and the last.

    The juice of the second stage is heated on its way to the first, to scald the cane.
    """
    stations: Described = {
        **SUPPLIES, "imbibition": {"kind": "imbibition", "on_fibre": 350}, "preparation": {"kind": "cane preparation"},
        "vapour": {"kind": "steam supply", "pressure": 160}, "heating vapour": {"kind": "steam supply"},
        "scalding heater": {"kind": "juice heater", "temperature": 92, "area": 800},
        "dewatering": {"kind": "mill", "moisture": 50, "imbibition_coefficient": 1, "non_sucrose_ratio": 1},
    }  # fmt: skip
    joined: Joined = {
        "board.imported": "grid.power", "outside.export": "board.exported", "imbibition.cane": "cane.cane",
        "imbibition.source": "water.water", "preparation.cane": "imbibition.passed",
        "preparation.power": "board.branches", "scalding heater.liquor": "stage 2.juice",
        "scalding heater.vapour": "heating vapour.steam", "outside.condensate": "scalding heater.condensate",
        "dewatering.feed": f"stage {stages}.washed", "dewatering.power": "board.branches",
        "outside.bagasse": "dewatering.bagasse", "outside.draft juice": "stage 1.juice",
    }  # fmt: skip
    before = "preparation.prepared"
    for i in range(1, stages + 1):
        stations[f"stage {i}"] = {"kind": "diffuser stage"}
        joined |= {f"stage {i}.bed": before, f"stage {i}.power": "board.branches"}
        joined[f"stage {i}.liquids"] = _sprayed(i, stages)
        if i in {2, stages}:
            joined[f"stage {i}.steam"] = "vapour.steam"
        before = f"stage {i}.washed"
    return plant_of(stations, joined)


def _sprayed(i: int, stages: int) -> str | list[str]:
    if i == 1:
        return "scalding heater.heated"
    if i == stages:
        return "imbibition.water"
    return [f"stage {i + 1}.juice", "dewatering.juice"] if i == stages - 1 else f"stage {i + 1}.juice"


def test_usual_stages_extract_what_diffusers_do() -> None:
    """Five-year mean of South African diffusers 97.85 % (Koster, Proc. SASTA 1995, read), at 350 on fibre."""
    state = solved(staged_plant())
    assert extracted(state, "cane.cane", "dewatering.bagasse") == pytest.approx(97.85, abs=0.8)


def test_brix_falls_from_stage_to_stage_and_warmth_is_each_stages_own() -> None:
    """Each stage is thinner than the one before it; scalding mixes, two stages are held, the others lose a little."""
    state = solved(staged_plant())
    brix = profile(state, 12)
    assert brix == sorted(brix, reverse=True)
    assert brix[0] > 10.0
    assert brix[-1] < 1.5
    warm = [state.values[f"stage {i}.juice.temperature"] for i in range(1, 13)]
    assert [warm[1], warm[11]] == pytest.approx([80.0, 80.0], abs=1e-8)
    assert all(78.0 < t < 80.5 for t in warm[1:])
    assert 45.0 < warm[0] < 75.0


@pytest.mark.parametrize("press_water_to", [10, 11])
def test_press_water_where_its_brix_fits(press_water_to: int) -> None:
    """Led to the stage of its own brix rather than before the last, press water washes better or hardly worse."""
    usual = solved(staged_plant())
    assert usual.measured("dewatering.juice", "dry substance") < profile(usual, 12)[press_water_to - 3]


def test_a_flooded_stage_is_told() -> None:
    """Half of the area of a stage passes half of the juice."""
    plant = staged_plant()
    state = solved(plant, {"stage 5.area": 20.0})
    [(_, sprayed, passes)] = plant.assembly.stations["stage 5"].bound(state.values.__getitem__).capacities()
    assert float(sprayed) > float(passes) == pytest.approx(0.2 * 60.0 * 20.0)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("imbibition.on_fibre", 250.0, 400.0),
        ("preparation.specific_power", 25.0, 60.0),
        ("stage 12.temperature", 75.0, 85.0),
        ("stage 6.efficiency_opened", 0.4, 0.6),
        ("dewatering.moisture", 53.0, 48.0),
    ],
)
def test_what_extracts_more(name: str, low: float, high: float) -> None:
    found = [extracted(solved(staged_plant(), {name: x}), "cane.cane", "dewatering.bagasse") for x in (low, high)]
    assert found[0] < found[1]


@pytest.mark.parametrize("rate", [20.0, 150.0, 600.0])
def test_other_rates_solve(rate: float) -> None:
    solved(staged_plant(), {"cane.rate": rate})


def at_rest(plant: Plant, nothing: Mapping[str, float]) -> State:
    """The plant with these supplies at nothing, below the check of formula ranges; every balance is held."""
    solution = predict(plant.model, plant.first_estimate(plant.settings(nothing)))
    state = State(plant.assembly, solution.values, solution.scaled, solution.method)
    with noting_breaches():
        assert max(abs(c.gap) for c in state.closures) < 1e-9
    return state


def test_a_row_at_rest_is_empty_and_cold() -> None:
    plant = row(12, {}, 0.0)
    state = at_rest(plant, {"bed.rate": 0.0, "water.rate": 0.0})
    for i in range(1, 13):
        assert float(state.stream(f"stage {i}.juice").flow) == pytest.approx(0.0, abs=1e-9)
        assert state.values[f"stage {i}.washed.temperature"] == pytest.approx(30.0, abs=1e-6)


def test_a_diffuser_kept_hot_draws_the_steam_of_its_losses() -> None:
    """Without cane the held stages condense what the heat loss takes, and the water runs off."""
    state = at_rest(staged_plant(), {"cane.rate": 0.0})
    drawn = state.values["vapour.steam.1.water"] + state.values["vapour.steam.2.water"]
    assert drawn > 0.05
    assert float(state.stream("stage 1.juice").flow) == pytest.approx(drawn, rel=1e-6)
    assert state.values["stage 12.washed.fibre"] == pytest.approx(0.0, abs=1e-9)


READ = {"stage 2": "0.1", "stage 5": "0.1", "stage 8": "0.1", "stage 11": "0.1"}


def test_brix_of_stages_tells_where_the_bed_is_worse() -> None:
    """Refractometers at four stages find the one stretch whose efficiency fell, and not the others."""
    meters = "".join(
        f'[[meters]]\ntag = "{s} brix"\nstream = "{s}.juice"\nquantity = "refractometer brix"\nuncertainty = {u}\n'
        for s, u in READ.items()
    )
    loose = {"efficiency_opened.value": 0.5, "efficiency_opened.uncertainty": 0.15}
    plant = row(12, {**STILL, "juice_held": 4, **loose}, 100.0, more=meters)
    state = plant.predict({f"stage {i}.efficiency_opened": 0.3 for i in (5, 6, 7)})
    day = plant.reconcile({f"{s} brix": state.measured(f"{s}.juice", "refractometer brix") for s in READ})
    found = [day.state.values[f"stage {i}.efficiency_opened"] for i in range(1, 13)]
    assert sum(found[4:7]) / 3 == pytest.approx(0.3, abs=0.1)
    assert max(found[4:7]) < min(found[:4] + found[7:])
