"""What is wrong with a day, in words: a meter, two values exchanged, a loss at a station, or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest

from accounts.small_mill import TEXT as SMALL
from accounts.whole_days import readings_of
from canewright.plant.diagnosis import EXCHANGED, LOSS, READING, Diagnosis, diagnose
from canewright.plant.plant import Plant

DEMO = (Path(__file__).parents[2] / "src/canewright/demo_data/plant.toml").read_text(encoding="utf-8")
CLEAR = '"boiling house loss.liquor" = "clarifier.clear"'
HOLE = """
[stations."hole"]
kind = "liquor splitter"
section = "mill"
share = {share}
"""


@pytest.fixture(scope="module")
def plant() -> Plant:
    return Plant.from_text(DEMO)


@pytest.fixture(scope="module")
def truth(plant: Plant) -> dict[str, float]:
    return _readings(plant)


def _readings(plant: Plant) -> dict[str, float]:
    return readings_of(plant, plant.predict())


def _noisy(plant: Plant, true: Mapping[str, float], seed: int) -> dict[str, float]:
    chance = np.random.default_rng(seed)
    sizes = {m.tag: m.standard_uncertainty(true[m.tag]) for m in plant.description.meters}
    return {tag: value + chance.normal(0.0, sizes[tag]) for tag, value in true.items()}


def _diagnosed(plant: Plant, read: Mapping[str, float]) -> Diagnosis:
    return diagnose(plant, plant.reconcile(read))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_day_without_fault_is_left_alone(plant: Plant, truth: Mapping[str, float], seed: int) -> None:
    found = _diagnosed(plant, _noisy(plant, truth, seed))
    assert found.suspects == ()
    assert found.sentences == []


def test_a_weigher_that_reads_high_is_named_with_its_size(plant: Plant, truth: Mapping[str, float]) -> None:
    read = _noisy(plant, truth, 1)
    found = _diagnosed(plant, {**read, "mixed juice weight": 1.031 * read["mixed juice weight"]})
    (first,) = found.suspects
    assert (first.kind, first.name) == (READING, "mixed juice weight")
    assert first.size == pytest.approx(0.031 * truth["mixed juice weight"], abs=3 * first.uncertainty)
    assert "mixed juice weight reads " in first.says
    assert " % high (" in first.says
    assert found.next_suspect is not None
    assert found.next_suspect.name == "cane weight"
    assert found.telling is not None
    assert found.sentences[-1].endswith("would tell them apart")


def test_two_values_in_each_others_place_are_told_as_that(plant: Plant, truth: Mapping[str, float]) -> None:
    read = _noisy(plant, truth, 2)
    one, other = "first juice brix", "mixed juice brix"
    found = _diagnosed(plant, {**read, one: read[other], other: read[one]})
    (first,) = found.suspects
    assert first.kind == EXCHANGED
    assert first.says == f"{one} and {other} look written in each other's place"


def test_a_loss_at_a_station_is_told_with_its_size(plant: Plant) -> None:
    """A tenth of the clear juice runs away between clarifier and evaporator, which the description does not know."""
    leaking = DEMO.replace(
        CLEAR,
        '"hole.feed" = "clarifier.clear"\n"boiling house loss.liquor" = "hole.rest"\n"outside.hole" = "hole.part"',
    )
    text = leaking.replace("\n[connections]\n", HOLE.format(share=10) + "\n[connections]\n")
    true = Plant.from_text(text)
    lost = float(true.predict().stream("hole.part").flow)
    found = _diagnosed(plant, _noisy(plant, _readings(true), 1))
    losses = [s for s in (*found.suspects, *found.ties) if s.kind == LOSS]
    assert losses, found.sentences
    assert any(abs(s.size - lost) < 4 * s.uncertainty for s in losses), (lost, found.sentences)


def test_every_checked_meter_tells_the_least_bias_that_would_be_found(plant: Plant, truth: Mapping[str, float]) -> None:
    """Half of days with just that bias of the juice weigher, less what nine in ten need, name it or a tie of it."""
    read = _noisy(plant, truth, 4)
    least = _diagnosed(plant, read).least_seen
    assert set(least) <= set(truth)
    size = least["mixed juice weight"]
    assert 0.0 < size < 0.1 * truth["mixed juice weight"]
    seen = 0
    for seed in range(10, 20):
        day = _noisy(plant, truth, seed)
        found = _diagnosed(plant, {**day, "mixed juice weight": day["mixed juice weight"] + size})
        seen += bool(found.suspects)
    assert seen >= 7


def test_where_two_are_wrong_another_pair_as_likely_is_told() -> None:
    """Two scales on the cane and two on the juice, one of each high: as well the others may be low."""
    second = '\n[[meters]]\ntag = "{0} two"\nstream = "{1}"\nquantity = "mass"\nuncertainty = "{2} %"\n'
    text = SMALL + second.format("cane scale", "cane.cane", 0.2) + second.format("juice scale", "screen.screened", 0.4)
    plant = Plant.from_text(text)
    read = dict(_readings(plant))
    read["cane scale"] *= 1.03
    read["juice scale"] *= 1.03
    found = _diagnosed(plant, read)
    named = {s.name for s in found.suspects[:2]}
    other = {s.name for s in found.other_pair}
    assert named | other == {"cane scale", "cane scale two", "juice scale", "juice scale two"}
    assert any(said.startswith("as likely as the first two together: ") for said in found.sentences)
