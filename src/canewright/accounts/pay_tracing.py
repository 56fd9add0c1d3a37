"""A line of a statement followed back: each step with its numbers, and the stored readings it rests on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from canewright.store import PayRefused, Reading, Store


@dataclass(frozen=True)
class TracedLine:
    """One consignment of a statement: its figures by head, its steps in words, remarks, and readings with history."""

    ticket: str
    figures: Mapping[str, str]
    steps: tuple[str, ...]
    remarks: tuple[str, ...]
    readings: tuple[tuple[Reading, ...], ...]


def traced(store: Store, statement: Mapping[str, Any], ticket: str) -> TracedLine:
    """Follow a ticket of a statement back. Raises PayRefused when the statement has no such ticket."""
    line = next((row for row in statement["lines"] if row[0] == ticket), None)
    if line is None:
        raise PayRefused(f"This statement has no ticket '{ticket[:40]}'.")
    figures = dict(zip(statement["heads"], line, strict=True))
    remarks = tuple(said for of, said in statement["marks"] if of == ticket)
    sources = statement["sources"].get(ticket, {})
    readings = tuple(store.history(number) for number in sources.values())
    return TracedLine(ticket, figures, tuple(_steps(statement, figures)), remarks, readings)


def _steps(statement: Mapping[str, Any], figures: Mapping[str, str]) -> list[str]:
    """The steps of the schemes in use, and the last ones with this line's numbers."""
    heads = list(figures)
    paid_on = next(h for h in heads if " paid on, " in h)
    relative, price = heads[heads.index(paid_on) + 1], heads[heads.index(paid_on) + 2]
    unit = paid_on.rpartition(", ")[2]
    told = [step for scheme in statement["schemes"] for step in scheme["steps"]]
    told.append(f"{paid_on.rpartition(',')[0]}: {figures[paid_on]} {unit}")
    for scheme, week, _, mean, season, of in statement["means"]:
        told.append(f"{scheme}: mean of week {week} {mean} {of}, mean of the season {season} {of}")
    told.append(f"{relative.rpartition(',')[0]}: {figures[relative]} {unit}")
    constants = [c for scheme in statement["schemes"] for c in scheme["constants"]]
    told += [f"{says}: {value} {of}".rstrip() for says, value, of in constants]
    told.append(f"{price}: {figures[price]}")
    amount = heads[heads.index(price) + 1]
    if price.startswith("Price"):
        told.append(f"{figures['Net, t']} t x {figures[price]} $/t, rounded once: {figures[amount]} $")
    else:
        told.append(f"the pool by {figures['Net, t']} t x {figures[price]} units: {figures[amount]} $")
    told += [f"{h.rpartition(',')[0]}: {figures[h]} $" for h in heads[heads.index(amount) + 1 : -1]]
    return [*told, f"value credited: {figures[heads[-1]]} $"]
