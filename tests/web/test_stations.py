"""The pages of the kinds of station: each told whole, and an unknown one refused with the nearest."""

from __future__ import annotations

import html
import re
from urllib.parse import quote

import pytest
from starlette.testclient import TestClient

from canewright.plant.catalogue import STATIONS
from canewright.plant.handbook import told


def words_of(text: str) -> str:
    """The text of a page without its tags."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", text)))


def test_every_kind_is_listed_and_those_of_this_plant_are_marked(pages: TestClient) -> None:
    page = pages.get("/stations")
    assert page.status_code == 200
    said = words_of(page.text)
    assert all(f"{kind} : {told(kind).summary}" in said for kind in STATIONS)
    assert "in this plant" in said
    assert 'aria-current="page"' in page.text


@pytest.mark.parametrize("kind", sorted(STATIONS))
def test_a_kind_has_a_page_with_all_it_declares(pages: TestClient, kind: str) -> None:
    page = pages.get(f"/stations/{quote(kind)}")
    assert page.status_code == 200
    said, one = words_of(page.text), told(kind)
    for e in one.equations:
        assert e.sentence in said
        assert " ".join(e.right.split()) in said
    assert all(s.says in said for s in one.settings)
    assert all(h in said for h in (*one.hazards, *one.handles, *one.measured))
    assert all(f"/formulas/{f.name}" in page.text for f in one.formulas)


def test_a_formula_named_by_a_station_has_its_page(pages: TestClient) -> None:
    for f in told("evaporator effect").formulas:
        assert pages.get(f"/formulas/{f.name}").status_code == 200


def test_a_kind_that_is_not_there_is_refused_with_the_nearest(pages: TestClient) -> None:
    page = pages.get("/stations/evaporater")
    assert page.status_code == 404
    assert "/stations/evaporator effect" in html.unescape(page.text)
