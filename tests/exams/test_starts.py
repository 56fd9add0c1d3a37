"""A thousand random starts of each width, and what came of them; written down."""

from __future__ import annotations

import json

import numpy as np
import pytest

from exams.starts import RandomStarts, Tally
from exams.test_detection import ROOT, commit

SEED, TRIES = 20262, 1000


def told(tally: Tally) -> dict[str, object]:
    """What was counted, as plain data."""
    return {
        "tries": tally.tries,
        "solved": tally.solved,
        "how": dict(tally.methods),
        "another state called solved": tally.elsewhere,
        "refused": len(tally.refused),
        "first refusals": tally.refused[:3],
        "furthest from the plant's state (relative)": tally.furthest,
        "median seconds": round(float(np.median(tally.seconds)), 4),
        "99th percentile of seconds": round(float(np.percentile(tally.seconds, 99)), 4),
    }


@pytest.mark.exam
def test_the_plant_is_found_from_anywhere() -> None:
    starts = RandomStarts(SEED)
    near, far = starts.tally(0.5, TRIES), starts.tally(0.9, TRIES)
    record = {
        "says": "demo plant; each unknown of the solved state moved at random by up to the share, within its limits; "
        "where Newton gets nowhere from there, the plant's own estimate that follows the flow is the next start",
        "commit": commit(),
        "seed": SEED,
        "equations": starts.plant.model.n,
        "by up to 50 %": told(near),
        "by up to 90 %": told(far),
    }
    target = ROOT / "docs" / "measured" / "starts.json"
    target.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert near.solved == TRIES
    assert far.solved >= 0.995 * TRIES
    assert near.elsewhere == far.elsewhere == 0
