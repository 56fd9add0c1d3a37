"""Harvest plans: the newest of a season stands, earlier ones stay, a new one needs a reason."""

from __future__ import annotations

import pytest

from canewright.store import BadEntry, ReasonMissing, Store
from store.samples import DAY


def test_the_newest_plan_stands_and_earlier_ones_stay(store: Store) -> None:
    first = store.add_harvest_plan("2026", DAY, {"value": 1.5}, "planner", None)
    second = store.add_harvest_plan("2026", DAY, {"value": 1.25}, "planner", "rain")
    assert [each.body["value"] for each in store.harvest_plans("2026")] == [1.5, 1.25]
    assert (second.supersedes, second.reason, second.entered_by) == (first.id, "rain", "planner")
    assert store.harvest_plans("2027") == ()


def test_a_plan_in_place_of_another_needs_a_reason(store: Store) -> None:
    store.add_harvest_plan("2026", DAY, {}, "planner", None)
    with pytest.raises(ReasonMissing, match="say why it is planned again"):
        store.add_harvest_plan("2026", DAY, {}, "planner", "  ")
    assert len(store.harvest_plans("2026")) == 1


def test_a_plan_that_cannot_be_written_is_refused(store: Store) -> None:
    with pytest.raises(BadEntry, match="cannot be kept"):
        store.add_harvest_plan("2026", DAY, {"value": float("nan")}, "planner", None)
    assert store.harvest_plans("2026") == ()
