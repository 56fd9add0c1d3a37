"""The day's stored readings as what the plant's meters say: one figure a meter, and the settings known for the day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from canewright.accounts.day_mean import Timed, day_mean
from canewright.accounts.dayfiles import FactoryDay
from canewright.accounts.formats import Expected
from canewright.accounts.laboratory import NotComplete, determine, mean, raws_of
from canewright.accounts.waters import trace_points
from canewright.plant.assembly import hours_name
from canewright.plant.description import Description, Meter
from canewright.plant.stocktaking import ledgers_of, movements_of, traces_of
from canewright.quantity import Figure
from canewright.quantity.figure import Source
from canewright.store import Reading

RUNNING = "running"
STOCK = "stock"


@dataclass(frozen=True)
class MeasuredDay:
    """What the readings say: a figure for each meter that has one, known settings, and notes on what is lacking.

    ``determinations`` counts, by meter, what its figure is the mean of. ``uncertainties`` and ``priors`` are those
    that a season knows better than the description.
    """

    day: dt.date
    figures: Mapping[str, Figure]
    settings: Mapping[str, float]
    notes: tuple[str, ...]
    stops: tuple[tuple[str, str, float], ...]
    used: tuple[int, ...]
    stocks: Mapping[str, float] = field(default_factory=dict)
    determinations: Mapping[str, int] = field(default_factory=dict)
    uncertainties: Mapping[str, float] = field(default_factory=dict)
    priors: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def values(self) -> dict[str, float]:
        """Value of each meter by tag."""
        return {tag: figure.value for tag, figure in self.figures.items() if figure.value is not None}


def expected_points(description: Description) -> list[Expected]:
    """Every reading that the plant description asks for, for templates and for checking the day's files."""
    points = []
    for meter in description.meters:
        if meter.file == "laboratory":
            points += [
                Expected("laboratory", meter.sample, r.name, r.unit, r.low, r.high, r.hint)
                for r in raws_of(meter.quantity, meter.unit, meter.low, meter.high, meter.hint)
            ]
        elif meter.file == "stocks":
            points.append(Expected("stocks", meter.tag, STOCK, "t", 0.0, 1e6, "the closing stock of the day"))
        else:
            points.append(Expected("meters", meter.tag, meter.quantity, meter.unit, meter.low, meter.high, meter.hint))
    points += fibre_points(description)
    points += _watched_points(description)
    points += [
        Expected("stocks", name, STOCK, "t", 0.0, 1e6, "the closing stock of the day")
        for name in further_stocks(description)
    ]
    return _once(points)


def _watched_points(description: Description) -> list[Expected]:
    """What moves to and from the stores beside the plant's meters, and sugar in the watched waters."""
    moved = "a mass that was moved on the day; each rake or load a row of its own"
    points = [Expected("meters", m.tag, "mass", "t", 0.0, 1e5, moved) for m in movements_of(description.data)]
    return points + trace_points(traces_of(description.data))


def further_stocks(description: Description) -> list[str]:
    """Stocks that are read and shown but that no equation uses: cane in the yard, sugar in the silo."""
    listed = [str(name) for name in description.data.get("sheet", {}).get("further_stocks", [])]
    metered = {m.tag for m in description.meters}
    kept = [ledger.store for ledger in ledgers_of(description.data) if ledger.store not in metered]
    return list(dict.fromkeys([*listed, *kept]))


def fibre_points(description: Description) -> list[Expected]:
    """The fibre of each class of cane, which the laboratory determines on composites."""
    hint = "fibre is in per cent of cane: 14, not 0.14"
    return [
        Expected("laboratory", f"fibre class {name}", "fibre", "%", 5.0, 30.0, hint)
        for name in fibre_classes(description)
    ]


def fibre_classes(description: Description) -> dict[str, float]:
    """The fibre classes of the agreement with the fibre used where the day has no result, %."""
    table = description.data.get("cane", {}).get("fibre_classes", {})
    return {str(k): float(v) for k, v in table.items()}


def _once(points: Iterable[Expected]) -> list[Expected]:
    return list({(p.file, p.place, p.quantity): p for p in points}.values())


def reading_figure(reading: Reading) -> Figure:
    """A stored reading as a leaf of a figure's tree."""
    when = reading.taken_at.isoformat(timespec="minutes")
    note = f"{reading.quality}; by {reading.taken_by} at {when}; {reading.source}"
    return Figure(
        f"{reading.place}: {reading.quantity}", reading.value, reading.unit, None, "reading", (),
        f"reading {reading.id}", note, 3,
    )  # fmt: skip


def measure_day(
    description: Description, day: dt.date, readings: Sequence[Reading], before: Mapping[str, Figure]
) -> MeasuredDay:
    """What each meter says of the day. ``before`` holds the opening stocks by tag, each with where it comes from.

    Missing and bad readings are left out and noted; nothing here raises for them.
    """
    notes: list[str] = []
    figures: dict[str, Figure] = {}
    used: list[int] = []
    good = [r for r in readings if r.value is not None and r.quality in {"good", "estimated"}]
    bad = [r for r in readings if r.quality in {"bad", "missing"}]
    notes += _marked(bad)
    broken = {r.place for r in bad if r.quantity == "mass"}
    parts = _Parts(description, day, good, broken)
    determinations: dict[str, int] = {}
    for meter in description.meters:
        if meter.quantity == "mass" and meter.tag in broken:
            notes.append(f"{meter.tag}: a part of the day is bad or missing, so its total for the day is not known")
            continue
        mine = [r for r in good if r.place == (meter.sample if meter.file == "laboratory" else meter.tag)]
        figure, count = _figure_of(meter, mine, before, parts, notes)
        if figure is not None:
            figures[meter.tag] = figure
            determinations[meter.tag] = count
            used += [r.id for r in mine]
    settings, stops = _hours(description, good, notes)
    closing = {r.place: float(r.value) for r in good if r.quantity == STOCK and r.value is not None}
    lacking = [m.tag for m in description.meters if m.tag not in figures]
    if lacking:
        notes.append(f"no usable reading of: {', '.join(lacking)}")
    return MeasuredDay(
        day, figures, settings, tuple(notes), tuple(stops), tuple(sorted(set(used))), closing, determinations
    )


def _marked(readings: Sequence[Reading]) -> list[str]:
    """What is marked bad or missing, one note for each place, and one for all consignments together."""
    tickets = sorted({r.place for r in readings if r.place.startswith("ticket ")})
    notes = []
    if tickets:
        few = ", ".join(t.removeprefix("ticket ") for t in tickets[:6])
        more = f" and {len(tickets) - 6} more" if len(tickets) > 6 else ""
        notes.append(f"{len(tickets)} consignments with a juice sample marked bad or missing: tickets {few}{more}")
    places = dict.fromkeys(r.place for r in readings if not r.place.startswith("ticket "))
    for place in places:
        mine = [r for r in readings if r.place == place]
        said = ", ".join(f"{q} ({', '.join(sorted({r.quality for r in mine if r.quantity == q}))})"
                         for q in dict.fromkeys(r.quantity for r in mine))  # fmt: skip
        notes.append(f"{place}: not used: {said}")
    return notes


class _Parts:
    """The parts of the day that single samples and readings stand for."""

    def __init__(self, description: Description, day: dt.date, good: Sequence[Reading], broken: set[str]) -> None:
        self._window = FactoryDay(day, description.cut_hour, ZoneInfo(description.zone))
        self._tonnes: dict[str, dict[dt.datetime, Figure]] = {}
        for meter in description.meters:
            if meter.quantity == "mass" and meter.file == "meters" and meter.tag not in broken:
                mine = [r for r in good if r.place == meter.tag and r.quantity == "mass"]
                self._tonnes.setdefault(meter.stream, {r.taken_at: reading_figure(r) for r in mine})

    def mean(self, meter: Meter, parts: Sequence[Timed]) -> Figure:
        """The day's mean of what a meter read."""
        return day_mean(meter.tag, parts, meter.unit, self._window, self._tonnes.get(meter.stream, {}))


def _figure_of(
    meter: Meter, mine: Sequence[Reading], before: Mapping[str, Figure], parts: _Parts, notes: list[str]
) -> tuple[Figure | None, int]:
    """The day's figure of a meter, if any, and of how many determinations it is the mean."""
    if meter.file == "laboratory":
        return _laboratory(meter, mine, parts, notes)
    if meter.file == "stocks":
        return _stock_change(meter, mine, before, notes), 1
    direct = [(r.taken_at, reading_figure(r)) for r in mine if r.quantity == meter.quantity]
    if not direct:
        return None, 0
    if meter.quantity == "mass":
        return _sum(meter, [figure for _, figure in direct]), 1
    return parts.mean(meter, direct), len(direct)


def _sum(meter: Meter, parts: Sequence[Figure]) -> Figure:
    if len(parts) == 1:
        return parts[0]
    total = sum(p.value for p in parts if p.value is not None)
    return Figure(meter.tag, total, meter.unit, None, "sum of the day's readings", tuple(Source(p, 1.0) for p in parts))


def _laboratory(meter: Meter, mine: Sequence[Reading], parts: _Parts, notes: list[str]) -> tuple[Figure | None, int]:
    """Raw readings of one time and duplicate number are a determination; duplicates make a sample, samples the day."""
    names = {r.name for r in raws_of(meter.quantity, meter.unit, meter.low, meter.high, meter.hint)}
    sets: dict[dt.datetime, dict[int, dict[str, Figure]]] = {}
    for reading in mine:
        if reading.quantity in names:
            raws = sets.setdefault(reading.taken_at, {}).setdefault(reading.duplicate, {})
            raws[reading.quantity] = reading_figure(reading)
    samples, count = list[Timed](), 0
    for time, determinations in sets.items():
        found = [f for raws in determinations.values() if (f := _determined(meter, raws, notes)) is not None]
        if found:
            samples.append((time, mean(meter.tag, found, meter.unit, "mean of duplicate determinations")))
            count += len(found)
    return (parts.mean(meter, samples) if samples else None), count


def _determined(meter: Meter, raws: Mapping[str, Figure], notes: list[str]) -> Figure | None:
    """One determination, or None with a note where it lacks a reading or is not plausible."""
    try:
        found = determine(meter.quantity, meter.sample, raws, meter.dilution)
    except NotComplete as lack:
        notes.append(str(lack))
        return None
    if found.value is not None and meter.low <= found.value <= meter.high:
        return found
    notes.append(
        f"{meter.tag}: {found.value:.4g} {meter.unit} is outside {meter.low:g} to {meter.high:g} {meter.unit}, not used"
    )
    return None


def _stock_change(
    meter: Meter, mine: Sequence[Reading], before: Mapping[str, Figure], notes: list[str]
) -> Figure | None:
    closing = [reading_figure(r) for r in mine if r.quantity == STOCK]
    if not closing:
        return None
    if meter.tag not in before:
        notes.append(f"{meter.tag}: no closing stock of the day before, so its change over the day is not known")
        return None
    last, opening = closing[-1], before[meter.tag]
    change = (last.value or 0.0) - (opening.value or 0.0)
    how = "closing stock less opening stock"
    return Figure(meter.tag, change, "t", None, how, (Source(last, 1.0), Source(opening, -1.0)))


def _hours(
    description: Description, good: Sequence[Reading], notes: list[str]
) -> tuple[dict[str, float], list[tuple[str, str, float]]]:
    settings, stops = {}, []
    for section in description.sections:
        mine = [r for r in good if r.place == section and r.unit == "h"]
        running = [r.value for r in mine if r.quantity == RUNNING and r.value is not None]
        stops += [(section, r.quantity.removeprefix("stop: "), r.value or 0.0) for r in mine if r.quantity != RUNNING]
        if running:
            settings[hours_name(section)] = sum(running)
        else:
            notes.append(
                f"no running hours of {section}: {description.sections[section]:g} h of the description are used"
            )
    return settings, stops
