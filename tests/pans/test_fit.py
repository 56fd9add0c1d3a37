"""Constants fitted to logged strikes whose constants are known, and logs that cannot be used."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from canewright.pans import motion
from canewright.pans.description import StrikeRefused
from canewright.pans.fit import fit
from canewright.pans.log import READINGS, Log, LogFaults, columns, read_log
from canewright.quantity import noting_breaches
from pans.strikes import boiled, described

TRUE = {"growth.rate": 58.0, "pan.heat_transfer": 0.85, "pan.viscosity_exponent": 0.31}
LATE = ("mother liquor brix, %", "supersaturation", "crystal on massecuite, %", "mean size, mm")
GOOD = """time, min,seeded,"feed 1, t/h","steam opening, %","absolute pressure, kPa","volume, m³","brix, %"
0,0,20,50,20,14,72
5,0,10,30,20,14.1,75
10,1,10,30,20,14.2,
15,1,10,30,20,14.3,79
"""
QUOTED = '"time, min",seeded' + GOOD.removeprefix("time, min,seeded")


def log_text(noise: float, every: float = 10.0) -> str:
    """A log of the refined strike as its control law would drive it, boiled by other constants; invented readings."""
    one = boiled("refined")
    moved = motion.by_recipe(1, "power", "mother liquor")
    p = moved.vector({**one.strike.values, **TRUE})
    chance = np.random.default_rng(7)
    text, x, u = io.StringIO(), np.zeros(len(moved.states)), None
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns(1))
    times = np.arange(0.0, 141.0, every)
    with noting_breaches():
        for t in times:
            at = {name: float(np.interp(t, one.times, values)) for name, values in one.course.items()}
            now = np.array([float(t >= 10.0), at["water rate in"], at["opening"] / 100.0, 20.0, at["feed rate"]])
            told = moved.told(x[:, None], p, now if u is None else u)
            cells = []
            for name, (quantity, sd, low, high) in READINGS.items():
                value = float(told[quantity][0]) + noise * sd * chance.standard_normal()
                cells.append("" if name in LATE and t < 60.0 else repr(float(np.clip(value, low, high))))
            writer.writerow([repr(float(t)), int(now[0]), repr(float(now[4])), repr(float(now[1])),
                             repr(100.0 * float(now[2])), "20.0", *cells])  # fmt: skip
            x = moved.stepwise(x, p, now[:, None], np.array([every]))[:, 0]
            u = now
    return text.getvalue()


def logged(noise: float) -> Log:
    """The log, read."""
    return read_log(log_text(noise), 1)


def test_without_noise_the_constants_come_back() -> None:
    found = fit(described("refined"), logged(0.0))
    for one in found.constants:
        assert one.value == pytest.approx(TRUE[one.name], rel=1e-4)
    assert found.misfit < 1e-2


def test_with_noise_they_come_back_within_their_uncertainty_and_the_misfit_is_that_of_chance() -> None:
    found = fit(described("refined"), logged(1.0))
    for one in found.constants:
        assert one.uncertainty is not None
        assert abs(one.value - TRUE[one.name]) < 3.5 * one.uncertainty
        assert one.uncertainty < 0.2 * one.value
    assert 0.001 < found.chance < 0.999
    assert np.allclose(np.diagonal(found.correlations), 1.0)
    assert all(after <= before + 0.1 for _, before, after in found.missed.values())


def test_a_constant_that_no_reading_tells_of_is_not_determined() -> None:
    found = fit(described("refined"), logged(0.5), ["pan.heat_transfer", "colour.inclusion"])
    told = {one.name: one.uncertainty for one in found.constants}
    assert told["colour.inclusion"] is None
    assert told["pan.heat_transfer"] is not None


def test_more_readings_make_surer() -> None:
    few, many = (fit(described("refined"), read_log(log_text(1.0, every), 1)) for every in (20.0, 10.0))
    for sure, unsure in zip(many.constants, few.constants, strict=True):
        assert sure.uncertainty is not None
        assert unsure.uncertainty is not None
        assert sure.uncertainty < unsure.uncertainty


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("brix, %", "brx, %", "header: found 'brx, %'; accepted: time, min"),
        (
            "5,0,10,30,20,14.1,75",
            "5,0,10,30,20,x,75",
            "row 3, volume, m³: found 'x'; accepted: a number from 0.1 to 400",
        ),
        ("10,1,10", "4,1,10", "row 4, time, min: found 4; accepted: more than 5"),
        ("15,1,10", "15,0,10", "row 5, seeded: found 0 after 1"),
        ("5,0,10,30", "5,0,10,130", "row 3, steam opening, %: found '130'; accepted: a number from 0 to 100"),
        ("5,0,10,30,20,14.1,75", "5,0,10", "row 3: found 3 cells; accepted: 7"),
        ("5,0,10", "5,0.5,10", "row 3, seeded: found '0.5'; accepted: 0 before seeding, 1 after"),
        ('"absolute pressure, kPa",', "", "header: 'absolute pressure, kPa' is wanting"),
        ("10,1", "10,0", "seeded: found only 0"),
    ],
)
def test_a_bad_row_of_a_log_is_named(old: str, new: str, says: str) -> None:
    text = QUOTED.replace(old, new, 1)
    if says.startswith("seeded: found only"):
        text = text.replace("15,1", "15,0")
    with pytest.raises(LogFaults) as refused:
        read_log(text, 1)
    assert says in str(refused.value)


def test_an_empty_log_and_one_of_a_few_moments_are_refused() -> None:
    with pytest.raises(LogFaults, match="the file is empty"):
        read_log("", 1)
    with pytest.raises(LogFaults, match="found 3 moments; accepted: at least 4"):
        read_log("\n".join(QUOTED.splitlines()[:4]), 1)


def test_a_row_of_uncertainties_is_taken() -> None:
    log = read_log(QUOTED + "±,,,,,0.2,0.1\n", 1)
    assert log.uncertainties == {"volume, m³": 0.2, "brix, %": 0.1}
    assert log.count == 7
    with pytest.raises(LogFaults, match="row 6, volume, m³: found '-1'; accepted: a number above 0"):
        read_log(QUOTED + "±,,,,,-1,\n", 1)


def test_constants_that_are_none_or_too_many_are_refused() -> None:
    log = read_log(QUOTED, 1)
    with pytest.raises(StrikeRefused, match=r"no setting is called 'growth.rat'; accepted: growth.rate"):
        fit(described("refined"), log, ["growth.rat"])
    with pytest.raises(StrikeRefused, match="found 7 readings for 8 constants"):
        fit(described("refined"), log, sorted(described("refined").values)[:8])
    with pytest.raises(StrikeRefused, match="each once"):
        fit(described("refined"), log, ["growth.rate", "growth.rate"])


@settings(max_examples=150)
@given(st.text(max_size=300))
def test_any_text_is_a_log_or_refused_in_words(text: str) -> None:
    try:
        assert isinstance(read_log(text, 1), Log)
    except LogFaults as refused:
        told = refused.faults
        assert told
