"""Worked refinery figures through whole stations: liquor evaporation, back-boiling, wash against colour, silo wall."""

from __future__ import annotations

from functools import cache
from math import exp
from typing import Any

import pytest
from scipy.optimize import brentq

from canewright.plant.plant import Plant, State
from plant.boiling_house import PLAIN, STRIKE, described, number, of, worst_closure
from plant.refinery_line import alone, solved

EFFECT: dict[str, Any] = {"kind": "evaporator effect", "area": 250, "heat_loss": 1.0}


@cache
def three_effects() -> Plant:
    """84.6 t/h of fine liquor of 65 % through three effects under 20 kPa."""
    stations: dict[str, Any] = {
        "liquor": {"kind": "liquor supply", "rate": 84.6, "dry_substance": 65, "purity": 99.5, "suspended": 0,
                   "colour": 150, "temperature": 80},
        "steam": {"kind": "steam supply", "pressure": 120, "superheat": 1},
        "river": {"kind": "water supply", "temperature": 28},
        "condenser": {"kind": "condenser", "pressure": 20},
    }  # fmt: skip
    stations |= {f"effect {k}": {**EFFECT, "heat_transfer_coefficient": u} for k, u in ((1, 1.1), (2, 0.9), (3, 0.7))}
    connections = {
        "effect 1.liquor": "liquor.liquor", "effect 1.steam": "steam.steam",
        "effect 2.liquor": "effect 1.concentrated", "effect 2.steam": "effect 1.vapour",
        "effect 3.liquor": "effect 2.concentrated", "effect 3.steam": "effect 2.vapour",
        "condenser.vapours": "effect 3.vapour", "condenser.water": "river.water",
        "outside.warm": "condenser.warm", "outside.thick": "effect 3.concentrated",
        **{f"outside.condensate {k}": f"effect {k}.condensate" for k in (1, 2, 3)},
    }  # fmt: skip
    return described(stations, connections)


def thickened(dry_substance: float, fed_at: float = 80.0) -> State:
    """The three effects at the steam pressure that gives a dry substance."""
    plant = three_effects()

    def at(pressure: float) -> State:
        return plant.predict({"steam.pressure": pressure, "liquor.temperature": fed_at})

    def off(pressure: float) -> float:
        return number(at(pressure), "effect 3.concentrated", "dry_substance") - dry_substance

    return at(brentq(off, 100.0, 200.0, xtol=1e-7))


@pytest.mark.parametrize(("to", "share"), [(78.0, 1.0 / 6.0), (74.0, 0.1216)])
def test_liquor_thickened_loses_its_water(to: float, share: float) -> None:
    """65 to 78 % evaporates one sixth of the feed exactly, 65 to 74 % 12.16 % (worked by hand)."""
    state = thickened(to)
    boiled = sum(number(state, f"effect {k}.vapour", "water") for k in (1, 2, 3))
    assert boiled / 84.6 == pytest.approx(share, abs=5e-5)
    assert worst_closure(state) <= 1e-9


def test_steam_of_three_effects() -> None:
    """14.1 t/h boiled off 84.6 t/h takes about 14.1/(3 · 0.93) = 5.05 t/h of steam (worked by hand).

    The hand figure leaves the warming of the feed out; it holds where flash in the later effects covers that, near
    87 °C. Fed colder, the same evaporation takes more steam.
    """
    assert number(thickened(78.0), "steam.steam.1", "water") > 5.5
    state = thickened(78.0, 87.0)
    boiled = sum(number(state, f"effect {k}.vapour", "water") for k in (1, 2, 3))
    assert boiled == pytest.approx(14.1, abs=1e-3)
    assert number(state, "steam.steam.1", "water") == pytest.approx(5.05, rel=0.03)


def test_saturated_liquor_wants_a_warm_last_effect() -> None:
    """78 % is above saturation at 70 °C, 76.45 % (Charles 1960, from memory): the last effect must run warmer."""
    state = thickened(78.0)
    assert number(state, "effect 3.concentrated", "temperature") > 60.0


def back_boiled(share: float) -> State:
    """One strike whose run-off goes back to it in a share: yield 50 %, ratio 10, 5 % colour formed, 200 IU."""
    stations = {
        "liquor": {"kind": "liquor supply", "rate": 100 / 0.65, "purity": 99.4, "colour": 200, "suspended": 0},
        **{name: STRIKE[name] for name in ("steam", "water", "river", "condenser")},
        "pan": {"kind": "vacuum pan", "brix": 90, "exhaustion": "crystal content", "crystal_content": 50,
                "crystal_inclusion": 0.1, "colour_formed": 5},
        "spin": {"kind": "centrifugals", **PLAIN},
        "jet": {"kind": "liquor splitter", "share": share},
    }  # fmt: skip
    connections = {
        "pan.feeds": ["liquor.liquor", "jet.part"], "pan.steam": "steam.steam", "spin.massecuite": "pan.massecuite",
        "spin.wash": "water.water", "jet.feed": "spin.molasses", "condenser.vapours": "pan.vapour",
        "condenser.water": "river.water", "outside.warm": "condenser.warm", "outside.condensate": "pan.condensate",
        "outside.sugar": "spin.sugar", "outside.jet": "jet.rest",
    }  # fmt: skip
    return described(stations, connections).predict()


@pytest.mark.parametrize("share", [0.0, 10.0, 30.0, 45.0])
def test_back_boiling_is_its_fixed_point(share: float) -> None:
    """Solids 1/(1 - b (1-y)) and colour 1/(1 - b g (1 - y/r)) times those of the liquor (balances, worked by hand).

    With nothing returned the sugar has 21 IU: Thompson, Fry and Hasrajani (2005), Table 1 (read).
    """
    state = back_boiled(share)
    b = share / 100.0
    solids, colour = 100.0 / (1.0 - 0.5 * b), 20000.0 / (1.0 - b * 1.05 * 0.95)
    assert number(state, "pan.massecuite", "solids") == pytest.approx(solids, rel=1e-8)
    assert number(state, "pan.massecuite", "total_colour") == pytest.approx(1.05 * colour, rel=1e-6)
    assert number(state, "spin.sugar", "icumsa_colour") == pytest.approx(0.105 * colour / solids, rel=1e-6)
    assert worst_closure(state) <= 1e-9


def washed(wash: float) -> tuple[float, float, float]:
    """Colour of sugar, IU, its crystal, t/h, and wash on crystal of the first strike with a film."""
    stations = {
        "massecuite": {"kind": "massecuite supply", "rate": 50, "moisture": 9.5, "purity": 99.4, "film_purity": 98.8,
                       "suspended": 0, "colour": 210, "colour_in_film": 95, "temperature": 70},
        "water": {"kind": "water supply", "temperature": 82},
        "spin": {"kind": "centrifugals", "wash_on_massecuite": wash, "crystal_loss": 0},
    }  # fmt: skip
    plant = described(stations, {"spin.massecuite": "massecuite.massecuite", "spin.wash": "water.water",
                                 "outside.sugar": "spin.sugar", "outside.jet": "spin.molasses"})  # fmt: skip
    state = plant.predict()
    sugar = of(state, "spin.sugar")
    return float(sugar.icumsa_colour), float(sugar.crystal), state.values["spin.wash_on_crystal"]


def test_wash_trades_colour_against_sugar() -> None:
    """Film colour falls as exp(-k w/X), crystal by 2.5 t for each t of wash (laws from memory, worked by hand)."""
    none, one, two = (washed(w) for w in (0.0, 1.0, 2.0))
    assert none[0] > one[0] > two[0]
    assert none[1] - one[1] == pytest.approx(2.5 * 0.5, rel=1e-9)
    assert one[1] - two[1] == pytest.approx(2.5 * 0.5, rel=1e-9)
    inside = 0.05 * 210.0 * 45.25 / none[1]
    film = [colour * (1.0 + 0.04 * exp(-25.0 * w)) - inside for colour, _, w in (none, one, two)]
    assert film[1] / film[0] == pytest.approx(exp(-25.0 * one[2]), rel=1e-6)
    assert film[2] / film[0] == pytest.approx(exp(-25.0 * two[2]), rel=1e-6)


def test_carbon_too_short_or_furnace_too_small_is_named() -> None:
    state = solved(alone("carbon columns", carbon=3.0, furnace=40.0))
    limits = list(state.assembly.stations["it"].bound(state.values.__getitem__).capacities())
    assert len(limits) == 2
    assert all(float(used) > float(there) for _, used, there in limits)


def test_overloaded_screen_is_named() -> None:
    state = solved(alone("strainer", area=1.0))
    ((_, used, there),) = state.assembly.stations["it"].bound(state.values.__getitem__).capacities()
    assert float(used) == pytest.approx(84.6, abs=0.02)
    assert float(there) == pytest.approx(60.0)


@pytest.mark.parametrize(("wall", "condenses"), [(28.0, False), (15.0, True)])
def test_warm_sugar_against_a_cold_wall(wall: float, condenses: bool) -> None:
    """At 40 °C and 45 % the vapour has 0.45 · 7.38 = 3.32 kPa; water boils under that at 25.7 °C (IAPWS-IF97)."""
    stations = {"white": {"kind": "sugar supply", "rate": 50, "temperature": 40}, "it": {"kind": "silo", "wall": wall}}
    state = described(stations, {"it.sugar": "white.sugar", "outside.out": "it.sugar_out"}).predict()
    _, (_, over, there) = state.assembly.stations["it"].bound(state.values.__getitem__).capacities()
    assert float(over) == pytest.approx(3.32, abs=0.01)
    assert (float(over) > float(there)) == condenses
