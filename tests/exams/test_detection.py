"""Two hundred days of the demo plant with known truth: found biases, false alarms, honest intervals; written down."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from exams.detection import BIAS, CANE, JUICE, Trial

ROOT = Path(__file__).parents[2]
SEED, DAYS = 20261, 200


def commit() -> str:
    """The commit that was measured; says so when the files differ from it."""

    def git(*words: str) -> str:
        return subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()

    changed = git("status", "--porcelain", "--untracked-files=no", "--", "src")
    return git("rev-parse", "HEAD") + (" with changes" if changed else "")


def record(trial: Trial) -> dict[str, object]:
    """What was counted, as plain data."""
    c = trial.counts
    shares = {n: round(c.covered[n] / c.asked[n], 3) for n in trial.names if c.asked[n]}
    return {
        "says": "days of the demo plant at settings drawn from their priors, with noisy readings; once as they are, "
        f"once with a {100 * BIAS:g} % bias of one weigher (up and down in turn)",
        "commit": commit(),
        "seed": SEED,
        "days": c.draws,
        "draws the plant cannot run": c.refused_truths,
        "limits met by those draws": dict(c.limits_met.most_common(6)),
        "false alarms": c.false_alarms,
        "false alarm meters": dict(c.false_alarm_meters),
        "global test passed": c.global_passes,
        "found (either weigher flagged)": dict(c.found),
        "found (itself flagged)": dict(c.itself),
        "first suspect is the biased one": dict(c.first),
        "intervals that cover the truth": round(c.coverage, 4),
        "by figure": shares,
        "furthest from the truth, in standard uncertainties": round(
            max(abs(z) for values in c.z.values() for z in values), 1
        ),
        "days with a limit active": c.days_at_limit,
        "limits active": dict(c.at_limit.most_common(8)),
        "not solved": c.not_solved,
    }


@pytest.mark.exam
def test_biases_are_found_alarms_are_rare_and_intervals_are_honest() -> None:
    trial = Trial(SEED)
    for _ in range(DAYS):
        trial.day()
    target = ROOT / "docs" / "measured" / "detection.json"
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(json.dumps(record(trial), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    c = trial.counts
    assert not c.not_solved
    assert c.found[CANE] >= 0.90 * DAYS
    assert c.found[JUICE] >= 0.90 * DAYS
    assert c.false_alarms <= 0.10 * DAYS
    assert 0.85 <= c.coverage <= 0.95
