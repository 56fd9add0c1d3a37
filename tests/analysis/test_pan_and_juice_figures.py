"""Pan, centrifugal and juice figures, and target purities kept within their family."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from canewright.analysis import (
    boiling_house,
    exhaustion,
    juice_figures,
    massecuite_figures,
    milling,
    payment,
    stock,
    target_families,
)
from canewright.analysis.target_families import FamiliesMixed
from canewright.quantity import CATALOGUE, OutOfRange


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


def test_reference_mill_figures() -> None:
    """10 000 t cane, fibre 14, 2800 t imbibition: figures of its balance."""
    assert juice_figures.dilution_on_imbibition(1653.6975, 2800.0) == pytest.approx(59.0606, abs=5e-5)
    assert juice_figures.absolute_juice_recovered(1506.315789, 18.372093, 10000.0) == pytest.approx(81.9893, abs=5e-5)
    assert juice_figures.on_cane(2800.0, 10000.0) == 28.0
    lost = milling.lost_absolute_juice(73.684211, 18.372093, 1400.0) * 0.14
    assert 81.9893405 + lost == pytest.approx(86.0, abs=1e-5)  # all absolute juice, 100 less fibre


@given(between(70.0, 88.0), between(45.0, 68.0), between(85.0, 96.0))
def test_crystal_by_brix_and_by_purity_agree(rich: float, poor: float, solids: float) -> None:
    crystal = float(exhaustion.crystal_content(rich, poor, solids))
    if 0.0 <= crystal <= 70.0:
        liquor = float(massecuite_figures.mother_liquor_brix(solids, crystal))
        if 60.0 <= liquor <= 92.0:
            assert massecuite_figures.crystal_content_by_brix(solids, liquor) == pytest.approx(crystal, abs=1e-9)
    assert massecuite_figures.purity_drop(rich, poor) == pytest.approx(rich - poor, abs=1e-12)


@given(between(20.0, 60.0), between(30.0, 60.0), between(0.0, 5.0))
def test_lost_crystal_explains_the_purity_rise(crystal: float, filtered: float, lost: float) -> None:
    """Dissolve a share of the crystal in the mother liquor, take the purity, and ask for the share back."""
    liquor = 100.0 - crystal
    into = crystal * lost / 100.0
    molasses = 100.0 * (liquor * filtered / 100.0 + into) / (liquor + into)
    found = massecuite_figures.crystal_lost_in_spinning(crystal, filtered, molasses)
    assert found == pytest.approx(lost, abs=1e-9)


def test_seed_of_the_refinery_strike() -> None:
    """20 t of 1.0 mm crystal hold 1.826e10 crystals; seed of 10 µm weighs 0.0200 kg."""
    count = float(massecuite_figures.crystals_in_strike(20.0, 1.0))
    assert count == pytest.approx(1.8264e10, rel=1e-3)
    seed = float(stock.seed_mass(100.0, 20.0, 10.0, 1000.0))
    assert massecuite_figures.crystals_in_strike(seed / 1e3, 0.010) == pytest.approx(count, rel=1e-9)
    assert massecuite_figures.seed_spread_factor(40.0) == pytest.approx(1.5609, abs=5e-5)
    assert massecuite_figures.seed_spread_factor(0.0) == 1.0


@given(between(90.0, 100.0))
def test_granulated_equivalent_is_winter_carp_on_sugar(purity: float) -> None:
    recovery = boiling_house.sjm_recovery(100.0, 98.0, 100 * 0.4 / 1.4)
    assert massecuite_figures.standard_granulated_equivalent(98.0, 98.0) == pytest.approx(0.98 * recovery, rel=1e-12)
    assert massecuite_figures.standard_granulated_equivalent(purity, 100.0) == pytest.approx(purity, rel=1e-12)


@given(between(70.0, 95.0), between(0.0, 30.0))
def test_non_sucrose_removed_undoes_the_rise(before: float, removed: float) -> None:
    left = (100.0 - before) * (1.0 - removed / 100.0)
    after = 100.0 * before / (before + left)
    assert juice_figures.non_sucrose_removed(before, after) == pytest.approx(removed, abs=1e-9)
    assert juice_figures.purity_rise(before, after) >= -1e-12


@given(between(11.0, 16.0), between(10.0, 18.0), between(1.0, 8.0))
def test_a_train_extracts_what_its_mills_leave(pol: float, fibre: float, middle: float) -> None:
    first = float(juice_figures.mill_extraction(pol, fibre, middle, 35.0))
    second = float(juice_figures.mill_extraction(middle, 35.0, 0.5 * middle, 45.0))
    train = 100.0 * (1.0 - (1.0 - first / 100.0) * (1.0 - second / 100.0))
    whole = milling.extraction_from_fibre_ratio(pol, fibre, 0.5 * middle, 45.0)
    assert train == pytest.approx(whole, abs=1e-9)


def test_each_target_belongs_to_one_family() -> None:
    members = [each.name for family in target_families.FAMILIES.values() for each in family]
    assert len(members) == len(set(members))
    targets = {name for name in CATALOGUE if name.startswith(("target_purity_", "expected_purity_"))}
    assert targets - {"target_purity_difference"} == set(members)


def test_differences_of_two_families_are_not_trended_together() -> None:
    ours = target_families.difference(42.5, 0.94)
    rein = target_families.difference(42.5, 0.94, "target_purity_rein")
    other = target_families.difference(42.5, 0.94, "expected_purity_australian")
    assert target_families.one_family([ours, rein]) == [ours.value, rein.value]
    assert ours.value == pytest.approx(42.5 - 34.33, abs=0.01)
    assert ours.value - other.value > 6.0
    with pytest.raises(FamiliesMixed, match="of 2 families"):
        target_families.one_family([ours, other])


def test_unknown_targets_and_wild_ratios_are_refused() -> None:
    with pytest.raises(FamiliesMixed, match="known are target_purity_south_african"):
        target_families.difference(42.5, 0.9, "sjm_recovery")
    with pytest.raises(OutOfRange, match="ratio"):
        target_families.difference(42.5, 9.0)


@pytest.mark.parametrize(
    ("hours", "limit", "factor"), [(27.0, 60.0, 1.0), (27.0, 72.0, 1.0), (90.0, 72.0, 0.9640), (90.0, 60.0, 0.9400)]
)
def test_stale_cane_is_paid_less(hours: float, limit: float, factor: float) -> None:
    """São Paulo growers' association, How to calculate: 27 h gives 1.0000 (read); the others by its rule."""
    assert payment.stale_factor_with_limit(hours, limit) == pytest.approx(factor, abs=1e-12)


def test_very_old_cane_is_refused() -> None:
    with pytest.raises(OutOfRange, match="hours"):
        payment.stale_factor_with_limit(900.0, 72.0)
