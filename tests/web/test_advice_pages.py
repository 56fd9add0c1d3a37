"""Advice, what-if and kept trials through their addresses: what is shown, kept and refused."""

from __future__ import annotations

import csv
import html
import io
import re
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from accounts.advised_mill import TEXT, with_limit
from accounts.small_mill import MONDAY, TUESDAY, now
from canewright.accounts.books import Books
from canewright.plant.plant import Plant
from canewright.store import Store
from canewright.web.app import create_app
from web.advised_books import WATER, fill
from web.conftest import HOST, PERSON

RICH = "&".join(f"cane.{k}" for k in ("sucrose=20", "other=5", "ash=3", "reducing_sugars=4", "fibre=25", "suspended=8"))
ASKED = f"/day/{TUESDAY}/what-if?{WATER}=232"


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Books]:
    """Two days of the mill."""
    folder = tmp_path_factory.mktemp("business")
    with Store.open(folder, now=now) as store:
        yield fill(folder, store)


@pytest.fixture(scope="module")
def desk(books: Books) -> TestClient:
    """Its pages; posts come from a page of this server."""
    app = create_app(books, now=now, person=PERSON)
    return TestClient(app, base_url=HOST, headers={"origin": HOST}, follow_redirects=False)


def words_of(page: str) -> str:
    """The text of a page without its tags."""
    return re.sub(r"[ \n\t]+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page)))


def keep(desk: TestClient, **fields: str) -> Any:
    """Post a trial."""
    return desk.post(f"/day/{TUESDAY}/what-if", data={WATER: "232", "name": "wetter", "note": "", **fields})


def test_the_advice_page_has_the_gain_the_moves_and_the_rest(desk: TestClient) -> None:
    answer = desk.get(f"/day/{TUESDAY}/advice")
    assert answer.status_code == 200
    said = words_of(answer.text)
    for words in (
        "Moves, in order of gain", "imbibition.on_fibre imbibition water on fibre, %", "Trial first",
        "Before anything is moved", "Hot water at 60-85 °C scalds", "Quality kept", "Money, line by line",
        "What more room would be worth", "What was not considered", "without a price", "of which no closed days tell",
    ):  # fmt: skip
        assert words in said, words
    assert answer.text.count("<h1>") == 1
    assert answer.text.count("<table") == answer.text.count("<caption>")
    told = desk.get(f"/day/{TUESDAY}/advice.json").json()
    assert told["moves"][0]["setting"] == WATER
    assert told["gain a day"] > 0
    address = re.search(r'href="(/day/[^"]*/what-if\?[^"]*)">Put these', answer.text)
    assert address is not None
    assert desk.get(html.unescape(address[1])).status_code == 200


def test_handles_left_alone_or_unknown_on_the_advice_page(desk: TestClient) -> None:
    said = words_of(desk.get(f"/day/{TUESDAY}/advice?hold={WATER}").text)
    assert f"Left alone as asked: {WATER}." in said
    for address in (
        f"/day/{TUESDAY}/advice?only=imbibition.on_fiber",
        f"/day/{TUESDAY}/advice.json?hold=imbibition.on_fiber",
    ):
        answer = desk.get(address)
        assert answer.status_code == 422
        assert "did you mean 'imbibition.on_fibre'" in html.unescape(answer.text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (with_limit(17.5), "in conflict: brix of mixed juice (alone it would be"),
        (TEXT[: TEXT.index("[[prices]]")] + TEXT[TEXT.index("[[advice.moves]]") :], "no [[prices]]"),
        (TEXT[: TEXT.index("[[advice.moves]]")], "no [[advice.moves]]"),
    ],
    ids=["conflict", "no prices", "no moves"],
)
def test_what_cannot_be_advised_is_answered_with_422(books: Books, text: str, said: str) -> None:
    app = create_app(Books(Plant.from_text(text), books.store), now=now, person=PERSON)
    pages = TestClient(app, base_url=HOST)
    answer = pages.get(f"/day/{TUESDAY}/advice")
    assert answer.status_code == 422
    assert said in words_of(answer.text)
    assert pages.get(f"/day/{TUESDAY}/what-if").status_code == 200  # questions need no prices


def test_the_what_if_page_answers_without_a_script(desk: TestClient) -> None:
    plain = desk.get(f"/day/{TUESDAY}/what-if")
    assert plain.status_code == 200
    assert "Nothing is changed yet." in plain.text
    answer = desk.get(ASKED)
    said = words_of(answer.text)
    assert answer.status_code == 200
    assert "pol extraction" in said
    assert "$ a day" in said
    assert "What moves money a day most" in said
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="chart bars"' in answer.text
    assert answer.text.count("<table") == answer.text.count("<caption>")
    assert not re.search(r"<style|style=|\son\w+=|<script(?! src=\"/static/)", answer.text)
    assert f'name="{WATER}" value="232"' in answer.text
    added = desk.get(f"/day/{TUESDAY}/what-if?add=cane.fibre")
    assert 'name="cane.fibre"' in added.text


def test_the_answer_as_data_is_that_of_the_page(desk: TestClient, books: Books) -> None:
    stand = re.search(r'data-stand="(\w+)"', desk.get(ASKED).text)
    assert stand is not None
    told = desk.get(f"/day/{TUESDAY}/what-if.json?{WATER}=232&stand={stand[1]}").json()
    assert told["state"] == "worked"
    assert told["changes"] == {WATER: 232.0}
    row = next(r for r in told["rows"] if r["name"] == "pol extraction")
    answer = books.what_if(TUESDAY).ask({WATER: 232.0}).row("pol extraction")
    assert row["then"] == f"{answer.then:.2f}"
    assert row["change"].startswith("+")
    assert "±" in row["change"]
    assert desk.get(f"/day/{TUESDAY}/what-if.json?{WATER}=232").json()["rows"] == told["rows"]
    elsewhere = desk.get(f"/day/{MONDAY}/what-if.json?{WATER}=232&stand={stand[1]}").json()
    assert elsewhere["rows"] != told["rows"]  # the name of another day's state is not taken for this one's


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("imbibition.on_fiber=230", "did you mean 'imbibition.on_fibre'"),
        (f"{WATER}=wet", "found 'wet'; accepted: a number in %"),
        (f"{WATER}=9000", "found 9000 %; accepted: 20 to 500"),
        ("figure=pol extractin", "did you mean 'pol extraction'"),
        ("add=cane.fiber", "did you mean 'cane.fibre'"),
        (RICH, "look first at"),
        ("&".join(f"a{i}.b=1" for i in range(50)), "accepted: up to 40 at once"),
    ],
)
def test_questions_that_cannot_be_answered_are_422_on_page_and_as_data(desk: TestClient, query: str, said: str) -> None:
    answer = desk.get(f"/day/{TUESDAY}/what-if?{query}")
    assert answer.status_code == 422
    assert said in html.unescape(answer.text)
    assert "Traceback" not in answer.text
    if "figure" not in query and "add" not in query:
        told = desk.get(f"/day/{TUESDAY}/what-if.json?{query}")
        assert told.status_code == 422
        assert said in told.json()["sentence"]


def test_what_is_passed_is_told_beside_the_answer(desk: TestClient) -> None:
    said = words_of(desk.get(f"/day/{TUESDAY}/what-if?{WATER}=290").text)
    assert "Beyond a limit: brix of mixed juice would be" in said


def test_a_trial_is_kept_noted_compared_and_exported(desk: TestClient) -> None:
    kept = keep(desk, note="mind the boilers")
    assert kept.status_code == 303
    page = desk.get(kept.headers["location"])
    said = words_of(page.text)
    assert page.status_code == 200
    assert f"kept by {PERSON}" in said
    assert "mind the boilers" in said
    assert "imbibition water on fibre" in said
    assert "pol extraction" in said
    noted = desk.post(kept.headers["location"], data={"note": "tried on Friday"})
    assert noted.status_code == 303
    assert "tried on Friday" in desk.get(kept.headers["location"]).text
    second = keep(desk, name="drier", **{WATER: "205"})
    numbers = [r.headers["location"].rpartition("/")[2] for r in (kept, second)]
    both = words_of(desk.get(f"/trials/compare?trial={numbers[0]}&trial={numbers[1]}").text)
    assert "wetter" in both
    assert "drier" in both
    listed = words_of(desk.get("/trials").text)
    assert listed.index("drier") < listed.index("wetter")
    rows = list(csv.DictReader(io.StringIO(desk.get("/trials.csv").text)))
    assert {r["name"] for r in rows} >= {"wetter", "drier"}
    assert desk.get("/trials.csv").headers["content-disposition"] == 'attachment; filename="trials.csv"'
    told = desk.get("/trials.json").json()
    assert {t["trial"] for t in told} >= {int(n) for n in numbers}
    assert "wetter" in desk.get(f"/day/{TUESDAY}/what-if").text


def test_what_cannot_be_kept_stays_typed_with_a_sentence(desk: TestClient, books: Books) -> None:
    before = len(books.store.trials())
    nameless = keep(desk, name=" ", note="a long thought")
    assert nameless.status_code == 422
    assert "name of the trial is empty" in nameless.text
    assert "a long thought" in nameless.text
    assert 'value="232"' in nameless.text
    nothing = keep(desk, **{WATER: ""})
    assert nothing.status_code == 422
    assert "changes nothing" in nothing.text
    broken = keep(desk, **{WATER: "wet"})
    assert broken.status_code == 422
    assert "accepted: a number" in broken.text
    foreign = desk.post(f"/day/{TUESDAY}/what-if", data={WATER: "232", "name": "x"}, headers={"origin": "http://other"})
    assert foreign.status_code == 403
    assert len(books.store.trials()) == before


def test_trials_that_are_not_there_lead_to_those_that_are(desk: TestClient) -> None:
    keep(desk)
    for address in (
        "/trials/999",
        "/trials/one",
        "/trials/-1",
        f"/trials/{'9' * 40}",
        "/trials/compare?trial=1&trial=999",
    ):
        answer = desk.get(address)
        assert answer.status_code == 404, address
        assert "is kept" in answer.text
    assert desk.get("/trials/compare?trial=1").status_code == 422
    newest = desk.get("/trials.json").json()[0]["trial"]
    empty = desk.post(f"/trials/{newest}", data={"note": "  "})
    assert empty.status_code == 422
    assert "accepted: 1 to 2000" in empty.text


def test_days_without_readings_lead_to_those_with(desk: TestClient) -> None:
    for page in ("advice", "what-if", "advice.json", "what-if.json"):
        assert desk.get(f"/day/2031-01-01/{page}").status_code == 404, page
