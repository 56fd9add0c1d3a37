"""The books of a small mill: closed, explained, reopened, corrected, closed again, summed over days."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from accounts.small_mill import (
    MONDAY,
    TEXT,
    TUESDAY,
    WEDNESDAY,
    now,
    opened,
    rows_of,
    take_in,
    truth,
    write_day,
    write_files,
)
from canewright.accounts.books import Books, BooksRefused, figure_names
from canewright.accounts.trees import tree_of
from canewright.plant.plant import Plant
from canewright.quantity import Figure
from canewright.store import DayClosed, NothingToReopen, Reading, ReasonMissing, Store
from canewright.store.errors import BadEntry


@pytest.fixture
def books(tmp_path: Path) -> Iterator[Books]:
    """Books with the files of Monday in them."""
    with opened(tmp_path / "business") as mine:
        take_in(mine, write_day(tmp_path / "monday", MONDAY), MONDAY)
        yield mine


def row(account: Any, name: str) -> dict[str, Any]:
    """A row of a day sheet."""
    return next(dict(r) for r in account["sheet"] if r["name"] == name)


def leaves(figure: Figure) -> list[Figure]:
    """Everything at the ends of a figure's tree."""
    if not figure.inputs:
        return [figure]
    return [leaf for s in figure.inputs for leaf in leaves(s.figure)]


def the_reading(books: Books, day: dt.date, place: str) -> Reading:
    """The standing reading of a meter."""
    return next(r for r in books.store.readings(day) if r.place == place)


def corrected(books: Books, reading: Reading, value: float, why: str = "slip misread") -> Reading:
    """The reading with another value."""
    return books.store.correct(reading.id, value, "shift chemist", why)


# --- closing and explaining -------------------------------------------------------------------------------------------


def test_a_preview_stores_nothing(books: Books) -> None:
    account = books.preview(MONDAY)[0]
    assert row(account, "pol extraction")["value"] == pytest.approx(96.46, abs=0.02)
    assert books.store.closings(MONDAY) == ()


def test_a_day_of_true_readings_closes_on_the_truth(books: Books) -> None:
    said: list[str] = []
    closed = books.close(MONDAY, "chief chemist", say=said.append)
    assert (closed.version, closed.status, closed.by) == (1, "closed", "chief chemist")
    assert row(closed.figures, "cane crushed")["value"] == pytest.approx(9600.0, rel=1e-5)
    assert row(closed.figures, "pol extraction")["value"] == pytest.approx(96.47, abs=0.01)
    assert row(closed.figures, "imbibition on fibre")["value"] == pytest.approx(220.0, abs=0.1)
    assert closed.figures["tests"]["passes"]
    assert closed.figures["hours"] == {"sections.mill.hours": 24.0}
    assert closed.plant_text == TEXT
    assert said[0] == "collecting the day's readings"
    assert said[-1] == "storing the closed day"


def test_a_figure_explains_itself_down_to_the_single_readings(books: Books) -> None:
    books.close(MONDAY, "chief chemist")
    figure = books.figure("pol extraction", MONDAY)
    assert figure.inputs
    stored = {f"reading {r.id}": r for r in books.store.readings(MONDAY)}
    named = [leaf for leaf in leaves(figure) if leaf.reading]
    assert {stored[str(leaf.reading)].place for leaf in named} == {
        "cane scale", "juice scale", "water meter", "mixed juice", "bagasse",
    }  # fmt: skip
    for leaf in named:
        assert leaf.value == stored[str(leaf.reading)].value
        assert "shift chemist" in leaf.note
    shares = [s.variance_share for s in figure.inputs if s.variance_share is not None]
    assert math.fsum(shares) == pytest.approx(1.0, abs=1e-9)
    assert shares == sorted(shares, reverse=True)
    assert figure.inputs[0].figure.name == "bagasse: pol"


def test_a_changed_reading_moves_a_figure_as_its_derivative_says(books: Books) -> None:
    before = books.preview(MONDAY)[0]
    tree = tree_of(before, "pol extraction")
    assert tree is not None
    derivative = next(s.derivative for s in tree.inputs if s.figure.name == "bagasse: pol")
    assert derivative is not None
    was = next(r for r in books.store.readings(MONDAY) if (r.place, r.quantity) == ("bagasse", "pol"))
    assert was.value is not None
    corrected(books, was, was.value + 0.02)
    after = books.preview(MONDAY)[0]
    moved = row(after, "pol extraction")["value"] - row(before, "pol extraction")["value"]
    assert moved == pytest.approx(derivative * 0.02, rel=0.01)
    assert moved < 0


def test_an_unknown_figure_is_refused_with_the_names_there_are(books: Books) -> None:
    books.close(MONDAY, "chief chemist")
    with pytest.raises(BooksRefused, match="no figure is called 'mill extraction'") as refused:
        books.figure("mill extraction", MONDAY)
    for name in ("pol extraction", "bagasse on cane", "pol lost in bagasse"):
        assert name in str(refused.value)
    assert set(figure_names()) >= {r["name"] for r in books.published(MONDAY).figures["sheet"]}


def test_a_day_without_readings_is_refused_in_a_sentence(books: Books) -> None:
    with pytest.raises(BooksRefused, match="no readings are stored for 2031-07-15; import the day's files first"):
        books.close(TUESDAY, "chief chemist")
    with pytest.raises(BooksRefused, match="2031-07-15 is not closed; close it with: canewright day close"):
        books.published(TUESDAY)
    with pytest.raises(BooksRefused, match="2031-07-14 is not closed"):
        books.figure("pol extraction", MONDAY)


def test_a_day_without_a_name_is_not_closed(books: Books) -> None:
    with pytest.raises(BadEntry, match="name"):
        books.close(MONDAY, " ")
    assert not books.store.is_closed(MONDAY)


# --- reopening and correcting -----------------------------------------------------------------------------------------


def test_reopening_asks_for_a_reason_and_keeps_what_was_published(books: Books) -> None:
    first = books.close(MONDAY, "chief chemist")
    with pytest.raises(ReasonMissing, match="without a reason"):
        books.reopen(MONDAY, "chief chemist", "  ")
    assert books.published(MONDAY).status == "closed"
    books.reopen(MONDAY, "superintendent", "late bagasse result")
    standing = books.published(MONDAY)
    assert standing.status != "closed"
    assert standing.figures == first.figures
    with pytest.raises(NothingToReopen):
        books.reopen(MONDAY, "superintendent", "once more")
    with pytest.raises(NothingToReopen):
        books.reopen(TUESDAY, "superintendent", "never closed")


def test_a_closed_day_takes_no_correction_until_it_is_reopened(books: Books) -> None:
    books.close(MONDAY, "chief chemist")
    weight = the_reading(books, MONDAY, "juice scale")
    assert weight.value is not None
    with pytest.raises(DayClosed, match="Reopen the day with a reason"):
        corrected(books, weight, weight.value + 50.0)
    with pytest.raises(DayClosed):
        books.close(MONDAY, "chief chemist")
    assert the_reading(books, MONDAY, "juice scale").value == weight.value
    books.reopen(MONDAY, "chief chemist", "juice scale slip misread")
    corrected(books, weight, weight.value + 50.0)
    assert the_reading(books, MONDAY, "juice scale").value == weight.value + 50.0


def test_closing_again_makes_version_2_and_leaves_version_1_as_it_was(books: Books) -> None:
    first = books.close(MONDAY, "chief chemist")
    books.reopen(MONDAY, "chief chemist", "juice scale slip misread")
    weight = the_reading(books, MONDAY, "juice scale")
    assert weight.value is not None
    corrected(books, weight, weight.value + 50.0)
    second = books.close(MONDAY, "superintendent", "corrected juice weight")
    assert (second.version, second.status, second.reason) == (2, "closed", "corrected juice weight")
    assert row(second.figures, "mixed juice")["value"] > row(first.figures, "mixed juice")["value"] + 5.0
    kept = books.published(MONDAY, 1)
    assert kept.figures == first.figures
    assert kept.state == first.state
    assert kept.readings_used == first.readings_used
    assert kept.by == "chief chemist"
    assert books.published(MONDAY).version == 2
    with pytest.raises(BooksRefused, match="2031-07-14 has no version 7; it has version 1, 2"):
        books.published(MONDAY, 7)
    used = {r.id for r in books.store.readings(MONDAY) if r.place == "juice scale"}
    assert used <= set(second.readings_used)
    assert not used & set(first.readings_used)


# --- week and season to date ------------------------------------------------------------------------------------------


def test_week_and_season_to_date_are_sums_over_sums(books: Books, tmp_path: Path) -> None:
    take_in(books, write_day(tmp_path / "tuesday", TUESDAY, hours=15.0, on_fibre=150.0), TUESDAY)
    first = books.close(MONDAY, "chief chemist").figures
    second = books.close(TUESDAY, "chief chemist").figures
    cane = [row(a, "cane crushed")["value"] for a in (first, second)]
    assert cane == pytest.approx([9600.0, 6000.0], rel=1e-4)
    week = row(second, "cane crushed")["week to date"]
    assert (week["value"], week["days"]) == (pytest.approx(sum(cane), rel=1e-12), 2)
    u = [row(a, "cane crushed")["uncertainty"] for a in (first, second)]
    common = [row(a, "cane crushed")["common"][0][0] for a in (first, second)]
    own = sum(x * x - c for x, c in zip(u, common, strict=True))
    assert week["uncertainty"] == pytest.approx(math.sqrt(own + sum(math.sqrt(c) for c in common) ** 2), rel=1e-6)
    assert math.hypot(*u) < week["uncertainty"] < sum(u)
    juice, whole = (
        sum(row(a, "pol extraction")["totals"][i] for a in (first, second)) for i in (0, 1)
    )  # pol in mixed juice and in cane, t
    extraction = [row(a, "pol extraction")["value"] for a in (first, second)]
    over = row(second, "pol extraction")["week to date"]
    assert over["value"] == pytest.approx(100.0 * juice / whole, rel=1e-12)
    assert abs(over["value"] - sum(extraction) / 2) > 0.1  # not the mean of the percentages
    assert min(extraction) < over["value"] < max(extraction)
    assert row(second, "pol extraction")["season to date"]["value"] == pytest.approx(over["value"], rel=1e-12)
    assert row(first, "pol extraction")["week to date"]["value"] == pytest.approx(extraction[0], rel=1e-12)


def test_a_new_week_begins_seven_days_after_the_season_and_leaves_the_season_running(
    books: Books, tmp_path: Path
) -> None:
    monday = MONDAY + dt.timedelta(days=7)
    take_in(books, write_day(tmp_path / "next", monday), monday)
    books.close(MONDAY, "chief chemist")
    account = books.close(monday, "chief chemist").figures
    cane = row(account, "cane crushed")
    assert cane["week to date"]["value"] == pytest.approx(cane["value"], rel=1e-12)
    assert cane["week to date"]["days"] == 1
    assert cane["season to date"]["days"] == 2
    assert cane["season to date"]["value"] == pytest.approx(2 * 9600.0, rel=1e-4)


def test_a_day_that_stands_open_is_in_no_sum_and_is_told(books: Books, tmp_path: Path) -> None:
    take_in(books, write_day(tmp_path / "tuesday", TUESDAY), TUESDAY)
    books.close(MONDAY, "chief chemist")
    books.reopen(MONDAY, "chief chemist", "late result")
    account = books.close(TUESDAY, "chief chemist").figures
    assert row(account, "cane crushed")["week to date"]["days"] == 1
    assert "not in week and season to date, because they are not closed: 2031-07-14" in account["notes"]


# --- what is lacking --------------------------------------------------------------------------------------------------


def changed_rows(name: str, place: str, value: str, quality: str) -> dict[str, list[Any]]:
    """Wednesday's rows with one reading of another value and quality."""
    rows: dict[str, list[Any]] = {k: list(v) for k, v in rows_of(WEDNESDAY, dict(truth(24.0, 220.0)), 24.0).items()}
    at = 1
    for i, one in enumerate(rows[name]):
        if one[at] == place:
            rows[name][i] = (*one[: len(one) - 4], value, one[-3], quality, one[-1])
    return rows


@pytest.mark.parametrize(("value", "quality"), [("9000", "bad"), ("", "bad"), ("", "missing")])
def test_a_bad_or_missing_reading_is_noted_and_not_used(books: Books, tmp_path: Path, value: str, quality: str) -> None:
    take_in(books, write_files(tmp_path / "w", changed_rows("meters.csv", "juice scale", value, quality)), WEDNESDAY)
    account = books.close(WEDNESDAY, "chief chemist").figures
    assert "juice scale" not in {m["tag"] for m in account["meters"]}
    assert f"juice scale: not used: mass ({quality})" in account["notes"]
    assert any(n.startswith("no usable reading of: ") and "juice scale" in n for n in account["notes"])
    full = books.preview(MONDAY)[0]
    juice, known = row(account, "mixed juice"), row(full, "mixed juice")
    assert juice["value"] == pytest.approx(known["value"], rel=0.01)
    assert juice["uncertainty"] > known["uncertainty"]


def test_an_absent_file_is_noted_and_the_day_still_closes(books: Books, tmp_path: Path) -> None:
    rows = rows_of(WEDNESDAY, dict(truth(24.0, 220.0)), 24.0)
    notes = take_in(
        books, write_files(tmp_path / "w", {"meters.csv": rows["meters.csv"], "laboratory.csv": []}), WEDNESDAY
    )
    assert any("hours.csv is absent" in n for n in notes)
    account = books.close(WEDNESDAY, "chief chemist").figures
    assert row(account, "cane crushed")["standing"] == "known"
    assert row(account, "moisture of bagasse")["standing"] == "priors only"
    assert any("no running hours of mill: 24 h of the description are used" in n for n in account["notes"])
    assert any("bagasse pol" in n and n.startswith("no usable reading of") for n in account["notes"])


def test_a_late_file_joins_the_readings_that_are_there(books: Books, tmp_path: Path) -> None:
    rows = rows_of(WEDNESDAY, dict(truth(24.0, 220.0)), 24.0)
    take_in(books, write_files(tmp_path / "w", {**rows, "laboratory.csv": []}), WEDNESDAY)
    thin = books.preview(WEDNESDAY)[0]
    notes = take_in(books, write_files(tmp_path / "w", rows), WEDNESDAY)
    assert any("meters.csv was imported before with the same contents and is passed over" in n for n in notes)
    whole = books.close(WEDNESDAY, "chief chemist").figures
    assert row(whole, "pol extraction")["uncertainty"] < 0.6 * row(thin, "pol extraction")["uncertainty"]


def test_an_incomplete_determination_is_told_with_what_it_lacks(books: Books, tmp_path: Path) -> None:
    rows = rows_of(WEDNESDAY, dict(truth(24.0, 220.0)), 24.0)
    kept = [r for r in rows["laboratory.csv"] if r[2] != "mass after drying"]
    take_in(books, write_files(tmp_path / "w", {**rows, "laboratory.csv": kept}), WEDNESDAY)
    account = books.close(WEDNESDAY, "chief chemist").figures
    assert any("moisture needs mass after drying as well" in n for n in account["notes"])


def test_a_short_day_closes_with_its_stop(books: Books, tmp_path: Path) -> None:
    take_in(books, write_day(tmp_path / "w", WEDNESDAY, hours=18.0), WEDNESDAY)
    account = books.close(WEDNESDAY, "chief chemist").figures
    assert account["hours"] == {"sections.mill.hours": 18.0}
    assert account["stops"] == [["mill", "no cane", 6.0]]
    assert row(account, "cane crushed")["value"] == pytest.approx(7200.0, rel=1e-3)
    assert row(account, "pol extraction")["value"] == pytest.approx(96.46, abs=0.05)


# --- what the books ask of a description ------------------------------------------------------------------------------


BAGASSE = 'bagasse = "mill 5.bagasse"'
WATER = 'imbibition = "imbibition.water"'
TARGETED = '"pol extraction" = 96.0'


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (BAGASSE, 'bagase = "mill 5.bagasse"', "roles.bagase: found 'bagase'; accepted: did you mean 'bagasse'?"),
        (BAGASSE, 'bagasse = "grid.power"', "roles.bagasse: found 'grid.power', which has no sucrose, fibre"),
        (BAGASSE, 'bagasse = "water.water.1"', "has no sucrose, fibre; accepted: a stream that can be final bagasse"),
        (WATER, 'imbibition = "grid.power"', "which has no mass"),
        (WATER, '"imported power" = "mill 1.juice"', "which has no power"),
        (TARGETED, '"pol extracted" = 96.0', "pol extracted: found 'pol extracted'; accepted: did you mean"),
        (
            TARGETED,
            '"refinery yield on pol" = 96.0',
            "'refinery yield on pol', which needs the role refined sugar, melted raw",
        ),
        ('"pol extraction" = "higher"', '"mill work" = "higher"', "sheet.better.mill work: found 'mill work'"),
    ],
)
def test_roles_and_figures_that_the_books_do_not_know_are_refused(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    assert TEXT.count(old) == 1
    plant = Plant.from_text(TEXT.replace(old, new))
    with (
        Store.open(tmp_path, now=now) as store,
        pytest.raises(BooksRefused, match="the plant description cannot be used: line ") as refused,
    ):
        Books(plant, store)
    assert said in str(refused.value)
