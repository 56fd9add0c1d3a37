"""The day sheet and figure trees as text in the terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rich import box
from rich.markup import escape
from rich.table import Table

from canewright.accounts.intervals import TIMES
from canewright.cli.desk import out
from canewright.quantity import Figure

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.plant.advising import PlantAdvice


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
    out.print(f"[bold]{escape(account['plant'])}: day sheet of {account['day']}[/bold]   ({escape(status)})")
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


def _distinct(significant: bool | None) -> str:
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
    for one in account.get("products", []):
        chance = "not known" if one["probability"] is None else f"{100 * one['probability']:.1f} %"
        out.print(
            f"{one['product']}: {one['quantity']} {value_text(one['value'], one['uncertainty'], 3)} {one['unit']}, "
            f"limits {one['low']:g} to {one['high']:g}; probability of being within: {chance}",
            markup=False,
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
            f"Cane delivered {cane['tonnes']} t by {len(cane['owed_by_grower'])} growers, mean CCS {float(cane['mean_ccs']):.2f}; "
            f"owed {cane['owed']} $ ({cane['scheme']})."
        )
    for note in account["notes"]:
        out.print(f"Note: {note}", markup=False)
    out.print("Advice is not a control or safety system; local codes and licensed practice govern.")


def not_considered_in(books: Books) -> Sequence[str]:
    """What advice for these books leaves out."""
    from canewright.plant.advising import not_considered

    return not_considered(books.plant)


def print_advice(advice: PlantAdvice, left_out: Sequence[str]) -> None:
    """Moves in order of gain, the money line by line, what binds, and what was not considered."""
    spread = "no estimate of uncertainty"
    if advice.gain_uncertainty is not None:
        spread = f"± {TIMES * advice.gain_uncertainty:,.0f} (95 %)"
    out.print(f"[bold]Gain {advice.gain_a_day:,.0f} $/d[/bold] {spread}, {advice.gain_an_hour:,.1f} $/h")
    for m in advice.moves:
        alone = "not possible alone" if m.gain_alone is None else f"{m.gain_alone:,.0f} $/d alone"
        out.print(f"  {m.setting} ({m.says}): {m.now:.4g} to {m.then:.4g} {m.unit}; {alone}", markup=False)
    table = Table(title="money, $/d", title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in ("what", "now", "then", "change"):
        table.add_column(heading, justify="left" if heading == "what" else "right")
    for what, now, then in advice.money:
        table.add_row(what, f"{now:,.0f}", f"{then:,.0f}", f"{then - now:+,.0f}")
    out.print(table)
    for sentence in advice.sentences:
        out.print(f"Binds: {sentence}", markup=False)
    for over in advice.already_over:
        out.print(f"Already over, not held to: {over}", markup=False)
    for left in left_out:
        out.print(f"Not considered: {left}", markup=False)
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
