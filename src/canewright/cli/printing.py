"""The day sheet and figure trees as text in the terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich import box
from rich.table import Table

from canewright.cli.desk import out
from canewright.quantity import Figure

TIMES = 1.96
"""Half-width of the printed interval in standard uncertainties (95 %)."""


def value_text(value: float | None, uncertainty: float | None, decimals: int) -> str:
    """A value with its 95 % half-width, or why there is none."""
    if value is None:
        return "no value"
    if uncertainty is None:
        return f"{value:.{decimals}f}, no estimate of uncertainty"
    return f"{value:.{decimals}f} ± {TIMES * uncertainty:.{decimals}f}"


def print_sheet(account: Mapping[str, Any], status: str) -> None:
    """The day sheet: what needs attention first, then every figure for today, week and season to date."""
    out.print()
    out.print(f"[bold]{account['plant']}: day sheet of {account['day']}[/bold]   ({status})")
    _print_headline(account)
    _print_attention(account["attention"])
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for row in account["sheet"]:
        groups.setdefault(row["group"], []).append(row)
    for group, rows in groups.items():
        out.print(_table(group, rows))
    _print_rest(account)


def _print_headline(account: Mapping[str, Any]) -> None:
    for row in account["sheet"]:
        if not row["loss"] or "undetermined" not in row["name"]:
            continue
        week = row["week to date"]
        out.print(
            f"  {row['name']}, week to date: {value_text(week['value'], week['uncertainty'], 2)} {row['unit']}"
            f"{_distinct(week['significant'])}; today {value_text(row['value'], row['uncertainty'], 2)} {row['unit']}"
            f"{_distinct(row['significant'])}"
        )


def _distinct(significant: bool | None) -> str:  # noqa: FBT001 - three states of one stored field
    return " (not distinguishable from zero)" if significant is False else ""


def _print_attention(matters: Sequence[Mapping[str, Any]]) -> None:
    out.print()
    out.print("[bold]Needs attention, in order of money[/bold]" if matters else "Nothing needs attention.")
    for i, one in enumerate(matters, start=1):
        money = f"{one['money']:,.0f} $ a day" if one["money"] is not None else "not priced"
        out.print(f"  {i}. {one['what']} ({money}): {one['why']}; {one['act']}", markup=False)


def _table(group: str, rows: Sequence[Mapping[str, Any]]) -> Table:
    table = Table(title=group, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in ("figure", "unit", "today (95 %)", "week to date", "season to date", "target", "rests on"):
        table.add_column(heading, justify="left" if heading in {"figure", "unit", "rests on"} else "right")
    for row in rows:
        d = row["decimals"]
        week, season = row["week to date"], row["season to date"]
        table.add_row(
            row["name"],
            row["unit"],
            value_text(row["value"], row["uncertainty"], d),
            value_text(week["value"], week["uncertainty"], d),
            value_text(season["value"], season["uncertainty"], d),
            "" if row["target"] is None else f"{row['target']:g}",
            {"known": "readings"}.get(row["standing"], row["standing"].replace("rests on ", "")),
        )
    return table


def _print_rest(account: Mapping[str, Any]) -> None:
    tests = account["tests"]
    agree = "agree with" if tests["passes"] else "do NOT agree with"
    out.print(
        f"All readings together {agree} the equations: {tests['objective']:.1f} against {tests['level']:.1f} "
        f"({tests['readings']} readings, {tests['equations']} equations)."
    )
    for name, hours in account["hours"].items():
        out.print(f"Running hours, {name.split('.')[1]}: {hours:.2f} h")
    for section, cause, hours in account["stops"]:
        out.print(f"Stop of {section}: {cause}, {hours:.2f} h", markup=False)
    for name, tonnes in account["stocks"].items():
        out.print(f"Closing stock, {name}: {tonnes:,.1f} t", markup=False)
    cane = account["cane"]
    if cane:
        out.print(
            f"Cane delivered {cane['tonnes']} t by {len(cane['owed_by_grower'])} growers, mean CCS {cane['mean_ccs']}; "
            f"owed {cane['owed']} $ ({cane['scheme']})."
        )
    for note in account["notes"]:
        out.print(f"Note: {note}", markup=False)
    out.print("Advice is not a control or safety system; local codes and licensed practice govern.")


def print_tree(figure: Figure, most: int, depth: int = 0, lead: str = "") -> None:
    """A figure with everything it rests on, most important first; ``most`` inputs of each figure, 0 for all."""
    amount = "no value" if figure.value is None else f"{figure.value:.6g} {figure.unit}"
    spread = f" ± {figure.uncertainty:.3g} (standard uncertainty)" if figure.uncertainty is not None else ""
    source = f" [{figure.reading}]" if figure.reading else ""
    note = f" ({figure.note})" if figure.note else ""
    out.print(f"{'  ' * depth}{lead}{figure.name}: {amount}{spread}{source}{note}", markup=False)
    if figure.inputs:
        out.print(f"{'  ' * depth}  = {figure.how}", markup=False)
    shown = figure.inputs if most == 0 else figure.inputs[:most]
    for source_of in shown:
        words = []
        if source_of.variance_share is not None:
            words.append(f"{100 * source_of.variance_share:.2f} % of the variance")
        if source_of.derivative is not None:
            words.append(f"derivative {source_of.derivative:.4g}")
        print_tree(source_of.figure, most, depth + 1, f"({', '.join(words)}) " if words else "")
    hidden = len(figure.inputs) - len(shown)
    if hidden > 0:
        rest = sum(s.variance_share or 0.0 for s in figure.inputs[most:])
        out.print(f"{'  ' * (depth + 1)}and {hidden} more with {100 * rest:.2f} % of the variance; --all shows them")
