"""Write docs/reference-mill.md: each printed figure of the worked reference case beside the solved one.

``reference_table.py`` writes the page, ``--check`` fails where the page does not say what the plant gives.
"""

from __future__ import annotations

import argparse
import sys
from itertools import groupby
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from plant.reference_figures import Row, figures, reference  # noqa: E402

PAGE = ROOT / "docs" / "reference-mill.md"
INTRODUCTION = """# The reference mill

Written by `tools/reference_table.py` from `tests/plant/reference_mill.toml` and `tests/plant/reference_figures.py`; a
test holds each figure to its limit and this page to what the plant gives.

A whole mill with invented figures, 400 t/h of cane to raw sugar, molasses and exported power, was solved by an
independent program before this code was written, and its tables were printed. The same mill, described with the
stations of the catalogue, gives the figures beside them. *Apart* is solved on printed less one. A figure that is
further apart than its rounding carries a difference of laws between the two programs, named above it.

Fitted, so that both stand on the same ground: the temperature of the cane (mixed juice at 35 °C; the source closes no
heat balance of its mills), the heat loss of the hot well (hot water at 75 °C) and of the boilers' hot well (exhaust
condensate 3 K cooler), and the head rises of the effects (less the difference of the two laws of boiling point
elevation).

Where the source does not close: its mechanical efficiency of turbines is stated as 0.95 and its powers are 0.98 of the
work of the steam, so 0.98 is used; its turbine cooling water is stated to leave at 42 °C and its flow is that of a
rise of 10 K, so 40 °C is used.
"""


def number(value: float) -> str:
    """A figure with as many decimals as the source prints, at most four."""
    return f"{value:.4f}" if abs(value) < 1000 else f"{value:.1f}"


def signed(per_cent: float) -> str:
    """A difference with its sign and three decimals; nothing has no sign, so that rounding does not stir the page."""
    told = f"{per_cent:+.3f}"
    return "0.000" if told in {"+0.000", "-0.000"} else told


def line(row: Row) -> str:
    """One row of the table."""
    solved = row.solved(reference())
    apart = solved / row.printed - 1.0
    return f"| {row.name} | {row.unit} | {number(row.printed)} | {number(solved)} | {signed(100 * apart)} % |"


def page() -> str:
    """The whole page."""
    head = "| figure | unit | printed | solved | apart |\n|---|---|---|---|---|"
    rows = sorted(figures(), key=lambda row: row.why)
    parts = [INTRODUCTION]
    for why, group in groupby(rows, key=lambda row: row.why):
        parts.append(f"## {why[0].upper()}{why[1:]}\n\n{head}\n" + "\n".join(line(row) for row in group) + "\n")
    return "\n".join(parts)


def main() -> int:
    """Write the page, or say that it is out of date."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--check", action="store_true", help="fail where the page is out of date")
    if not parser.parse_args().check:
        PAGE.write_text(page(), encoding="utf-8")
        return 0
    if PAGE.read_text(encoding="utf-8") == page():
        return 0
    print(f"{PAGE.relative_to(ROOT)} is out of date: run tools/reference_table.py")
    return 1


if __name__ == "__main__":
    sys.exit(main())
