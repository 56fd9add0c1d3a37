"""Syrup clarification by flotation: doses by molar masses, balances, what it takes out, limits and rest."""

from __future__ import annotations

from functools import cache

import pytest

from canewright.engine import predict
from canewright.plant.plant import Plant, State
from plant.juice_side import flow, part, plant, station, worst_closure

SYRUP = {"rate": 93.6191, "dry_substance": 64.999, "purity": 84.526, "suspended": 0.1314, "colour": 14201}
"""Syrup of the reference case (own, invented plant), fibre counted as suspended."""


@cache
def case(law: str = "set") -> Plant:
    """Syrup of 85 °C through the clarifier."""
    stations = [
        station("syrup", "liquor supply", temperature=85, **SYRUP),
        station("water", "water supply", temperature=30),
        station("clarifier", "syrup clarifier", inversion_law=law),
    ]
    links: dict[str, str | list[str]] = {
        "clarifier.syrup": "syrup.liquor", "clarifier.water": "water.water",
        "outside.clarified": "clarifier.clarified", "outside.scum": "clarifier.scum",
    }  # fmt: skip
    return plant(stations, links)


def test_chemicals_by_hand() -> None:
    """200 mg/kg of P2O5 on 60.85 t/h of solids: 12.17 kg/h, 22.4 of 75 % acid, 14.4 of CaO."""
    state = case().predict()
    solids = part(state.stream("syrup.liquor"), "solids")
    p2o5 = 0.2 * solids
    assert p2o5 == pytest.approx(12.15, abs=0.03)
    assert state.values["clarifier.phosphoric_acid"] == pytest.approx(p2o5 * 195.988 / 141.945 / 0.75, rel=1e-6)
    assert state.values["clarifier.lime"] == pytest.approx(p2o5 * 3 * 56.077 / 141.945, rel=1e-6)
    assert state.values["clarifier.flocculant_used"] == pytest.approx(0.010 * solids, rel=1e-9)
    assert flow(state, "water.water.1") == pytest.approx(0.005 * 93.6191, rel=1e-6)


def test_scum_by_hand() -> None:
    """Solids that enter and form, 85 % of them in a scum of 8 %; the liquor of both has one composition."""
    state = case().predict()
    syrup, clear, scum = (state.stream(s) for s in ("syrup.liquor", "clarifier.clarified", "clarifier.scum"))
    formed = 0.01 * (part(syrup, "ash") + part(syrup, "other"))
    formed += 0.2e-3 * part(syrup, "solids") * (1 + 3 * 56.077 / 141.945)
    whole = part(syrup, "suspended") + formed
    assert part(scum, "suspended") == pytest.approx(0.85 * whole, rel=1e-5)
    assert float(scum.flow) == pytest.approx(0.85 * whole / 0.08, rel=1e-5)
    assert 1.0 < 100 * float(scum.flow) / 93.6191 < 3.0  # usual share, from memory
    for name in ("sucrose", "reducing_sugars", "ash", "other", "colour"):
        ratio = part(scum, name) / part(clear, name)
        assert ratio == pytest.approx(part(scum, "water") / part(clear, "water"), rel=1e-9)
    assert worst_closure(state) <= 1e-9


def test_clarified_syrup_is_purer_and_lighter() -> None:
    """Nine tenths of the colour, fewer solids, and a little purity gained."""
    state = case().predict()
    gained = state.measured("clarifier.clarified", "true purity") - state.measured("syrup.liquor", "true purity")
    assert 0.05 < gained < 0.3
    both = sum(part(state.stream(s), "colour") for s in ("clarifier.clarified", "clarifier.scum"))
    assert both == pytest.approx(0.9 * part(state.stream("syrup.liquor"), "colour"), rel=1e-9)


@pytest.mark.parametrize(
    ("change", "stream", "quantity", "sign"),
    [
        ({"clarifier.p2o5_dose": 300.0}, "clarifier.scum", "mass flow", 1),
        ({"clarifier.scum_solids": 5.0}, "clarifier.scum", "mass flow", 1),
        ({"clarifier.solids_removed": 70.0}, "clarifier.clarified", "suspended solids", 1),
        ({"clarifier.colour_removed": 15.0}, "clarifier.clarified", "colour", -1),
        ({"clarifier.other_precipitated": 2.0}, "clarifier.clarified", "true purity", 1),
        ({"clarifier.dosing_water": 1.0}, "clarifier.clarified", "dry substance", -1),
        ({"clarifier.inversion": 0.5}, "clarifier.clarified", "reducing sugars", 1),
        ({"clarifier.temperature_drop": 4.0}, "clarifier.clarified", "temperature", -1),
    ],
)
def test_answers_in_the_right_direction(change: dict[str, float], stream: str, quantity: str, sign: int) -> None:
    before, after = case().predict(), case().predict(change)
    assert (after.measured(stream, quantity) - before.measured(stream, quantity)) * sign > 0
    assert worst_closure(after) <= 1e-9


def test_acid_syrup_inverts_as_it_floats() -> None:
    """Ten times for a pH unit less; a small loss at pH 6.5 and 85 °C in three quarters of an hour."""
    usual, acid = case("vukov").predict(), case("vukov").predict({"clarifier.ph": 5.5})
    loss = usual.values["clarifier.inverted"]
    assert 0.005 < loss < 0.2
    assert acid.values["clarifier.inverted"] == pytest.approx(10 * loss, rel=0.02)
    assert worst_closure(acid) <= 1e-9


def test_capacities() -> None:
    """Half an hour of 72.8 m³/h in 60 m³ is kept; syrup of 68 % in 30 m³ is not."""
    view = case().assembly.stations["clarifier"].bound(case().predict().values.__getitem__)
    kept = list(view.capacities())
    assert all(float(used) < float(there) for _, used, there in kept)
    assert float(kept[0][1]) == pytest.approx(0.5 * 93.6191 / 1.28, rel=0.01)
    tight = case().predict({"clarifier.volume": 30.0, "syrup.dry_substance": 68.0, "clarifier.scum_solids": 1.5})
    view = case().assembly.stations["clarifier"].bound(tight.values.__getitem__)
    assert all(float(used) > float(there) for _, used, there in view.capacities())


@pytest.mark.parametrize("law", ["set", "vukov"])
def test_no_syrup(law: str) -> None:
    """Nothing flows, nothing is dosed."""
    found = predict(case(law).model, case(law).first_estimate(case(law).settings({"syrup.rate": 0.0})))
    state = State(case(law).assembly, found.values, found.scaled, found.method)
    assert flow(state, "clarifier.scum") == pytest.approx(0.0, abs=1e-9)
    assert state.values["clarifier.lime"] == pytest.approx(0.0, abs=1e-9)
    assert worst_closure(state) <= 1e-9
