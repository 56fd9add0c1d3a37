"""The invented district is the same for the same seed, and has the reference statistics of its description."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.cane.demo_district import AREA, BLOCKS, CROP, FARMS, district, registers_of

MADE = district()
FARM_TONNES = np.bincount(MADE.farm, MADE.tonnes)


def mean(ccs: np.ndarray) -> float:
    return float(np.average(ccs, weights=MADE.tonnes))


def test_blocks_of_a_farm() -> None:
    blocks = np.bincount(MADE.farm)
    assert (blocks.min(), float(np.median(blocks)), blocks.max(), blocks.sum()) == (2, 6.5, 45, BLOCKS)


def test_area_and_crop_add_up() -> None:
    assert MADE.area.sum() == pytest.approx(AREA, rel=1e-12)
    assert MADE.tonnes.sum() == pytest.approx(CROP, rel=1e-12)


def test_tonnes_of_blocks_and_farms() -> None:
    assert round(float(np.median(MADE.tonnes))) == 995
    assert np.percentile(FARM_TONNES, [10, 50, 90]).round().tolist() == [3136, 7175, 16604]


def test_ccs_of_a_random_cut_week() -> None:
    ccs = MADE.ccs(MADE.uniform_cut.astype(float))
    assert round(mean(ccs), 3) == 13.530
    spread = np.sqrt(np.average((ccs - mean(ccs)) ** 2, weights=MADE.tonnes))
    assert round(float(spread), 3) == 0.943


def test_ccs_at_the_blocks_own_peaks_bounds_any_plan() -> None:
    assert round(mean(MADE.top), 3) == 14.202


@pytest.mark.parametrize(("week", "ccs"), [(1, 12.50), (8, 13.73), (15, 14.03), (22, 13.40), (26, 12.62)])
def test_the_district_curve(week: int, ccs: float) -> None:
    assert round(mean(MADE.ccs(float(week))), 2) == ccs


def test_the_same_seed_gives_the_same_district_and_another_another() -> None:
    again, other = district(), district(20262)
    assert np.array_equal(again.tonnes, MADE.tonnes)
    assert not np.array_equal(other.tonnes, MADE.tonnes)


def test_a_quarter_of_plant_cane_stands_from_seedlings() -> None:
    share = MADE.seedlings.sum() / (MADE.crop == 0).sum()
    assert not MADE.seedlings[MADE.crop > 0].any()
    assert share == pytest.approx(0.25, abs=4 * np.sqrt(0.25 * 0.75 / (MADE.crop == 0).sum()))


def test_the_register_files_name_every_farm_and_block() -> None:
    files = registers_of(MADE)
    assert files["growers.csv"].height == files["farms.csv"].height == FARMS
    assert files["blocks.csv"].height == BLOCKS
    assert files["blocks.csv"]["block"].n_unique() == BLOCKS
