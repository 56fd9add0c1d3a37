"""What part of a day's variance is common to all days."""

from __future__ import annotations

from dataclasses import replace

import pytest

from canewright.plant.metering import COMMON_PART, Meter

METER = Meter("juice weight", "s", "mass", "t", 0.5, True, "meters", 0, 1e4, "", 1, "", 0.0, 0.6)


def test_all_but_the_repeatability_is_common() -> None:
    """By hand: 0.5 lasting and 0.6 of a single reading; of four readings 0.3."""
    assert METER.common_part() == pytest.approx(0.25 / (0.25 + 0.36))
    assert METER.common_part(4) == pytest.approx(0.25 / (0.25 + 0.09))


def test_where_repeatability_is_not_told_the_usual_part_stands() -> None:
    assert replace(METER, repeatability=0.0).common_part(9) == COMMON_PART
