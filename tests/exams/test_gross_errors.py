"""How well each way of finding several errors does on a published network; written down, and a part of it every time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from exams.gross_errors import study
from exams.test_detection import commit

ROOT = Path(__file__).parents[2]
SEED, CASES = 1986, 500
DEFAULT = "gated compensation, leaks too"


@pytest.mark.exam
def test_every_strategy_on_random_errors() -> None:
    found = study(SEED, CASES)
    record = {
        "says": "Serth & Heenan's steam network (1986): biases and leaks of 5 to 25 standard uncertainties at random",
        "commit": commit(),
        "seed": SEED,
        "cases of each kind": CASES,
        "strategies": found,
    }
    target = ROOT / "docs" / "measured" / "gross_errors.json"
    target.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
    assert found["none"][DEFAULT]["cases with an alarm"] <= 0.06
    assert found["1 x bias"][DEFAULT]["power up to ties"] >= 0.55
    assert found["1 x leak"][DEFAULT]["power up to ties"] >= 0.7
    for place in ("1 x leak", "3 x either"):
        others = [s["power up to ties"] for name, s in found[place].items() if "leaks" not in name]
        assert found[place][DEFAULT]["power up to ties"] > max(others)


def test_a_part_of_the_study() -> None:
    """Thirty cases of each kind: few false alarms, and leaks named as leaks by the default only."""
    found = study(SEED + 1, 30)
    assert found["none"][DEFAULT]["cases with an alarm"] <= 4 / 30
    assert found["1 x bias"][DEFAULT]["power up to ties"] >= 0.4
    assert found["1 x bias"][DEFAULT]["false per case up to ties"] <= 0.2
    assert found["1 x leak"][DEFAULT]["power"] > 0.3
    assert all(s["power"] == 0.0 for name, s in found["1 x leak"].items() if "leaks" not in name)
