"""The crop still to be cut, estimated again from what is cut: how far actual tonnes are from their estimates, and why.

The logarithm of actual over estimate has a district level and deviations of variety, crop class, soil and farm, each
drawn towards nothing as far as its data are few; what is left is the block's own. Estimates themselves never change.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from canewright.cane.mixed_model import Family, Fitted, Floats, Whole, fit, of_levels

FEWEST_CUT = 20
"""Cut blocks below which one ratio for all blocks, drawn towards 1, is used instead (ours)."""
LIKE_BLOCKS = 8.0
"""How many cut blocks the prior belief that estimates are right weighs as much as (ours)."""
USUAL_SPREAD = 0.15
"""Spread of the logarithm of actual over estimate of a block before the data tell it (ours)."""
TWO_SIDED_90 = 1.645


class EstimateRefused(ValueError):
    """Tonnes that no estimate can be made from."""


def shrunk_ratio(actual: float, estimate: float, blocks: int, like: float = LIKE_BLOCKS) -> float:
    """Actual over estimate of cut blocks drawn towards 1: k' = 1 + (k - 1) n / (n + n0).

    Raises EstimateRefused without an estimate.
    """
    if not estimate > 0.0:
        raise EstimateRefused(f"estimate of the cut blocks: found {estimate} t; accepted: more than 0 t")
    return 1.0 + (actual / estimate - 1.0) * blocks / (blocks + like)


@dataclass(frozen=True)
class Levels:
    """What may move a block's yield away from its estimate: a name, the level of each block, how many levels."""

    name: str
    level: Whole
    levels: int


@dataclass(frozen=True)
class CropEstimate:
    """Expected tonnes of each block with a 90 % interval, and of the whole standing crop.

    ``spreads`` tells by how much (standard deviation of the logarithm) each cause and the blocks themselves vary.
    """

    tonnes: Floats
    low: Floats
    high: Floats
    total: float
    total_low: float
    total_high: float
    ratio: float
    spreads: dict[str, float]
    cut_blocks: int


def estimate_again(
    estimate: Floats, actual: Floats, cut: Floats, levels: Sequence[Levels], usual_spread: float = USUAL_SPREAD
) -> CropEstimate:
    """Estimate every block again. ``cut`` is 1 where a block is cut out and ``actual`` tells its tonnes.

    Raises EstimateRefused for an estimate that is not more than 0, or an actual of nothing of a cut block.
    """
    done = cut > 0.0
    if not np.all(estimate > 0.0) or not np.all(actual[done] > 0.0):
        raise EstimateRefused("every block needs an estimate above 0 t, every cut block actual tonnes above 0 t")
    if int(done.sum()) < FEWEST_CUT:
        return _one_ratio(estimate, actual, done, usual_spread)
    y = np.log(actual[done] / estimate[done])
    families = [Family(each.name, of_levels(each.level[done], each.levels)) for each in levels]
    fitted = fit(y, np.ones((y.size, 1)), families)
    return _predicted(estimate, done, fitted, levels)


def _one_ratio(estimate: Floats, actual: Floats, done: np.ndarray, spread: float) -> CropEstimate:
    blocks = int(done.sum())
    ratio = 1.0 if not blocks else shrunk_ratio(float(actual[done].sum()), float(estimate[done].sum()), blocks)
    common = spread / np.sqrt(blocks + LIKE_BLOCKS)
    middle = np.full(estimate.size, np.log(ratio))
    shared = np.full((estimate.size, 1), common)
    return _intervals(estimate, done, middle, shared, spread, ratio, {"block": spread})


def _predicted(estimate: Floats, done: np.ndarray, fitted: Fitted, levels: Sequence[Levels]) -> CropEstimate:
    weights = np.zeros((estimate.size, fitted.effects.size))
    weights[:, 0] = 1.0
    for each in levels:
        weights[np.arange(estimate.size), fitted.places[each.name].start + each.level] = 1.0
    shared = weights @ np.linalg.cholesky(fitted.covariance)
    own = float(fitted.noises[0])
    spreads = {**fitted.spreads, "block": own}
    return _intervals(estimate, done, weights @ fitted.effects, shared, own, float(np.exp(fitted.effects[0])), spreads)


def _intervals(
    estimate: Floats, done: np.ndarray, middle: Floats, shared: Floats, own: float, ratio: float,
    spreads: dict[str, float],
) -> CropEstimate:  # fmt: skip
    """Mean and interval of log-normal tonnes; doubt that blocks share adds up in the total, their own averages out."""
    variance = (shared**2).sum(axis=1) + own**2
    tonnes = estimate * np.exp(middle + variance / 2.0)
    width = TWO_SIDED_90 * np.sqrt(variance)
    standing = np.where(done, 0.0, tonnes)
    common = standing @ shared
    doubt = TWO_SIDED_90 * float(np.sqrt(common @ common + (standing**2).sum() * own**2))
    total = float(standing.sum())
    return CropEstimate(
        tonnes, estimate * np.exp(middle - width), estimate * np.exp(middle + width), total, total - doubt,
        total + doubt, ratio, spreads, int(done.sum()),
    )  # fmt: skip


@dataclass(frozen=True)
class RatoonDecline:
    """Yield of plant cane and the loss with each ratoon, t/ha, with standard uncertainties."""

    plant_cane: float
    plant_cane_u: float
    loss: float
    loss_u: float
    blocks: int


def ratoon_decline(yields: Floats, ratoon: Whole, farm: Whole, farms: int) -> RatoonDecline:
    """Straight decline TCH(r) = TCH(P) - b r with farm effects.

    Raises TooLittleToFit, and EstimateRefused where all blocks are of one crop class.
    """
    if np.unique(ratoon).size < 2:
        raise EstimateRefused("ratoon decline: found one crop class only; accepted: at least two")
    fixed = np.stack([np.ones(ratoon.size), -ratoon.astype(np.float64)], axis=1)
    fitted = fit(yields, fixed, [Family("farm", of_levels(farm, farms))])
    doubt = np.sqrt(np.diag(fitted.covariance)[:2])
    return RatoonDecline(
        float(fitted.effects[0]), float(doubt[0]), float(fitted.effects[1]), float(doubt[1]), yields.size
    )
