"""The tables that a harvest plan is made from, checked: blocks, weeks, limits and what was cut before."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]

MOST_TOLD = 20
"""Contradictions told one by one before the rest is only counted."""


class HarvestRefused(ValueError):
    """Tables that no plan can be made from; ``reasons`` are the sentences, the message all of them."""

    def __init__(self, reasons: list[str]) -> None:
        """The reasons, most of them told."""
        self.reasons = reasons
        more = [f"and {len(reasons) - MOST_TOLD} more"] if len(reasons) > MOST_TOLD else []
        super().__init__("; ".join(reasons[:MOST_TOLD] + more))


@dataclass(frozen=True)
class HarvestTables:
    """B blocks of F farms in G groups over W weeks; rows are blocks, farms or groups, columns are weeks.

    ``tonnes`` t of a block if all of it is cut in that week; ``crop`` t by which its farm's share is counted;
    ``worth`` $ a tonne; ``may_cut`` by age and orders; ``ordered`` blocks that must go by a day, burnt or diseased,
    which do not count in their farm's share; ``workable`` share of the week in which the block's ground bears
    wheels; ``haul_hours`` of a vehicle for a tonne; ``crush``, ``least`` t and ``haul`` vehicle hours of each week
    (infinite: no limit); ``group_tonnes`` t that a group cuts in a week of dry ground; ``cut`` t of each farm cut
    before; ``band`` how far a farm's share cut may be from the district's at the end of each week, as a share
    (None: no band); ``catch_up`` weeks in which what is behind the band at the start is made good (None: by the
    season's end); ``standover`` $ a tonne lost by cane left for the next season (None: all must be cut).
    """

    blocks: tuple[str, ...]
    farms: tuple[str, ...]
    groups: tuple[str, ...]
    weeks: tuple[str, ...]
    farm: Whole
    group: Whole
    crop: Floats
    tonnes: Floats
    worth: Floats
    may_cut: Flags
    ordered: Flags
    workable: Floats
    haul_hours: Floats
    crush: Floats
    least: Floats
    haul: Floats
    group_tonnes: Floats
    cut: Floats
    band: float | None = 0.10
    catch_up: int | None = None
    standover: float | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be. Raises HarvestRefused with every reason."""
        reasons = [*self._misshapen(), *self._impossible()] or self._without_a_week()
        if reasons:
            raise HarvestRefused(reasons)

    def _misshapen(self) -> list[str]:
        B, F, G, W = len(self.blocks), len(self.farms), len(self.groups), len(self.weeks)
        wanted = {
            "farm": (B,), "group": (B,), "crop": (B,), "ordered": (B,), "haul_hours": (B,), "tonnes": (B, W),
            "worth": (B, W), "may_cut": (B, W), "workable": (B, W), "crush": (W,), "least": (W,), "haul": (W,),
            "group_tonnes": (G, W), "cut": (F,),
        }  # fmt: skip
        if not B or not W:
            return ["nothing is left to plan: give at least one block that stands and one week to come"]
        return [
            f"{name}: found {getattr(self, name).shape}; accepted: {shape}"
            for name, shape in wanted.items()
            if getattr(self, name).shape != shape
        ]

    def _impossible(self) -> list[str]:
        if self._misshapen():
            return []
        told = [
            f"block {self.blocks[b]}: found {self.crop[b]:.1f} t; accepted: more than 0 t; correct area and estimate"
            for b in np.flatnonzero(~(self.crop > 0.0))
        ]
        told += [
            f"week of {self.weeks[w]}: found a crush of {self.crush[w]:.0f} t and a least of {self.least[w]:.0f} t; "
            "accepted: a least from 0 t up to the crush"
            for w in np.flatnonzero(~((self.least >= 0.0) & (self.crush >= self.least)))
        ]
        if not np.any(self.crush > 0.0):
            told.append("no week has any crush capacity; give t a week")
        if self.band is not None and not 0.0 < self.band <= 1.0:
            told.append(f"equity band: found {100 * self.band:g} points; accepted: more than 0 and up to 100")
        finite = all(np.all(np.isfinite(getattr(self, n))) for n in ("tonnes", "worth", "workable", "crush", "cut"))
        return told if finite else [*told, "tonnes, worth, workable shares and capacities must all be numbers"]

    def _without_a_week(self) -> list[str]:
        """Blocks with no week left, and crops that the mill cannot crush: they need no solver to be seen."""
        told = [
            f"block {self.blocks[b]} may be cut in none of the weeks {self.weeks[0]} to {self.weeks[-1]}: its orders, "
            "its age limits and the ground leave none; correct the order, or let the cane stand over"
            for b in np.flatnonzero(~self.possible.any(axis=1) & (self.ordered | (self.standover is None)))
        ]
        room, crop = float(self.crush.sum()), float(self.crop.sum())
        if self.standover is None and room < 0.999 * crop:
            told.append(
                f"the mill crushes at most {room:.0f} t in these weeks and {crop:.0f} t stand: {crop - room:.0f} t too "
                "much; add weeks or capacity, or give a price for cane that stands over"
            )
        return told

    @property
    def possible(self) -> Flags:
        """Where a block may be cut and the ground bears wheels at least for part of the week."""
        found: Flags = self.may_cut & (self.workable > 0.0) & (self.tonnes > 0.0)
        return found

    @property
    def counted(self) -> Floats:
        """Cane by block that counts in its farm's share, t: what is ordered to be cut is nobody's turn."""
        return np.where(self.ordered, 0.0, self.crop)

    @property
    def farm_total(self) -> Floats:
        """All cane of each farm that counts in its share, cut and standing, t."""
        return np.asarray(np.bincount(self.farm, self.counted, len(self.farms)) + self.cut, dtype=np.float64)

    @property
    def farm_bands(self) -> tuple[Floats, Floats]:
        """How far each farm may be behind and ahead of the district by week, as shares of its cane.

        Wider than the band where a farm begins beyond it: what it is behind closes evenly within the weeks of catching
        up, else by the season's end, and what it is ahead by the end, as fast as the crush goes on. Cutting every
        farm's rest alike keeps the latter. A farm without cane that counts has no band.
        """
        total = self.farm_total
        share = np.divide(self.cut, total, out=np.zeros_like(total), where=total > 0.0)
        ahead = share - self.cut.sum() / max(total.sum(), 1e-9)
        rest = 1.0 - np.cumsum(self.crush) / self.crush.sum()
        weeks = np.arange(1, len(self.weeks) + 1)
        soon = rest if self.catch_up is None else np.minimum(rest, np.maximum(0.0, 1.0 - weeks / self.catch_up))
        band = 1.0 if self.band is None else self.band
        idle = (total <= 0.0)[:, None]
        behind = np.maximum(band, np.maximum(-ahead, 0.0)[:, None] * soon)
        before = np.maximum(band, np.maximum(ahead, 0.0)[:, None] * rest)
        return np.where(idle, 1.0, behind), np.where(idle, 1.0, before)
