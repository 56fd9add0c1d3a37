"""Sugar in condensates and condenser water: it speaks when the reading arrives, and is a loss at the close.

Sugar in boiler feed foams, carries over and corrodes: the limit is the site's own, diversion follows its procedure,
and a message here is no protection in place of the boiler's own alarm and trip.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from canewright.accounts.attending import Attention
from canewright.accounts.dayfiles import PointReading
from canewright.accounts.formats import Expected
from canewright.plant.stocktaking import MOST_TRACE, TRACE, Trace
from canewright.store import Reading

PARTS = 1e6
DIVERT = "divert this condensate from the boilers now under the site's procedure, and tell the boiler attendant"
LOOK = "look for carry-over and leaking tubes: levels, vacuum, foam, pressures of juice and vapour"
USABLE = ("good", "estimated")


def trace_points(traces: Sequence[Trace]) -> list[Expected]:
    """The readings of sugar in watched waters that are expected, with the limit at which each speaks at once."""
    return [
        Expected(
            "laboratory", t.sample, TRACE, "mg/kg", 0.0, MOST_TRACE, "sugar found in the water", t.limit, _act(t)
        )
        for t in traces
    ]  # fmt: skip


def _act(trace: Trace) -> str:
    return f"{DIVERT}; then {LOOK}" if trace.to_boilers else f"{LOOK}; keep to the discharge licence"


def alarms(rows: Iterable[PointReading]) -> list[str]:
    """What readings above their limits say at once, the highest of each place in one sentence."""
    worst: dict[str, PointReading] = {}
    for row in rows:
        value = row.value
        if value is None or row.quality not in USABLE or value <= row.expected.alarm:
            continue
        before = worst.get(row.expected.place)
        if before is None or value > (before.value or 0.0):
            worst[row.expected.place] = row
    return [alarm_of(row.expected, row.value or 0.0) for row in worst.values()]


def alarm_of(point: Expected, value: float) -> str:
    """What a reading above its limit says at once."""
    return (
        f"{point.place}: {point.quantity} {value:g} {point.unit} is above its limit of {point.alarm:g} {point.unit}: "
        f"{point.act}"
    )


def _above(traces: Sequence[Trace], readings: Iterable[Reading]) -> list[tuple[Trace, list[float]]]:
    """Waters with a reading above the limit, and all their readings."""
    listed = [r for r in readings if r.quantity == TRACE and r.quality in USABLE]
    found = [(t, [r.value for r in listed if r.place == t.sample and r.value is not None]) for t in traces]
    return [(t, values) for t, values in found if values and max(values) > t.limit]


def water_matters(
    traces: Sequence[Trace],
    readings: Sequence[Reading],
    flows: Mapping[str, float],
    hours: Mapping[str, float],
    price: float | None,
) -> list[Attention]:
    """Waters with sugar above their limits at the day's close, with the sugar that left.

    ``flows`` t/h and running ``hours`` are by stream.
    """  # fmt: skip
    found = []
    for trace, mine in _above(traces, readings):
        mean = sum(mine) / len(mine)
        rate = mean / PARTS * flows[trace.stream]
        lost = rate * hours[trace.stream]
        why = (
            f"{mean:.0f} mg/kg on the mean of {len(mine)} readings, limit {trace.limit:g} mg/kg: with "
            f"{flows[trace.stream]:,.0f} t/h of it {rate:.2f} t/h of sugar leaves, {lost:.1f} t on the day"
        )
        money = lost * price if price else None
        found.append(Attention(f"sugar in {trace.sample}", why, _act(trace), money, (trace.sample,), lost, "t"))
    return found
