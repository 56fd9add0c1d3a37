"""Vacuum pan: exhaustion, colour, boiling temperature and heat; four refinery strikes as published."""

from __future__ import annotations

import math

import pytest
from iapws import IAPWS97

from canewright.plant.plant import Plant
from plant.boiling_house import PLAIN, STRIKE, described, idle, number, of, strike, worst_closure

FOUR = ("R1", "R2", "R3", "R4")


def four_strikes() -> Plant:
    stations = {
        "liquor": {"kind": "liquor supply", "rate": 100 / 0.65, "purity": 99.4, "colour": 200, "suspended": 0},
        **{name: STRIKE[name] for name in ("steam", "water", "river", "condenser")},
    }
    connections: dict[str, object] = {
        "condenser.vapours": [f"{k}.vapour" for k in FOUR],
        "condenser.water": "river.water",
        "outside.warm": "condenser.warm",
    }
    feed = "liquor.liquor"
    for k in FOUR:
        stations[k] = {
            "kind": "vacuum pan", "brix": 90, "exhaustion": "crystal content", "crystal_content": 50,
            "crystal_inclusion": 0.1, "colour_formed": 5,
        }  # fmt: skip
        stations[f"spin {k}"] = {"kind": "centrifugals", **PLAIN}
        connections |= {
            f"{k}.feeds": feed, f"{k}.steam": "steam.steam", f"outside.water {k}": f"{k}.condensate",
            f"spin {k}.massecuite": f"{k}.massecuite", f"spin {k}.wash": "water.water",
            f"outside.sugar {k}": f"spin {k}.sugar",
        }  # fmt: skip
        feed = f"spin {k}.molasses"
    return described(stations, {**connections, "outside.jet": feed})


def test_four_refinery_strikes_of_thompson_fry_and_hasrajani() -> None:
    """Thompson, Fry and Hasrajani (2005), Thoughts on Refinery Boiling Schemes, Table 1 (read).

    Yield 50 % on solids, massecuite on sugar colour 10, 5 % colour formed, liquor of 99.4 purity and 200 IU.
    """
    state = four_strikes().predict()
    massecuite = [number(state, f"{k}.massecuite", "icumsa_colour") for k in FOUR]
    sugar = [number(state, f"spin {k}.sugar", "icumsa_colour") for k in FOUR]
    solids = [number(state, f"spin {k}.sugar", "solids") for k in FOUR]
    jets = [number(state, f"spin {k}.molasses", "icumsa_colour") for k in FOUR]
    purity = [number(state, f"spin {k}.molasses", "purity") for k in FOUR]
    assert massecuite == pytest.approx([210, 418.95, 835.81, 1667.43], rel=1e-5)
    assert sugar == pytest.approx([21, 41.895, 83.581, 166.743], rel=1e-5)
    assert solids == pytest.approx([50, 25, 12.5, 6.25], rel=1e-8)
    assert jets == pytest.approx([399, 796.005, 1588.03, 3168.12], rel=1e-5)
    assert purity == pytest.approx([98.8, 97.6, 95.2, 90.4], rel=1e-8)
    blended = [c * s for c, s in zip(sugar, solids, strict=True)]
    assert sum(blended) / sum(solids) == pytest.approx(44.63, abs=0.005)
    assert sum(blended[:3]) / sum(solids[:3]) == pytest.approx(35.91, abs=0.005)
    assert worst_closure(state) <= 1e-9


def test_sjm_recovery_of_a_strike_cured_without_film() -> None:
    """SJM formula (from memory): syrup 85, sugar 100, molasses 32 give 77.9412 % of solids and 91.6955 % of sucrose.

    One pan exhausted to 32 purity is not practice; the balance of purities does not mind.
    """
    plant = strike({"syrup": {"purity": 85}, "pan": {"mother_liquor_purity": 32}, "centrifugals": PLAIN})
    state = plant.predict()
    made, came = of(state, "centrifugals.sugar"), of(state, "syrup.liquor")
    assert made.solids / came.solids == pytest.approx(0.779412, abs=1e-6)
    assert made.solids / came.sucrose == pytest.approx(0.916955, abs=1e-6)


def test_crystal_on_brix_follows_from_two_purities() -> None:
    """100 (P - P_ml) / (100 - P_ml): 57.86 % for massecuite 87.358 and mother liquor 70 (definition, hand-worked)."""
    state = strike({"syrup": {"purity": 87.358}, "pan": {"mother_liquor_purity": 70}}).predict()
    out = of(state, "pan.massecuite")
    assert 100 * out.crystal / out.solids == pytest.approx(57.86, abs=0.001)
    assert out.dry_substance == pytest.approx(92.0, rel=1e-9)
    assert 100 * out.sucrose / out.dissolved == pytest.approx(70.0, rel=1e-9)


def liquor_heat(water: float, sucrose: float, non_sucrose: float, t: float) -> float:
    """Specific heat of Bubnik et al. (1995), Sugar Technologists Manual (from memory), integrated by hand, MJ/h."""
    solids = sucrose + non_sucrose
    return t * (4.1868 * (water + solids) - 2.97 * solids + 0.46 * sucrose) + 0.00375 * solids * t * t


def test_steam_covers_evaporation_warming_and_losses() -> None:
    """The heat balance by hand with an independent IAPWS-97 (iapws package); 1.05-1.20 t steam per t evaporated."""
    state = strike().predict()
    out, came, vapour = (of(state, n) for n in ("pan.massecuite", "syrup.liquor", "pan.vapour"))
    steam = float(of(state, "steam.steam.1").water)
    t = float(out.temperature)
    crystal = t * (1.6768 + 0.00375 * t) - (15.8 + 0.541 * (t - 25) + 0.0016 * (t * t - 625))
    massecuite = (
        liquor_heat(out.water, out.sucrose, out.non_sucrose, t) + out.crystal * crystal + 0.9 * t * out.suspended
    )
    fed = liquor_heat(came.water, came.sucrose, came.non_sucrose, 60.0) + 0.9 * 60.0 * came.suspended
    boiled = vapour.water * IAPWS97(P=0.015, T=float(vapour.temperature) + 273.15).h
    saturated = IAPWS97(P=0.170, x=0).T
    # condensate streams take the enthalpy of water at the 0.5 MPa of a pumped line
    kept = IAPWS97(P=0.5, T=saturated).h
    given = IAPWS97(P=0.170, T=float(of(state, "steam.steam.1").temperature) + 273.15).h - kept
    assert steam * given * 0.97 == pytest.approx(massecuite + boiled - fed, rel=2e-5)
    assert 1.05 < steam / vapour.water < 1.20
    assert number(state, "pan.condensate", "temperature") == pytest.approx(IAPWS97(P=0.170, x=0).T - 273.15, abs=1e-3)


@pytest.mark.parametrize(("law", "rise"), [("none", 0.0), ("handbook", 10.0), ("norrish", 10.0)])
def test_massecuite_boils_above_water_by_the_chosen_law(law: str, rise: float) -> None:
    """Water boils at 53.97 °C under 15 kPa (IAPWS-97); an A massecuite boils about 10 K above (common practice)."""
    state = strike({"pan": {"boiling_point": law, "head_rise": 3}}).predict()
    above = number(state, "pan.vapour", "temperature") - (IAPWS97(P=0.015, x=0).T - 273.15)
    assert above == pytest.approx(rise, abs=2.5 if rise else 1e-3)
    assert number(state, "pan.massecuite", "temperature") == pytest.approx(
        number(state, "pan.vapour", "temperature") + 3.0, abs=1e-9
    )


def test_a_footing_keeps_its_crystal_colour() -> None:
    """Footing 10 t/h: crystal colour out is the footing's plus 0.02 of massecuite colour times what grew (by hand)."""
    stations = {**STRIKE, "footing": {"kind": "massecuite supply", "rate": 10, "suspended": 0.0}}
    connections = {
        "pan.feeds": ["syrup.liquor", "footing.massecuite"], "pan.steam": "steam.steam",
        "centrifugals.massecuite": "pan.massecuite", "centrifugals.wash": "water.water",
        "condenser.vapours": "pan.vapour", "condenser.water": "river.water", "outside.s": "centrifugals.sugar",
        "outside.m": "centrifugals.molasses", "outside.c": "pan.condensate", "outside.w": "condenser.warm",
    }  # fmt: skip
    state = described(stations, connections).predict()
    out, foot = of(state, "pan.massecuite"), of(state, "footing.massecuite")
    wanted = foot.crystal_colour + 0.02 * out.icumsa_colour * (out.crystal - foot.crystal)
    assert out.crystal_colour == pytest.approx(wanted, rel=1e-8)
    formed = 0.02 * (foot.colour + of(state, "syrup.liquor").colour)
    assert out.total_colour - formed == pytest.approx(foot.total_colour + of(state, "syrup.liquor").colour, rel=1e-12)
    assert worst_closure(state) <= 1e-9


def test_lower_mother_liquor_purity_gives_more_crystal_and_hotter_boiling() -> None:
    plant = strike()
    base = plant.predict()
    lower = plant.predict({"pan.mother_liquor_purity": 66.0}, start=base)
    assert number(lower, "pan.massecuite", "crystal") > number(base, "pan.massecuite", "crystal")
    wetter = plant.predict({"pan.brix": 90.0}, start=base)
    assert number(wetter, "steam.steam.1", "water") < number(base, "steam.steam.1", "water")
    assert number(wetter, "pan.massecuite", "temperature") < number(base, "pan.massecuite", "temperature")


def test_an_idle_pan_solves() -> None:
    values = idle(strike(), syrup__rate=0.0)
    assert values["pan.massecuite.crystal"] == pytest.approx(0.0, abs=1e-12)
    assert values["steam.steam.1.water"] == pytest.approx(0.0, abs=1e-12)
    assert values["pan.vapour.temperature"] == pytest.approx(53.97, abs=0.01)


def test_capacities_are_strike_volume_and_crystal_that_flows() -> None:
    """By hand: 4 h cycles at 1.45 t/m³; no more crystal than 68 % of the solids, which 98 to 92 purity would pass."""
    for purity, left, fits in ((85.0, 70.0, True), (98.0, 92.0, False)):
        state = strike({"syrup": {"purity": purity}, "pan": {"mother_liquor_purity": left}}).predict()
        pan = state.assembly.stations["pan"].bound(state.values.__getitem__)
        (_, volume, there), (_, crystal, flows) = pan.capacities()
        assert volume == pytest.approx(number(state, "pan.massecuite", "flow") * 4 / 1.45, rel=1e-12)
        assert there == pytest.approx(200.0)
        assert flows == pytest.approx(0.68 * number(state, "pan.massecuite", "solids"), rel=1e-12)
        assert (crystal <= flows) == fits


def test_supersaturation_left_decides_the_exhaustion() -> None:
    """Mother liquor by hand: sucrose = y W q_s(t) SC(x), Vavrinecz and Rózsa (both from memory) written out here."""
    state = strike({"pan": {"exhaustion": "supersaturation", "supersaturation": 1.1}}).predict()
    out = of(state, "pan.massecuite")
    t, x = float(out.temperature), float(out.non_sucrose / out.water)
    pure = 64.397 + 0.07251 * t + 0.0020569 * t * t - 9.035e-6 * t**3
    held = pure / (100 - pure) * (0.982 - 0.06265 * x + 0.018 * math.exp(-2.1 * x))
    assert out.sucrose / out.water == pytest.approx(1.1 * held, rel=1e-6)
    assert worst_closure(state) <= 1e-9


def test_tighter_cooler_or_better_spent_strikes_have_more_crystal() -> None:
    """Where supersaturation decides: higher brix, deeper vacuum, less supersaturation left, each exhausts further."""
    plant = strike({"pan": {"exhaustion": "supersaturation"}})
    base = plant.predict()
    changes = ({"pan.brix": 93.0}, {"condenser.pressure": 12.0}, {"pan.supersaturation": 1.08})
    for change in changes:
        state = plant.predict(change, start=base)
        assert number(state, "pan.massecuite", "crystal") > number(base, "pan.massecuite", "crystal")
        assert number(state, "centrifugals.molasses", "purity") < number(base, "centrifugals.molasses", "purity")
    values = idle(plant, syrup__rate=0.0)
    assert values["pan.massecuite.crystal"] == pytest.approx(0.0, abs=1e-12)
