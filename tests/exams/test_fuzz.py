"""Ten thousand random plants and settings: never a wrong 'solved', never a refusal without a reason; written down."""

from __future__ import annotations

import json

import pytest

from exams.random_plants import MADE, Findings, Fuzz, described
from exams.test_detection import ROOT, commit

SEED = 20263
TIMES = {"demo plant": 1500}
OTHERS, RANDOM_PLANTS, EACH = 800, 155, 12


def told(found: Findings) -> dict[str, object]:
    """What was counted, as plain data."""
    return {
        "asked": found.asked.total(),
        "asked of": dict(found.asked),
        "solved": found.solved.total(),
        "solved of": dict(found.solved),
        "how": dict(found.methods),
        "wrong 'solved'": len(found.wrong),
        "first wrong": found.wrong[:5],
        "refused": found.refused,
        "refusals that name a limit or range": found.limit_named,
        "refusals without a reason": len(found.not_explained),
        "solved above a capacity (told, not refused)": found.above_capacity,
        "asked again without a start": found.compared,
        "two starts, two answers": found.two_states,
        "random plants impossible as drawn": found.impossible_as_drawn,
    }


@pytest.mark.exam
def test_never_a_wrong_solved() -> None:
    fuzz = Fuzz(SEED)
    for name in described():
        fuzz.described_plant(name, TIMES.get(name, OTHERS))
    for name in MADE:
        for _ in range(RANDOM_PLANTS):
            fuzz.made_plant(name, EACH)
    says = (
        "described plants and plants connected at random, at settings drawn within their limits; each state called "
        "solved is looked at from its saved values alone: limits, every equation in plain numbers, ranges of formulas, "
        "balances of every station to 1e-9"
    )
    record = {"says": says, "commit": commit(), "seed": SEED} | told(fuzz.found)
    target = ROOT / "docs" / "measured" / "fuzz.json"
    target.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert fuzz.found.asked.total() >= 10_000
    assert not fuzz.found.wrong
    assert not fuzz.found.not_explained
