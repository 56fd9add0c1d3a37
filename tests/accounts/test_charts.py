"""Results held to their own past, and results copied from the day before."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from canewright.accounts.charts import AGAIN, ENOUGH, PastDay, copied, line_matters, out_of_line
from canewright.plant.description import Meter
from canewright.store import Reading

FIRST = dt.date(2031, 6, 2)
POL = Meter("raw sugar pol", "s", "pol", "%", 0.02, False, "laboratory", 96, 99.9, "", 1, "raw sugar", 0.0, 0.03)
BAGASSE = replace(POL, tag="bagasse pol", sample="bagasse", uncertainty=0.05, repeatability=0.08)


def month(tag: str, values: list[float], out: frozenset[str] = frozenset()) -> list[PastDay]:
    """Past days with these values."""
    return [PastDay(FIRST + dt.timedelta(days=k), {tag: v}, out) for k, v in enumerate(values)]


def wandering(count: int, middle: float, spread: float, seed: int = 1) -> list[float]:
    """Independent values about a middle."""
    return [float(v) for v in middle + spread * np.random.default_rng(seed).standard_normal(count)]


def test_a_mistyped_pol_is_out_of_line_and_the_exchange_is_named() -> None:
    past = month(POL.tag, wandering(30, 98.95, 0.04))
    (found,) = out_of_line([POL], {POL.tag: 98.59}, past)
    assert found.excess == pytest.approx(-0.36, abs=0.02)
    (matter,) = line_matters([POL], [found])
    assert matter.about == (POL.tag,)
    assert "with two digits exchanged it would be 98.95" in matter.why


def test_an_ordinary_result_is_in_line() -> None:
    assert out_of_line([POL], {POL.tag: 99.02}, month(POL.tag, wandering(30, 98.95, 0.04))) == []


def test_a_short_past_says_nothing() -> None:
    assert out_of_line([POL], {POL.tag: 90.0}, month(POL.tag, wandering(ENOUGH - 1, 98.95, 0.04))) == []


def test_three_days_together_show_what_none_shows_alone() -> None:
    past = month(POL.tag, [*wandering(28, 98.95, 0.05), 99.10, 99.11])
    (found,) = out_of_line([POL], {POL.tag: 99.10}, past)
    assert found.days == 3


def test_a_new_level_that_lasts_becomes_the_usual_one() -> None:
    """A week on end out of line, then eight days more: the new level is usual and the old one would be out of line."""
    old, new = wandering(20, 98.95, 0.04), wandering(ENOUGH, 99.4, 0.04, 2)
    levels = [*old, *new]
    past = [
        PastDay(FIRST + dt.timedelta(days=k), {POL.tag: v}, frozenset({POL.tag} if 20 <= k < 20 + AGAIN else ()))
        for k, v in enumerate(levels)
    ]
    assert out_of_line([POL], {POL.tag: 99.4}, past) == []
    (found,) = out_of_line([POL], {POL.tag: 98.95}, past)
    assert found.usual == pytest.approx(99.4, abs=0.05)


def test_until_a_week_has_passed_the_new_level_stays_out_of_line() -> None:
    past = [*month(POL.tag, wandering(20, 98.95, 0.04)), *month(POL.tag, [99.4] * (AGAIN - 1), frozenset({POL.tag}))]
    (found,) = out_of_line([POL], {POL.tag: 99.4}, past)
    assert found.usual == pytest.approx(98.95, abs=0.05)


def test_chance_alone_seldom_speaks() -> None:
    """Fifty charts over 200 days of independent results: fewer than two false words in a month of days."""
    chance = np.random.default_rng(20261)
    meters = [replace(POL, tag=f"result {k}") for k in range(50)]
    read = chance.normal(98.95, 0.036, (200, 50))
    past: list[PastDay] = []
    spoken = 0
    for day in range(200):
        values = {m.tag: float(v) for m, v in zip(meters, read[day], strict=True)}
        found = out_of_line(meters, values, past[-45:])
        spoken += len(found)
        past.append(PastDay(FIRST + dt.timedelta(days=day), values, frozenset(o.tag for o in found)))
    assert spoken <= 200 / 30 * 2


def readings(day: dt.date, values: list[float]) -> list[Reading]:
    """Results of the shifts of a day."""
    return [
        Reading(
            k, day, BAGASSE.sample, "pol", v, "%", "good",
            dt.datetime.combine(day, dt.time(8 * k), tzinfo=dt.UTC), "analyst",
            dt.datetime.combine(day, dt.time(23), tzinfo=dt.UTC), "laboratory.csv", 0, None, None, None, None,
        )
        for k, v in enumerate(values)
    ]  # fmt: skip


def test_results_that_repeat_the_day_before_are_not_believed() -> None:
    past = month(BAGASSE.tag, wandering(30, 1.95, 0.07))
    before, today = readings(FIRST, [1.93, 2.04, 1.88]), readings(FIRST + dt.timedelta(days=1), [1.93, 2.04, 1.88])
    (matter,) = copied([BAGASSE], today, before, past)
    assert matter.about == (BAGASSE.tag,)
    assert "the last 3 results (1.93, 2.04, 1.88 %) repeat those before them" in matter.why


def test_a_run_goes_on_over_days_with_a_shift_that_stood() -> None:
    past = month(BAGASSE.tag, wandering(30, 1.95, 0.07))
    days = [FIRST + dt.timedelta(days=k) for k in range(3)]
    whole = readings(days[0], [1.93, 2.04, 1.88])
    second, third = readings(days[1], [1.93, 2.04, 1.88])[1:], readings(days[2], [1.93, 2.04, 1.88])
    (matter,) = copied([BAGASSE], third, [*whole, *second], past)
    assert "the last 5 results" in matter.why


@pytest.mark.parametrize("today", [[1.93, 2.04, 1.89], [1.93]])
def test_one_result_alike_is_chance(today: list[float]) -> None:
    past = month(BAGASSE.tag, wandering(30, 1.95, 0.07))
    before = readings(FIRST, [1.93, 2.04, 1.88][: len(today)])
    assert copied([BAGASSE], readings(FIRST + dt.timedelta(days=1), today), before, past) == []
