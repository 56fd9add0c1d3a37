"""Sugar dryer and cooler: water and heat between sugar and air, never against the second law."""

from __future__ import annotations

import psychrolib
import pytest

from canewright.engine import NotSolved
from canewright.plant.plant import Plant
from plant.boiling_house import described, idle, number, of, worst_closure

SOLIDS = 55.0  # t/h of dry sugar, 0.9 to 0.03 % water on dry
RATE = SOLIDS * 1.009


def dryer() -> Plant:
    stations = {
        "wet": {
            "kind": "sugar supply", "rate": RATE, "moisture": 0.9 / 1.009, "purity": 100, "film_purity": 99.99,
            "temperature": 60,
        },
        "air": {"kind": "air supply", "given": "humidity ratio", "humidity_ratio": 18.753, "temperature": 95},
        "dryer": {"kind": "sugar dryer", "moisture": 0.03 / 1.0003, "temperature": 52, "air_ratio": 43.2 / RATE},
    }  # fmt: skip
    return described(
        stations,
        {"dryer.sugar": "wet.sugar", "dryer.air": "air.air", "outside.d": "dryer.dried", "outside.a": "dryer.air_out"},
    )


def test_worked_dryer() -> None:
    """Worked by hand: 15.278 kg/s of sugar 0.9 to 0.03 % and 60 to 52 °C, 12 kg/s of air at 95 °C and 18.753 g/kg.

    It gives 0.029830 kg/kg and 81.69 °C with 1.25 kJ/kg/K for sugar crystals. Streams here take 1.1358 + 0.0043 t
    for crystal, which gives 1.0128 kJ/kg more over the 8 K; that heat is taken off before the comparison.
    """
    state = dryer().predict()
    out = of(state, "dryer.air_out")
    assert out.humidity == pytest.approx(0.029830, abs=1e-6)
    more = SOLIDS / 3.6 * (8 * (1.1358 + 0.0043 * 56) - 8 * 1.25)
    assert out.temperature - more / (12 * (1.006 + 1.86 * out.humidity)) == pytest.approx(81.69, abs=0.01)
    assert number(state, "dryer.dried", "water") == pytest.approx(SOLIDS * 0.0003, rel=1e-9)
    assert worst_closure(state) <= 1e-9


def test_exit_air_agrees_with_independent_moist_air() -> None:
    """PsychroLib (ASHRAE 2017 equations): heat of the exit air, and 9.0 % relative humidity at 81.69 °C."""
    state = dryer().predict()
    psychrolib.SetUnitSystem(psychrolib.SI)
    air_in, out = of(state, "air.air.1"), of(state, "dryer.air_out")
    for stream in (air_in, out):
        enthalpy = psychrolib.GetMoistAirEnthalpy(float(stream.temperature), float(stream.humidity)) / 1000.0
        assert stream.enthalpy_flow / stream.dry_air == pytest.approx(enthalpy, rel=1e-6)
    relative = psychrolib.GetRelHumFromHumRatio(81.69, float(out.humidity), 101325.0)
    assert 100 * relative == pytest.approx(9.0, abs=0.15)


def test_wet_air_and_too_much_sugar_are_named() -> None:
    """Humidity of the air out against PsychroLib (ASHRAE 2017 equations); 55 t/h is over a drum of 50."""
    state = dryer().predict({"dryer.rated": 50.0, "dryer.most_humidity": 10.0})
    limits = list(state.assembly.stations["dryer"].bound(state.values.__getitem__).capacities())
    (_, sugar, rated), (_, vapour, may) = limits
    assert float(sugar) > float(rated)
    psychrolib.SetUnitSystem(psychrolib.SI)
    out = of(state, "dryer.air_out")
    relative = psychrolib.GetRelHumFromHumRatio(float(out.temperature), float(out.humidity), 101325.0)
    assert float(vapour) / float(may) == pytest.approx(relative / 0.10, rel=5e-3)
    assert float(vapour) < float(may)


def test_more_air_leaves_warmer_and_no_sugar_solves() -> None:
    plant = dryer()
    base, more = plant.predict(), plant.predict({"dryer.air_ratio": 1.2})
    assert number(more, "dryer.air_out", "temperature") > number(base, "dryer.air_out", "temperature")
    assert number(more, "dryer.air_out", "humidity") < number(base, "dryer.air_out", "humidity")
    values = idle(plant, wet__rate=0.0)
    assert values["dryer.air_out.temperature"] == pytest.approx(52.0, abs=1e-6)


def test_hot_air_that_would_leave_hotter_is_refused() -> None:
    """Sugar that cools from 60 to 30 °C would heat the hot air: the second law, said as a limit of a result."""
    with pytest.raises(NotSolved, match=r"dryer\.air_fall"):
        dryer().predict({"dryer.temperature": 30.0, "wet.moisture": 0.1, "dryer.moisture": 0.05})


def test_sugar_cannot_leave_hotter_than_the_hot_air() -> None:
    with pytest.raises(NotSolved, match=r"dryer\.air_above_sugar"):
        dryer().predict({"air.temperature": 40.0, "dryer.temperature": 62.0, "wet.temperature": 20.0})


def cooler(flow: str = "counter-current") -> Plant:
    """55 t/h of dry crystal at 55 °C, air at 18 °C and 8 g/kg, 66 t/h dry."""
    stations = {
        "hot": {
            "kind": "sugar supply", "rate": SOLIDS, "moisture": 0.0, "purity": 100, "film_purity": 99.99,
            "temperature": 55,
        },
        "air": {"kind": "air supply", "given": "humidity ratio", "humidity_ratio": 8.0, "temperature": 18},
        "cooler": {"kind": "sugar cooler", "flow": flow, "temperature": 38, "air_ratio": 1.2},
    }  # fmt: skip
    return described(
        stations,
        {
            "cooler.sugar": "hot.sugar",
            "cooler.air": "air.air",
            "outside.c": "cooler.cooled",
            "outside.a": "cooler.air_out",
        },
    )


def test_worked_cooler() -> None:
    """Worked by hand: crystal gives 17 K (1.1358 + 0.0043 · 46.5) kJ/kg, air takes 1.006 + 1.86 · 0.008 kJ/kg/K."""
    state = cooler().predict()
    rise = 17.0 * (1.1358 + 0.0043 * 46.5) / (1.2 * (1.006 + 1.86 * 0.008))
    assert of(state, "cooler.air_out").temperature == pytest.approx(18.0 + rise, abs=1e-6)
    assert of(state, "cooler.air_out").humidity == pytest.approx(0.008, rel=1e-9)
    assert state.values["cooler.sugar_above_air"] == pytest.approx(20.0, abs=1e-9)
    assert state.values["cooler.air_below_sugar"] == pytest.approx(37.0 - rise, abs=1e-6)
    assert worst_closure(state) <= 1e-9


@pytest.mark.parametrize(
    ("flow", "changes", "which"),
    [
        ("counter-current", {"cooler.temperature": 16.0}, "sugar_above_air"),  # below the cold air
        ("counter-current", {"cooler.air_ratio": 0.4}, "air_below_sugar"),  # air out above the hot sugar
        ("co-current", {"cooler.air_ratio": 0.8}, "air_below_sugar"),  # air out above the cooled sugar
        ("fluidised bed", {"cooler.air_ratio": 0.7}, "air_below_sugar"),  # colder than the bed could make it
    ],
)
def test_ends_of_a_cooler_never_cross(flow: str, changes: dict[str, float], which: str) -> None:
    with pytest.raises(NotSolved, match=which):
        cooler(flow).predict(changes)


def test_fluidised_bed_lies_between_the_two_flows() -> None:
    """Cut into 2,000 slices whose air leaves as warm as the sugar: the limit of the bed, step by step (by hand)."""
    state = cooler("fluidised bed").predict()
    heat, sugar = 1.1358 + 0.0043 * 38.0, 55.0
    for _ in range(2000):
        sugar -= 1.2 * 1.02 / heat / 2000.0 * (sugar - 18.0)
    assert state.values["cooler.air_below_sugar"] == pytest.approx(38.0 - sugar, rel=2e-3)
    counter = 55.0 - 37.0 * 1.2 * 1.02 / heat
    together = 18.0 + 37.0 * heat / (heat + 1.2 * 1.02)
    assert counter < sugar < together
    assert (counter, sugar, together) == pytest.approx((20.1, 32.4, 37.0), abs=0.1)


def test_less_air_leaves_warmer_and_no_hot_sugar_solves() -> None:
    plant = cooler()
    base, less = plant.predict(), plant.predict({"cooler.air_ratio": 1.0})
    assert number(less, "cooler.air_out", "temperature") > number(base, "cooler.air_out", "temperature")
    assert idle(plant, hot__rate=0.0)["cooler.air_out.temperature"] == pytest.approx(38.0, abs=1e-6)
