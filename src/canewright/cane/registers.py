"""The registers of the cane supply as they stand on a day: who grows where, on what, under which agreement.

An entry holds from its day until the next entry of its key; an entry without details takes the key out. Nothing here
is changed: a newer entry, or a correction kept beside the old one, says something else from a day on.
"""

from __future__ import annotations

import datetime as dt
import difflib
import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

PLANT_CROP = "P"
HIGHEST_RATOON = 15
CROP_CLASSES = (PLANT_CROP, *(f"R{n}" for n in range(1, HIGHEST_RATOON + 1)))
PLANTING_METHODS = ("setts", "billets", "nursery seedlings")
DAYS_OF_A_MONTH = 365.25 / 12.0

Details = Mapping[str, Any]


class Entry(Protocol):
    """What every entry of a register tells."""

    @property
    def register(self) -> str:
        """Name of the register: grower, farm, block ..."""

    @property
    def key(self) -> str:
        """Number or name within the register."""

    @property
    def valid_from(self) -> dt.date:
        """The first day on which it holds."""

    @property
    def details(self) -> Details | None:
        """What holds; None takes the key out."""


@dataclass(frozen=True)
class Span:
    """What held of a key from a day, up to but not including another; None where it still holds."""

    start: dt.date
    end: dt.date | None
    details: Details


class Registers:
    """Entries of all registers, asked by day."""

    def __init__(self, entries: Iterable[Entry]) -> None:
        """The standing entries; their order does not matter."""
        self._entries: dict[str, dict[str, list[tuple[dt.date, Details | None]]]] = defaultdict(dict)
        for each in sorted(entries, key=lambda e: (e.register, e.key, e.valid_from)):
            self._entries[each.register].setdefault(each.key, []).append((each.valid_from, each.details))

    def keys(self, register: str) -> list[str]:
        """Every key that a register ever held, in order."""
        return sorted(self._entries[register])

    def one(self, register: str, key: str, day: dt.date) -> Details | None:
        """What a register says of a key on a day; None where it says nothing."""
        held = self._entries[register].get(key, [])
        place = bisect_right(held, day, key=lambda pair: pair[0])
        return held[place - 1][1] if place else None

    def at(self, register: str, day: dt.date) -> dict[str, Details]:
        """A whole register as it stands on a day, by key."""
        found = {key: self.one(register, key, day) for key in self.keys(register)}
        return {key: details for key, details in found.items() if details is not None}

    def spans(self, register: str, key: str) -> list[Span]:
        """What held of a key, from when until when, oldest first."""
        held = self._entries[register].get(key, [])
        ends = [*(start for start, _ in held[1:]), None][: len(held)]
        return [
            Span(start, end, details)
            for (start, details), end in zip(held, ends, strict=True)
            if details is not None and start != end
        ]

    def grower_of(self, block: str, day: dt.date) -> str | None:
        """The grower whose farm a block belongs to on a day; None for an unknown block or farm."""
        there = self.one("block", block, day)
        farm = self.one("farm", str(there["farm"]), day) if there else None
        return str(farm["grower"]) if farm else None

    def growers_within(self, block: str, span: Span) -> set[str]:
        """Every grower whom a block belonged to during a span of it: its farm may change hands meanwhile."""
        changes = [s.start for s in self.spans("farm", str(span.details["farm"]))]
        within = [day for day in changes if day > span.start and (span.end is None or day < span.end)]
        found = (self.grower_of(block, day) for day in (span.start, *within))
        return {grower for grower in found if grower is not None}

    def agreement_of(self, grower: str, day: dt.date) -> str | None:
        """The agreement under which a grower delivers on a day, first by number; None in a gap."""
        for key, details in self.at("agreement", day).items():
            if details["grower"] == grower and day <= dt.date.fromisoformat(str(details["until"])):
                return key
        return None

    def agreement_gaps(self, grower: str, first: dt.date, last: dt.date) -> list[tuple[dt.date, dt.date]]:
        """The stretches of days, both ends included, in which a grower has no agreement."""
        gaps: list[tuple[dt.date, dt.date]] = []
        day = first
        while day <= last:
            if self.agreement_of(grower, day) is None:
                joins = gaps and gaps[-1][1] == day - dt.timedelta(days=1)
                gaps[-1:] = [(gaps[-1][0], day)] if joins else [*gaps[-1:], (day, day)]
            day += dt.timedelta(days=1)
        return gaps


def nearest(found: str, known: Iterable[str], most: int = 3) -> list[str]:
    """The known names nearest to one that is not known; those alike but for capitals, spaces and noughts come first."""
    names = sorted(known)
    bare = _bare(found)
    alike = [name for name in names if bare and bare == _bare(name)]
    holding = [name for name in names if bare and bare in _bare(name)]
    close = difflib.get_close_matches(found, names, most, 0.5)
    return list(dict.fromkeys([*alike, *holding, *close]))[:most]


def _bare(name: str) -> str:
    """A name without capitals, spaces and leading noughts of its numbers."""
    return re.sub(r"(?<![0-9])0+(?=[0-9])", "", "".join(name.lower().split()))


def ratoon_number(crop_class: str) -> int:
    """Harvests since planting: 0 for plant cane. Raises ValueError for an unknown crop class."""
    return CROP_CLASSES.index(crop_class)


def age_at(block: Details, day: dt.date) -> float:
    """Age of a block's crop on a day, months since planting or last harvest; negative before it."""
    return (day - dt.date.fromisoformat(str(block["started"]))).days / DAYS_OF_A_MONTH


def next_crop(block: Details, harvested: dt.date) -> dict[str, Any]:
    """What the register says of a block after its harvest: the next ratoon, begun on that day.

    Raises ValueError beyond the highest ratoon: a field that old is ploughed out first.
    """
    number = ratoon_number(str(block["crop class"])) + 1
    if number > HIGHEST_RATOON:
        raise ValueError(f"ratoon {number} is beyond {HIGHEST_RATOON}; enter the block as ploughed out and replanted")
    return {**block, "crop class": CROP_CLASSES[number], "started": harvested.isoformat()}


def replanted(block: Details, planted: dt.date, variety: str, method: str) -> dict[str, Any]:
    """What the register says of a block after plough-out and planting. Raises ValueError for an unknown method."""
    if method not in PLANTING_METHODS:
        raise ValueError(f"planting method '{method}' is not known; accepted: {', '.join(PLANTING_METHODS)}")
    begun = {"crop class": PLANT_CROP, "started": planted.isoformat(), "variety": variety, "planting method": method}
    return {**block, **begun}


def area_by(blocks: Mapping[str, Details], field: str) -> dict[str, float]:
    """Area in ha by variety, crop class or any other field of the block register."""
    found: dict[str, float] = defaultdict(float)
    for details in blocks.values():
        found[str(details[field])] += float(details["area"])
    return dict(sorted(found.items()))


def of_grower(registers: Registers, grower: str, day: dt.date) -> tuple[dict[str, Details], dict[str, Details]]:
    """The farms and the blocks of a grower on a day, by key."""
    farms = {key: each for key, each in registers.at("farm", day).items() if each["grower"] == grower}
    blocks = {key: each for key, each in registers.at("block", day).items() if each["farm"] in farms}
    return farms, blocks


def varieties_of(blocks: Sequence[Details]) -> list[str]:
    """The varieties on these blocks, in order."""
    return sorted({str(each["variety"]) for each in blocks})
