"""What changes slowly: as the description names it, by default, and what is refused."""

from __future__ import annotations

import pytest

from accounts.small_mill import TEXT, small
from canewright.plant.description import DescriptionFaults, read_description
from canewright.plant.metering import COMMON_PART
from canewright.plant.plant import Plant
from canewright.plant.slow import slow_quantities


def _kinds(text: str) -> dict[str, str]:
    return {s.name: s.kind for s in slow_quantities(Plant.from_text(text))}


def test_by_default_what_wears_and_every_meter() -> None:
    found = {s.key: s for s in slow_quantities(small())}
    assert {"mill 5.imbibition_coefficient", "links.rotation_of_reducing_sugars", "gain of cane scale"} <= set(found)
    assert not any(name.startswith(("cane.", "imbibition.")) for name in found)
    gain, bias = found["gain of juice scale"], found["bias of bagasse pol"]
    assert gain.unit == bias.unit == "%"
    assert gain.uncertainty == pytest.approx(0.4 * COMMON_PART**0.5)
    assert bias.uncertainty == pytest.approx(0.1 * COMMON_PART**0.5)


def test_what_the_description_names_and_nothing_else() -> None:
    found = _kinds(TEXT + '\n[season]\nslow = ["mill 5.imbibition_coefficient"]\nmeters = ["juice scale"]\n')
    assert found == {"mill 5.imbibition_coefficient": "setting", "juice scale": "gain"}
    assert _kinds(TEXT + "\n[season]\nslow = []\nmeters = []\n") == {}


def test_a_common_error_may_change_slowly() -> None:
    error = '\n[[common_errors]]\nname = "one weigher"\nmeters = ["cane scale", "juice scale"]\nuncertainty = "0.5 %"\n'
    found = _kinds(TEXT + error + '\n[season]\nslow = ["common error.one weigher"]\nmeters = []\n')
    assert found == {"common error.one weigher": "setting"}


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ('slow = ["mill 5.imbibition"]', "found 'mill 5.imbibition'; accepted: did you mean 'mill 5.imbibition_coeff"),
        ('slow = "mill 5.moisture"', "a list of names in square brackets"),
        ('meters = ["juce scale"]', "did you mean 'juice scale'"),
        ('meters = ["juice scale", "juice scale"]', "each name once"),
        ("pace = 1", "season"),
    ],
)
def test_what_cannot_be_slow_is_refused(lines: str, says: str) -> None:
    with pytest.raises(DescriptionFaults) as refused:
        read_description(f"{TEXT}\n[season]\n{lines}\n")
    assert says in str(refused.value)


def test_a_setting_that_is_held_cannot_be_slow() -> None:
    held = TEXT.replace("on_fibre = { value = 220, uncertainty = 60 }", "on_fibre = { value = 220, uncertainty = 0 }")
    with pytest.raises(DescriptionFaults, match="this one is held as it is"):
        read_description(f'{held}\n[season]\nslow = ["imbibition.on_fibre"]\n')
