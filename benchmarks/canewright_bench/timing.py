"""Median times after a warm-up."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Timed:
    """Median seconds of some runs, and what the last run gave."""

    seconds: float
    runs: int
    gave: Any


@dataclass(frozen=True)
class Rival:
    """A rival's seconds, or why it has none."""

    name: str
    seconds: float | None
    why: str = ""


@dataclass(frozen=True)
class Result:
    """One line of the report. Rivals stand in order; the first is the main one."""

    identity: str
    seconds: float
    equations: int
    rivals: tuple[Rival, ...]
    floor: float
    notes: tuple[str, ...] = field(default=())

    @property
    def ratio(self) -> float | None:
        """Main rival's time by ours."""
        rival = self.rivals[0].seconds
        return None if rival is None else rival / self.seconds

    def to_json(self) -> dict[str, Any]:
        """Plain data."""
        return {
            "seconds": self.seconds,
            "rival": self.rivals[0].name,
            "ratio": self.ratio,
            "floor_ratio": self.seconds / self.floor,
            "equations": self.equations,
            "rivals": [{"name": r.name, "seconds": r.seconds, "why": r.why} for r in self.rivals],
            "notes": list(self.notes),
        }


def timed(work: Callable[[], Any], repeats: int, *, warm_up: bool = True) -> Timed:
    """The median of some runs; the first run is thrown away unless it is told to count."""
    if warm_up:
        work()
    seconds, gave = [], None
    for _ in range(repeats):
        begin = time.perf_counter()
        gave = work()
        seconds.append(time.perf_counter() - begin)
    return Timed(statistics.median(seconds), repeats, gave)


def against(name: str, work: Callable[[], Any], check: Callable[[Any], str], repeats: int, long: float = 2.0) -> Rival:
    """A rival timed alike; a run of more than ``long`` seconds is not repeated.

    ``check`` says what is wrong with its answer, empty where nothing is.
    """
    try:
        first = timed(work, 1, warm_up=False)
        wrong = check(first.gave)
        if wrong:
            return Rival(name, None, wrong)
        if first.seconds > long:
            return Rival(name, first.seconds, "one run")
        return Rival(name, timed(work, repeats, warm_up=False).seconds)
    except Exception as error:  # noqa: BLE001 - whatever stops a rival is the finding
        return Rival(name, None, f"{type(error).__name__}: {' '.join(str(error).split())[:120]}")
