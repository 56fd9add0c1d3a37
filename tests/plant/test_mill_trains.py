"""Trains of three to seven mills, by moisture and by volume: published tandems, exact series, and what must hold."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from canewright.analysis.milling import reduced_extraction_deerr
from canewright.plant.plant import State
from plant.extraction_plants import IDEAL, IDEAL_CANE, extracted, solved, standing, train_plant, usual_train
from plant.milling_train import train
from plant.steam_plant import plant_of

KINDS = ("mill", "volumetric mill")
MILLS = (3, 4, 5, 6, 7)


def left(state: State, mills: int) -> float:
    """Sucrose extraction of a train, %."""
    return extracted(state, "cane.cane", f"mill {mills}.bagasse")


# --- any number of mills ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("feeder", [False, True])
def test_three_to_seven_mills_are_built_by_connections_alone(kind: str, feeder: bool) -> None:
    """Each further mill extracts more, and less than the one before: nothing but connections differs."""
    found = [left(solved(usual_train(n, kind, feeder=feeder)), n) for n in MILLS]
    gains = [b - a for a, b in itertools.pairwise(found)]
    assert all(g > 0 for g in gains)
    assert gains == sorted(gains, reverse=True)
    assert 90.0 < found[0] < found[-1] < 99.9


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("mills", MILLS)
def test_a_train_at_rest_solves(kind: str, mills: int) -> None:
    standing(usual_train(mills, kind, feeder=True))


def test_the_reference_train_at_rest_solves() -> None:
    standing(train())


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("rate", [1.0, 40.0, 200.0, 440.0])
def test_balances_close_at_any_rate(kind: str, rate: float) -> None:
    solved(usual_train(5, kind), {"cane.rate": rate})


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("mills", [3, 5, 7])
def test_more_imbibition_extracts_more_with_ever_smaller_gain_into_thinner_juice(kind: str, mills: int) -> None:
    plant = usual_train(mills, kind)
    states = [solved(plant, {"imbibition.on_fibre": float(x)}) for x in range(120, 361, 40)]
    gains = [b - a for a, b in itertools.pairwise(left(s, mills) for s in states)]
    assert all(g > 0 for g in gains)
    assert gains == sorted(gains, reverse=True)
    brix = [s.measured("screen.screened", "refractometer brix") for s in states]
    assert brix == sorted(brix, reverse=True)


def test_mills_take_the_power_of_a_usual_train() -> None:
    """60-90 kWh for each tonne of fibre over the train (from memory, common practice)."""
    state = solved(usual_train(5))
    power = sum(v for k, v in state.values.items() if k.startswith("board.branches.") and k.endswith("power"))
    shredder = 50.0 * state.values["cane.cane.fibre"]
    assert 60.0 <= (power - shredder) / state.values["cane.cane.fibre"] <= 90.0


# --- first and last expressed juice -----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_first_and_last_expressed_juice_are_measured(kind: str) -> None:
    """The first is thick and pure; brix and purity fall from mill to mill."""
    state = solved(usual_train(5, kind, feeder=True))
    expressed = ["feeder.juice", *(f"mill {i}.juice" for i in range(1, 6))]
    for quantity in ("refractometer brix", "pol", "apparent purity"):
        found = [state.measured(stream, quantity) for stream in expressed]
        assert found == sorted(found, reverse=True), quantity
    drop = state.measured("feeder.juice", "apparent purity") - state.measured("mill 5.juice", "apparent purity")
    assert 1.0 < drop < 15.0


def test_non_sucrose_that_is_harder_to_extract_makes_the_purity_drop() -> None:
    """With one coefficient for all, the second to last juices differ only by what the first mill left."""
    even = solved(usual_train(5), {f"mill {i}.non_sucrose_ratio": 1.0 for i in range(1, 6)})
    purities = [even.measured(f"mill {i}.juice", "true purity") for i in range(1, 6)]
    assert purities == pytest.approx([purities[0]] * 5, rel=1e-9)


# --- preparation ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", KINDS)
def test_better_preparation_extracts_more_at_the_first_mill(kind: str) -> None:
    found = []
    for power in (20.0, 40.0, 60.0):
        state = solved(usual_train(4, kind), {"preparation.specific_power": power})
        found.append((state.measured("preparation.prepared", "preparation index"), left(state, 4)))
    assert found == sorted(found)
    assert found[0][1] < found[1][1] < found[2][1]


def test_a_unit_of_preparation_index_moves_the_coefficient_by_its_effect() -> None:
    """Pure sucrose, one mill: what stays is ``fed (1 - c (1 - liquid share))`` with c = 1 + 0.004 (PI - 89)."""
    plant = train_plant([{**IDEAL, "moisture": 50}, {"moisture": 50}], IDEAL_CANE, screen=False)
    state = solved(plant, {"preparation.specific_power": 70.0})
    index = state.values["preparation.prepared.preparation_index"]
    assert index == pytest.approx(100.0 - 45.0 * np.exp(-2.0), rel=1e-9)
    fed, share = state.values["cane.cane.sucrose"], state.values["mill 1.liquid_share"]
    stays = fed * (1.0 - (1.0 + 0.004 * (index - 89.0)) * (1.0 - share))
    assert state.values["mill 1.bagasse.sucrose"] == pytest.approx(stays, rel=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_pre_extraction_is_what_the_feeder_draws(kind: str) -> None:
    """Sucrose of its juice on that of the cane; 30-60 % is usual (common practice, no source). At rest nothing."""
    plant = usual_train(5, kind, feeder=True)
    state = solved(plant)
    drawn = 100.0 * state.values["feeder.juice.sucrose"] / state.values["preparation.prepared.sucrose"]
    assert state.values["feeder.pre_extraction"] == pytest.approx(drawn, rel=1e-7)
    assert 30.0 < drawn < 70.0
    wider = solved(plant, {"feeder.work_opening": 85.0})
    assert wider.values["feeder.pre_extraction"] < drawn
    assert standing(plant).values["feeder.pre_extraction"] == pytest.approx(0.0, abs=1e-9)


# --- exact series and worked tandems ----------------------------------------------------------------------------------


def unwashed(mill: int, mills: int) -> float:
    """Sucrose after a washing mill on sucrose after the dry one: counter-current washing with twice the juice."""
    return float((2 ** (mills - mill + 1) - 1) / (2 ** (mills + 1) - 1))


@pytest.mark.parametrize(("mills", "unextracted"), [(3, 1 / 15), (4, 1 / 31), (5, 1 / 63), (6, 1 / 127), (7, 1 / 255)])
def test_perfectly_mixing_mills_give_the_exact_series(mills: int, unextracted: float) -> None:
    """A dry mill and m washing ones, juice 1 and imbibition 2 on fibre: 1 / (1 + 2 + ... + 2^m) (own, closed form).

    40 t/h of fibre; the moistures are those that leave just 40 t/h of juice.
    """
    entering = 40.0 * 16.0 / 360.0
    moist = [100.0 * (40.0 - entering * unwashed(i, mills)) / 80.0 for i in range(mills + 1)]
    plant = train_plant(
        [{**IDEAL, "moisture": float(m)} for m in moist], IDEAL_CANE, on_fibre=200, prepared=False, screen=False
    )
    state = solved(plant)
    after_dry = state.values["mill 1.bagasse.sucrose"]
    found = state.values[f"mill {mills + 1}.bagasse.sucrose"] / after_dry
    assert found == pytest.approx(unextracted, rel=1e-8)


def test_a_standard_tandem_against_linear_algebra() -> None:
    """Douwes Dekker, The performance of milling trains: some thoughts on imbibition (South African paper; inputs read).

    Cane of 520 parts of juice of 20 brix on 100 of fibre; bagasse of 30, 40, 45, 48 and 50 % fibre; 200 of imbibition
    on fibre. The brix left is worked here apart from the plant, by solving the balances of five perfect mixers; the
    paper's own result was not seen.
    """
    held = np.array([70 / 30, 60 / 40, 55 / 45, 52 / 48, 50 / 50])
    drawn = np.array([5.2 - held[0], *(2.0 + held[i - 1] - held[4] for i in range(1, 5))])
    balance = np.diag(held + drawn)
    for i in range(1, 5):
        balance[i, i - 1] -= held[i - 1]
        if i < 4:
            balance[i, i + 1] -= drawn[i + 1]
    brix = np.linalg.solve(balance, [1.04, 0, 0, 0, 0])
    moist = [100.0 * h * (1.0 - b) / (1.0 + h) for h, b in zip(held, brix, strict=True)]
    cane = {**IDEAL_CANE, "fibre": 100 / 6.2, "sucrose": 100 * 1.04 / 6.2}
    plant = train_plant(
        [{**IDEAL, "moisture": float(m)} for m in moist], cane, on_fibre=200, prepared=False, screen=False
    )
    state = solved(plant)
    for i in range(5):
        bagasse = state.stream(f"mill {i + 1}.bagasse")
        assert 100.0 * float(bagasse.fibre / bagasse.flow) == pytest.approx([30, 40, 45, 48, 50][i], rel=1e-8)
        assert state.measured(f"mill {i + 1}.juice", "dry substance") == pytest.approx(100.0 * brix[i], rel=1e-8)
    assert 100.0 - left(state, 5) == pytest.approx(100.0 * held[4] * brix[4] / 1.04, rel=1e-8)


TANDEM = {
    1: {"fed": (167.860, 26.820, 20.640), "juice": (89.677, 14.322, 11.604), "bagasse": (78.183, 12.498, 9.036)},
    2: {"fed": (166.841, 17.463, 12.626), "juice": (110.323, 10.800, 8.414), "bagasse": (56.518, 6.662, 4.213)},
    3: {"fed": (134.564, 9.082, 5.851), "juice": (88.658, 4.965, 3.591), "bagasse": (45.906, 4.117, 2.261)},
}
"""Liquid, brix and pol, t/h; fibre 32.140 t/h goes through to the bagasse. The fourth mill's juice is not printed."""


def _fitted(mill: int) -> dict[str, float]:
    """Moisture and coefficients of a mill that its printed masses imply: three numbers for each mill."""
    liquid, brix, pol = TANDEM[mill]["bagasse"]
    fed_liquid, fed_brix, fed_pol = TANDEM[mill]["fed"]
    _, before_brix, before_pol = TANDEM[mill - 1]["bagasse"] if mill > 1 else TANDEM[1]["fed"]
    share = liquid / fed_liquid
    sucrose = (before_pol - pol) / (before_pol - share * fed_pol)
    other = (before_brix - before_pol - brix + pol) / (before_brix - before_pol - share * (fed_brix - fed_pol))
    return {
        "moisture": 100.0 * (liquid - brix) / (liquid + 32.140), "imbibition_coefficient": sucrose,
        "non_sucrose_ratio": other / sucrose, "fibre_to_juice": 0, "solids_to_juice": 0,
    }  # fmt: skip


def test_a_published_tandem_with_its_return_of_juice() -> None:
    """Soemohandojo, Mill material balance, handbook, projection of an example tandem at 4,800 t a day, 1977 (read).

    200 t/h of cane: masses of the first three mills. Fitted: moisture and two coefficients for each mill. The juice
    of the third returns to the second; that of the fourth, 78.046 t/h with 2.420 brix and 1.638 pol by difference, is
    given. All six streams come back to the two kilograms an hour to which the print closes.
    """
    cane: dict[str, Any] = {
        "kind": "cane supply", "rate": 200, "fibre": 16.07, "sucrose": 10.32, "other": 3.09, "reducing_sugars": 0,
        "ash": 0, "suspended": 0,
    }  # fmt: skip
    fourth: dict[str, Any] = {
        "kind": "juice supply", "rate": 78.046, "dry_substance": 100 * 2.420 / 78.046, "purity": 100 * 1.638 / 2.420,
        "fibre": 0, "suspended": 0, "reducing_sugars": 0, "ash": 0,
    }  # fmt: skip
    mills: dict[str, dict[str, Any]] = {f"mill {i}": {"kind": "mill", **_fitted(i)} for i in TANDEM}
    joined = {
        "mill 1.feed": "cane.cane", "mill 2.feed": "mill 1.bagasse", "mill 3.feed": "mill 2.bagasse",
        "mill 2.imbibition": "mill 3.juice", "mill 3.imbibition": "fourth.juice", "outside.bagasse": "mill 3.bagasse",
        "outside.first": "mill 1.juice", "outside.second": "mill 2.juice", "board.imported": "grid.power",
        "outside.export": "board.exported", **{f"{m}.power": "board.branches" for m in mills},
    }  # fmt: skip
    stations: dict[str, dict[str, Any]] = {
        "cane": cane,
        "fourth": fourth,
        "grid": {"kind": "grid"},
        "board": {"kind": "power board"},
        **mills,
    }
    state = solved(plant_of(stations, joined))
    for i, streams in TANDEM.items():
        for port in ("juice", "bagasse"):
            stream = state.stream(f"mill {i}.{port}")
            found = (stream.water + stream.dissolved, stream.dissolved, stream.sucrose)
            assert [float(x) for x in found] == pytest.approx(streams[port], abs=0.0025), (i, port)


def test_reduced_extraction_of_the_reference_train() -> None:
    """96.4585 % at 14 % fibre is 96.892 at 12.5 (Deerr's form, Hugot, from memory; figures own)."""
    found = extracted(train().predict(), "cane.cane", "mill 5.bagasse")
    assert found == pytest.approx(96.4585, abs=5e-4)
    assert reduced_extraction_deerr(found, 14.0) == pytest.approx(96.892, abs=1e-3)


@pytest.mark.parametrize(
    ("sucrose", "brix", "fibre"), [(13.08, 15.51, 15.08), (14.18, 16.65, 13.61), (13.6, 16.1, 14.3)]
)
def test_cane_of_a_milling_area(sucrose: float, brix: float, fibre: float) -> None:
    """South African mills 2007-10: sucrose 13.08-14.18, brix 15.51-16.65, fibre 13.61-15.08 % (read).

    Thesis on milling areas, table 5.1: ends of the ranges, the poor cane taken as the fibrous. Cane reads back as
    given, and the train extracts 94-98 %.
    """
    rest = brix - sucrose
    cane = {"sucrose": sucrose, "fibre": fibre, "reducing_sugars": 0.25 * rest, "ash": 0.25 * rest, "other": 0.5 * rest}
    state = solved(train_plant([{"imbibition_coefficient": 1.0}, *[{}] * 4], cane))
    assert state.measured("cane.cane", "fibre") == pytest.approx(fibre, rel=1e-9)
    stream = state.stream("cane.cane")
    assert 100.0 * float(stream.dissolved / stream.flow) == pytest.approx(brix, rel=1e-9)
    assert 94.0 < left(state, 5) < 98.0
