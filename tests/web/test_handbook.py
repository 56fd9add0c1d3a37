"""The handbook: a page for each formula that calculates without its script, its chart, and what it refuses."""

from __future__ import annotations

import html
import math
import re
from urllib.parse import urlencode
from xml.etree import ElementTree as ET

import pytest
from starlette.testclient import TestClient

from canewright.accounts.curve import curve
from canewright.accounts.working import CannotWork, work
from canewright.quantity import CATALOGUE
from canewright.quantity.published import published_checks
from canewright.web.chart import chart, label, ticks
from canewright.web.handbook import amount, titled
from canewright.web.typeset import typeset

EVERY = sorted(CATALOGUE)


def words_of(text: str) -> str:
    """The text of a page without its tags."""
    return re.sub(r"[ \n\t]+", " ", html.unescape(re.sub(r"<[^>]*>", " ", text)))


# --- equations --------------------------------------------------------------------------------------------------------


def drawn(equation: str) -> ET.Element:
    """The equation's MathML, read again."""
    return ET.fromstring(str(typeset(equation)).replace("&#160;", " "))


def told(node: ET.Element) -> str:
    """MathML as text with every bracket that its layout stands for."""
    parts = [told(each) for each in node]
    if node.tag == "mfrac":
        return f"(({parts[0]})/({parts[1]}))"
    if node.tag == "msup":
        return f"{parts[0]}^({parts[1]})"
    if node.tag == "msub":
        return f"{parts[0]}_{parts[1]}"
    if node.tag == "msubsup":
        return f"{parts[0]}_{parts[1]}^({parts[2]})"
    if node.tag == "msqrt":
        return f"√({''.join(parts)})"
    return (node.text or "").strip() + "".join(parts)


@pytest.mark.parametrize("name", EVERY)
def test_every_equation_is_set_as_mathematics(name: str) -> None:
    node = drawn(CATALOGUE[name].equation)
    assert node.tag == "math"
    assert node.get("alttext") == CATALOGUE[name].equation


@pytest.mark.parametrize(
    ("equation", "meaning"),
    [
        ("Q = 100 P / B", "Q=((100P)/(B))"),
        ("R = 100 · (a b) / c", "R=100·((ab)/(c))"),
        ("E = a / b / c", "E=((((a)/(b)))/(c))"),
        ("k = 3/7 P₁₀", "k=((3)/(7))P_10"),
        ("ratio = C whole / C affined", "ratio=((Cwhole)/(Caffined))"),
        ("y = q / q_s(t, x) − 1", "y=((q)/(q_s(t,x)))−1"),
        ("h = 0.9 [ρ² g / (η L)]^(1/4)", "h=0.9[((ρ^(2)g)/(ηL))]^(((1)/(4)))"),
        ("U = U₀ / √(1 + b τ)", "U=((U_0)/(√(1+bτ)))"),
        ("η = A [a / b]^exp(−60 N)", "η=A[((a)/(b))]^(exp(−60N))"),
        ("k = 60 · 10^(16.91 − 5670/T − pH)", "k=60·10^(16.91−((5670)/(T))−pH)"),
        ("R = 100 exp[-(a/a′)ⁿ]", "R=100exp[−(((a)/(a′)))^(n)]"),
        ("C = 6e-4 κ", "C=6·10^(−4)κ"),
        ("J = 100 · pol % cane / pol % first expressed juice", "J=100·((pol % cane)/(pol % first expressed juice))"),
        ("log10 η = log10 η_w(t) + a", "log_10η=log_10η_w(t)+a"),
        ("Ca(OH)₂ = 1.3213 CaO", "Ca(OH)_2=1.3213CaO"),
    ],
)
def test_a_quotient_takes_the_right_things_above_and_below(equation: str, meaning: str) -> None:
    assert told(drawn(equation)) == meaning


def test_words_after_a_comma_stay_words_and_what_is_no_equation_stays_text() -> None:
    assert told(drawn("c = a / b, a in mg/L")) == "c=((a)/(b)),a in mg/L"
    assert str(typeset("a = (b <c")) == '<span class="plain">a = (b &lt;c</span>'


# --- charts -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (5.0, 30.0), (-40.0, 110.0), (1.33, 1.5037), (0.0, 1e7)])
def test_ticks_are_round_and_inside(low: float, high: float) -> None:
    found = ticks(low, high)
    assert 3 <= len(found) <= 8
    assert low - 1e-9 <= found[0] < found[-1] <= high * (1 + 1e-9)
    step = found[1] - found[0]
    assert [float(label(v, step).replace("−", "-")) for v in found] == pytest.approx(found, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("name", EVERY)
def test_every_formula_has_a_curve_through_its_answer_over_each_input(name: str) -> None:
    answer = work(name, [(k, repr(v)) for k, v in CATALOGUE[name].example.items()])
    for over in CATALOGUE[name].arguments:
        found = curve(answer, over)
        assert found.has_values
        assert found.at_y == pytest.approx(float(answer.values[0]), rel=1e-9, abs=1e-12)
        assert found.x[0] <= found.at_x * (1 + 1e-12) + 1e-12
        assert len(found.rows()) == 11
        picture = ET.fromstring(str(chart(found, over, name)))
        assert picture.get("aria-label")
        numbers = re.findall(r'(?:cx|cy|points)="([^"]+)"', str(chart(found, over, name)))
        assert all(math.isfinite(float(n)) for each in numbers for n in re.split("[ ,]", each))


def test_a_curve_over_no_input_is_refused() -> None:
    answer = work("apparent_purity", [("pol", "12"), ("brix", "15")])
    with pytest.raises(CannotWork, match="'steam' is none of its inputs; accepted: pol, brix"):
        curve(answer, "steam")


def test_amounts_have_the_figures_their_interval_warrants() -> None:
    assert amount(86.18421, 0.8688) == "86.18 ± 0.87"
    assert amount(-0.0008383, 0.0000121) == "−0.000838 ± 0.000012"
    assert amount(123456.0, 2345.0) == "123500 ± 2300"
    assert amount(13.56789, None) == "13.5679"
    assert amount(13.56789, 0.0) == "13.5679"


def test_headings_keep_the_capitals_of_the_trade() -> None:
    assert titled("ccs_of_cane") == "CCS of cane"
    assert titled("ph_at_temperature") == "pH at temperature"
    assert titled("reduced_recovery_gundu_rao") == "Reduced recovery Gundu Rao"


# --- pages ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EVERY)
def test_every_formula_has_a_page_with_its_example_worked(pages: TestClient, name: str) -> None:
    told_page = pages.get(f"/formulas/{name}")
    assert told_page.status_code == 200
    text = words_of(told_page.text)
    formula = CATALOGUE[name]
    assert " ".join(formula.source.split()) in text
    assert " ".join(formula.caveat.split()) in text
    assert formula.equation in text
    shown = amount(float(formula(*(float(f"{v:.12g}") for v in formula.example.values()))), None)
    assert f"<output data-amount>{shown}</output>" in told_page.text
    assert "<math " in told_page.text
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="chart"' in told_page.text


def test_published_checks_stand_on_the_page_with_the_digits_agreed(pages: TestClient) -> None:
    checks = published_checks("saturation_pressure")
    assert checks
    text = words_of(pages.get("/formulas/saturation_pressure").text)
    for check in checks:
        assert f" {check.expected} " in text
        assert " ".join(str(check.source).split()) in text
    assert text.count(" (read)") >= sum(check.status == "read" for check in checks)


def test_a_check_that_does_not_close_says_why(pages: TestClient) -> None:
    open_ones = [c for name in EVERY for c in published_checks(name) if not c.should_close]
    assert open_ones
    for check in open_ones:
        text = words_of(pages.get(f"/formulas/{check.formula}").text)
        assert f"does not close: {' '.join(check.reason.split())}" in text


def test_a_formula_without_a_printed_figure_says_so(pages: TestClient) -> None:
    bare = next(name for name in EVERY if not published_checks(name))
    assert "No printed figure is kept for this formula" in pages.get(f"/formulas/{bare}").text


def test_the_form_calculates_without_a_script(pages: TestClient) -> None:
    given = {"temperature": "72 °F ± 1", "chart-over": "temperature", "answer-unit": "mbar"}
    shown = pages.get(f"/formulas/saturation_pressure?{urlencode(given)}").text
    assert '<output data-amount>26.81 ± 0.91</output> <span class="unit" data-unit>mbar</span>' in shown
    assert 'value="72 °F ± 1"' in shown
    assert "± is half of a 95 % interval; standard uncertainty 0.463 mbar" in words_of(shown)


def test_data_of_an_answer(pages: TestClient) -> None:
    given = {"pol": "12.31 ± 0.1", "brix": "15 ± 0.2", "chart-over": "brix"}
    found = pages.get(f"/formulas/apparent_purity/work?{urlencode(given)}")
    assert found.status_code == 200
    answer = found.json()
    assert answer["state"] == "worked"
    assert answer["value"] == pytest.approx(100 * 12.31 / 15)
    assert answer["half_width_95"] == pytest.approx(math.hypot(100 / 15 * 0.1, 100 * 12.31 / 15**2 * 0.2))
    assert answer["shown"]["amounts"] == ["82.1 ± 1.3"]
    assert answer["shown"]["over"] == "brix, %"
    assert answer["shown"]["rows"][-1] == ["100", "12.31"]
    assert len(answer["shown"]["rows"]) == 11


REFUSED = [
    ({"pol": "12", "brix": "15 kg"}, "found kg, which measures something else"),
    ({"pol": "12", "brx": "15"}, "'brx' is none of its inputs; nearest: brix"),
    ({"pol": "12"}, "missing brix (0.5 to 100 %)"),
    ({"pol": "12", "brix": ""}, "missing brix (0.5 to 100 %)"),
    ({"pol": "12", "brix": "150"}, "brix is 150 %; accepted: 0.5 to 100 %"),
    ({"pol": "12", "brix": "<b>"}, "found '<b>'; accepted: a number"),
    ({"pol": "12;13", "brix": "15;16;17"}, "pol has 2 values, brix has 3 values"),
    ({"pol": "12", "brix": "15", "answer-unit": "bar"}, "answer: found bar; accepted: %"),
    ({"pol": "12", "brix": "15", "chart-over": "steam"}, "'steam' is none of its inputs"),
]


@pytest.mark.parametrize(("given", "says"), REFUSED)
def test_what_cannot_be_worked_is_told_with_422_in_the_same_words(
    pages: TestClient, given: dict[str, str], says: str
) -> None:
    data = pages.get(f"/formulas/apparent_purity/work?{urlencode(given)}")
    assert data.status_code == 422
    sentence = data.json()["sentence"]
    assert says in sentence
    assert "\n" not in sentence
    shown = pages.get(f"/formulas/apparent_purity?{urlencode(given)}")
    assert shown.status_code == 422
    assert f"data-refused>{html.escape(sentence, quote=False)}".replace("'", "&#39;") in shown.text
    assert "<b>" not in shown.text


def test_a_formula_that_is_not_there(pages: TestClient) -> None:
    data = pages.get("/formulas/aparent_purity/work?pol=12")
    assert data.status_code == 422
    assert "no formula is called 'aparent_purity'; nearest: apparent_purity" in data.json()["sentence"]
    shown = pages.get("/formulas/aparent_purity")
    assert shown.status_code == 404
    assert 'href="/formulas/apparent_purity"' in shown.text


def test_formulas_are_searched_by_any_word_of_the_trade(pages: TestClient) -> None:
    shown = pages.get("/formulas?q=megasse")
    assert 'href="/formulas/bagasse_fibre"' in shown.text
    assert 'href="/formulas/sjm_recovery"' not in shown.text
    assert "megasse: bagasse (Caribbean, Britain)" in words_of(shown.text)
    none = pages.get("/formulas?q=aparent_purity")
    assert "0 formulas for" in words_of(none.text)
    assert 'href="/formulas/apparent_purity"' in none.text
    assert "&lt;script&gt;" in pages.get("/formulas?q=<script>").text
