"""How numbers, intervals, money and moments read on a page; nothing is worked out but the width of an interval."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import quote

from canewright.intervals import TIMES

NO_ESTIMATE = "no estimate of uncertainty"
NOT_FROM_ZERO = "not distinguishable from zero"
THIN_SPACE = "\u202f"


def number(value: float | None, decimals: int = 2) -> str:
    """A number with a true minus sign and thousands parted by thin spaces; a dash in words where there is none."""
    if value is None or not math.isfinite(value):
        return "no value"
    text = f"{value:,.{decimals}f}".replace(",", THIN_SPACE)
    return text.replace("-", "−") if float(f"{value:.{decimals}f}") else text.replace("-", "")


def plain(value: float | None) -> str:
    """A number with about five figures, for quantities whose decimals nobody declared."""
    if value is None or not math.isfinite(value):
        return "no value"
    if value == 0:
        return "0"
    decimals = max(0, 4 - math.floor(math.log10(abs(value)))) if abs(value) < 1e5 else 0
    return number(value, min(decimals, 6))


def given(value: float) -> str:
    """A number as a person gave it: limits and targets."""
    return f"{value:.12g}".replace("-", "−")


def short(value: float) -> str:
    """Three figures without trailing noughts, for differences."""
    return given(float(f"{value:.3g}"))


def unit_of(symbol: str) -> str:
    """A unit as it is read: nothing for a plain number."""
    return "" if symbol == "1" else symbol


def spread(uncertainty: float | None, decimals: int = 2) -> str:
    """Half the width of the 95 % interval; two more decimals where it would read as zero."""
    if uncertainty is None or not math.isfinite(uncertainty):
        return ""
    half = TIMES * uncertainty
    if 0 < half < 0.5 * 10.0**-decimals:
        least = 10.0 ** -(decimals + 2)
        return number(half, decimals + 2) if half >= least else f"under {given(least)}"
    return number(half, decimals)


def interval(value: float | None, uncertainty: float | None, decimals: int = 2) -> str:
    """``96.12 ± 0.30``, or the value with the words that its uncertainty is not known."""
    if value is None or not math.isfinite(value):
        return "no value"
    half = spread(uncertainty, decimals)
    return f"{number(value, decimals)} ± {half}" if half else f"{number(value, decimals)}, {NO_ESTIMATE}"


def fitting(value: float | None, uncertainty: float | None) -> str:
    """A value with decimals that fit its interval, where no decimals are declared."""
    if value is None or not math.isfinite(value):
        return "no value"
    if uncertainty is None or not math.isfinite(uncertainty):
        return f"{plain(value)}, {NO_ESTIMATE}"
    half = TIMES * uncertainty
    if half <= 1e-9 * max(abs(value), 1e-9):
        return f"{plain(value)}, held"
    decimals = min(max(0, 1 - math.floor(math.log10(half))), 6)
    return f"{number(value, decimals)} ± {number(half, decimals)}"


def money(value: float | None) -> str:
    """Money a day at stake, or that it cannot be said."""
    return "not priced" if value is None else f"$ {number(value, 0)} a day"


def share(value: float | None) -> str:
    """A share or probability in per cent."""
    if value is None:
        return ""
    percent = 100.0 * value
    return "under 0.1 %" if percent < 0.1 else f"{percent:.1f} %"


def moment(when: dt.datetime) -> str:
    """A moment in UTC, to the minute."""
    return f"{when.astimezone(dt.UTC):%Y-%m-%d %H:%M} UTC"


def standing(row: Mapping[str, Any]) -> str:
    """What a figure rests on, in words: shares of its variance, or the suspect reading that it hangs on."""
    said = str(row["standing"])
    priors = round(100.0 * float(row.get("prior_share") or 0.0))
    if said in {"known", "partly priors"}:
        return f"readings {100 - priors} %, priors {priors} %"
    without = row.get("without_suspect")
    if said.startswith("hangs on") and without:
        return f"{said}: {interval(without['value'], without['uncertainty'], row['decimals'])} without it"
    return said


def checked(meter: Mapping[str, Any]) -> str:
    """How well a meter is checked, in words: by other readings, or only by the priors of the plant description."""
    alone, together = float(meter.get("redundancy_of_readings", 0.0)), float(meter["redundancy"])
    if alone >= 0.5:
        return "well checked by other readings"
    if alone >= 0.05:
        return "checked a little by other readings"
    if together >= 0.05:
        return "checked only by what the plant description expects"
    return "only just determined: nothing else checks it"


def upper_first(text: str) -> str:
    """A capital first letter; the others stay, unlike in the usual function (CCS, pH)."""
    return text[:1].upper() + text[1:]


def path(text: str) -> str:
    """A name as one part of an address."""
    return quote(text, safe="")


FILTERS: Mapping[str, Callable[..., Any]] = {
    "number": number,
    "plain": plain,
    "given": given,
    "unit_of": unit_of,
    "spread": spread,
    "money": money,
    "share": share,
    "moment": moment,
    "checked": checked,
    "standing": standing,
    "path": path,
    "upper_first": upper_first,
}
"""What the templates may use."""
