"""The time account: efficiencies whose denominators are named, because industries count stops differently."""

from __future__ import annotations

from canewright.analysis.declaring import percent
from canewright.properties.ranges import HOURS, HOURS_PRESENT, SHARE
from canewright.quantity.formula import Argument, argument, formula
from canewright.quantity.maths import Num

SASTA = "SASTA Laboratory Manual, 5th ed. 2009 (denominators differ by industry)"


def _hours(says: str, low: float = HOURS[0], high: float = HOURS[1]) -> Argument:
    return argument("h", says, low, high)


@formula(
    result=percent("overall time efficiency", *SHARE),
    equation="efficiency = 100 · crushing / gross",
    source=SASTA,
    status="from memory",
    example=(143.7, 168.0),
    gives=85.5357143,
    crushing=_hours("hours crushing"),
    gross=_hours("gross hours: crushing and all stops", *HOURS_PRESENT),
)
def overall_time_efficiency(crushing: Num, gross: Num) -> Num:
    """Hours crushing per gross hours."""
    return 100.0 * crushing / gross


@formula(
    result=percent("time efficiency on available hours", *SHARE),
    equation="efficiency = 100 · crushing / (gross - outside stops)",
    source=SASTA,
    status="from memory",
    caveat="outside stops: scheduled, no cane, weather; say which are counted",
    example=(143.7, 168.0, 17.0),
    gives=95.1655629,
    crushing=_hours("hours crushing"),
    # longer than any stops taken off it
    gross=argument("h", "gross hours: crushing and all stops", 101.0, HOURS[1]),
    outside=argument("h", "stops for which the factory is not the cause", 0.0, 100.0),
)
def available_time_efficiency(crushing: Num, gross: Num, outside: Num) -> Num:
    """Hours crushing per hours in which the factory could have crushed."""
    return 100.0 * crushing / (gross - outside)


@formula(
    result=percent("mechanical time efficiency", *SHARE),
    equation="efficiency = 100 · crushing / (crushing + mechanical stops)",
    source=SASTA,
    status="from memory",
    example=(143.7, 5.2),
    gives=96.5077233,
    crushing=_hours("hours crushing", *HOURS_PRESENT),
    mechanical=_hours("mechanical and electrical stops"),
)
def mechanical_time_efficiency(crushing: Num, mechanical: Num) -> Num:
    """Hours crushing per hours crushing and stopped for machinery."""
    return 100.0 * crushing / (crushing + mechanical)


@formula(
    result=percent("lost time", *SHARE),
    equation="lost time = 100 · stops / gross",
    source=SASTA,
    status="from memory",
    example=(24.3, 168.0),
    gives=14.4642857,
    stops=_hours("stops of the cause"),
    gross=_hours("gross hours", *HOURS_PRESENT),
)
def lost_time(stops: Num, gross: Num) -> Num:
    """Stops of one cause per gross hours."""
    return 100.0 * stops / gross
