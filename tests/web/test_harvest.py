"""The page of the harvest plan: table, bars, history, and words where there is no plan."""

from __future__ import annotations

import datetime as dt

import pytest
from starlette.testclient import TestClient

from canewright.accounts.books import Books
from canewright.store import NewRegisterEntry
from canewright.web.chart import columns

BODY = {
    "weeks": ["2031-06-02", "2031-06-09"], "crush": [900.0, 900.0], "shares": {"1": [0.4, 1.0], "2": [0.5, 1.0]},
    "groups": {"red": [500.0, 700.0]}, "sentences": ["worth $ 1 & more"],
    "rows": [
        {"block": "1-1", "week": "2031-06-02", "tonnes": 500.0, "CCS": 13.0},
        {"block": "1-2", "week": "2031-06-09", "tonnes": 700.0, "CCS": 14.0},
    ],
}  # fmt: skip


@pytest.fixture
def planned(books: Books) -> None:
    """Two plans of a season."""
    week = NewRegisterEntry("crush week", "2031-06-02", dt.date(2031, 5, 1), {"crush": 900.0}, "test")
    books.store.add_register_entries([week], "clerk")
    for reason in (None, "rain <b>"):
        books.store.add_harvest_plan("2031", dt.date(2031, 6, 2), BODY, "planner", reason)


@pytest.mark.usefixtures("planned")
def test_the_standing_plan_is_shown_with_its_history(desk: TestClient) -> None:
    page = desk.get("/harvest")
    assert page.status_code == 200
    assert "<td>700</td>" in page.text
    assert page.text.index("<table>") < page.text.index("<svg")
    assert "worth $ 1 &amp; more" in page.text
    assert "rain &lt;b&gt;" in page.text
    assert "version=1" in page.text
    assert "instead of plan" not in desk.get("/harvest/2031?version=1").text
    assert desk.get("/harvest/2031.json").json() == BODY


@pytest.mark.usefixtures("planned")
@pytest.mark.parametrize("address", ["/harvest/1999", "/harvest/2031?version=9", "/harvest/2031?version=x"])
def test_what_is_not_there_is_said_with_what_is(desk: TestClient, address: str) -> None:
    page = desk.get(address)
    assert page.status_code == 404
    assert "/harvest/2031" in page.text


def test_without_a_plan_the_page_says_how_to_make_one(pages: TestClient) -> None:
    page = pages.get("/harvest")
    assert page.status_code == 200
    assert "canewright harvest plan" in page.text


def test_bars_stand_on_nothing_and_are_as_high_as_their_values() -> None:
    drawn = str(columns(["<a>", "b"], [50.0, 100.0], "week", "t"))
    assert drawn.count('class="bar"') == 2
    assert "&lt;a&gt;" in drawn
    assert str(columns(["a"], [0.0], "week", "t")) == ""
