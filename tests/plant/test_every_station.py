"""What must hold for every station kind of the catalogue, each built alone with two streams at ports that take many."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

import casadi as ca
import numpy as np
import pytest

from canewright.plant.balance import CONSERVED, _carries
from canewright.plant.catalogue import STATIONS
from canewright.plant.handbook import told
from canewright.plant.scales import laws_of
from canewright.plant.station import Equations, Station
from canewright.plant.stations.tanks import LiquorTank
from canewright.quantity import CATALOGUE, Dimensional, UnitMismatch, Word, constant, maths, noting_breaches, unit
from canewright.quantity.readings import check_sides
from plant.steam_plant import plant_of

KINDS = sorted(STATIONS)

DECIDED = {
    "air heater": 1,
    "air supply": -2,
    "auxiliary boiler": 2,
    "back-pressure turbine": 0,
    "bagacillo screen": 0,
    "bagasse store": -1,
    "batch centrifugals": 1,
    "batch pan": 1,
    "boiler": 3,
    "cane preparation": 1,
    "cane supply": 0,
    "cane yard": 0,
    "carbon columns": 1,
    "carbonatation": 2,
    "centrifugals": 1,
    "clarifier": 0,
    "condensate diversion": 0,
    "condenser": 3,
    "condenser with vacuum pump": 3,
    "condensing turbine": 2,
    "contact heater": 1,
    "cooling tower": -1,
    "continuous centrifugals": 1,
    "continuous pan": 1,
    "cooling crystalliser": 1,
    "crystalliser": 0,
    "deaerator": 1,
    "deep-bed filter": 1,
    "desuperheater": 1,
    "diffuser": 2,
    "diffuser stage": 2,
    "dilution tank": 1,
    "drive turbine": -2,
    "dust scrubber": 1,
    "effluent drain": 0,
    "electric drive": -1,
    "entrainment separator": 0,
    "evaporator effect": 0,
    "exhaust range": 2,
    "extraction turbine": 1,
    "feed pump": 0,
    "flash heater": 0,
    "flash pot": 0,
    "flash tank": 0,
    "fuel supply": -2,
    "grid": -1,
    "hopper": 0,
    "hot well": -1,
    "imbibition": 1,
    "ion exchange": 1,
    "juice draw": -1,
    "juice heater": 1,
    "juice screen": 0,
    "juice splitter": 0,
    "juice stock tank": 0,
    "juice supply": 0,
    "juice tank": 0,
    "let-down": 0,
    "liming": 1,
    "liquid sugar": 2,
    "liquor draw": -1,
    "liquor heater": 1,
    "liquor splitter": 0,
    "liquor stock tank": 0,
    "liquor supply": 0,
    "liquor tank": 0,
    "magma mixer": 1,
    "massecuite mixer": 0,
    "massecuite receiver": 0,
    "massecuite reheater": 1,
    "massecuite supply": 0,
    "melter": 2,
    "mill": 1,
    "molasses store": 0,
    "mud filter": 1,
    "pan separator": 0,
    "parting centrifugals": 1,
    "phosphatation": 1,
    "power board": -1,
    "power use": 1,
    "powdered carbon": 0,
    "power use by cane": 1,
    "power use by steam": 1,
    "power use by water": 1,
    "pressure feeder": 1,
    "pressure filter": 1,
    "rated juice heater": 1,
    "rated liquor heater": 1,
    "raw store": 0,
    "scum desweetening": 1,
    "seal tank": 0,
    "silo": 0,
    "steam supply": -2,
    "strainer": 0,
    "sugar coating": 1,
    "sugar cooler": 1,
    "sugar draw": -1,
    "sugar dryer": 1,
    "sugar screen": 0,
    "sugar splitter": 0,
    "sugar supply": 0,
    "syrup clarifier": 1,
    "undetermined juice loss": 0,
    "undetermined loss": 0,
    "vacuum pan": 0,
    "vapour main": 0,
    "volumetric mill": 1,
    "water draw": -1,
    "water supply": -2,
    "water tank": 0,
}
"""For each kind with two streams at ports that take many: its equations less its own unknowns (outlet variables and
results). That is the number of upstream variables it decides less the number of its own flows or pressures that it
leaves to its users; a change of count is a change of the kind's promise."""

HARMLESS = re.compile(r"(juice|liquor|water) tank|.* (splitter|draw)|massecuite mixer|undetermined .*loss")
"""Kinds that handle nothing hot, pressed, rotating or chemical; kinds at the site's fence need no caution either."""


def _alone(kind: str, choices: Mapping[str, str] | None = None) -> Station:
    made = STATIONS[kind]
    return made("it", {p.name: 2 for p in made.ports().values() if p.many}, choices)


def _variants(kind: str) -> Iterator[Station]:
    """The station with its first options, then with each other option in turn."""
    yield _alone(kind)
    for name, choice in STATIONS[kind].options().items():
        for option in choice.options[1:]:
            yield _alone(kind, {name: option})


@cache
def _units(kind: str) -> dict[str, tuple[str, float]]:
    """Unit and a plausible value of every variable that the station can read."""
    station = _alone(kind)
    found = {}
    for port in station.ports().values():
        for prefix in station.prefixes(port):
            for name, held in port.stream.variables().items():
                usual = {"temperature": 62.0, "pressure": 180.0}.get(name, held.nominal)
                steam = port.stream.__name__ == "Steam" and name == "temperature"
                found[f"{prefix}.{name}"] = (held.unit, 140.0 if steam else usual)
    for name, setting in station.settings().items():
        found[f"it.{name}"] = (setting.unit, setting.default)
    for name, result in station.results().items():
        found[f"it.{name}"] = (result.unit, result.nominal)
    return found


def _unknowns(station: Station) -> int:
    outlets = [p for p in station.ports().values() if not p.entering]
    return sum(len(station.prefixes(p)) * len(p.stream.holds) for p in outlets) + len(station.results())


def _values(kind: str, seed: int) -> dict[str, float]:
    """Random positive values within a tenth of the usual ones."""
    chance = np.random.default_rng(seed)
    return {name: (value or 0.5) * chance.uniform(0.9, 1.1) for name, (_, value) in _units(kind).items()}


def _dimension(kind: str) -> Callable[[str], Dimensional]:
    return lambda name: Dimensional(_units(kind)[name][0])


MATHS = {name: getattr(maths, name) for name in ("exp", "log", "log10", "sqrt", "tanh")}


def _evaluated(printed: Any, values: Mapping[str, float]) -> float:
    """A printed side of an equation, computed."""
    text = printed.text if isinstance(printed, Word) else repr(float(printed))
    names = {"v": values, **CATALOGUE, **MATHS}
    code = re.sub(r"\bit((?:\.\w+)+)", lambda m: f'v["it{m[1]}"]', text)
    return float(eval(code, {"__builtins__": {}}, names))  # noqa: S307 (our own printed formulas)


@pytest.mark.parametrize("kind", KINDS)
def test_units_fit(kind: str) -> None:
    """Every equation has one unit on both sides, and every formula the arguments it wants."""
    for station in _variants(kind):
        for sentence, symbol, size in laws_of(station, _dimension(kind)):
            assert sentence
            assert unit("1").exponents is not None
            assert size > 0
            assert symbol


@pytest.mark.parametrize("kind", KINDS)
def test_printed_equations_say_what_is_computed(kind: str) -> None:
    """Each printed side, evaluated back, gives the number that the model computes."""
    for seed, station in enumerate(_variants(kind)):
        values = _values(kind, seed)
        with noting_breaches():
            numbers = list(station.bound(values.__getitem__).equations())
            words = list(station.bound(Word).equations())
            assert len(numbers) == len(words)
            for (sentence, left, right), (said, left_word, right_word) in zip(numbers, words, strict=True):
                assert said == sentence
                for number, word in ((left, left_word), (right, right_word)):
                    assert np.isfinite(float(number)), sentence
                    assert _evaluated(word, values) == pytest.approx(float(number), rel=1e-9, abs=1e-12), sentence


@pytest.mark.parametrize("kind", KINDS)
def test_declaration_is_complete(kind: str) -> None:
    """A docstring of its own, cautions, known units, limits around the default, no name used twice."""
    made = STATIONS[kind]
    assert vars(made).get("__doc__"), "a kind says in its own docstring what it is"
    if not made.boundary and not HARMLESS.fullmatch(kind):
        assert made.hazards, "a kind that handles heat, pressure, motion or chemicals says how it can hurt"
        assert all(len(caution) > 20 for caution in made.hazards)
    for name, setting in made.settings().items():
        unit(setting.unit)
        assert setting.says, name
        low, high = setting.limits
        assert low <= setting.default <= high, name
        assert low < high, name
        assert setting.prior >= 0, name
    for name, result in made.results().items():
        unit(result.unit)
        assert result.says, name
        assert result.limits[0] < result.limits[1], name
    names = [*made.ports(), *made.settings(), *made.results(), *made.options()]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("kind", KINDS)
def test_every_equation_is_divided_by_a_size_that_matters(kind: str) -> None:
    """Rounding of a side far above its nominal size would keep a settled state from counting as solved (1e-10)."""
    for station in _variants(kind):
        values = _values(kind, 1)
        sizes = [size for _, _, size in laws_of(station, _dimension(kind))]
        with noting_breaches():
            for (sentence, *sides), size in zip(station.bound(values.__getitem__).equations(), sizes, strict=True):
                rounding = 2.2e-16 * max(abs(float(side)) for side in sides) / size
                assert rounding <= 2e-11, sentence


NOBODY_MOVES = {
    "drive turbine", "electric drive", "flash heater", "flash pot", "flash tank", "juice screen", "power use by cane",
    "power use by steam", "power use by water", "seal tank", "strainer", "vapour main",
}  # fmt: skip
"""Kinds that follow what is done elsewhere: nobody moves anything at them from shift to shift."""


@pytest.mark.parametrize("kind", KINDS)
def test_it_has_limits_handles_and_what_is_measured(kind: str) -> None:
    """Every kind within the fence that handles anything; each name is declared, each stream can tell its quantity."""
    made, one = STATIONS[kind], told(kind)
    assert len(one.handles) == len(set(made.handles))
    assert len(one.measured) == len(set(made.measured))
    if made.boundary or HARMLESS.fullmatch(kind):
        return
    assert one.capacities, "a limit"
    assert one.measured, "what is measured"
    assert bool(one.handles) != (kind in NOBODY_MOVES), "what an operator moves"


@pytest.mark.parametrize("kind", KINDS)
def test_exchanges_and_capacities_fit_their_units(kind: str) -> None:
    """What is declared formed or removed is of a conserved kind and in its unit; both sides of a capacity match."""
    wanted = {"colour": unit("IU·t/h"), "energy": unit("MJ/h")}
    station = _alone(kind)
    streams = [p.stream for p in station.ports().values()]
    values = _values(kind, 1)
    read = zip(station.bound(_dimension(kind)).exchanges(), station.bound(values.__getitem__).exchanges(), strict=True)
    for exchange, number in read:
        assert exchange.what in CONSERVED, exchange.name
        if exchange.what == "energy" or any(_carries(s(values.__getitem__, "it"), exchange.what) for s in streams):
            measure = wanted.get(exchange.what, unit("t/h"))
            check_sides(exchange.name, exchange.amount, Dimensional(measure))
        else:
            assert number.amount == 0.0, exchange.name
    station = station.bound(_dimension(kind))
    for sentence, used, available in station.capacities():
        assert sentence
        assert used.unit.same_measure(available.unit), sentence


@pytest.mark.parametrize("kind", KINDS)
def test_count_of_equations(kind: str) -> None:
    """Equations less own unknowns are as the table states, whatever the options."""
    for station in _variants(kind):
        said = list(station.bound(_dimension(kind)).equations())
        assert len(said) - _unknowns(station) == DECIDED[kind]


def test_table_lists_no_kind_that_is_gone() -> None:
    assert set(DECIDED) == set(KINDS)


KINKS = (
    ca.OP_FMIN, ca.OP_FMAX, ca.OP_FABS, ca.OP_IF_ELSE_ZERO, ca.OP_LT, ca.OP_LE, ca.OP_EQ, ca.OP_NE, ca.OP_NOT,
    ca.OP_AND, ca.OP_OR, ca.OP_FLOOR, ca.OP_CEIL, ca.OP_SIGN, ca.OP_FMOD, ca.OP_COPYSIGN,
)  # fmt: skip


def _operations(kind: str, station: Station) -> set[int]:
    names = list(_units(kind))
    symbols = ca.SX.sym("u", len(names))
    values = {name: symbols[i] for i, name in enumerate(names)}
    sides = [left - right for _, left, right in station.bound(values.__getitem__).equations()]
    function = ca.Function("residual", [symbols], [ca.vertcat(*sides)])
    return {function.instruction_id(k) for k in range(function.n_instructions())}


@pytest.mark.parametrize("kind", KINDS)
def test_no_kinks(kind: str) -> None:
    """No minimum, maximum, absolute value, comparison or rounding in what the solver sees."""
    for station in _variants(kind):
        assert not _operations(kind, station) & set(KINKS)


def test_a_kink_would_be_found() -> None:
    """The scan itself, on a function that has one."""
    x = ca.SX.sym("x")
    function = ca.Function("kinked", [x], [ca.fmax(x, 0.0)])
    assert {function.instruction_id(k) for k in range(function.n_instructions())} & set(KINKS)


class LeakyTank(LiquorTank):
    """A tank that loses one per cent of its sucrose and does not say so."""

    kind = "leaky tank of this test"

    def equations(self) -> Equations:
        """The tank's, with sucrose that vanishes."""
        for sentence, left, right in super().equations():
            yield sentence, 0.99 * left if sentence.startswith("sucrose") else left, right


@pytest.mark.parametrize(("kind", "closes"), [("liquor tank", True), (LeakyTank.kind, False)])
def test_a_station_that_loses_sugar_fails_the_closure(kind: str, closes: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """The independent check of a solved state sees one per cent of sucrose that its own equations hide."""
    monkeypatch.setitem(STATIONS, LeakyTank.kind, LeakyTank)
    stations = {"syrup": {"kind": "liquor supply"}, "tank": {"kind": kind}}
    plant = plant_of(stations, {"tank.feeds": "syrup.liquor", "outside.syrup": "tank.mixed"})
    gaps = {c.what: c.relative for c in plant.predict().closures}
    assert (gaps["sucrose"] <= 1e-9) == closes
    assert gaps["sucrose"] == pytest.approx(0.0 if closes else 0.01 / 1.99 * 2, rel=0.01, abs=1e-12)
    assert gaps["water"] <= 1e-9


class MisreadTank(LiquorTank):
    """A tank that sets a flow equal to a temperature difference."""

    kind = "misread tank of this test"

    def equations(self) -> Equations:
        """The tank's, and one that cannot be."""
        yield from super().equations()
        yield "flow is as large as it is warm", self.mixed.water, self.mixed.temperature - ICE


ICE = constant(0.0, "°C")


def test_wrong_units_would_be_refused() -> None:
    """The reading on dimensions itself, on an equation whose sides measure different things."""
    with pytest.raises(UnitMismatch, match="flow is as large as it is warm"):
        laws_of(MisreadTank("it", {"feeds": 2}), _dimension("liquor tank"))
