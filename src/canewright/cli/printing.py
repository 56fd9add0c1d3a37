"""The day sheet as text in the terminal: what needs attention first, the notes last."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from canewright.cli.desk import out
from canewright.cli.digits import rounded, share_text, value_text
from canewright.cli.standing import standing_text, today_text
from canewright.intervals import least_seen

CAUTION = "Advice is not a control or safety system; local codes and licensed practice govern."
WEEK, SEASON = "week to date", "season to date"
FROM_WIDTH = {WEEK: 100, SEASON: 120}
"""Columns of the screen from which each period fits beside the day."""
NAME_WIDTH = 22
"""Characters that a figure's name keeps on a narrow screen: no name takes three lines."""
PERIOD_WIDTH = 14
"""Characters of a period's column: a value with its half-width; the heading breaks."""


def print_sheet(
    account: Mapping[str, Any], status: str, season_start: dt.date | None = None, *, periods: bool = False
) -> None:
    """The day sheet: attention, products, stops, hours, stocks and cane, then every figure, then notes.

    A narrow screen shows the day alone; ``periods`` shows week and season there instead of target and standing.
    """
    out.print()
    out.print(f"[bold]{escape(account['plant'])}: day sheet of {account['day']}[/bold]   ({escape(status)})")
    _print_attention(account["attention"])
    _print_losses(account)
    _print_products(account.get("products") or [])
    _print_running(account)
    _print_figures(account, season_start, periods=periods)
    _print_tests(account["tests"], account.get("suspect"))
    if account.get("diagnosis"):
        out.print(f"What it looks like: {'; '.join(account['diagnosis'])}.", markup=False)
    for note in sorted(account["notes"]):
        out.print(f"Note: {note}", markup=False)
    out.print(CAUTION)


def _print_attention(matters: Sequence[Mapping[str, Any]]) -> None:
    out.print()
    out.print("[bold]Needs attention, in order of money[/bold]" if matters else "Nothing needs attention.")
    for i, one in enumerate(matters, start=1):
        money = f"{one['money']:,.0f} $ a day" if one["money"] is not None else "not priced"
        out.print(f"  {i}. {one['what']} ({money}): {one['why']}; {one['act']}", markup=False)


def _print_losses(account: Mapping[str, Any]) -> None:
    rows = [row for row in account["sheet"] if row["loss"] and "undetermined" in row["name"]]
    if rows:
        out.print("\n[bold]Undetermined losses (95 %)[/bold]")
    for row in rows:
        week = row[WEEK]
        out.print(
            f"  {row['name']}: {value_text(row['value'], row['uncertainty'], 2)} {row['unit']}"
            f"{_distinct(row['significant'])}; {WEEK} {value_text(week['value'], week['uncertainty'], 2)} {row['unit']}"
            f"{_distinct(week['significant'])}{_seen(row, week)}",
            markup=False,
        )


def _seen(row: Mapping[str, Any], week: Mapping[str, Any]) -> str:
    """The smallest loss that would reliably be seen."""
    day, whole = least_seen(row["uncertainty"]), least_seen(week["uncertainty"])
    if day is None or whole is None:
        return ""
    return f"; surely seen would be {day:.1f} {row['unit']} in a day, {whole:.1f} {row['unit']} in the {WEEK}"


def _distinct(significant: bool | None) -> str:
    return " (not distinguishable from zero)" if significant is False else ""


def _print_products(products: Sequence[Mapping[str, Any]]) -> None:
    if products:
        out.print("\n[bold]Products in specification (95 %)[/bold]")
    for one in products:
        chance = "not known" if one["probability"] is None else share_text(one["probability"])
        out.print(
            f"  {one['product']}: {one['quantity']} {value_text(one['value'], one['uncertainty'])} {one['unit']}, "
            f"limits {one['low']:g} to {one['high']:g}; probability of being within: {chance}",
            markup=False,
        )


def _print_running(account: Mapping[str, Any]) -> None:
    """Stops, running hours, closing stocks and the cane delivered."""
    out.print()
    for section, cause, hours in account["stops"]:
        out.print(f"Stop of {section}: {cause}, {hours:.2f} h", markup=False)
    for name, hours in account["hours"].items():
        out.print(f"Running hours, {name.split('.')[1]}: {hours:.2f} h", markup=False)
    for name, tonnes in account["stocks"].items():
        out.print(f"Closing stock, {name}: {tonnes:,.1f} t", markup=False)
    if account["cane"]:
        out.print(_cane_text(account["cane"]), markup=False)


def _cane_text(cane: Mapping[str, Any]) -> str:
    tonnes, owed = float(cane["tonnes"]), float(cane["owed"])
    ccs = "not known" if cane["mean_ccs"] is None else f"{float(cane['mean_ccs']):.2f}"
    each = f", {owed / tonnes:.2f} $/t" if tonnes else ""
    return (
        f"Cane delivered {tonnes:,.2f} t by {len(cane['owed_by_grower'])} growers, mean CCS {ccs}; "
        f"owed {owed:,.2f} $ ({cane['scheme']}){each}."
    )


# --- the table --------------------------------------------------------------------------------------------------------


def _print_figures(account: Mapping[str, Any], season_start: dt.date | None, *, periods: bool) -> None:
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for row in account["sheet"]:
        groups.setdefault(row["group"], []).append(row)
    headings = _period_headings(account, season_start)
    fitting = {p: h for p, h in headings.items() if periods or out.width >= FROM_WIDTH[p]}
    every = len(fitting) == len(headings)
    longest = max((len(row["name"]) for row in account["sheet"]), default=NAME_WIDTH)
    name_width = longest if out.width >= FROM_WIDTH[SEASON] + longest - NAME_WIDTH else NAME_WIDTH
    for group, rows in groups.items():
        out.print()
        out.print(_table(group, rows, fitting, name_width, standing=not periods or out.width >= FROM_WIDTH[SEASON]))
    if not every:
        left_out = " and ".join(p for p in headings if p not in fitting)
        out.print(
            f"Not shown: {left_out}; canewright day show --periods shows them, as do {FROM_WIDTH[SEASON]} columns."
        )


def _period_headings(account: Mapping[str, Any], season_start: dt.date | None) -> dict[str, str]:
    """The heading of each period: how many of its days are in it."""
    day = dt.date.fromisoformat(account["day"])
    since = max((day - (season_start or day)).days, 0)
    spans = {WEEK: since % 7 + 1, SEASON: since + 1}
    return {
        period: f"{period}, {max((row[period].get('days', 1) for row in account['sheet']), default=1)} of {span} days"
        for period, span in spans.items()
    }


def _table(
    group: str, rows: Sequence[Mapping[str, Any]], headings: Mapping[str, str], name_width: int, *, standing: bool
) -> Table:
    table = Table(title=group, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column("figure", width=name_width)
    table.add_column("unit", no_wrap=True)
    table.add_column("today (95 %)", justify="right", no_wrap=True)
    for heading in headings.values():
        table.add_column(heading, justify="right", width=PERIOD_WIDTH)
    if standing:
        table.add_column("target", justify="right", no_wrap=True)
        table.add_column("rests on")
    for row in rows:
        cells = [row["name"], row["unit"], today_text(row)]
        cells += [value_text(row[p]["value"], row[p]["uncertainty"], row["decimals"]) for p in headings]
        if standing:
            rests = standing_text(row) if out.width >= FROM_WIDTH[WEEK] else standing_text(row).replace(", ", ",\n")
            cells += ["" if row["target"] is None else f"{row['target']:g}", rests]
        table.add_row(*(escape(cell) for cell in cells))
    return table


def _print_tests(tests: Mapping[str, Any], suspect: str | None) -> None:
    said = "agree with" if tests["passes"] else "do NOT agree with"
    but = f"; yet {suspect} does not fit the others" if suspect else ""
    out.print(
        f"All readings and priors together {said} the equations{but}: {rounded(tests['objective'], 1)} against "
        f"{rounded(tests['level'], 1)} ({tests['readings']} readings, {tests['equations']} equations)."
    )
