"""Every page through its address: what it shows, its data twin, and what it says of addresses that do not exist."""

from __future__ import annotations

import html
import logging
import re
from pathlib import Path

import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.testclient import TestClient

from canewright.accounts.books import Books, BooksRefused
from canewright.accounts.formats import FORMATS
from canewright.quantity import CATALOGUE
from canewright.store import Store
from canewright.web.app import create_app, serve
from canewright.web.day_page import headlines
from canewright.web.desk import Desk, ShownDay
from canewright.web.guard import POLICY
from canewright.web.plant_page import streams_by_section
from canewright.web.words import fitting, interval, number, spread
from web.mill_plant import CLOSED, OPEN, REOPENED, now, plant

EVERY_PAGE = [
    f"/day/{CLOSED}",
    f"/day/{REOPENED}",
    f"/day/{REOPENED}?version=1",
    f"/day/{OPEN}",
    f"/day/{CLOSED}/plant",
    f"/day/{OPEN}/plant",
    f"/day/{CLOSED}/plant/tables",
    f"/day/{REOPENED}/plant/tables?version=1",
    f"/day/{OPEN}/plant/tables",
    f"/day/{CLOSED}/growers",
    f"/day/{OPEN}/growers",
    f"/day/{CLOSED}/figure/pol extraction",
    f"/day/{OPEN}/figure/undetermined loss of the mill",
    f"/day/{CLOSED}/entry",
    f"/day/{OPEN}/entry",
    f"/day/{OPEN}/entry?time=13:20",
    "/season",
    "/dictionary",
    "/formulas",
    "/formulas?q=megasse",
    "/formulas/ccs",
    "/formulas/supersaturation_of_liquor?dry_substance=78±0.2&purity=85&temperature=65±1&chart-over=temperature",
]


def words_of(page: str) -> str:
    """The text of a page without its tags."""
    return re.sub(r"[ \n\t]+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page)))


@pytest.mark.parametrize("address", EVERY_PAGE)
def test_every_page_answers_with_one_heading_and_landmarks(pages: TestClient, address: str) -> None:
    answer = pages.get(address)
    assert answer.status_code == 200
    page = answer.text
    assert page.count("<h1>") == 1
    assert page.count("<main") == 1
    assert '<html lang="en">' in page
    assert re.search(r"<title>[^<]+ – Test Mill</title>", page)
    assert page.count("<table") == page.count("<caption>")
    heads = re.findall(r"<th\b[^>]*>", page)
    assert all("scope=" in head for head in heads)
    assert "Traceback" not in page


def test_no_page_carries_inline_script_or_style(pages: TestClient) -> None:
    for address in EVERY_PAGE:
        page = pages.get(address).text
        assert not re.search(r"<style|style=|\son\w+=|<script(?! src=\"/static/)", page), address
        assert not re.search(r"(?:src|href)=\"(?:https?:)?//", page), address


def test_the_root_leads_to_the_latest_day(pages: TestClient) -> None:
    answer = pages.get("/", follow_redirects=False)
    assert answer.status_code == 307
    assert answer.headers["location"] == f"/day/{OPEN}"


def test_a_business_without_a_day_says_what_to_do(tmp_path: Path) -> None:
    with Store.open(tmp_path, now=now) as store:
        client = TestClient(create_app(Books(plant(), store), now=now, person="x"), base_url="http://127.0.0.1")
        answer = client.get("/")
    assert answer.status_code == 200
    assert "canewright day import" in answer.text


def test_the_data_twin_has_the_figures_of_the_page(pages: TestClient) -> None:
    for day in (CLOSED, OPEN):
        page, twin = words_of(pages.get(f"/day/{day}").text), pages.get(f"/day/{day}.json").json()
        assert len(twin["sheet"]) >= 15
        for row in twin["sheet"]:
            shown = interval(row["value"], row["uncertainty"], row["decimals"])
            assert f"{row['name']} {row['unit']} {shown}" in page
            for period in ("week to date", "season to date"):
                told = row[period]
                assert interval(told["value"], told["uncertainty"], row["decimals"]) in page


def test_the_twin_has_the_figures_that_were_closed(pages: TestClient, read_books: Books) -> None:
    told = {row["name"]: row["value"] for row in pages.get(f"/day/{CLOSED}.json").json()["sheet"]}
    assert told == {row["name"]: row["value"] for row in read_books.published(CLOSED).figures["sheet"]}


def test_attention_stands_first_then_the_loss_of_the_week(pages: TestClient) -> None:
    page = words_of(pages.get(f"/day/{CLOSED}").text)
    order = [page.index(part) for part in ("Needs attention", "Undetermined loss of the mill", "Day sheet", "Notes")]
    assert order == sorted(order)
    assert "pol extraction is off target" in page[order[0] : order[1]]
    assert (
        f'href="/day/{CLOSED}/figure/pol%20extraction">pol extraction is off target' in pages.get(f"/day/{CLOSED}").text
    )
    headline = page[order[1] : order[2]]
    assert headline.index("Week to date") < headline.index("The day:")
    assert "not distinguishable from zero" in headline
    assert "Mill recovery" in headline


def test_status_is_told_in_words(pages: TestClient) -> None:
    assert "Version 1, closed by chief chemist" in pages.get(f"/day/{CLOSED}").text
    assert "preliminary" in pages.get(f"/day/{OPEN}").text
    again = pages.get(f"/day/{REOPENED}").text
    assert "preliminary" in again
    assert "reopened by chief chemist" in again
    assert "late result of the mixed juice" in again
    old = pages.get(f"/day/{REOPENED}?version=1")
    assert ">reopened<" in old.text
    assert "?version=1" in old.text
    assert pages.get(f"/day/{REOPENED}.json?version=1").json()["version"] == 1


def test_hours_stops_cane_and_growers_are_shown(pages: TestClient) -> None:
    page = words_of(pages.get(f"/day/{CLOSED}").text)
    assert "mill 21.50" in page
    assert "mill 2 choked 2.50" in page
    assert "Crushing rate while running: 400" in page
    cane = pages.get(f"/day/{CLOSED}.json").json()["cane"]
    assert f"Cane in deliveries: {cane['tonnes']} t in 2 consignments" in page
    growers = words_of(pages.get(f"/day/{CLOSED}/growers").text)
    for grower, owed in cane["owed_by_grower"].items():
        assert f"{grower} {number(float(owed), 2)}" in growers


def test_products_are_shown_with_the_probability_of_being_in_specification(pages: TestClient) -> None:
    page = words_of(pages.get(f"/day/{CLOSED}").text)
    (moisture,) = pages.get(f"/day/{CLOSED}.json").json()["products"]
    assert f"bagasse to the boilers moisture % {fitting(moisture['value'], moisture['uncertainty'])} 45 to 50" in page
    assert moisture["probability"] < 0.95
    assert f"! doubtful , probability {100 * moisture['probability']:.1f} %" in page


def test_losses_without_the_first_suspect_stand_beside_the_loss(read_books: Books) -> None:
    account = dict(read_books.published(CLOSED).figures)
    account |= {"suspect": "juice scale", "without_suspect": {"undetermined loss of the mill": [0.4, 0.2]}}
    shown = headlines(account)
    assert shown["suspect"] == "juice scale"
    assert shown["without"]["undetermined loss of the mill"] == [0.4, 0.2]
    desk = Desk(read_books, now, "x")
    day = ShownDay(CLOSED, account, read_books.published(CLOSED), read_books.published(CLOSED))
    page = words_of(bytes(desk.page("day.html", day=CLOSED, shown=day, **shown).body).decode())
    assert "The day without the first suspect, juice scale: 0.40 ± 0.39 %." in page


def test_a_figure_opens_down_to_single_readings(pages: TestClient) -> None:
    page = words_of(pages.get(f"/day/{CLOSED}/figure/pol extraction").text)
    twin = pages.get(f"/day/{CLOSED}/figure/pol extraction.json").json()
    assert twin["tree"]["how"][1:] in page
    assert "% of the variance" in page
    assert "juice scale: mass" in page
    assert f"good; by shift chemist at {CLOSED}T20:00+00:00; meters.csv row 2" in page
    assert "final bagasse: moisture" in page
    assert "mass before drying" in page
    shares = sum(s["variance_share"] for s in twin["tree"]["inputs"])
    assert shares == pytest.approx(1.0, abs=1e-9)


def test_the_plant_shows_measured_reconciled_and_predicted(pages: TestClient) -> None:
    page = words_of(pages.get(f"/day/{CLOSED}/plant").text)
    twin = pages.get(f"/day/{CLOSED}/plant.json").json()
    stations = list(twin["streams"]["mill"])
    assert stations[:2] == ["cane yard", "water"]
    assert set(stations) == set(plant().description.stations)
    for meter in twin["meters"]:
        shown = fitting(meter["read"], meter["uncertainty"])
        assert f"{meter['tag']} {meter['quantity']} of {meter['stream']} {meter['unit']} {shown}" in page
    juice = next(s for s in twin["streams"]["mill"]["mill loss"] if s["stream"] == "mill loss.passed")
    brix = next(r for r in juice["rows"] if r["quantity"] == "refractometer brix")
    assert brix["tag"] == "mixed juice brix"
    assert brix["reconciled"] == pytest.approx(brix["read"], abs=0.1)
    assert brix["predicted"] is not None
    assert "only just determined" in page
    assert "checked only by what the plant description expects" in page


def test_an_interval_is_shown_only_of_the_quantity_it_belongs_to(read_books: Books) -> None:
    """The stored uncertainty of a stream's variable 'colour' is of a flow, not of the colour on solids."""
    closed = read_books.published(CLOSED)
    shown = streams_by_section(plant(), closed.state, closed.figures["meters"])["mill"]["cane yard"][0]
    rows = {r.quantity: r for r in shown.rows}
    assert rows["temperature"].uncertainty == closed.state["uncertainty"]["cane yard.cane.temperature"]
    told = closed.state.get("quantities", {}).get("cane yard.cane", {}).get("colour", {})
    assert rows["colour"].uncertainty == told.get("uncertainty")
    assert rows["colour"].reconciled == pytest.approx(14000, rel=0.2)
    assert rows["mass"].uncertainty == closed.figures["meters"][0]["reconciled_uncertainty"]


def test_a_stream_tells_only_what_it_carries(pages: TestClient) -> None:
    streams = pages.get(f"/day/{CLOSED}/plant.json").json()["streams"]["mill"]
    assert [r["quantity"] for r in streams["grid"][0]["rows"]] == ["power"]
    assert [r["quantity"] for r in streams["water"][0]["rows"]] == ["mass flow", "temperature"]


def test_stored_quantities_of_streams_are_shown_with_their_interval(read_books: Books) -> None:
    closed = read_books.published(CLOSED)
    told = {"mill 1.juice": {"refractometer brix": {"value": 18.0, "uncertainty": 0.25}}}
    state = {**closed.state, "quantities": told}
    shown = streams_by_section(plant(), state, closed.figures["meters"])["mill"]["mill 1"]
    juice = next(s for s in shown if s.name == "mill 1.juice")
    assert next(r for r in juice.rows if r.quantity == "refractometer brix").uncertainty == 0.25


def test_the_dictionary_names_every_column_and_what_this_plant_expects(pages: TestClient) -> None:
    page = html.unescape(pages.get("/dictionary").text)
    for form in FORMATS:
        assert form.name in page
        for header in form.headers:
            assert f"<code>{header}</code>" in page
    assert "juice scale" in page
    assert "fibre class green" in page


def test_the_formulas_are_all_listed_with_source_and_status(pages: TestClient) -> None:
    page = words_of(pages.get("/formulas").text)
    assert len(CATALOGUE) > 50
    for formula in CATALOGUE.values():
        assert formula.name.replace("_", " ") in page
        assert " ".join(formula.source.split()) in page


def test_health(pages: TestClient) -> None:
    assert pages.get("/health").json() == {"status": "ok", "plant": "Test Mill", "days": 3}


# --- what does not exist --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("day", ["nonsense", "2026-13-01", "2026-07-32", "20260714", "2026-07-14T00:00", "%00"])
def test_a_day_that_is_no_date_is_told_and_days_are_offered(pages: TestClient, day: str) -> None:
    for address in (f"/day/{day}", f"/day/{day}/plant", f"/day/{day}/entry", f"/day/{day}/figure/pol extraction"):
        answer = pages.get(address)
        assert answer.status_code == 404
        assert "write it as" in answer.text
        assert f"/day/{CLOSED}" in answer.text


def test_a_day_without_readings_an_unknown_version_figure_or_address(pages: TestClient) -> None:
    told = pages.get("/day/2026-01-01")
    assert (told.status_code, "Nothing is stored for 2026-01-01" in told.text) == (404, True)
    told = pages.get(f"/day/{CLOSED}?version=7")
    assert (told.status_code, "has no version" in html.unescape(told.text)) == (404, True)
    told = pages.get(f"/day/{CLOSED}/figure/pol extractoin")
    assert told.status_code == 404
    assert f'href="/day/{CLOSED}/figure/pol%20extraction"' in told.text
    told = pages.get(f"/day/{CLOSED}/figure/nothing.json")
    assert (told.status_code, told.json()["state"]) == (404, "refused")
    assert pages.get("/no/such/place").status_code == 404
    assert pages.get("/static/../app.py").status_code == 404


def test_markup_in_an_address_is_shown_as_text(pages: TestClient) -> None:
    told = pages.get("/day/<script>alert(1)<script>")
    assert told.status_code == 404
    assert "<script>alert" not in told.text


def test_a_day_that_cannot_be_worked_out_is_told_with_what_to_do(
    desk: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise BooksRefused("no state is near the readings")

    monkeypatch.setattr(Books, "preview", refuse)
    answer = desk.get(f"/day/{OPEN}")
    assert answer.status_code == 503
    assert "This day cannot be worked out yet: no state is near the readings" in answer.text
    assert f"/day/{OPEN}/entry" in answer.text
    assert desk.get(f"/day/{OPEN}.json").json()["state"] == "refused"


def test_an_impossible_reading_is_told_and_can_still_be_corrected(books: Books, desk: TestClient) -> None:
    scale = next(r for r in books.store.readings(OPEN) if r.place == "cane scale")
    books.store.correct(scale.id, 0.0, "x", "slip without a number")
    answer = desk.get(f"/day/{OPEN}")
    assert answer.status_code in {200, 503}
    assert "incident" not in answer.text
    assert desk.get(f"/day/{OPEN}/entry").status_code == 200


def test_a_broken_page_gives_a_number_and_no_traceback(
    books: Books, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("secret inside")

    monkeypatch.setattr(Desk, "shown", broken)
    client = TestClient(create_app(books, now=now, person="x"), base_url="http://127.0.0.1")
    with caplog.at_level(logging.ERROR, "canewright.web"):
        answer = client.get(f"/day/{CLOSED}")
    assert answer.status_code == 500
    assert "incident is number 20260716-223000-1" in answer.text
    assert "secret inside" not in answer.text
    assert "Traceback" not in answer.text
    assert "incident 20260716-223000-1" in caplog.text
    assert "ZeroDivisionError" in caplog.text
    assert answer.headers["content-security-policy"] == POLICY


# --- the gate -------------------------------------------------------------------------------------------------------


def test_every_answer_carries_the_safety_headers(pages: TestClient) -> None:
    for address in (f"/day/{CLOSED}", "/no/such/place", "/static/page.css", f"/day/{CLOSED}.json", "/health"):
        headers = pages.get(address).headers
        assert headers["content-security-policy"] == POLICY
        assert "frame-ancestors 'none'" in POLICY
        assert "unsafe" not in POLICY
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"


def test_the_server_listens_on_this_machine_only(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: dict[str, object] = {}
    monkeypatch.setattr(uvicorn, "run", lambda app, **how: asked.update(how))
    serve(Starlette(), 8123)
    assert (asked["host"], asked["port"]) == ("127.0.0.1", 8123)


def test_another_host_name_is_refused(pages: TestClient) -> None:
    assert pages.get("/health", headers={"host": "evil.example"}).status_code == 400
    assert pages.get("/health", headers={"host": "localhost:8000"}).status_code == 200


def test_only_post_changes_and_only_where_there_is_something_to_change(desk: TestClient) -> None:
    for method in ("PUT", "DELETE", "PATCH"):
        assert desk.request(method, f"/day/{OPEN}/entry").status_code == 405
    assert desk.post(f"/day/{OPEN}").status_code == 405


# --- words ----------------------------------------------------------------------------------------------------------


def test_numbers_read_as_a_person_writes_them() -> None:
    assert number(-1234567.891, 1) == "−1\u202f234\u202f567.9"
    assert number(-0.001, 2) == "0.00"
    assert number(None) == "no value"
    assert interval(96.123, 0.15, 2) == "96.12 ± 0.29"
    assert interval(96.123, None, 2) == "96.12, no estimate of uncertainty"
    assert interval(None, 0.1) == "no value"
    assert spread(0.0004, 2) == "0.0008"
    assert spread(1e-9, 1) == "under 0.001"
    assert spread(0.0, 1) == "0.0"
    assert fitting(1234.567, 3.2) == "1\u202f234.6 ± 6.3"
    assert fitting(50.0, 0.0) == "50.000, held"
    assert fitting(float("nan"), 1.0) == "no value"
