"""Bagasse store: what the boilers do not burn stays in the stock, part by part."""

from __future__ import annotations

import pytest

from plant.steam_plant import solved, steam_plant


def test_stock_takes_what_is_not_burnt() -> None:
    """Worked by hand: 106.6286 t/h comes, the boiler burns 135.0415 / 2.25187 t/h of the same composition."""
    state = solved(steam_plant())
    came, gone = state.stream("bagasse.juice"), state.stream("store.reclaimed")
    assert state.values["store.stock_change"] == pytest.approx(106.6286 - 135.0415 / 2.25187, rel=1e-4)
    assert state.values["store.stock_change"] == pytest.approx(float(came.flow - gone.flow), rel=1e-9)
    for part in ("water", "sucrose", "reducing_sugars", "ash", "other", "fibre", "suspended", "colour"):
        expected = getattr(came, part) / came.flow
        assert getattr(gone, part) / gone.flow == pytest.approx(float(expected), rel=3e-6)


def test_stock_shrinks_when_the_boilers_burn_more_than_comes() -> None:
    state = solved(steam_plant(), {"bagasse.rate": 40.0})
    assert state.values["store.stock_change"] == pytest.approx(40.0 - 135.0415 / 2.25187, rel=1e-3)


def test_boilers_burn_on_from_the_stock_when_the_mills_stand() -> None:
    """No bagasse comes: ordinary bagasse of 50 % moisture is reclaimed and the stock shrinks by it."""
    state = solved(steam_plant(), {"bagasse.rate": 0.0})
    gone = state.stream("store.reclaimed")
    assert gone.flow == pytest.approx(135.0415 / 2.25, rel=0.01)
    assert gone.water / gone.flow == pytest.approx(0.5, abs=1e-9)
    assert state.values["store.stock_change"] == pytest.approx(-float(gone.flow), rel=1e-9)


def test_rain_wets_what_is_reclaimed() -> None:
    """Worked by hand: a tenth of what is reclaimed is rain, so moisture is 0.9 times 50 plus 10 %."""
    state = solved(steam_plant(), {"store.rain": 10.0})
    gone = state.stream("store.reclaimed")
    came = state.stream("bagasse.juice")
    moisture = 0.9 * came.water / came.flow + 0.1
    assert gone.water / gone.flow == pytest.approx(float(moisture), rel=1e-6)


def test_bagasse_cools_on_its_way() -> None:
    state = solved(steam_plant(), {"bagasse.temperature": 50.0, "store.cooling": 18.0})
    assert state.stream("store.reclaimed").temperature == pytest.approx(32.0, rel=1e-12)
