"""Requests that no plant can meet: the refusal names the limit in the way and how far one gets."""

from __future__ import annotations

import re

import pytest

from canewright.engine import NotSolved
from canewright.plant.plant import Plant, State
from exams.random_plants import described


@pytest.fixture(scope="module")
def plant() -> Plant:
    return described()["demo plant"]


@pytest.fixture(scope="module")
def state(plant: Plant) -> State:
    return plant.predict()


def refusal(plant: Plant, state: State, changes: dict[str, float]) -> str:
    with pytest.raises(NotSolved) as caught:
        plant.predict(changes, state)
    return str(caught.value)


def can_be(said: str, setting: str) -> float:
    """The value that the setting can have, as told."""
    told = re.search(rf"\({re.escape(setting)} to ([\d.,]+)", said)
    assert told, said
    return float(told[1].replace(",", ""))


@pytest.mark.parametrize(
    ("setting", "asked", "limit"),
    [
        ("effect 3.area", 200.0, r"exhaust valve\.pressure_drop is .* heads for its limit of 0 kPa"),
        ("exhaust range.most_exhaust", 10.0, r"make-up water\.water\.2\.water is .* heads for its limit of 0 t/h"),
        ("imbibition.on_fibre", 400.0, r"exhaust valve\.pressure_drop is .* heads for its limit of 0 kPa"),
        ("pan C.mother_liquor_purity", 80.0, r"pan C\.massecuite\.crystal is .* heads for its limit of 0 t/h"),
    ],
    ids=["area too small", "exhaust steam short", "steam short for more imbibition", "purity impossible"],
)
def test_the_limit_is_named_and_by_how_much(plant: Plant, state: State, setting: str, asked: float, limit: str) -> None:
    """What is told to be possible is so from the described plant, and a little beyond it is not."""
    said = refusal(plant, state, {setting: asked})
    assert re.search(limit, said), said
    here = state.values[setting]
    reached = can_be(said, setting)
    assert min(here, asked) < reached < max(here, asked)
    inside, beyond = reached + 0.01 * (here - asked), reached - 0.03 * (here - asked)
    assert plant.predict({setting: inside}, state).values[setting] == pytest.approx(inside, rel=1e-12)
    assert refusal(plant, state, {setting: beyond})


def test_refused_cold_for_the_same_reason(plant: Plant, state: State) -> None:
    """Without a start, the described state is where one sets out."""
    changes = {"pan C.mother_liquor_purity": 80.0}
    with pytest.raises(NotSolved) as cold:
        plant.predict(changes)
    assert str(cold.value) == refusal(plant, state, changes)
