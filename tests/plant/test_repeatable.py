"""The same question has the same answer, whatever was asked before it."""

from __future__ import annotations

from importlib.resources import files

import pytest

from canewright.plant.plant import Plant, State

TEXT = (files("canewright") / "demo_data" / "plant.toml").read_text(encoding="utf-8")
CHANGE = {"cane yard.rate": 405.0, "imbibition.on_fibre": 225.0, "raw store.colour": 1900.0}


def far_apart(one: State, other: State) -> float:
    """Largest difference of two states, relative to the larger of value and nominal size."""
    nominal = {v.name: v.nominal for v in one.assembly.model.variables}
    return max(abs(one.values[n] - other.values[n]) / max(abs(one.values[n]), nominal[n]) for n in one.values)


@pytest.fixture(scope="module")
def fresh() -> State:
    """The changed plant, asked first."""
    return Plant.from_text(TEXT).predict(CHANGE)


def test_predict_depends_on_nothing_solved_before(fresh: State) -> None:
    plant = Plant.from_text(TEXT)
    for rate in (390.0, 430.0):
        plant.predict({"cane yard.rate": rate})
    assert far_apart(fresh, plant.predict(CHANGE)) < 1e-9


def test_predict_depends_on_no_start(fresh: State) -> None:
    plant = Plant.from_text(TEXT)
    warm = plant.predict(CHANGE, start=plant.predict())
    assert far_apart(fresh, warm) < 1e-9


def test_reconcile_depends_on_no_start() -> None:
    plant = Plant.from_text(TEXT)
    base, changed = plant.predict(), plant.predict(CHANGE)
    readings = {m.tag: changed.measured(m.stream, m.quantity) for m in plant.description.meters}
    sizes = {m.tag: m.standard_uncertainty(base.measured(m.stream, m.quantity)) for m in plant.description.meters}
    one = plant.reconcile(readings, start=base, uncertainties=sizes)
    other = plant.reconcile(readings, start=changed, uncertainties=sizes)
    assert one.result.objective == pytest.approx(other.result.objective, rel=1e-6, abs=1e-6)
    assert far_apart(one.state, other.state) < 1e-5
