"""What instruments and people of the invented season write down of a true day: rows of the day's own files."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from canewright.accounts.formats import HOURS, LABORATORY, METERS
from canewright.accounts.measuring import RUNNING, fibre_classes
from canewright.demonstration.course import TrueDay
from canewright.demonstration.faults import CORRECTION, DIP_LOW, LATE, Variant, drift_of
from canewright.demonstration.noise import MOVED, STOCK_NOISE, TRACE, errs_of
from canewright.demonstration.raw_readings import HIGHEST_READ, raws
from canewright.plant.description import Meter
from canewright.plant.plant import Plant
from canewright.plant.stocktaking import TRACE as SUGAR

Row = dict[str, Any]
Rows = dict[str, list[Row]]
SHIFTS = 3
ANALYSTS = ("shift chemist 1", "shift chemist 2", "shift chemist 3")
MISSING = 0.018
"""Share of laboratory results that never come."""
OUTAGE_EVERY = 10.0
"""Days from one outage of the panel to the next, on average; it takes a shift's readings of what is not weighed."""
USUAL_TRACE = (3.0, 2.0)
"""Sugar usually found in condensates, mg/kg: mean and spread."""


@dataclass
class Slips:
    """Results written with two digits exchanged (day, tag, how far off the day's figure is), and late corrections."""

    found: list[tuple[int, str, float]] = field(default_factory=list)
    corrections: list[Row] = field(default_factory=list)


class Instruments:
    """Every instrument with its lasting bias, drawn once; what each writes down of a day."""

    def __init__(self, plant: Plant, variant: Variant, start: dt.date, chance: np.random.Generator) -> None:
        """Draw the biases."""
        self.plant, self.variant, self.begin = plant, variant, start
        self.noise, self.slip, self.stock, self.water = chance.spawn(4)
        self.slips = Slips()
        meters = plant.description.meters
        self.expressions = plant.measure(meters)
        self.errs = {m.tag: e for m in meters if (e := errs_of(m)) is not None}
        self.biases = dict(zip(self.errs, self.noise.standard_normal(len(self.errs)), strict=True))
        self.moved_biases = dict(zip(MOVED, self.noise.standard_normal(len(MOVED)), strict=True))
        self.trace_bias, self.survey_bias = self.noise.standard_normal(2)
        self.yesterday: dict[tuple[str, int], float] = {}
        self.pile_of_bagasse = float(plant.description.data["sheet"]["opening_stocks"]["bagasse stack"])

    def true_values(self, day: TrueDay) -> tuple[dict[str, float], list[dict[str, float]]]:
        """What perfect meters would read of the day and of its shifts."""
        tags = [m.tag for m in self.plant.description.meters]
        whole = dict(zip(tags, self.expressions.at(day.mean).tolist(), strict=True))
        return whole, [dict(zip(tags, self.expressions.at(s).tolist(), strict=True)) for s in day.shifts]

    def clock(self, day: int, hours: float) -> str:
        """Date and time by the plant's clock, hours after the cut of a day."""
        at = dt.datetime.combine(self.begin, dt.time(self.plant.description.cut_hour))
        return f"{at + dt.timedelta(days=day - 1, hours=hours):%Y-%m-%d %H:%M}"

    def rows(self, day: TrueDay) -> Rows:
        """The rows of meters, laboratory and hours; stocks and what moved come from the stores."""
        whole, shifts = self.true_values(day)
        files: Rows = {METERS.name: [], LABORATORY.name: [], HOURS.name: self._hours(day)}
        out = self.noise.random() < 1.0 / OUTAGE_EVERY
        dark = int(self.noise.integers(SHIFTS)) if out else -1
        seen: set[tuple[str, str, int]] = set()
        for meter in self.plant.description.meters:
            if meter.file == METERS.name.removesuffix(".csv"):
                files[METERS.name] += self._meter(day, meter, whole, shifts, dark)
            elif meter.file == LABORATORY.name.removesuffix(".csv"):
                files[LABORATORY.name] += self._laboratory(day, meter, whole, shifts, seen)
        files[LABORATORY.name] += self._fibre_classes(day)
        return files

    # --- meters -----------------------------------------------------------------------------------------------------

    def _fault(self, tag: str, day: int) -> float:
        """Relative error of a meter by a planted fault."""
        if tag == "raw sugar weight" and self.variant.fault("A"):
            return drift_of(day)
        return DIP_LOW if tag == "final molasses weight" and self.variant.on("W", day) else 0.0

    def _meter(
        self, day: TrueDay, meter: Meter, whole: Mapping[str, float], shifts: Sequence[Mapping[str, float]], dark: int
    ) -> list[Row]:
        errs, section = self.errs[meter.tag], self._section(meter)
        single, rows = errs.readings == 1, []
        parts = [whole[meter.tag]] if single else [s[meter.tag] for s in shifts]
        if meter.quantity == "mass" and not single:
            parts = _weighed([m * day.hours(section, k) / day.hours(section) for k, m in enumerate(parts)], meter.low)
        for k, exact in enumerate(parts):
            if not single and (exact <= 0 or day.hours(section, k) <= 0):
                continue
            noise, bias = errs.sizes(exact)
            fault = 1.0 + self._fault(meter.tag, day.number)
            shown = exact * fault + self.biases[meter.tag] * bias
            shown += self.variant.noise * noise * float(self.noise.standard_normal())
            value = self._stepped(shown, errs.step)
            quality = "missing" if k == dark and meter.quantity != "mass" else "good"
            hours = 24.0 if single else 8.0 * (k + 1)
            rows.append(self._row(day.number, hours, {"meter": meter.tag}, value, meter.unit, "panel", quality))
        return rows

    def _section(self, meter: Meter) -> str:
        return self.plant.description.stations[meter.stream.partition(".")[0]].section

    @staticmethod
    def _stepped(value: float, step: float) -> float:
        return float(f"{round(value / step) * step:.6g}")

    # --- laboratory -------------------------------------------------------------------------------------------------

    def _laboratory(
        self, day: TrueDay, meter: Meter, whole: Mapping[str, float], shifts: Sequence[Mapping[str, float]],
        seen: set[tuple[str, str, int]],
    ) -> list[Row]:  # fmt: skip
        errs, section, rows = self.errs[meter.tag], self._section(meter), []
        if meter.quantity == "refractometer brix" and whole[meter.tag] / (1 + meter.dilution) > HIGHEST_READ:
            return []
        single = errs.readings == 1
        for k in range(1 if single else SHIFTS):
            exact = whole[meter.tag] if single else shifts[k][meter.tag]
            noise, bias = errs.sizes(exact)
            result = exact + self.biases[meter.tag] * bias
            result += self.variant.noise * noise * float(self.noise.standard_normal())
            quality = "missing" if self.noise.random() < MISSING else "good"
            if not single and day.hours(section, k) <= 0:
                continue
            result = self._as_written(day.number, meter, result, k, 1 if single else SHIFTS)
            rows += self._determination(day.number, meter, result, 24.0 if single else 8.0 * (k + 1), k, seen, quality)
        return rows

    def _as_written(self, day: int, meter: Meter, result: float, shift: int, of: int) -> float:
        """The result as the analyst writes it: mistyped, or copied from the day before."""
        slips, swap = self.slip.random() < self.variant.typing_errors, self.slip.random()
        if meter.tag == "raw sugar pol" and self.variant.on("B2", day):
            return 98.59
        kept = (meter.tag, shift)
        if meter.tag == "bagasse pol" and self.variant.on("B4", day) and kept in self.yesterday:
            return self.yesterday[kept]
        if meter.tag == "final molasses purity" and day == LATE and self.variant.fault("K"):
            return result - CORRECTION
        if slips:
            wrong = _exchanged(round(result, 2), swap)
            if meter.low < wrong < meter.high and (meter.quantity != "apparent purity" or wrong < 99.5):
                self.slips.found.append((day, meter.tag, (wrong - result) / of))
                result = wrong
        self.yesterday[kept] = result
        return result

    def _determination(
        self,
        day: int,
        meter: Meter,
        value: float,
        hours: float,
        shift: int,
        seen: set[tuple[str, str, int]],
        quality: str,
    ) -> list[Row]:
        rows = []
        bounded = min(max(value, meter.low), meter.high)
        for name, (number, unit) in raws(meter, bounded, self.noise).items():
            if (meter.sample, name, shift) in seen:
                continue
            seen.add((meter.sample, name, shift))
            named = {"sample": meter.sample, "determination": name, "duplicate": 0}
            rows.append(self._row(day, hours, named, number, unit, ANALYSTS[shift], quality))
        if meter.tag == "final molasses purity" and day == LATE and self.variant.fault("K") and quality == "good":
            self._correct_later(rows)
        return rows

    def _correct_later(self, rows: Sequence[Row]) -> None:
        """The pol of a purity that will be corrected, as it should have been written."""
        pol, brix = (next(r for r in rows if r["determination"].startswith(word)) for word in ("pol", "brix"))
        right = round(pol["value"] + CORRECTION * brix["value"] / 100.0, 3)
        self.slips.corrections.append({**pol, "value": right})

    def _fibre_classes(self, day: TrueDay) -> list[Row]:
        rows = []
        for name, fibre in fibre_classes(self.plant.description).items():
            value = round(float(fibre + self.noise.normal(0.1, 0.3)), 1)
            named = {"sample": f"fibre class {name}", "determination": "fibre", "duplicate": 0}
            rows.append(self._row(day.number, 24.0, named, value, "%", ANALYSTS[2], "good"))
        return rows

    def trace_rows(self, day: TrueDay, sample: str, extra: Sequence[float]) -> list[Row]:
        """Sugar found in a water by shift; ``extra`` is what a fault brings, mg/kg."""
        rows = []
        for k in range(SHIFTS):
            usual = abs(float(self.water.normal(*USUAL_TRACE)))
            true = usual + extra[k]
            shown = true * (1 + TRACE[1] / 100.0 * self.trace_bias)
            shown *= 1 + self.variant.noise * TRACE[0] / 100.0 * float(self.water.standard_normal())
            named = {"sample": sample, "determination": SUGAR, "duplicate": 0}
            if day.hours("mill", k) > 0:
                value = float(max(round(shown), 0))
                rows.append(self._row(day.number, 8.0 * (k + 1), named, value, "mg/kg", ANALYSTS[k], "good"))
        return rows

    # --- hours and stocks -------------------------------------------------------------------------------------------

    def _hours(self, day: TrueDay) -> list[Row]:
        return [
            {
                "section": section, "from": self.clock(day.number, p.start / 60),
                "to": self.clock(day.number, p.end / 60), "what": RUNNING if p.what == "running" else p.what,
            }
            for section, parts in day.periods.items()
            for p in parts
            if p.end > p.start
        ]  # fmt: skip

    def moved_row(self, day: int, tag: str, exact: float, hours: float) -> tuple[Row, float]:
        """A load or rake as weighed, and the weight."""
        errs = MOVED[tag]
        noise, bias = errs.sizes(exact)
        shown = exact + self.moved_biases[tag] * bias + self.variant.noise * noise * float(self.stock.standard_normal())
        value = self._stepped(shown, errs.step)
        return self._row(day, hours, {"meter": tag}, value, "t", "weighbridge", "good"), value

    def stock_row(self, day: int, store: str, exact: float) -> Row:
        """A closing stock as read."""
        value = exact + self.variant.noise * STOCK_NOISE[store] * float(self.stock.standard_normal())
        return self._row(day, 24.0, {"store": store}, max(round(value, -1), 0.0), "t", "store clerk", "good")

    def survey_row(self, day: int, store: str, exact: float, survey: tuple[float, float, float]) -> Row:
        """A pile as surveyed; an empty store is seen to be empty."""
        noise, bias, step = survey
        drawn = float(self.stock.standard_normal())
        value = exact * (1 + bias / 100.0 * self.survey_bias + self.variant.noise * noise / 100.0 * drawn)
        return self._row(day, 24.0, {"store": store}, max(round(value / step) * step, 0.0), "t", "surveyor", "good")

    def bagasse_row(self, day: TrueDay, change: float) -> Row:
        """The bagasse stack after a day's true change."""
        self.pile_of_bagasse += change
        return self.stock_row(day.number, "bagasse stack", self.pile_of_bagasse)

    def _row(
        self, day: int, hours: float, named: Mapping[str, Any], value: float, unit: str, by: str, quality: str
    ) -> Row:
        shown: Any = "" if quality == "missing" else value
        return {"time": self.clock(day, hours), **named, "value": shown, "unit": unit, "quality": quality, "by": by}


def _weighed(masses: Sequence[float], least: float) -> list[float]:
    """Masses by shift, what is too little to be read off alone left to the shift beside it."""
    found = list(masses)
    for k, other in ((0, 1), (2, 1), (1, 0)):
        if 0 < found[k] < 2.0 * least:
            found[other] += found[k]
            found[k] = 0.0
    return found


def _exchanged(value: float, chance: float) -> float:
    """The value with two neighbouring digits exchanged."""
    text = f"{value:.2f}"
    places = [k for k in range(len(text) - 1) if text[k].isdigit() and text[k + 1].isdigit() and text[k] != text[k + 1]]
    if not places:
        return value
    k = places[int(chance * len(places))]
    swapped = list(text)
    swapped[k], swapped[k + 1] = swapped[k + 1], swapped[k]
    return float("".join(swapped))
