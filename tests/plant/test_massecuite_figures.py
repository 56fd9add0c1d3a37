"""Figures of the raw house that are worked by hand in the laboratory, read off the solved stations.

Own worked figures of the handbook chapter on massecuites: 85/68/92 and 62/36/96, C sugar of 84, blends to 74 and 71,
sugars of 98.80 and 97.90 pol. Formulas derived from balances; safety factor from memory.
"""

from __future__ import annotations

import pytest

from canewright.analysis.stock import pearson_share
from canewright.analysis.target_families import difference
from plant.boiling_house import PLAIN, STRIKE, STRIKE_CONNECTIONS, described, number, of, strike, worst_closure


@pytest.mark.parametrize(
    ("massecuite", "liquor", "brix", "on_solids", "on_mass", "exhausted"),
    [(85.0, 68.0, 92.0, 53.125, 48.875, 62.500), (62.0, 36.0, 96.0, 40.625, 39.000, 65.524)],
)
def test_crystal_and_exhaustion(
    massecuite: float, liquor: float, brix: float, on_solids: float, on_mass: float, exhausted: float
) -> None:
    """Crystal % solids 100 (P - Pm)/(100 - Pm), % massecuite by brix, exhaustion on sucrose."""
    pan = {"mother_liquor_purity": liquor, "brix": brix, "boiling_point": "handbook"}
    state = strike({"syrup": {"purity": massecuite, "suspended": 0}, "pan": pan}).predict()
    out = of(state, "pan.massecuite")
    assert 100 * out.crystal / out.solids == pytest.approx(on_solids, abs=5e-4)
    assert state.measured("pan.massecuite", "crystal content") == pytest.approx(on_mass, abs=5e-4)
    assert 100 * out.crystal / (out.sucrose + out.crystal) == pytest.approx(exhausted, abs=5e-4)


FILM_BY_PURITY = """
[[targets]]
stream = "centrifugals.sugar"
quantity = "true purity"
value = 84
moves = "centrifugals.film"
"""


def test_yield_of_c_sugar() -> None:
    """C massecuite 62, molasses 36, C sugar 84: 54.1667 % of the solids; the film is what makes it 84."""
    state = described(
        {
            **STRIKE, "syrup": {**STRIKE["syrup"], "purity": 62},
            "pan": {"kind": "vacuum pan", "brix": 95, "mother_liquor_purity": 36, "boiling_point": "handbook"},
            "centrifugals": {"kind": "continuous centrifugals", **PLAIN, "film": 20},
        },
        STRIKE_CONNECTIONS,
        FILM_BY_PURITY,
    ).predict()  # fmt: skip
    made, came = number(state, "centrifugals.sugar", "solids"), number(state, "pan.massecuite", "solids")
    assert 100 * made / came == pytest.approx(54.1667, abs=5e-5)
    assert number(state, "centrifugals.molasses", "purity") == pytest.approx(36.0, abs=1e-6)


@pytest.mark.parametrize(("rich", "poor", "wanted", "share"), [(86.0, 68.0, 74.0, 1 / 3), (83.5, 61.0, 71.0, 0.44444)])
def test_blend_to_a_purity_by_the_cross(rich: float, poor: float, wanted: float, share: float) -> None:
    """Syrup 86 and molasses 68 to 74: one third and two thirds of the solids; 83.5 and 61 to 71: 0.44444."""
    stations = {
        **STRIKE,
        "syrup": {"kind": "liquor supply", "purity": rich, "suspended": 0},
        "molasses": {"kind": "liquor supply", "purity": poor, "dry_substance": 74, "suspended": 0},
        "pan": {"kind": "batch pan", "mother_liquor_purity": 55},
    }
    held = f'[[targets]]\nstream = "pan.massecuite"\nquantity = "true purity"\nvalue = {wanted}\nmoves = "syrup.rate"\n'
    feeds = {**STRIKE_CONNECTIONS, "pan.feeds": ["syrup.liquor", "molasses.liquor"]}
    state = described(stations, feeds, held).predict()
    solids = [number(state, f"{n}.liquor", "solids") for n in ("syrup", "molasses")]
    assert solids[0] / sum(solids) == pytest.approx(share, abs=5e-6)
    assert solids[0] / sum(solids) == pytest.approx(float(pearson_share(rich, poor, wanted)), rel=1e-9)


@pytest.mark.parametrize(
    ("pol", "moisture", "factor", "indicator"), [(98.80, 0.20, 0.16667, 20.00), (97.90, 0.55, 0.26190, 35.484)]
)
def test_safety_factor_and_dilution_indicator(pol: float, moisture: float, factor: float, indicator: float) -> None:
    """Raw sugars of the laboratory chapter; without reducing sugars, pol is sucrose."""
    stations = {
        "raw": {
            "kind": "sugar supply", "moisture": moisture, "purity": 100 * pol / (100 - moisture), "film_purity": 60,
            "reducing_sugars": 0,
        },
    }  # fmt: skip
    state = described(stations, {"outside.raw": "raw.sugar"}).predict()
    assert state.measured("raw.sugar", "pol") == pytest.approx(pol, rel=1e-9)
    assert state.measured("raw.sugar", "safety factor") == pytest.approx(factor, abs=5e-6)
    assert state.measured("raw.sugar", "dilution indicator") == pytest.approx(indicator, abs=5e-4)


def test_moister_sugar_keeps_worse() -> None:
    plant = strike({"centrifugals": {"moisture": 0.4}})
    dry, wet = plant.predict(), plant.predict({"centrifugals.moisture": 1.0})
    factors = [s.measured("centrifugals.sugar", "safety factor") for s in (dry, wet)]
    assert factors[0] < factors[1]


def test_mother_liquor_purity_is_apparent_and_below_that_of_the_massecuite() -> None:
    """By pressure filter: pol and brix of what is dissolved alone; true 70 reads lower where reducing sugars rotate."""
    state = strike().predict()
    links = [state.values[f"links.{n}"] for n in ("rotation_of_reducing_sugars", "refraction_of_non_sucrose")]
    out = of(state, "pan.massecuite")
    pol, brix = out.sucrose - links[0] * out.reducing_sugars, out.dissolved + links[1] * out.non_sucrose
    assert state.measured("pan.massecuite", "mother liquor purity") == pytest.approx(100 * pol / brix, rel=1e-9)
    assert 100 * pol / brix < 70.0


def test_target_purity_difference_of_final_molasses() -> None:
    """Reducing sugars on ash 27/22 ask for 32.66 (South African formula, from memory); molasses of 34 is 1.34 above."""
    state = strike({"pan": {"mother_liquor_purity": 34}, "centrifugals": PLAIN}).predict()
    molasses = of(state, "centrifugals.molasses")
    gap = difference(float(molasses.purity), float(molasses.reducing_sugars / molasses.ash))
    assert gap.value == pytest.approx(34 - 32.6575, abs=1e-3)


def test_back_boiling_by_hand() -> None:
    """Half the jet returned to its own strike: colour of the massecuite by the fixed point, hand-worked.

    Strike of 50 % yield, colour ratio 10 and 5 % formed (Thompson, Fry and Hasrajani, 2005, read): jet = 1.995 × its
    feed. With b of the jet back, solids fed are F/(1 - b/2) and colour fed is C0 F/(1 - b·1.995/2), so that 210 IU
    becomes 210 (1 - b/2)/(1 - b·0.9975).
    """
    b = 0.5
    stations = {
        **STRIKE,
        "syrup": {"kind": "liquor supply", "rate": 100 / 0.65, "purity": 99.4, "colour": 200, "suspended": 0},
        "pan": {
            "kind": "vacuum pan", "brix": 90, "exhaustion": "crystal content", "crystal_content": 50,
            "crystal_inclusion": 0.1, "colour_formed": 5,
        },
        "centrifugals": {"kind": "centrifugals", **PLAIN},
        "jet": {"kind": "liquor splitter", "share": 100 * b},
    }  # fmt: skip
    connections = {**STRIKE_CONNECTIONS, "pan.feeds": ["syrup.liquor", "jet.part"]}
    connections |= {"jet.feed": "centrifugals.molasses", "outside.molasses": "jet.rest"}
    state = described(stations, connections).predict()
    assert number(state, "pan.massecuite", "solids") == pytest.approx(100 / (1 - b / 2), rel=1e-8)
    wanted = 210 * (1 - b / 2) / (1 - b * 0.9975)
    assert number(state, "pan.massecuite", "icumsa_colour") == pytest.approx(wanted, rel=1e-7)
    assert worst_closure(state) <= 1e-9
