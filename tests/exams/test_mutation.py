"""Nearly every wrong calculation fails a test, and half of wrong limits; writes docs/measured/mutation.json."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from exams.test_detection import commit

ROOT = Path(__file__).parents[2]
SEED, SAMPLE = 3, 250


@pytest.mark.exam
def test_tests_see_at_least_85_of_100_wrong_calculations() -> None:
    target = ROOT / "docs" / "measured" / "mutation.json"
    tool = [sys.executable, "tools/mutation.py", "--json", str(target), "--commit", commit()]
    done = subprocess.run(
        [*tool, "--sample", str(SAMPLE), "--seed", str(SEED)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr or done.stdout[-2000:]
    found = json.loads(target.read_text(encoding="utf-8"))
    calculation, declaration = found["calculation"], found["declaration"]
    assert calculation["run"] == declaration["run"] == SAMPLE
    assert calculation["killed_share"] >= 0.85
    # limits of judgement stay untested: over both kinds 89.3 % was found, uncertain by 2.1 % with such a sample
    mutants = calculation["mutants"] + declaration["mutants"]
    killed = sum(kind["killed_share"] * kind["mutants"] for kind in (calculation, declaration))
    assert killed / mutants >= 0.85
