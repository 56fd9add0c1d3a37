"""The plant: one set of equations, asked to predict, to reconcile and to advise."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from canewright.engine import (
    Helps,
    Measured,
    Model,
    NotSolved,
    Reconciliation,
    Solution,
    predict,
    reconcile,
    structural_imbalance,
)
from canewright.engine.model import Expressions, Vector
from canewright.plant.assembly import Assembly, target_name
from canewright.plant.balance import Closure, closures
from canewright.plant.description import Description, Meter, read_description, read_file
from canewright.plant.matching import mismatch
from canewright.plant.scenarios import Executor, Means, Question, answered
from canewright.plant.streams import Stream
from canewright.plant.unusual import unusual
from canewright.quantity import Num, RangeBreach, noting_breaches

if TYPE_CHECKING:
    import polars as pl

RESIZED = 0.15
"""Relative change of a meter's uncertainty beyond which the day is reconciled once more with the new one."""
SWEEPS = 8
"""Times the first estimate follows the flow, so that recycles fill."""


class NotSquare(ValueError):
    """The plant's equations and unknowns do not match; the message says which in the plant's words."""


@dataclass(frozen=True)
class State:
    """A solved state of a plant: every variable by name, and the streams that they make."""

    assembly: Assembly
    values: Mapping[str, float]
    scaled: Vector
    method: str

    def stream(self, name: str) -> Stream:
        """A stream by name, in numbers."""
        return self.assembly.stream(name, self.values)

    def measured(self, stream: str, quantity: str) -> float:
        """A measurable quantity of a stream; NaN where it has no value (a stream that does not flow)."""
        try:
            with noting_breaches():
                return float(self.assembly.measured(stream, quantity, self.values))
        except ZeroDivisionError:
            return float("nan")

    @cached_property
    def closures(self) -> list[Closure]:
        """Every balance of every station, recomputed from this state alone."""
        return list(closures(self.assembly.stations.values(), self.values.__getitem__))


@dataclass(frozen=True)
class Reconciled:
    """A reconciled day: the state, its uncertainties, and the tests on the readings."""

    state: State
    result: Reconciliation
    breaches: tuple[RangeBreach, ...] = ()

    def expressions(self, build: Callable[[Mapping[str, Num]], Sequence[Num]]) -> Expressions:
        """Quantities of the state, for values with uncertainties."""
        return self.state.assembly.model.expressions(build)

    def with_uncertainty(self, build: Callable[[Mapping[str, Num]], Sequence[Num]]) -> list[tuple[float, float]]:
        """Values and standard uncertainties of quantities built from the plant's variables."""
        value, sd = self.result.uncertainty(self.expressions(build))
        return list(zip(value.tolist(), sd.tolist(), strict=True))


class Plant:
    """A described plant. Read it once, then ask."""

    def __init__(self, description: Description) -> None:
        """Assemble the equations of a checked description.

        Raises NotSquare when equations and unknowns do not match.
        """
        self.description = description
        self.assembly = Assembly(description)
        self._measured: dict[tuple[str, ...], Expressions] = {}
        self._refuse_unmatched()

    @classmethod
    def read(cls, path: str | Path) -> Plant:
        """Read a plant description from a file.

        Raises DescriptionFaults or NotSquare, each naming what is wrong in the plant's words.
        """
        return cls(read_file(path))

    @classmethod
    def from_text(cls, text: str) -> Plant:
        """Read a plant description from its text."""
        return cls(read_description(text))

    @property
    def model(self) -> Model:
        """The equations."""
        return self.assembly.model

    def _refuse_unmatched(self) -> None:
        imbalance = structural_imbalance(self.model)
        if not imbalance.fine:
            raise NotSquare(mismatch(self.assembly, imbalance))

    # --- predict --------------------------------------------------------------------------------------------------

    def settings(self, changes: Mapping[str, float] | None = None) -> dict[str, float]:
        """Every setting with its described value, changed where asked.

        Raises KeyError naming an unknown setting.
        """
        values = {n: value for n, (_, value, _) in self.assembly.given.items() if n in self._held}
        values |= {target_name(t): t.value for t in self.description.targets}
        for name, value in (changes or {}).items():
            if name not in values:
                raise KeyError(f"'{name}' is not a setting of this plant")
            values[name] = float(value)
        return values

    @cached_property
    def _held(self) -> set[str]:
        return {v.name for v in self.model.settings}

    def predict(self, changes: Mapping[str, float] | None = None, start: State | None = None) -> State:
        """Every stream and figure for these settings.

        Raises NotSolved naming equations, limits or formula ranges in the way.
        """
        settings = self.settings(changes)
        try:
            return self._state(self._solved(settings, start))
        except NotSolved as lack:
            odd = unusual(self.assembly, settings)
            if not odd:
                raise
            raise NotSolved(f"look first at: {'; '.join(odd)}; {lack}", lack.worst, lack.outside) from lack

    def _solved(self, settings: Mapping[str, float], start: State | None) -> Solution:
        if start is None:
            helps = Helps(known=lambda: self._as_described(settings))
            return predict(self.model, self.first_estimate(settings), helps=helps)
        helps = Helps(start.scaled, lambda: self.first_estimate(settings), lambda: self._as_described(settings))
        return predict(self.model, {**start.values, **settings}, helps=helps)

    def _as_described(self, settings: Mapping[str, float]) -> Vector | None:
        """The solved state of the described settings, from which others are reached; None where they are these."""
        described = self.settings()
        if settings == described:
            return None
        try:
            return predict(self.model, self.first_estimate(described)).scaled
        except NotSolved:
            return None

    def _state(self, solution: Solution) -> State:
        state = State(self.assembly, solution.values, solution.scaled, solution.method)
        breaches = self.breaches_at(state.scaled)
        if breaches:
            said = "; ".join(sorted({str(b) for b in breaches})[:5])
            raise NotSolved(f"the equations balance only outside the range of a formula: {said}", [], [])
        return state

    def breaches(self, values: Mapping[str, float]) -> list[RangeBreach]:
        """Formula arguments outside their ranges in a state, with the station's name."""
        return self.breaches_at(self.model.scaled(values))

    def breaches_at(self, scaled: Vector) -> list[RangeBreach]:
        """As ``breaches``, of a full scaled vector."""
        # Targets are measured as meters are: outside a formula's range they are noted, not refused.
        return [
            replace(b, formula=f"{station}, {b.formula}")
            for station, b in self.model.breaches(scaled)
            if station in self.assembly.stations
        ]

    def first_estimate(self, settings: Mapping[str, float]) -> dict[str, float]:
        """A start for a cold solve: follow the flow station by station a few times, so that recycles fill."""
        values = {v.name: self._rough(v.name, v.nominal, v.low) for v in self.model.unknowns}
        values |= {n: value for n, (_, value, _) in self.assembly.given.items()}
        values |= settings
        with noting_breaches():
            for _ in range(SWEEPS):
                for station in self.assembly.stations.values():
                    values.update(station.bound(values.__getitem__).estimate())
        return values

    @staticmethod
    def _rough(name: str, nominal: float, low: float) -> float:
        last = name.rpartition(".")[2]
        held = getattr(Stream, last, None)
        return 0.0 if held is not None and held.extensive else max(nominal, low)

    def predict_many(
        self,
        table: Mapping[str, Any] | pl.DataFrame,
        base: State | None = None,
        keep: Sequence[str] | None = None,
        *,
        processes: int | None = None,
        executor: Executor | None = None,
        folder: Path | None = None,
        progress: Callable[[int, int], None] | None = None,
    ) -> pl.DataFrame:
        """Many scenarios that differ from a solved state (the described one) in the settings of a table's columns.

        See ``scenarios.predict_many`` for the frame that comes back, processes, executors and resuming.
        """
        asked = Question.of(self, table, base or self.predict(), keep)
        return answered(self, asked, Means(processes, executor, folder, progress))

    # --- reconcile ------------------------------------------------------------------------------------------------

    def priors(self, changes: Mapping[str, float] | None = None) -> dict[str, tuple[float, float]]:
        """The settings and targets that reconciliation may move: prior value and standard uncertainty."""
        settings = self.settings(changes)
        spread = {n: sd for n, (_, _, sd) in self.assembly.given.items() if n in settings}
        spread |= {target_name(t): t.uncertainty for t in self.description.targets}
        return {n: (settings[n], sd) for n, sd in spread.items() if sd > 0}

    def measure(self, meters: Sequence[Meter]) -> Expressions:
        """The expressions that these meters read."""
        wanted = tuple(m.tag for m in meters)
        if wanted not in self._measured:  # the same meters are read day after day
            self._measured.clear()
            self._measured[wanted] = self.model.expressions(
                lambda v: [self.assembly.read(meter, v) for meter in meters]
            )
        return self._measured[wanted]

    def reconcile(
        self,
        readings: Mapping[str, float],
        changes: Mapping[str, float] | None = None,
        start: State | None = None,
        uncertainties: Mapping[str, float] | None = None,
        determinations: Mapping[str, int] | None = None,
        priors: Mapping[str, tuple[float, float]] | None = None,
    ) -> Reconciled:
        """The most likely state of the day given the readings (by meter tag) and the priors of the settings.

        ``changes`` are known settings of the day (running hours, opening stocks); ``uncertainties`` replace a meter's
        standard uncertainty; ``determinations`` says of how many a meter's figure is the mean; ``priors`` stand in the
        place of the description's, where a season knows better. A relative uncertainty
        is one of the value expected at the start, or of the reconciled value where that is far from it; not of the
        reading, or low readings would weigh more than high ones. Raises KeyError for an unknown tag, NotSolved when no
        state is near the readings.
        """
        known = {m.tag: m for m in self.description.meters}
        unknown = [t for t in readings if t not in known]
        if unknown:
            raise KeyError(f"no meter is called '{unknown[0]}'")
        meters = [known[t] for t in readings]
        begin = start if start is not None else self.predict(changes)
        released = {n: (priors or {}).get(n, prior) for n, prior in self.priors(changes).items()}
        held = {n: value for n, value in self.settings(changes).items() if n not in released}
        first = self.model.scaled({**begin.values, **held})
        expressions = self.measure(meters)
        given, counts = uncertainties or {}, determinations or {}

        def sized(expected: Vector) -> list[Measured]:
            pairs = zip(meters, expected.tolist(), strict=True)
            return [
                Measured(m.tag, readings[m.tag], given.get(m.tag) or m.standard_uncertainty(x, counts.get(m.tag, 1)))
                for m, x in pairs
            ]

        measured = sized(expressions.at(first))
        result = reconcile(self.model, expressions, measured, released, first)
        settled = [
            b if abs(b.uncertainty / a.uncertainty - 1) > RESIZED else a
            for a, b in zip(measured, sized(result.estimates), strict=True)
        ]
        if settled != measured:
            result = reconcile(self.model, expressions, settled, released, result.scaled)
        state = State(self.assembly, result.values, result.scaled, "reconciled")
        return Reconciled(state, result, tuple(self.breaches_at(state.scaled)))
