"""The check of a day's intervals, printed: by straight lines and by drawing, side by side."""

from __future__ import annotations

from rich.table import Table

from canewright.accounts.interval_check import IntervalCheck
from canewright.cli.desk import out


def print_check(found: IntervalCheck) -> None:
    """Every figure with both intervals, then the verdict."""
    table = Table(title="95 % intervals, published and by drawing", title_justify="left", box=None, pad_edge=False)
    table.add_column("figure", overflow="fold")
    table.add_column("unit")
    for head in ("published", "drawn", "scatter", ""):
        table.add_column(head, justify="right", no_wrap=True)
    for f in found.figures:
        digits = f.decimals + 1
        published = f"{f.value - f.half:.{digits}f} to {f.value + f.half:.{digits}f}"
        drawn = f"{f.low:.{digits}f} to {f.high:.{digits}f}"
        table.add_row(f.name, f.unit, published, drawn, f"{f.ratio:.2f}", "" if f.holds else "does not hold")
    out.print(table)
    if found.unsolved:
        out.print(f"{found.unsolved} draws have no state and are left out.")
    out.print(f"{found.sentence[0].upper()}{found.sentence[1:]}.", markup=False)
