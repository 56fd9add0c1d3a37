"""What every page works with: the books, the person at the screen, the templates, and a day as it may be shown."""

from __future__ import annotations

import datetime as dt
import hashlib
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse

from canewright.accounts.books import Books
from canewright.accounts.what_if import DayWhatIf
from canewright.intervals import least_seen
from canewright.plant.advising import PlantAdvice
from canewright.plant.plant import Plant
from canewright.plant.what_if import Bar
from canewright.store import ClosedDay
from canewright.web import words
from canewright.web.visitors import Visitor

TEMPLATES = Path(__file__).with_name("templates")
KEPT = 8
"""Preliminary accounts and states kept worked out, so that opening a figure does not work the day out again."""


T = TypeVar("T")


class NotHere(Exception):
    """There is no such page; the message says what was asked for and ``known`` what there is, as (words, address)."""

    def __init__(self, message: str, known: list[tuple[str, str]]) -> None:
        """Keep what there is."""
        super().__init__(message)
        self.known = known


class CannotBeShown(Exception):
    """The day has readings but no state fits them; the message says why in the plant's words."""


@dataclass(frozen=True)
class ShownDay:
    """A day's account as published, or as it would be closed now (``closed`` None)."""

    day: dt.date
    account: Mapping[str, Any]
    closed: ClosedDay | None
    latest: ClosedDay | None

    @property
    def status(self) -> str:
        """closed, reopened (an earlier version that no longer stands) or preliminary."""
        return "preliminary" if self.closed is None else self.closed.status

    @property
    def says(self) -> str:
        """The status in a sentence, with version, who, when and why."""
        if self.closed is not None:
            said = f"Version {self.closed.version}, closed by {self.closed.by} on {words.moment(self.closed.at)}."
            return said + _reopening(self.closed)
        before = "" if self.latest is None else _reopening(self.latest)
        return f"Worked out now from the stored readings; not closed.{before}"


def _reopening(closed: ClosedDay) -> str:
    if closed.reopened is None:
        return ""
    again = closed.reopened
    return f" Version {closed.version} was reopened by {again.by} on {words.moment(again.at)}: {again.reason}."


class Desk:
    """The books with what the pages need to show them."""

    def __init__(self, books: Books, now: Callable[[], dt.datetime], person: str) -> None:
        """``person`` is recorded as who enters readings."""
        self.books = books
        self.now = now
        self.person = person
        self._solving = threading.Lock()
        self._assembling = threading.Lock()
        self._worked_out: dict[tuple[Any, ...], Any] = {}
        self._stands: dict[str, tuple[Any, ...]] = {}
        self._plants: dict[str, Plant] = {books.description.text: books.plant}
        self._templates = Environment(
            loader=FileSystemLoader(TEMPLATES), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
            lstrip_blocks=True,
        )  # fmt: skip
        self._templates.filters.update(words.FILTERS)
        self._templates.globals.update(
            interval=words.interval, fitting=words.fitting, not_from_zero=words.NOT_FROM_ZERO, least_seen=least_seen
        )

    def page(self, template: str, status: int = 200, **shown: Any) -> HTMLResponse:
        """A page from a template, which also knows the plant, the person and the day's neighbours."""
        day = shown.get("day")
        days = self.books.store.days()
        near = {
            "before": max((d for d in days if day is not None and d < day), default=None),
            "after": min((d for d in days if day is not None and d > day), default=None),
            "latest": max(days, default=None),
        }
        shown.setdefault("visitor", Visitor(self.person))
        common = {"plant": self.books.description.name, "person": self.person, "near": near, "day": day}
        return HTMLResponse(self._templates.get_template(template).render(common | shown), status)

    # --- days -------------------------------------------------------------------------------------------------------

    def day(self, text: str) -> dt.date:
        """A day from an address. Raises NotHere with the latest days for anything else."""
        try:
            day = dt.date.fromisoformat(text)
        except ValueError:
            raise NotHere(f"'{text[:40]}' is not a day; write it as 2026-07-14.", self.known_days()) from None
        if day.isoformat() != text:
            raise NotHere(f"'{text[:40]}' is not a day; write it as {day}.", self.known_days())
        return day

    def known_days(self) -> list[tuple[str, str]]:
        """The latest days of which anything is stored."""
        return [(f"the day {d}", f"/day/{d}") for d in reversed(self.books.store.days()[-14:])]

    def shown(self, day: dt.date, version: str | None = None) -> ShownDay:
        """The standing version of a day, an earlier one by number, or the day as it would be closed now.

        Raises NotHere for a day without readings or an unknown version, CannotBeShown when no state fits.
        """
        store = self.books.store
        latest = store.closed(day)
        if version is not None:
            found = next((c for c in store.closings(day) if str(c.version) == version), None)
            if found is None:
                known = [(f"version {c.version}", f"/day/{day}?version={c.version}") for c in store.closings(day)]
                raise NotHere(f"{day} has no version '{version[:20]}'.", known or self.known_days())
            return ShownDay(day, found.figures, found, latest)
        if latest is not None and latest.status == "closed":
            return ShownDay(day, latest.figures, latest, latest)
        if day not in store.days():
            raise NotHere(f"Nothing is stored for {day}.", self.known_days())
        return ShownDay(day, self._preliminary(day), None, latest)

    def _key(self, day: dt.date) -> tuple[Any, ...]:
        """All that a preliminary day is worked out from; when any of it changes the day is worked out again."""
        store = self.books.store
        first = min(self.books.season_start or day, day)
        return (
            day,
            tuple(r.id for r in store.readings(day)),
            tuple(r.id for r in store.readings(day - dt.timedelta(days=1))),
            tuple(c.id for c in store.consignments(day)),
            tuple((c.day, c.version, c.status) for c in store.closed_days(first, day)),
        )

    def _kept(self, key: tuple[Any, ...], work: Callable[[], T]) -> T:
        """What was worked out before for this key, else now, one at a time."""
        return self.kept(key, lambda: _told(work))

    def kept(self, key: tuple[Any, ...], work: Callable[[], T]) -> T:
        """What was worked out before for this key, else now, one at a time; the work's own refusals come through."""
        with self._solving:
            if key not in self._worked_out:
                made = work()
                while len(self._worked_out) >= KEPT:
                    del self._worked_out[next(iter(self._worked_out))]
                self._worked_out[key] = made
            found: T = self._worked_out[key]
            return found

    def _preliminary(self, day: dt.date) -> Mapping[str, Any]:
        return self._draft(day)[0]

    def _draft(self, day: dt.date) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
        """Account and state of a day that is not closed, worked out once."""
        return self._kept(("draft", *self._key(day)), lambda: self.books.preview(day))

    def state(self, shown: ShownDay) -> tuple[Plant, Mapping[str, Any], list[dict[str, Any]]]:
        """The plant as described for the day, its state as plain data, and its meters.

        Raises CannotBeShown when no state fits.
        """
        if shown.closed is not None:
            return self._plant(shown.closed.plant_text), shown.closed.state, list(shown.account["meters"])
        return self.books.plant, self._draft(shown.day)[1], list(shown.account["meters"])

    # --- advice -----------------------------------------------------------------------------------------------------

    def what_if(self, day: dt.date) -> DayWhatIf:
        """What-if questions about a day as its readings stand, worked out once.

        Raises CannotBeShown when no state fits.
        """
        return self._kept(self._standing(day), lambda: self.books.what_if(day))

    def _standing(self, day: dt.date) -> tuple[Any, ...]:
        return ("what if", *self._key(day))

    def stand(self, day: dt.date) -> str:
        """A short name of how the readings of a day stand, by which a page goes on from the very state it showed."""
        key = self._standing(day)
        name = hashlib.sha256(repr(key).encode()).hexdigest()[:16]
        self._stands[name] = key
        while len(self._stands) > KEPT:
            del self._stands[next(iter(self._stands))]
        return name

    def what_if_at(self, stand: str, day: dt.date) -> DayWhatIf | None:
        """The what-if questions of a page that was shown; None where they are no longer kept."""
        key = self._stands.get(stand)
        found: DayWhatIf | None = None if key is None else self._worked_out.get(key)
        return found if found is not None and found.day == day else None

    def tornado(self, asked: DayWhatIf, figure: str) -> list[Bar]:
        """What moves a figure most, worked out once; raises as ``DayWhatIf.tornado`` does."""
        if figure not in asked.figures:
            return asked.tornado(figure)
        key = ("matters", figure, *self._key(asked.day))
        return self._kept(key, lambda: asked.tornado(figure))

    def advice(self, day: dt.date, only: tuple[str, ...], hold: tuple[str, ...]) -> PlantAdvice:
        """Advice for a day, worked out once; raises as ``Books.advice`` does."""
        key = ("advice", only, hold, *self._key(day))
        return self.kept(key, lambda: self.books.advice(day, chosen=only or None, held=hold))

    def asked(self, work: Callable[[], T]) -> T:
        """Work with the plant's equations, one at a time."""
        with self._solving:
            return work()

    def _plant(self, text: str) -> Plant:
        with self._assembling:
            if text not in self._plants:
                self._plants[text] = Plant.from_text(text)
            return self._plants[text]


def _told(work: Callable[[], T]) -> T:
    """Work on a day; refusals of the books and the solver (ValueError, RuntimeError) become a sentence."""
    try:
        return work()
    except (ValueError, RuntimeError) as refused:
        raise CannotBeShown(f"This day cannot be worked out yet: {refused}") from refused
