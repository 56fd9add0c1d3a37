"""What if in a browser: the figures follow a slider and the keyboard, without a script a button does it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from accounts.small_mill import TUESDAY, now
from canewright.store import Store
from canewright.web.app import create_app
from web.advised_books import WATER, fill
from web.conftest import PERSON, serving
from web.test_browser import CONTRASTS, UNLABELLED

pytestmark = pytest.mark.browser
TOO_SMALL = """() => [...document.querySelectorAll("main button, main input:not([type=hidden]), main select")]
  .map((e) => e.getBoundingClientRect()).filter((r) => r.width && (r.height < 24 || r.width < 24)).length"""
PAGE = f"/day/{TUESDAY}/what-if"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The pages on a free port of this machine."""
    folder = Path(tmp_path_factory.mktemp("business"))
    with Store.open(folder, now=now) as store:
        app = create_app(fill(folder, store), now=now, person=PERSON)
        with serving(app) as served:
            yield served


@pytest.fixture
def said() -> list[str]:
    """What the console says, and addresses elsewhere."""
    return []


@pytest.fixture
def page(browser: Browser, address: str, said: list[str]) -> Iterator[Page]:
    """A page of 1280 pixels."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, base_url=address)
    opened = context.new_page()
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(f"error: {error}"))
    opened.on("request", lambda r: said.append(r.url) if not r.url.startswith(address) else None)
    yield opened
    context.close()


def test_figures_follow_slider_and_keyboard(page: Page, said: list[str]) -> None:
    page.goto(PAGE)
    slider, typed = page.locator("input[type=range]").first, page.locator("#value-1")
    before = float(typed.input_value())
    slider.focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    expect(page.locator("[data-money]")).to_contain_text("$ a day")
    assert float(typed.input_value()) > before
    expect(page).to_have_url(re.compile(re.escape(WATER)))
    first = page.locator("[data-money]").inner_text()
    typed.fill("240")
    expect(page.locator("[data-money]")).not_to_have_text(first)
    assert float(slider.input_value()) == pytest.approx(240.0)
    expect(page.locator("[data-rows]")).to_contain_text("pol extraction")
    typed.press("Escape")
    expect(page.locator("[data-money]")).to_have_text("Nothing is changed yet.")
    typed.fill("wet")
    expect(page.locator("[data-refused]")).to_contain_text("found 'wet'; accepted: a number in %")
    expect(page.locator("[data-table]")).to_be_hidden()
    typed.fill("230")
    expect(page.locator("[data-refused]")).to_be_hidden()
    page.reload()
    assert page.locator("#value-1").input_value() == "230"  # the address is the question
    assert [m for m in said if "422" not in m] == []


def test_a_trial_is_kept_from_where_the_slider_stands(page: Page, said: list[str]) -> None:
    page.goto(PAGE)
    page.locator("#value-1").fill("236")
    expect(page.locator("[data-kept] input")).to_have_count(1)
    page.locator("#name").fill("wetter")
    page.locator("#note").fill("mind the boilers")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_contain_text("wetter")
    expect(page.locator("main")).to_contain_text("236")
    expect(page.locator(".notes-kept")).to_contain_text("mind the boilers")
    assert said == []


def test_without_a_script_a_button_works_it_out(browser: Browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False, base_url=address)
    page = context.new_page()
    page.goto(PAGE)
    expect(page.locator("input[type=range]").first).to_be_hidden()
    page.locator("#value-1").fill("230")
    page.locator("button.by-button").click()
    expect(page.locator("[data-money]")).to_contain_text("$ a day")
    expect(page.locator("[data-rows]")).to_contain_text("pol extraction")
    context.close()


def test_the_new_pages_are_whole_at_two_widths_and_printed(page: Page, said: list[str]) -> None:
    for where in (PAGE, f"{PAGE}?{WATER}=290", f"/day/{TUESDAY}/advice", "/trials", f"{PAGE}?{WATER}=wet"):
        for width in (1280, 360):
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(where)
            assert page.evaluate("document.documentElement.scrollWidth") <= width, where
            assert page.evaluate(UNLABELLED) == [], where
            assert page.evaluate(CONTRASTS) == [], where
            small = page.evaluate(TOO_SMALL)
            assert small == 0, where
        page.emulate_media(media="print")
        expect(page.locator(".top nav")).to_be_hidden()
        page.emulate_media(media="screen")
    assert [m for m in said if "422" not in m] == []
