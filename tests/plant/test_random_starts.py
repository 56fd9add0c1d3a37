"""The demo plant is found from starts that know little of it; a fixed sample of the long exam."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine import NotSolved
from exams.starts import RandomStarts


@pytest.fixture(scope="module")
def starts() -> RandomStarts:
    return RandomStarts(seed=11)


@pytest.mark.parametrize("width", [0.5, 0.9])
def test_every_start_leads_to_the_state_of_the_plant(starts: RandomStarts, width: float) -> None:
    tally = starts.tally(width, 6)
    assert not tally.refused
    assert tally.solved == tally.tries == 6


def test_a_start_moved_at_random_keeps_within_limits(starts: RandomStarts) -> None:
    start = starts.start(0.9)
    assert not starts.plant.model.outside(start.scaled)
    assert np.max(np.abs(start.scaled - starts.state.scaled)) > 1.0


def test_a_start_that_is_no_solved_state_is_not_taken_for_one(starts: RandomStarts) -> None:
    """Settings are then moved from the described state, not from a start that balances nothing."""
    start, cold = starts.start(0.9), starts.plant
    with pytest.raises(NotSolved) as warm:
        cold.predict({"effect 3.area": 200.0}, start)
    with pytest.raises(NotSolved) as plain:
        cold.predict({"effect 3.area": 200.0})
    assert str(warm.value) == str(plain.value)
