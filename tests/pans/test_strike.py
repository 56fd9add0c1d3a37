"""Strikes: balances, another integrator, classes of size, a published table of four strikes, limits and signs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from canewright.analysis.massecuite_figures import crystal_content_by_brix
from canewright.engine.evaluation import evaluated
from canewright.pans import grain, motion, pan
from canewright.pans.classes import by_classes
from canewright.pans.description import StrikeRefused, template, templates
from canewright.pans.settings import declared
from canewright.pans.strike import UNITS, Boiled, balances, boil
from canewright.plant.faults import DescriptionFaults
from canewright.properties.sucrose import solubility
from canewright.properties.thermal import crystal_enthalpy, liquor_enthalpy_flow
from canewright.quantity import noting_breaches
from pans.strikes import boiled, described, reworded

TABLE = (  # colour of massecuite, of sugar, of jet; purity of jet
    (210.0, 21.0, 399.0, 98.8),
    (418.95, 41.90, 796.005, 97.6),
    (835.81, 83.58, 1588.03, 95.2),
    (1667.43, 166.74, 3168.12, 90.4),
)
"""Thompson, Fry and Hasrajani, Thoughts on Refinery Boiling Schemes (2005), table 1 (read): 50 % crystal on solids,
colour of massecuite ten times that of its crystal, 5 % colour formed, liquor of 200 IU and purity 99.4; it prints
whole colours (419, 836, 1667, 3168), the further digits follow from its rules."""


@pytest.mark.parametrize("name", templates())
def test_every_strike_that_comes_along_boils_to_its_drop_without_a_caution(name: str) -> None:
    one = boiled(name)
    assert one.cautions() == []
    assert one.end["brix"] == pytest.approx(one.strike.values["drop.brix"], abs=1e-6)
    assert set(one.course) == set(UNITS)
    assert all(np.isfinite(values).all() for values in one.course.values())


@pytest.mark.parametrize("name", templates())
def test_components_and_heat_balance_at_every_moment(name: str) -> None:
    one = boiled(name)
    assert max(balances(one).values()) < 1e-13
    course = one.course
    dissolved = course["sucrose in solution"], course["non-sucrose"]
    warm = liquor_enthalpy_flow.function(course["water in pan"], *dissolved, course["temperature"])
    held = warm + course["crystal"] * crystal_enthalpy.function(course["temperature"])
    assert held == pytest.approx(course["heat in pan"], rel=1e-12)


@settings(max_examples=12, deadline=None)
@given(
    purity=st.floats(97.0, 99.9), mass=st.floats(0.5, 1.5), size=st.floats(0.01, 0.03), point=st.floats(1.03, 1.15),
    rate=st.floats(35.0, 90.0), pressure=st.floats(14.0, 24.0), dispersion=st.floats(0.0, 40.0),
)  # fmt: skip
def test_sugar_is_conserved_whatever_is_boiled(
    purity: float, mass: float, size: float, point: float, rate: float, pressure: float, dispersion: float
) -> None:
    strike = described(
        "refined", feed_1__purity=purity, seed__mass=mass, seed__size=size, seed__supersaturation=point,
        growth__rate=rate, vapour__pressure=pressure, growth__dispersion=dispersion, drop__longest=12.0,
        drop__brix=88.5,
    )  # fmt: skip
    one = boil(strike, every=2.0)
    assert max(balances(one).values()) < 1e-9
    # crystal by the brixes of massecuite and mother liquor is that of the moments
    found = crystal_content_by_brix.function(one.end["brix"], one.end["liquor brix"])
    assert found == pytest.approx(one.end["crystal on massecuite"], rel=1e-9)
    # and by the purities, on massecuite: brix (P − Pm)/(100 − Pm)
    end = one.end
    by_purity = end["brix"] * (end["purity"] - end["liquor purity"]) / (100.0 - end["liquor purity"])
    assert by_purity == pytest.approx(end["crystal on massecuite"], rel=1e-9)


def test_holding_the_supersaturation_without_crystal_takes_18_5_tonnes_of_feed_per_tonne_boiled_off() -> None:
    # F/E = c/(c w − s) with c = 1.1 c_sat(70 °C) and liquor of 74 % and purity 99.4; hand-worked, pure solubility
    saturated = float(solubility(70.0)) / (100.0 - float(solubility(70.0)))
    held, water, sucrose = 1.1 * saturated, 0.26, 0.74 * 0.994
    per_tonne = held / (held * water - sucrose)
    assert per_tonne == pytest.approx(18.5, abs=0.05)
    v = dict(described("refined", feed_1__brix=74.0).values)
    with noting_breaches():
        # so much boiled off that the footing stands at that concentration; then a little more, with and without feed
        base = pan.footing(v)
        gone = float(base.water - base.sucrose / held)
        still = {s.name: 0.0 for s in motion.states(1)} | {"seeded": 0.0, "evaporated": gone}
        ratios = [
            float(c.sucrose / c.total.water)
            for c in (
                pan.contents({**v, **still}, 1),
                pan.contents({**v, **still, "evaporated": gone + 0.01, "fed 1": 0.01 * per_tonne}, 1),
                pan.contents({**v, **still, "evaporated": gone + 0.01}, 1),
            )
        ]
    assert ratios[1] == pytest.approx(ratios[0], rel=1e-9)
    assert ratios[2] > ratios[0] * 1.001


def test_a_pure_liquor_boils_too() -> None:
    one = boil(described("refined", feed_1__purity=100.0), every=1.0)
    assert max(balances(one).values()) < 1e-13
    assert one.end["liquor purity"] == pytest.approx(100.0, abs=1e-9)


def test_crystal_of_the_moments_is_what_was_laid_down_on_the_surface_minute_by_minute() -> None:
    one = boil(described("refined", merging__readiness=0.0, growth__dispersion=0.0), every=0.05)
    course = one.course
    after = one.times >= one.phases[0][2]
    area = course["crystal surface"][after] * course["volume"][after] / (1e3 * grain.SURFACE)  # second moment
    laid = 3.0 * grain.PER_CUBE * 1e-3 * course["growth"][after] * area
    minutes = np.diff(one.times[after])
    grown = np.sum(0.5 * minutes * (laid[1:] + laid[:-1]))
    assert grown == pytest.approx(one.end["crystal"] - course["crystal"][after][0], rel=2e-3)


@pytest.mark.parametrize("name", ["refined", "raw-b"])
def test_scipy_radau_at_tight_tolerance_comes_to_the_same_states(name: str) -> None:
    one = boiled(name)
    p, leg = one.settings, one.legs[1]
    u = one.motion.drive(leg.leg.inputs)
    span = float(leg.times[-1] - leg.times[0])

    def rate(_: float, x: np.ndarray) -> np.ndarray:
        return evaluated(one.motion.rate, x, p, u)[0]

    def jacobian(_: float, x: np.ndarray) -> np.ndarray:
        return np.array(one.motion.jacobian(x, p, u))

    other = solve_ivp(rate, (0.0, span), leg.states[:, 0], method="Radau", rtol=1e-10, atol=1e-12, jac=jacobian)
    assert other.success
    assert leg.last == pytest.approx(other.y[:, -1], rel=2e-6, abs=2e-6)


def test_tighter_tolerance_moves_the_drop_by_less_than_a_hundredth_of_a_second() -> None:
    one = boiled("refined")
    x, at, p = one.legs[0].states[:, 0], 0.0, one.settings
    for leg in one.legs:
        followed = one.motion.follow(leg.leg, x, p, at, 0.25, tolerance=1e-11)
        x, at = followed.last, float(followed.times[-1])
    assert at == pytest.approx(float(one.times[-1]), abs=0.01 / 60.0 * 60.0)


def test_classes_of_size_agree_with_the_moments() -> None:
    for changes in ({"merging__readiness": 0.0}, {"merging__readiness": 0.0, "growth__dispersion": 0.0}, {}):
        one = boiled("refined", **changes)
        found = by_classes(one, 200).moments()
        assert found[0] == pytest.approx(one.end["crystals"], rel=1e-4)
        assert grain.mass(found) == pytest.approx(one.end["crystal"], rel=4e-3)
        assert grain.mean_by_mass(found) == pytest.approx(one.end["mean size"], rel=3e-3)
        assert 100.0 * grain.variation_squared(found) ** 0.5 == pytest.approx(one.end["variation"], abs=0.7)


def test_classes_come_nearer_to_the_moments_with_finer_cells() -> None:
    one = boiled("refined", merging__readiness=0.0)
    far = [
        grain.mean_by_mass(by_classes(one, cells).moments()) / one.end["mean size"] - 1.0 for cells in (100, 200, 400)
    ]
    assert abs(far[2]) < 0.5 * abs(far[1]) < 0.25 * abs(far[0])


def test_false_grain_by_classes_is_that_of_its_moments() -> None:
    changes = {"false_grain__limit": 1.1, "seed__supersaturation": 1.05, "false_grain__rate": 0.5}
    one = boiled("refined", merging__readiness=0.0, drop__most_false_grain=50.0, **changes)
    found = by_classes(one, 400)
    assert one.end["false grain"] > 0.1
    assert float(found.numbers[-1].sum()) == pytest.approx(one.false_moments[0], rel=2e-3)
    assert float(found.numbers[-1] @ found.sizes**3) == pytest.approx(one.false_moments[3], rel=2e-2)
    assert any("above the limit of false grain" in each for each in one.cautions())


def test_the_published_table_of_four_refinery_strikes_comes_out_of_the_pan() -> None:
    purity, colour, sugars = 99.4, 200.0, []
    for massecuite, sugar, jet, left in TABLE:
        strike = reworded(
            "refined", ("purity = 99.4", f"purity = {purity!r}"), ("colour = 200", f"colour = {colour!r}"),
            ("[drop]\nbrix = 89.5", '[drop]\nby = "crystal on solids"\ncrystal = 50\nbrix = 96'),
            ("[growth]", '[colour]\nincluded_from = "massecuite"\ninclusion = 0.1\nformation = 0\n[growth]'),
            ("[colour]", "[colour]\non_feeding = 5"),
            ("mass = 0.8", "mass = 0.02"), ("size = 0.015", "size = 0.005"), ("brix_full = 87", "brix_full = 84"),
            ("longest = 4", "longest = 12"),
        )  # fmt: skip
        end = boil(strike, every=1.0).end
        assert end["crystal on solids"] == pytest.approx(50.0, abs=1e-6)
        # the seed brings twenty grams of sucrose without colour into some fifty tonnes
        assert end["massecuite colour"] == pytest.approx(massecuite, rel=1e-4)
        assert end["crystal colour"] == pytest.approx(sugar, rel=1.5e-4)
        assert end["liquor colour"] == pytest.approx(jet, rel=1.5e-4)
        assert end["liquor purity"] == pytest.approx(left, abs=2e-3)
        purity, colour = end["liquor purity"], end["liquor colour"]
        sugars.append(end["crystal colour"])
    shares = 0.5 ** np.arange(1, 5)
    assert float(shares @ sugars / shares.sum()) == pytest.approx(44.63, abs=0.01)
    assert float(shares[:3] @ sugars[:3] / shares[:3].sum()) == pytest.approx(35.91, abs=0.01)


def test_without_feed_the_colour_left_in_solution_is_a_power_of_what_is_left_of_it() -> None:
    # dKx = p K/(D − X) dX with nothing fed gives K = K0 ((D − X)/(D − X0))^p; derived, hand-worked
    one = boiled("refined", colour__inclusion=0.03, colour__formation=0.0)
    course, first = one.course, int(np.searchsorted(one.times, one.phases[-1][1]))
    dissolved = course["sucrose in solution"] + course["non-sucrose"]
    left = dissolved[-1] / dissolved[first]
    colour = course["liquor colour"] * dissolved
    assert 0.5 < left < 0.95
    assert colour[-1] / colour[first] == pytest.approx(left**0.03, rel=1e-7)


def test_at_saturation_nothing_grows_and_below_it_crystal_dissolves() -> None:
    v = dict(described("refined").values)
    with noting_breaches():
        for shift, sign in ((0.0, 0), (0.01, 1), (-0.01, -1)):
            c = _at_supersaturation(v, 1.0 + shift)
            assert np.sign(round(float(pan.growth(v, c, "power")), 9)) == sign
            assert np.sign(round(float(pan.growth(v, c, "spiral")), 9)) == sign


def _at_supersaturation(v: dict[str, float], wanted: float) -> pan.Contents:
    """A seeded footing from which so much water has gone that it stands at a supersaturation."""
    states = {s.name: 0.0 for s in motion.states(1)} | {"seeded": 1.0}
    low, high = 0.0, 3.0
    for _ in range(80):
        gone = 0.5 * (low + high)
        c = pan.contents({**v, **states, "evaporated": gone, "vapour heat": 2600.0 * gone, "heat": 2600.0 * gone}, 1)
        low, high = (gone, high) if float(c.supersaturation) < wanted else (low, gone)
    return c


def test_an_unseeded_pan_has_no_crystal_and_no_false_grain() -> None:
    one = boiled("refined")
    concentrating = one.legs[0]
    told = one.motion.told(concentrating.states, one.settings, one.motion.drive(concentrating.leg.inputs))
    assert np.abs(told["crystal"]).max() < 1e-18
    assert np.abs(told["false crystals"]).max() < 1e-15


@pytest.mark.parametrize(
    ("setting", "change", "figure", "sign"),
    [
        ("growth__rate", 60.0, "boiling time", -1), ("pan__heat_transfer", 1.1, "boiling time", -1),
        ("seed__mass", 1.2, "mean size", -1), ("seed__mass", 1.2, "boiling time", -1),
        ("vapour__steam_pressure", 140.0, "boiling time", -1), ("pan__viscosity_exponent", 0.35, "boiling time", 1),
        ("growth__dispersion", 30.0, "variation", 1), ("feed_1__brix", 74.0, "steam", -1),
        ("feed_1__colour", 300.0, "crystal colour", 1), ("growth__hindrance", 2.0, "boiling time", 1),
        ("pan__heat_loss", 6.0, "steam", 1), ("merging__readiness", 0.3, "crystals", -1),
        ("drop__brix", 90.0, "crystal on massecuite", 1), ("drop__brix", 90.0, "liquor purity", -1),
    ],
)  # fmt: skip
def test_more_of_one_thing_moves_a_figure_the_way_the_trade_knows(
    setting: str, change: float, figure: str, sign: int
) -> None:
    first, other = boiled("refined"), boiled("refined", **{setting: change})

    def read(one: Boiled) -> float:
        return float(one.times[-1]) if figure == "boiling time" else one.end[figure]

    assert np.sign(read(other) - read(first)) == sign


def test_mother_liquor_purity_falls_throughout_the_tightening() -> None:
    one = boiled("raw-a")
    last = one.times >= one.phases[-1][1]
    assert np.all(np.diff(one.course["liquor purity"][last]) < 0.0)


def test_topping_up_at_full_level_drops_a_fuller_pan() -> None:
    plain, topped = boiled("refined"), boiled("refined", drop__hold_brix=88.5)
    assert [name for name, _, _ in topped.phases] == ["concentrate", "fill 1", "top up", "tighten"]
    assert topped.end["volume"] > plain.end["volume"] + 0.5
    assert topped.course["volume"].max() <= 40.0 * 1.02


def test_sensitivities_are_those_of_strikes_boiled_anew() -> None:
    one = boiled("refined")
    steps = {"growth.rate": 1.0, "seed.mass": 0.02, "drop.brix": 0.1, "pan.heat_transfer": 0.02, "pan.full": 0.2}
    told = one.sensitivity(list(steps))
    for name, step in steps.items():
        value, key = one.strike.values[name], name.replace(".", "__")
        up, down = (boiled("refined", **{key: value + s}) for s in (step, -step))
        for figure in ("mean size", "steam", "crystal on massecuite"):
            assert told[figure][name] == pytest.approx(
                (up.end[figure] - down.end[figure]) / (2 * step), rel=2e-2, abs=1e-6
            )
        slope = (up.times[-1] - down.times[-1]) / (2 * step)
        assert told["boiling time"][name] == pytest.approx(slope, rel=2e-2)


def test_the_spiral_law_boils_too() -> None:
    one = boil(
        reworded("refined", ("[growth]", '[growth]\nlaw = "spiral"'), ("longest = 4", "longest = 12")), every=0.5
    )
    assert one.end["mean size"] == pytest.approx(boiled("refined").end["mean size"], rel=0.05)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"drop__longest": 1.0}, r"does not finish in 1 h \(drop.longest\): volume is .* of 40"),
        ({"drop__brix": 95.0}, r"crystal on massecuite reaches 62 % \(drop.most_crystal"),
        ({"feed_1__brix": 80.0, "feed_1__temperature": 60.0}, r"supersaturation is 1\.\d+ before steam is opened"),
        ({"growth__rate": 0.5, "drop__longest": 3.0}, "does not finish in 3 h"),
    ],
)
def test_a_strike_that_cannot_be_boiled_names_quantity_and_limit(changes: dict[str, float], says: str) -> None:
    with pytest.raises(StrikeRefused, match=says):
        boil(described("refined", **changes), every=1.0)


def test_a_magma_with_much_thin_liquor_brings_the_pan_below_saturation() -> None:
    strike = reworded("raw-a", ("liquor = 0.7", "liquor = 3"), ("liquor_brix = 80", "liquor_brix = 45"))
    with pytest.raises(StrikeRefused, match=r"seed: supersaturation is 0\.\d+ once the seed with its liquor is in"):
        boil(strike, every=1.0)


@pytest.mark.parametrize("seed", range(6))
def test_whatever_is_described_is_boiled_in_balance_or_refused_in_words(seed: int) -> None:
    chance = np.random.default_rng(seed)
    for _ in range(5):
        strike = template(str(chance.choice(templates())))
        changes = {}
        for name in chance.choice(sorted(strike.values), size=5, replace=False):
            limits = declared(str(name))
            drawn = (chance.uniform(limits.low, limits.high), strike.values[str(name)] * chance.uniform(0.7, 1.4))
            changes[str(name)] = float(np.clip(chance.choice(drawn), limits.low, limits.high))
        try:
            one = boil(strike.with_values(changes), every=1.0)
        except (StrikeRefused, DescriptionFaults) as refused:
            said = str(refused)
            assert ":" in said
            continue
        assert max(balances(one).values()) < 1e-9
        assert all(np.isfinite(values).all() for values in one.course.values())
