"""A three-massecuite house with B magma footing and partial remelt, solved as one recycle.

The reference is invented: 93.6 t/h of syrup of 84.5 purity boiled to A, B and C massecuites, solved beforehand by an
independent program that substitutes around the recycle (own figures, read). Definitions that differ:

- there, crystal and suspended fibre are balanced alike; here the fibre in syrup counts as suspended solids;
- there, all crystal (footing too) takes a share of the colour of its mother liquor and colour forms on crystal too;
  here only crystal that grows takes a share of the colour of the massecuite: colours are not compared;
- there, heat of crystallisation is left out and temperatures are set: heat and steam are not compared.
"""

from __future__ import annotations

from typing import Any

import pytest

from canewright.plant.plant import Plant, State
from plant.boiling_house import STRIKE, described, idle, number, of, worst_closure

CURED = {"dissolving_power": 0, "wash_effect": 0, "suspended_kept": 0}
STATIONS: dict[str, dict[str, Any]] = {
    "syrup": {
        "kind": "liquor supply", "rate": 93.6191, "dry_substance": 65.0, "purity": 84.5260, "reducing_sugars": 27.1370,
        "ash": 21.4976, "suspended": 0.131383, "colour": 14201, "temperature": 62,
    },
    **{name: dict(STRIKE[name]) for name in ("steam", "water", "river", "condenser")},
    "pan A": {"kind": "vacuum pan", "brix": 92, "mother_liquor_purity": 70},
    "spin A": {
        "kind": "centrifugals", "wash_on_massecuite": 3, "crystal_loss": 9, "film": 0.8, "moisture": 0.6, **CURED,
    },
    "A molasses": {"kind": "dilution tank", "dry_substance": 72},
    "A split": {"kind": "liquor splitter", "share": 90},
    "pan B": {"kind": "vacuum pan", "brix": 94, "mother_liquor_purity": 52},
    "spin B": {"kind": "centrifugals", "wash_on_massecuite": 3, "crystal_loss": 6, "film": 7, "moisture": 2, **CURED},
    "B molasses": {"kind": "dilution tank", "dry_substance": 72},
    "B sugar": {"kind": "sugar splitter", "share": 70},
    "magma": {"kind": "magma mixer", "dry_substance": 90, "temperature": 60},
    "pan C": {"kind": "vacuum pan", "brix": 96, "mother_liquor_purity": 38},
    "cooling": {"kind": "crystalliser", "temperature": 52, "mother_liquor_purity": 33},
    "spin C": {"kind": "centrifugals", "wash_on_massecuite": 4, "crystal_loss": 5, "film": 20, "moisture": 3, **CURED},
    "final molasses": {"kind": "dilution tank", "dry_substance": 80, "temperature": 52},
    "remelter": {"kind": "melter", "dry_substance": 66, "temperature": 70},
}  # fmt: skip
CONNECTIONS: dict[str, Any] = {
    "pan A.feeds": ["syrup.liquor", "remelter.liquor", "magma.magma"],
    "spin A.massecuite": "pan A.massecuite",
    "A molasses.feeds": "spin A.molasses",
    "A split.feed": "A molasses.liquor",
    "pan B.feeds": "A split.part",
    "spin B.massecuite": "pan B.massecuite",
    "B molasses.feeds": "spin B.molasses",
    "B sugar.feed": "spin B.sugar",
    "magma.sugar": "B sugar.part",
    "magma.liquor": "water.water",
    "pan C.feeds": ["B molasses.liquor", "A split.rest"],
    "cooling.massecuite": "pan C.massecuite",
    "spin C.massecuite": "cooling.cooled",
    "final molasses.feeds": "spin C.molasses",
    "remelter.sugar": ["B sugar.rest", "spin C.sugar"],
    "remelter.water": "water.water",
    "remelter.steam": "steam.steam",
    "condenser.vapours": ["pan A.vapour", "pan B.vapour", "pan C.vapour"],
    "condenser.water": "river.water",
    "outside.sugar": "spin A.sugar",
    "outside.final molasses": "final molasses.liquor",
    "outside.warm water": "condenser.warm",
    **{f"pan {k}.steam": "steam.steam" for k in "ABC"},
    **{f"outside.condensate {k}": f"pan {k}.condensate" for k in "ABC"},
    **{f"spin {k}.wash": "water.water" for k in "ABC"},
    **{f"{tank}.water": "water.water" for tank in ("A molasses", "B molasses", "final molasses")},
}

ROWS = {
    # stream: total, water, sucrose, reducing sugars, ash, other, crystal in t/h; dry substance, purity in %
    "pan A.massecuite": (95.2608, 7.6110, 25.8192, 3.0028, 2.3788, 5.6839, 50.6421, 92.0, 87.358),
    "spin A.sugar": (46.7334, 0.2804, 0.2581, 0.0300, 0.0238, 0.0568, 46.0843, 99.400, 99.762),
    "A molasses.liquor": (57.1699, 15.9731, 30.1190, 2.9727, 2.3550, 5.6271, 0.0, 72.0, 73.329),
    "pan B.massecuite": (39.4367, 2.3596, 10.6809, 2.6755, 2.1195, 5.0644, 16.4262, 94.0, 73.329),
    "spin B.sugar": (16.8586, 0.3372, 0.5620, 0.1408, 0.1115, 0.2665, 15.4406, 98.0, 96.860),
    "B molasses.liquor": (28.5065, 7.9508, 11.1045, 2.5347, 2.0080, 4.7979, 0.0, 72.0, 54.314),
    "pan C.massecuite": (25.6984, 1.0230, 6.3962, 2.8320, 2.2435, 5.3606, 7.7201, 96.0, 57.495),
    "cooling.cooled": (25.6984, 1.0230, 5.1401, 2.8320, 2.2435, 5.3606, 8.9762, 96.0, 57.495),
    "spin C.sugar": (10.5494, 0.3165, 0.5628, 0.3101, 0.2456, 0.5869, 8.5274, 97.0, 88.833),
    "final molasses.liquor": (18.0223, 3.5799, 5.0261, 2.5219, 1.9978, 4.7736, 0.0, 80.0, 35.100),
    "magma.magma": (12.8500, 1.2850, 0.3934, 0.0985, 0.0781, 0.1865, 10.8084, 90.0, 96.860),
    "remelter.liquor": (23.0141, 7.8248, 13.8910, 0.3523, 0.2791, 0.6669, 0.0, 66.0, 91.452),
}
NAMES = ("flow", "water", "sucrose", "reducing_sugars", "ash", "other", "crystal", "dry_substance", "purity")


def house(order: int = 1) -> Plant:
    return described(dict(list(STATIONS.items())[::order]), CONNECTIONS)


@pytest.fixture(scope="module")
def solved() -> State:
    return house().predict()


@pytest.mark.parametrize("stream", ROWS)
def test_massecuites_molasses_and_sugars_of_the_reference(solved: State, stream: str) -> None:
    found = [number(solved, stream, name) for name in NAMES]
    assert found == pytest.approx(ROWS[stream], rel=1e-3, abs=1e-4)


def test_water_boiled_off_and_added_in_the_reference(solved: State) -> None:
    boiled = [number(solved, f"pan {k}.vapour", "water") for k in "ABC"]
    assert boiled == pytest.approx([34.2224, 12.0163, 8.5251], rel=1e-3)
    added = [number(solved, f"spin {k}.molasses", "flow") for k in "ABC"]
    thinned = [number(solved, f"{tank}.liquor", "flow") for tank in ("A molasses", "B molasses", "final molasses")]
    water = [after - before for before, after in zip(added, thinned, strict=True)]
    assert water == pytest.approx([5.7847, 4.7453, 1.8454], rel=1e-3)


def test_solids_recovered_are_those_of_the_sjm_formula(solved: State) -> None:
    """SJM (from memory) on true purities: exact for a house without losses, whatever recycles inside."""
    syrup, sugar, molasses = (of(solved, n) for n in ("syrup.liquor", "spin A.sugar", "final molasses.liquor"))
    juice, made, left = float(syrup.purity), float(sugar.purity), float(molasses.purity)
    recovery = made * (juice - left) / (juice * (made - left))
    assert sugar.solids * made / (syrup.solids * juice) == pytest.approx(recovery, rel=1e-10)


def test_colour_and_every_balance_close(solved: State) -> None:
    assert worst_closure(solved) <= 1e-9
    formed = sum(
        x.amount
        for k in "ABC"
        for x in solved.assembly.stations[f"pan {k}"].bound(solved.values.__getitem__).exchanges()
        if x.what == "colour"
    )
    out = number(solved, "spin A.sugar", "total_colour") + number(solved, "final molasses.liquor", "colour")
    assert out == pytest.approx(number(solved, "syrup.liquor", "colour") + formed, rel=1e-10)


@pytest.mark.parametrize("purity", [78.0, 81.0, 84.0, 87.0, 90.0])
def test_it_solves_cold_over_the_range_of_syrup_purity(purity: float) -> None:
    state = house().predict({"syrup.purity": purity})
    assert state.method == "newton"
    assert worst_closure(state) <= 1e-9


def test_it_solves_cold_with_the_stations_described_backwards(solved: State) -> None:
    backwards = house(order=-1).predict()
    assert number(backwards, "pan A.massecuite", "flow") == pytest.approx(
        number(solved, "pan A.massecuite", "flow"), rel=1e-9
    )


def test_purer_syrup_gives_more_sugar_and_less_c_massecuite() -> None:
    plant = house()
    poor, rich = (plant.predict({"syrup.purity": p}) for p in (80.0, 86.0))
    assert number(rich, "spin A.sugar", "flow") > number(poor, "spin A.sugar", "flow")
    assert number(rich, "pan C.massecuite", "flow") < number(poor, "pan C.massecuite", "flow")


def test_cleaner_c_sugar_cuts_c_massecuite(solved: State) -> None:
    """Impurities that return with the remelt come round again: less film on C sugar, less C massecuite."""
    cleaner = house().predict({"spin C.film": 10.0})
    assert number(cleaner, "pan C.massecuite", "flow") < number(solved, "pan C.massecuite", "flow")


def test_an_idle_house_solves() -> None:
    values = idle(house(), syrup__rate=0.0)
    assert values["spin A.sugar.crystal"] == pytest.approx(0.0, abs=1e-12)
    assert values["final molasses.liquor.water"] == pytest.approx(0.0, abs=1e-12)
