"""Errors planted at random in a published steam network, and how well each strategy names them.

Network: Serth & Heenan, AIChE J. 32 (1986) 733, 28 flows around 11 nodes (tests/engine/test_published_reconciliations).
Power: planted errors named, of those planted. False: errors named that were not planted, per case. Selectivity: planted
of those named. A named error that the readings cannot tell from a planted one (a tie) counts as right under *ties*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from canewright.engine.evidence import Evidence
from canewright.engine.hypotheses import ALIKE, Hypothesis, biases, likeness
from canewright.engine.strategies import STRATEGIES, Verdict, gated_compensation, simultaneous_compensation
from engine.test_published_reconciliations import DEVIATION, TRUE, network

LEAST, MOST = 5.0, 25.0
"""Sizes of planted errors, in standard uncertainties of the reading (for a leak: the median of its node's readings)."""
NETWORK = network()
SD = np.array(DEVIATION)
NAMES = tuple(f"x{i + 1}" for i in range(len(TRUE)))
WEIGHED = NETWORK * SD
CLOSED = np.array(TRUE) - SD * (WEIGHED.T @ np.linalg.solve(WEIGHED @ WEIGHED.T, NETWORK @ np.array(TRUE)))
"""The recalled true flows, moved the least that closes the balances exactly."""
LOST = np.linalg.solve(WEIGHED @ WEIGHED.T, np.eye(len(NETWORK)))


def _leak(node: int) -> np.ndarray:
    """The least weighted change of the flows that leaves one t/h over at a node."""
    return np.asarray(WEIGHED.T @ LOST[node])


@dataclass
class Score:
    """Counts of one strategy on one kind of case."""

    cases: int = 0
    planted: int = 0
    named: int = 0
    right: int = 0
    right_or_tied: int = 0
    alarms: int = 0
    squares: float = 0.0

    def told(self) -> dict[str, float]:
        """Shares, as the record keeps them."""
        planted, named = max(self.planted, 1), max(self.named, 1)
        return {
            "cases": self.cases,
            "power": round(self.right / planted, 4),
            "power up to ties": round(self.right_or_tied / planted, 4),
            "false per case": round((self.named - self.right) / self.cases, 4),
            "false per case up to ties": round((self.named - self.right_or_tied) / self.cases, 4),
            "selectivity": round(self.right / named, 4),
            "cases with an alarm": round(self.alarms / self.cases, 4),
            "rms error of the flows": round(float(np.sqrt(self.squares / self.cases)), 4),
        }


@dataclass(frozen=True)
class Case:
    """Readings, the true flows behind them, and the names of the planted errors."""

    read: np.ndarray
    flows: np.ndarray
    planted: tuple[str, ...]


def draw(chance: np.random.Generator, count: int, kind: str) -> Case:
    """A case with so many planted errors."""
    flows, bias = CLOSED.copy(), np.zeros(len(SD))
    names: list[str] = []
    for _ in range(count):
        size = chance.uniform(LEAST, MOST) * chance.choice([-1.0, 1.0])
        if kind == "leak" or (kind == "either" and chance.random() < 0.3):
            node = _other(chance, len(NETWORK), names, "leak at node ")
            typical = float(np.median(SD[NETWORK[node] != 0]))
            flows = flows + SD * _leak(node) * size * typical
            names.append(f"leak at node {node + 1}")
        else:
            i = _other(chance, len(SD), names, "x")
            bias[i] += size * SD[i]
            names.append(NAMES[i])
    return Case(flows + bias + chance.normal(0.0, SD), flows, tuple(names))


def _other(chance: np.random.Generator, most: int, taken: Sequence[str], stem: str) -> int:
    while True:
        i = int(chance.integers(most))
        if f"{stem}{i + 1}" not in taken:
            return i


def hypotheses(evidence: Evidence) -> list[Hypothesis]:
    """A bias of each reading and a leak at each node."""
    leaks = [Hypothesis(f"leak at node {k + 1}", "leak", "t/h", _leak(k)) for k in range(len(NETWORK))]
    return [*biases(evidence), *leaks]


def judged(verdict: Verdict, case: Case, evidence: Evidence, every: Sequence[Hypothesis], score: Score) -> None:
    """Add one case to a score."""
    planted = case.planted
    score.cases += 1
    score.planted += len(planted)
    score.named += len(verdict.names)
    score.alarms += bool(verdict.names)
    score.right += len(set(verdict.names) & set(planted))
    score.right_or_tied += _tied(verdict, planted, evidence, every)
    score.squares += _error_left(verdict, evidence, case.read, case.flows) ** 2


def _error_left(verdict: Verdict, evidence: Evidence, read: np.ndarray, flows: np.ndarray) -> float:
    """Root mean square error of the reconciled flows by their standard uncertainties, named errors allowed for."""
    nothing = np.zeros(len(SD))
    wrong = sum((f.hypothesis.mark * f.size for f in verdict.findings), nothing)
    lost = sum((f.hypothesis.mark * f.size for f in verdict.findings if f.hypothesis.kind == "leak"), nothing)
    said = read / SD - wrong
    found = said - evidence.checked @ said + lost
    return float(np.sqrt(np.mean((found - flows / SD) ** 2)))


def _tied(verdict: Verdict, planted: Sequence[str], evidence: Evidence, every: Sequence[Hypothesis]) -> int:
    marks = {h.name: h for h in every}
    open_, right = list(planted), 0
    for name in sorted(verdict.names, key=lambda n: n not in planted):
        match = next((p for p in open_ if p == name or _alike(evidence, marks[p], marks[name])), None)
        if match is not None:
            open_.remove(match)
            right += 1
    return right


def _alike(evidence: Evidence, one: Hypothesis, other: Hypothesis) -> bool:
    if evidence.unseen(one.mark) or evidence.unseen(other.mark):
        return False
    return abs(likeness(evidence, one, other)) > ALIKE


def study(seed: int, cases: int) -> dict[str, dict[str, dict[str, float]]]:
    """Scores of every strategy by kind of case."""
    found: dict[str, dict[str, Score]] = {}
    for kind, count in (("none", 0), ("bias", 1), ("bias", 3), ("bias", 5), ("leak", 1), ("either", 3)):
        chance = np.random.default_rng([seed, count, len(kind)])
        place = f"{count} x {kind}" if count else "none"
        scores = found.setdefault(place, {})
        for _ in range(cases):
            case = draw(chance, count, kind)
            evidence = Evidence.of_balances(NAMES, NETWORK, case.read, SD)
            every = hypotheses(evidence)
            for name, strategy in STRATEGIES.items():
                judged(strategy(evidence), case, evidence, every, scores.setdefault(name, Score()))
            for name, both in (
                ("simultaneous compensation, leaks too", simultaneous_compensation),
                ("gated compensation, leaks too", gated_compensation),
            ):
                judged(both(evidence, every), case, evidence, every, scores.setdefault(name, Score()))
    return {place: {name: score.told() for name, score in scores.items()} for place, scores in found.items()}
