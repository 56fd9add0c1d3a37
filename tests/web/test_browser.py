"""The pages in a browser: keyboard alone, saved on leaving a row, narrow and printed, nothing missing for a reader."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from canewright.accounts.books import Books
from canewright.store import Reading
from canewright.web.app import create_app
from web.conftest import PERSON, serving
from web.mill_plant import CLOSED, OPEN, now

pytestmark = pytest.mark.browser

EVERY_PAGE = [
    f"/day/{CLOSED}",
    f"/day/{OPEN}",
    f"/day/{CLOSED}/plant",
    f"/day/{CLOSED}/plant/tables",
    f"/day/{CLOSED}/growers",
    f"/day/{CLOSED}/figure/pol extraction",
    f"/day/{OPEN}/entry?time=14:00",
    f"/day/{CLOSED}/entry",
    "/dictionary",
    "/formulas",
    "/formulas?q=megasse",
    "/formulas/ccs?juice_brix=20±0.1&juice_pol=18&fibre=14",
    "/formulas/apparent_purity?pol=12&brix=150",
    "/pay/sign-in",
    "/pay/schemes",
    "/no/such/place",
]
UNLABELLED = """() => [...document.querySelectorAll("input:not([type=hidden]), button, select, textarea")]
  .filter((e) => !(e.labels && e.labels.length) && !e.getAttribute("aria-label") && !e.textContent.trim())
  .map((e) => e.outerHTML)"""
CONTRASTS = """() => {
  const parts = (c) => { const n = c.match(/[\\d.]+/g).map(Number); return n.length < 4 ? [...n, 1] : n; };
  const light = ([r, g, b]) => {
    const f = (v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; };
    return 0.2126 * f(r) + 0.7152 * f(g) + 0.0722 * f(b);
  };
  const paper = (e) => {
    for (; e; e = e.parentElement) {
      const c = parts(getComputedStyle(e).backgroundColor);
      if (c[3] === 1) return c;
    }
    return [255, 255, 255, 1];
  };
  const found = [];
  for (const e of document.querySelectorAll("body *")) {
    const text = [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!text || !e.getClientRects().length) continue;
    const [a, b] = [light(parts(getComputedStyle(e).color)), light(paper(e))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) found.push(`${e.tagName} ${e.className}: ${ratio.toFixed(2)} ${e.textContent.slice(0, 40)}`);
  }
  return found;
}"""


@dataclass
class Served:
    """A running server and the books behind it."""

    address: str
    books: Books
    said: list[str] = field(default_factory=list)


@pytest.fixture
def served(books: Books) -> Iterator[Served]:
    """The pages on a free port of this machine."""
    app = create_app(books, now=now, person=PERSON)
    with serving(app) as address:
        yield Served(address, books)


@pytest.fixture
def page(browser: Browser, served: Served) -> Iterator[Page]:
    """A page of 1280 pixels; what the console says is kept."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, base_url=served.address)
    opened = context.new_page()
    opened.on("console", lambda message: served.said.append(f"{message.type}: {message.text}"))
    opened.on("pageerror", lambda error: served.said.append(f"error: {error}"))
    opened.on("request", lambda r: served.said.append(r.url) if not r.url.startswith(served.address) else None)
    yield opened
    context.close()


def keyed(served: Served, quantity: str, place: str = "mixed juice") -> list[Reading]:
    """What stands of a reading that came by keyboard."""
    found = served.books.store.readings_of(place, quantity, OPEN, OPEN)
    return [r for r in found if r.source == "keyboard"]


def state_of(page: Page, row: int) -> str:
    """Mark and word of a row."""
    return page.locator(f"#state-{row}").inner_text()


def test_three_readings_by_keyboard_alone_with_a_refusal_and_a_duplicate(page: Page, served: Served) -> None:
    page.goto(f"/day/{OPEN}/entry?time=14:00")
    keys = page.keyboard
    assert page.evaluate("document.activeElement.id") == "cell-1-1"
    keys.type("14.9")
    keys.press("Enter")
    keys.type("20.5")
    keys.press("Enter")
    assert page.evaluate("document.activeElement.id") == "cell-3-1"
    expect(page.locator("#state-1")).to_have_text("✓ saved")
    expect(page.locator("#state-2")).to_have_text("✓ saved")
    keys.type("45")
    keys.press("Tab")
    keys.type("12.33")
    assert page.evaluate("document.activeElement.id") == "cell-3-2"
    keys.press("Enter")
    expect(page.locator("#state-3")).to_have_text("✗ refused")
    sentence = page.locator("#row-3 [data-sentence]")
    expect(sentence).to_contain_text("Found 45 %; accepted: mixed juice, pol from 5 to 25 %")
    assert page.evaluate("document.activeElement.id") == "cell-4-2"
    assert page.locator("#cell-3-1").input_value() == "45"
    assert page.locator("#cell-3-1").get_attribute("aria-invalid") == "true"
    assert keyed(served, "pol") == []
    keys.press("Shift+Enter")
    keys.press("Shift+Tab")
    assert page.evaluate("document.activeElement.id") == "cell-3-1"
    keys.type("12.31")
    keys.press("ArrowDown")
    expect(page.locator("#state-3")).to_have_text("✓ saved")
    expect(page.locator("#apart-3")).to_contain_text("Duplicates differ by 0.02 %, within")
    assert [(r.value, r.duplicate) for r in keyed(served, "pol")] == [(12.31, 1), (12.33, 2)]
    assert [r.value for r in keyed(served, "refractometer reading")] == [14.9]
    assert [m for m in served.said if "422" not in m] == []


def test_a_correction_by_keyboard_asks_for_the_reason_and_shows_the_old_value(page: Page, served: Served) -> None:
    page.goto(f"/day/{OPEN}/entry?time=14:00")
    page.locator("#cell-3-1").focus()
    page.keyboard.type("12.31")
    page.keyboard.press("Enter")
    expect(page.locator("#state-3")).to_have_text("✓ saved")
    expect(page.locator("#reason-3")).to_be_hidden()
    page.keyboard.press("Shift+Enter")
    page.keyboard.type("12.13")
    expect(page.locator("#reason-3")).to_be_visible()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "reason-3"
    page.keyboard.type("digits swapped")
    page.keyboard.press("Enter")
    expect(page.locator("#state-3")).to_have_text("✓ saved")
    expect(page.locator("#row-3 [data-former='1']")).to_contain_text("was 12.31 %")
    expect(page.locator("#row-3 [data-former='1']")).to_contain_text("digits swapped")
    assert [(r.value, r.reason) for r in keyed(served, "pol")] == [(12.13, "digits swapped")]
    page.keyboard.press("ArrowUp")
    page.keyboard.type("9.9")
    page.keyboard.press("Escape")
    assert page.locator("#cell-3-1").input_value() == "12.13"
    assert served.said == []


def test_a_row_waits_while_the_server_does_not_answer_and_is_kept_over_a_reload(page: Page, served: Served) -> None:
    page.goto(f"/day/{OPEN}/entry?time=14:00")

    def cut(route: Route) -> None:
        if route.request.method == "POST":
            route.abort()
        else:
            route.continue_()

    page.route("**/entry", cut)
    page.locator("#cell-3-1").focus()
    page.keyboard.type("12.31")
    page.keyboard.press("Enter")
    expect(page.locator("#state-3")).to_have_text("… waiting")
    expect(page.locator("#queue")).to_have_text("… 1 row waiting to be saved")
    assert keyed(served, "pol") == []
    page.unroute("**/entry", cut)
    page.reload()
    expect(page.locator("#state-3")).to_have_text("✓ saved")
    expect(page.locator("#queue")).to_have_text("")
    assert [r.value for r in keyed(served, "pol")] == [12.31]
    page.locator("#cell-1-1").focus()
    page.keyboard.type("14.8")
    page.goto(f"/day/{CLOSED}")
    page.goto(f"/day/{OPEN}/entry?time=14:00")
    expect(page.locator("#state-1")).to_have_text("✓ saved")
    assert [r.value for r in keyed(served, "refractometer reading")] == [14.8]


def test_without_a_script_a_row_is_saved_by_its_button(browser: Browser, served: Served) -> None:
    context = browser.new_context(java_script_enabled=False, base_url=served.address)
    page = context.new_page()
    page.goto(f"/day/{OPEN}/entry?time=14:00")
    page.locator("#cell-3-1").fill("45")
    page.locator("#row-3 button").click()
    expect(page.locator("#row-3")).to_contain_text("accepted: mixed juice, pol from 5 to 25 %")
    page.locator("#cell-3-1").fill("12.31")
    page.locator("#row-3 button").click()
    expect(page.locator("#state-3")).to_have_text("✓ saved")
    context.close()
    assert [r.value for r in keyed(served, "pol")] == [12.31]


def test_every_page_is_whole_and_quiet_at_two_widths(page: Page, served: Served) -> None:
    for address in EVERY_PAGE:
        page.set_viewport_size({"width": 1280, "height": 900})
        page.goto(address)
        assert page.title(), address
        assert page.locator("html").get_attribute("lang") == "en"
        assert page.locator("h1").count() == 1, address
        for landmark in ("header", "nav", "main", "footer"):
            assert page.locator(landmark).count() >= 1, (address, landmark)
        assert page.evaluate(UNLABELLED) == [], address
        assert page.evaluate(CONTRASTS) == [], address
        for width in (1280, 400):
            page.set_viewport_size({"width": width, "height": 900})
            wide = page.evaluate("document.documentElement.scrollWidth")
            assert wide <= width, (address, width, wide)
    assert [m for m in served.said if "404" not in m and "422" not in m] == []


def test_the_searches_for_faint_words_and_unlabelled_fields_find_them(page: Page) -> None:
    page.goto("/dictionary")
    page.evaluate("""() => {
      const faint = document.createElement("p");
      faint.textContent = "faint words";
      faint.style.color = "rgb(150, 150, 150)";
      document.querySelector("main").append(faint, document.createElement("input"));
    }""")
    assert ["faint words" in found for found in page.evaluate(CONTRASTS)] == [True]
    assert len(page.evaluate(UNLABELLED)) == 1


def test_the_first_tab_skips_to_the_page_and_focus_is_seen(page: Page) -> None:
    page.goto(f"/day/{CLOSED}")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineWidth") == "3px"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_a_figure_opens_by_keyboard_to_the_single_reading(page: Page) -> None:
    page.goto(f"/day/{CLOSED}")
    page.get_by_role("link", name="pol extraction").first.focus()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text("Pol extraction")
    branch = page.locator("details", has_text="juice scale: mass").first
    branch.locator("summary").first.focus()
    page.keyboard.press("Enter")
    expect(branch).to_contain_text("by shift chemist")
    expect(branch.get_by_text("by shift chemist").first).to_be_visible()


def test_the_printed_day_is_the_sheet_without_the_tools(page: Page) -> None:
    page.set_viewport_size({"width": 688, "height": 980})
    page.emulate_media(media="print")
    page.goto(f"/day/{CLOSED}")
    expect(page.locator(".top nav")).to_be_hidden()
    expect(page.locator(".sheet").first).to_be_visible()
    assert page.locator(".sheet thead").first.evaluate("e => getComputedStyle(e).display") == "table-header-group"
    assert page.evaluate("document.documentElement.scrollWidth") <= 688
    assert page.pdf(prefer_css_page_size=True).startswith(b"%PDF")


def test_tables_of_the_plant_by_keyboard_and_printed(page: Page, served: Served) -> None:
    page.goto(f"/day/{CLOSED}/plant")
    page.get_by_role("link", name="Streams as tables, and how full each capacity is").focus()
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text(f"Streams and capacities, {CLOSED}")
    fullest = page.locator(".capacities tbody tr").first
    expect(fullest).to_contain_text("mill 1")
    shares = page.locator(".capacities tbody td[data-label='Full, %']").all_inner_texts()
    assert [int(s) for s in shares] == sorted((int(s) for s in shares), reverse=True)
    row = page.locator(".streams tbody tr", has=page.get_by_role("rowheader", name="mill 1.juice", exact=True))
    expect(row).to_contain_text("screen.raw")
    with page.expect_download() as file:
        page.get_by_role("link", name="streams", exact=True).click()
    assert file.value.suggested_filename == f"streams {CLOSED}.csv"
    page.set_viewport_size({"width": 688, "height": 980})
    page.emulate_media(media="print")
    expect(page.locator(".twin")).to_be_hidden()
    expect(page.locator(".top nav")).to_be_hidden()
    assert page.locator(".streams thead").first.evaluate("e => getComputedStyle(e).display") == "table-header-group"
    assert page.evaluate("document.documentElement.scrollWidth") <= 688
    assert page.pdf(prefer_css_page_size=True).startswith(b"%PDF")
    assert served.said == []


def test_typing_recalculates(page: Page, served: Served) -> None:
    page.goto("/formulas/apparent_purity")
    result = page.locator("[data-amount]")
    field = page.get_by_label("pol, P")
    field.fill("12")
    page.get_by_label("brix, B").fill("15")
    expect(result).to_have_text("80")
    before = page.locator("svg.chart polyline").get_attribute("points")
    field.press("End")
    field.press_sequentially(".6 ± 0.3")
    expect(result).to_have_text("84.0 ± 2.0")
    expect(page.locator("[data-notes]")).to_contain_text("taken as exact: brix")
    page.get_by_label("chart over brix").check()
    expect(page.locator("figcaption")).to_contain_text("over brix, %")
    expect(page.locator("svg.chart")).to_have_count(1)
    assert page.locator("svg.chart polyline").get_attribute("points") != before
    assert page.locator("svg.chart polyline").evaluate("e => getComputedStyle(e).fill") == "none"
    field.fill("twelve")
    expect(page.locator("[data-refused]")).to_contain_text("pol: found 'twelve'; accepted: a number")
    expect(page.locator("[data-answer]")).to_be_hidden()
    field.fill("12")
    expect(result).to_have_text("80")
    assert "pol=12" in page.url
    page.reload()
    expect(result).to_have_text("80")
    assert not [said for said in served.said if "422" not in said]
