"""Centrifugals: crystal lost, film left, moisture and colour, worked by hand."""

from __future__ import annotations

import math

import pytest

from canewright.analysis.massecuite_figures import crystal_lost_in_spinning
from canewright.plant.plant import Plant, State
from plant.boiling_house import described, idle, number, of, worst_closure


def spun(**settings: float) -> Plant:
    stations = {
        "massecuite": {"kind": "massecuite supply", "rate": 100, "suspended": 0.2},
        "water": {"kind": "water supply", "temperature": 80},
        "centrifugals": {"kind": "centrifugals", **settings},
    }
    return described(
        stations,
        {
            "centrifugals.massecuite": "massecuite.massecuite",
            "centrifugals.wash": "water.water",
            "outside.sugar": "centrifugals.sugar",
            "outside.molasses": "centrifugals.molasses",
        },
    )


def test_sugar_by_hand() -> None:
    """100 t/h of 8 % water, 87 and 70 purity: crystal (91.8)(17/30) = 52.02; wash 2 t takes 5 t, the screen 2 %.

    Film 4 % times exp(-25·2/52.02). Settings invented, arithmetic by hand.
    """
    state = spun().predict()
    sugar, came = of(state, "centrifugals.sugar"), of(state, "massecuite.massecuite")
    crystal = 91.8 * 17 / 30
    kept = crystal - 2.5 * 2.0 - 0.02 * crystal
    film = 0.04 * kept * math.exp(-25 * 2.0 / crystal)
    assert came.crystal == pytest.approx(crystal, rel=1e-9)
    assert sugar.crystal == pytest.approx(kept, rel=1e-9)
    assert sugar.dissolved == pytest.approx(film, rel=1e-7)
    assert 100 * sugar.sucrose / sugar.dissolved == pytest.approx(70.0, rel=1e-9)
    assert 100 * sugar.water / sugar.flow == pytest.approx(1.0, rel=1e-9)
    assert sugar.crystal_colour == pytest.approx(came.crystal_colour * kept / crystal, rel=1e-7)
    assert sugar.colour == pytest.approx(came.colour * film / came.dissolved, rel=1e-7)
    assert sugar.suspended == pytest.approx(0.05 * 0.2, rel=1e-9)
    assert worst_closure(state) <= 1e-9


def test_more_wash_gives_paler_sugar_less_of_it_and_purer_molasses() -> None:
    plant = spun()
    steps = [plant.predict({"centrifugals.wash_on_massecuite": w}) for w in (0.5, 1.0, 2.0, 4.0)]
    colour = [number(s, "centrifugals.sugar", "icumsa_colour") for s in steps]
    sugar = [number(s, "centrifugals.sugar", "flow") for s in steps]
    purity = [number(s, "centrifugals.molasses", "purity") for s in steps]
    assert colour == sorted(colour, reverse=True)
    assert sugar == sorted(sugar, reverse=True)
    assert purity == sorted(purity)
    assert purity[0] > 70.0


def test_massecuite_without_crystal_and_no_massecuite_solve() -> None:
    liquor = spun(wash_on_massecuite=0).predict({"massecuite.purity": 70.0})
    assert number(liquor, "centrifugals.sugar", "solids") == pytest.approx(0.0, abs=1e-9)
    values = idle(spun(), massecuite__rate=0.0)
    assert values["centrifugals.molasses.water"] == pytest.approx(0.0, abs=1e-12)
    assert values["centrifugals.recovered"] == pytest.approx(1.0)


def test_capacity_is_what_the_machines_spin() -> None:
    state = spun(machines=4, charge=1.5, cycles=18).predict()
    station = state.assembly.stations["centrifugals"].bound(state.values.__getitem__)
    [(_, used, there)] = list(station.capacities())
    assert (used, there) == pytest.approx((100.0, 108.0))


def of_kind(kind: str, **settings: float) -> Plant:
    stations = {
        "massecuite": {"kind": "massecuite supply", "rate": 100, "suspended": 0.2},
        "water": {"kind": "water supply", "temperature": 80},
        "centrifugals": {"kind": kind, **settings},
    }
    outside = {"outside.sugar": "centrifugals.sugar", "outside.molasses": "centrifugals.molasses"}
    if kind == "parting centrifugals":
        outside["outside.light"] = "centrifugals.light_molasses"
    fed = {"centrifugals.massecuite": "massecuite.massecuite", "centrifugals.wash": "water.water"}
    return described(stations, {**fed, **outside})


def capacities(state: State) -> dict[str, tuple[float, float]]:
    station = state.assembly.stations["centrifugals"].bound(state.values.__getitem__)
    return {sentence: (float(used), float(there)) for sentence, used, there in station.capacities()}


KINDS = ("centrifugals", "batch centrifugals", "parting centrifugals", "continuous centrifugals")
SAME = {"film": 6, "wash_effect": 10, "crystal_loss": 3, "moisture": 1.5}


@pytest.mark.parametrize("kind", KINDS)
def test_all_kinds_cure_by_one_balance_form(kind: str) -> None:
    state, plain = of_kind(kind, **SAME).predict(), of_kind("centrifugals", **SAME).predict()
    for name in ("flow", "crystal", "purity", "icumsa_colour"):
        assert number(state, "centrifugals.sugar", name) == pytest.approx(
            number(plain, "centrifugals.sugar", name), rel=1e-9
        )
    assert worst_closure(state) <= 1e-9
    values = idle(of_kind(kind, **SAME), massecuite__rate=0.0)
    assert values["centrifugals.molasses.sucrose"] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("kind", KINDS[1:])
def test_wash_trades_crystal_for_purity(kind: str) -> None:
    plant = of_kind(kind)
    steps = [plant.predict({"centrifugals.wash_on_massecuite": w}) for w in (0.5, 1.5, 3.0)]
    purity = [number(s, "centrifugals.sugar", "purity") for s in steps]
    crystal = [number(s, "centrifugals.sugar", "crystal") for s in steps]
    assert purity == sorted(purity)
    assert crystal == sorted(crystal, reverse=True)
    dissolved = crystal[0] - crystal[2]
    assert dissolved == pytest.approx(0.025 * 100 * 2.5, rel=1e-9), "2.5 t per t of wash"


def test_charge_cycles_and_force_of_a_published_machine() -> None:
    """Public page on batch centrifugal capacity (read): V = π e H (D - e), 3600/T cycles, one idle, a tenth more room.

    Basket 1.75 m by 1.1 m, layer 12 % of the diameter, 150 s: arithmetic by hand. Force by Perk, Centrifugal
    Machines, 1953 (read): 14.2 D (n/1000)² with D in inches.
    """
    settings = {"diameter": 1.75, "height": 1.1, "layer": 0.21, "density": 1.5, "charging": 30, "spinning": 60,
                "washing": 15, "ploughing": 45, "machines": 3, "speed": 1100}  # fmt: skip
    state = of_kind("batch centrifugals", **settings).predict()
    volume = math.pi * 0.21 * 1.1 * (1.75 - 0.21)
    assert state.values["centrifugals.charge"] == pytest.approx(1.1 * volume * 1.5, rel=1e-9)
    assert state.values["centrifugals.cycles"] == pytest.approx(24.0, rel=1e-9)
    limits = capacities(state)
    assert limits["massecuite within what the machines spin"][1] == pytest.approx(3 * 23 * 1.1 * volume * 1.5)
    perk = 14.2 * (1.75 / 0.0254) * 1.1 * 1.1
    assert limits["force wanted within that of the speed"] == pytest.approx((900.0, perk), rel=2e-4)


def test_wash_dissolves_no_more_than_saturates_it() -> None:
    """Saturated at 75 °C: 3.46 t of sucrose per t of water (solubility of Vavrinecz, from memory)."""
    state = of_kind("batch centrifugals", sugar_cooling=-9.0, dissolving_power=3.6).predict()
    used, most = capacities(state)["wash dissolves no more than saturates it"]
    assert most == pytest.approx(3.46, abs=0.01)
    assert used > most


def test_continuous_machines_have_throughput_and_screens() -> None:
    state = of_kind("continuous centrifugals", machines=6, throughput=15, crystal_loss=12).predict()
    limits = capacities(state)
    assert limits["massecuite within what the machines take"] == pytest.approx((100.0, 90.0))
    assert limits["crystal through the screens within their change"] == pytest.approx((12.0, 10.0))


def test_purity_rise_tells_the_crystal_lost() -> None:
    """Crystal lost in spinning from the purities of filtered mother liquor and of molasses (derived formula).

    Exact without a film: the film takes mother liquor away that would dilute what was dissolved.
    """
    state = of_kind("batch centrifugals", film=0.0, crystal_loss=4).predict()
    came, sugar = of(state, "massecuite.massecuite"), of(state, "centrifugals.sugar")
    crystal = 100 * came.crystal / came.solids
    lost = crystal_lost_in_spinning(float(crystal), 70.0, number(state, "centrifugals.molasses", "purity"))
    assert float(lost) == pytest.approx(100 * (1 - sugar.crystal / came.crystal), rel=1e-9)


def test_parted_run_off_by_hand() -> None:
    """Heavy: 90 % of the mother liquor and crystal through the screen; light: 10 %, wash and what it dissolves."""
    state = of_kind("parting centrifugals", film=0.0, moisture=0.0, suspended_kept=0.0).predict()
    came, heavy, light = (
        of(state, n) for n in ("massecuite.massecuite", "centrifugals.molasses", "centrifugals.light_molasses")
    )
    assert heavy.ash == pytest.approx(0.9 * came.ash, rel=1e-9)
    assert heavy.sucrose == pytest.approx(0.9 * came.sucrose + 0.02 * came.crystal, rel=1e-9)
    assert light.sucrose == pytest.approx(0.1 * came.sucrose + 2.5 * 2.0, rel=1e-9)
    assert light.water == pytest.approx(0.1 * came.water + 2.0, rel=1e-9)
    later = of_kind("parting centrifugals", parted_after=97).predict()
    base = of_kind("parting centrifugals").predict()
    assert number(later, "centrifugals.light_molasses", "purity") > number(
        base, "centrifugals.light_molasses", "purity"
    )


PARTED = """
[[targets]]
stream = "centrifugals.molasses"
quantity = "true purity"
value = 76
moves = "massecuite.film_purity"

[[targets]]
stream = "centrifugals.light_molasses"
quantity = "true purity"
value = 91
moves = "centrifugals.parted_after"
"""


def test_published_purities_of_heavy_and_light_molasses_can_be_held() -> None:
    """Public page on three and a half massecuites (read): A massecuite 90, A heavy 76, A light 91 purity.

    Solids of the two run-offs by the cross of purities: with sugar of 99.8 the light is what the two others leave.
    """
    stations = {
        "massecuite": {"kind": "massecuite supply", "rate": 100, "purity": 90, "film_purity": 75},
        "water": {"kind": "water supply", "temperature": 80},
        "centrifugals": {"kind": "parting centrifugals", "film": 1.2, "moisture": 0.8, "crystal_loss": 1},
    }
    plant = described(
        stations,
        {
            "centrifugals.massecuite": "massecuite.massecuite", "centrifugals.wash": "water.water",
            "outside.s": "centrifugals.sugar", "outside.h": "centrifugals.molasses",
            "outside.l": "centrifugals.light_molasses",
        },
        PARTED,
    )  # fmt: skip
    state = plant.predict()
    sugar, heavy, light = (
        number(state, f"centrifugals.{n}", "solids") for n in ("sugar", "molasses", "light_molasses")
    )
    made = number(state, "centrifugals.sugar", "purity")
    assert sugar * made + heavy * 76 + light * 91 == pytest.approx(90 * (sugar + heavy + light), rel=1e-9)
    assert 80 < state.values["centrifugals.parted_after"] < 100
    assert 70 < state.values["massecuite.film_purity"] < 76
