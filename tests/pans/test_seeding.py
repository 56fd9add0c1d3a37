"""Seed for a wanted size: hand-worked ratios, and the strike's own answer.

Mass of one crystal 1.1 d³ mg from a published seeding note (read); the masses below are hand-worked from it.
"""

from __future__ import annotations

import pytest

from canewright.pans import grain
from canewright.pans.description import StrikeRefused
from canewright.pans.seeding import seed_by_ratio, seed_for
from pans.strikes import described


@pytest.mark.parametrize(
    ("crystal", "size", "seed_size", "variation", "kilograms"),
    [
        (20.0, 1.0, 0.010, 0.0, 0.0200),
        (20.0, 1.0, 0.25, 0.0, 312.5),
        (20.0, 0.6, 0.015, 0.0, 0.3125),
        (20.0, 0.6, 0.015, 40.0, 0.3125 * 1.560896),
    ],
)
def test_the_seed_by_the_ratio_of_sizes(
    crystal: float, size: float, seed_size: float, variation: float, kilograms: float
) -> None:
    assert seed_by_ratio(crystal, size, seed_size, variation) == pytest.approx(kilograms, rel=1e-9)


def test_without_dispersion_merging_or_spread_the_strike_comes_to_the_ratio() -> None:
    strike = described("refined", growth__dispersion=0.0, merging__readiness=0.0, seed__variation=0.0)
    found = seed_for(strike, 1.0)
    boiled = found.boiled
    by_ratio = seed_by_ratio(boiled.end["crystal"], 1.0, 0.015)
    assert found.mass == pytest.approx(by_ratio, rel=1e-5)
    assert boiled.end["crystals"] == pytest.approx(boiled.end["crystal"] / grain.PER_CUBE, rel=1e-5)


@pytest.mark.parametrize(("name", "size"), [("refined", 1.0), ("raw-a", 0.95), ("raw-c", 0.22)])
def test_the_seed_found_gives_the_size_wanted(name: str, size: float) -> None:
    found = seed_for(described(name), size)
    assert found.boiled.end["mean size"] == pytest.approx(size, rel=1e-6)
    # paces of their own make the mean by mass larger than that of equal crystals, so that more seed is needed
    assert found.mass > 1.05 * found.by_ratio


def test_a_seed_larger_than_the_product_is_refused() -> None:
    with pytest.raises(StrikeRefused, match=r"seed size: found 0.25 mm; accepted: less than the product's 0.2 mm"):
        seed_by_ratio(20.0, 0.2, 0.25)


def test_a_seed_beyond_what_a_seed_may_weigh_is_refused() -> None:
    with pytest.raises(StrikeRefused, match=r"seed mass: 2 mm would need .* accepted: 0.001 to"):
        seed_for(described("refined", seed__size=0.005, drop__longest=30.0), 2.0)
