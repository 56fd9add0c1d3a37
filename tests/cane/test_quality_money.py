"""What trash, waiting and doubt cost, and planting methods, against published points and hand-worked figures."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest

from canewright.analysis.cane import classic_cane_price
from canewright.analysis.payment import stale_cane_factor
from canewright.cane import planting
from canewright.cane.planting import DEFAULTS, Cycle, annuity, breaks_even_at, compare, compared, yield_of
from canewright.cane.quality_money import (
    LOSS_ON_THE_WAY,
    Terms,
    cost_of_delay,
    cost_of_stale_cane,
    cost_of_trash,
    doubt_of_samples,
    listed,
    worth_of_a_second_sample,
)

TERMS = Terms(400.0)


def test_a_unit_of_ccs_is_worth_what_the_price_formula_says() -> None:
    """Queensland cane-growers' organisation (read): marginal 0.009 Ps, that is 3.60 $/t at 400 $/t."""
    step = classic_cane_price(400.0, 14.0, 0.578) - classic_cane_price(400.0, 13.0, 0.578)
    assert TERMS.growers == pytest.approx(step) == pytest.approx(3.6)
    assert TERMS.whole == pytest.approx(400 * 0.925 / 100)


def test_trash_costs_2_kg_of_sugar_a_tonne_for_each_per_cent() -> None:
    """Larrahondo and others 2006 (read): 2.0 kg sugar/t for 1 % trash: 10,000 t at 5 % above is 100 t of sugar."""
    found = cost_of_trash(10_000.0, 12.0, 7.0, Terms(400.0, 100.0))
    assert found.ccs_lost == pytest.approx(1.0)
    assert found.together == pytest.approx(100.0 * 400.0)
    assert found.grower == pytest.approx(36_000.0)
    assert cost_of_trash(10_000.0, 6.0, 7.0, TERMS).together == 0.0
    assert cost_of_trash(1.0, 8.0, 7.0, TERMS, per_unit=0.045).ccs_lost == pytest.approx(0.045)


def test_waiting_costs_by_the_hour_and_doubles_in_ten_kelvin() -> None:
    assert pytest.approx(0.030) == LOSS_ON_THE_WAY  # 1.2 units over 40 h, Larrahondo and others 2006 (read)
    cool = cost_of_delay(1000.0, 23.0, 13.0, TERMS)
    warm = cost_of_delay(1000.0, 23.0, 13.0, TERMS, temperature=30.0)
    assert cool.ccs_lost == pytest.approx(0.2)
    assert warm.together == pytest.approx(2 * cool.together)
    assert cost_of_delay(1000.0, 10.0, 13.0, TERMS).grower == 0.0


def test_stale_cane_by_the_published_factor() -> None:
    """São Paulo growers' step list (read): K 0.964 at 90 h with a limit of 72 h (F-10)."""
    found = cost_of_stale_cane(36.0, 13.5, float(stale_cane_factor(90.0, 72.0)), TERMS)
    assert found.ccs_lost == pytest.approx(0.036 * 13.5)
    assert found.mill == 0.0


def test_doubt_averages_out_by_chance_but_not_in_common() -> None:
    """By hand: 60 consignments with sd 0.45 give a season mean sd of 0.058."""
    found = doubt_of_samples([36.0] * 60, [0.45] * 60, 0.085, TERMS)
    assert (
        found.by_chance / (TERMS.growers * found.tonnes)
        == pytest.approx(0.45 / sqrt(60))
        == pytest.approx(0.058, abs=2e-4)
    )
    assert found.by_common_error == pytest.approx(3.6 * 2160 * 0.085)
    assert found.together == pytest.approx(sqrt(found.by_chance**2 + found.by_common_error**2))
    assert worth_of_a_second_sample(36.0, 0.152, TERMS) == pytest.approx(36 * 3.6 * 0.152 * (1 - 1 / sqrt(2)))
    with pytest.raises(ValueError, match="one of each"):
        doubt_of_samples([1.0], [], 0.1, TERMS)


def test_costs_are_listed_dearest_first_and_terms_are_checked() -> None:
    small, large = cost_of_trash(1.0, 8.0, 7.0, TERMS), cost_of_trash(9.0, 8.0, 7.0, TERMS)
    assert listed([small, large]) == [large, small]
    with pytest.raises(ValueError, match="accepted 0 to"):
        Terms(-1.0)


# --- planting ---------------------------------------------------------------------------------------------------------


def test_the_published_ratoon_decline() -> None:
    """Dlamini, Franke and Zhou 2024 (read): 121.3 t/ha, 2.74 less each crop; 102.1 in the seventh ratoon."""
    assert yield_of(7, Cycle(plant_cane=121.3, loss=2.74, ratoons=7)) == pytest.approx(102.1, abs=0.05)


def test_an_annuity_repays_the_capital() -> None:
    yearly = annuity(1000.0, 0.08, 5)
    assert sum(yearly / 1.08**n for n in range(1, 6)) == pytest.approx(1000.0)
    assert annuity(1000.0, 0.0, 5) == 200.0


def test_a_method_by_hand() -> None:
    cycle = Cycle(plant_cane=100.0, loss=10.0, ratoons=1, discount=0.0, margin=10.0)
    setts = replace(DEFAULTS[0], material=8.0, price=50.0, cartage=60.0, treatment=40.0, planting=100.0, survival=0.5)
    found = compare(replace(setts, gap_cost=200.0), cycle)
    assert found.established == pytest.approx(400 + 60 + 40 + 100 + 100)
    assert (found.tonnes, found.yearly) == (190.0, 350.0)
    assert found.margin == pytest.approx(10.0 - 700 / 190)


def test_an_even_stand_gains_ccs() -> None:
    even = compare(next(m for m in DEFAULTS if m.name == "nursery seedlings"), Cycle())
    setts = compare(DEFAULTS[0], Cycle())
    assert setts.ccs_gain == 0.0
    assert even.ccs_gain == pytest.approx(0.6 * 0.35**2 * (1 - 0.8**2))


def test_methods_are_listed_by_margin_with_their_sources() -> None:
    found = compared()
    assert [c.margin for c in found] == sorted((c.margin for c in found), reverse=True)
    assert all("read" in c.source or "from memory" in c.source for c in found)
    assert planting.BENEFIT_COST_OF_BUD_CHIPS == 1.63  # Khaliq and others 2020 (read)


def test_the_price_at_which_seedlings_break_even() -> None:
    seedlings = next(m for m in DEFAULTS if m.name == "nursery seedlings")
    price = breaks_even_at(seedlings, DEFAULTS[0], Cycle())
    even = compare(replace(seedlings, price=price), Cycle())
    assert even.margin == pytest.approx(compare(DEFAULTS[0], Cycle()).margin, abs=1e-9)


@pytest.mark.parametrize(("field", "value"), [("survival", 0.0), ("survival", 1.1), ("price", -1.0)])
def test_impossible_methods_and_cycles_are_refused(field: str, value: float) -> None:
    with pytest.raises(ValueError, match="accepted"):
        replace(DEFAULTS[0], **{field: value})  # type: ignore[arg-type]  # both fields are numbers
    with pytest.raises(ValueError, match="accepted"):
        Cycle(ratoons=-1)
