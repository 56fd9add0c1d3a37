"""The terms of a harvest plan and of a yard forecast, as typed or by default."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from canewright.accounts.cane_season import CaneRefused
from canewright.cane.registers import nearest
from canewright.plans import HarvestPrices

NO_BAND = 100.0
"""A band of so many points is no band."""


@dataclass(frozen=True)
class HarvestTerms:
    """What a plan is asked to keep. ``band`` points of a farm's share cut against the district's (None: no band).

    ``youngest``, ``oldest`` months at the cut; ``cutting`` share of a group's hours in which it cuts; ``standover`` $ a
    tonne lost by cane left for the next season (None: all is cut). Defaults are ours.
    """

    band: float | None = 10.0
    catch_up: int | None = None
    youngest: float = 0.0
    oldest: float = 36.0
    cutting: float = 1.0
    standover: float | None = None
    prices: HarvestPrices = field(default_factory=HarvestPrices)

    def __post_init__(self) -> None:
        """Refuse what cannot be. Raises CaneRefused."""
        if self.band is not None and not 0.0 < self.band <= 100.0:
            raise CaneRefused(f"equity band: found {self.band:g} points; accepted: above 0 and up to 100, or no band")
        if not 0.0 <= self.youngest < self.oldest:
            raise CaneRefused(
                f"age at the cut: found {self.youngest:g} to {self.oldest:g} months; accepted: a lower before a higher"
            )
        if not 0.0 < self.cutting <= 1.0 or (self.catch_up is not None and self.catch_up < 1):
            raise CaneRefused(
                f"cutting share {self.cutting:g}, catching up {self.catch_up} weeks; accepted: above 0 to 1, 1 or more"
            )


@dataclass(frozen=True)
class YardTerms:
    """What a yard forecast is made with; defaults are ours."""

    crush: float = 420.0
    opening: float = 3000.0
    bin_tonnes: float = 6.0
    bins_a_load: int = 6
    receive_minutes: float = 3.5
    places: int = 2
    haul_hours: float = 2.0
    seed: int = 1

    def __post_init__(self) -> None:
        """Refuse what cannot be. Raises CaneRefused."""
        if not (self.bin_tonnes > 0.0 and self.bins_a_load >= 1 and self.receive_minutes > 0.0 and self.places >= 1):
            raise CaneRefused(
                f"bins of {self.bin_tonnes:g} t, {self.bins_a_load} a load, {self.receive_minutes:g} min to receive at "
                f"{self.places} places; accepted: above 0, 1 or more, above 0, 1 or more"
            )
        if not 0.0 <= self.haul_hours < 6.0:
            raise CaneRefused(f"haul hours: found {self.haul_hours:g}; accepted: 0 up to 6 h from loading to the yard")


def plan_terms(typed: Mapping[str, str]) -> HarvestTerms:
    """Terms of a plan from name=value. Raises CaneRefused for an unknown name or a value that is no number."""
    found = _read(typed, HarvestTerms, HarvestPrices)
    prices = {f.name: found.pop(f.name) for f in fields(HarvestPrices) if f.name in found}
    if found.get("band") == NO_BAND:
        found["band"] = None
    try:
        return HarvestTerms(**found, prices=HarvestPrices(**prices))
    except ValueError as wrong:
        raise CaneRefused(str(wrong)) from wrong


def yard_terms(typed: Mapping[str, str]) -> YardTerms:
    """Terms of a yard forecast from name=value. Raises CaneRefused."""
    return YardTerms(**_read(typed, YardTerms))


def _read(typed: Mapping[str, str], *kinds: Any) -> dict[str, Any]:
    known = {f.name: f for kind in kinds for f in fields(kind) if f.name != "prices"}
    found: dict[str, Any] = {}
    for word, text in typed.items():
        name = word.strip().lower().replace(" ", "_").replace("-", "_")
        words = [each.replace("_", " ") for each in known]
        if name not in known:
            near = nearest(word, words)
            hint = f"did you mean {' or '.join(near)}" if near else f"accepted: {', '.join(words)}"
            raise CaneRefused(f"--set: found the term '{word[:40]}'; {hint}")
        whole = str(known[name].type).startswith("int")
        try:
            found[name] = int(text) if whole else float(text)
        except ValueError:
            accepted = "a whole number" if whole else "a number such as 10 or 0.75"
            raise CaneRefused(f"--set {word.strip()}: found '{text[:40]}'; accepted: {accepted}") from None
        if not math.isfinite(found[name]):
            raise CaneRefused(f"--set {word.strip()}: found '{text[:40]}'; accepted: a finite number")
    return found
