"""Payment in a browser: by keyboard from the sign-in to the closed run, whole at two widths, printed without tools."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from accounts.paid_mill import ACCOUNTANT, OFFICER, SECRET, Paying, open_office
from canewright.accounts.books import Books
from canewright.store import Store
from canewright.web.app import create_app
from web.conftest import PERSON, serving
from web.mill_plant import now, plant
from web.test_browser import CONTRASTS, UNLABELLED

pytestmark = pytest.mark.browser


@pytest.fixture
def paying(tmp_path: Path) -> Iterator[Paying]:
    """A computed run that one has approved."""
    with Store.create(tmp_path, now=now) as store:
        made = open_office(store)
        made.agree()
        made.office.compute(made.officer, "2026")
        made.office.approve(made.officer, "2026", 1, 1)
        yield made


@pytest.fixture
def page(browser: Browser, paying: Paying) -> Iterator[Page]:
    """A page on a server of its own."""
    app = create_app(Books(plant(), paying.office.store), now=now, person=PERSON)
    with serving(app) as address:
        context = browser.new_context(viewport={"width": 1280, "height": 900}, base_url=address)
        yield context.new_page()
        context.close()


def sign_in(page: Page, name: str) -> None:
    """By keyboard alone."""
    page.goto("/pay")
    page.get_by_label("Name").focus()
    page.keyboard.type(name)
    page.keyboard.press("Tab")
    page.keyboard.type(SECRET)
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Payment of growers")


def test_the_second_person_approves_and_closes_by_keyboard(page: Page, paying: Paying) -> None:
    sign_in(page, ACCOUNTANT)
    page.get_by_role("link", name="run 1").focus()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Season 2026, run 1")
    page.get_by_role("button", name="Close the run").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".refusal")).to_contain_text("two different persons must approve it before it is closed")
    page.get_by_role("button", name="Approve version 1").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".status")).to_contain_text("Approved by accountant")
    page.get_by_role("button", name="Close the run").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".status strong")).to_have_text("closed")
    expect(page.get_by_role("button", name="Close the run")).to_have_count(0)
    assert paying.office.run("2026", 1).status == "closed"


def test_a_statement_opens_by_keyboard_to_the_raw_reading(page: Page) -> None:
    sign_in(page, OFFICER)
    page.goto("/pay/2026/1/statement/farm 1")
    page.get_by_role("link", name="0706-1").focus()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Ticket 0706-1")
    expect(page.get_by_role("row", name="polarimeter reading")).to_contain_text("shift chemist")


def test_pages_of_payment_are_whole_at_two_widths(page: Page) -> None:
    sign_in(page, OFFICER)
    for address in (
        "/pay",
        "/pay/2026/1",
        "/pay/2026/1/statement/farm 2",
        "/pay/2026/1/statement/farm 2/ticket/0706-4",
    ):
        page.set_viewport_size({"width": 1280, "height": 900})
        page.goto(address)
        assert page.locator("h1").count() == 1, address
        assert page.evaluate(UNLABELLED) == [], address
        assert page.evaluate(CONTRASTS) == [], address
        for width in (1280, 400):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (address, width)


def test_a_printed_statement_has_no_tools(page: Page) -> None:
    sign_in(page, OFFICER)
    page.emulate_media(media="print")
    page.goto("/pay/2026/1/statement/farm 1")
    expect(page.get_by_role("button", name="Sign out")).to_be_hidden()
    expect(page.get_by_role("row", name="payable now")).to_be_visible()
