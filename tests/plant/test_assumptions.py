"""Assumptions weighed by money or sugar: exact derivatives against predictions with the setting changed."""

from __future__ import annotations

from functools import cache

import pytest

from canewright.plant.assumptions import Examined, examine_assumptions
from canewright.plant.plant import Plant, State
from canewright.plant.prices import price_list
from plant.milling_train import TEXT

PRICED = TEXT + '\n[[prices]]\nwhat = "juice"\nstream = "screen.screened"\nkind = "income"\nprice = 30\nunit = "$/t"\n'


@cache
def examined(text: str) -> tuple[Plant, State, Examined]:
    """A plant, its state and its assumptions."""
    plant = Plant.from_text(text)
    state = plant.predict()
    return plant, state, examine_assumptions(plant, state)


def money(plant: Plant, state: State) -> float:
    """Money a day by the price list."""
    return float(sum(p.a_day(plant.assembly, state.values) for p in price_list(plant)))


def test_each_weight_is_what_a_changed_prediction_shows() -> None:
    plant, state, found = examined(PRICED)
    assert (found.figure, found.unit) == ("money a day", "$")
    assert 5 <= len(found.most) <= 10
    for w in found.most:
        a, step = w.assumption, 1e-3 * w.assumption.uncertainty
        up, down = (plant.predict({a.name: a.value + s}, state) for s in (step, -step))
        slope = (money(plant, up) - money(plant, down)) / (2 * step)
        assert w.moves == pytest.approx(slope * a.uncertainty, rel=1e-5, abs=1e-3), a.name


def test_the_heaviest_comes_first_and_all_are_counted() -> None:
    _, _, found = examined(PRICED)
    sizes = [abs(w.moves) for w in found.weighed]
    assert sizes == sorted(sizes, reverse=True)
    assert found.count == len(found.weighed) + len(found.held) + len(found.idle)
    assert "preparation.installed_power" in {a.name for a in found.idle}
    assert "mill 1.heat_loss" in {a.name for a in found.held}


def test_without_prices_sucrose_weighs() -> None:
    plant, state, found = examined(TEXT)
    assert (found.figure, found.unit) == ("sucrose in mixed juice a day", "t")
    heaviest = found.most[0].assumption
    more = plant.predict({heaviest.name: heaviest.value + 0.01 * heaviest.uncertainty}, state)
    moved = 24 * (float(more.stream("screen.screened").sucrose) - float(state.stream("screen.screened").sucrose))
    assert found.most[0].moves == pytest.approx(100 * moved, rel=0.01)


def test_a_plant_without_prices_and_roles_still_counts_them() -> None:
    _, _, found = examined(TEXT[: TEXT.index("[roles]")])
    assert found.figure == ""
    assert found.most == ()
    assert found.count > 10
