"""What is wrong today, in the plant's words: a meter off, a loss at a station, two values exchanged, and what tells.

Every suspected error leaves a mark on the readings. Marks come from the equations themselves: a loss at a station is so
much of its product missing from that station's balances. Errors whose marks the readings hardly tell apart are told
together, with the further reading that would part them best.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.linalg import splu

from canewright.engine.evidence import Evidence
from canewright.engine.hypotheses import (
    Finding,
    Hypothesis,
    assessed,
    biases,
    exchanged,
    level,
    ties,
    told_apart,
)
from canewright.engine.strategies import simultaneous_compensation
from canewright.intervals import TIMES
from canewright.plant.balance import CONSERVED, amount, balance_sentence
from canewright.plant.further_readings import called, further_readings, products
from canewright.plant.plant import Plant, Reconciled
from canewright.plant.station import Station
from canewright.plant.streams import Liquor
from canewright.quantity import noting_breaches

LOSS, EXCHANGED, READING = "loss", "exchanged", "reading"
ONCE = 0.35
"""How far from one the size of an exchange may be found: one means just these two values exchanged."""
GROSS = 12.0
"""Test value of an error so gross that the day is reconciled again without it before anything else is judged."""
MOST_GROSS = 4
TELLING = 3.0
"""Standard uncertainties by which a further reading must part two suspects to be worth asking for."""


@dataclass(frozen=True)
class Suspect:
    """A likely error: kind, name, size with standard uncertainty in its unit, test value, and all of it in words."""

    kind: str
    name: str
    size: float
    uncertainty: float
    unit: str
    test: float
    says: str


@dataclass(frozen=True)
class Diagnosis:
    """What is likely wrong together; what each first suspect is not told from; what would tell."""

    suspects: tuple[Suspect, ...] = ()
    ties: tuple[Suspect, ...] = ()
    next_suspect: Suspect | None = None
    telling: str | None = None
    least_seen: Mapping[str, float] = field(default_factory=dict)

    @property
    def sentences(self) -> list[str]:
        """The diagnosis as a person would say it; empty where nothing is suspect."""
        if not self.suspects:
            return []
        said = [one.says for one in self.suspects]
        if self.ties:
            said.append(f"the readings hardly tell this from: {'; '.join(t.says for t in self.ties)}")
        elif self.next_suspect:
            said.append(f"next suspect: {self.next_suspect.says}")
        if self.telling:
            said.append(f"{self.telling} would tell them apart")
        return said


def diagnose(plant: Plant, day: Reconciled) -> Diagnosis:
    """What is likely wrong with a reconciled day.

    The readings are tested against biases, losses at stations and exchanged values, estimated together where there are
    several (docs/measured/gross_errors.md). ``least_seen`` gives, by meter, the smallest bias that would be found
    with a probability of 90 %. An error so gross that straight lines do not reach is set right first, and the rest is
    judged on the day without it.
    """
    gross, case = list[Suspect](), _Case(plant, day)
    while len(gross) < MOST_GROSS:
        worst = case.worst()
        if worst is None or worst.test < GROSS:
            break
        gross.append(case.suspect(worst))
        case = _Case(plant, _set_right(plant, case.day, worst))
    found = case.diagnosis()
    return replace(found, suspects=(*gross, *found.suspects))


def _set_right(plant: Plant, day: Reconciled, worst: Finding) -> Reconciled:
    """The day with two exchanged values put back, or without the reading that is off."""
    result = day.result
    read = {m.name: m.value for m in result.measured}
    if worst.hypothesis.kind == EXCHANGED:
        one, other = worst.hypothesis.about
        read[one], read[other] = read[other], read[one]
    else:
        del read[worst.hypothesis.name]
    settings = {v.name: day.state.values[v.name] for v in result.model.settings if v.name not in result.free}
    return plant.reconcile(read, settings, day.state, {m.name: m.uncertainty for m in result.measured})


class _Case:
    """One day under diagnosis."""

    def __init__(self, plant: Plant, day: Reconciled) -> None:
        self.plant, self.day = plant, day
        self.evidence = Evidence.of(day.result)
        self.meters = {m.tag: m for m in plant.description.meters}

    def worst(self) -> Finding | None:
        """The likeliest single error of a reading or of two exchanged values; None where a loss is likelier."""
        return self._alone[0] if self._alone and self._alone[0].hypothesis.kind != LOSS else None

    def diagnosis(self) -> Diagnosis:
        """What is likely wrong, by marks along straight lines."""
        verdict = simultaneous_compensation(self.evidence, self._hypotheses)
        suspects = tuple(self.suspect(f) for f in verdict.findings)
        least = self._least_seen()
        if not verdict.findings:
            return Diagnosis(least_seen=least)
        leader = next(f for f in self._alone if f.hypothesis is verdict.findings[0].hypothesis)
        rest = [f for f in self._alone if f is not leader]
        tied = self._told(ties(self.evidence, [leader, *rest])[1:])
        others = [f for f in rest if all(f.hypothesis is not v.hypothesis for v in verdict.findings)]
        following = next((f for f in others if f.test > self._level and f not in tied), None)
        second = tied[0] if tied else following
        return Diagnosis(
            suspects, tuple(self.suspect(f) for f in tied), self.suspect(following) if following else None,
            self._telling(leader, second) if second else None, least,
        )  # fmt: skip

    @cached_property
    def _level(self) -> float:
        return level(len(self.evidence.names))

    def _told(self, tied: Sequence[Finding]) -> list[Finding]:
        """Of the ties, every reading, and of losses along one line only the first and the last."""
        readings = [f for f in tied if f.hypothesis.kind != LOSS]
        losses = [f for f in tied if f.hypothesis.kind == LOSS]
        return [*readings[:3], *(losses[:1] + losses[-1:] if len(losses) > 1 else losses)]

    # --- hypotheses -------------------------------------------------------------------------------------------------

    @cached_property
    def _hypotheses(self) -> list[Hypothesis]:
        units = [self.meters[n].unit for n in self.evidence.names]
        return [*biases(self.evidence, units), *self._losses(), *self._exchanges()]

    @cached_property
    def _alone(self) -> list[Finding]:
        """Each hypothesis tested alone, the likeliest first."""
        return assessed(self.evidence, self._hypotheses)

    def _losses(self) -> Iterator[Hypothesis]:
        """A loss of one t/h of each station's sugar streams, from that station's balances."""
        model, result = self.day.result.model, self.day.result
        _, jacobian = model.jacobian_at(result.scaled)
        factor = splu(jacobian[:, : model.n].tocsc())
        slope = result.expressions.jacobian_at(result.scaled)[1][:, : model.n]
        place = {(law.owner, law.sentence): i for i, law in enumerate(model.laws)}
        with noting_breaches():
            for station, stream in products(self.day.state):
                missing = _missing(station, stream, place, self.day)
                if missing is None:
                    continue
                moved = slope @ factor.solve(missing)
                mark = np.asarray(moved) / self.evidence.uncertainty
                yield Hypothesis(f"{called(self.plant, stream)} at {station.name}", LOSS, "t/h", mark, one_way=True)

    def _exchanges(self) -> Iterator[Hypothesis]:
        """Two values of one unit written in each other's place, where each is plausible in the other."""
        read = {m.name: m.value for m in self.day.result.measured}
        laboratory = [t for t in self.evidence.names if self.meters[t].file == "laboratory"]
        for one, other in combinations(laboratory, 2):
            a, b = self.meters[one], self.meters[other]
            same = a.unit == b.unit and a.quantity == b.quantity and read[one] != read[other]
            if same and a.low <= read[other] <= a.high and b.low <= read[one] <= b.high:
                swap = exchanged(self.evidence, one, other, (read[one], read[other]))
                found = assessed(self.evidence, [swap])
                if found and abs(found[0].size - 1.0) < ONCE:
                    yield swap

    # --- words ------------------------------------------------------------------------------------------------------

    def suspect(self, found: Finding) -> Suspect:
        """A finding in words."""
        one = found.hypothesis
        says = {READING: self._reading, LOSS: _loss, EXCHANGED: _exchange}[one.kind](found)
        return Suspect(one.kind, one.name, found.size, found.uncertainty, one.unit, found.test, says)

    def _reading(self, found: Finding) -> str:
        name, size, spread = found.hypothesis.name, found.size, TIMES * found.uncertainty
        read = next(m.value for m in self.day.result.measured if m.name == name)
        implied = read - size
        way = "high" if size > 0 else "low"
        meter = self.meters[name]
        if meter.unit in {"%", "°C", "°Z", "1"} or abs(implied) < 1e-9:
            low, high = sorted((abs(size) - spread, abs(size) + spread))
            return f"{name} reads {abs(size):.2g} {meter.unit} {way} ({low:.2g} to {high:.2g})"
        low, high = (100.0 * x / abs(implied) for x in (abs(size) - spread, abs(size) + spread))
        return f"{name} reads {100.0 * abs(size / implied):.1f} % {way} ({low:.1f} to {high:.1f})"

    def _least_seen(self) -> dict[str, float]:
        readings = (f for f in self._alone if f.hypothesis.kind == READING)
        return {f.hypothesis.name: f.least_seen(self._level) for f in readings}

    # --- what would tell --------------------------------------------------------------------------------------------

    def _telling(self, first: Finding, second: Finding) -> str | None:
        """The further reading that parts two suspects best, or None where none does."""
        candidates, result = further_readings(self.plant, self.day), self.day.result
        if not candidates:
            return None
        slopes, noise = np.array([c.slope for c in candidates]), np.array([c.uncertainty for c in candidates])
        spread = result.deviations(slopes)
        influence = result.influence[:, : len(result.measured)]
        apart = told_apart(influence, slopes, spread, first, second, noise)
        best = int(np.argmax(apart))
        return candidates[best].name if apart[best] > TELLING else None


def _missing(
    station: Station, stream: Liquor, place: Mapping[tuple[str, str], int], day: Reconciled
) -> NDArray[np.float64] | None:
    """What the residuals of its station's balances are short of for one t/h of a stream lost; None without balances."""
    laws, flow = day.result.model.laws, float(stream.flow)
    gone = np.zeros(len(laws))
    for what in CONSERVED:
        carried = float(amount(stream, what)) / flow
        i = place.get((station.name, balance_sentence(what)))
        if i is not None:
            gone[i] = carried / laws[i].nominal
        elif carried and what != "energy":
            return None
    return gone


def _loss(found: Finding) -> str:
    spread = TIMES * found.uncertainty
    low, high = max(found.size - spread, 0.0), found.size + spread
    return f"{found.size:.2g} t/h of {found.hypothesis.name} is lost ({low:.2g} to {high:.2g})"


def _exchange(found: Finding) -> str:
    return f"{found.hypothesis.name} look written in each other's place"
