"""Print how many tests passed, failed and were skipped, from pytest's result file.

``count_tests.py FILE`` prints one line and succeeds. With ``--no-skips`` it fails where any test was skipped, and
names each with its reason.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from xml.etree import ElementTree as ET


def counts(suite: ET.Element) -> dict[str, int]:
    """Number of tests by outcome in one result file."""
    cases = list(suite.iter("testcase"))
    failed = sum(1 for case in cases if case.find("failure") is not None or case.find("error") is not None)
    skipped = sum(1 for case in cases if case.find("skipped") is not None)
    return {"passed": len(cases) - failed - skipped, "failed": failed, "skipped": skipped}


def skipped_lines(suite: ET.Element) -> list[str]:
    """One line for each skipped test: where it stands and the reason given."""
    return [
        f"skipped: {case.get('classname')}::{case.get('name')}: {found.get('message')}"
        for case in suite.iter("testcase")
        if (found := case.find("skipped")) is not None
    ]


def main() -> int:
    """Read the file named on the command line and report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("results", type=Path)
    parser.add_argument("--no-skips", action="store_true")
    asked = parser.parse_args()
    if not asked.results.is_file():
        print("0 passed, 1 failed (the tests did not run)")
        return 1
    root = ET.parse(asked.results).getroot()
    if asked.no_skips:
        lines = skipped_lines(root)
        print("\n".join(lines) if lines else "none skipped")
        return 1 if lines else 0
    print(", ".join(f"{number} {outcome}" for outcome, number in counts(root).items()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
