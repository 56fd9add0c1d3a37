"""Cane pages: what the office sees, and that a grower sees his own and nothing of anybody else, whatever he asks."""

from __future__ import annotations

import datetime as dt
import html
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from httpx import Response
from starlette.testclient import TestClient

from cane.demo import the_district
from canewright.accounts.books import Books
from canewright.accounts.cane_deliveries import Site, import_season, known_of, read_season, season_csv
from canewright.accounts.cane_registers import import_registers, read_registers
from canewright.accounts.cane_season import analysed
from canewright.cane.demo_district import registers_of
from canewright.cane.demo_season import season
from canewright.store import Store
from canewright.web.app import create_app
from canewright.web.visitors import COOKIE, LASTS
from web.mill_plant import plant

HOST = "http://127.0.0.1"
SECRET = b"drawn when the server starts"
KEY, OTHER_KEY = "key-of-farm-077", "key-of-another"
SHARE = 0.004
"""Of the season: the first day or so."""


class Clock:
    """A clock that stands until it is moved."""

    moment = dt.datetime(2031, 6, 20, 3, 0, tzinfo=dt.UTC)

    def __call__(self) -> dt.datetime:
        """The standing moment."""
        return self.moment


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A business with the registers and the first day of the invented season."""
    folder = tmp_path_factory.mktemp("cane")
    with Store.open(folder, now=Clock()) as store:
        files = {name: table.write_csv().encode() for name, table in registers_of(the_district()).items()}
        import_registers(store, read_registers(files, ()), "cane office")
        site = Site(6, ZoneInfo("Etc/GMT-10"))
        text = season_csv(season(the_district(), share=SHARE).recorded).encode()
        import_season(store, read_season(text, "season-deliveries.csv", known_of(store, site), site), "cane office")
        growers = [c.grower for c in store.consignments_between(dt.date.min, dt.date.max)]
        first, second = sorted(set(growers))[:2]
        store.grant_access(first, "A. Grower", KEY, "cane office")
        store.grant_access(second, "B. Grower", OTHER_KEY, "cane office")
    return folder


@pytest.fixture
def clock() -> Clock:
    """The server's clock."""
    return Clock()


@pytest.fixture
def store(filled: Path, clock: Clock) -> Iterator[Store]:
    """The records."""
    with Store.open(filled, now=clock) as opened:
        yield opened


def door(store: Store, clock: Clock, *, growers_only: bool = False) -> TestClient:
    """A browser at the server."""
    app = create_app(Books(plant(), store), now=clock, person="cane clerk", secret=SECRET, growers_only=growers_only)
    return TestClient(app, base_url=HOST, headers={"origin": HOST}, follow_redirects=False)


@pytest.fixture
def office(store: Store, clock: Clock) -> TestClient:
    """The office's browser."""
    return door(store, clock)


@pytest.fixture
def grower(store: Store, clock: Clock) -> TestClient:
    """A browser in which the first grower has signed in."""
    browser = door(store, clock)
    assert browser.post("/cane/sign-in", data={"key": KEY}).status_code == 303
    return browser


def loads(store: Store) -> pl.DataFrame:
    """The stored deliveries, analysed."""
    return analysed(store, dt.date(2031, 6, 1), dt.date(2031, 6, 30))


def own_and_other(store: Store) -> tuple[str, str]:
    """The signed-in grower and the other one."""
    first, second = (each.grower for each in store.accesses()[:2])
    return first, second


def test_the_office_sees_weeks_growers_registers_blocks_and_tickets(office: TestClient, store: Store) -> None:
    own, _ = own_and_other(store)
    row = loads(store).filter(pl.col("grower") == own).row(0, named=True)
    addresses = [
        "/cane", "/cane/registers/block", "/cane/registers/harvest group?on=2031-06-05", f"/cane/growers/{own}",
        f"/cane/blocks/{row['block']}", f"/cane/tickets/{row['ticket']}",
    ]  # fmt: skip
    for address in addresses:
        answer = office.get(address)
        assert answer.status_code == 200, address
        page = answer.text
        assert page.count("<h1>") == page.count("<main") == 1
        assert page.count("<table") == page.count("<caption>")
        assert all("scope=" in head for head in re.findall(r"<th\b[^>]*>", page))
        assert not re.search(r"<style|style=|\son\w+=|<script(?! src=)", page)
    ticket = html.unescape(office.get(addresses[-1]).text)
    assert f"{row['net']:.2f}" in ticket
    assert row["says"][0].upper() + row["says"][1:] in ticket
    assert "juice pol" in ticket


def test_a_register_is_shown_as_of_a_day_and_as_a_file(office: TestClient, store: Store) -> None:
    assert "0 entries" in office.get("/cane/registers/block?on=2030-06-05").text
    assert "1400 entries" in office.get("/cane/registers/block?on=2031-06-05").text
    file = office.get("/cane/registers/blocks.csv?on=2031-06-05&as=csv")
    assert file.headers["content-type"].startswith("text/csv")
    assert len(file.text.splitlines()) == 1401
    wrong = office.get("/cane/registers/blok")
    assert (wrong.status_code, "did you mean block" in wrong.text) == (404, True)
    assert office.get("/cane/registers/block?on=yesterday").status_code == 404


def test_a_wrong_key_opens_nothing(office: TestClient) -> None:
    for key in ("", "wrong", KEY[:-1], KEY.upper()):
        answer = office.post("/cane/sign-in", data={"key": key})
        assert answer.status_code == 403
        assert "opens nothing" in answer.text
        assert COOKIE not in answer.cookies


def test_a_grower_sees_his_own(grower: TestClient, store: Store) -> None:
    own, _ = own_and_other(store)
    assert unquote(grower.get("/cane/own").headers["location"]) == f"/cane/growers/{own}"
    frame = loads(store).filter(pl.col("grower") == own)
    page = html.unescape(grower.get(f"/cane/growers/{own}").text)
    for ticket in frame["ticket"]:
        assert f">{ticket}</a>" in page
    assert grower.get(f"/cane/blocks/{frame['block'][0]}").status_code == 200
    assert grower.get(f"/cane/tickets/{frame['ticket'][0]}").status_code == 200
    file = grower.get(f"/cane/growers/{own}?as=csv").text.splitlines()
    assert len(file) == 1 + frame.height


def test_nothing_of_another_grower_is_shown_whatever_is_asked(grower: TestClient, store: Store) -> None:
    own, other = own_and_other(store)
    frame = loads(store)
    theirs = frame.filter(pl.col("grower") == other)
    asked = [f"/cane/growers/{other}", f"/cane/growers/{other}?as=csv"]
    asked += [f"/cane/blocks/{b}" for b in theirs["block"].unique()]
    asked += [f"/cane/tickets/{t}" for t in theirs["ticket"]]
    for address in asked:
        answer = grower.get(address)
        unknown = grower.get(re.sub(r"[^/]+$", "no-such-thing", address))
        assert answer.status_code == unknown.status_code == 404, address
    mine = set(frame.filter(pl.col("grower") == own)["ticket"])
    for address in ("/cane/own", f"/cane/growers/{own}", *(f"/cane/tickets/{t}" for t in mine)):
        page = grower.get(address, follow_redirects=True).text
        assert other not in page
        shown = set(re.findall(r"/cane/tickets/([^\"]+)\"", page))
        assert shown <= mine


OPEN_OF_PAYMENT = {"/pay/sign-in", "/pay/sign-out", "/pay/schemes"}


def test_every_page_of_the_office_is_closed_to_a_grower(grower: TestClient) -> None:
    app = grower.app
    closed = 0
    for route in app.routes:  # type: ignore[attr-defined]
        path = getattr(route, "path", "")
        if path.startswith(("/static", "/cane/own", "/cane/growers", "/cane/blocks", "/cane/tickets", "/cane/sign")):
            continue
        address = re.sub(r"{[^}]*}", "2031-06-02", path.replace("{number:int}", "1"))
        for method in getattr(route, "methods", None) or ():
            if method != "HEAD":
                answer = grower.request(method, address, follow_redirects=False)
                if path.startswith("/pay"):  # a key of the cane office opens nothing there: a passphrase is asked for
                    asked = answer.headers.get("location", "").startswith("/pay/sign-in")
                    assert asked or path in OPEN_OF_PAYMENT, (method, address, answer.status_code)
                else:
                    assert answer.status_code == 403, (method, address)
                closed += 1
    assert closed >= 18


def test_a_door_for_growers_lets_nobody_else_in(store: Store, clock: Clock) -> None:
    browser = door(store, clock, growers_only=True)
    for address in ("/", "/cane", "/cane/own", "/day/2031-06-02", "/cane/registers/grower", "/health"):
        answer = browser.get(address)
        assert (answer.status_code, answer.headers["location"]) == (303, "/cane/sign-in")
    assert browser.get("/day/2031-06-02.json").status_code == 401
    assert browser.get("/cane/sign-in").status_code == 200
    browser.post("/cane/sign-in", data={"key": KEY})
    assert browser.get("/cane/own", follow_redirects=True).status_code == 200


@pytest.mark.parametrize("change", ["other number", "other time", "other seal", "rubbish", "empty"])
def test_a_cookie_that_this_server_did_not_seal_opens_nothing(grower: TestClient, change: str) -> None:
    number, begun, seal = grower.cookies[COOKIE].split(".")
    forged = {
        "other number": f"{int(number) + 1}.{begun}.{seal}",
        "other time": f"{number}.{int(begun) + 1}.{seal}",
        "other seal": f"{number}.{begun}.{'0' * len(seal)}",
        "rubbish": "x" * 300,
        "empty": "",
    }[change]
    for address in ("/cane/own", "/cane", "/"):
        answer = door_with(grower, forged, address)
        assert answer.status_code in {303, 307}
        assert answer.headers["location"] == "/cane/sign-in"


def door_with(browser: TestClient, cookie: str, address: str) -> Response:
    """The answer to somebody who carries this cookie."""
    fresh = TestClient(browser.app, base_url=HOST, follow_redirects=False)
    answer: Response = fresh.get(address, headers={"cookie": f"{COOKIE}={cookie}"})
    return answer


def test_signing_in_ends_with_time_with_signing_out_and_with_the_key(store: Store, clock: Clock) -> None:
    store.grant_access(own_and_other(store)[0], "C. Grower", "a third key", "cane office")
    number = store.accesses()[-1].id
    browser = door(store, clock)
    assert browser.post("/cane/sign-in", data={"key": "a third key"}).status_code == 303
    assert browser.get("/cane/own").headers["location"] != "/cane/sign-in"
    clock.moment += LASTS + dt.timedelta(seconds=1)
    assert browser.get("/cane/own").headers["location"] == "/cane/sign-in"
    browser.post("/cane/sign-in", data={"key": "a third key"})
    assert browser.get("/cane/own").headers["location"] != "/cane/sign-in"
    store.withdraw_access(number, "cane office", "key lost")
    assert browser.get("/cane/own").headers["location"] == "/cane/sign-in"
    assert browser.post("/cane/sign-in", data={"key": "a third key"}).status_code == 403


def test_signing_out_takes_the_cookie_back(grower: TestClient) -> None:
    assert grower.post("/cane/sign-out").headers["location"] == "/cane/sign-in"
    assert COOKIE not in grower.cookies


def test_the_cookie_is_kept_from_scripts_and_other_sites(office: TestClient) -> None:
    given = office.post("/cane/sign-in", data={"key": KEY}).headers["set-cookie"].lower()
    assert "httponly" in given
    assert "samesite=strict" in given


def test_a_post_from_elsewhere_signs_nobody_in(store: Store, clock: Clock) -> None:
    app = create_app(Books(plant(), store), now=clock, person="x", secret=SECRET)
    answer = TestClient(app, base_url=HOST).post("/cane/sign-in", data={"key": KEY}, headers={"origin": "http://a.b"})
    assert answer.status_code == 403


def test_without_a_secret_nobody_signs_in(store: Store, clock: Clock) -> None:
    app = create_app(Books(plant(), store), now=clock, person="x")
    browser = TestClient(app, base_url=HOST, headers={"origin": HOST}, follow_redirects=False)
    assert browser.post("/cane/sign-in", data={"key": KEY}).status_code == 404
    assert door_with(browser, "1.1.anything", "/cane").status_code == 303


def test_a_business_without_cane_says_what_to_do(tmp_path: Path, clock: Clock) -> None:
    with Store.open(tmp_path, now=clock) as empty:
        answer = door(empty, clock).get("/cane")
    assert answer.status_code == 404
    assert "canewright cane import" in answer.text


def test_a_page_follows_what_is_stored(store: Store, office: TestClient) -> None:
    assert office.get("/cane").status_code == 200
    own, _ = own_and_other(store)
    ticket = loads(store).filter(pl.col("grower") == own)["ticket"][0]
    store.rule_on_sample(dt.date(2031, 6, 2), ticket, "disputed", "the grower asks for a second analysis", "clerk")
    assert "disputed: the grower asks" in office.get(f"/cane/tickets/{ticket}").text
