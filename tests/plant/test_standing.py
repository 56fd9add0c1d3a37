"""Whose value a number of a description is: its own, assumed or fitted; read, refused, and gone."""

from __future__ import annotations

import pytest

from canewright.plant.assumptions import assumptions
from canewright.plant.description import DescriptionFaults
from canewright.plant.plant import Plant
from canewright.plant.standing import LEFT_OUT
from plant.milling_train import TEXT

ASSUMED = TEXT.replace("on_fibre = 220", 'on_fibre = { assumed = 220, uncertainty = 15, because = "a guess" }')


def named(text: str) -> dict[str, str]:
    """The assumptions of a description with their reasons."""
    return {a.name: a.because for a in assumptions(Plant.from_text(text))}


def test_an_assumed_number_is_a_number_like_any_other() -> None:
    plant = Plant.from_text(ASSUMED)
    assert plant.settings()["imbibition.on_fibre"] == 220
    assert plant.priors()["imbibition.on_fibre"] == (220, 15)


def test_the_mark_and_its_reason_are_read() -> None:
    assert named(ASSUMED)["imbibition.on_fibre"] == "a guess"


@pytest.mark.parametrize("own", ["220", "215", "{ value = 220, uncertainty = 15 }", "{ fitted = 220 }"])
def test_the_mark_goes_when_a_value_of_ones_own_is_written(own: str) -> None:
    assert "imbibition.on_fibre" not in named(TEXT.replace("on_fibre = 220", f"on_fibre = {own}"))


def test_what_is_left_out_is_assumed_as_its_kind_has_it() -> None:
    left = named(TEXT)
    assert left["mill 1.specific_power"] == LEFT_OUT
    assert left["links.rotation_of_reducing_sugars"] == LEFT_OUT
    assert "mill 1.moisture" not in left
    assert named(TEXT.replace("on_fibre = 220", "on_fibre = { uncertainty = 3 }"))["imbibition.on_fibre"] == LEFT_OUT


def test_hours_may_be_assumed() -> None:
    assert "sections.mill.hours" not in named(TEXT)
    assumed = TEXT.replace("hours = 24", 'hours = { assumed = 22, because = "no log yet" }')
    assert named(assumed)["sections.mill.hours"] == "no log yet"
    assert Plant.from_text(assumed).description.sections == {"mill": 22.0}
    assert named(TEXT.replace("hours = 24\n", "\n"))["sections.mill.hours"] == LEFT_OUT


TARGET = '\n[[targets]]\nstream = "mill 5.bagasse"\nquantity = "moisture"\nassumed = 49\nmoves = "mill 5.moisture"\n'


def test_a_target_and_a_price_may_be_assumed() -> None:
    held = TEXT.replace("[roles]", TARGET + "\n[roles]")
    assert named(held)["target.mill 5.bagasse moisture"] == ""
    assert "mill 5.moisture" not in named(held)
    priced = '\n[[prices]]\nwhat = "cane"\nstream = "cane.cane"\nkind = "cost"\nassumed = 45\nunit = "$/t"\n'
    assert Plant.from_text(TEXT + priced).description.data["prices"][0]["assumed"] == 45


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("{ value = 220, assumed = 210 }", "imbibition.on_fibre: found value and assumed together"),
        ("{ assumed = 2000 }", "imbibition.on_fibre: found 2000; accepted: a number from 20 to 500"),
        ('{ assumed = 220, because = "" }', ""),
        ("{ assumed = 220, because = 3 }", "imbibition.on_fibre.because: found 3; accepted: a text"),
        ("{ asumed = 220 }", "did you mean 'assumed'?"),
    ],
)
def test_a_mark_that_cannot_be_is_refused_by_line(table: str, said: str) -> None:
    text = TEXT.replace("on_fibre = 220", f"on_fibre = {table}")
    if not said:
        assert named(text)["imbibition.on_fibre"] == ""
        return
    with pytest.raises(DescriptionFaults) as faults:
        Plant.from_text(text)
    assert said in str(faults.value)
    assert "line " in str(faults.value)
