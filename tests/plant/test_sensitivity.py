"""Derivatives of plant figures to settings, against changed and re-solved plants."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from canewright.cli.commands import app
from canewright.plant.plant import Plant, State
from canewright.plant.sensitivity import NotAsked, answers

FILE = Path(__file__).parents[2] / "src/canewright/demo_data/plant.toml"


@pytest.fixture(scope="module")
def plant() -> Plant:
    return Plant.read(FILE)


@pytest.fixture(scope="module")
def state(plant: Plant) -> State:
    return plant.predict()


@pytest.mark.parametrize(
    ("stream", "quantity"),
    [("syrup", "dry substance"), ("refined sugar", "colour"), ("boiler.steam", "mass flow"), ("raw sugar", "pol")],
)
@pytest.mark.parametrize("setting", ["imbibition.on_fibre", "cane yard.fibre", "effect 3.area", "pan A.brix"])
def test_derivatives_are_those_of_the_resolved_plant(
    plant: Plant, state: State, stream: str, quantity: str, setting: str
) -> None:
    """Central differences over 0.02 % of the setting, re-solved each time."""
    (found,) = answers(plant, state, stream, quantity, [setting])
    where = plant.description.roles.get(stream, stream)
    step = 2e-4 * found.value
    up, down = (plant.predict({setting: found.value + s}, state).measured(where, quantity) for s in (step, -step))
    size = max(abs(found.slope), 1e-9)
    assert (up - down) / (2 * step) == pytest.approx(found.slope, abs=1e-5 * size + 1e-8)


def test_the_strongest_come_first_and_the_idle_are_left_out(plant: Plant, state: State) -> None:
    found = answers(plant, state, "syrup", "mass flow")
    strength = [abs(a.by_one_per_cent) for a in found]
    assert strength == sorted(strength, reverse=True)
    assert all(a.slope for a in found)
    assert found[0].setting == "cane yard.rate"


@pytest.mark.parametrize(
    ("stream", "quantity", "setting", "says"),
    [
        ("sirup", "mass flow", None, "did you mean 'syrup'"),
        ("syrup", "mas flow", None, "did you mean 'mass flow'"),
        ("syrup", "mass flow", "effect 3.aria", "did you mean 'effect 3.area'"),
    ],
)
def test_what_the_plant_does_not_have_is_refused_with_the_nearest(
    plant: Plant, state: State, stream: str, quantity: str, setting: str | None, says: str
) -> None:
    with pytest.raises(NotAsked, match=says):
        answers(plant, state, stream, quantity, None if setting is None else [setting])


def test_the_command_prints_units_and_refuses_in_one_line() -> None:
    good = CliRunner().invoke(app, ["plant", "sensitivity", str(FILE), "--of", "syrup", "--quantity", "dry substance"])
    assert good.exit_code == 0
    assert "% per unit" in good.output
    bad = CliRunner().invoke(app, ["plant", "sensitivity", str(FILE), "--of", "sirup", "--quantity", "dry substance"])
    assert bad.exit_code == 2
    assert "did you mean 'syrup'" in " ".join(bad.output.split())
