"""A season of forty closed days whose juice scale drifts: found, told, and corrections proposed, decided and undone."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from accounts.season_days import BEGINS, DAYS, RATE, close_season, day_of, error_of, opened, weighed
from accounts.small_mill import truth
from canewright.accounts.books import Books, BooksRefused
from canewright.accounts.seasons import Smoothing, course_csv, course_to_json, decide, keep, smoothed
from canewright.plant.season import CannotSmooth, SeasonDay, smooth
from canewright.store import CannotDecide, ReasonMissing

FIRST, LAST = day_of(0), day_of(DAYS - 1)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a business with the season closed."""
    folder = tmp_path_factory.mktemp("season")
    with opened(folder / "business") as books:
        close_season(books, folder / "files")
    return folder / "business"


@pytest.fixture(scope="module")
def found(made: Path) -> Smoothing:
    """The season smoothed once."""
    with opened(made) as books:
        return smoothed(books, FIRST, LAST)


@pytest.fixture
def books(made: Path, found: Smoothing, tmp_path: Path) -> Iterator[Books]:
    """A copy of the business with the smoothed season kept."""
    shutil.copytree(made, tmp_path / "business")
    with opened(tmp_path / "business") as mine:
        keep(mine, found, "chief chemist")
        yield mine


# --- what is found ----------------------------------------------------------------------------------------------------


def test_the_drift_is_found_with_its_day_rate_and_size(found: Smoothing) -> None:
    (change,) = found.course.changes
    assert (change.name, change.kind) == ("gain of juice scale", "drift")
    assert change.earliest <= BEGINS - 1 <= change.latest
    assert change.latest - change.earliest < 12
    rate = change.size / (change.ends - change.begins)
    assert rate == pytest.approx(RATE, abs=0.03)
    at = [s.key for s in found.course.slow].index("gain of juice scale")
    last, spread = found.course.values[-1, at], found.course.uncertainties[-1, at]
    assert abs(last - error_of(DAYS - 1)) < 2.6 * spread
    assert spread < 0.5


def test_the_drift_is_told_with_date_and_interval(found: Smoothing) -> None:
    (says,) = (c["says"] for c in course_to_json(found.course)["changes"])
    pattern = (
        r"the juice scale has read 0\.\d+ % a day more since \d+ \w+ 2031 \(\d+ \w+ 2031 to \d+ \w+ 2031\); "
        r"\d\.\d % high now \(\d\.\d to \d\.\d\)"
    )
    assert re.fullmatch(pattern, says), says


def test_other_quantities_keep_within_what_was_known_of_them(found: Smoothing) -> None:
    """Nothing else was wrong: nine of ten intervals of 95 % hold the truth, which is the described value."""
    others = [k for k, s in enumerate(found.course.slow) if s.key != "gain of juice scale"]
    off = [
        abs(found.course.values[-1, k] - found.course.slow[k].first) / found.course.uncertainties[-1, k] for k in others
    ]
    assert sum(z > 1.96 for z in off) <= 0.1 * len(off) + 1


def test_proposals_come_nearer_the_truth_than_what_was_published(found: Smoothing) -> None:
    true = dict(truth(24.0, 220.0))["juice scale"]
    rows = [f for p in found.proposals for f in p.figures if f["name"] == "mixed juice"]
    assert len(rows) > 10
    nearer = [abs(f["proposed"] - true) < abs(f["published"] - true) for f in rows]
    assert sum(nearer) >= 0.85 * len(rows)
    inside = [abs(f["proposed"] - true) < 1.96 * f["proposed_uncertainty"] for f in rows]
    assert sum(inside) >= 0.8 * len(rows)
    assert all("the juice scale has read" in f["why"] for f in rows)


def test_days_before_the_drift_are_left_as_they_are(found: Smoothing) -> None:
    early = [p.day for p in found.proposals if p.day < day_of(BEGINS - 3)]
    assert len(early) <= 2


def test_the_course_is_exported_a_row_for_each_day(found: Smoothing) -> None:
    lines = course_csv(course_to_json(found.course)).splitlines()
    assert len(lines) == DAYS + 1
    assert lines[0].startswith("day,")
    assert '"gain of juice scale, %"' in lines[0]
    assert lines[1].startswith(FIRST.isoformat())


# --- deciding ---------------------------------------------------------------------------------------------------------


def _late(books: Books) -> tuple[int, dt.date]:
    """The last open proposal."""
    last = [p for p in books.store.proposals() if p.status == "open"][-1]
    return last.id, last.day


def _juice(books: Books, day: dt.date, version: int | None = None) -> float:
    sheet = books.published(day, version).figures["sheet"]
    return float(next(r["value"] for r in sheet if r["name"] == "mixed juice"))


def test_no_closed_day_changes_by_itself(books: Books) -> None:
    assert all(len(books.store.closings(day_of(n))) == 1 for n in range(DAYS))


def test_accepting_closes_the_day_with_the_proposed_figure_and_keeps_the_published_one(books: Books) -> None:
    number, day = _late(books)
    before = _juice(books, day)
    proposed = next(f for f in books.store.proposal(number).figures if f["name"] == "mixed juice")
    found = decide(books, number, "accepted", "chief chemist", "weigher checked with test weights")
    assert found.status == "accepted"
    assert _juice(books, day) == pytest.approx(proposed["proposed"], rel=1e-6)
    assert _juice(books, day, 1) == before
    latest = books.published(day)
    assert latest.version == 2
    assert "weigher checked with test weights" in str(latest.reason)
    assert any("set right by the other days of the season" in note for note in latest.figures["notes"])
    figure = books.figure("mixed juice", day)
    assert any(leaf.name == "error of juice scale" for leaf in figure.leaves())


def test_a_day_closed_again_for_another_reason_keeps_what_was_accepted(books: Books) -> None:
    number, day = _late(books)
    decide(books, number, "accepted", "chief chemist", "weigher checked")
    accepted = _juice(books, day)
    books.reopen(day, "clerk", "late result")
    books.close(day, "clerk", "late result")
    assert _juice(books, day) == pytest.approx(accepted, rel=1e-9)


def test_withdrawing_brings_back_what_was_published_as_a_new_version(books: Books) -> None:
    number, day = _late(books)
    before = _juice(books, day)
    decide(books, number, "accepted", "chief chemist", "weigher checked")
    decide(books, number, "withdrawn", "manager", "the test weights were wrong")
    assert _juice(books, day) == pytest.approx(before, rel=1e-9)
    assert books.published(day).version == 3
    history = books.store.proposal(number).decisions
    assert [(d.act, d.by) for d in history] == [("accepted", "chief chemist"), ("withdrawn", "manager")]


def test_declining_keeps_the_day_and_the_reason(books: Books) -> None:
    number, day = _late(books)
    decide(books, number, "declined", "chief chemist", "the bagasse weigher was off")
    assert len(books.store.closings(day)) == 1
    assert books.store.proposal(number).decisions[0].reason == "the bagasse weigher was off"
    with pytest.raises(CannotDecide, match="declined already"):
        decide(books, number, "accepted", "chief chemist", "after all")


def test_a_decision_without_a_reason_is_refused(books: Books) -> None:
    number, day = _late(books)
    with pytest.raises(ReasonMissing):
        decide(books, number, "accepted", "chief chemist", " ")
    assert len(books.store.closings(day)) == 1


def test_smoothing_again_after_an_acceptance_reads_the_meters_as_they_read(books: Books, found: Smoothing) -> None:
    """Else what the season knew would be taken off twice."""
    decide(books, _late(books)[0], "accepted", "chief chemist", "weigher checked")
    again = smoothed(books, FIRST, LAST)
    assert again.course.changes[0].size == pytest.approx(found.course.changes[0].size, rel=0.05)


# --- what cannot be smoothed ------------------------------------------------------------------------------------------


def test_a_season_without_closed_days_is_answered_in_words(tmp_path: Path) -> None:
    with opened(tmp_path) as empty, pytest.raises(BooksRefused, match="no day from 2031-07-14 to 2031-08-22 is closed"):
        smoothed(empty, FIRST, LAST)


def test_a_season_with_every_reading_missing_is_answered_in_words() -> None:
    days = [SeasonDay(day_of(n), {}) for n in range(5)]
    with pytest.raises(CannotSmooth, match="none of the days has a usable reading: every one is missing or bad"):
        smooth(weighed(), days)


def test_days_that_do_not_reconcile_are_left_out_with_the_reason() -> None:
    """A bagasse moisture of 5 % is no state of this train; the other days are smoothed without that day."""
    read = dict(truth(24.0, 220.0))
    days = [SeasonDay(day_of(n), dict(read)) for n in range(6)]
    days[3] = SeasonDay(day_of(3), {"cane scale": -4000.0, "juice scale": 9e5})
    course = smooth(weighed(), days)
    assert list(course.left_out) == [day_of(3)]
    assert course.left_out[day_of(3)]
    assert not course.changes


def test_too_few_days_are_refused_with_the_reasons() -> None:
    days = [SeasonDay(day_of(n), {"cane scale": -4000.0, "juice scale": 9e5}) for n in range(4)]
    with pytest.raises(CannotSmooth, match=r"0 of 4 days reconcile, at least 3 are needed \(2031-07-14: "):
        smooth(weighed(), days)


def test_a_day_without_readings_between_others_is_told() -> None:
    read = dict(truth(24.0, 220.0))
    course = smooth(weighed(), [SeasonDay(day_of(n), read) for n in (0, 1, 3, 4)])
    assert course.without == (day_of(2),)
    assert len(course.days) == 5
