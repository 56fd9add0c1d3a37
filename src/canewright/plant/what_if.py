"""What if: a setting or an input changed, every figure against the base, with the uncertainty of the difference.

The base is a solved or reconciled state. Both states answer the same uncertain settings, so the difference is surer
than either: its uncertainty is that of the difference of the two slopes. A changed setting is a step from where it
truly stands, so its own uncertainty goes with it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from canewright.engine import NotSolved
from canewright.engine.model import Variable, Vector
from canewright.engine.sensitivity import total_slope
from canewright.plant.experience import Response
from canewright.plant.faults import nearest
from canewright.plant.handles import AdviceRefused
from canewright.plant.keeping import Keeping
from canewright.plant.plant import Plant, Reconciled, State
from canewright.quantity import Num, noting_breaches

SURE = 1.96
"""Standard uncertainties on each side of a 95 % interval."""
MOST_BARS = 12


@dataclass(frozen=True)
class Told:
    """A quantity that a question is answered in: name, unit, group, decimals, and the expression."""

    name: str
    unit: str
    group: str
    decimals: int
    build: Callable[[Mapping[str, Num]], Num]


@dataclass(frozen=True)
class Difference:
    """A quantity before and after; the uncertainty is the standard one of the difference (None: not known)."""

    name: str
    unit: str
    group: str
    decimals: int
    base: float
    then: float
    uncertainty: float | None

    @property
    def change(self) -> float:
        """Then less base."""
        return self.then - self.base

    @property
    def shows(self) -> bool:
        """Whether the change is one that can be told."""
        return shows(self.change, self.decimals)


FINER = 3
"""Decimals beyond a quantity's own at which a change still shows; a smaller one is none."""


def shows(change: float | None, decimals: int) -> bool:
    """Whether a change is one that can be told."""
    return change is not None and math.isfinite(change) and abs(change) >= 0.5 * 10.0 ** -(decimals + FINER)


@dataclass(frozen=True)
class Changed:
    """A setting that was changed."""

    setting: str
    says: str
    unit: str
    base: float
    then: float


@dataclass(frozen=True)
class Answer:
    """What changed, what it does, and what is passed or broken then."""

    changed: tuple[Changed, ...]
    rows: tuple[Difference, ...]
    warnings: tuple[str, ...]
    state: State = field(repr=False)

    def row(self, name: str) -> Difference:
        """A quantity by name. Raises KeyError."""
        return {r.name: r for r in self.rows}[name]


@dataclass(frozen=True)
class Bar:
    """What a quantity is at both ends of a setting's 95 % interval, or of a handle's step."""

    setting: str
    says: str
    unit: str
    low: float
    high: float
    at_low: float
    at_high: float
    why: str

    @property
    def swing(self) -> float:
        """From the lower to the higher end of the quantity."""
        return abs(self.at_high - self.at_low)


class WhatIf:
    """Questions about one base state; everything that does not depend on the change is worked out once."""

    def __init__(
        self,
        plant: Plant,
        base: State,
        told: Sequence[Told],
        today: Reconciled | None = None,
        responses: Sequence[Response] = (),
        keeping: Keeping | None = None,
    ) -> None:
        """``today`` gives the uncertainty of the difference; ``responses`` are settings that go with others."""
        self.plant, self.base, self.told, self.today, self.responses = plant, base, tuple(told), today, responses
        self.keeping = keeping or Keeping.of(plant)
        self.settings: dict[str, Variable] = {v.name: v for v in plant.model.settings}
        self._held = {name: base.values[name] for name in self.settings}
        with noting_breaches():
            self._expressions = plant.model.expressions(lambda v: [t.build(v) for t in self.told], "told")
        self._values = self._expressions.at(base.scaled)
        self._slope = self._slopes(base.scaled)
        self._limits = self.keeping.expressions.at(base.scaled)

    def _slopes(self, scaled: Vector) -> Vector | None:
        if self.today is None or not self.today.result.free:
            return None
        return total_slope(self.plant.model, self._expressions, scaled, list(self.today.result.free))

    def variable(self, name: str) -> Variable:
        """A setting by name. Raises AdviceRefused with the nearest for a name that is none."""
        if name not in self.settings:
            raise AdviceRefused(f"no setting or input is called '{name}'; {_few(nearest(name, self.settings))}")
        return self.settings[name]

    def value(self, told: str) -> float:
        """A told quantity at the base. Raises KeyError."""
        return float(dict(zip((t.name for t in self.told), self._values, strict=True))[told])

    def ask(self, changes: Mapping[str, float]) -> Answer:
        """Every told quantity with these settings changed.

        Raises AdviceRefused for an unknown setting or a value outside its range, NotSolved where there is no state.
        """
        state = self._state(changes)
        values, slope = self._expressions.at(state.scaled), self._slopes(state.scaled)
        rows = []
        for i, t in enumerate(self.told):
            a, b = float(self._values[i]), float(values[i])
            rows.append(Difference(t.name, t.unit, t.group, t.decimals, a, b, self._spread(slope, i)))
        changed = tuple(
            Changed(n, self.settings[n].says, self.settings[n].unit, self.base.values[n], state.values[n])
            for n in changes
        )
        return Answer(changed, tuple(rows), tuple(self._warnings(state)), state)

    def _state(self, changes: Mapping[str, float]) -> State:
        for name, value in changes.items():
            variable = self.variable(name)
            if not (math.isfinite(value) and variable.low <= value <= variable.high):
                raise AdviceRefused(
                    f"{name}: found {value:g} {variable.unit}; accepted: {variable.low:g} to {variable.high:g}"
                )
        asked = {**self._held, **changes}
        for r in self.responses:
            if r.move in changes and r.setting not in changes:
                asked[r.setting] += r.slope * (changes[r.move] - self.base.values[r.move])
        return self.plant.predict(asked, self.base)

    def _spread(self, slope: Vector | None, i: int) -> float | None:
        if slope is None or self._slope is None or self.today is None:
            return None
        turn = slope[i] - self._slope[i]
        variance = float(turn @ self.today.result.covariance @ turn)
        return math.sqrt(max(variance, 0.0)) if math.isfinite(variance) else None

    def _warnings(self, state: State) -> list[str]:
        """Limits that are passed then and were not at the base."""
        said = []
        for h, before, after in zip(
            self.keeping.held, self._limits, self.keeping.expressions.at(state.scaled), strict=True
        ):
            unit = "" if h.unit == "1" else f" {h.unit}"
            if not h.low <= after <= h.high and (h.low <= before <= h.high):
                if h.capacity:
                    said.append(f"{h.sentence}: passed by {after:.4g}{unit}")
                else:
                    allowed = f"at least {h.low:g}" if after < h.low else f"at most {h.high:g}"
                    said.append(f"{h.sentence} would be {after:.4g}{unit}, allowed {allowed}{unit}")
        return said

    # --- what matters -------------------------------------------------------------------------------------------------

    def tornado(self, name: str, steps: Mapping[str, tuple[float, float]], most: int = MOST_BARS) -> list[Bar]:
        """What moves a told quantity most: settings over their 95 % interval today, handles over their step.

        ``steps`` are the ends of each handle's step. Raises AdviceRefused for a quantity that is not told.
        """
        which = next((i for i, t in enumerate(self.told) if t.name == name), None)
        if which is None:
            raise AdviceRefused(f"no figure is called '{name}'; {_few(nearest(name, [t.name for t in self.told]))}")
        ends = {n: (*pair, "step") for n, pair in steps.items()}
        ends |= {n: (*pair, "doubt") for n, pair in self._doubts().items() if n not in ends}
        names = list(ends)
        slope = np.abs(total_slope(self.plant.model, self._expressions, self.base.scaled, names)[which])
        size = [(ends[n][1] - ends[n][0]) / self.plant.model.nominal[self.plant.model.index[n]] for n in names]
        order = np.argsort(-slope * np.array(size))[:most]
        bars = [self._bar(names[j], ends[names[j]], which) for j in order if slope[j] * size[j] > 0]
        return sorted((b for b in bars if b is not None), key=lambda b: -b.swing)

    def _doubts(self) -> dict[str, tuple[float, float]]:
        """The 95 % interval of each released setting, within its range."""
        if self.today is None:
            return {}
        found = {}
        variance = np.diagonal(self.today.result.covariance)
        for name, each in zip(self.today.result.free, variance, strict=True):
            variable = self.settings[name]
            half = SURE * math.sqrt(max(float(each), 0.0)) * variable.nominal
            now = self.base.values[name]
            if half > 0:
                found[name] = max(now - half, variable.low), min(now + half, variable.high)
        return found

    def _bar(self, name: str, ends: tuple[float, float, str], which: int) -> Bar | None:
        low, high, why = ends
        try:
            at = [float(self._expressions.at(self._state({name: end}).scaled)[which]) for end in (low, high)]
        except NotSolved:  # an end at which the plant has no state is no end of a bar
            return None
        variable = self.settings[name]
        return Bar(name, variable.says, variable.unit, low, high, at[0], at[1], why)


FEW = 6


def _few(sentence: str) -> str:
    """The nearest name and a few of the known ones; a plant has hundreds."""
    head, colon, listed = sentence.partition(" known: ")
    names = listed.split(", ")
    return sentence if len(names) <= FEW or not colon else f"{head} {len(names)} are known"
