"""Formulas at the command line: searched by any word of the trade, worked on inputs as typed, refused in one line."""

from __future__ import annotations

import json

import numpy as np
import pytest
from typer.testing import CliRunner, Result

from canewright.accounts.working import work
from canewright.cli import desk
from canewright.cli.commands import app
from canewright.quantity import CATALOGUE


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen on which no sentence is broken."""
    monkeypatch.setattr(desk.out, "_width", 1000)
    monkeypatch.setattr(desk.trouble, "_width", 1000)


def run(*words: str) -> Result:
    """A command as a person types it; an error that is not a refusal fails the test."""
    result = CliRunner().invoke(app, list(words), env={"COLUMNS": "1000", "NO_COLOR": "1"})
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def done(*words: str) -> str:
    """What an accepted command prints."""
    result = run(*words)
    assert result.exit_code == 0, result.output
    return result.output


def refused(*words: str) -> str:
    """The one line of a refused command, which ends with code 2."""
    result = run(*words)
    assert result.exit_code == 2, result.output
    assert "Traceback" not in result.output
    assert result.output.count("\n") == 1
    return result.output


PURITY = ("work", "apparent_purity")


def test_an_answer_with_unit_uncertainty_source_and_caveat() -> None:
    """100 · 12.31 / 15 is 82.07; half-widths (100/15) 0.1 = 0.667 and (82.07/15) 0.2 = 1.094 make 1.281 together."""
    said = done(*PURITY, "pol=12.31 ± 0.1", "brix=15+-0.2")
    assert "apparent_purity = 82.1 ± 1.3 %" in said
    assert "± is half of a 95 % interval; standard uncertainty 0.654 %" in said
    assert "of the variance: brix 72.9 %, pol 27.1 %" in said
    assert "Q = 100 P / B" in said
    assert "source: " in said
    assert "caveat: pol and brix must be of the same sample" in said


@pytest.mark.parametrize(
    "typed", ["temperature=72 degF", "temperature=72 °F", "temperature=72°F", "temperature=295.372222222222 K"]
)
def test_units_are_converted(typed: str) -> None:
    """72 °F is 22.2222 °C exactly."""
    said = json.loads(done("work", "saturation_pressure", typed, "--json"))
    assert said["inputs"]["temperature"]["value"] == pytest.approx(200 / 9, rel=1e-12)
    assert said["value"] == pytest.approx(float(CATALOGUE["saturation_pressure"](200 / 9)), rel=1e-12)
    assert said["unit"] == "kPa"


def test_the_answer_in_another_unit() -> None:
    bar = json.loads(done("work", "saturation_pressure", "temperature=100 ± 1", "--unit", "bar", "--json"))
    own = json.loads(done("work", "saturation_pressure", "temperature=100 ± 1", "--json"))
    assert bar["value"] == pytest.approx(own["value"] / 100)
    assert bar["half_width_95"] == pytest.approx(own["half_width_95"] / 100)
    assert bar["unit"] == "bar"


def test_words_without_quotes_belong_to_the_value_before_them() -> None:
    assert "temperature: 22.2222 °C (typed 72 degF)" in done("work", "saturation_pressure", "temperature=72", "degF")


def test_an_input_by_its_trade_symbol_and_a_formula_by_its_words() -> None:
    assert "ccs = 13.57 %" in done("work", "CCS", "Bj=20", "Pj=18", "F=14")
    assert "apparent_purity = " in done("work", "apparent purity", "P=12", "B=15")


def test_several_values_at_once() -> None:
    said = json.loads(done(*PURITY, "pol=12; 13; 14", "brix=15 per cent", "--json"))
    assert said["value"] == pytest.approx([80.0, 100 * 13 / 15, 100 * 14 / 15])
    listed = done(*PURITY, "pol=12; 13; 14 ± 0.1", "brix=15")
    assert "apparent_purity at pol 13 = 86.67 ± 0.67 %" in listed
    assert "note: taken as exact: brix" in listed


def test_correlated_inputs() -> None:
    """Fully correlated relative errors of the same size leave a quotient untouched."""
    given = (*PURITY, "pol=12 ± 0.12", "brix=15 ± 0.15")
    alone = json.loads(done(*given, "--json"))["half_width_95"]
    assert alone == pytest.approx(0.8 * 2**0.5)
    together = json.loads(done(*given, "--correlation", "pol:brix=1", "--json"))["half_width_95"]
    assert together == pytest.approx(0.0, abs=1e-6)


def test_a_standard_uncertainty_is_told_from_a_half_width() -> None:
    half = json.loads(done(*PURITY, "pol=12 ± 0.196", "brix=15", "--json"))
    one = json.loads(done(*PURITY, "pol=12 ± 0.1 standard", "brix=15", "--json"))
    assert half["standard_uncertainty"] == pytest.approx(one["standard_uncertainty"])


def test_curvature_is_told_where_it_counts() -> None:
    assert "the formula is curved over these intervals" in done(*PURITY, "pol=12", "brix=15 ± 12")
    assert "curved" not in done(*PURITY, "pol=12", "brix=15 ± 0.1")


def test_an_interval_beyond_the_range_is_told() -> None:
    said = done("work", "saturation_pressure", "temperature=1 ± 3")
    assert "note: the interval of temperature reaches beyond" in said


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((*PURITY, "pol=12", "brix=15 kg"), "brix: found kg, which measures something else; accepted: %"),
        ((*PURITY, "pol=12", "brix=15 foo"), "brix: unit 'foo': 'foo' is not known"),
        ((*PURITY, "pol=12", "brx=15"), "'brx' is none of its inputs; nearest: brix; accepted: pol, brix"),
        (("work", "aparent_purity", "pol=12"), "no formula is called 'aparent_purity'; nearest: apparent_purity"),
        ((*PURITY, "pol=12"), "missing brix (0.5 to 100 %); give each as name=value"),
        (PURITY, "missing pol (-10 to 100 %); brix (0.5 to 100 %)"),
        ((*PURITY, "pol=12", "brix=120"), "brix is 120 %; accepted: 0.5 to 100 %"),
        ((*PURITY, "pol=12", "brix=1.2 kg/kg"), "brix is 120 % (typed '1.2 kg/kg'); accepted: 0.5 to 100 %"),
        ((*PURITY, "pol=12", "brix=fifteen"), "brix: found 'fifteen'; accepted: a number, 0.5 to 100 %"),
        ((*PURITY, "pol=12", "brix=nan"), "brix: found 'nan'; accepted: a number"),
        ((*PURITY, "pol=12", "brix=1e999"), "too large a number"),
        ((*PURITY, "pol=12,3", "brix=15"), "pol: found '12,3'; accepted: decimals after a point"),
        ((*PURITY, "pol=12;13", "brix=15;16;17"), "pol has 2 values, brix has 3 values"),
        ((*PURITY, "pol=12", "pol=13", "brix=15"), "pol is given twice"),
        ((*PURITY, "12", "15"), "found '12' where an input should be; accepted: name=value"),
        ((*PURITY, "pol=12 ± -1", "brix=15"), "found ± -1; accepted: an uncertainty of zero or more"),
        (("work", "film_moisture", "non_sucrose=1", "x=1 ± 1 %"), "± may be a part of the value or of the whole"),
        ((*PURITY, "pol=12", "brix=15", "--unit", "bar"), "answer: found bar; accepted: %"),
        ((*PURITY, "pol=12", "brix=15", "--unit", "foo"), "answer: unit 'foo': 'foo' is not known"),
        ((*PURITY, "pol=12", "brix=15", "--correlation", "pol"), "--correlation: found 'pol'; accepted: two inputs"),
        ((*PURITY, "pol=12", "brix=15", "--correlation", "pol:brix=0.5"), "has no ±; give both an uncertainty"),
        ((*PURITY, "pol=1±1", "brix=15±1", "--correlation", "pol:brix=3"), "found 3; accepted: two inputs, -1 to 1"),
        (("work", "bagasse_from_fibre", "cane=5 tons", "F=14", "Fb=48"), "short ton (907.185 kg) or long ton"),
        (("formulas", "aparent_purity"), "no formula is called 'aparent_purity' or speaks of it; nearest: apparent_"),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line_with_code_2(words: tuple[str, ...], says: str) -> None:
    assert says in refused(*words)


def test_a_difference_of_temperature_is_not_a_point_on_a_scale() -> None:
    said = refused("work", "heat_exchanged", "coefficient=2.5", "surface=1000", "difference=10 °C")
    assert "difference: found °C, a point on a scale; accepted: K" in said


@pytest.mark.parametrize("name", sorted(CATALOGUE))
def test_every_formula_works_its_own_example_as_typed(name: str) -> None:
    one = CATALOGUE[name]
    units = {k: "" if a.unit == "1" else a.unit for k, a in one.arguments.items()}
    answer = work(name, [(k, f"{v!r} {units[k]} ± {abs(v) / 100!r}") for k, v in one.example.items()])
    assert float(answer.values[0]) == pytest.approx(float(one(*one.example.values())), rel=1e-9, abs=1e-12)
    assert answer.standard is not None
    assert np.isfinite(answer.standard).all()
    assert json.dumps(answer.to_json(), allow_nan=False)


# --- formulas ---------------------------------------------------------------------------------------------------------


def test_formulas_are_listed_and_shown_with_their_source() -> None:
    listed = done("formulas")
    assert "apparent_purity: Q = 100 P / B [%]" in listed
    shown = done("formulas", "reduced_extraction_deerr")
    assert "source:" in shown
    assert "example: canewright work reduced_extraction_deerr " in shown
    assert json.loads(done("formulas", "apparent_purity", "--json"))["inputs"]["brix"]["unit"] == "%"


def test_the_example_shown_can_be_typed_as_it_stands() -> None:
    line = next(row for row in done("formulas", "ccs").splitlines() if "example: " in row)
    words = line.partition("canewright ")[2].split()
    assert f"ccs = {CATALOGUE['ccs'].gives:.6g} %" in done(*words)


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("megasse", "bagasse_fibre"),
        ("blackstrap", "molasses_expected"),
        ("mud", "pol_lost_in_cake"),
        ("jet", "strike_run_off_purity"),
        ("polarisation", "pol_from_polarimeter"),
        ("RDS", "corrected_brix"),
        ("footing", "seed_mass"),
        ("effet", "bleeding_saving"),
        ("maceration", "imbibition_on_fibre"),
        ("bagaco", "bagasse_from_fibre"),
        ("purity of molasses", "target_purity_rein"),
    ],
)
def test_a_formula_is_found_by_any_word_of_the_trade(word: str, name: str) -> None:
    assert f"\n{name}: " in f"\n{done('formulas', word)}"


def test_the_countries_of_a_word_are_told() -> None:
    assert "megasse: bagasse (Caribbean, Britain)" in done("formulas", "megasse")


def test_a_short_word_is_found_whole_only() -> None:
    """RV is a payment formula's name and stands inside many words."""
    assert "curve" not in done("formulas", "RV").lower()
