"""Sugar that the vapour of a pan takes to the condenser: droplets, the trace in the water, and the oxygen it takes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

import pytest
from iapws import IAPWS97

from canewright.analysis.steam_figures import entrainment_loss
from canewright.engine import predict
from canewright.plant.plant import Plant, State
from canewright.plant.sucrose_account import sucrose_account
from plant.boiling_house import STRIKE, STRIKE_CONNECTIONS, described, number, of, worst_closure
from plant.raw_house import text_of

METER = (
    '[[meters]]\ntag = "sugar in condenser water"\nstream = "drain.effluent"\nquantity = "sugar trace"\n'
    'uncertainty = 0.05\n'
)  # fmt: skip


def house(changes: Mapping[str, Mapping[str, Any]] | None = None, more: str = "") -> Plant:
    """A strike whose vapour passes a separator; the water of its condenser goes once through to the drain."""
    tables: dict[str, Any] = {
        **STRIKE, "separator": {"kind": "pan separator"}, "seal": {"kind": "seal tank"},
        "drain": {"kind": "effluent drain"},
    }  # fmt: skip
    tables = {name: {**table, **(changes or {}).get(name, {})} for name, table in tables.items()}
    links = {k: v for k, v in STRIKE_CONNECTIONS.items() if k != "outside.warm"} | {
        "separator.massecuite": "pan.massecuite", "separator.vapour": "pan.vapour",
        "condenser.vapours": "separator.cleaned", "centrifugals.massecuite": "separator.kept",
        "seal.warm": "condenser.warm", "seal.carried": "separator.carried", "drain.waters": "seal.water",
        "drain.losses": "seal.lost", "outside.effluent": "drain.effluent",
    }  # fmt: skip
    return described(tables, links, more)


@cache
def usual() -> State:
    """The strike as it stands."""
    return house().predict()


def test_droplets_by_hand() -> None:
    """Velocity by an independent IAPWS-97 (iapws package), droplets by its cube, sugar by the mother liquor."""
    state = usual()
    vapour, massecuite = of(state, "pan.vapour"), of(state, "pan.massecuite")
    steam = IAPWS97(T=float(vapour.temperature) + 273.15, P=float(vapour.pressure) / 1000)
    velocity = float(vapour.water) / 3.6 * steam.v / 40.0
    assert state.values["separator.velocity"] == pytest.approx(velocity, rel=1e-4)
    greatest = 0.05 * (1430.0 * steam.v - 1.0) ** 0.5
    juice = 200.0 * (velocity / greatest) ** 3
    assert state.values["separator.juice_on_vapour"] == pytest.approx(juice, rel=1e-3)
    liquid = float(massecuite.flow - massecuite.crystal)
    sugar = state.values["separator.juice_on_vapour"] * float(massecuite.sucrose) / liquid
    assert state.values["separator.sugar_in_condensate"] == pytest.approx(sugar, rel=1e-4)
    assert worst_closure(state) <= 1e-9


def test_usual_trace_lies_where_condensates_of_pans_are_found() -> None:
    """20-100 mg/kg of sugar in pan condensate (from memory): of pans with 22 m² for all their vapour."""
    fast = house({"separator": {"cross_section": 22.0}}).predict()
    assert 20.0 < fast.values["separator.sugar_in_condensate"] < 100.0


def test_droplets_are_mother_liquor_and_leave_the_crystal() -> None:
    """Purity of the droplets is that of the mother liquor; no crystal is lost, and none of its colour."""
    state = usual()
    kept, came, drops = (of(state, n) for n in ("separator.kept", "pan.massecuite", "separator.carried"))
    assert float(drops.purity) == pytest.approx(float(100.0 * came.sucrose / came.dissolved), rel=1e-9)
    assert float(kept.crystal) == pytest.approx(float(came.crystal), rel=1e-12)
    assert float(kept.crystal_colour) == pytest.approx(float(came.crystal_colour), rel=1e-12)
    assert float(kept.sucrose + drops.sucrose) == pytest.approx(float(came.sucrose), rel=1e-12)


def test_trace_in_the_water_is_that_of_the_vapour_thinned_by_the_injection() -> None:
    """Sugar is the same; vapour and water together carry it. Loss by the declared formula of entrainment."""
    state = usual()
    vapour, warm = number(state, "pan.vapour", "water"), number(state, "condenser.warm", "water")
    thinned = state.values["separator.sugar_in_condensate"] * vapour / warm
    assert state.values["seal.sugar_in_water"] == pytest.approx(thinned, rel=1e-4)
    assert state.measured("drain.effluent", "sugar trace") == pytest.approx(thinned, rel=1e-4)
    sucrose = number(state, "syrup.liquor", "sucrose")
    share = 100.0 * number(state, "drain.effluent", "sucrose") / sucrose
    content = state.values["separator.sugar_in_condensate"]
    assert share == pytest.approx(float(entrainment_loss(vapour, content, sucrose)), rel=1e-5)


def test_oxygen_that_the_sugar_takes() -> None:
    """C12H22O11 + 12 O2: 384 g for 342.3 g, 1.12 kg for a kg as effluent texts count; non-sucrose beside it."""
    state = usual()
    lost = of(state, "seal.lost")
    by_hand = 1000 * (384 / 342.3 * lost.sucrose + 192 / 180.16 * lost.reducing_sugars + lost.other)
    assert state.values["drain.demand"] == pytest.approx(float(by_hand), rel=1e-4)
    strength = 1e3 * state.values["drain.demand"] / number(state, "drain.effluent", "flow")
    assert state.values["drain.demand_on_water"] == pytest.approx(strength, rel=1e-6)
    without = house({"drain": {"demand_of_other": 0.0}}).predict()
    assert without.values["drain.demand"] == pytest.approx(float(by_hand - 1000 * lost.other), rel=1e-4)


@pytest.mark.parametrize(
    ("change", "sign"),
    [
        ({"separator.cross_section": 60.0}, -1),
        ({"separator.separator_constant": 0.1}, -1),
        ({"condenser.pressure": 11.0}, 1),
        ({"syrup.rate": 120.0}, 1),
        ({"syrup.dry_substance": 60.0}, 1),
        ({"separator.carried_at_greatest": 400.0}, 1),
    ],
)
def test_what_sends_sugar_to_the_condenser(change: dict[str, float], sign: int) -> None:
    """Room and a mesh hold back; deeper vacuum, more boiling and thinner syrup carry over."""
    after = house().predict(change)
    assert (number(after, "drain.effluent", "sucrose") - number(usual(), "drain.effluent", "sucrose")) * sign > 0
    assert worst_closure(after) <= 1e-9


def test_limits_are_told() -> None:
    """A narrow pan boils too fast at its fastest, and alarms stand at what they are set to."""
    plant = house({"separator": {"cross_section": 14.0}, "seal": {"sugar_limit": 1.0}, "drain": {"pond_rating": 1.0}})
    state = plant.predict()
    for name, places in (("separator", (0, 1)), ("seal", (0,)), ("drain", (0,))):
        told = list(plant.assembly.stations[name].bound(state.values.__getitem__).capacities())
        assert all(float(told[i][1]) > float(told[i][2]) for i in places), name
    [fastest, *_] = plant.assembly.stations["separator"].bound(state.values.__getitem__).capacities()
    assert float(fastest[1]) == pytest.approx(1.5 * state.values["separator.velocity"], rel=1e-12)


def test_an_idle_house_solves() -> None:
    """Nothing boiled, nothing carried, no trace and no demand; the drain is as warm as the water was."""
    case = house()
    found = predict(case.model, case.first_estimate(case.settings({"syrup.rate": 0.0})))
    state = State(case.assembly, found.values, found.scaled, found.method)
    assert number(state, "drain.effluent", "sucrose") == pytest.approx(0.0, abs=1e-9)
    for name in ("seal.sugar_in_water", "drain.demand", "drain.demand_on_water"):
        assert state.values[name] == pytest.approx(0.0, abs=1e-3), name
    assert worst_closure(state) <= 1e-9


def test_the_laboratory_reading_tells_the_loss() -> None:
    """A trace of twice what was expected in the condenser water doubles the sucrose lost, within its reading."""
    loose = {"cross_section": 22.0, "carried_at_greatest.value": 200, "carried_at_greatest.uncertainty": 300}
    plant = house({"separator": loose}, METER)
    expected = plant.predict()
    read = 2.0 * expected.measured("drain.effluent", "sugar trace")
    day = plant.reconcile({"sugar in condenser water": read})
    lost = number(day.state, "drain.effluent", "sucrose") / number(expected, "drain.effluent", "sucrose")
    assert lost == pytest.approx(2.0, rel=0.02)
    assert max(c.relative for c in day.state.closures) <= 1e-9


def with_separators(name: str) -> Plant:
    """A raw house with a separator behind every pan and all that is carried over in the water of one condenser."""
    text = text_of(name)
    pans = re.findall(r'"(pan [^"]+)\.vapour"', text)
    text = re.sub(r'= "(pan [^"]+)\.massecuite"', r'= "separator of \1.kept"', text)
    text = re.sub(r'"(pan [^"]+)\.vapour"', r'"separator of \1.cleaned"', text)
    text = text.replace('"outside.warm water" = "condenser.warm"', '"seal tank.warm" = "condenser.warm"')
    carried = ", ".join(f'"separator of {p}.carried"' for p in pans)
    joined = [f'"seal tank.carried" = [{carried}]', '"outside.water" = "seal tank.water"',
              '"outside.sugar in condenser water" = "seal tank.lost"']  # fmt: skip
    made = ['[stations."seal tank"]', 'kind = "seal tank"']
    for pan in pans:
        made += [f'[stations."separator of {pan}"]', 'kind = "pan separator"', "cross_section = 25"]
        joined += [f'"separator of {pan}.{n}" = "{pan}.{n}"' for n in ("massecuite", "vapour")]
    text = text.replace("[connections]", "\n".join([*made, "[connections]", *joined]))
    return Plant.from_text(text)


@pytest.mark.parametrize("name", ["two_massecuites", "three_massecuites", "double_magma"])
def test_a_whole_raw_house_with_separators(name: str) -> None:
    """Every pan has its own trace; together they are the way of the account and the trace in the water."""
    state = with_separators(name).predict()
    assert state.method == "newton"
    assert worst_closure(state) <= 1e-9
    separators = [s for s in state.assembly.stations if s.startswith("separator of ")]
    assert len(separators) >= 2
    lost = [number(state, f"{s}.carried", "sucrose") for s in separators]
    assert all(x > 0 for x in lost)
    account = sucrose_account(state)
    [way] = [w for w in account.went if w.name == "sugar in condenser water"]
    assert way.tonnes == pytest.approx(24.0 * sum(lost), rel=1e-6)
    assert 0.0 < way.share < 0.1
    water = number(state, "seal tank.water", "water")
    assert state.values["seal tank.sugar_in_water"] == pytest.approx(1e6 * sum(lost) / water, rel=1e-4)
