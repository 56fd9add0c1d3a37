"""Two determinations of one sample side by side: how far apart they are, and whether that is usual for the method."""

from __future__ import annotations

from collections.abc import Sequence

from canewright.accounts.laboratory import METHODS, NotComplete, determine
from canewright.accounts.measuring import reading_figure
from canewright.analysis.precision import PUBLISHED
from canewright.plant.description import Description, Meter
from canewright.web.entering import GridRow
from canewright.web.words import short, unit_of, upper_first

PUBLISHED_AS = {"colour": "colour at pH 7"}
"""The published determination behind a quantity of the plant."""
LIMIT_OF_TWO = 2.8
"""Two results differ by more than 2.8 standard deviations about once in twenty (ISO 5725; from memory)."""


def differences(description: Description, rows: Sequence[GridRow]) -> dict[int, str]:
    """What to say of the duplicates, by number of the row: readings by themselves, determinations at their last row."""
    said = {row.number: _apart(description, row) for row in rows}
    for meter in description.meters:
        method = METHODS.get(meter.quantity)
        if meter.file != "laboratory" or method is None:
            continue
        names = [raw.name for raw in method.raws]
        mine = [row for row in rows if row.point.place == meter.sample and row.point.quantity in names]
        words = _determined(meter, mine)
        if words:
            last = mine[-1].number
            said[last] = f"{said[last]} {words}".strip()
    return {number: words for number, words in said.items() if words}


def _pair(row: GridRow) -> tuple[float, float] | None:
    values = [c.reading.value for c in row.cells if c.reading is not None and c.reading.quality == "good"]
    return (values[0], values[1]) if len(values) == 2 and None not in values else None  # type: ignore[return-value]


def _apart(description: Description, row: GridRow) -> str:
    pair = _pair(row)
    if pair is None:
        return ""
    direct = (
        m
        for m in description.meters
        if m.file == "laboratory" and (m.sample, m.quantity) == (row.point.place, row.point.quantity)
    )
    meter = next((m for m in direct if m.quantity not in METHODS), None)
    if meter is not None:
        return _judged("Duplicates", pair, meter)
    apart = f"{short(abs(pair[0] - pair[1]))} {unit_of(row.point.unit)}".strip()
    return f"Duplicates differ by {apart}."


def _determined(meter: Meter, rows: Sequence[GridRow]) -> str:
    found = []
    for i in range(2):
        raws = {r.point.quantity: reading_figure(c.reading) for r in rows if (c := r.cells[i]).reading is not None}
        try:
            value = determine(meter.quantity, meter.sample, raws, meter.dilution).value if raws else None
        except NotComplete:
            value = None
        if value is not None:
            found.append(value)
    if len(found) < 2:
        return f"{upper_first(meter.quantity)}: {short(found[0])} {meter.unit}." if found else ""
    values = f"{upper_first(meter.quantity)}: {short(found[0])} and {short(found[1])} {meter.unit}; these"
    return _judged(values, (found[0], found[1]), meter)


def _judged(what: str, pair: tuple[float, float], meter: Meter) -> str:
    apart, mean = abs(pair[0] - pair[1]), 0.5 * (pair[0] + pair[1])
    limit, source = _limit(meter, mean)
    close = apart <= limit * (1 + 1e-9)
    verdict = "within" if close else "more than"
    act = "" if close else " Repeat the determination."
    return f"{what} differ by {short(apart)} {meter.unit}, {verdict} {short(limit)} {meter.unit}, {source}.{act}"


def _limit(meter: Meter, mean: float) -> tuple[float, str]:
    """The published repeatability of this quantity and size where there is one, else from the plant description."""
    for each in PUBLISHED:
        if each.determination == PUBLISHED_AS.get(meter.quantity) and each.low <= mean < each.high:
            return each.repeatability, f"the repeatability of the method ({each.source})"
    limit = LIMIT_OF_TWO * meter.standard_uncertainty(mean)
    return limit, "by which two results of the plant description's uncertainty may differ (no repeatability is known)"
