"""Write docs/published-checks.md from the published checks, with the digits agreed.

``published_table.py`` writes the page, ``--check`` fails where the page does not say what the checks give, ``--print``
prints one line per check.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from itertools import groupby
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from published.checks import MOST_DIGITS, OWN, STATUSES, Check, read_folder  # noqa: E402

PAGE = ROOT / "docs" / "published-checks.md"
INTRODUCTION = """# Published checks

Written by `tools/published_table.py` from `src/canewright/published/*.toml`; a test holds it to what the formulas give.

**read**: the figure was seen at the source. **recomputed**: the equation or the data were seen there, the figure was
worked from them apart from this code. **from memory**: recalled, not seen; it guards against change and does not show
that the physics is right. **derived, own numbers**: made up to exercise an equation, not published and not counted.

*Digits* is minus the decimal logarithm of the relative difference, at most 9. *Within* is half a unit of the last
printed digit unless a wider limit is explained.
"""


def digits(check: Check) -> str:
    """The digits agreed, as printed."""
    found = check.digits()
    return "9+" if found >= MOST_DIGITS else f"{found:.1f}"


def inputs(check: Check) -> str:
    """The inputs as given, in one cell."""
    return ", ".join(f"{name.replace('_', ' ')} {each}" for name, each in check.inputs.items())


def row(check: Check) -> str:
    """One line of a table."""
    closes = "" if check.should_close else " **does not close**"
    cells = (check.name, f"`{check.formula}`", inputs(check), str(check.expected), f"{check.within:.2g}", digits(check))
    return f"| {' | '.join(cells)} | {check.status}{closes} |"


def counts(checks: list[Check]) -> list[str]:
    """How many checks there are of each status, how many close, and how the digits are spread."""
    published = [c for c in checks if c.published]
    statuses = Counter(c.status for c in checks)
    source, most = Counter(c.source for c in published if c.status == "read").most_common(1)[0]
    agreed = sorted(c.digits() for c in published if c.should_close)
    lines = ["| status | checks |", "|---|---|", *(f"| {s} | {statuses[s]} |" for s in STATUSES if s != OWN)]
    lines += [f"| **published** | **{len(published)}** |", f"| {OWN} (not counted) | {statuses[OWN]} |", ""]
    lines.append(
        f"Of those read, {most} are figures of one table ({source.title}). "
        f"{len({c.formula for c in published})} formulas have a published check. "
        f"{sum(not c.should_close for c in checks)} checks do not close; they stay, with the reason. "
        f"Of those that close, half agree to {agreed[len(agreed) // 2]:.1f} digits or more, "
        f"nine in ten to {agreed[len(agreed) // 10]:.1f} or more."
    )
    return lines


def open_cases(checks: list[Check]) -> list[str]:
    """What does not close, and why."""
    return [
        f"* {c.name} (`{c.formula}`): expected {c.expected}, ours {c.ours():.6g}. {c.reason}"
        for c in checks
        if not c.should_close
    ]


def remarks(checks: list[Check]) -> list[str]:
    """Why limits are wider than the printed digits, and other notes, each once."""
    told = dict.fromkeys(text for c in checks for text in (c.why, c.note) if text)
    return [f"* {text}" for text in told]


def page(checks: list[Check]) -> str:
    """The whole page."""
    lines = [INTRODUCTION, *counts(checks), "", "## Checks that do not close", "", *open_cases(checks), ""]
    for file, group in groupby(checks, key=lambda c: c.file):
        lines += [f"## {file[:-5].replace('_', ' ').capitalize()}", ""]
        members = list(group)
        for source in dict.fromkeys(c.source for c in members):
            mine = [c for c in members if c.source == source]
            lines += [f"### {source}", "", "| check | formula | inputs | expected | within | digits | status |"]
            lines += ["|---|---|---|---|---|---|---|", *map(row, mine), "", *remarks(mine)]
            lines += [""] if lines[-1] else []
    return "\n".join(lines).rstrip() + "\n"


def main() -> int:
    """Write, check or print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    parser.add_argument("--print", action="store_true")
    asked = parser.parse_args()
    checks = read_folder()
    if asked.print:
        print("\n".join(f"{digits(c):>4}  {c.status:<20}  {c.name}" for c in checks))
        return 0
    if asked.check:
        same = PAGE.is_file() and PAGE.read_text(encoding="utf-8") == page(checks)
        print(f"{PAGE.name} is up to date" if same else f"{PAGE.name} is old: run tools/published_table.py")
        return 0 if same else 1
    PAGE.write_text(page(checks), encoding="utf-8")
    print("\n".join(counts(checks)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
