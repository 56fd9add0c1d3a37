"""Faults in the day's files: collected with their place, never thrown one by one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from canewright.accounts.formats import Problem

LISTED = 200
"""How many bad rows are listed before the rest is only counted."""


@dataclass(frozen=True)
class BadRow:
    """One fault: where it is, what was found, what is accepted, what to do. Row 0 means the whole file."""

    file: str
    row: int
    column: str
    found: str
    accepted: str
    do: str

    def __str__(self) -> str:
        """One sentence."""
        place = f", row {self.row}" if self.row else ""
        column = f", column '{self.column}'" if self.column else ""
        return f"{self.file}{place}{column}: found {self.found}; accepted: {self.accepted}; {self.do}."


class IntakeErrors(Exception):
    """The files cannot be taken. ``rows`` are the first faults, ``total`` counts all of them; nothing was stored."""

    def __init__(self, rows: Sequence[BadRow], total: int) -> None:
        """The listed faults and how many there are in all."""
        self.rows = tuple(rows)
        self.total = total
        more = [f"... and {total - len(rows)} more."] if total > len(rows) else []
        super().__init__("\n".join([*(str(each) for each in rows), *more]))


class Faults:
    """Collects faults; only the first are kept, all are counted."""

    def __init__(self) -> None:
        """None yet."""
        self.rows: list[BadRow] = []
        self.total = 0

    def add(self, file: str, row: int, column: str, problem: Problem | Callable[[], Problem]) -> None:
        """Note a fault; a problem that takes work to describe is given as a function, called only when listed."""
        self.total += 1
        if len(self.rows) < LISTED:
            made = problem if isinstance(problem, Problem) else problem()
            self.rows.append(BadRow(file, row, column, made.found, made.accepted, made.do))

    def raise_any(self) -> None:
        """Raise IntakeErrors when there is any fault."""
        if self.total:
            raise IntakeErrors(self.rows, self.total)
