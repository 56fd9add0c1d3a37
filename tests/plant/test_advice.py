"""Advice on the demo plant: honest money, shadow prices that hold, limits kept, refusals in words."""

from __future__ import annotations

from importlib.resources import files

import pytest

from canewright.engine import NotSolved
from canewright.plant.advice_words import worth_of_more
from canewright.plant.advising import PlantAdvice, advise_plant, not_considered, worth_of
from canewright.plant.keeping import spread
from canewright.plant.plant import Plant, State

TEXT = (files("canewright") / "demo_data" / "plant.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def allowed() -> float:
    """A colour of fine liquor a little above that of the demo plant as described."""
    return 1.02 * Plant.from_text(TEXT).predict().measured("carbon.decolourised", "colour")


@pytest.fixture(scope="module")
def plant(allowed: float) -> Plant:
    """The demo plant with its fine liquor held to that colour."""
    return Plant.from_text(with_limit(allowed))


@pytest.fixture(scope="module")
def state(plant: Plant) -> State:
    """Today."""
    return plant.predict()


@pytest.fixture(scope="module")
def advice(plant: Plant, state: State) -> PlantAdvice:
    """What to move today."""
    return advise_plant(plant, state)


def with_limit(colour: float) -> str:
    """The demo plant with another limit on the colour of fine liquor."""
    before = 'stream = "carbon.decolourised"\nquantity = "colour"\nhigh = 180'
    assert TEXT.count(before) == 1
    return TEXT.replace(before, before.replace("180", f"{colour:.6f}"))


def test_moves_stay_within_their_limits_and_steps(plant: Plant, advice: PlantAdvice) -> None:
    tables = {t["setting"]: t for t in plant.description.data["advice"]["moves"]}
    for move in advice.moves:
        table = tables[move.setting]
        assert table["low"] - 1e-6 <= move.then <= table["high"] + 1e-6
        assert abs(move.then - move.now) <= table["step"] * (1 + 1e-6)
    assert any(abs(m.then - m.now) > 1e-6 for m in advice.moves)


def test_the_handles_of_mill_and_refinery_are_there(advice: PlantAdvice) -> None:
    names = " ".join(m.setting for m in advice.moves)
    for handle in ("imbibition", "wash_on_massecuite", "concentrated dry substance", "carbon"):
        assert handle in names


def test_advised_settings_put_into_predict_give_the_same_money(plant: Plant, state: State, advice: PlantAdvice) -> None:
    again = plant.predict({m.setting: m.then for m in advice.moves}, state)
    money = float(worth_of(plant).at(again.scaled)[0])
    assert money == pytest.approx(advice.advice.worth_then, rel=1e-9)
    assert advice.gain_a_day > 0
    assert sum(then - now for _, now, then in advice.money) == pytest.approx(advice.gain_a_day, rel=1e-6)
    assert max(c.relative for c in again.closures) <= 1e-9


def test_a_shadow_price_is_the_gain_of_relaxing_its_limit(advice: PlantAdvice, allowed: float) -> None:
    says = "colour of fine liquor"
    assert says in advice.advice.binding
    relaxed = float(f"{allowed * 1.001:.6f}")
    other = Plant.from_text(with_limit(relaxed))
    then = advise_plant(other, other.predict())
    gained = (then.gain_a_day - advice.gain_a_day) / (relaxed - float(f"{allowed:.6f}"))
    assert gained == pytest.approx(advice.advice.shadow_prices[says], rel=0.02)


def test_every_limit_is_kept_and_what_was_over_is_named(advice: PlantAdvice) -> None:
    for one in advice.limits:
        slack = 1e-6 * max(1, abs(one.then))
        assert one.low + one.margin - slack <= one.then <= one.high - one.margin + slack, one.sentence
    assert all("held to no more than that" in over for over in advice.already_over)


def test_advice_says_what_it_leaves_out(plant: Plant, advice: PlantAdvice) -> None:
    assert any("without a price" in said for said in not_considered(plant))
    assert any("$/d" in said for said in advice.sentences)


def test_limits_that_cannot_be_met_are_named(state: State) -> None:
    impossible = Plant.from_text(with_limit(12.0))
    with pytest.raises(NotSolved, match="colour of fine liquor"):
        advise_plant(impossible, impossible.predict())


def test_uncertainty_today_sets_the_margin_and_the_interval(plant: Plant, state: State) -> None:
    readings = {m.tag: state.measured(m.stream, m.quantity) for m in plant.description.meters}
    today = plant.reconcile(readings, start=state)
    advice = advise_plant(plant, today.state, today)
    margins = {one.sentence: one.margin for one in advice.limits}
    wanted = plant.model.expressions(lambda v: [plant.assembly.measured("refined cooler.cooled", "colour", v)])
    (sd,) = spread(wanted, advice.state.scaled, today)
    assert margins["colour of refined sugar"] == pytest.approx(1.6449 * sd, rel=0.01)
    assert advice.gain_uncertainty is not None
    assert 0 < advice.gain_uncertainty < advice.gain_a_day


def test_imbibition_is_charged_with_steam_and_non_sucrose(state: State, advice: PlantAdvice) -> None:
    """More exhaust and bagasse burnt, more non-sucrose in juice and molasses, all in money."""
    (water,) = (m for m in advice.moves if m.setting == "imbibition.on_fibre")
    assert water.then > water.now
    lines = dict(water.lines)
    assert sum(lines.values()) == pytest.approx(water.gain_alone, abs=1e-3)
    assert lines["bagasse burnt"] < 0
    assert lines["imbibition water"] < 0
    assert lines["lime to juice"] < 0
    then = advice.state
    steam = [s.stream("exhaust valve.branches.1").flow for s in (state, then)]
    assert steam[1] > steam[0]
    juice = [s.stream("mill loss.passed") for s in (state, then)]
    assert juice[1].non_sucrose > juice[0].non_sucrose
    per_sucrose = [j.non_sucrose / j.sucrose for j in juice]
    assert per_sucrose[1] > per_sucrose[0]  # what more water brings out is the less pure part
    molasses = [s.stream("final molasses tank.liquor").flow for s in (state, then)]
    assert molasses[1] > molasses[0]


def test_power_is_worth_its_price_where_it_leaves(plant: Plant, advice: PlantAdvice) -> None:
    """By hand: exported at 60 $/MWh, a kW more of generated power brings 0.06 x 24 $/d."""
    assert worth_of_more(plant, advice.advice, "turbine.power") == pytest.approx(0.06 * 24, rel=1e-6)
    assert any(s == "one more MW of generated power is worth 1,440.00 $/d" for s in advice.resources)
