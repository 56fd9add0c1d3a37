"""The pages of strikes: boiled with what is typed, refused in words, told as data."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from canewright.pans.description import templates
from canewright.pans.strike import HAZARDS, UNITS


def test_every_strike_is_listed_with_the_cautions(pages: TestClient) -> None:
    page = pages.get("/strikes")
    assert page.status_code == 200
    assert all(f"/strikes/{name}" in page.text for name in templates())
    assert all(each in html.unescape(page.text) for each in HAZARDS)
    assert 'aria-current="page"' in page.text


@pytest.mark.parametrize("name", templates())
def test_a_strike_is_drawn_and_told(pages: TestClient, name: str) -> None:
    page = pages.get(f"/strikes/{name}")
    assert page.status_code == 200
    assert page.text.count("<svg") == 12
    assert "mean aperture" in page.text
    assert all(each in html.unescape(page.text) for each in HAZARDS)


def test_another_seed_gives_another_size(pages: TestClient) -> None:
    sizes = [
        pages.get(f"/strikes/refined.json?seed.mass={mass}").json()["figures"]["mean aperture"]["value"]
        for mass in ("0.5", "1.0")
    ]
    assert sizes[0] / sizes[1] == pytest.approx(2.0 ** (1.0 / 3.0), rel=0.03)


def test_the_course_as_data_has_every_quantity_with_its_unit(pages: TestClient) -> None:
    told = pages.get("/strikes/raw-a.json").json()
    assert {n: one["unit"] for n, one in told["course"].items()} == UNITS
    assert all(len(one["values"]) == len(told["time, min"]) for one in told["course"].values())


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("seed.mass=much", "seed.mass: found 'much'; accepted: a number"),
        ("seed.supersaturation=0.98", "seed.supersaturation: found 0.98; accepted: above 1"),
        ("seed.mass=1e9", "seed.mass (crystal in the seed): found 1e+09 kg; accepted: 0.001 to 60000 kg"),
        ("drop.brix=95", "crystal on massecuite reaches 62 % (drop.most_crystal"),
        ("nothing=1", "no setting is called 'nothing'"),
        ("seed.mass=<script>", "seed.mass: found '<script>'; accepted: a number"),
    ],
)
def test_what_cannot_be_boiled_is_refused_in_words(pages: TestClient, asked: str, says: str) -> None:
    for address in (f"/strikes/refined?{asked}", f"/strikes/refined.json?{asked}"):
        page = pages.get(address)
        assert page.status_code == 422
        said = page.json()["sentence"] if ".json" in address else re.sub(r"\s+", " ", html.unescape(page.text))
        assert says in said
    assert "<script>" not in pages.get(f"/strikes/refined?{asked}").text


def test_a_strike_that_is_not_there_is_refused_with_those_there_are(pages: TestClient) -> None:
    page = pages.get("/strikes/rum")
    assert page.status_code == 404
    assert "/strikes/refined" in page.text
