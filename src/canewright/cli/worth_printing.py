"""What further readings are worth, printed: alone and together."""

from __future__ import annotations

from typing import Any

from rich.table import Table

from canewright.accounts.instruments import WorthOfReadings
from canewright.cli.desk import out
from canewright.engine.instruments import Worth
from canewright.intervals import TIMES


def worth_data(found: WorthOfReadings, days: float) -> dict[str, Any]:
    """The same as plain data; intervals are half of 95 %."""

    def row(worth: Worth) -> dict[str, Any]:
        return {
            "reading": worth.name, "interval": TIMES * worth.before, "then": TIMES * worth.after, "cut": worth.cut,
            "money": found.money(worth, days),
        }  # fmt: skip

    return {
        "figure": found.figure, "unit": found.unit, "value": found.value, "days": days,
        "alone": [row(w) for w in found.alone], "together": [row(w) for w in found.together],
    }  # fmt: skip


def print_worth(found: WorthOfReadings, days: float, most: int) -> None:
    """The best readings one by one, then the best set."""
    before = found.alone[0].before if found.alone else 0.0
    out.print(f"{found.figure}: {_interval(found, before)} (95 %), the first suspect left out", markup=False)
    _table(found, "One more reading", found.alone[:most], days)
    _table(found, "Best together, each beside those before it", found.together, days)
    if found.price is not None:
        over = "a day" if days == 1 else f"over {days:g} days"
        out.print(f"Money: what lies in the part of the interval that goes, {over}. It is doubt removed, not a saving.")


def _interval(found: WorthOfReadings, sd: float) -> str:
    return f"{found.value:.{found.decimals}f} ± {TIMES * sd:.{found.decimals + 1}f} {found.unit}"


def _table(found: WorthOfReadings, title: str, rows: tuple[Worth, ...], days: float) -> None:
    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    table.add_column("reading", overflow="fold")
    for head in (f"± then, {found.unit}", "narrower, %", *(["money, $"] if found.price is not None else [])):
        table.add_column(head, justify="right", no_wrap=True)
    for worth in rows:
        money = found.money(worth, days)
        cells = [f"{TIMES * worth.after:.{found.decimals + 1}f}", f"{100 * worth.cut:.0f}"]
        table.add_row(worth.name, *cells, *([] if money is None else [f"{money:,.0f}"]))
    out.print(table)
