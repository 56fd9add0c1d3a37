"""Nearly every wrong figure or sign in a formula fails a test; writes docs/measured/mutation.json."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from exams.test_detection import commit

ROOT = Path(__file__).parents[2]
SEED, SAMPLE = 2, 500


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
    found = json.loads(target.read_text(encoding="utf-8"))["calculation"]
    assert found["run"] == SAMPLE
    assert found["killed_share"] >= 0.85
