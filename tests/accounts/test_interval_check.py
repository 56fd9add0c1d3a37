"""The intervals of a day sheet against drawn days of the whole train."""

from __future__ import annotations

from pathlib import Path

import pytest

from accounts.small_mill import MONDAY, opened, take_in, write_day
from canewright.accounts.books import BooksRefused


def test_the_intervals_of_the_small_mill_hold(tmp_path: Path) -> None:
    with opened(tmp_path / "business") as books:
        take_in(books, write_day(tmp_path / "monday", MONDAY), MONDAY)
        said: list[str] = []
        found = books.check_intervals(MONDAY, 150, 1, said.append)
        again = books.check_intervals(MONDAY, 150, 1)
        with pytest.raises(BooksRefused, match="give at least 20"):
            books.check_intervals(MONDAY, 5, 1)
    for f, same in zip(found.figures, again.figures, strict=True):
        assert same.ratio == pytest.approx(f.ratio, rel=1e-6)
    assert said[-1] == "drawn day 150 of 150"
    assert (found.draws, found.unsolved) == (150, 0)
    assert {f.name for f in found.figures} >= {"pol extraction", "cane crushed"}
    assert found.sentence.startswith("every interval holds")
    for f in found.figures:
        assert f.ratio == pytest.approx(1.0, abs=4 * found.chance + 0.05)
        assert f.low < f.value < f.high
