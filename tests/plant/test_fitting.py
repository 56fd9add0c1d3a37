"""Assumptions fitted to many days: against one large least-squares system, and against truths that are known.

The large system is the same sum of squares minimised by a general routine over every unknown of every day at once; it
shares no linear algebra with the fit. Days with a known truth are predictions with changed settings and drawn errors.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy.optimize import least_squares

from canewright.plant.fitting import CannotFit, Fit, FitDay, by_nature, fit
from canewright.plant.metering import COMMON_PART
from canewright.plant.plant import Plant
from plant.milling_train import TEXT as TRAIN

FIRST = dt.date(2031, 7, 1)
HELD = {
    "imbibition_coefficient": 0.8, "non_sucrose_ratio": 0.93, "fibre_to_juice": 3, "solids_to_juice": 15,
}  # fmt: skip


def _few_loose() -> str:
    """The milling train with three assumptions, one of them of the cane, and one loose setting of its own."""
    lines = []
    for line in TRAIN.split("\n"):
        key, equals, value = line.partition(" = ")
        loose = key in {*HELD, "moisture"} and bool(equals)
        lines.append(f"{key} = {{ value = {value}, uncertainty = 0 }}" if loose else line)
        if line.strip() == 'kind = "mill"':
            lines.append("specific_power = { value = 15, uncertainty = 0 }")
    text = "\n".join(lines).replace(
        "moisture = { value = 50, uncertainty = 0 }", "moisture = { assumed = 50, uncertainty = 1 }"
    )
    text = text.replace("on_fibre = 220", "on_fibre = { assumed = 220, uncertainty = 30 }")
    held = "\n".join(
        f"{k} = {{ value = {v}, uncertainty = 0 }}"
        for k, v in {"reducing_sugars": 0.65, "ash": 0.55, "other": 1.35, "suspended": 0.8, "colour": 14000}.items()
    )
    text = text.replace(
        "rate = 400",
        f"rate = {{ value = 400, uncertainty = 20 }}\nsucrose = {{ assumed = 13.4, uncertainty = 1 }}\n"
        f"fibre = {{ value = 14, uncertainty = 0 }}\n{held}",
    )
    for station, settings in {
        "preparation": tuple(
            f"{k} = {{ value = {v}, uncertainty = 0 }}" for k, v in {"specific_power": 50, "index_before": 55}.items()
        ),
        "screen": tuple(
            f"{k} = {{ value = {v}, uncertainty = 0 }}"
            for k, v in {"fibre_caught": 90, "solids_caught": 15, "clinging_juice": 4}.items()
        ),
    }.items():
        head = f"[stations.{station}]\n"
        kind = text[text.index(head) + len(head) :].split("\n", 1)[0]
        text = text.replace(f"{head}{kind}", "\n".join([f"{head}{kind}", *settings]))
    links = "rotation_of_reducing_sugars = { value = 0.3, uncertainty = 0 }\nrefraction_of_non_sucrose = "
    return f"{text}\n[links]\n{links}{{ value = 0.05, uncertainty = 0 }}\n{METERS}"


METERS = "".join(
    f'[[meters]]\ntag = "{tag}"\nstream = "{stream}"\nquantity = "{quantity}"\nuncertainty = {u}\n'
    for tag, stream, quantity, u in (
        ("cane scale", "cane.cane", "mass flow", 1.0),
        ("juice scale", "screen.screened", "mass flow", 2.0),
        ("juice brix", "screen.screened", "refractometer brix", 0.08),
        ("bagasse moisture", "mill 5.bagasse", "moisture", 0.5),
    )
)
MOISTURE, ON_FIBRE, SUCROSE, RATE = "mill 5.moisture", "imbibition.on_fibre", "cane.sucrose", "cane.rate"


@cache
def train() -> Plant:
    """The milling train with few loose settings."""
    plant = Plant.from_text(_few_loose())
    assert set(plant.priors()) == {MOISTURE, ON_FIBRE, SUCROSE, RATE}
    return plant


def made_days(plant: Plant, truth: Sequence[dict[str, float]], seed: int) -> list[FitDay]:
    """Days read of these true settings: each meter with an error common to all days and one of its own each day."""
    chance = np.random.default_rng(seed)
    common = {m.tag: chance.standard_normal() for m in plant.description.meters}
    start, days = plant.predict(), []
    for i, settings in enumerate(truth):
        state = plant.predict(settings, start)
        readings = {}
        for m in plant.description.meters:
            true = state.measured(m.stream, m.quantity)
            error = np.sqrt(COMMON_PART) * common[m.tag] + np.sqrt(1 - COMMON_PART) * chance.standard_normal()
            readings[m.tag] = true + m.standard_uncertainty(true) * error
        days.append(FitDay(FIRST + dt.timedelta(days=i), readings, {}))
    return days


def by_name(found: Fit) -> dict[str, Any]:
    """The fitted settings by name."""
    return {s.assumption.name: s for s in found.settings}


def one_large_system(plant: Plant, days: Sequence[FitDay]) -> tuple[np.ndarray, np.ndarray]:
    """Means and standard uncertainties of moisture, imbibition and mean sucrose, all unknowns of all days at once."""
    start = plant.predict()
    meters = plant.description.meters
    spread = [m.standard_uncertainty(start.measured(m.stream, m.quantity)) for m in meters]

    def misfit(x: np.ndarray) -> np.ndarray:
        moisture, imbibition, sucrose = 50 + x[0], 220 + 30 * x[1], 13.4 + x[2]
        errors, own = x[3 : 3 + len(meters)], x[3 + len(meters) :].reshape(len(days), 2)
        parts = [x[: 3 + len(meters)], own.ravel()]
        for day, (more_sucrose, more_cane) in zip(days, own, strict=True):
            settings = {
                MOISTURE: moisture, ON_FIBRE: imbibition, SUCROSE: sucrose + more_sucrose, RATE: 400 + 20 * more_cane
            }  # fmt: skip
            state = plant.predict(settings, start)
            parts.append(
                np.array(
                    [
                        (day.readings[m.tag] - np.sqrt(COMMON_PART) * u * e - state.measured(m.stream, m.quantity))
                        / (np.sqrt(1 - COMMON_PART) * u)
                        for m, u, e in zip(meters, spread, errors, strict=True)
                    ]
                )
            )
        return np.concatenate(parts)

    answer = least_squares(misfit, np.zeros(3 + len(meters) + 2 * len(days)), xtol=1e-12, ftol=1e-12, diff_step=1e-5)
    covariance = np.linalg.inv(answer.jac.T @ answer.jac)
    scale = np.array([1.0, 30.0, 1.0])
    return np.array([50.0, 220.0, 13.4]) + scale * answer.x[:3], scale * np.sqrt(np.diag(covariance)[:3])


def test_it_is_the_answer_of_one_large_system() -> None:
    truth = [{MOISTURE: 50.8, ON_FIBRE: 240.0, SUCROSE: 13.0 + 0.4 * i, RATE: 390.0 + 8 * i} for i in range(4)]
    days = made_days(train(), truth, 5)
    found = by_name(fit(train(), days))
    values, spread = one_large_system(train(), days)
    for i, name in enumerate((MOISTURE, ON_FIBRE, SUCROSE)):
        assert found[name].value == pytest.approx(values[i], abs=2e-3 * spread[i]), name
        assert found[name].uncertainty == pytest.approx(spread[i], rel=2e-3), name


def test_the_prior_is_counted_once() -> None:
    """The days alone and the prior alone, put together by hand for the moisture, whose meter reads it directly.

    Of N days the meter's error has the variance u² (1/2 + 1/2N); imbibition and cane do not reach what it reads.
    """
    for count in (3, 6):
        days = [FitDay(FIRST + dt.timedelta(days=i), {"bagasse moisture": 51.2}, {}) for i in range(count)]
        found = by_name(fit(train(), days))[MOISTURE]
        reading = 0.5**2 * (COMMON_PART + (1 - COMMON_PART) / count)
        expected = (50.0 / 1.0 + 51.2 / reading) / (1.0 + 1.0 / reading)
        assert found.value == pytest.approx(expected, abs=1e-4)
        assert found.uncertainty == pytest.approx((1.0 + 1.0 / reading) ** -0.5, rel=1e-4)
        assert not found.varies


def test_what_no_reading_tells_of_stays_as_it_was() -> None:
    days = [FitDay(FIRST + dt.timedelta(days=i), {"cane scale": 400.0}, {}) for i in range(4)]
    for s in fit(train(), days).settings:
        assert s.value == pytest.approx(s.assumption.value, rel=1e-9)
        assert s.uncertainty == pytest.approx(s.assumption.uncertainty, rel=1e-9)
        assert s.told == pytest.approx(0.0, abs=1e-9)


def test_known_truths_lie_within_their_intervals_as_often_as_they_should() -> None:
    """Truths drawn from the priors, forty fits of three settings: the misses have the size that is claimed.

    Of 40 x 3 nearly independent standard normals the mean square is 1.00 ± 0.13; three times that is allowed.
    """
    squares, chance = [], np.random.default_rng(11)
    for seed in range(40):
        moisture, imbibition, sucrose = chance.normal([50.0, 220.0, 13.4], [1.0, 30.0, 1.0])
        truth = [
            {
                MOISTURE: moisture, ON_FIBRE: imbibition, SUCROSE: chance.normal(sucrose, 1.0),
                RATE: chance.normal(400.0, 20.0),
            }
            for _ in range(5)
        ]  # fmt: skip
        found = by_name(fit(train(), made_days(train(), truth, seed)))
        for name, true in ((MOISTURE, moisture), (ON_FIBRE, imbibition), (SUCROSE, sucrose)):
            squares.append(((found[name].value - true) / found[name].uncertainty) ** 2)
    assert len(squares) == 120
    assert 0.61 <= np.mean(squares) <= 1.39


def test_a_setting_that_differs_from_day_to_day_is_found_out() -> None:
    truth = [{ON_FIBRE: 220.0, MOISTURE: 50.0 + (2.5 if i % 2 else -2.5)} for i in range(8)]
    found = fit(train(), made_days(train(), truth, 3))
    moisture = by_name(found)[MOISTURE]
    assert moisture.found_varying
    assert moisture.varies
    assert moisture.value == pytest.approx(50.0, abs=1.0)
    low, high = moisture.daily
    assert low < 49
    assert high > 51
    assert not by_name(found)[ON_FIBRE].varies


def test_a_steady_setting_is_left_steady() -> None:
    truth = [{ON_FIBRE: 235.0, MOISTURE: 50.7} for _ in range(8)]
    found = fit(train(), made_days(train(), truth, 4))
    assert not by_name(found)[MOISTURE].varies
    assert by_name(found)[SUCROSE].varies, "cane differs by nature"
    assert found.passes


def test_readings_far_from_what_the_description_allows_fail_the_test() -> None:
    """Cane at 480 t/h where the description says 400 ± 20: four standard uncertainties on each of four days."""
    truth = [{MOISTURE: 50.0} for _ in range(4)]
    assert fit(train(), made_days(train(), truth, 6)).passes
    far = [{MOISTURE: 50.0, RATE: 480.0} for _ in range(4)]
    assert not fit(train(), made_days(train(), far, 6)).passes


def test_a_meters_error_that_all_days_share_is_told() -> None:
    truth: list[dict[str, float]] = [{} for _ in range(6)]
    days = made_days(train(), truth, 7)
    high = [FitDay(d.day, {**d.readings, "juice scale": d.readings["juice scale"] + 8.0}, {}) for d in days]
    assert fit(train(), high).biases["juice scale"][0] > fit(train(), days).biases["juice scale"][0]


def test_too_few_days_and_nothing_assumed_are_refused() -> None:
    day = FitDay(FIRST, {"cane scale": 400.0}, {})
    with pytest.raises(CannotFit, match="1 days can be used, at least 3"):
        fit(train(), [day])
    own = Plant.from_text(_few_loose().replace("assumed =", "value ="))
    with pytest.raises(CannotFit, match="nothing to fit"):
        fit(own, [day, day, day])


def test_a_day_without_a_state_is_left_out_by_name() -> None:
    days = [FitDay(FIRST + dt.timedelta(days=i), {"cane scale": 400.0}, {}) for i in range(3)]
    bad = {"cane.fibre": 25.0, "mill 1.moisture": 65.0}
    impossible = FitDay(FIRST + dt.timedelta(days=3), {"cane scale": 400.0}, bad)
    found = fit(train(), [*days, impossible])
    assert list(found.left_out) == [impossible.day]
    assert len(found.days) == 3


def test_cane_losses_flows_and_targets_differ_by_nature() -> None:
    assert by_nature(train(), SUCROSE)
    assert by_nature(train(), RATE)
    assert by_nature(train(), "target.mill 5.bagasse moisture")
    assert not by_nature(train(), MOISTURE)
