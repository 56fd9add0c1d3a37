"""Plants and settings drawn at random, and an independent look at every state that the solver calls solved.

The look takes the saved values alone. It walks the stations in plain numbers, so it shares neither the traced equations
nor their derivatives with the solver.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from functools import cache

import numpy as np

from canewright.engine import NotSolved
from canewright.plant.plant import Plant, State
from canewright.quantity import noting_breaches
from exams.starts import TEXT
from plant import milling_train, refinery_line, steam_plant, test_clarification, test_evaporator, test_three_massecuites
from plant.juice_side import effects_in_series, plant, station

Chance = np.random.Generator
GAP = 1e-9
"""Largest gap of a balance, relative to what crosses the station, and of an equation, relative to its size."""
FLOWS = 1e-9
"""Flow, t/h or MJ/h, below which a station is idle and rounding outweighs its balance."""
SHARES = (0.02, 0.1, 0.3, 1.0)
"""How far settings are moved from described towards a value drawn within their limits."""
NAMED = re.compile(r"would be|heads for its limit|outside the range|apart|not met|do not determine|not numbers")
LIMIT = re.compile(r"would be|heads for its limit|outside the range")


@cache
def described() -> dict[str, Plant]:
    """Described plants: the demo plant and those of the tests."""
    return {
        "demo plant": Plant.from_text(TEXT),
        "milling train": milling_train.train(),
        "clarification": test_clarification.line(),
        "evaporator row with bleeds": test_evaporator.row(),
        "three massecuites": test_three_massecuites.house(),
        "steam plant": steam_plant.steam_plant(),
        "liquor line": refinery_line.liquor_line(),
    }


def random_row(chance: Chance) -> Plant:
    """One to five effects in series, each of any size."""
    names = [f"effect {i + 1}" for i in range(int(chance.integers(1, 6)))]
    made = [
        station("juice", "liquor supply", rate=chance.uniform(20, 500), dry_substance=chance.uniform(5, 40),
                purity=chance.uniform(60, 99), temperature=chance.uniform(60, 115)),
        station("exhaust", "steam supply", pressure=chance.uniform(120, 300), superheat=0),
        station("river", "water supply", temperature=chance.uniform(10, 35)),
        station("condenser", "condenser", pressure=chance.uniform(8, 40)),
    ]  # fmt: skip
    made += [
        station(name, "evaporator effect", area=chance.uniform(200, 4000),
                heat_transfer_coefficient=chance.uniform(0.4, 3.0), head_rise=chance.uniform(0, 3))
        for name in names
    ]  # fmt: skip
    links = {"condenser.water": "river.water"} | effects_in_series(names, "juice.liquor", "exhaust.steam", "condenser")
    return plant(made, links)


def random_train(chance: Chance) -> Plant:
    """One to six mills; each mill's juice goes to a random earlier mill as imbibition, or leaves."""
    count = int(chance.integers(1, 7))
    made = [
        station("cane", "cane supply", rate=chance.uniform(50, 600), fibre=chance.uniform(9, 18)),
        station("water", "water supply", temperature=chance.uniform(20, 85)),
        station("grid", "grid"), station("board", "power board"),
        station("imbibition", "imbibition", on_fibre=chance.uniform(50, 400)),
    ]  # fmt: skip
    links: dict[str, str | list[str]] = {"board.imported": "grid.power", "outside.export": "board.exported"}
    links |= {"imbibition.cane": "cane.cane", "imbibition.source": "water.water"}
    feed, given = "imbibition.passed", {count: ["imbibition.water"]}
    for i in range(1, count + 1):
        made.append(
            station(f"mill {i}", "mill", moisture=chance.uniform(45, 60), fibre_to_juice=chance.uniform(0, 8),
                    imbibition_coefficient=chance.uniform(0.3, 1.0))
        )  # fmt: skip
        links |= {f"mill {i}.feed": feed, f"mill {i}.power": "board.branches"}
        feed = f"mill {i}.bagasse"
        to = int(chance.integers(0, i))
        if to:
            given.setdefault(to, []).append(f"mill {i}.juice")
        else:
            links[f"outside.juice {i}"] = f"mill {i}.juice"
    links |= {f"mill {i}.imbibition": sources for i, sources in given.items()}
    return plant(made, links | {"outside.bagasse": feed})


MADE: Mapping[str, Callable[[Chance], Plant]] = {"random row of effects": random_row, "random train": random_train}


def changed(plant: Plant, chance: Chance) -> dict[str, float]:
    """Some settings moved within their limits, a little or all the way to a value drawn there."""
    values, share = plant.settings(), float(chance.choice(SHARES))
    held = {v.name: v for v in plant.model.settings}
    names = sorted(n for n in values if np.isfinite(held[n].low) and np.isfinite(held[n].high))
    chosen = chance.choice(names, size=min(len(names), int(chance.integers(1, 13))), replace=False)
    drawn = {str(n): float(chance.uniform(held[n].low, held[n].high)) for n in chosen}
    return {n: values[n] + share * (x - values[n]) for n, x in drawn.items()}


def wrong(plant: Plant, state: State, settings: Mapping[str, float]) -> Iterator[str]:
    """What is wrong with a state called solved, in words; nothing where it is right."""
    values = state.values
    yield from (f"{n} is not a number" for n, x in values.items() if not np.isfinite(x))
    yield from (f"{n} is not as asked" for n, x in settings.items() if abs(values[n] - x) > 1e-12 * abs(x))
    for v in plant.model.variables:
        if not v.low - 1e-9 * v.nominal <= values[v.name] <= v.high + 1e-9 * v.nominal:
            yield f"{v.name} is {values[v.name]:g}, possible is {v.low:g} to {v.high:g}"
    yield from _unbalanced(plant, state)


def _unbalanced(plant: Plant, state: State) -> Iterator[str]:
    laws = iter(plant.model.laws)
    with noting_breaches() as noted:
        for station_ in plant.assembly.stations.values():
            for sentence, left, right in station_.bound(state.values.__getitem__).equations():
                gap = abs(float(left) - float(right)) / next(laws).nominal
                if not gap <= GAP:
                    yield f"{station_.name}: {sentence}: {gap:.2g} apart"
    yield from sorted({f"outside a range: {breach}" for breach in noted})
    for closure in state.closures:
        if closure.brought > FLOWS and not closure.relative <= GAP:
            yield f"{closure.place}: {closure.what} closes to {closure.relative:.2g}"


def over_capacity(plant: Plant, state: State) -> int:
    """Capacities that the state exceeds: those are told to the person, they do not make a state impossible."""
    stations = plant.assembly.stations.values()
    with noting_breaches():
        listed = [c for s in stations for c in s.bound(state.values.__getitem__).capacities()]
    return sum(float(used) > float(there) for _, used, there in listed)


@dataclass
class Findings:
    """What came of the draws."""

    asked: Counter[str] = field(default_factory=Counter)
    solved: Counter[str] = field(default_factory=Counter)
    methods: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    not_explained: list[str] = field(default_factory=list)
    limit_named: int = 0
    refused: int = 0
    above_capacity: int = 0
    compared: int = 0
    two_states: list[str] = field(default_factory=list)
    impossible_as_drawn: int = 0

    def add(self, other: Findings) -> None:
        """Count what another part of the draws found as well."""
        for one in fields(self):
            setattr(self, one.name, getattr(self, one.name) + getattr(other, one.name))


class Fuzz:
    """Draws plants and settings, asks, and looks."""

    def __init__(self, seed: int) -> None:
        """The same seed draws the same plants and settings."""
        self.chance = np.random.default_rng(seed)
        self.found = Findings()

    def described_plant(self, name: str, times: int) -> None:
        """A described plant at so many random settings, from its own state."""
        plant = described()[name]
        base = plant.predict()
        for _ in range(times):
            self._ask(name, plant, changed(plant, self.chance), base)

    def made_plant(self, name: str, times: int) -> None:
        """A plant made at random, as drawn and then at random settings."""
        plant = MADE[name](self.chance)
        base = self._ask(name, plant, {}, None)
        self.found.impossible_as_drawn += base is None
        for _ in range(times - 1):
            self._ask(name, plant, changed(plant, self.chance), base)

    def _ask(self, name: str, plant: Plant, changes: Mapping[str, float], base: State | None) -> State | None:
        found = self.found
        found.asked[name] += 1
        try:
            state = plant.predict(changes, base)
        except NotSolved as lack:
            self._note_refusal(f"{name} at {changes}: {lack}", str(lack))
            return None
        found.solved[name] += 1
        found.methods[state.method] += 1
        found.wrong += [f"{name} at {changes}: {words}" for words in wrong(plant, state, plant.settings(changes))]
        found.above_capacity += over_capacity(plant, state) > 0
        if base is not None and self.chance.random() < 0.1:
            self._compare(f"{name} at {changes}", plant, changes, state)
        return state

    def _note_refusal(self, where: str, said: str) -> None:
        self.found.refused += 1
        self.found.limit_named += bool(LIMIT.search(said))
        if not NAMED.search(said):
            self.found.not_explained.append(where)

    def _compare(self, where: str, plant: Plant, changes: Mapping[str, float], state: State) -> None:
        """The same question without a start: the same state?"""
        try:
            cold = plant.predict(changes)
        except NotSolved as lack:
            self.found.two_states.append(f"{where}: not found cold: {lack}")
            return
        self.found.compared += 1
        apart = np.max(np.abs(cold.scaled - state.scaled) / np.maximum(1.0, np.abs(state.scaled)))
        if apart > 1e-6:
            self.found.two_states.append(f"{where}: states {apart:.2g} apart")
