"""The score itself, on seasons small enough to count by hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from canewright.accounts.charts import OutOfLine
from canewright.accounts.ledgers import Interval
from canewright.demonstration.closing import AT_CLOSE, Alarm, Season, SeasonDay
from canewright.demonstration.faults import Fault
from canewright.demonstration.scoring import CREDIT_SECOND, Found, Restored, _size, score
from canewright.demonstration.truth import Truth

BEGIN = dt.date(2031, 6, 2)
WEIGHER = Fault("X", "a weigher is off", 3, 5, ("scale", "store"), 2, 10.0, "t")
CONTROL = Fault("I", "nothing", 1, 20, ("silo",), must_be_found=False)


def alarm(*about: str, size: float | None = None, unit: str = "") -> Alarm:
    """An alarm at a day's close."""
    return Alarm(AT_CLOSE, about, f"{about[0]} looks wrong", size, unit)


def season(alarms: dict[int, list[Alarm]], days: int = 21, read: float = 100.0) -> Season:
    """Days that were not reconciled, with these alarms."""
    made = [
        SeasonDay(
            n, BEGIN + dt.timedelta(days=n - 1), tuple(alarms.get(n, ())), {},
            {"raw sugar weight": read, "melt weight": read, "pol": 50.0 + 0.1 * (n % 3)}, (),
        )
        for n in range(1, days + 1)
    ]  # fmt: skip
    whole = {"raw sugar weight": (read * days, 1.0), "melt weight": (read * days, 1.0)}
    return Season(made, (), whole)


def truth(*faults: Fault, slips: tuple[tuple[int, str, float], ...] = (), days: int = 21) -> Truth:
    """A truth in which every scale should read 101."""
    read = {(n, tag): 101.0 for n in range(1, days + 1) for tag in ("raw sugar weight", "melt weight")}
    return Truth(faults, slips, {}, read)


def one(found: tuple[Found, ...]) -> Found:
    """The only fault."""
    (only,) = found
    return only


def test_the_right_suspect_first_has_full_credit() -> None:
    found = one(score(season({4: [alarm("scale", "other", size=9.0)]}), truth(WEIGHER)).found)
    assert (found.day, found.rank, found.in_time, found.credit) == (4, 0, True, 1.0)
    assert found.size_error == pytest.approx(-0.1)


def test_the_right_suspect_second_has_half() -> None:
    found = one(score(season({3: [alarm("other", "store")]}), truth(WEIGHER)).found)
    assert (found.rank, found.credit) == (1, CREDIT_SECOND)


@pytest.mark.parametrize("day", [2, 6])
def test_an_alarm_outside_its_days_does_not_find_a_fault(day: int) -> None:
    found = one(score(season({day: [alarm("scale")]}), truth(WEIGHER)).found)
    assert (found.day, found.in_time, found.credit) == (None, False, 0.0)


def test_a_fault_found_after_its_deadline_is_late() -> None:
    found = one(score(season({5: [alarm("scale")]}), truth(WEIGHER)).found)
    assert (found.day, found.in_time, found.credit) == (5, False, 0.0)


def test_a_control_must_not_be_flagged() -> None:
    assert one(score(season({}), truth(CONTROL)).found).in_time
    flagged = score(season({9: [alarm("silo")]}), truth(CONTROL))
    assert not one(flagged.found).in_time
    assert len(flagged.false_alarms) == 1


def test_alarms_in_a_row_are_one_matter_and_a_week_apart_two() -> None:
    found = score(season({2: [alarm("brix")], 4: [alarm("brix")], 15: [alarm("brix")]}), truth())
    assert [(m.about, m.first, m.last, m.days) for m in sorted(found.false_alarms, key=lambda m: m.first)] == [
        ("brix", 2, 4, 2),
        ("brix", 15, 15, 1),
    ]
    assert found.false_a_week == pytest.approx(2 / 3)
    assert found.flagged_days == 3
    assert found.points == pytest.approx(-0.1 * 2 / 3)


def test_alarms_of_a_fault_and_of_a_slip_are_not_false() -> None:
    found = score(
        season({4: [alarm("scale")], 10: [alarm("pol")], 17: [alarm("scale")]}),
        truth(WEIGHER, slips=((10, "pol", 30.0),)),
    )
    assert found.false_alarms == ()
    assert found.slips == (1, 1)


def test_a_slip_too_small_to_see_is_not_asked_for() -> None:
    assert score(season({}), truth(slips=((10, "pol", 0.05),))).slips == (0, 0)
    assert score(season({}), truth(slips=((10, "pol", 30.0),))).slips == (1, 0)


def test_season_totals_hold_what_is_restored_against_what_was_weighed() -> None:
    made = next(t for t in score(season({}), truth()).totals if t.name == "raw sugar made")
    assert (made.truth, made.raw, made.restored) == (101.0 * 21, 2100.0, 2100.0)
    assert Restored("x", "t", 100.0, 110.0, 101.0, 1.0).ratio == pytest.approx(0.1)


def test_sugar_overstated_is_what_clean_outs_tell_beyond_the_interval_before() -> None:
    """By hand: 1 % high before is taken as usual; 1,040 t shown of 1,000 t then is 30 t too much."""
    drift = Fault("A", "drift", 11, 20, ("scale",), 10, 30.0, "t")
    days = [BEGIN + dt.timedelta(days=k) for k in range(21)]
    told = season({15: [alarm("scale", size=5.0, unit="t")]})
    told.intervals = (
        Interval(days[0], days[9], {"scale": 1010.0}, {"scale": 1000.0}, {"scale": 1.0}),
        Interval(days[10], days[19], {"scale": 1040.0}, {"scale": 1000.0}, {"scale": 1.0}),
    )
    assert one(score(told, truth(drift)).found).size == pytest.approx(30.0)


def test_sugar_in_molasses_is_counted_over_the_days_that_are_half_as_far_off() -> None:
    """By hand: 2, 2 and 1.5 points in 100 t of solids a day are 5.5 t; a day at half a point is not counted."""
    false_grain = Fault("E", "false grain", 5, 7, ("purity",), 3, 5.5, "t")
    purity = {5: 38.0, 6: 38.0, 7: 37.5, 8: 36.5}
    line = OutOfLine("purity", 38.0, 36.0, 0.3, 1)
    sums = {"apparent purity of final molasses": {"totals": [3600.0, 100.0]}}
    told = season({6: [alarm("purity", size=2.0)]})
    told.days = [
        replace(
            d,
            sums=sums if d.number in purity else {},
            read={**d.read, "purity": purity.get(d.number, 36.0)},
            lines=(line,) if d.number == 6 else (),
        )
        for d in told.days
    ]
    assert _size(false_grain, told) == pytest.approx(5.5)
