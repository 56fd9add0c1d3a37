"""The pages of payment: sign in, approve by two, statements of one's own, down to the raw reading; papers too."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from accounts.paid_mill import ACCOUNTANT, AGREEMENT, CHEMIST, OFFICER, SECRET, Paying, no_chance, open_office
from canewright.accounts.books import Books
from canewright.store import Store
from canewright.web.app import create_app
from reports.workbooks import sheets
from web.conftest import HOST, PERSON
from web.mill_plant import now, plant


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """An empty business."""
    with Store.create(tmp_path, now=now) as opened:
        yield opened


@pytest.fixture
def paying(store: Store) -> Paying:
    """Run 1 closed, run 2 computed."""
    made = open_office(store)
    made.agree()
    made.office.compute(made.officer, "2026")
    made.close(1)
    made.office.compute(made.officer, "2026")
    return made


def browser_of(store: Store, name: str = "", secret: str = SECRET) -> TestClient:
    """A browser of somebody who signed in, or of nobody."""
    counted = iter(range(1000))
    app = create_app(Books(plant(), store), now=now, person=PERSON, chance=lambda n: bytes([next(counted)]) * n)
    client = TestClient(app, base_url=HOST, headers={"origin": HOST}, follow_redirects=False)
    if name:
        answer = client.post("/pay/sign-in", data={"name": name, "secret": secret, "to": "/pay"})
        assert answer.status_code == 303, answer.text
    return client


def words_of(page: str) -> str:
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]*>", " ", page)))


PAGES = [
    "/pay", "/pay/2026/1", "/pay/2026/2", "/pay/2026/1?version=1", "/pay/2026/1/statement/farm 1",
    "/pay/2026/1/statement/farm 2", "/pay/2026/1/statement/farm 1/ticket/0706-1", "/pay/2026/agreement",
]  # fmt: skip


@pytest.mark.parametrize("address", PAGES)
def test_nobody_sees_payment_without_signing_in(paying: Paying, store: Store, address: str) -> None:
    answer = browser_of(store).get(address)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/pay/sign-in?to=/pay")


@pytest.mark.parametrize("address", [*PAGES, "/pay/schemes", "/pay/sign-in"])
def test_every_page_answers_with_one_heading(paying: Paying, store: Store, address: str) -> None:
    answer = browser_of(store, CHEMIST).get(address)
    assert answer.status_code == 200
    if address.endswith("agreement"):
        assert answer.text.startswith("\n[season]")
        return
    assert answer.text.count("<h1>") == 1
    assert answer.text.count("<table") == answer.text.count("<caption>")
    assert not re.search(r"<style|style=|\son\w+=|<script", answer.text)


def test_a_run_goes_through_the_pages(store: Store) -> None:
    made = open_office(store)
    made.agree()
    officer, accountant = browser_of(store, OFFICER), browser_of(store, ACCOUNTANT)
    preview = officer.post("/pay/2026/compute", data={"act": "preview", "reason": ""})
    assert "nothing is stored" in words_of(preview.text)
    assert store.payments.runs("2026") == ()
    assert officer.post("/pay/2026/compute", data={"act": "compute"}).headers["location"] == "/pay/2026/1"
    act = "/pay/2026/1/act"
    assert accountant.post(act, data={"act": "approve", "version": "1"}).status_code == 303
    again = accountant.post(act, data={"act": "approve", "version": "1"})
    assert again.status_code == 422
    assert "accountant has approved run 1 of season 2026 already; a second person" in words_of(again.text)
    early = accountant.post(act, data={"act": "close", "version": "1"})
    assert "two different persons must approve it" in words_of(early.text)
    assert officer.post(act, data={"act": "approve", "version": "1"}).status_code == 303
    assert officer.post(act, data={"act": "close", "version": "1"}).status_code == 303
    assert "closed" in words_of(officer.get("/pay").text)
    odd = officer.post(act, data={"act": "burn", "version": "1"})
    assert "act: found 'burn'; accepted: approve, reject or close" in words_of(odd.text)


def test_a_rejection_asks_for_its_reason(paying: Paying, store: Store) -> None:
    accountant = browser_of(store, ACCOUNTANT)
    refused = accountant.post("/pay/2026/2/act", data={"act": "reject", "version": "1"})
    assert "cannot be rejected without a reason" in words_of(refused.text)
    accountant.post("/pay/2026/2/act", data={"act": "reject", "version": "1", "reason": "mean looks wrong"})
    assert "Rejected by accountant on 2026-07-16 22:30 UTC: mean looks wrong" in words_of(
        accountant.get("/pay/2026/2").text
    )


def test_rights_hold_whatever_is_posted(paying: Paying, store: Store) -> None:
    chemist, ada = browser_of(store, CHEMIST), browser_of(store, "Ada of farm 1")
    for who in (chemist, ada):
        for act in ("approve", "reject", "close"):
            answer = who.post("/pay/2026/2/act", data={"act": act, "version": "1", "reason": "x"})
            assert answer.status_code == 403
        assert who.post("/pay/2026/compute", data={"act": "compute"}).status_code == 403
    assert store.payments.run("2026", 2).acts == ()  # type: ignore[union-attr]
    stranger = browser_of(store)
    assert stranger.post("/pay/2026/2/act", data={"act": "approve", "version": "1"}).status_code == 303
    foreign = TestClient(chemist.app, base_url=HOST, headers={"origin": "http://elsewhere.example"})
    assert foreign.post("/pay/2026/2/act", data={"act": "approve", "version": "1"}).status_code == 403


def test_a_grower_sees_his_own_and_nothing_else(paying: Paying, store: Store) -> None:
    ada = browser_of(store, "Ada of farm 1")
    mine = ada.get("/pay")
    assert "/pay/2026/1/statement/farm%201" in mine.text
    assert "run 2" not in mine.text
    for address in ("/pay/2026/1/statement/farm 1", "/pay/2026/1/statement/farm 1/ticket/0706-1"):
        page = ada.get(address)
        assert page.status_code == 200
        assert "farm 2" not in page.text
        assert "0706-2" not in page.text
    forbidden = [
        "/pay/2026/1", "/pay/2026/2", "/pay/2026/agreement", "/pay/2026/1/statement/farm 2",
        "/pay/2026/1/statement/farm 2/as.pdf", "/pay/2026/1/statement/farm 2/as.xlsx",
        "/pay/2026/1/statement/farm 2/as.json", "/pay/2026/1/statement/farm 2/ticket/0706-2",
        "/pay/2026/2/statement/farm 1", "/day/2026-07-06", "/day/2026-07-06/growers", "/day/2026-07-06/entry",
    ]  # fmt: skip
    for address in forbidden:
        answer = ada.get(address)
        assert answer.status_code == 403, address
        assert "farm 2" not in answer.text
    assert ada.get("/pay/2026/1/statement/farm 1/ticket/0706-2").status_code == 404


def test_where_growers_sign_in_the_days_pages_ask_who_is_there(paying: Paying, store: Store) -> None:
    assert browser_of(store).get("/day/2026-07-06/growers").headers["location"] == (
        "/pay/sign-in?to=/day/2026-07-06/growers"
    )
    assert browser_of(store, CHEMIST).get("/day/2026-07-06/entry").status_code == 200


def test_signing_in_and_out(paying: Paying, store: Store) -> None:
    client = browser_of(store)
    wrong = client.post("/pay/sign-in", data={"name": OFFICER, "secret": "nonsense", "to": "//elsewhere.example/"})
    assert wrong.status_code == 403
    assert "The name or the passphrase is wrong." in words_of(wrong.text)
    assert "elsewhere" not in wrong.text
    signed = client.post("/pay/sign-in", data={"name": OFFICER, "secret": SECRET, "to": "//elsewhere.example/"})
    assert signed.headers["location"] == "/pay"
    cookie = signed.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert client.get("/pay").status_code == 200
    client.post("/pay/sign-out")
    assert client.get("/pay").status_code == 303
    assert client.post("/pay/sign-in", json={"name": OFFICER}).status_code == 404


def test_rights_taken_away_are_gone_at_once(paying: Paying, store: Store) -> None:
    accountant = browser_of(store, ACCOUNTANT)
    paying.people.record(paying.officer, ACCOUNTANT, [], None, "left")
    answer = accountant.post("/pay/2026/2/act", data={"act": "approve", "version": "1"})
    assert answer.status_code == 403


def test_the_papers_say_what_the_page_says(paying: Paying, store: Store) -> None:
    chemist = browser_of(store, CHEMIST)
    address = "/pay/2026/1/statement/farm 2"
    told = chemist.get(f"{address}/as.json").json()
    pdf = chemist.get(f"{address}/as.pdf")
    assert pdf.content.startswith(b"%PDF")
    assert pdf.headers["content-disposition"] == "attachment; filename=2026-1-farm-2.pdf"
    assert chemist.get(f"{address}/as.pdf").content == pdf.content
    book = sheets(chemist.get(f"{address}/as.xlsx").content)
    assert chemist.get(f"{address}/as.xlsx").headers["content-type"].endswith("spreadsheetml.sheet")
    payment = {row[0]: row[1] for row in book["Payment"]}
    assert payment["payable now"] == float(told["payable"])
    lines = book["Consignments"]
    assert lines[0] == told["heads"]
    assert lines[1][0] == "0706-2"
    assert lines[1][-1] == float(told["lines"][0][-1])
    assert lines[-1][0] == "all"
    assert any("mean of the fibre class on the day" in str(row[1]) for row in book["Remarks"])
    page = words_of(chemist.get(address).text)
    assert "mean of the fibre class on the day" in page
    assert f"{told['payable']} $ payable" in page


def test_unknown_runs_and_statements(paying: Paying, store: Store) -> None:
    chemist = browser_of(store, CHEMIST)
    for address, says in (
        ("/pay/1999/1", "Season '1999' has no run 1"),
        ("/pay/2026/9", "has no run 9"),
        ("/pay/2026/1/statement/ghost", "has no statement for 'ghost'"),
        ("/pay/2026/1/statement/farm 1/ticket/x", "has no ticket 'x'"),
    ):
        answer = chemist.get(address)
        assert answer.status_code == 404
        assert says in words_of(answer.text)


def test_what_stands_in_the_way_of_a_run_is_told(store: Store) -> None:
    made = open_office(store)
    text = store.payments
    made.agree()
    made.agree(AGREEMENT.replace('scheme = "main"\n\n', 'scheme = "main"\nfrom = 2026-07-08\n\n'), "gap")
    answer = browser_of(store, OFFICER).post("/pay/2026/compute", data={"act": "compute"})
    assert answer.status_code == 422
    assert "farm 1, 2026-07-06: no agreement holds on that day" in words_of(answer.text)
    assert text.runs("2026") == ()


def test_an_agreement_is_entered_by_page(store: Store) -> None:
    open_office(store)
    officer = browser_of(store, OFFICER)
    assert "Enter one" in words_of(officer.get("/pay").text)
    assert officer.get("/pay/agree").status_code == 200
    bad = AGREEMENT.replace('"420.00"', "420.5")
    refused = officer.post("/pay/agree", data={"text": bad, "reason": "signed"})
    assert refused.status_code == 422
    assert "schemes.main.terms 1.sugar_price: found 420.5" in words_of(refused.text)
    assert html.unescape(refused.text).count("sugar_price = 420.5") == 1
    assert store.payments.agreements() == ()
    unreasoned = officer.post("/pay/agree", data={"text": AGREEMENT, "reason": " "})
    assert "without a reason" in words_of(unreasoned.text)
    text = AGREEMENT.replace("\n", "\r\n")
    assert officer.post("/pay/agree", data={"text": text, "reason": "signed"}).status_code == 303
    assert store.payments.agreement("2026").text == AGREEMENT  # type: ignore[union-attr]
    assert "season_mean" in officer.get("/pay/agree?season=2026").text
    chemist = browser_of(store, CHEMIST)
    assert chemist.get("/pay/agree").status_code == 403
    assert chemist.post("/pay/agree", data={"text": AGREEMENT, "reason": "x"}).status_code == 403


def test_a_correction_by_hand_is_entered_by_page(paying: Paying, store: Store) -> None:
    officer = browser_of(store, OFFICER)
    given = {"grower": "farm 1", "amount": "12.50", "period": "1", "ticket": "", "reason": "demurrage"}
    told = officer.post("/pay/2026/correct", data=given)
    assert "12.50 $ for farm 1 come with run 2: demurrage." in words_of(told.text)
    assert [c.amount for c in store.payments.corrections("2026", 2)] == ["12.50"]
    for wrong, says in (({"amount": "much"}, "amount: found 'much'"), ({"period": "x"}, "period: found 0"),
                        ({"reason": ""}, "without a reason"), ({"grower": " "}, "grower is empty")):  # fmt: skip
        answer = officer.post("/pay/2026/correct", data=given | wrong)
        assert answer.status_code == 422
        assert says in words_of(answer.text)
    assert browser_of(store, CHEMIST).post("/pay/2026/correct", data=given).status_code == 403
    assert len(store.payments.corrections("2026", 2)) == 1


def test_names_with_strokes_have_addresses(paying: Paying, store: Store) -> None:
    content = dict(paying.office.run("2026", 2).content)
    mine = dict(content["statements"]["farm 1"]) | {"grower": "North/South", "sources": {}}
    mine["lines"] = [["7/3", *mine["lines"][0][1:]]]
    content["statements"] = {"North/South": mine}
    content["growers"] = [["North/South", *content["growers"][0][1:]]]
    store.payments.add_run("2026", 2, 1, content, OFFICER, "a name with a stroke")
    chemist = browser_of(store, CHEMIST)
    run = chemist.get("/pay/2026/2").text
    address = re.search(r'href="(/pay/2026/2/statement/[^"]*)"', run)
    assert address
    page = chemist.get(address[1])
    assert page.status_code == 200
    ticket = re.search(r'href="([^"]*/ticket/[^"]*)"', page.text)
    assert ticket
    assert "Ticket 7/3" in chemist.get(ticket[1]).text
    assert chemist.get(f"{address[1]}/as.pdf").content.startswith(b"%PDF")


def test_a_sign_in_lasts_half_a_day(paying: Paying, store: Store) -> None:
    import datetime as dt

    moment = [now()]
    app = create_app(Books(plant(), store), now=lambda: moment[0], person=PERSON, chance=no_chance)
    client = TestClient(app, base_url=HOST, headers={"origin": HOST}, follow_redirects=False)
    client.post("/pay/sign-in", data={"name": OFFICER, "secret": SECRET})
    assert client.get("/pay").status_code == 200
    moment[0] += dt.timedelta(hours=13)
    assert client.get("/pay").status_code == 303
