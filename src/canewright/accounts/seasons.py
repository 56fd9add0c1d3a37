"""A season of closed days: smoothed together, told in words, and what it proposes to correct of days that are closed.

A closed day never changes by itself. Where the other days make a published figure doubtful, a correction is proposed:
which figure, what was published, what would be, and why. A person accepts or declines it with a reason; accepting
reopens the day and closes it again with what the season knows of its meters and settings.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from canewright.accounts.books import Books, BooksRefused
from canewright.accounts.knowledge import from_json, set_right, to_json
from canewright.accounts.measuring import MeasuredDay
from canewright.accounts.reckoning import Sheet, day_settings
from canewright.engine import NotSolved
from canewright.engine.spread import Vector
from canewright.intervals import TIMES
from canewright.plant.plant import Plant, Reconciled, State
from canewright.plant.season import CannotSmooth, Course, Known, SeasonDay, smooth
from canewright.plant.season_words import every_change, told
from canewright.quantity import noting_breaches
from canewright.store import Act, ClosedDay, NewProposal, Proposal, Season

Say = Callable[[str], None]
MOVED = TIMES
"""Published standard uncertainties by which a figure must be off, by the season, for a correction to be proposed: the
published interval then does not hold. Less would propose chance, for a season knows nearly all a little better."""
REASONS = 3
"""Causes told of each figure at most."""


@dataclass(frozen=True)
class Smoothing:
    """A smoothed season, the corrections that it proposes, and the days that could not be compared."""

    course: Course
    proposals: tuple[NewProposal, ...]
    not_compared: Mapping[dt.date, str]


def _silent(message: str) -> None:
    del message


def smoothed(books: Books, first: dt.date, last: dt.date, say: Say = _silent) -> Smoothing:
    """Smooth the closed days from first to last, both included, as they were read, and see what they propose.

    Raises BooksRefused saying why a season cannot be smoothed; nothing is stored.
    """
    closed = [c for c in books.store.closed_days(first, last) if c.status == "closed"]
    if not closed:
        raise BooksRefused(f"no day from {first} to {last} is closed; close days first with: canewright day close")
    measured: dict[dt.date, MeasuredDay] = {}
    unread: dict[dt.date, str] = {}
    for number, c in enumerate(closed, start=1):
        if number % 20 == 1:
            say(f"collecting day {number} of {len(closed)}: {c.day}")
        try:
            measured[c.day] = books.as_read(c.day)
        except BooksRefused as lack:  # closed with another description, whose meters this one has not
            unread[c.day] = str(lack)
    closed = [c for c in closed if c.day in measured]
    days = [_season_day(books.plant, measured[c.day], c) for c in closed]
    try:
        course = smooth(books.plant, days, say)
    except CannotSmooth as lack:
        raise BooksRefused(f"the season from {first} to {last} cannot be smoothed: {lack}") from lack
    proposals, apart = _Comparison(books, course, measured).of(closed, say)
    return Smoothing(course, tuple(proposals), unread | apart)


def _season_day(plant: Plant, measured: MeasuredDay, closed: ClosedDay) -> SeasonDay:
    """A day as read, its readings as sure as when it was closed unless a season set it right since."""
    account = closed.figures
    sure = {} if account.get("set_right") else {m["tag"]: m["uncertainty"] for m in account.get("meters", ())}
    kept = {tag: u for tag, u in sure.items() if tag in measured.values}
    return SeasonDay(measured.day, measured.values, day_settings(plant, measured), kept)


# --- what is proposed -------------------------------------------------------------------------------------------------


class _Comparison:
    """Published figures beside those that the other days would make."""

    def __init__(self, books: Books, course: Course, measured: Mapping[dt.date, MeasuredDay]) -> None:
        self.books, self.course, self.measured = books, course, measured
        self.sheet = Sheet.of(books.plant)
        self.words = {course.of(c).key: told(course, c) for c in course.changes}

    def of(self, closed: Sequence[ClosedDay], say: Say) -> tuple[list[NewProposal], dict[dt.date, str]]:
        """A proposal for each day of which a published figure is off; and why days were not compared."""
        found, apart = list[NewProposal](), dict[dt.date, str]()
        for number, c in enumerate(closed, start=1):
            if number % 5 == 1:
                say(f"comparing day {number} of {len(closed)}: {c.day}")
            if c.day in self.course.left_out:
                continue
            if c.plant_text != self.books.description.text:
                apart[c.day] = "closed with another plant description"
                continue
            try:
                figures, known = self._figures(c)
            except NotSolved as lack:
                apart[c.day] = f"no state with what the season knows: {lack}"
                continue
            if figures:
                found.append(NewProposal(c.day, c.version, figures, to_json(known)))
        return found, apart

    def _figures(self, closed: ClosedDay) -> tuple[list[dict[str, Any]], list[Known]]:
        known = self.course.known_without(closed.day)
        raw, plant = self.measured[closed.day], self.books.plant
        right = set_right(self.books.description, raw, known, "the other days")
        values = closed.state["values"]
        start = State(plant.assembly, values, plant.model.scaled(values), "as closed")
        settings = day_settings(plant, right)
        day = plant.reconcile(right.values, settings, start, right.uncertainties, right.determinations, right.priors)
        with noting_breaches():
            value, slope = day.result.gradient(self.sheet.expressions)
        spread = day.result.deviations(slope)
        published = {row["name"]: row for row in closed.figures["sheet"]}
        rows = []
        for s, span in zip(self.sheet.specifications, self.sheet.spans, strict=True):
            i, row = span.start - 1, published.get(s.name)
            if row is None or row["value"] is None or row["uncertainty"] is None or not np.isfinite(value[i]):
                continue
            if abs(value[i] - row["value"]) > MOVED * row["uncertainty"]:
                rows.append({
                    "name": s.name, "unit": s.unit, "decimals": s.decimals, "published": row["value"],
                    "published_uncertainty": row["uncertainty"], "proposed": float(value[i]),
                    "proposed_uncertainty": float(spread[i]), "why": self._why(day, raw, known, slope[i]),
                })  # fmt: skip
        return rows, known

    def _why(self, day: Reconciled, raw: MeasuredDay, known: Sequence[Known], slope: Vector) -> str:
        """What moves a figure most: the reading set right, or the setting better known, each with its size."""
        answers = slope @ day.result.influence
        names = [m.name for m in day.result.measured]
        moved = []
        for k in known:
            if k.slow.name in raw.values and k.slow.kind != "setting" and k.slow.name in names:
                i = names.index(k.slow.name)
                step = day.result.measured[i].value - raw.values[k.slow.name]
                moved.append((float(answers[i]) * step / day.result.measured[i].uncertainty, k))
            elif k.slow.name in day.result.free:
                i = day.result.free.index(k.slow.name)
                step = (k.value - k.slow.first) / k.uncertainty
                moved.append((float(answers[len(names) + i]) * step, k))
        moved.sort(key=lambda pair: -abs(pair[0]))
        most = [k for size, k in moved[:REASONS] if abs(size) > 0.2 * abs(moved[0][0])]
        return "; ".join(self.words.get(k.slow.key, _known(k)) for k in most)


def _known(k: Known) -> str:
    unit = "" if k.slow.unit == "1" else f" {k.slow.unit}"
    half = TIMES * k.uncertainty
    if k.slow.kind == "setting":
        return f"{k.slow.name} is {k.value:.4g}{unit} ({k.value - half:.4g} to {k.value + half:.4g}) by the other days"
    way = "high" if k.value > 0 else "low"
    return f"the {k.slow.name} reads {abs(k.value):.2g}{unit} {way} (± {half:.2g}) by the other days"


# --- kept and decided -------------------------------------------------------------------------------------------------


def keep(books: Books, found: Smoothing, by: str) -> Season:
    """Store a smoothed season with its proposals; no closed day changes."""
    data = course_to_json(found.course) | {
        "not_compared": {d.isoformat(): why for d, why in found.not_compared.items()}
    }
    days = found.course.days
    return books.store.add_season(days[0], days[-1], by, books.description.text, data, found.proposals)


def decide(books: Books, number: int, act: Act, by: str, reason: str, say: Say = _silent) -> Proposal:
    """Accept, decline or withdraw a proposal.

    Accepting and withdrawing work the day out again and close it anew, in one act with the decision. Raises
    BooksRefused, NotSolved or a store error, each with what to do; nothing is stored then.
    """
    proposal = books.store.proposal(number)
    if act == "declined":
        return books.store.decide(number, act, by, reason)
    wanted = "accepted" if act == "withdrawn" else "open"
    if proposal.status != wanted or not reason.strip():
        return books.store.decide(number, act, by, reason)  # which refuses it in words
    raw = books.as_read(proposal.day)
    before = None if act == "accepted" else _before(books, proposal)
    measured = books.set_right(raw, proposal if act == "accepted" else before)
    closing = books.closing(proposal.day, measured, by, f"proposal {number} {act}: {reason}", say)
    say("storing the closed day")
    return books.store.decide(number, act, by, reason, closing)


def _before(books: Books, proposal: Proposal) -> Proposal | None:
    """The proposal that counts for the day once this one is withdrawn."""
    accepted = [p for p in books.store.proposals(proposal.day) if p.status == "accepted" and p.id != proposal.id]
    return max(accepted, key=lambda p: p.decisions[-1].at, default=None)


# --- as data ----------------------------------------------------------------------------------------------------------


def course_to_json(course: Course) -> dict[str, Any]:
    """A smoothed season as plain data: every quantity with its course, every change in words, what was left out."""
    values, spread = course.values, course.uncertainties
    return {
        "days": [d.isoformat() for d in course.days],
        "quantities": [
            {
                "name": s.key, "of": s.name, "kind": s.kind, "unit": s.unit, "first": s.first,
                "first_uncertainty": s.uncertainty, "pace": float(course.pace[k]), "values": values[:, k].tolist(),
                "uncertainties": spread[:, k].tolist(),
            }
            for k, s in enumerate(course.slow)
        ],
        "changes": [
            {
                "quantity": c.name, "kind": c.kind, "begins": course.days[c.begins].isoformat(),
                "ends": course.days[c.ends].isoformat(), "size": c.size, "uncertainty": c.uncertainty, "says": says,
            }
            for c, says in zip(course.changes, every_change(course), strict=True)
        ],
        "left_out": {d.isoformat(): why for d, why in course.left_out.items()},
        "without_readings": [d.isoformat() for d in course.without],
        "untold": list(course.untold),
    }  # fmt: skip


def course_csv(course: Mapping[str, Any]) -> str:
    """The course of every quantity, a row for each day: its value and half of its 95 % interval."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    heads = ["day"]
    for q in course["quantities"]:
        heads += [f"{q['name']}, {q['unit']}", f"± {q['name']}, {q['unit']}"]
    writer.writerow(heads)
    for t, day in enumerate(course["days"]):
        row = [day]
        for q in course["quantities"]:
            row += [f"{q['values'][t]:.6g}", f"{TIMES * q['uncertainties'][t]:.3g}"]
        writer.writerow(row)
    return text.getvalue()


def proposal_to_json(proposal: Proposal) -> dict[str, Any]:
    """A proposal as plain data, with what it knows and every decision on it."""
    return {
        "proposal": proposal.id, "season": proposal.season, "day": proposal.day.isoformat(),
        "version": proposal.version, "status": proposal.status, "by": proposal.by, "at": proposal.at.isoformat(),
        "figures": [dict(f) for f in proposal.figures],
        "knowledge": to_json(from_json(proposal.knowledge)),
        "decisions": [
            {"act": d.act, "by": d.by, "at": d.at.isoformat(), "reason": d.reason} for d in proposal.decisions
        ],
    }  # fmt: skip
