"""Bad input to reconciliation, each answered in words: uncertainties, tags, units, too few readings, none at all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from accounts.small_mill import MONDAY, TEXT, TUESDAY, opened, rows_of, take_in, truth, write_files
from canewright.accounts.books import Books, BooksRefused
from canewright.accounts.intake import IntakeErrors
from canewright.accounts.seasons import smoothed
from canewright.plant.description import DescriptionFaults, read_description

Rows = dict[str, Sequence[Sequence[object]]]


@pytest.fixture
def books(tmp_path: Path) -> Iterator[Books]:
    """Books without a day."""
    with opened(tmp_path / "business") as mine:
        yield mine


def _rows(day: dt.date) -> Rows:
    return dict(rows_of(day, dict(truth(24.0, 220.0)), 24.0))


def _marked(rows: Rows, keep: set[str]) -> Rows:
    """The rows with every reading marked missing but of these meters and samples."""
    return {
        name: [r if name == "hours.csv" or r[1] in keep else _missing(r) for r in listed]
        for name, listed in rows.items()
    }


def _missing(row: Sequence[object]) -> Sequence[object]:
    return ["" if i == len(row) - 4 else "missing" if i == len(row) - 2 else cell for i, cell in enumerate(row)]


@pytest.mark.parametrize("given", ["0", "-0.5", '"0 %"', '"-0.4 %"', '"some"', "nan"])
def test_an_uncertainty_that_is_none_is_refused_by_line(given: str) -> None:
    with pytest.raises(DescriptionFaults) as refused:
        read_description(TEXT.replace('uncertainty = "0.4 %"', f"uncertainty = {given}", 1))
    (fault,) = refused.value.faults
    assert fault.field == "meters 2.uncertainty"
    assert TEXT.splitlines()[fault.line - 1].startswith("uncertainty")
    assert fault.accepted == 'a number above zero in the unit of the reading, or a text such as "0.4 %"'


@pytest.mark.parametrize("key", ["meters", "common"])
def test_a_negative_uncertainty_of_a_setting_or_a_common_error_is_refused(key: str) -> None:
    text = TEXT.replace("uncertainty = 60", "uncertainty = -60") if key == "meters" else (
        TEXT + '\n[[common_errors]]\nname = "one"\nmeters = ["cane scale"]\nuncertainty = -1\n'
    )  # fmt: skip
    with pytest.raises(DescriptionFaults, match=r"uncertainty: found -(60|1); accepted: a number"):
        read_description(text)


def test_two_meters_on_one_tag_with_different_units_are_refused_with_both_lines() -> None:
    again = '\n[[meters]]\ntag = "juice scale"\nstream = "screen.screened"\nquantity = "pol"\nuncertainty = 0.1\n'
    with pytest.raises(DescriptionFaults) as refused:
        read_description(TEXT + again)
    lines = [i for i, line in enumerate((TEXT + again).splitlines(), start=1) if line == 'tag = "juice scale"']
    said = str(refused.value)
    assert "found 'juice scale' 2 times" in said
    assert "accepted: a tag used once" in said
    assert len(lines) == 2


def test_a_reading_in_another_unit_is_refused_by_row_and_nothing_is_stored(books: Books, tmp_path: Path) -> None:
    rows = _rows(MONDAY)
    rows["meters.csv"] = [[*r[:3], "kg", *r[4:]] if r[1] == "juice scale" else r for r in rows["meters.csv"]]
    with pytest.raises(IntakeErrors, match="kg"):
        take_in(books, write_files(tmp_path / "files", rows), MONDAY)
    assert books.store.readings(MONDAY) == ()


def test_a_day_with_few_readings_closes_and_says_what_can_still_be_known(books: Books, tmp_path: Path) -> None:
    few = _marked(_rows(MONDAY), {"cane scale", "bagasse"})
    take_in(books, write_files(tmp_path / "files", few), MONDAY)
    account = books.close(MONDAY, "chief chemist").figures
    (note,) = (n for n in account["notes"] if n.startswith("only "))
    assert note.startswith("only 3 of 7 meters have a usable reading; still known: ")
    known = note.partition("still known: ")[2].partition(";")[0].split(", ")
    assert "cane crushed" in known
    standing = {r["name"]: r["standing"] for r in account["sheet"]}
    assert all(standing[name] in {"known", "partly priors"} for name in known)


def test_a_whole_day_has_no_such_note(books: Books, tmp_path: Path) -> None:
    take_in(books, write_files(tmp_path / "files", _rows(MONDAY)), MONDAY)
    assert not any(n.startswith("only ") for n in books.close(MONDAY, "chief chemist").figures["notes"])


def test_a_day_with_every_reading_missing_is_refused_in_words(books: Books, tmp_path: Path) -> None:
    take_in(books, write_files(tmp_path / "files", _marked(_rows(MONDAY), set())), MONDAY)
    with pytest.raises(BooksRefused, match="2031-07-14 has no usable reading of any meter, so nothing can be known"):
        books.close(MONDAY, "chief chemist")
    assert books.store.closings(MONDAY) == ()


def test_a_season_of_such_days_has_nothing_closed_and_says_so(books: Books, tmp_path: Path) -> None:
    for day in (MONDAY, TUESDAY):
        take_in(books, write_files(tmp_path / day.isoformat(), _marked(_rows(day), set())), day)
    with pytest.raises(BooksRefused, match="no day from 2031-07-14 to 2031-07-15 is closed"):
        smoothed(books, MONDAY, TUESDAY)
