"""Tables of the plant: numbers are those of the stored day, capacities have share and unit, files say the same."""

from __future__ import annotations

import csv
import html
import io
import re

import pytest
from starlette.testclient import TestClient

from canewright.accounts.books import Books
from canewright.accounts.plant_tables import is_nearly_full, is_over, plant_tables
from canewright.plant.showing import CapacityRow
from canewright.web.words import parted, plain
from web.mill_plant import CLOSED, OPEN

ADDRESS = f"/day/{CLOSED}/plant/tables"


def words_of(page: str) -> str:
    """The text of a page without its tags."""
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page)))


def test_streams_are_those_of_the_stored_day(pages: TestClient, read_books: Books) -> None:
    """Flow, dry substance and purity against the stored components, worked here."""
    closed = read_books.store.closed(CLOSED)
    assert closed is not None
    values = closed.state["values"]
    told = pages.get(f"{ADDRESS}.json").json()
    [juice] = [s for s in told["streams"] if s["stream"] == "mill 1.juice"]
    parts = {n: values[f"mill 1.juice.{n}"] for n in ("water", "sucrose", "reducing_sugars", "ash", "other")}
    solids = sum(parts.values()) - parts["water"]
    flow = sum(parts.values()) + values["mill 1.juice.fibre"] + values["mill 1.juice.suspended"]
    assert juice["flow"]["value"] == pytest.approx(flow, rel=1e-12)
    assert juice["dry substance"]["value"] == pytest.approx(100 * solids / sum(parts.values()), rel=1e-12)
    assert juice["purity"]["value"] == pytest.approx(100 * parts["sucrose"] / solids, rel=1e-12)
    assert juice["temperature"]["value"] == values["mill 1.juice.temperature"]
    assert juice["temperature"]["uncertainty"] == closed.state["uncertainty"]["mill 1.juice.temperature"]
    assert juice["flow"]["uncertainty"] > 0
    assert juice["to"] == "screen.raw"
    assert juice["pressure"] is None


def test_every_stream_and_capacity_stands_on_the_page(pages: TestClient) -> None:
    told, page = pages.get(f"{ADDRESS}.json").json(), pages.get(ADDRESS).text
    assert told["day"] == CLOSED.isoformat()
    said = words_of(page.replace("<wbr>", ""))
    for stream in told["streams"]:
        assert f" {stream['stream']} " in said
    for capacity in told["capacities"]:
        assert f"{capacity['station']} {capacity['limit']}" in said
        assert capacity["unit"]
    assert len(re.findall(r'data-label="Used"', page)) == len(told["capacities"])
    assert "What limits the rate" in said
    assert 'aria-current="page"' in page


def test_capacities_stand_with_the_fullest_first(pages: TestClient, read_books: Books) -> None:
    """Installed power of the preparation, 5 MW, and what it took of the board."""
    told = pages.get(f"{ADDRESS}.json").json()["capacities"]
    shares = [c["share"] for c in told]
    assert shares == sorted(shares, reverse=True)
    [power] = [c for c in told if c["station"] == "preparation"]
    closed = read_books.store.closed(CLOSED)
    assert closed is not None
    assert power["used"] == pytest.approx(closed.state["values"]["board.branches.1.power"], rel=1e-9)
    assert (power["available"], power["unit"]) == (5000.0, "kW")
    assert power["share"] == pytest.approx(100 * power["used"] / 5000.0)


def test_where_the_sucrose_goes(pages: TestClient, read_books: Books) -> None:
    """All ways out of the mill make up the sucrose of the cane over its running hours, read from the stored day."""
    closed = read_books.store.closed(CLOSED)
    assert closed is not None
    told = pages.get(f"{ADDRESS}.json").json()["sucrose"]
    cane = closed.state["values"]["cane yard.cane.sucrose"] * closed.state["values"]["sections.mill.hours"]
    assert sum(w["tonnes"] for w in told["came"]) == pytest.approx(cane, rel=1e-9)
    assert sum(w["tonnes"] for w in told["went"]) == pytest.approx(cane, rel=1e-9)
    assert told["went"][0]["name"] == "mixed juice"
    said = words_of(pages.get(ADDRESS).text)
    assert "Where the sucrose goes" in said
    assert all(f"{w['name']} {w['station']}" in said for w in told["went"])


def test_a_capacity_too_small_is_flagged(books: Books) -> None:
    """A smaller preparation is used beyond what is there, and stands first."""
    closed = books.store.closed(CLOSED)
    assert closed is not None
    values = {**closed.state["values"], "preparation.installed_power": 2000.0}
    tables = plant_tables(books.plant, {**closed.state, "values": values})
    assert [c.station for c in tables.over] == ["preparation"]
    assert tables.capacities[0].station == "preparation"


@pytest.mark.parametrize(
    ("used", "there", "over", "nearly"),
    [(94.0, 100.0, False, False), (96.0, 100.0, False, True), (101.0, 100.0, True, False), (1.0, 0.0, True, False),
     (0.0, 0.0, False, False)],
)  # fmt: skip
def test_how_full(used: float, there: float, over: bool, nearly: bool) -> None:
    row = CapacityRow("mill", "a", "mill", "limit", "t/h", used, there)
    assert is_over(row) == over
    assert is_nearly_full(row) == nearly


def test_files_say_what_the_page_says(pages: TestClient) -> None:
    told = pages.get(f"{ADDRESS}.json").json()
    for name, rows in (("streams", told["streams"]), ("capacities", told["capacities"])):
        answer = pages.get(f"/day/{CLOSED}/plant/{name}.csv")
        assert answer.headers["content-type"].startswith("text/csv")
        assert f'filename="{name} {CLOSED}.csv"' in answer.headers["content-disposition"]
        lines = list(csv.DictReader(io.StringIO(answer.text)))
        assert len(lines) == len(rows)
    streams = {s["stream"]: s for s in csv.DictReader(io.StringIO(pages.get(f"/day/{CLOSED}/plant/streams.csv").text))}
    [juice] = [s for s in told["streams"] if s["stream"] == "mill 1.juice"]
    assert float(streams["mill 1.juice"]["flow, t/h"]) == pytest.approx(juice["flow"]["value"], rel=1e-5)
    found = float(streams["mill 1.juice"]["standard uncertainty of temperature, K"])
    assert found == pytest.approx(juice["temperature"]["uncertainty"], rel=1e-5)


def test_a_day_that_is_not_closed_says_so(pages: TestClient) -> None:
    assert "preliminary" in words_of(pages.get(f"/day/{OPEN}/plant/tables").text)
    assert pages.get(f"/day/{OPEN}/plant/tables.json").json()["status"] == "preliminary"


@pytest.mark.parametrize("name", ["tables", "tables.json", "streams.csv", "capacities.csv"])
def test_a_day_without_readings_is_refused(pages: TestClient, name: str) -> None:
    answer = pages.get(f"/day/2025-01-01/plant/{name}")
    assert answer.status_code == 404
    assert "Nothing is stored for 2025-01-01" in answer.text


def test_the_page_of_the_plant_leads_there(pages: TestClient) -> None:
    assert f'href="{ADDRESS}"' in pages.get(f"/day/{CLOSED}/plant").text


def test_names_part_after_their_full_stops_and_nothing_shrinks_to_noughts() -> None:
    assert str(parted("pan <A>.massecuite")) == "pan &lt;A&gt;.<wbr>massecuite"
    assert plain(1e-9) == "0"
    assert plain(0.000012) == "0.000012"
