"""An undetermined loss is split only as far as readings tell."""

from __future__ import annotations

from functools import cache

import pytest

from accounts.small_mill import TEXT
from accounts.whole_days import readings_of
from canewright.accounts.loss_split import WHOLE, split_of
from canewright.plant.plant import Plant

MILL = "undetermined loss of the mill"
STATION = '\n[stations."{0}"]\nkind = "undetermined juice loss"\nloss = {{ value = {1}, uncertainty = 2.0 }}\n'
METER = '\n[[meters]]\ntag = "{0} {1}"\nstream = "{0}.passed"\nquantity = "{1}"\nuncertainty = {2}\n'


@cache
def train(*, parts: int, between: bool = False) -> Plant:
    """The small mill with undetermined losses in series behind the juice screen; meters behind the last of them."""
    names = [f"loss {i + 1}" for i in range(parts)]
    text = TEXT.replace('stream = "screen.screened"', f'stream = "{names[-1]}.passed"')
    ways = [f'"{name}.juice" = "{before}"' for name, before in zip(
        names, ["screen.screened", *(f"{n}.passed" for n in names)], strict=False)]  # fmt: skip
    ways += [f'"outside.{name}" = "{name}.lost"' for name in names]
    old = next(line for line in text.splitlines() if line.strip().endswith('= "screen.screened"'))
    text = text.replace(old, "\n".join([old.replace("screen.screened", f"{names[-1]}.passed"), *ways]))
    text = text.replace("[roles]", f'[roles]\n"mill loss" = "{names[0]}.lost"')
    text += "".join(STATION.format(name, 0.4 + 0.8 * i) for i, name in enumerate(names))
    if between:
        text += METER.format(names[0], "mass", '"0.2 %"') + METER.format(names[0], "pol", 0.02)
    return Plant.from_text(text)


def _split(plant: Plant) -> dict[str, object] | None:
    return split_of(plant, plant.reconcile(readings_of(plant, plant.predict())), MILL)


def test_one_loss_in_an_envelope_cannot_be_split() -> None:
    assert _split(train(parts=1)) == {"says": WHOLE, "parts": []}


def test_two_losses_between_which_nothing_is_read_cannot_be_split() -> None:
    """Their sum is known, their difference is the description's."""
    assert _split(train(parts=2)) == {"says": WHOLE, "parts": []}


def test_a_reading_between_tells_the_second_with_the_share_of_priors() -> None:
    """The first still hides in the cane, whose pol nobody reads here."""
    plant = train(parts=2, between=True)
    found = _split(plant)
    assert found is not None
    state = plant.predict()
    parts = found["parts"]
    assert isinstance(parts, list)
    first, second = parts
    true = float(state.stream("loss 2.lost").sucrose) * 24.0
    assert second["value"] == pytest.approx(true, abs=1.96 * second["uncertainty"])
    assert second["prior_share"] < 0.5
    assert first["prior_share"] > 0.95
    said = str(found["says"])
    assert said.startswith("loss 1: cannot be split off, it rests on priors; loss 2: ")
    assert said.endswith("% of its uncertainty owed to priors")


def test_other_figures_are_not_split() -> None:
    plant = train(parts=1)
    day = plant.reconcile(readings_of(plant, plant.predict()))
    assert split_of(plant, day, "pol extraction") is None
    assert split_of(plant, day, "undetermined loss of the refinery") is None
