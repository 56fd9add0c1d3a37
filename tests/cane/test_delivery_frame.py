"""CCS, relative quality and the fall-back ladder over many consignments, against published and hand-worked figures."""

from __future__ import annotations

import datetime as dt
from typing import Any

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from canewright.cane.delivery_frame import season_totals, with_ccs, with_net, with_objections, with_relative
from canewright.cane.fall_back import NoSampleAtAll, Step, with_paid_ccs

MONDAY = dt.date(2026, 7, 13)


def rows(*given: dict[str, Any]) -> pl.DataFrame:
    """Consignments; what is not given is usual."""
    usual: dict[str, Any] = {
        "day": MONDAY, "grower": "A", "block": "A-1", "variety": "mid 1", "crop_class": "R1", "fibre_class": "green",
        "gross_kg": 47_500, "tare_kg": 11_500, "brix": 20.5, "pol": 18.2, "fibre": 14.0, "fibre_u": 0.5,
        "quality": "good",
    }  # fmt: skip
    made = [usual | {"ticket": str(n)} | each for n, each in enumerate(given, start=1)]
    for n, each in enumerate(made):
        each.setdefault("tipped_at", dt.datetime.combine(each["day"], dt.time(6)) + dt.timedelta(minutes=n))
    return pl.DataFrame(made, infer_schema_length=None)


def test_ccs_of_the_public_formula_and_its_uncertainty() -> None:
    """Engelke, Farmnote 712/25 (formula read; figures worked from it): 13.6055. Derived: sd 0.15209 (F-01, F-03)."""
    found = with_ccs(with_net(rows({}))).row(0, named=True)
    assert found["net"] == 36.0
    assert found["ccs"] == pytest.approx(13.6055, abs=1e-9)
    assert found["ccs_u"] == pytest.approx(0.15209, abs=1e-5)


def test_the_mean_is_of_ccs_by_mass_and_not_of_the_juices() -> None:
    """Three consignments by hand (F-04): 13.54065; from mean juices it would be 13.53814."""
    three = rows(
        {"brix": 20.5, "pol": 18.2, "fibre": 14.0},
        {"brix": 20.1, "pol": 17.6, "fibre": 14.6},
        {"brix": 21.0, "pol": 18.9, "fibre": 13.5, "gross_kg": 35_500},
    )
    found = with_relative(with_paid_ccs(with_ccs(with_net(three))))
    assert found["ccs"].to_list() == pytest.approx([13.6055, 12.9444, 14.33775], abs=1e-9)
    assert season_totals(found).season_ccs == pytest.approx(13.54065, abs=1e-5)


THREE_WEEKS = [(1000, 11.8, 500, 12.6), (800, 13.4, 1200, 14.1), (600, 12.2, 900, 12.9)]


def two_growers() -> pl.DataFrame:
    """Three weeks of two growers with given CCS."""
    made = []
    for week, (t1, c1, t2, c2) in enumerate(THREE_WEEKS):
        day = MONDAY + dt.timedelta(weeks=week)
        made += [
            {"day": day, "grower": "A", "net": float(t1), "paid_ccs": c1},
            {"day": day, "grower": "B", "net": float(t2), "paid_ccs": c2},
        ]
    return pl.DataFrame(made)


def test_relative_quality_by_difference() -> None:
    """South African form (Sugar Act notice, clauses 148-149, read); worked (F-05): 12.57789, 13.26272, 646.7 kept."""
    totals = season_totals(with_relative(two_growers()))
    assert totals.season_ccs == pytest.approx(12.934, abs=1e-9)
    assert totals.by_grower["relative_ccs"].to_list() == pytest.approx([12.57789, 13.26272], abs=1e-5)
    assert totals.by_grower["ccs"].to_list() == pytest.approx([12.43333, 13.39615], abs=1e-5)
    assert totals.by_grower["tonnes_relative"].sum() / 100 == pytest.approx(646.7, abs=1e-9)


def test_a_provisional_season_mean_moves_everybody_alike() -> None:
    own, frozen = with_relative(two_growers()), with_relative(two_growers(), 13.2)
    moved = (frozen["relative_ccs"] - own["relative_ccs"]).to_list()
    assert moved == pytest.approx([13.2 - 12.934] * 6, abs=1e-12)


@given(st.permutations(range(6)))
@settings(max_examples=30, deadline=None)
def test_the_order_of_deliveries_changes_nothing(order: list[int]) -> None:
    usual = season_totals(with_relative(two_growers())).by_grower
    other = season_totals(with_relative(two_growers()[order])).by_grower
    for column in ("tonnes", "tonnes_ccs", "tonnes_relative"):
        assert other[column].to_list() == pytest.approx(usual[column].to_list(), rel=1e-12)


def test_totals_without_mass_are_refused() -> None:
    with pytest.raises(ValueError, match="need a mass above 0"):
        season_totals(with_relative(two_growers().with_columns(net=0.0)))


# --- entry ------------------------------------------------------------------------------------------------------------


def test_impossible_and_unlikely_samples_are_named() -> None:
    frame = rows(*[{}] * 8, {"brix": 18.2, "pol": 20.5}, {"pol": 11.9}, {"pol": 16.2}, {"brix": None, "pol": None})
    found = with_objections(with_ccs(with_net(frame)))["objection"].to_list()
    assert found[:8] == [None] * 8
    assert found[8] == "impossible: pol 20.5 above brix 18.2"
    assert "purity 58.05" in found[9]
    assert "far from 13.61 expected" in found[10]
    assert found[11] is None


def test_bad_samples_are_not_paid_on() -> None:
    found = with_ccs(with_net(rows({"quality": "bad"}, {"quality": "missing", "brix": None, "pol": None}, {})))
    assert found["ccs"].is_null().to_list() == [True, True, False]


# --- the ladder -------------------------------------------------------------------------------------------------------

NONE = {"brix": None, "pol": None, "quality": "missing"}


def paid(frame: pl.DataFrame, ticket: str = "1") -> dict[str, Any]:
    """What one consignment is paid on."""
    found = with_paid_ccs(frame if "ccs" in frame.columns else with_ccs(with_net(frame)))
    return found.filter(pl.col("ticket") == ticket).row(0, named=True)


def known(frame: pl.DataFrame, *ccs: float | None) -> pl.DataFrame:
    """Consignments whose CCS is given."""
    values = pl.Series(ccs, dtype=pl.Float64)
    return with_ccs(with_net(frame)).with_columns(ccs=values, ccs_u=pl.when(values.is_not_null()).then(0.15))


def test_rung_0_is_the_own_sample() -> None:
    found = paid(rows({}))
    assert (found["rung"], found["basis"]) == (Step.OWN, "own juice sample")
    assert found["paid_u"] == pytest.approx(0.15209, abs=1e-5)


def test_rung_1_is_the_retained_juice_read_again() -> None:
    found = paid(known(rows({}, {}), None, 13.0).with_columns(read_again=pl.Series([12.5, None])))
    assert (found["rung"], found["paid_ccs"]) == (Step.READ_AGAIN, 12.5)


def test_rung_2_is_the_same_block_on_the_day_by_mass() -> None:
    found = paid(known(rows({}, {}, {"gross_kg": 29_500}, {"block": "A-2"}), None, 13.0, 14.5, 99.0))
    assert found["rung"] == Step.SAME_BLOCK_SAME_DAY
    assert found["paid_ccs"] == pytest.approx((36 * 13.0 + 18 * 14.5) / 54)
    assert "same grower's same block" in found["basis"]


def test_rung_3_is_the_same_cane_near_days_moved_with_the_mill() -> None:
    tuesday = MONDAY + dt.timedelta(days=1)
    frame = rows(
        {"day": tuesday}, {"block": "A-2"}, {"block": "A-3"}, {"grower": "B", "block": "B-1", "variety": "late 1"},
        {"grower": "B", "block": "B-1", "day": tuesday},
    )  # fmt: skip
    found = paid(known(frame, None, 13.0, 14.0, 12.0, 12.4))
    assert found["rung"] == Step.SAME_CANE_NEAR_DAYS
    assert found["paid_ccs"] == pytest.approx(12.4 + (13.5 - 13.0))  # half a unit above Monday's mill mean of 13


def test_rung_3_needs_two_samples() -> None:
    tuesday = MONDAY + dt.timedelta(days=1)
    frame = rows({"day": tuesday}, {"block": "A-2"}, {"grower": "B", "block": "B-1", "day": tuesday})
    assert paid(known(frame, None, 13.0, 12.4))["rung"] == Step.CLASS_OF_DAY


def test_rung_4_is_the_growers_usual_position() -> None:
    """Five consignments 0.8 above the mill's mean a month before; today's mill mean is 12."""
    later = MONDAY + dt.timedelta(days=30)
    before = [{"block": "A-2", "variety": "early 1"} for _ in range(5)] + [{"grower": "B", "block": "B-1"}] * 5
    frame = rows({"day": later}, *before, {"grower": "C", "block": "C-1", "day": later, "fibre_class": "burnt"})
    found = paid(known(frame, None, *[13.8] * 5, *[12.2] * 5, 12.0))
    assert found["rung"] == Step.GROWERS_POSITION
    assert found["paid_ccs"] == pytest.approx(12.8)


def test_rungs_5_and_6_are_class_and_mill_of_the_day() -> None:
    frame = rows({}, {"grower": "B", "block": "B-1"}, {"grower": "C", "block": "C-1", "fibre_class": "burnt"})
    found = paid(known(frame, None, 13.0, 15.0))
    assert (found["rung"], found["paid_ccs"]) == (Step.CLASS_OF_DAY, 13.0)
    found = paid(known(frame.with_columns(fibre_class=pl.Series(["x", "y", "z"])), None, 13.0, 15.0))
    assert (found["rung"], found["paid_ccs"]) == (Step.MILL_OF_DAY, 14.0)


def test_a_day_without_any_sample_takes_the_nearest_day() -> None:
    later = MONDAY + dt.timedelta(days=3)
    frame = rows({"day": later}, {"grower": "B", "block": "B-1"}, {"grower": "B", "block": "B-1", "day": later})
    found = paid(known(frame, None, 13.25, None))
    assert (found["rung"], found["paid_ccs"]) == (Step.MILL_OF_DAY, 13.25)


def test_no_sample_anywhere_is_refused() -> None:
    with pytest.raises(NoSampleAtAll, match="read retained juice"):
        paid(known(rows({}, {}), None, None))


@given(st.lists(st.booleans(), min_size=2, max_size=40).filter(lambda some: not all(some)))
@settings(max_examples=30, deadline=None)
def test_nothing_is_ever_left_without_a_value(missing: list[bool]) -> None:
    frame = rows(*[{"grower": f"G{n % 3}", "block": f"G{n % 3}-{n % 5}"} for n in range(len(missing))])
    values = [None if gone else 12.0 + n % 4 for n, gone in enumerate(missing)]
    found = with_paid_ccs(known(frame, *values))
    assert found["paid_ccs"].null_count() == found["paid_u"].null_count() == found["basis"].null_count() == 0
    assert found["paid_ccs"].min() >= 12.0  # type: ignore[operator]
    assert found["paid_ccs"].max() <= 15.0  # type: ignore[operator]
    assert found["ticket"].to_list() == frame["ticket"].to_list()
