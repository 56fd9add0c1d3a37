"""Entry of readings through the address: saved once, refused in a sentence, corrected with the old value on view."""

from __future__ import annotations

import html
import shutil
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from canewright.accounts.books import Books
from canewright.plant.plant import Plant
from canewright.store import Reading, Store
from canewright.web.app import create_app
from web.conftest import HOST, PERSON
from web.mill_plant import CLOSED, OPEN, now, plant

ADDRESS = f"/day/{OPEN}/entry"


def row(quantity: str = "pol", place: str = "mixed juice", **given: Any) -> dict[str, Any]:
    """A row as the page sends it."""
    return {"time": "14:00", "place": place, "quantity": quantity, **given}


def stored(books: Books, quantity: str = "pol", place: str = "mixed juice") -> list[Reading]:
    """The keyboard readings that stand."""
    found = books.store.readings_of(place, quantity, OPEN, OPEN)
    return [r for r in found if r.source == "keyboard"]


def test_a_row_is_saved_with_who_when_and_where(books: Books, desk: TestClient) -> None:
    answer = desk.post(ADDRESS, json=row(value1="12.31", value2="12.33"))
    assert (answer.status_code, answer.json()["state"]) == (200, "saved")
    first, second = stored(books)
    assert [(r.value, r.unit, r.duplicate, r.taken_by, r.source) for r in (first, second)] == [
        (12.31, "%", 1, PERSON, "keyboard"),
        (12.33, "%", 2, PERSON, "keyboard"),
    ]
    assert first.taken_at.isoformat() == f"{OPEN}T04:00:00+00:00"
    page = html.unescape(desk.get(f"{ADDRESS}?time=14:00").text)
    assert 'value="12.31"' in page
    assert "✓ saved" in page


def test_the_same_save_sent_twice_is_stored_once(books: Books, desk: TestClient) -> None:
    sent = row(value1="12.31", key1="one act of entry")
    assert desk.post(ADDRESS, json=sent).json()["state"] == "saved"
    assert desk.post(ADDRESS, json=sent).json()["state"] == "saved"
    assert len(stored(books)) == 1
    assert stored(books)[0].entry_key == "one act of entry"


def test_a_retry_with_another_value_does_not_overwrite(books: Books, desk: TestClient) -> None:
    desk.post(ADDRESS, json=row(value1="12.31", key1="k"))
    answer = desk.post(ADDRESS, json=row(value1="12.41", key1="k"))
    assert answer.status_code == 422
    assert "12.31 % is stored already" in answer.json()["sentence"]
    assert [r.value for r in stored(books)] == [12.31]


REFUSALS = [
    (row(value1="45"), "accepted: mixed juice, pol from 5 to 25 %"),
    (row(value1="0.12"), "looks like a fraction; write 12"),
    (row(value1="12,3"), "write 12.3 with a decimal point"),
    (row(value1="1,234.5"), "without thousands separators"),
    (row(value1="twelve"), "accepted: a number"),
    (row(value1="nan"), "give the quality as missing"),
    (row(value1="12.3 °C"), "accepted: %"),
    (row("temperature at the refractometer", value1="72 °F"), "write 22.2"),
    (row("refractometer reading", value1="-3"), "from 0 to 95 %"),
    (row(value1="missing 12"), "no value"),
    (row(value1="12", time="25:00"), "an hour and minute such as 14:00"),
    (row(value1="12", time="half past two"), "an hour and minute such as 14:00"),
    (row("vinegar", value1="12"), "a reading that the plant description expects"),
    ({**row(), "value1": 12.0}, "could not be read"),
]


@pytest.mark.parametrize(("sent", "says"), REFUSALS)
def test_a_refusal_is_a_sentence_and_stores_nothing(
    books: Books, desk: TestClient, sent: dict[str, Any], says: str
) -> None:
    before = books.store.readings(OPEN)
    answer = desk.post(ADDRESS, json=sent)
    assert answer.status_code == 422
    assert answer.json()["state"] == "refused"
    assert says in answer.json()["sentence"]
    assert books.store.readings(OPEN) == before


def test_one_bad_cell_keeps_the_whole_row_out(books: Books, desk: TestClient) -> None:
    assert desk.post(ADDRESS, json=row(value1="12.3", value2="99")).status_code == 422
    assert stored(books) == []


def test_pol_above_the_brix_of_the_same_sample_is_refused(books: Books, desk: TestClient) -> None:
    desk.post(ADDRESS, json=row("refractometer reading", value1="14.5"))
    answer = desk.post(ADDRESS, json=row(value1="15.2"))
    assert answer.status_code == 422
    assert "pol not above brix" in answer.json()["sentence"]
    assert stored(books) == []


def test_brix_below_the_stored_pol_of_the_same_sample_is_refused(books: Books, desk: TestClient) -> None:
    desk.post(ADDRESS, json=row(value1="13.2"))
    answer = desk.post(ADDRESS, json=row("refractometer reading", value1="12.5"))
    assert answer.status_code == 422
    assert "pol 13.2 with brix" in answer.json()["sentence"]
    assert stored(books, "refractometer reading") == []


@pytest.mark.parametrize("body", [b"", b"[]", b"null", b"{", b"\xff", b'"row"', b"[" * 5000])
def test_what_is_no_row_is_refused(desk: TestClient, body: bytes) -> None:
    answer = desk.post(ADDRESS, content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 422
    assert "could not be read" in answer.json()["sentence"]
    assert desk.post(ADDRESS, content=body, headers={"content-type": "text/plain"}).status_code == 415


def test_bad_and_missing_are_qualities_not_faults(books: Books, desk: TestClient) -> None:
    assert desk.post(ADDRESS, json=row(value1="missing")).json()["cells"][0]["text"] == "missing"
    assert desk.post(ADDRESS, json=row("fibre", "fibre class green", value1="Bad 44")).status_code == 200
    assert [(r.value, r.quality) for r in stored(books)] == [(None, "missing")]
    assert [(r.value, r.quality) for r in stored(books, "fibre", "fibre class green")] == [(44.0, "bad")]


def test_a_correction_needs_a_reason_and_keeps_the_old_value_on_view(books: Books, desk: TestClient) -> None:
    desk.post(ADDRESS, json=row(value1="12.31"))
    answer = desk.post(ADDRESS, json=row(value1="12.13"))
    assert answer.status_code == 422
    assert "only with a reason" in answer.json()["sentence"]
    assert [r.value for r in stored(books)] == [12.31]
    answer = desk.post(ADDRESS, json=row(value1="12.13", reason="digits swapped on the slip"))
    assert answer.status_code == 200
    assert answer.json()["cells"][0]["former"] == [
        f"was 12.31 %, entered by {PERSON}; corrected by {PERSON}: digits swapped on the slip"
    ]
    (now_standing,) = stored(books)
    assert (now_standing.value, now_standing.reason) == (12.13, "digits swapped on the slip")
    assert [r.value for r in books.store.history(now_standing.id)] == [12.31, 12.13]
    page = html.unescape(desk.get(f"{ADDRESS}?time=14:00").text)
    assert "was 12.31 %" in page
    assert "digits swapped on the slip" in page


def test_emptying_a_saved_cell_removes_nothing(books: Books, desk: TestClient) -> None:
    desk.post(ADDRESS, json=row(value1="12.31"))
    answer = desk.post(ADDRESS, json=row(value1="", reason="not wanted"))
    assert answer.status_code == 422
    assert "12.31 is stored and stays" in answer.json()["sentence"]
    assert [r.value for r in stored(books)] == [12.31]


def test_a_reading_of_the_files_stands_in_the_grid_and_takes_a_correction(books: Books, desk: TestClient) -> None:
    of_file = next(r for r in books.store.readings(OPEN) if (r.place, r.quantity) == ("mixed juice", "pol"))
    assert of_file.duplicate == 0
    assert f'value="{of_file.value}"' in desk.get(f"{ADDRESS}?time=06:00").text
    sent = row(value1="12.2", time="06:00", reason="second look at the slip")
    assert desk.post(ADDRESS, json=sent).status_code == 200
    standing = books.store.readings_of("mixed juice", "pol", OPEN, OPEN)
    assert [(r.value, r.supersedes) for r in standing] == [(12.2, of_file.id)]


def test_duplicates_are_compared_in_words(desk: TestClient) -> None:
    close = desk.post(ADDRESS, json=row(value1="12.31", value2="12.33")).json()["differences"]
    assert close["3"].startswith("Duplicates differ by 0.02 %, within 0.14 %")
    far = desk.post(ADDRESS, json=row("pol", "final bagasse", value1="2.1", value2="2.9")).json()["differences"]
    assert any("more than 0.28 %" in words and "Repeat the determination." in words for words in far.values())


def test_duplicates_of_colour_are_compared_with_the_published_repeatability(desk: TestClient) -> None:
    desk.post(ADDRESS, json=row("absorbance at 420 nm", value1="0.30", value2="0.31"))
    desk.post(ADDRESS, json=row("cell length", value1="1", value2="1"))
    said = desk.post(ADDRESS, json=row("brix of the colour solution", value1="25", value2="25")).json()["differences"]
    (words,) = [w for w in said.values() if "Colour:" in w]
    assert "repeatability of the method (ICUMSA GS9/1/2/3-8" in words


def test_a_closed_day_takes_nothing(books: Books, desk: TestClient) -> None:
    before = books.store.readings(CLOSED)
    answer = desk.post(f"/day/{CLOSED}/entry", json=row(value1="12.3"))
    assert answer.status_code == 422
    assert "closed" in answer.json()["sentence"]
    assert books.store.readings(CLOSED) == before
    page = desk.get(f"/day/{CLOSED}/entry").text
    assert "takes no entries" in page
    assert 'name="value1"' not in page


# --- without a script -----------------------------------------------------------------------------------------------


def test_without_a_script_the_form_saves_a_row(books: Books, desk: TestClient) -> None:
    answer = desk.post(ADDRESS, data=row(value1="12.31", value2="", key1="k", key2="k2", reason=""))
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{ADDRESS}?time=14%3A00#row-3"
    assert [r.value for r in stored(books)] == [12.31]


def test_without_a_script_a_refusal_keeps_what_was_typed(books: Books, desk: TestClient) -> None:
    answer = desk.post(ADDRESS, data=row(value1="45", value2="12.3", reason=""))
    assert answer.status_code == 422
    page = html.unescape(answer.text)
    assert 'value="45"' in page
    assert "accepted: mixed juice, pol from 5 to 25 %" in page
    assert stored(books) == []


# --- who may post ---------------------------------------------------------------------------------------------------

FOREIGN = [
    {"origin": "http://evil.example"},
    {"origin": "null"},
    {"origin": "http://127.0.0.1:9999"},
    {"origin": ""},
    {"origin": "http://127.0.0.1", "sec-fetch-site": "cross-site"},
    {"origin": "http://127.0.0.1", "sec-fetch-site": "same-site"},
]


@pytest.mark.parametrize("headers", FOREIGN)
def test_a_post_from_another_page_is_refused(books: Books, desk: TestClient, headers: dict[str, str]) -> None:
    answer = desk.post(ADDRESS, json=row(value1="12.3"), headers=headers)
    assert answer.status_code == 403
    assert "not stored" in answer.text
    assert stored(books) == []


def test_a_post_without_any_sign_of_its_page_is_refused(books: Books, pages: TestClient) -> None:
    assert pages.post(ADDRESS, json=row(value1="12.3")).status_code == 403


def test_a_body_beyond_the_limit_is_refused(books: Books, desk: TestClient) -> None:
    answer = desk.post(ADDRESS, json=row(value1="1" * 70000))
    assert answer.status_code == 413
    assert "64 KiB" in answer.text

    def in_pieces() -> Any:
        for _ in range(70):
            yield b" " * 1024

    answer = desk.post(ADDRESS, content=in_pieces(), headers={"content-type": "application/json"})
    assert answer.status_code == 413
    assert stored(books) == []


WATER = """
[[traces]]
sample = "imbibition water"
stream = "imbibition.water"
limit = 20
to_boilers = true
"""


def test_sugar_above_its_limit_speaks_as_it_is_typed(filled: Path, tmp_path: Path) -> None:
    folder = shutil.copytree(filled, tmp_path / "watched")
    with Store.open(folder, now=now) as store:
        watched = Books(Plant.from_text(plant().description.text + WATER), store)
        desk = TestClient(create_app(watched, now=now, person=PERSON), base_url=HOST, headers={"origin": HOST})
        clean = desk.post(ADDRESS, json=row("sugar", "imbibition water", value1="3")).json()
        sweet = desk.post(ADDRESS, json=row("sugar", "imbibition water", value1="3", value2="45")).json()
        assert clean["differences"] == {}
        (said,) = sweet["differences"].values()
        assert said.startswith("imbibition water: sugar 45 mg/kg is above its limit of 20 mg/kg: divert")
        assert html.escape(said) in desk.get(f"{ADDRESS}?time=14:00").text.replace("&#39;", "&#x27;")
