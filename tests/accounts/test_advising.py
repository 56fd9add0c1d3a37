"""Advice, what-if and kept trials over the books of a small mill: ranges of its closed days, cost of its cane."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator

import pytest

from accounts.advised_mill import advised
from accounts.small_mill import MONDAY, TUESDAY, WEDNESDAY, now, take_in, write_day
from canewright.accounts.books import Books, BooksRefused
from canewright.accounts.trials import compared, trials_csv, trials_json
from canewright.accounts.what_if import MONEY
from canewright.store import Store

WATER = "imbibition.on_fibre"


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Books]:
    """Three closed days with different imbibition."""
    folder = tmp_path_factory.mktemp("business")
    with Store.open(folder, now=now) as store:
        made = Books(advised(), store)
        for day, water in ((MONDAY, 215.0), (TUESDAY, 228.0), (WEDNESDAY, 221.0)):
            take_in(made, write_day(folder / day.isoformat(), day, on_fibre=water), day)
            made.close(day, "chief chemist")
        yield made


def test_advice_stays_within_what_the_closed_days_and_the_site_have_seen(books: Books) -> None:
    advice = books.advice(WEDNESDAY)
    water = next(m for m in advice.moves if m.setting == WATER)
    assert water.seen is not None
    assert water.seen.days == 3
    assert water.seen.high == pytest.approx(245.0)  # the site states more than the days have seen
    assert water.then == pytest.approx(245.0, abs=1e-6)
    assert [t.setting for t in advice.trials] == [WATER] + [t.setting for t in advice.trials[1:]]
    assert advice.gain_uncertainty is not None


def test_the_states_of_closed_days_are_their_reconciled_ones(books: Books) -> None:
    days = books.advising.closed_states(WEDNESDAY)
    assert [d.day for d in days] == [MONDAY, TUESDAY, WEDNESDAY]
    assert [d.values[WATER] for d in days] == pytest.approx([215.0, 228.0, 221.0], rel=0.01)
    assert all(0 < (d.uncertainties[WATER] or 0) < 5 for d in days)
    assert len(books.advising.closed_states(MONDAY)) == 1


def test_handles_are_chosen_and_left_alone_by_name(books: Books) -> None:
    held = books.advice(WEDNESDAY, held=[WATER])
    assert WATER in held.left_alone
    assert [m.setting for m in books.advice(WEDNESDAY, chosen=[WATER]).moves] == [WATER]
    with pytest.raises(BooksRefused, match="no handle is called 'imbibition'"):
        books.advice(WEDNESDAY, held=["imbibition"])


def test_the_programme_is_traced_once(books: Books) -> None:
    books.advice(WEDNESDAY)
    traced = dict(books.advising.adviser._programmes)
    books.advice(TUESDAY)
    again = books.advising.adviser._programmes
    assert all(again[key] is programme for key, programme in traced.items())


def test_what_if_tells_money_figures_and_qualities(books: Books) -> None:
    questions = books.what_if(WEDNESDAY)
    assert {MONEY, "juice, $", "pol extraction", "brix of mixed juice"} <= set(questions.figures)
    assert len(questions.figures) == len(set(questions.figures))
    answer = questions.ask({WATER: 230.0})
    lines = sum(r.change for r in answer.rows if r.group == "money" and r.name != MONEY)
    assert answer.row(MONEY).change == pytest.approx(lines, rel=1e-9)
    assert answer.row("pol extraction").change > 0
    assert answer.row("imbibition on fibre").then == pytest.approx(230.0, rel=1e-6)
    assert questions.tornado(MONEY)[0].swing > 0


def test_a_trial_is_kept_as_it_was_answered_and_compared(books: Books) -> None:
    questions = books.what_if(WEDNESDAY)
    first = books.keep_trial(WEDNESDAY, "chemist", " wetter ", questions.ask({WATER: 230.0}), "look at bagasse")
    second = books.keep_trial(WEDNESDAY, "chemist", "drier", questions.ask({WATER: 210.0}))
    assert (first.name, first.notes[0].text) == ("wetter", "look at bagasse")
    rows = {r.name: r for r in compared([first, second])}
    extraction = rows["pol extraction"].changes
    assert extraction[0] is not None
    assert extraction[1] is not None
    assert extraction[0][0] > 0 > extraction[1][0]
    assert extraction[0][0] == pytest.approx(questions.ask({WATER: 230.0}).row("pol extraction").change)
    assert "fibre in cane" not in rows  # it does not change


def test_trials_are_exported_whole(books: Books) -> None:
    answer = books.what_if(WEDNESDAY).ask({WATER: 231.0})
    kept = books.keep_trial(WEDNESDAY, "chemist", "=harmless", answer, "note, with comma")
    rows = list(csv.DictReader(io.StringIO(trials_csv([kept]))))
    assert len(rows) == len(answer.rows)
    assert rows[0]["name"] == "'=harmless"  # no spreadsheet takes it for a formula
    assert rows[0]["notes"].endswith("note, with comma")
    told = json.loads(trials_json([kept]))[0]
    assert told["changes"] == {WATER: 231.0}
    assert told["result"]["rows"][0]["name"] == MONEY
    assert told["notes"][0]["text"] == "note, with comma"


def test_without_consignments_cane_has_no_price(books: Books) -> None:
    assert books.advising.cane_cost(WEDNESDAY) == []
    assert any("cane payment is not in the price list" in note for note in books.advice(WEDNESDAY).notes)
