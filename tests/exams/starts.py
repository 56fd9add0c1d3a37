"""Solving from starts moved at random: every unknown of a solved plant by up to a share, kept within its limits."""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import dataclass, field
from importlib.resources import files

import numpy as np

from canewright.engine import NotSolved
from canewright.plant.plant import Plant, State

TEXT = (files("canewright") / "demo_data" / "plant.toml").read_text(encoding="utf-8")
SAME = 1e-9
"""Largest difference, relative to value or nominal size, of two answers that are the same."""


@dataclass
class Tally:
    """How the tries from one width of starts ended."""

    tries: int = 0
    methods: Counter[str] = field(default_factory=Counter)
    refused: list[str] = field(default_factory=list)
    elsewhere: int = 0
    furthest: float = 0.0
    seconds: list[float] = field(default_factory=list)

    @property
    def solved(self) -> int:
        """Tries that ended in the plant's own state."""
        return sum(self.methods.values()) - self.elsewhere


class RandomStarts:
    """The demo plant at its described settings, asked from starts that know little of its state."""

    def __init__(self, seed: int) -> None:
        """Solve once from the declared start."""
        self.plant = Plant.from_text(TEXT)
        self.state = self.plant.predict()
        self.chance = np.random.default_rng(seed)

    def start(self, width: float) -> State:
        """Each unknown of the solved state moved at random by up to ``width`` of itself, within its limits."""
        model = self.plant.model
        moved = self.state.scaled.copy()
        moved[: model.n] *= 1.0 + width * self.chance.uniform(-1.0, 1.0, model.n)
        moved[: model.n] = np.clip(moved, *model.scaled_limits())[: model.n]
        return State(self.plant.assembly, model.named(moved), moved, "moved at random")

    def tally(self, width: float, tries: int) -> Tally:
        """Ask so many times and compare each answer with the plant's own state."""
        tally = Tally()
        for _ in range(tries):
            start, began = self.start(width), time.perf_counter()
            tally.tries += 1
            try:
                found = self.plant.predict(None, start)
            except NotSolved as lack:
                tally.refused.append(str(lack))
                continue
            finally:
                tally.seconds.append(time.perf_counter() - began)
            apart = float(self._apart(found))
            tally.methods[found.method] += 1
            tally.furthest = max(tally.furthest, apart)
            tally.elsewhere += apart > SAME
        return tally

    def _apart(self, found: State) -> np.float64:
        here = self.state.scaled
        return np.max(np.abs(found.scaled - here) / np.maximum(1.0, np.abs(here)))
