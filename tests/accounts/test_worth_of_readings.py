"""What a further reading is worth, against the day reconciled with a meter added."""

from __future__ import annotations

from functools import cache

import pytest

from accounts.small_mill import TEXT
from accounts.whole_days import readings_of
from canewright.accounts.instruments import NoSuchFigure, WorthOfReadings, worth_of_readings
from canewright.accounts.reckoning import figures_of
from canewright.engine.instruments import worth_in_money
from canewright.plant.further_readings import INSTRUMENTS
from canewright.plant.plant import Plant, Reconciled
from canewright.quantity import Figure


def _day(plant: Plant) -> Reconciled:
    return plant.reconcile(readings_of(plant, plant.predict()))


@cache
def _worth() -> tuple[Plant, Reconciled, WorthOfReadings]:
    plant = Plant.from_text(TEXT)
    day = _day(plant)
    return plant, day, worth_of_readings(plant, day, "pol extraction")


def _uncertainty(plant: Plant, day: Reconciled) -> float:
    rows = [(Figure(m.name, m.value, ""), m.uncertainty, False) for m in day.result.measured]
    rows += [
        (Figure(n, 0.0, ""), float(u), True) for n, u in zip(day.result.free, day.result.prior_uncertainty, strict=True)
    ]
    found = next(f for f in figures_of(plant, day, rows) if f.specification.name == "pol extraction")
    assert found.figure.uncertainty is not None
    return found.figure.uncertainty


@pytest.mark.parametrize("stream", ["mill 1.juice", "mill 5.bagasse"])
def test_an_added_meter_does_what_was_foretold(stream: str) -> None:
    """A reading of the true purity of the stream, at the value that the day already has."""
    plant, day, worth = _worth()
    name = f"a reading of the true purity of {worth_name(plant, stream)}"
    told = next(w for w in worth.alone if w.name == name)
    u = INSTRUMENTS["true purity"]
    meter = f'\n[[meters]]\ntag = "new"\nstream = "{stream}"\nquantity = "true purity"\nuncertainty = {u}\n'
    more = Plant.from_text(TEXT + meter)
    assert told.before == pytest.approx(_uncertainty(plant, day), rel=1e-6)
    assert told.after == pytest.approx(_uncertainty(more, _day(more)), rel=1e-6)


def worth_name(plant: Plant, stream: str) -> str:
    """A stream as it is told."""
    return next((r for r, s in plant.description.roles.items() if s == stream), stream)


def test_a_reading_twice_as_sure_does_what_was_foretold() -> None:
    plant, _, worth = _worth()
    told = next(w for w in worth.alone if w.name == "bagasse pol twice as sure")
    surer = Plant.from_text(
        TEXT.replace('quantity = "pol"\nuncertainty = 0.1\n', 'quantity = "pol"\nuncertainty = 0.05\n')
    )
    assert told.after == pytest.approx(_uncertainty(surer, _day(surer)), rel=1e-6)
    del plant


def test_the_best_stand_first_and_sets_only_narrow() -> None:
    _, _, worth = _worth()
    after = [w.after for w in worth.alone]
    assert after == sorted(after)
    assert worth.together[0].name == worth.alone[0].name
    assert all(later.after < earlier.after for earlier, later in zip(worth.together, worth.together[1:], strict=False))


def test_money_is_told_of_losses_with_a_price_only() -> None:
    _, _, worth = _worth()
    assert worth.price is None
    assert worth.money(worth.alone[0], 10.0) is None
    assert worth_in_money(worth.alone[0], 2.0, 10.0) == pytest.approx(
        39.2 * (worth.alone[0].before - worth.alone[0].after)
    )


def test_an_unknown_figure_is_refused_with_those_there_are() -> None:
    plant, day, _ = _worth()
    with pytest.raises(NoSuchFigure, match=r"'pol extractin'.*pol extraction"):
        worth_of_readings(plant, day, "pol extractin")


def test_without_a_reading_the_figure_is_as_a_day_without_it_says() -> None:
    """The rank-one change against a reconciliation that leaves the reading out, for the one that is needed most."""
    plant, day, found = _worth()
    name, foretold = found.missing[0]
    assert foretold is not None
    rest = {m.name: m.value for m in day.result.measured if m.name != name}
    same = {m.name: m.uncertainty for m in day.result.measured}
    again = plant.reconcile(rest, start=day.state, uncertainties=same)
    assert _uncertainty(plant, again) == pytest.approx(foretold, rel=0.02)
    assert foretold > _uncertainty(plant, day)
    spreads = [sd for _, sd in found.missing if sd is not None]
    assert spreads == sorted(spreads, reverse=True)
