"""What might be wrong: each suspected error as the mark it leaves on the readings, tested alone or with another.

The test of one error is the fall of the sum of squares when its size is estimated (generalised likelihood ratio);
for a bias of one reading it equals the square of that reading's individual test. Marks that the readings hardly tell
apart are ties and are reported together. Theory: Narasimhan & Mah, AIChE J. 33 (1987) 1514 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.stats import norm

from canewright.engine.evidence import Evidence
from canewright.engine.spread import Matrix, Vector

ALIKE = 0.95
"""Cosine of the angle between what two marks leave unexplained above which readings hardly tell them apart."""


@dataclass(frozen=True)
class Hypothesis:
    """A suspected error: its name, its kind, the unit of its size, and its mark on the weighted readings per unit."""

    name: str
    kind: str
    unit: str
    mark: Vector


@dataclass(frozen=True)
class Finding:
    """A tested hypothesis: its size with uncertainty, and the test value, in standard uncertainties of the size."""

    hypothesis: Hypothesis
    size: float
    uncertainty: float

    @property
    def test(self) -> float:
        """Size over its uncertainty, without sign."""
        return abs(self.size) / self.uncertainty

    @property
    def gain(self) -> float:
        """How much the sum of squares falls when this error is allowed for."""
        return self.test**2

    def least_seen(self, level: float, power: float = 0.9) -> float:
        """The smallest size that the test at this level would find with this probability."""
        return float((level + norm.ppf(power)) * self.uncertainty)


@dataclass(frozen=True)
class Explanation:
    """Two errors that together explain the readings: sizes with uncertainties, and the fall of the sum of squares."""

    findings: tuple[Finding, ...]
    gain: float


def biases(evidence: Evidence, units: Sequence[str] = ()) -> list[Hypothesis]:
    """A bias of each reading, in the unit of the reading."""
    marks = np.diag(1.0 / evidence.uncertainty)
    symbols = list(units) or [""] * len(evidence.names)
    return [
        Hypothesis(name, "reading", symbol, mark)
        for name, symbol, mark in zip(evidence.names, symbols, marks, strict=True)
    ]


def exchanged(evidence: Evidence, first: str, second: str, values: tuple[float, float]) -> Hypothesis:
    """Two readings written in each other's place; its size is 1 when they were."""
    i, j = evidence.names.index(first), evidence.names.index(second)
    mark = np.zeros(len(evidence.names))
    mark[i] = (values[0] - values[1]) / evidence.uncertainty[i]
    mark[j] = (values[1] - values[0]) / evidence.uncertainty[j]
    return Hypothesis(f"{first} and {second}", "exchanged", "1", mark)


def level(count: int, alarms: float = 0.05) -> float:
    """Test value that so many tests exceed, one or more of them, in a share ``alarms`` of faultless days (Šidák)."""
    return float(norm.ppf(0.5 + 0.5 * (1 - alarms) ** (1 / max(count, 1))))


def assessed(evidence: Evidence, hypotheses: Iterable[Hypothesis]) -> list[Finding]:
    """Every hypothesis that the readings can test, the likeliest first."""
    found = []
    for one in hypotheses:
        if evidence.unseen(one.mark):
            continue
        seen = float(one.mark @ evidence.checked @ one.mark)
        found.append(Finding(one, float(one.mark @ evidence.missed) / seen, seen**-0.5))
    return sorted(found, key=lambda f: -f.test)


def together(evidence: Evidence, hypotheses: Sequence[Hypothesis]) -> Explanation | None:
    """Several errors estimated at once; None where the readings cannot tell their sizes apart."""
    marks = np.column_stack([h.mark for h in hypotheses])
    seen = marks.T @ evidence.checked @ marks
    scale = np.sqrt(np.diagonal(seen))
    if np.any(scale == 0) or np.linalg.eigvalsh(seen / np.outer(scale, scale))[0] < 1e-6:
        return None
    size = np.linalg.solve(seen, marks.T @ evidence.missed)
    sd = np.sqrt(np.diagonal(np.linalg.inv(seen)))
    findings = tuple(Finding(h, float(b), float(u)) for h, b, u in zip(hypotheses, size, sd, strict=True))
    return Explanation(findings, float(size @ seen @ size))


def pairs(evidence: Evidence, hypotheses: Sequence[Hypothesis], most: int = 12) -> list[Explanation]:
    """The pairs among the likeliest ``most`` hypotheses that explain the readings together, the best first."""
    likely = [f.hypothesis for f in assessed(evidence, hypotheses)[:most]]
    found = [together(evidence, pair) for pair in combinations(likely, 2)]
    return sorted((e for e in found if e is not None), key=lambda e: -e.gain)


def likeness(evidence: Evidence, one: Hypothesis, other: Hypothesis) -> float:
    """Cosine of the angle between what the marks of two errors leave unexplained; 1 (or -1) for an exact tie."""
    left = evidence.checked @ other.mark
    sizes = float(one.mark @ evidence.checked @ one.mark) * float(other.mark @ left)
    return float(one.mark @ left / np.sqrt(sizes))


def ties(evidence: Evidence, findings: Sequence[Finding]) -> list[Finding]:
    """The first finding and those of the others that the readings hardly tell from it."""
    if not findings:
        return []
    first, *rest = findings
    return [first, *(f for f in rest if abs(likeness(evidence, first.hypothesis, f.hypothesis)) > ALIKE)]


def told_apart(
    influence: Matrix, slopes: Matrix, spread: Vector, first: Finding, second: Finding, noise: Vector
) -> Vector:
    """How well each further reading would tell two findings apart, in standard uncertainties of the difference.

    ``slopes`` are the derivatives of the candidate readings to the released settings, ``spread`` their standard
    uncertainties now, ``noise`` those of the candidate instruments; ``influence`` gives the released settings by
    weighted readings.
    """
    moved = slopes @ influence @ (first.hypothesis.mark * first.size - second.hypothesis.mark * second.size)
    return np.asarray(np.abs(moved) / np.hypot(spread, noise))
