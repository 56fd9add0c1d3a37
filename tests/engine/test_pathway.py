"""A wanted setting that cannot be reached: how far one gets, and which limit stands ahead."""

from __future__ import annotations

import numpy as np
import pytest

from canewright.engine import Law, Model, NotSolved, Variable, predict
from canewright.engine.pathway import amount, follow


def tank() -> Model:
    """A level that follows the inflow by the square law of its outlet, and a tank that is 4 m deep."""
    level = Variable("level", "m", 1.0, 0.0, 4.0, "level in the tank")
    inflow = Variable("inflow", "t/h", 1.0, 0.0, 100.0, "inflow")
    law = Law("tank", "what comes in runs out", "t/h", 1.0)
    return Model([level], [inflow], [law], lambda v: [(v["inflow"], 2.0 * (v["level"] + 1e-9) ** 0.5)])


def test_the_limit_ahead_is_named_with_how_far_one_gets() -> None:
    model = tank()
    here = predict(model, {"level": 1.0, "inflow": 2.0})
    with pytest.raises(
        NotSolved, match=r"moved \d+ % of the way \(inflow to 3\.99\d t/h\); level is .* heads for its limit of 4 m"
    ):
        predict(model, {"level": 1.0, "inflow": 6.0}, here.scaled)


def test_a_reachable_setting_is_reached_in_steps() -> None:
    model = tank()
    here = predict(model, {"level": 1.0, "inflow": 2.0}).scaled
    wanted = model.scaled({"level": 1.0, "inflow": 3.9})
    path = follow(model, here, wanted, lambda u: not model.outside(u))
    assert path.whole
    assert np.allclose(path.scaled, [(3.9 / 2) ** 2, 3.9])


def heated(symbol: str) -> Model:
    """A level that no inflow can bring where it is wanted, its law in this unit."""
    level = Variable("level", "1", 1.0, 0.0, 4.0, "level in the tank")
    inflow = Variable("inflow", "t/h", 1.0, 0.0, 100.0, "inflow")
    law = Law("tank", "what comes in runs out", symbol, 1.0)
    return Model([level], [inflow], [law], lambda v: [(v["inflow"] + 300.0, -(v["level"] ** 2))])


@pytest.mark.parametrize(
    ("symbol", "told"),
    [
        ("t/h", "runs out: 3.. t/h apart"),
        ("%·t/h", r"runs out: 3\.\d+ t/h apart"),
        ("°C", "runs out: 3.. K apart"),
        ("1", "runs out: 3.. apart"),
        ("h·(1)^0.5·kPa", "runs out: not met"),
        ("kW/m²/K·MJ/h/kW·m²", "runs out: not met"),
    ],
)
def test_gaps_are_told_in_plain_units_only(symbol: str, told: str) -> None:
    with pytest.raises(NotSolved, match=told):
        predict(heated(symbol), {"level": 1.0, "inflow": 2.0})


def test_a_plain_number_has_no_unit_behind_it() -> None:
    model = tank()
    assert amount(2.0, "1") == "2"
    assert amount(2.0, "kPa") == "2 kPa"
    assert amount(model.high[0], "m") == "4 m"
    assert amount(96312.0, "MJ/h") == "96,310 MJ/h"
    assert amount(2e-7, "1") == "2e-07"


def test_gaps_with_a_size_are_told_first() -> None:
    laws = [Law("filter", "run ends", "h·(1)^0.5·kPa", 1.0), Law("tank", "it fills", "t/h", 1.0)]
    pair = [Variable(name, "1", 1.0, 0.0, 4.0) for name in ("a", "b")]
    model = Model(pair, [], laws, lambda v: [(v["a"] ** 2, -500.0), (v["b"] ** 2, -300.0)])
    with pytest.raises(NotSolved, match=r"settings; tank: it fills: 3\d\d t/h apart; filter: run ends: not met$"):
        predict(model, {"a": 1.0, "b": 1.0})
