"""Ten thousand random plants and settings: never a wrong 'solved', never a refusal without a reason; written down."""

from __future__ import annotations

import itertools
import json
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import pytest

from exams.random_plants import MADE, Findings, Fuzz, described
from exams.test_detection import ROOT, commit

SEED = 20263
TIMES = {"demo plant": 600}
OTHERS, RANDOM_PLANTS, EACH = 1000, 142, 12
PARTS = 4
"""Parts of the draws of random plants, so that every core has work."""


def of_described(seed: int, name: str) -> Findings:
    """Random settings of one described plant."""
    fuzz = Fuzz(seed)
    fuzz.described_plant(name, TIMES.get(name, OTHERS))
    return fuzz.found


def of_made(seed: int, name: str, plants: int) -> Findings:
    """Random plants of one sort, each at random settings."""
    fuzz = Fuzz(seed)
    for _ in range(plants):
        fuzz.made_plant(name, EACH)
    return fuzz.found


def all_found(processes: int | None = None) -> Findings:
    """Every draw, each task with a seed of its own."""
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        seeds = itertools.count(SEED)
        under_way = [pool.submit(of_described, next(seeds), name) for name in described()]
        for name in MADE:
            shares = [RANDOM_PLANTS // PARTS + (k < RANDOM_PLANTS % PARTS) for k in range(PARTS)]
            under_way += [pool.submit(of_made, next(seeds), name, share) for share in shares]
        found = Findings()
        for task in under_way:
            found.add(task.result())
    return found


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
    found = all_found()
    says = (
        "described plants and plants connected at random, at settings drawn within their limits; each state called "
        "solved is looked at from its saved values alone: limits, every equation in plain numbers, ranges of formulas, "
        "balances of every station to 1e-9"
    )
    record = {"says": says, "commit": commit(), "seed": SEED} | told(found)
    target = ROOT / "docs" / "measured" / "fuzz.json"
    target.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert found.asked.total() >= 10_000
    assert not found.wrong
    assert not found.not_explained
