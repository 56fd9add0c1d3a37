"""The books: import a day, close it, reopen it with a reason, and show it as it was published."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from canewright.accounts.attention import attention_list
from canewright.accounts.described import trade_faults
from canewright.accounts.growers import settle_day, settlement_to_json
from canewright.accounts.instruments import NoSuchFigure, WorthOfReadings, worth_of_readings
from canewright.accounts.measuring import STOCK, MeasuredDay, measure_day, reading_figure
from canewright.accounts.periods import Period, figure_over, season_of, week_of
from canewright.accounts.products import in_specification
from canewright.accounts.reckoning import Reckoning, meters_of, reckon, state_to_json
from canewright.accounts.specifications import MASS_FIGURES, SPECIFICATIONS
from canewright.accounts.trees import stored_leaves, tree_of
from canewright.cane.scheme import Rung, Settlement
from canewright.intervals import TIMES, significant
from canewright.plant.advising import PlantAdvice, advise_plant
from canewright.plant.description import Description
from canewright.plant.plant import Plant
from canewright.quantity import Figure
from canewright.store import ClosedDay, Store

Say = Callable[[str], None]
LONG_AGO = 400
"""Days back in which an earlier stock is looked for."""


class BooksRefused(ValueError):
    """Something asked of the books that cannot be done; the message says why and what to do."""


def _silent(message: str) -> None:
    del message


@dataclass(frozen=True)
class Books:
    """The accounts of one business: a plant and its store."""

    plant: Plant
    store: Store

    def __post_init__(self) -> None:
        """Refuse a plant description with roles or figures that the books do not know."""
        faults = trade_faults(self.description)
        if faults:
            raise BooksRefused("the plant description cannot be used: " + "; ".join(str(f) for f in faults))

    @property
    def description(self) -> Description:
        """The plant description in use."""
        return self.plant.description

    @property
    def season_start(self) -> dt.date | None:
        """First day of the season in the plant description."""
        found = self.description.data.get("plant", {}).get("season_start")
        return found if isinstance(found, dt.date) else None

    # --- reading ----------------------------------------------------------------------------------------------

    def measured(self, day: dt.date) -> MeasuredDay:
        """The day's readings as the plant's meters.

        Raises BooksRefused when the day has no readings.
        """
        readings = self.store.readings(day)
        if not readings:
            raise BooksRefused(f"no readings are stored for {day}; import the day's files first")
        return measure_day(self.description, day, readings, self._opening(day))

    def _opening(self, day: dt.date) -> dict[str, Figure]:
        """Opening stocks by tag: the closing of the day before, else, on the first day of a stock, the description's.

        After a gap the opening is not known: a change over several days is not the change of one.
        """
        listed = self.description.data.get("sheet", {}).get("opening_stocks", {})
        opening = {}
        for meter in self.description.meters:
            if meter.file != "stocks":
                continue
            found = self.store.readings_of(
                meter.tag, STOCK, day - dt.timedelta(days=LONG_AGO), day - dt.timedelta(days=1)
            )
            good = [r for r in found if r.value is not None and r.quality in {"good", "estimated"}]
            if good and good[-1].day == day - dt.timedelta(days=1):
                opening[meter.tag] = reading_figure(good[-1])
            elif not good and meter.tag in listed:
                how = "opening stock of the plant description"
                opening[meter.tag] = Figure(f"{meter.tag}: opening stock", float(listed[meter.tag]), "t", None, how)
        return opening

    def preview(self, day: dt.date, say: Say = _silent) -> tuple[dict[str, Any], dict[str, Any]]:
        """The account and the state of a day as it would be closed now, without storing anything."""
        account, reckoning = self._account(day, say)
        return account, _plain(state_to_json(reckoning))

    # --- closing ----------------------------------------------------------------------------------------------

    def close(self, day: dt.date, by: str, reason: str | None = None, say: Say = _silent) -> ClosedDay:
        """Work the day out and store its figures with their trees and its reconciled state.

        Raises BooksRefused, NotSolved or a store error, each with what to do; nothing is stored then.
        """
        account, reckoning = self._account(day, say)
        say("storing the closed day")
        return self.store.close_day(
            day,
            by,
            self.description.text,
            account,
            _plain(state_to_json(reckoning)),
            reckoning.measured.used,
            reason=reason,
        )

    def reopen(self, day: dt.date, by: str, reason: str) -> ClosedDay:
        """Open a closed day again with a reason; the published version stays readable."""
        return self.store.reopen_day(day, by, reason)

    def _account(self, day: dt.date, say: Say) -> tuple[dict[str, Any], Reckoning]:
        say("collecting the day's readings")
        measured = self.measured(day)
        say(f"reconciling {len(measured.values)} readings with {len(self.plant.model.laws)} equations")
        reckoning = reckon(self.plant, measured)
        say("settling the day's consignments")
        settlement, cane_notes = settle_day(
            self.description, day, self.store.consignments(day), self.store.readings(day)
        )
        cane_notes += _questioned(settlement)
        say("week and season to date")
        sheet = self._sheet(day, reckoning)
        meters = meters_of(reckoning)
        tests = _tests(reckoning)
        without = {f.specification.name: (f.figure.value, f.figure.uncertainty) for f in reckoning.without_suspect}
        attention = attention_list(
            self.description, meters, sheet, without, reckoning.next_suspect, reckoning.diagnosis
        )
        account = {
            "day": day.isoformat(),
            "plant": self.description.name,
            "sheet": sheet,
            "attention": [a.to_json() for a in attention],
            "meters": meters,
            "measured": {tag: f.to_json() for tag, f in measured.figures.items()},
            "leaves": stored_leaves(reckoning.leaves),
            "tests": tests,
            "diagnosis": reckoning.diagnosis.sentences,
            "suspect": reckoning.suspect,
            "next_suspect": reckoning.next_suspect,
            "without_suspect": {name: list(pair) for name, pair in without.items()},
            "hours": {k: v for k, v in reckoning.reconciled.state.values.items() if k.startswith("sections.")},
            "stops": [list(s) for s in measured.stops],
            "stocks": dict(measured.stocks),
            "products": in_specification(self.plant, reckoning.reconciled),
            "cane": settlement_to_json(settlement),
            "notes": [
                *measured.notes,
                *cane_notes,
                *self._left_out(day),
                *_at_limits(reckoning),
                *(str(b) for b in reckoning.reconciled.breaches),
            ],
        }
        return _plain(account), reckoning

    def _sheet(self, day: dt.date, reckoning: Reckoning) -> list[dict[str, Any]]:
        wanted = self.description.data.get("sheet", {})
        targets, better = wanted.get("targets", {}), wanted.get("better", {})
        rows = []
        start = self.season_start or day
        earlier = self._earlier(day, start)
        for f in reckoning.figures:
            row = f.to_json(reckoning.leaves)
            row["target"] = float(targets[f.specification.name]) if f.specification.name in targets else None
            row["better"] = better.get(f.specification.name, "")
            for period in (week_of(day, start), season_of(day, start)):
                row[period.name] = self._over(period, row, earlier)
            row["significant"] = significant(row["value"], row["uncertainty"])
            row["read"] = self._weighed(f.specification.name, reckoning)
            self._hanging(row, reckoning)
            rows.append(row)
        return rows

    def _weighed(self, name: str, reckoning: Reckoning) -> float | None:
        """What the meter of a mass reads, for a figure that is the reconciled mass of the same stream."""
        role = MASS_FIGURES.get(name)
        stream = self.description.roles.get(role or "")
        tags = [m.tag for m in self.description.meters if m.stream == stream and m.quantity == "mass"]
        figure = reckoning.measured.figures.get(tags[0]) if tags else None
        return figure.value if figure is not None else None

    @staticmethod
    def _hanging(row: dict[str, Any], reckoning: Reckoning) -> None:
        """A figure that moves by more than its interval without the first suspect hangs on it, and says so."""
        other = next((f for f in reckoning.without_suspect if f.specification.name == row["name"]), None)
        row["without_suspect"] = None
        if other is None or None in (row["value"], row["uncertainty"], other.figure.value):
            return
        row["without_suspect"] = {"value": other.figure.value, "uncertainty": other.figure.uncertainty}
        if abs(row["value"] - float(other.figure.value or 0.0)) > TIMES * row["uncertainty"]:
            row["standing"] = f"hangs on {reckoning.suspect}"

    def _earlier(self, day: dt.date, start: dt.date) -> list[Mapping[str, Any]]:
        closed = self.store.closed_days(min(start, day), day - dt.timedelta(days=1))
        return [c.figures for c in closed if c.status == "closed"]

    def _left_out(self, day: dt.date) -> list[str]:
        """A note on earlier days of the season that hold readings but stand open, so that no sum has them."""
        first = season_of(day, self.season_start or day).first
        standing_open = [d for d in self.store.days() if first <= d < day and not self.store.is_closed(d)]
        if not standing_open:
            return []
        listed = ", ".join(d.isoformat() for d in standing_open)
        return [f"not in week and season to date, because they are not closed: {listed}"]

    @staticmethod
    def _over(period: Period, row: Mapping[str, Any], earlier: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
        rows = [row]
        for account in earlier:
            if period.first <= dt.date.fromisoformat(account["day"]) <= period.last:
                rows += [r for r in account["sheet"] if r["name"] == row["name"]]
        value, u = figure_over(row["name"], rows)
        return {"value": value, "uncertainty": u, "days": len(rows), "significant": significant(value, u)}

    # --- advice -------------------------------------------------------------------------------------------------

    def advice(self, day: dt.date, say: Say = _silent) -> PlantAdvice:
        """What to move, from the day's reconciled state as the readings stand now, the first suspect left out.

        Raises BooksRefused when the day has no readings or the description no moves, NotSolved naming the limits in
        conflict.
        """
        say("reconciling the day")
        reckoning = reckon(self.plant, self.measured(day))
        say("looking for the best moves")
        try:
            return advise_plant(self.plant, reckoning.trusted.state, reckoning.trusted)
        except ValueError as lack:
            raise BooksRefused(str(lack)) from lack

    def worth_of_readings(self, day: dt.date, figure: str, count: int = 3) -> WorthOfReadings:
        """What further or surer readings would make of a figure's interval, the first suspect left out.

        Raises BooksRefused when the day has no readings or the day sheet no such figure.
        """
        trusted = reckon(self.plant, self.measured(day)).trusted
        try:
            return worth_of_readings(self.plant, trusted, figure, count)
        except NoSuchFigure as lack:
            raise BooksRefused(str(lack)) from lack

    # --- showing ------------------------------------------------------------------------------------------------

    def published(self, day: dt.date, version: int | None = None) -> ClosedDay:
        """A closed day as it was published.

        Raises BooksRefused when the day is not closed.
        """
        closed = self.store.closed(day, version)
        if closed is None:
            raise BooksRefused(self._not_published(day, version))
        return closed

    def _not_published(self, day: dt.date, version: int | None) -> str:
        versions = [c.version for c in self.store.closings(day)]
        if version is not None and versions:
            return f"{day} has no version {version}; it has version {', '.join(str(v) for v in versions)}"
        return f"{day} is not closed; close it with: canewright day close --day {day}"

    def figure(self, name: str, day: dt.date) -> Figure:
        """The whole tree of a figure of a closed day.

        Raises BooksRefused naming the figures there are when the name is unknown.
        """
        account = self.published(day).figures
        found = tree_of(account, name)
        if found is None:
            known = ", ".join(r["name"] for r in account["sheet"])
            raise BooksRefused(f"no figure is called '{name}'; the day sheet of {day} has: {known}")
        return found


def _questioned(settlement: Settlement | None) -> list[str]:
    """Consignments with a sample that is not paid on: which, and why."""
    if settlement is None:
        return []
    return [
        f"ticket {line.ticket} ({line.grower}) is paid on the {line.basis}: {'; '.join(line.notes)}"
        for line in settlement.lines
        if line.rung is not Rung.OWN_SAMPLE and any("no juice sample" not in note for note in line.notes)
    ]


def _at_limits(reckoning: Reckoning) -> list[str]:
    """Settings that reconciliation pushed to a limit: what hangs on them has no honest interval."""
    released = set(reckoning.reconciled.result.free)
    stuck = [name for name in reckoning.reconciled.result.at_bound if name in released]
    return [f"held at a limit, so that intervals that hang on it are too narrow: {name}" for name in stuck]


def _plain(data: Any) -> Any:
    """The same data with every number that is not finite as nothing, so that it can be stored and sent."""
    if isinstance(data, dict):
        return {key: _plain(value) for key, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [_plain(value) for value in data]
    return None if isinstance(data, float) and not math.isfinite(data) else data


def _tests(reckoning: Reckoning) -> dict[str, Any]:
    result = reckoning.reconciled.result
    return {
        "objective": result.objective,
        "freedom": result.freedom,
        "level": result.global_level,
        "passes": result.global_passes,
        "iterations": result.iterations,
        "at_bound": list(result.at_bound),
        "readings": len(result.measured),
        "equations": len(result.model.laws),
    }


def figure_names() -> list[str]:
    """Every figure that a day sheet can have."""
    return [s.name for s in SPECIFICATIONS]
