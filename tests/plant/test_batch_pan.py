"""Batch and continuous pans: strikes, seed, heat through the calandria, compartments; published graining by hand."""

from __future__ import annotations

import math

import pytest
from iapws import IAPWS97

from canewright.analysis.stock import pearson_share, seed_mass
from canewright.plant.plant import Plant, State
from plant.boiling_house import STRIKE, described, idle, number, of, strike, worst_closure

FOOTING_CONNECTIONS = {
    "pan.feeds": "syrup.liquor", "pan.footing": "drawn.part", "pan.steam": "steam.steam",
    "drawn.feed": "footing.massecuite", "outside.left": "drawn.rest",
    "centrifugals.massecuite": "pan.massecuite", "centrifugals.wash": "water.water",
    "condenser.vapours": "pan.vapour", "condenser.water": "river.water", "outside.s": "centrifugals.sugar",
    "outside.m": "centrifugals.molasses", "outside.c": "pan.condensate", "outside.w": "condenser.warm",
}  # fmt: skip


def on_footing(kind: str = "batch pan", **settings: object) -> Plant:
    """A strike of syrup on a magma of which the pan draws what its grain needs."""
    stations = {
        **STRIKE,
        "footing": {"kind": "massecuite supply", "rate": 20, "moisture": 10, "purity": 96, "film_purity": 60},
        "drawn": {"kind": "sugar draw"},
        "pan": {"kind": kind, **settings},
    }
    return described(stations, FOOTING_CONNECTIONS)


def capacities(state: State) -> dict[str, tuple[float, float]]:
    station = state.assembly.stations["pan"].bound(state.values.__getitem__)
    return {sentence: (float(used), float(there)) for sentence, used, there in station.capacities()}


def test_footing_by_the_cubes_of_the_sizes() -> None:
    """Seed 0.35 mm, grain 0.8 mm: (0.35/0.8)³ = 8.374 % of the crystal; per strike by the cube law of the handbook."""
    state = on_footing().predict()
    out, drawn = of(state, "pan.massecuite"), of(state, "drawn.part")
    assert drawn.crystal == pytest.approx(0.083740234 * out.crystal, rel=1e-6)
    per_strike = seed_mass(60 * 1.45, float(100 * out.crystal / out.flow), 350.0, 800.0)
    assert state.values["pan.seed_in_strike"] == pytest.approx(float(per_strike), rel=1e-5)
    assert worst_closure(state) <= 1e-9


def test_slurry_seed_of_a_published_rule() -> None:
    """20 t of crystal of 1.0 mm: 20 g of 10 µm slurry, 312.5 kg of 0.25 mm seed (own figures, hand-worked)."""
    for seed, wanted in ((0.01, 0.0200), (0.25, 312.5)):
        state = strike({"pan": {"kind": "batch pan", "seed_size": seed, "grain_size": 1.0}}).predict()
        out = of(state, "pan.massecuite")
        strike_volume = 20.0 / (out.crystal / out.flow) / 1.45
        state = strike(
            {"pan": {"kind": "batch pan", "seed_size": seed, "grain_size": 1.0, "strike_volume": float(strike_volume)}}
        ).predict()
        assert state.values["pan.seed_in_strike"] == pytest.approx(wanted, rel=1e-5)


def test_strikes_and_time_under_steam_by_hand() -> None:
    """Strikes a day = 24 massecuite / (60 m³ × 1.45); heat of one through 360 m² at 0.45 kW/m²K (IAPWS-97)."""
    state = on_footing().predict()
    out = of(state, "pan.massecuite")
    strikes = 24 * out.flow / (60 * 1.45)
    assert state.values["pan.strikes_a_day"] == pytest.approx(strikes, rel=1e-12)
    difference = IAPWS97(P=0.170, x=0).T - 273.15 - out.temperature
    hours = state.values["pan.duty"] * 24 / strikes / (360 * 0.45 * difference)
    assert state.values["pan.heating_time"] == pytest.approx(hours, rel=1e-5)


def test_capacities_of_a_batch_pan() -> None:
    state = on_footing().predict()
    limits = capacities(state)
    busy, there = limits["hours of all strikes within those of the pans"]
    assert (busy, there) == pytest.approx((state.values["pan.strikes_a_day"] * 3.75, 72.0))
    assert limits["heat of a strike passed in its time under steam"][1] == pytest.approx(3.0)
    footing, room = limits["footing no more than the graining volume"]
    assert footing == pytest.approx(number(state, "drawn.part", "flow"))
    assert room == pytest.approx(0.4 * number(state, "pan.massecuite", "flow"))
    low = on_footing(area=150).predict()
    used, allowed = capacities(low)["heat of a strike passed in its time under steam"]
    assert used > allowed, "a small calandria takes longer than the grain"


def test_colder_steam_or_fouled_tubes_take_longer() -> None:
    plant = on_footing()
    base = plant.predict()
    cold = plant.predict({"steam.pressure": 110.0}, start=base)
    fouled = plant.predict({"pan.heat_transfer_coefficient": 0.3}, start=base)
    for state in (cold, fouled):
        assert state.values["pan.heating_time"] > base.values["pan.heating_time"]
        assert state.values["pan.strikes_a_day"] == pytest.approx(base.values["pan.strikes_a_day"], rel=1e-3)


def test_larger_seed_draws_more_and_boils_no_slurry() -> None:
    plant = on_footing()
    base, large = plant.predict(), plant.predict({"pan.seed_size": 0.45})
    assert number(large, "drawn.part", "flow") > 2 * number(base, "drawn.part", "flow")
    assert number(large, "pan.massecuite", "purity") > number(base, "pan.massecuite", "purity")


@pytest.mark.parametrize("kind", ["batch pan", "continuous pan"])
def test_a_pan_at_rest_solves(kind: str) -> None:
    values = idle(on_footing(kind), syrup__rate=0.0)
    assert values["pan.massecuite.crystal"] == pytest.approx(0.0, abs=1e-12)
    assert values["drawn.part.crystal"] == pytest.approx(0.0, abs=1e-9)
    assert values["pan.seed_crystal"] == pytest.approx(0.0, abs=1e-12)


def test_graining_a_c_strike_as_published() -> None:
    """A public page on C massecuite dropping purity, example 1 (read): figures of its first two steps.

    Graining material of 64 purity from A molasses 72 and C light 62, both of 75 brix: 2 to 8 parts of solids, 4.70 and
    18.81 t of 23.51 t; run up with 31.69 t of solids of B molasses of 51 purity to 55.20 t. The dropping purity,
    (23.51·64 + 31.69·51)/55.20 = 56.54, is hand-worked from them.
    """
    share = float(pearson_share(72.0, 62.0, 64.0))
    assert share == pytest.approx(0.2)
    rates = {"A": (6.267, 72), "C light": (25.08, 62), "B": (31.69 / 0.75, 51)}
    stations = {n: {"kind": "liquor supply", "rate": r, "purity": p, "dry_substance": 75, "suspended": 0}
                for n, (r, p) in rates.items()}  # fmt: skip
    stations |= {n: dict(STRIKE[n]) for n in ("steam", "river", "condenser")}
    stations["grain"] = {
        "kind": "batch pan", "brix": 92, "exhaustion": "crystal content", "crystal_content": 20, "seed_size": 0.01,
        "grain_size": 0.12, "boiling_point": "handbook",
    }  # fmt: skip
    stations["strike"] = {
        "kind": "batch pan", "brix": 92, "mother_liquor_purity": 38, "boiling_point": "handbook", "seed_size": 0.12,
        "grain_size": 0.25,
    }  # fmt: skip
    connections = {
        "grain.feeds": ["A.liquor", "C light.liquor"], "grain.steam": "steam.steam", "strike.steam": "steam.steam",
        "strike.feeds": ["grain.massecuite", "B.liquor"], "outside.c1": "grain.condensate",
        "outside.c2": "strike.condensate", "condenser.vapours": ["grain.vapour", "strike.vapour"],
        "condenser.water": "river.water", "outside.w": "condenser.warm", "outside.m": "strike.massecuite",
    }  # fmt: skip
    state = described(stations, connections).predict()
    assert number(state, "grain.massecuite", "purity") == pytest.approx(64.0, abs=0.005)
    assert number(state, "grain.massecuite", "solids") == pytest.approx(23.51, abs=0.005)
    assert number(state, "strike.massecuite", "solids") == pytest.approx(55.20, abs=0.005)
    assert number(state, "strike.massecuite", "flow") == pytest.approx(60.0, abs=0.01)
    assert number(state, "strike.massecuite", "purity") == pytest.approx(56.54, abs=0.005)
    assert worst_closure(state) <= 1e-9


def test_compartments_of_a_continuous_pan_by_hand() -> None:
    """Massecuite grows by equal steps from the footing, so each of four compartments holds it V ρ / (4 q)."""
    state = on_footing("continuous pan", compartments="4", volume=120, area=1500).predict()
    out, seed = number(state, "pan.massecuite", "flow"), number(state, "drawn.part", "flow")
    stays = [120 * 1.45 / 4 / (seed + (out - seed) * k / 4) for k in (1, 2, 3, 4)]
    assert state.values["pan.residence_time"] == pytest.approx(sum(stays), rel=1e-5)
    spread = 100 * math.sqrt(sum(t * t for t in stays)) / sum(stays) * (0.8 - 0.35) / 0.8
    assert state.values["pan.size_variation"] == pytest.approx(spread, rel=1e-5)
    assert worst_closure(state) <= 1e-9


def test_size_spread_is_that_of_stirred_vessels_in_a_row() -> None:
    """Without growth of the flow (all of it footing) n equal compartments spread what grew by 100/√n (derived).

    Footing large against what grows: seed of 0.78 of 0.80 mm, so nearly all massecuite passes every compartment.
    """
    found = {}
    for number_of in ("4", "16"):
        stations = {**STRIKE, "pan": {"kind": "continuous pan", "compartments": number_of, "seed_size": 0.78}}
        stations["syrup"] = {"kind": "liquor supply", "rate": 3}
        stations["footing"] = {"kind": "massecuite supply", "rate": 100, "moisture": 8, "purity": 85, "film_purity": 70}
        stations["drawn"] = {"kind": "sugar draw"}
        state = described(stations, FOOTING_CONNECTIONS).predict()
        found[number_of] = state.values["pan.size_variation"] / (0.02 / 0.80)
    assert found["4"] == pytest.approx(50.0, rel=0.02)
    assert found["16"] == pytest.approx(25.0, rel=0.02)


def test_capacities_of_a_continuous_pan() -> None:
    state = on_footing("continuous pan", time_wanted=2.0).predict()
    limits = capacities(state)
    used, there = limits["grain has its time to grow"]
    assert (used, there) == pytest.approx((2.0, state.values["pan.residence_time"]))
    difference = IAPWS97(P=0.170, x=0).T - 273.15 - number(state, "pan.massecuite", "temperature")
    assert limits["heat within what the calandria passes"][1] == pytest.approx(0.4 * 1100 * difference, rel=1e-5)


def test_a_larger_pan_holds_massecuite_longer() -> None:
    plant = on_footing("continuous pan")
    base, large = plant.predict(), plant.predict({"pan.volume": 200.0})
    assert large.values["pan.residence_time"] == pytest.approx(base.values["pan.residence_time"] * 200 / 120, rel=1e-9)


def test_kinds_of_pan_make_the_same_massecuite() -> None:
    """One balance form: with the footing among the feeds, all three kinds drop the same massecuite."""
    made = [of(strike({"pan": {"kind": k}}).predict(), "pan.massecuite") for k in ("vacuum pan", "batch pan")]
    made.append(of(strike({"pan": {"kind": "continuous pan"}}).predict(), "pan.massecuite"))
    for name in ("water", "sucrose", "crystal", "ash", "colour", "crystal_colour", "temperature"):
        first, *others = [float(getattr(m, name)) for m in made]
        assert others == pytest.approx([first, first], rel=1e-9)
