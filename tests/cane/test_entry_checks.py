"""Typed errors: proposals that a person accepts, and what a repeated analysis comes to."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest

from canewright.analysis.cane import ccs
from canewright.cane.entry_checks import proposals, the_proposal
from canewright.cane.retests import Event, critical_difference, decide, may_be_read_again, trail
from canewright.cane.sample_checks import Expectation

USUAL = Expectation(13.7, 0.4)


def test_the_typed_pol_of_the_published_pattern() -> None:
    """F-35 (derived): 12.87 with brix 20.4, fibre 14.1: CCS 7.16195; one proposal, 18.27, CCS 13.71485."""
    assert float(ccs(20.4, 12.87, 14.1)) == pytest.approx(7.16195, abs=1e-4)
    assert pytest.approx(63.09, abs=5e-3) == 100 * 12.87 / 20.4
    found = the_proposal(Decimal("20.40"), Decimal("12.87"), 14.1, USUAL)
    assert found is not None
    assert found.pol == Decimal("18.27")
    assert found.ccs == pytest.approx(13.71485, abs=1e-4)
    assert found.says == "pol 18.27 was keyed 12.87: two digits exchanged"


def test_a_typed_brix_is_proposed_too() -> None:
    found = the_proposal(Decimal("24.00"), Decimal("18.27"), 14.1, USUAL)
    assert found is not None
    assert (found.brix, found.pol) == (Decimal("20.40"), Decimal("18.27"))
    assert the_proposal(Decimal("42.00"), Decimal("18.27"), 14.1, USUAL) is None  # 20.40 is not one exchange away


def test_exchanged_brix_and_pol() -> None:
    found = the_proposal(Decimal("18.27"), Decimal("20.40"), 14.1, USUAL)
    assert found is not None
    assert (found.brix, found.pol) == (Decimal("20.40"), Decimal("18.27"))
    assert "each other's place" in found.says


def test_several_feasible_readings_leave_it_to_the_sample() -> None:
    found = proposals(Decimal("17.74"), Decimal("19.66"), 13.2, Expectation(13.3, 0.34))
    assert len(found) == 2
    assert the_proposal(Decimal("17.74"), Decimal("19.66"), 13.2, Expectation(13.3, 0.34)) is None


def test_nothing_feasible_is_no_proposal() -> None:
    assert proposals(Decimal("20.00"), Decimal("11.11"), 14.0, USUAL) == []


def test_two_results_that_agree_give_their_mean() -> None:
    """ISO 5725-6: the critical difference of two results is 1.96 √2 s (from memory)."""
    assert critical_difference(0.1) == pytest.approx(0.2772, abs=1e-4)
    assert decide([13.0, 13.2]).value == pytest.approx(13.1)
    assert decide([13.0]).value == 13.0


def test_two_that_differ_need_a_third_and_the_median_counts() -> None:
    open_one = decide([13.0, 14.0])
    assert not open_one.settled
    assert "make a third" in open_one.says
    assert decide([13.0, 14.0, 13.2]).value == 13.2
    with pytest.raises(ValueError, match="1 to 3"):
        decide([])
    with pytest.raises(ValueError, match="found 4"):
        decide([13.0] * 4)


def test_a_trail_reads_oldest_first_and_juice_keeps_for_a_time() -> None:
    at = dt.datetime(2026, 7, 14, 8, 0, tzinfo=dt.UTC)
    said = trail([Event(at + dt.timedelta(hours=2), "auditor", "second"), Event(at, "grower", "first")])
    assert said == ["2026-07-14 08:00 grower: first", "2026-07-14 10:00 auditor: second"]
    assert may_be_read_again(at, at + dt.timedelta(hours=40))
    assert not may_be_read_again(at, at + dt.timedelta(hours=60))
    assert not may_be_read_again(at, at - dt.timedelta(hours=1))
