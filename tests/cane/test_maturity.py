"""Maturity curves and the crop estimated again: published spreads, the plain fit, the invented district regained."""

from __future__ import annotations

import numpy as np
import pytest

from cane.demo import the_district
from canewright.cane.crop_estimate import (
    EstimateRefused,
    Levels,
    estimate_again,
    ratoon_decline,
    shrunk_ratio,
)
from canewright.cane.demo_district import CLASS_YIELD, CLASSES, MATURITY
from canewright.cane.maturity import (
    DELIVERED,
    EARLIER,
    SAMPLED,
    CcsReadings,
    Curve,
    Standing,
    TooFewReadings,
    curves_table,
    fit_maturity,
    plain_curve,
)
from canewright.cane.mixed_model import Family, TooLittleToFit, fit, of_levels
from canewright.cane.planting import Cycle, yield_of

DYE = (
    1545, 1440, 1440, 1520, 1580, 1540, 1555, 1490, 1560, 1495, 1595, 1550, 1605, 1510, 1560, 1445, 1440, 1595, 1465,
    1545, 1595, 1630, 1515, 1635, 1625, 1520, 1455, 1450, 1480, 1445,
)  # fmt: skip
"""Yield of dyestuff of six batches, five each (Davies and Goldsmith, Statistical Methods in Research and Production,
4th ed. 1972, section 6.4; the figures read in a public course notebook)."""
BULLS = (
    61, 100, 56, 113, 99, 103, 75, 62, 75, 102, 95, 103, 98, 115, 98, 94, 58, 60, 60, 57, 57, 59, 54, 100, 57, 56, 67,
    59, 58, 121, 101, 101, 59, 46, 120, 115, 115, 93, 105, 75,
)  # fmt: skip
"""Birth weights of calves of five sires, eight each (Kuehl, Statistical Principles of Research Design, 1994, exercise
5-1; the figures read in the companion of a textbook by Oehlert)."""


@pytest.mark.parametrize(("figures", "families"), [(DYE, 6), (BULLS, 5)])
def test_equal_families_give_the_spreads_of_the_analysis_of_variance(figures: tuple[int, ...], families: int) -> None:
    """In equal families restricted likelihood is the textbook's mean squares, in closed form."""
    y = np.array(figures, dtype=float)
    each = y.size // families
    table = y.reshape(families, each)
    within = float(((table - table.mean(axis=1, keepdims=True)) ** 2).sum()) / (y.size - families)
    between = each * float(((table.mean(axis=1) - y.mean()) ** 2).sum()) / (families - 1)
    found = fit(y, np.ones((y.size, 1)), [Family("family", of_levels(np.repeat(np.arange(families), each), families))])
    assert found.noises[0] ** 2 == pytest.approx(within, rel=2e-3)
    assert found.spreads["family"] ** 2 == pytest.approx((between - within) / each, rel=5e-3)
    drawn = found.spreads["family"] ** 2 / (found.spreads["family"] ** 2 + found.noises[0] ** 2 / each)
    assert found.effects[1:] == pytest.approx(drawn * (table.mean(axis=1) - y.mean()), rel=1e-6)
    assert np.sqrt(found.covariance[0, 0]) == pytest.approx(np.sqrt(between / y.size), rel=5e-3)


def test_the_dyestuff_spreads_are_the_published_ones() -> None:
    # 1764.05 and 2451.25, mean 1527.50 ± 19.38, criterion 319.65 as mixed-model programs print them: from memory.
    found = fit(np.array(DYE, float), np.ones((30, 1)), [Family("batch", of_levels(np.repeat(np.arange(6), 5), 6))])
    assert found.spreads["batch"] ** 2 == pytest.approx(1764.05, rel=1e-3)
    assert found.noises[0] ** 2 == pytest.approx(2451.25, rel=1e-3)
    assert found.effects[0] == pytest.approx(1527.5, abs=1e-6)
    assert np.sqrt(found.covariance[0, 0]) == pytest.approx(19.38, abs=0.01)
    assert found.criterion == pytest.approx(319.65, abs=0.005)


def test_elimination_of_the_many_levels_gives_the_plain_inverse() -> None:
    chance = np.random.default_rng(3)
    level, farm, z = chance.integers(0, 30, 200), chance.integers(0, 7, 200), chance.normal(size=200)
    y = chance.normal(size=30)[level] + 0.5 * chance.normal(size=30)[level] * z + chance.normal(size=200)
    families = [
        Family("farm", of_levels(farm, 7)), Family("block", of_levels(level, 30)),
        Family("slope", of_levels(level, 30, z)),
    ]  # fmt: skip
    source = chance.integers(0, 2, 200)
    fixed = np.stack([np.ones(200), z], axis=1)
    found = fit(y, fixed, families, source, 2)
    whole = np.hstack([fixed, *(f.columns.toarray() for f in families)])
    weights = 1.0 / found.noises[source] ** 2
    prior = np.concatenate([np.zeros(2), *(np.full(f.columns.shape[1], found.spreads[f.name] ** -2) for f in families)])
    system = whole.T @ (weights[:, None] * whole) + np.diag(prior)
    assert found.covariance == pytest.approx(np.linalg.inv(system), abs=1e-9)
    assert found.effects == pytest.approx(np.linalg.solve(system, whole.T @ (weights * y)), abs=1e-9)
    assert found.solution.log_determinant == pytest.approx(np.linalg.slogdet(system)[1], abs=1e-8)


def test_a_plain_curve_has_the_peak_of_the_known_case() -> None:
    # Collected facts 1.4 and row F-19, computed there: peak week 15.9245, highest CCS 14.18667.
    curve = plain_curve(np.array([2.0, 6, 10, 14, 18, 22, 26]), np.array([11.9, 13.0, 13.8, 14.1, 14.2, 13.7, 13.0]))
    assert curve.peak == pytest.approx(15.9245, abs=1e-4)
    assert curve.top == pytest.approx(14.18667, abs=1e-5)
    assert curve.ccs(0.0)[0] == pytest.approx(11.1866071, abs=1e-7)
    with pytest.raises(TooFewReadings):
        plain_curve(np.array([1.0, 1.0, 2.0, 2.0]), np.full(4, 12.0))


def test_a_curve_that_bends_upwards_has_no_top() -> None:
    curve = Curve("odd", np.array([13.0, 0.1, 0.2]), np.eye(3))
    assert (curve.peak, curve.peak_uncertainty, curve.top) == (None, None, None)
    assert curves_table([curve]) == [["odd", "no top", "", "", ""]]


def standing() -> Standing:
    made = the_district()
    farms = tuple(f"{n + 1:03d}" for n in range(180))
    return Standing(tuple(made.block_names()), MATURITY, CLASSES, farms, made.maturity, made.crop, made.farm)


def readings(seed: int) -> CcsReadings:
    """Samples of last and this season, and deliveries of eight weeks from 450 blocks."""
    made, chance = the_district(), np.random.default_rng(seed)
    last = np.repeat(chance.choice(1400, 300, replace=False), 4)
    now = np.repeat(chance.choice(1400, 300, replace=False), 2)
    cut = np.repeat(chance.choice(1400, 450, replace=False), 20)
    weeks = [chance.uniform(1, 26, last.size), chance.uniform(-3, 4, now.size)]
    weeks.append(np.repeat(chance.uniform(1, 8, 450), 20) + chance.uniform(0, 1, cut.size))
    below, noise, source = (0.2, 0.0, 0.33), (0.4, 0.4, 0.3), (EARLIER, SAMPLED, DELIVERED)
    ccs = [
        made.ccs(w, b) - less + chance.normal(0, sd, b.size)
        for b, w, less, sd in zip((last, now, cut), weeks, below, noise, strict=True)
    ]
    whose = np.concatenate([np.full(b.size, s) for b, s in zip((last, now, cut), source, strict=True)])
    return CcsReadings(np.concatenate([last, now, cut]), np.concatenate(weeks), np.concatenate(ccs), whose)


def test_the_curves_of_the_invented_district_are_regained_within_their_intervals() -> None:
    made, read = the_district(), readings(5)
    found = fit_maturity(standing(), read)
    assert found.lost_by_delivery == pytest.approx(0.33, abs=0.06)
    assert sorted(found.fitted.noises) == pytest.approx([0.3, 0.4, 0.4], rel=0.06)
    weeks = np.arange(1.0, 27.0)
    true = np.stack([made.ccs(w) for w in weeks], axis=1)
    ours = np.stack([c.ccs(weeks) for c in found.block_curves])
    doubt = np.stack([c.uncertainty(weeks) for c in found.block_curves])
    covered = np.abs(ours - true) < 1.645 * doubt
    assert 0.87 < covered.mean() < 0.93
    unread = np.setdiff1d(np.arange(1400), read.block)
    assert 0.85 < covered[unread].mean() < 0.95
    assert doubt[unread].mean() > 1.2 * doubt[np.unique(read.block)].mean()
    plain = np.sqrt(((true - true.mean(axis=0)) ** 2).mean())
    assert np.sqrt(((ours - true) ** 2).mean()) < 0.6 * plain
    peaks = [found.of_variety(k).peak for k in range(3)]
    assert peaks == pytest.approx([9.2, 14.2, 19.2], abs=0.7)  # 10, 15, 20 less a week for ratoons, 4 blocks in 5


def test_too_few_readings_are_refused() -> None:
    few = CcsReadings(np.zeros(5, int), np.arange(5.0), np.full(5, 12.0), np.full(5, SAMPLED))
    with pytest.raises(TooFewReadings, match="found 5 readings of CCS in 5 weeks; accepted: 12"):
        fit_maturity(standing(), few)
    with pytest.raises(TooLittleToFit):
        fit(np.full(5, 1.0), np.ones((5, 1)), [Family("one", of_levels(np.arange(5), 5))])


def test_one_ratio_is_drawn_towards_one_as_declared() -> None:
    # Collected facts 1.1: k' = 1 + (k - 1) n / (n + n0), n0 about 8; by hand 1 + 0.1 · 8/16.
    assert shrunk_ratio(110.0, 100.0, 8) == pytest.approx(1.05)
    assert shrunk_ratio(110.0, 100.0, 0) == 1.0
    with pytest.raises(EstimateRefused, match="found 0"):
        shrunk_ratio(1.0, 0.0, 3)


def test_the_standing_crop_is_estimated_again_with_honest_intervals() -> None:
    made, chance = the_district(), np.random.default_rng(11)
    guess = made.area * np.array(CLASS_YIELD)[made.crop] * 1.08
    levels = [Levels("crop class", made.crop, 6), Levels("farm", made.farm, 180)]
    cut = (chance.random(1400) < 0.3).astype(float)
    found = estimate_again(guess, made.tonnes, cut, levels)
    left = cut == 0.0
    assert found.total_low < made.tonnes[left].sum() < found.total_high
    assert 0.87 < np.mean((made.tonnes > found.low) & (made.tonnes < found.high), where=left) < 0.94
    assert found.spreads["farm"] == pytest.approx(0.12, rel=0.2)
    assert found.spreads["block"] == pytest.approx(0.10, rel=0.15)
    before = np.sqrt(np.mean((guess - made.tonnes) ** 2, where=left))
    assert np.sqrt(np.mean((found.tonnes - made.tonnes) ** 2, where=left)) < 0.75 * before
    few = estimate_again(guess, made.tonnes, np.where(np.arange(1400) < 5, 1.0, 0.0), levels)
    assert few.cut_blocks == 5
    assert few.total_high - few.total_low > found.total_high - found.total_low
    with pytest.raises(EstimateRefused):
        estimate_again(guess * 0.0, made.tonnes, cut, levels)


def test_ratoon_decline_is_regained_and_the_published_line_holds() -> None:
    # Dlamini, Franke and Zhou 2024, variety N25: 121.3 t/ha and 2.74 less each crop, so 102.1 in the seventh ratoon.
    assert yield_of(7, Cycle(plant_cane=121.3, loss=2.74)) == pytest.approx(102.12)
    ratoon = np.repeat(np.arange(8), 20)
    exact = 121.3 - 2.74 * ratoon + np.tile(np.repeat([1.0, -1.0], 10), 8)
    found = ratoon_decline(exact, ratoon, np.arange(160) % 10, 10)
    assert (found.plant_cane, found.loss) == pytest.approx((121.3, 2.74), abs=1e-6)
    made = the_district()
    ours = ratoon_decline(made.tonnes / made.area, made.crop, made.farm, 180)
    plain = -np.polyfit(np.arange(6), CLASS_YIELD, 1)[0]
    assert abs(ours.loss - plain) < 3.0 * ours.loss_u
    with pytest.raises(EstimateRefused, match="one crop class only"):
        ratoon_decline(exact[:20], ratoon[:20], np.arange(20) % 10, 10)
