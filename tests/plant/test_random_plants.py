"""Random plants and settings, a fixed sample of the long exam; and does the independent look see what is wrong?"""

from __future__ import annotations

from dataclasses import replace

import pytest

from canewright.plant.plant import Plant, State
from exams.random_plants import MADE, Fuzz, described, wrong
from plant.milling_train import train


@pytest.fixture(scope="module")
def fuzz() -> Fuzz:
    fuzz = Fuzz(seed=29)
    for name in described():
        fuzz.described_plant(name, 4)
    for name in MADE:
        for _ in range(3):
            fuzz.made_plant(name, 4)
    return fuzz


def test_nothing_is_called_solved_that_is_not(fuzz: Fuzz) -> None:
    assert fuzz.found.wrong == []
    assert fuzz.found.solved.total() >= 0.5 * fuzz.found.asked.total()


def test_every_refusal_says_why(fuzz: Fuzz) -> None:
    assert fuzz.found.not_explained == []


def spoiled(plant: Plant, name: str, value: float) -> list[str]:
    """What the look says of a solved state with one value changed."""
    state = plant.predict()
    values = {**state.values, name: value}
    other: State = replace(state, values=values, scaled=plant.model.scaled(values))
    return list(wrong(plant, other, plant.settings()))


def test_the_look_sees_what_is_wrong() -> None:
    solved = train().predict()
    sucrose = solved.values["mill 3.juice.sucrose"]
    assert list(wrong(train(), solved, train().settings())) == []
    assert any("closes to" in words for words in spoiled(train(), "mill 3.juice.sucrose", sucrose + 1e-6))
    assert any("possible is" in words for words in spoiled(train(), "mill 3.juice.sucrose", -0.1))
    assert any("not a number" in words for words in spoiled(train(), "mill 3.juice.sucrose", float("nan")))
    assert any("not as asked" in words for words in spoiled(train(), "mill 3.moisture", 50.0))
