"""Which setting a failed solve names first: the one changed most, else the one least like others of its kind."""

from __future__ import annotations

import pytest

from accounts.small_mill import TEXT
from canewright.engine import NotSolved
from canewright.plant.plant import Plant
from canewright.plant.unusual import unusual

FIBRE = "imbibition.on_fibre"


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The small mill."""
    return Plant.from_text(TEXT)


def test_what_was_changed_most_is_named_first(plant: Plant) -> None:
    said = unusual(plant.assembly, plant.settings({FIBRE: 22.0, "mill 1.moisture": 60.0, "cane.rate": 40.0}))
    assert said == [f"{FIBRE} is 22 %, described 220 %", "cane.rate is 40 t/h, described 400 t/h"]


def test_a_small_change_beside_a_large_one_is_not_named(plant: Plant) -> None:
    assert unusual(plant.assembly, plant.settings({FIBRE: 22.0, "mill 1.moisture": 60.0})) == [
        f"{FIBRE} is 22 %, described 220 %"
    ]


def test_a_plant_as_others_are_names_nothing(plant: Plant) -> None:
    assert unusual(plant.assembly, plant.settings()) == []


def test_zero_and_a_change_of_sign_are_departures_too(plant: Plant) -> None:
    zero = unusual(plant.assembly, plant.settings({FIBRE: 0.0}))
    assert zero == [f"{FIBRE} is 0 %, described 220 %"]
    assert unusual(plant.assembly, plant.settings({FIBRE: -5.0, "cane.rate": 4.0})) == [
        f"{FIBRE} is -5 %, described 220 %"
    ]


def test_a_failed_solve_begins_with_it_and_keeps_its_diagnosis(plant: Plant) -> None:
    with pytest.raises(NotSolved, match=r"^look first at: cane\.fibre is 60 %, described .* %; ") as caught:
        plant.predict({"cane.fibre": 60.0})
    assert caught.value.worst or caught.value.outside
    assert "possible is" in str(caught.value) or " apart" in str(caught.value)
