"""What if, for a day of the books: figures of the day sheet, money line by line, and qualities."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from canewright.accounts.specifications import specifications_for
from canewright.accounts.totals import Totals
from canewright.plant.experience import Response
from canewright.plant.handles import Handle
from canewright.plant.keeping import Held, Keeping
from canewright.plant.plant import Plant, Reconciled
from canewright.plant.prices import Price
from canewright.plant.what_if import Answer, Bar, Told, WhatIf
from canewright.quantity import Num

MONEY = "money a day"
"""The sum of the price list."""
LINES, QUALITY = "money", "quality"


@dataclass(frozen=True)
class DayWhatIf:
    """Questions about one day."""

    day: dt.date
    asked: WhatIf
    handles: tuple[Handle, ...]

    def ask(self, changes: Mapping[str, float]) -> Answer:
        """See ``WhatIf.ask``."""
        return self.asked.ask(changes)

    @property
    def figures(self) -> list[str]:
        """The names of all that is told."""
        return [t.name for t in self.asked.told]

    def tornado(self, figure: str) -> list[Bar]:
        """What moves a figure most; see ``WhatIf.tornado``."""
        rooms = {h.setting: (h.room.low, h.room.high) for h in self.handles if h.room.high > h.room.low}
        return self.asked.tornado(figure, rooms)


def what_if_of(
    plant: Plant, day: dt.date, trusted: Reconciled, prices: Sequence[Price], handles: Sequence[Handle],
    responses: Sequence[Response], keeping: Keeping,
) -> DayWhatIf:  # fmt: skip
    """Questions about a reconciled day."""
    told = [*_money(plant, prices), *_figures(plant)]
    known = {t.name for t in told}
    told += [t for t in _qualities(keeping) if t.name not in known]
    return DayWhatIf(day, WhatIf(plant, trusted.state, told, trusted, responses, keeping), tuple(handles))


def _money(plant: Plant, prices: Sequence[Price]) -> list[Told]:
    def line(p: Price) -> Callable[[Mapping[str, Num]], Num]:
        return lambda v: p.a_day(plant.assembly, v)

    if not prices:
        return []
    whole = Told(MONEY, "$/d", LINES, 0, lambda v: sum(p.a_day(plant.assembly, v) for p in prices))
    return [whole, *(Told(f"{p.what}, $", "$/d", LINES, 0, line(p)) for p in prices)]


def _figures(plant: Plant) -> list[Told]:
    def figure(s: Any) -> Callable[[Mapping[str, Num]], Num]:
        return lambda v: s.combine(*s.totals(Totals(plant.assembly, v)))

    return [Told(s.name, s.unit, s.group, s.decimals, figure(s)) for s in specifications_for(plant.description.roles)]


def _qualities(keeping: Keeping) -> list[Told]:
    return [Told(h.sentence, h.unit, QUALITY, _decimals(h), h.build) for h in keeping.held if not h.capacity]


def _decimals(held: Held) -> int:
    return 1 if held.unit == "IU" else 2


def answer_data(day: dt.date, answer: Answer) -> dict[str, Any]:
    """An answer as plain data: what is kept of a trial, and what a script is told."""
    return {
        "day": day.isoformat(),
        "changes": [vars(c) for c in answer.changed],
        "rows": [{**vars(r), "change": r.change} for r in answer.rows],
        "warnings": list(answer.warnings),
    }
