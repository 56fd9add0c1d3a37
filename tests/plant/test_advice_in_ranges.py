"""Advice on a small mill: probability, ranges of closed days, responses, smallest sets, refusals; and what-if."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.optimize import NonlinearConstraint, minimize

from accounts.advised_mill import MONEY, TEXT, advised, adviser, day, state, today, with_limit
from canewright.engine import NotSolved
from canewright.engine.along import Along
from canewright.engine.conflict import Conflict
from canewright.plant.advice_words import worth_of_more
from canewright.plant.advising import Adviser, PlantAdvice, Question, advise_plant
from canewright.plant.description import DescriptionFaults
from canewright.plant.experience import ClosedState, response
from canewright.plant.handles import AdviceRefused
from canewright.plant.plant import Plant, State
from canewright.plant.prices import Price, price_list, worth_of
from canewright.plant.what_if import Told, WhatIf

BRIX = "brix of mixed juice"
WATER, MOISTURE = "imbibition.on_fibre", "mill 5.moisture"


@pytest.fixture(scope="module")
def advice() -> PlantAdvice:
    """What to move today, ranges not asked for."""
    return adviser().advise(today().state, Question(today()))


def drawn(at: State, draws: int, seed: int) -> np.ndarray:
    """Brix of mixed juice where today's settings are drawn from their uncertainty, those of this state moved alike."""
    plant, result, chance = advised(), today().result, np.random.default_rng(seed)
    told = plant.model.expressions(lambda v: [plant.assembly.measured("screen.screened", "refractometer brix", v)])
    along = Along(plant.model, told, result.free, at.scaled)
    root = np.linalg.cholesky(result.covariance + 1e-16 * np.eye(len(result.free)))
    middle = at.scaled[along.columns]
    return np.array([along.values(middle + root @ chance.standard_normal(len(middle)))[0] for _ in range(draws)])


# --- derivatives and the optimum --------------------------------------------------------------------------------------


def test_slopes_agree_with_finite_differences() -> None:
    """Money and brix by two handles, central differences of whole predictions: to 1e-6."""
    plant, names = advised(), [WATER, MOISTURE]
    told = plant.model.expressions(lambda v: [plant.assembly.measured("screen.screened", "refractometer brix", v)])
    for expressions in (worth_of(plant), told):
        z = state().scaled[[plant.model.index[n] for n in names]]
        slopes = Along(plant.model, expressions, names, state().scaled).slopes(z)[0]
        for j, name in enumerate(names):
            now, step = state().values[name], 1e-4 * state().values[name]
            ends = [plant.predict({name: now + s * step}, state()).scaled for s in (-1, 1)]
            low, high = (float(expressions.at(end)[0]) for end in ends)
            nominal = plant.model.nominal[plant.model.index[name]]
            assert slopes[j] / nominal == pytest.approx((high - low) / (2 * step), rel=1e-6)


def test_an_independent_solver_finds_the_same_best_moves() -> None:
    """SciPy's trust-constr on whole predictions, with finite differences of its own."""
    plant = advised()
    found = advise_plant(plant, state(), chosen=[WATER, MOISTURE])
    worth, base = worth_of(plant), state()
    size = np.array([20.0, 1.0])

    def predicted(x: np.ndarray) -> np.ndarray:
        return plant.predict(dict(zip((WATER, MOISTURE), x * size, strict=True)), base).scaled

    def brix(x: np.ndarray) -> float:
        values = plant.model.named(predicted(x))
        return float(plant.assembly.measured("screen.screened", "refractometer brix", values))

    sought = minimize(
        lambda x: -float(worth.at(predicted(x))[0]) / 1e3, np.array([220.0, 50.0]) / size, method="trust-constr",
        jac="3-point", bounds=[(180 / 20, 260 / 20), (48, 52)], hess=lambda x: np.zeros((2, 2)),
        constraints=[NonlinearConstraint(brix, 14.6, np.inf, jac="3-point", hess=lambda x, v: np.zeros((2, 2)))],
        options={"maxiter": 400, "gtol": 1e-7, "xtol": 1e-9},
    )  # fmt: skip
    assert found.advice.worth_then == pytest.approx(-1e3 * sought.fun, rel=1e-6)
    then = {m.setting: m.then for m in found.moves}
    assert [then[WATER], then[MOISTURE]] == pytest.approx((sought.x * size).tolist(), abs=0.02)


def test_a_shadow_price_is_the_gain_of_relaxing_by_a_thousandth(advice: PlantAdvice) -> None:
    assert BRIX in advice.advice.binding
    relaxed = Plant.from_text(with_limit(14.6 * 0.999))
    then = Adviser(relaxed).advise(today().state, Question(today()))
    gained = (then.gain_a_day - advice.gain_a_day) / (14.6 * 0.001)
    assert gained == pytest.approx(-advice.advice.shadow_prices[BRIX], rel=0.02)
    assert any(s.startswith("one more % allowed for 'brix of mixed juice' is worth") for s in advice.sentences)


# --- quality with probability -----------------------------------------------------------------------------------------


def test_the_probability_is_kept_as_monte_carlo_says(advice: PlantAdvice) -> None:
    """Settings drawn from today's uncertainty, each handle moved by its step: 90 % of the draws keep the brix."""
    kept = drawn(advice.state, 2000, 20260816) >= 14.6
    assert np.mean(kept) == pytest.approx(0.9, abs=3 * (0.9 * 0.1 / len(kept)) ** 0.5)


def test_the_price_of_safety_is_the_gain_without_the_margin(advice: PlantAdvice) -> None:
    (safety,) = advice.safety
    bare = Plant.from_text(TEXT.replace("probability = 0.9\n", ""))
    without = Adviser(bare).advise(today().state, Question(today()))
    assert safety.sentence == BRIX
    assert safety.probability == 0.9
    assert safety.cost == pytest.approx(without.gain_a_day - advice.gain_a_day, rel=1e-6)
    assert safety.cost > 1


def test_a_specification_narrower_than_the_uncertainty_is_told() -> None:
    narrow = Plant.from_text(with_limit(15.39).replace("low = 15.39", "low = 15.39\nhigh = 15.41"))
    with pytest.raises(
        NotSolved, match=r"'brix of mixed juice' is asked from 15.39 to 15.41 %.*nothing is left between"
    ):
        Adviser(narrow).advise(today().state, Question(today()))


def test_products_are_held_to_their_specifications_with_the_usual_probability() -> None:
    product = (
        '\n[products."mixed juice"]\nstream = "screen.screened"\n"apparent purity" = [10, 100]\nmoisture = [0, 85]\n'
    )
    told = Adviser(Plant.from_text(TEXT + product)).advise(today().state, Question(today()))
    held = {one.sentence: one for one in told.limits}
    assert held["moisture of mixed juice"].probability == 0.95
    assert held["moisture of mixed juice"].margin > 0
    assert held["moisture of mixed juice"].low == -np.inf  # nothing is below no moisture
    assert held["moisture of mixed juice"].then <= 85 - held["moisture of mixed juice"].margin + 1e-6


# --- what the moves bring ---------------------------------------------------------------------------------------------


def test_moves_stand_in_order_of_gain_with_intervals_and_lines(advice: PlantAdvice) -> None:
    gains = [m.gain_alone for m in advice.moves]
    assert gains == sorted(gains, key=lambda g: -(g or 0.0))
    for m in advice.moves:
        assert m.gain_uncertainty is not None
        assert m.gain_uncertainty > 0
        assert sum(change for _, change in m.lines) == pytest.approx(m.gain_alone, abs=1e-3)
    assert advice.gain_an_hour == pytest.approx(advice.gain_a_day / 24)


def test_the_smallest_set_is_the_smallest_by_trying_all(advice: PlantAdvice) -> None:
    """Every smaller set, its own best steps taken, brings less than nine tenths."""
    assert advice.smallest_gain >= 0.9 * advice.gain_a_day
    names = [m.setting for m in advice.moves]
    for size in range(1, len(advice.smallest_set)):
        for chosen in itertools.combinations(names, size):
            alone = adviser().advise(today().state, Question(today(), chosen=chosen))
            assert alone.gain_a_day < 0.9 * advice.gain_a_day
    again = adviser().advise(today().state, Question(today(), chosen=list(advice.smallest_set)))
    assert again.gain_a_day >= advice.smallest_gain - 1e-3


def test_a_price_of_power_is_what_one_more_of_it_is_worth(advice: PlantAdvice) -> None:
    """By hand: bought at 140 $/MWh, one kW less to buy saves 0.14 x 24 $/d where it is used."""
    assert worth_of_more(advised(), advice.advice, "grid.power") == pytest.approx(0.14 * 24, rel=1e-6)


def test_water_is_worth_nothing_where_it_is_bought_but_not_priced(advice: PlantAdvice) -> None:
    """The supply of water gives what is asked for: a tonne more there only leaves a tonne undrawn."""
    assert worth_of_more(advised(), advice.advice, "water.water.1") == pytest.approx(0.0, abs=1e-6)
    assert worth_of_more(advised(), advice.advice, "mill 5.bagasse") is None  # nobody on the site uses it


# --- ranges and responses ---------------------------------------------------------------------------------------------


def closed(values: list[float], slope: float = 0.0, sd: float = 0.004) -> list[ClosedState]:
    """Closed days on which the last mill goes with the water."""
    follows = "mill 5.imbibition_coefficient"
    return [
        ClosedState(
            day(i + 1), {WATER: x, MOISTURE: 50.0, follows: 0.76 + slope * (x - 220.0)}, {WATER: 2.0, follows: sd}
        )
        for i, x in enumerate(values)
    ]


def test_steps_stay_inside_the_range_and_the_rest_is_a_trial() -> None:
    told = adviser().advise(today().state, Question(today(), closed([210.0, 225.0, 250.0, 232.0])))
    then = {m.setting: m.then for m in told.moves}
    assert then[WATER] == pytest.approx(250.0, abs=1e-6)  # the days reach further than what the site states
    trial = next(t for t in told.trials if t.setting == WATER)
    assert trial.then > 250
    assert str(trial) == f"trial first: {WATER} from 220 to {trial.then:.4g} %; known is 200 to 250 in 4 closed days"
    assert told.trial_gain > 0


def test_without_days_only_what_the_site_states_is_known() -> None:
    told = adviser().advise(today().state, Question(today(), []))
    then = {m.setting: m.then for m in told.moves}
    assert then[WATER] == pytest.approx(245.0, abs=1e-6)
    unstated = Plant.from_text(TEXT.replace("tried = [200, 245]\n", ""))
    none = Adviser(unstated).advise(today().state, Question(today(), closed([210.0, 230.0])))
    assert {m.setting: m.then for m in none.moves}[WATER] == pytest.approx(today().state.values[WATER])
    assert any("no closed days tell what it does" in str(t) for t in none.trials)


def test_a_response_is_recovered_from_days_that_show_it() -> None:
    """Days made with a slope of -0.0004 for each % of water; the prior is zero, give or take 0.04 over 150 %."""
    days = closed([200.0, 215.0, 230.0, 245.0, 260.0, 205.0], slope=-4e-4, sd=0.001)
    found = response(days, ("mill 5.imbibition_coefficient", 0.76, 0.04), (WATER, 150.0, 300.0))
    assert found.prior == pytest.approx(0.04 / 150)
    assert found.slope == pytest.approx(-4e-4, rel=0.02)
    assert found.told > 0.9
    assert found.range == (200.0, 260.0)
    told = adviser().advise(today().state, Question(today(), days))
    assert told.responses[0].slope == found.slope
    change = told.state.values["mill 5.imbibition_coefficient"] - today().state.values["mill 5.imbibition_coefficient"]
    moved = told.state.values[WATER] - today().state.values[WATER]
    assert change == pytest.approx(found.slope * moved, rel=1e-9)
    plain = adviser().advise(today().state, Question(today(), closed([200.0, 215.0, 230.0, 245.0, 260.0, 205.0])))
    assert told.gain_a_day < plain.gain_a_day  # water that the mill takes in worse brings less


def test_days_that_tell_nothing_leave_the_prior_and_scatter_widens() -> None:
    setting, handle = ("mill 5.imbibition_coefficient", 0.76, 0.04), (WATER, 150.0, 300.0)
    silent = response(closed([200.0, 220.0, 240.0], sd=0.04), setting, handle)
    assert (silent.slope, silent.told) == (0.0, 0.0)
    few = response(closed([200.0, 240.0]), setting, handle)
    assert (few.slope, few.uncertainty) == (0.0, few.prior)
    steady = response(closed([200.0, 220.0, 240.0, 210.0], sd=0.002), setting, handle)
    scattered = closed([200.0, 220.0, 240.0, 210.0], sd=0.002)
    for i, d in enumerate(scattered):
        d.values["mill 5.imbibition_coefficient"] += 0.02 * (-1) ** i  # type: ignore[index]
    assert response(scattered, setting, handle).uncertainty > 2 * steady.uncertainty


# --- left alone, and refusals -----------------------------------------------------------------------------------------


def test_what_is_not_to_be_touched_is_left_alone() -> None:
    listed = f'[advice]\ndo_not_touch = ["{WATER}"]\n\n[[advice.moves]]'
    described = Plant.from_text(TEXT.replace("[[advice.moves]]", listed, 1))
    told = Adviser(described).advise(state())
    assert told.left_alone == (WATER,)
    assert WATER not in {m.setting for m in told.moves}
    held = adviser().advise(state(), Question(held=[WATER]))
    assert held.gain_a_day == pytest.approx(told.gain_a_day, rel=1e-9)
    with pytest.raises(AdviceRefused, match="every handle is left alone"):
        adviser().advise(state(), Question(held=[WATER, MOISTURE, "mill 1.moisture"]))


def test_an_unknown_handle_is_answered_with_the_nearest() -> None:
    for asked in (Question(chosen=["imbibition.on_fiber"]), Question(held=["imbibition.on_fiber"])):
        with pytest.raises(AdviceRefused, match=r"no handle is called 'imbibition.on_fiber'; did you mean 'imbib"):
            adviser().advise(state(), asked)


def test_missing_prices_or_moves_are_said() -> None:
    without = Plant.from_text(TEXT.replace(MONEY, MONEY[MONEY.index("[[advice.moves]]") :]))
    with pytest.raises(AdviceRefused, match=r"no \[\[prices\]\]"):
        advise_plant(without, state())
    silent = Plant.from_text(TEXT[: TEXT.index("[[advice.moves]]")])
    with pytest.raises(AdviceRefused, match=r"no \[\[advice.moves\]\]"):
        advise_plant(silent, state())


def test_what_bears_no_price_is_not_considered(advice: PlantAdvice) -> None:
    said = " ".join(advice.notes)
    assert "enter or leave without a price, as if they cost nothing: cane, water" in said
    assert "cane payment is not in the price list" in said


def test_limits_in_conflict_are_named_with_what_would_do() -> None:
    """Brix of at least 16.5 within these steps cannot be; the least water allowed gives less."""
    plant = Plant.from_text(with_limit(16.9))
    with pytest.raises(Conflict) as caught:
        advise_plant(plant, state())
    (one,) = caught.value.limits
    assert one.limit.sentence == BRIX
    assert one.needed is not None
    assert one.needed < 16.9
    assert WATER in caught.value.ends
    assert f"alone it would be {one.needed:.4g}, allowed at least 16.9" in str(caught.value)
    advise_plant(Plant.from_text(with_limit(one.needed - 0.001)), state())  # and that much does


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("low = 150\nhigh = 300", "low = 300\nhigh = 150", "advice.moves 1.high: found 150; accepted: a number from"),
        ("low = 14.6", "low = 14.6\nhigh = 14", "advice.limits 1.high: found 14"),
        ("tried = [200, 245]", "tried = [245, 200]", "advice.moves 1.tried: found 200"),
        ('setting = "mill 1.moisture"', f'setting = "{WATER}"', "each setting in one"),
        ('setting = "mill 1.moisture"', 'setting = "mill 1.moistur"', "did you mean 'mill 1.moisture'"),
        ('move = "imbibition.on_fibre"', 'move = "imbibition.fibre"', "did you mean 'imbibition.on_fibre'"),
        ('setting = "mill 5.imbibition_coefficient"', f'setting = "{MOISTURE}"', "a setting that is no handle itself"),
        ("[[advice.moves]]", '[advice]\ndo_not_touch = ["mill 9"]\n\n[[advice.moves]]', "do_not_touch: found 'mill 9'"),
        ("[[advice.moves]]", "[advice]\nprobability = 1.5\n\n[[advice.moves]]", "advice.probability: found 1.5"),
    ],
)  # fmt: skip
def test_what_cannot_be_advised_from_is_told_by_line(before: str, after: str, said: str) -> None:
    with pytest.raises(DescriptionFaults, match="line") as caught:
        Plant.from_text(TEXT.replace(before, after, 1))
    assert said in str(caught.value)


def test_specifications_that_contradict_each_other_are_told() -> None:
    product = '\n[products.juice]\nstream = "screen.screened"\n"refractometer brix" = [10, 14]\n'
    with pytest.raises(DescriptionFaults) as caught:
        Plant.from_text(TEXT + product)
    assert "refractometer brix of screen.screened at most 14, but at least 14.6 in advice.limits 1" in str(caught.value)


# --- what if ----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def asked() -> WhatIf:
    """Questions about money, brix and extraction."""
    plant = advised()

    told = [
        Told("money a day", "$/d", "money", 0, lambda v: sum(p.a_day(plant.assembly, v) for p in price_list(plant))),
        Told("brix", "%", "juice", 2, lambda v: plant.assembly.measured("screen.screened", "refractometer brix", v)),
        Told("pol of bagasse", "%", "mill", 2, lambda v: plant.assembly.measured("mill 5.bagasse", "pol", v)),
    ]
    return WhatIf(plant, today().state, told, today())


def test_a_difference_is_that_of_two_predictions(asked: WhatIf) -> None:
    answer = asked.ask({WATER: 235.0})
    held = {v.name: today().state.values[v.name] for v in advised().model.settings}
    then = advised().predict({**held, WATER: 235.0}, today().state)
    row = answer.row("brix")
    assert row.then == pytest.approx(then.measured("screen.screened", "refractometer brix"), rel=1e-12)
    assert row.base == pytest.approx(today().state.measured("screen.screened", "refractometer brix"), rel=1e-12)
    assert asked.value("brix") == row.base
    assert answer.changed[0].then == 235.0


def test_the_uncertainty_of_a_difference_is_that_of_monte_carlo(asked: WhatIf) -> None:
    """Both states of each draw answer the same settings, the water moved by the same step."""
    held = {v.name: today().state.values[v.name] for v in advised().model.settings}
    after = advised().predict({**held, WATER: held[WATER] + 15.0}, today().state)
    before, then = (drawn(at, 2000, 20260817) for at in (today().state, after))
    step = asked.ask({WATER: held[WATER] + 15.0}).row("brix")
    assert step.uncertainty is not None
    assert step.uncertainty == pytest.approx(float(np.std(then - before, ddof=1)), rel=3 / (2 * 2000) ** 0.5)
    assert step.uncertainty < 0.5 * float(np.std(then))  # surer than either state


def test_what_is_passed_is_warned_of(asked: WhatIf) -> None:
    assert asked.ask({WATER: 225.0}).warnings == ()
    said = asked.ask({WATER: 290.0}).warnings
    assert any(s.startswith("brix of mixed juice would be 14.") and s.endswith("allowed at least 14.6 %") for s in said)


def test_questions_that_cannot_be_answered_say_why(asked: WhatIf) -> None:
    with pytest.raises(
        AdviceRefused, match=r"'imbibition.on_fiber'; did you mean 'imbibition.on_fibre'\? \d+ are known"
    ):
        asked.ask({"imbibition.on_fiber": 230.0})
    with pytest.raises(AdviceRefused, match=r"imbibition.on_fibre: found 5000 %; accepted: 20 to 500"):
        asked.ask({WATER: 5000.0})
    with pytest.raises(AdviceRefused, match="found nan"):
        asked.ask({WATER: float("nan")})
    with pytest.raises(AdviceRefused, match="no figure is called 'brx'; did you mean 'brix'"):
        asked.tornado("brx", {})


def test_a_tornado_stands_in_order_and_ends_at_predictions(asked: WhatIf) -> None:
    bars = asked.tornado("brix", {WATER: (180.0, 260.0)})
    assert [b.swing for b in bars] == sorted((b.swing for b in bars), reverse=True)
    water = next(b for b in bars if b.setting == WATER)
    assert (water.low, water.high, water.why) == (180.0, 260.0, "step")
    assert water.at_high == pytest.approx(asked.ask({WATER: 260.0}).row("brix").then, rel=1e-12)
    doubt = next(b for b in bars if b.why == "doubt")
    sd = today().result.variable_uncertainty[doubt.setting]
    assert doubt.high - doubt.low <= 2 * 1.96 * sd * (1 + 1e-6)


def test_another_set_of_handles_needs_no_new_tracing() -> None:
    fresh = Adviser(advised())
    fresh.advise(state())
    (first,) = fresh._programmes.values()
    fresh.advise(state(), Question(chosen=[WATER]))
    _, second = fresh._programmes.values()
    assert second.names == (WATER,)
    assert second.both is first.both
    for price in range(12):  # the price of cane is another every day
        fresh.advise(state(), Question(prices=[Price("cane", "cane.cane", -1.0, 30.0 + price, "$/t")]))
    assert len(fresh._priced) <= 8
    assert len(fresh._programmes) <= 8


def test_a_capacity_already_passed_is_not_passed_further_and_named() -> None:
    """Pumps that give less than today's water: no more of it is advised, though it would pay."""
    water = state().stream("imbibition.water").flow
    tight = Plant.from_text(TEXT.replace("on_fibre = { value", f"most_water = {0.9 * water}\non_fibre = {{ value"))
    told = Adviser(tight).advise(tight.predict())
    (over,) = told.already_over
    assert over.startswith("imbibition: imbibition within what the pumps give (passed by ")
    assert over.endswith("t/h; held to no more than that)")
    assert {m.setting: m.then for m in told.moves}[WATER] == pytest.approx(220.0, rel=1e-6)
    assert any("one more t/h allowed for 'imbibition: imbibition within" in s for s in told.sentences)


def test_a_quality_of_what_does_not_flow_is_no_limit() -> None:
    """A mill that stands: no brix to be kept, and advice says so instead of failing."""
    idle = Plant.from_text(TEXT)
    still = idle.predict({"cane.rate": 0.0})
    told = Adviser(idle).advise(still)
    assert any("no limit is kept on what has no value today" in n and BRIX in n for n in told.notes)
    assert BRIX not in {one.sentence for one in told.limits}
    assert told.gain_a_day == pytest.approx(0.0, abs=1e-3)


def test_a_handle_outside_its_limits_may_only_move_towards_them() -> None:
    wet = Plant.from_text(with_limit(12.0))
    told = Adviser(wet).advise(wet.predict({WATER: 320.0}))
    assert any(n.startswith(f"{WATER} is 320 % today, outside its limits 150 to 300") for n in told.notes)
    assert {m.setting: m.then for m in told.moves}[WATER] <= 320.0 + 1e-9
