"""The season's page: what drifted, corrections decided with a reason, exports, and refusals in sentences."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from accounts.season_days import DAYS, close_season, day_of, opened
from accounts.small_mill import now
from canewright.accounts.books import Books
from canewright.accounts.seasons import keep, smoothed
from canewright.web.app import create_app

HOST = "http://127.0.0.1"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A business with a season of forty days, closed and smoothed."""
    folder = tmp_path_factory.mktemp("season")
    with opened(folder / "business") as books:
        close_season(books, folder / "files")
        keep(books, smoothed(books, day_of(0), day_of(DAYS - 1)), "chief chemist")
    return folder / "business"


@pytest.fixture
def books(made: Path, tmp_path: Path) -> Iterator[Books]:
    """Books of a test's own."""
    with opened(shutil.copytree(made, tmp_path / "business")) as mine:
        yield mine


@pytest.fixture
def desk(books: Books) -> TestClient:
    """The pages over them."""
    app = create_app(books, now=now, person="shift analyst")
    return TestClient(app, base_url=HOST, headers={"origin": HOST}, follow_redirects=False)


def test_the_page_tells_the_drift_draws_it_and_lists_what_is_proposed(desk: TestClient, books: Books) -> None:
    page = desk.get("/season").text
    assert page.count("<h1>") == 1
    assert "The juice scale has read 0." in page
    assert '<polygon class="band"' in page
    still = [p for p in books.store.proposals() if p.status == "open"]
    assert f"{len(still)} proposed" in page
    assert f"Accept for {still[-1].day}" in page
    assert "style=" not in page


def test_another_quantity_is_drawn_when_asked_for(desk: TestClient) -> None:
    page = desk.get("/season?of=bias of bagasse pol").text
    assert "Bias of bagasse pol, %: the most likely course" in page
    assert desk.get("/season?of=nothing").status_code == 404


def test_accepting_by_the_form_closes_the_day_again_in_the_persons_name(desk: TestClient, books: Books) -> None:
    last = [p for p in books.store.proposals() if p.status == "open"][-1]
    given = {"proposal": str(last.id), "act": "accepted", "reason": "checked with test weights"}
    answer = desk.post("/season", data=given)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"/season#proposal-{last.id}"
    latest = books.published(last.day)
    assert (latest.version, latest.by) == (2, "shift analyst")
    page = desk.get("/season").text
    assert "checked with test weights" in page
    assert f"Withdraw for {last.day}" in page
    undone = desk.post("/season", data={**given, "act": "withdrawn", "reason": "weights were wrong"})
    assert undone.status_code == 303
    assert books.published(last.day).version == 3


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"proposal": "1", "act": "accepted", "reason": " "}, "cannot be accepted without a reason"),
        ({"proposal": "999", "act": "declined", "reason": "why"}, "There is no proposal 999"),
        ({"proposal": "x", "act": "declined", "reason": "why"}, "could not be read"),
        ({"proposal": "1", "act": "forgotten", "reason": "why"}, "could not be read"),
        ({"proposal": "1", "act": "withdrawn", "reason": "why"}, "cannot be withdrawn"),
    ],
)
def test_a_decision_that_cannot_be_taken_is_refused_in_a_sentence(
    desk: TestClient, books: Books, given: dict[str, str], says: str
) -> None:
    first = books.store.proposals()[0]
    answer = desk.post("/season", data={**given, "proposal": given["proposal"].replace("1", str(first.id), 1)} if (
        given["proposal"] == "1"
    ) else given)  # fmt: skip
    assert answer.status_code == 422
    assert says in answer.text
    assert len(books.store.closings(first.day)) == 1


def test_a_post_from_elsewhere_is_refused(desk: TestClient) -> None:
    answer = desk.post("/season", data={"proposal": "1"}, headers={"origin": "http://elsewhere.test"})
    assert answer.status_code == 403


def test_the_season_as_data_and_as_a_file(desk: TestClient) -> None:
    data = desk.get("/season.json").json()
    assert len(data["days"]) == DAYS
    assert data["proposals"][0]["status"] == "open"
    answer = desk.get("/season.csv")
    assert "attachment" in answer.headers["content-disposition"]
    assert len(answer.text.splitlines()) == DAYS + 1


def test_without_a_season_the_page_says_what_to_do(tmp_path: Path) -> None:
    with opened(tmp_path) as empty:
        pages = TestClient(create_app(empty, now=now, person="x"), base_url=HOST)
        assert "canewright season smooth" in pages.get("/season").text
        assert pages.get("/season.json").status_code == 404
        assert pages.get("/season?season=7").status_code == 404
