"""What a figure of the day sheet rests on, in words: readings, priors, or one suspect reading."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from canewright.cli.digits import rounded, value_text

NO_SHARE = 0.005
"""Share of the variance below which priors are not mentioned."""


def today_text(row: Mapping[str, Any]) -> str:
    """Today's value, and under it what the meter of the same mass weighed, where there is one."""
    today = value_text(row["value"], row["uncertainty"], row["decimals"])
    read = row.get("read")
    return today if read is None else f"{today}\nweighed {rounded(read, row['decimals'])}"


def standing_text(row: Mapping[str, Any]) -> str:
    """What the figure rests on; of one that hangs on a suspect reading, also its value without that reading."""
    standing = str(row.get("standing", "known")).removeprefix("rests on ")
    if standing in {"known", "partly priors"}:
        return _shares(row.get("prior_share"))
    share = row.get("prior_share")
    priors = "" if share is None or standing == "priors only" else f", priors {round(100.0 * share)} %"
    without = row.get("without_suspect")
    if standing.startswith("hangs on") and without:
        return f"{standing}; without it {value_text(without['value'], without['uncertainty'], row['decimals'])}{priors}"
    return f"{standing}{priors}"


def _shares(prior_share: float | None) -> str:
    if prior_share is None or prior_share < NO_SHARE:
        return "readings"
    priors = round(100.0 * prior_share)
    return f"readings {100 - priors} %, priors {priors} %"
