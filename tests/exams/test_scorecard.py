"""The invented seasons in full, written down with the scorecard that a person reads."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from canewright.demonstration.scorecard import coverage, page
from exams.scorecard import record
from exams.test_detection import commit

ROOT = Path(__file__).parents[2]


@pytest.mark.exam
def test_what_the_accounts_see_of_invented_seasons() -> None:
    found = record(commit())
    target = ROOT / "docs" / "measured" / "scorecard.json"
    target.write_text(json.dumps(found, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    (ROOT / "docs" / "scorecard.md").write_text(page(found), encoding="utf-8")
    for season in found["seasons"]:
        if season["variant"] == "full":
            assert season["found in time"] >= season["of"] - 1
        if season["variant"] == "no-fault":
            assert season["false alarms a week"] <= 1.0
        assert all(f["in time"] for f in season["faults"] if not f["must be found"])
    share, _, _ = coverage([r["weekly intervals"] for r in found["coverage"]])
    assert 0.85 <= share <= 0.95
