"""Ways of finding several errors at once, all on the same evidence: elimination, compensation, robust estimates.

- *Serial elimination*: while the global test fails, leave out the reading with the largest individual test.
- *Simultaneous compensation*: while an individual test exceeds its level, allow for that error and estimate all again.
- *Robust*: readings far from the rest lose their weight (Fair, Huber, Welsch, Hampel with the usual 95 % efficient
  constants, from memory); what then stands apart is named. Redescending weights start from Fair's answer.

The power of each on a published network is measured by tests/exams and told in docs/measured/gross_errors.md.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from canewright.engine.evidence import CHECKED, Evidence
from canewright.engine.hypotheses import Finding, Hypothesis, assessed, biases, level, together
from canewright.engine.spread import Vector

MOST = 8
"""Errors looked for at most: beyond, the day as a whole is not usable."""
ROUNDS = 200


@dataclass(frozen=True)
class Verdict:
    """The errors that a strategy names, each with its size estimated together with the others."""

    findings: tuple[Finding, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the errors, as found."""
        return tuple(f.hypothesis.name for f in self.findings)


def serial_elimination(evidence: Evidence, hypotheses: Sequence[Hypothesis] = ()) -> Verdict:
    """Leave out the worst reading until the rest agree with the equations together."""
    return _one_by_one(evidence, hypotheses, lambda left, best: not left.passes())


def simultaneous_compensation(evidence: Evidence, hypotheses: Sequence[Hypothesis] = ()) -> Verdict:
    """Allow for the likeliest error, estimated anew with those before, until no further one is likely."""
    limit = level(_testable(evidence))
    return _one_by_one(evidence, hypotheses, lambda left, best: best.test > limit)


def gated_compensation(evidence: Evidence, hypotheses: Sequence[Hypothesis] = ()) -> Verdict:
    """Simultaneous compensation that begins only where the readings together disagree.

    An error named early whose own test, estimated with those named later, has fallen below the level is given up.
    """
    if evidence.passes():
        return Verdict(())
    found = simultaneous_compensation(evidence, hypotheses)
    return Verdict(_borne_out(evidence, [f.hypothesis for f in found.findings], level(_testable(evidence))))


def _one_by_one(
    evidence: Evidence, hypotheses: Sequence[Hypothesis], goes_on: Callable[[Evidence, Finding], bool]
) -> Verdict:
    left, taken = evidence, list[Hypothesis]()
    rest = [h for h in hypotheses or biases(evidence) if evidence.checks(h.mark)]
    while len(taken) < MOST:
        found = assessed(left, rest)
        if not found or not goes_on(left, found[0]):
            break
        best = found[0].hypothesis
        taken.append(best)
        rest = [h for h in rest if h is not best]
        left = left.allowing(best.mark)
    whole = together(evidence, taken) if taken else None
    return Verdict(whole.findings if whole else ())


def _testable(evidence: Evidence) -> int:
    return int(np.sum(np.diagonal(evidence.checked) > CHECKED))


# --- robust ---------------------------------------------------------------------------------------------------------

Weighing = Callable[[Vector], Vector]


def _fair(e: Vector) -> Vector:
    return np.asarray(1.0 / (1.0 + np.abs(e) / 1.3998))


def _huber(e: Vector) -> Vector:
    return np.asarray(1.345 / np.maximum(np.abs(e), 1.345))


def _welsch(e: Vector) -> Vector:
    return np.asarray(np.exp(-((e / 2.9846) ** 2)))


def _hampel(e: Vector) -> Vector:
    size, a, b, c = np.abs(e), 1.7, 3.4, 8.5
    falling = a / np.maximum(size, a)
    last = a / np.maximum(size, a) * np.clip((c - size) / (c - b), 0.0, 1.0)
    return np.asarray(np.where(size <= b, falling, last))


WEIGHTS: Mapping[str, Weighing] = {"Fair": _fair, "Huber": _huber, "Welsch": _welsch, "Hampel": _hampel}


def robust(evidence: Evidence, weighing: str = "Hampel") -> Verdict:
    """The readings that stand apart from a robust estimate, their biases estimated together.

    Raises KeyError for an unknown weighing.
    """
    left = robust_misses(evidence, weighing)
    limit = level(_testable(evidence))
    named, taken = biases(evidence), list[Hypothesis]()
    for i in np.argsort(-np.abs(left)):
        if abs(left[i]) <= limit or len(taken) == MOST:
            break
        if evidence.checks(named[i].mark):
            taken.append(named[i])
    return Verdict(_borne_out(evidence, taken, 0.0))


def _borne_out(evidence: Evidence, taken: list[Hypothesis], limit: float) -> tuple[Finding, ...]:
    """Sizes of these errors estimated together.

    One by one are given up: the last where they cannot be told apart, else the weakest that is below the limit.
    """
    while taken:
        whole = together(evidence, taken)
        if whole is None:
            taken = taken[:-1]
            continue
        weakest = min(whole.findings, key=lambda f: f.test)
        if weakest.test > limit:
            return whole.findings
        taken = [h for h in taken if h is not weakest.hypothesis]
    return ()


def robust_misses(evidence: Evidence, weighing: str) -> Vector:
    """What each reading misses of a robust estimate, in standard uncertainties."""
    value, direction = evidence.spectrum
    basis = direction * np.sqrt(1.0 - value)
    held, said = np.diag(value), evidence.said

    def settle(weigh: Weighing, left: Vector) -> Vector:
        for _ in range(ROUNDS):
            weight = weigh(left)
            free = np.linalg.lstsq(basis.T @ (basis * weight[:, None]) + held, basis.T @ (weight * said), rcond=1e-12)[
                0
            ]
            fresh = said - basis @ free
            if np.max(np.abs(fresh - left), initial=0.0) < 1e-8:
                return np.asarray(fresh)
            left = fresh
        return left

    left = settle(_fair, evidence.missed)
    return left if weighing == "Fair" else settle(WEIGHTS[weighing], left)


STRATEGIES: Mapping[str, Callable[[Evidence], Verdict]] = {
    "serial elimination": serial_elimination,
    "simultaneous compensation": simultaneous_compensation,
    "gated compensation": gated_compensation,
    **{name: partial(robust, weighing=name) for name in WEIGHTS},
}
"""Every strategy by name."""
