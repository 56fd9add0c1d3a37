"""Before the first day a plant says what its meters can tell, what they cannot, and what nothing determines."""

from __future__ import annotations

from accounts.small_mill import METERS, TEXT, small
from canewright.accounts.examining import Examination, examine
from canewright.plant.plant import Plant

METER = """
[[meters]]
tag = "{tag}"
stream = "{stream}"
quantity = "{quantity}"
uncertainty = 0.5
"""


def examined(text: str) -> Examination:
    plant = Plant.from_text(text)
    return examine(plant, plant.predict())


def test_the_small_mill_knows_its_figures() -> None:
    found = examine(small(), small().predict())
    assert found.without_value == ()
    assert found.idle == ()
    assert "pol extraction" in found.figures("known")
    assert found.unchecked == ("cane scale",)


def test_a_meter_of_what_the_description_holds_fixed_tells_nothing() -> None:
    """Cane temperature is held: no reading of it can be adjusted and no figure rests on it."""
    found = examined(TEXT + METER.format(tag="cane thermometer", stream="cane.cane", quantity="temperature"))
    assert found.idle == ("cane thermometer",)
    said = [s for s in found.sentences() if "cane thermometer" in s]
    assert len(said) == 1
    assert said[0].startswith("These meters read what the description holds fixed, so no reading can change it; give ")
    assert said[0].endswith(": cane thermometer")


def test_a_meter_of_a_stream_that_does_not_flow_has_no_value() -> None:
    caught = TEXT.replace(
        'kind = "juice screen"', 'kind = "juice screen"\nfibre_caught = { value = 0, uncertainty = 0 }'
    )
    caught = caught.replace("fibre_caught = {", "solids_caught = { value = 0, uncertainty = 0 }\nfibre_caught = {")
    found = examined(caught + METER.format(tag="caught pol", stream="screen.caught", quantity="pol"))
    assert "caught pol" in found.without_value
    assert any("does not flow" in s and "caught pol" in s for s in found.sentences())


def test_without_meters_every_figure_rests_on_priors_and_is_said_to() -> None:
    found = examined(TEXT.replace(METERS, ""))
    assert found.figures("known") == []
    assert any(s.startswith("No meter determines these figures") and "pol extraction" in s for s in found.sentences())


def test_a_figure_that_nothing_determines_is_not_known() -> None:
    """A cane rate without a prior worth the name and without a weight: how much was crushed cannot be told."""
    loose = TEXT.replace("rate = 400", "rate = { value = 400, uncertainty = 1e6 }")
    for tag in ("cane scale", "juice scale", "water meter"):
        at = loose.index(f'[[meters]]\ntag = "{tag}"')
        loose = loose[:at] + loose[loose.index("[[meters]]", at + 5) :]
    found = examined(loose)
    assert found.standing["cane crushed"] in {"not known", "priors only"}
    assert "cane crushed" not in found.figures("known")
    assert found.standing["moisture of bagasse"] == "known"
    assert any("cane crushed" in s for s in found.sentences())


def test_a_lone_meter_is_checked_by_nothing_else() -> None:
    lone = TEXT.replace("rate = 400", "rate = { value = 400, uncertainty = 1e4 }")
    for tag in ("juice scale", "water meter"):
        at = lone.index(f'[[meters]]\ntag = "{tag}"')
        lone = lone[:at] + lone[lone.index("[[meters]]", at + 5) :]
    assert examined(lone).unchecked == ("cane scale",)
