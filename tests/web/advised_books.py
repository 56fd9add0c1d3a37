"""The small mill that can be advised, with a closed and an open day, for the pages."""

from __future__ import annotations

from pathlib import Path

from accounts.advised_mill import advised
from accounts.small_mill import MONDAY, TUESDAY, take_in, write_day
from canewright.accounts.books import Books
from canewright.store import Store

WATER = "imbibition.on_fibre"


def fill(folder: Path, store: Store) -> Books:
    """Books with a closed Monday and an open Tuesday."""
    books = Books(advised(), store)
    for day, water in ((MONDAY, 215.0), (TUESDAY, 222.0)):
        take_in(books, write_day(folder / day.isoformat(), day, on_fibre=water), day)
    books.close(MONDAY, "chief chemist")
    return books
