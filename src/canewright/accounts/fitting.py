"""The assumptions of a business fitted to its closed days, and a new description written when a person asks for it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

from canewright.accounts.books import Books, BooksRefused
from canewright.accounts.reckoning import day_settings
from canewright.plant.description import read_description
from canewright.plant.drafting.draft import rounded
from canewright.plant.fitting import CannotFit, Fit, FitDay, FittedSetting, fit
from canewright.plant.plant import Plant
from canewright.plant.rewriting import CannotRewrite, Fitted, rewritten

FORMER = "former-descriptions"
"""Folder of a business in which every description that a fit replaced is kept, with when, by whom and why."""
WORTH_WRITING = 0.05
"""Least share of a prior's variance that days must take away before a fitted value replaces an assumption."""


def fit_days(books: Books, first: dt.date, last: dt.date, say: Callable[[str], None] = lambda _: None) -> Fit:
    """Fit the assumptions to the closed days from first to last, both included, as their readings stand now.

    Raises BooksRefused saying why a fit cannot be made.
    """
    closed = [d for d in books.store.days() if first <= d <= last and books.store.is_closed(d)]
    days = []
    for day in closed:
        say(f"collecting {day}")
        measured = books.measured(day)
        days.append(FitDay(day, measured.values, day_settings(books.plant, measured)))
    try:
        return fit(books.plant, days, say)
    except CannotFit as lack:
        raise BooksRefused(f"the assumptions cannot be fitted: {lack}") from lack


def worth_writing(found: Fit) -> list[FittedSetting]:
    """The settings of which the days told something."""
    return [s for s in found.settings if s.told >= WORTH_WRITING and not s.at_limit]


def described_anew(plant: Plant, found: Fit) -> str:
    """The description with the fitted values in the place of the assumptions.

    A steady setting gets the uncertainty that the days left; one that varies keeps its own, for it is what a day may
    differ by. Raises BooksRefused where the text cannot take them.
    """
    because = f"fitted to {len(found.days)} days, {min(found.days)} to {max(found.days)}"
    fitted = {}
    for s in worth_writing(found):
        spread = s.assumption.uncertainty if s.varies else s.uncertainty
        fitted[s.assumption.name] = Fitted(rounded(s.value, 5), rounded(spread, 3), because)
    targets = {t.name: i for i, t in enumerate(plant.description.targets)}
    try:
        text = rewritten(plant.description.text, fitted, targets)
    except CannotRewrite as lack:
        raise BooksRefused(f"nothing was written: {lack}") from lack
    Plant(read_description(text)).predict()
    return text


def replace_description(business: Path, own: Path, text: str, *, by: str, reason: str, when: dt.datetime) -> Path:
    """Put a new description in the place of the business's own; the former one is kept. Gives the path of the former.

    Raises BooksRefused where a former description of this very moment is there already; OSError where the folder
    cannot be written.
    """
    folder = business / FORMER
    folder.mkdir(exist_ok=True)
    kept = folder / f"plant-until-{when:%Y-%m-%dT%H%M%S}.toml"
    head = [f"# Replaced on {when.isoformat(timespec='seconds')} by {_one_line(by)}.", f"# Reason: {_one_line(reason)}"]
    try:
        with kept.open("x", encoding="utf-8") as file:
            file.write("\n".join([*head, own.read_text(encoding="utf-8")]))
    except FileExistsError as there:
        raise BooksRefused(f"{kept} is there already; try again in a second") from there
    fresh = own.with_suffix(".new")
    fresh.write_text(text, encoding="utf-8")
    fresh.replace(own)
    return kept


def _one_line(text: str) -> str:
    return " ".join(text.split())
