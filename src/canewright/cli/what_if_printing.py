"""Answers to what-if questions, what matters, and kept trials, printed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.table import Table

from canewright.cli.desk import out
from canewright.cli.digits import rounded, value_text
from canewright.cli.printing import CAUTION

if TYPE_CHECKING:
    from canewright.plant.what_if import Answer, Bar, Told
    from canewright.store import Trial

BAR = 24
"""Characters of the longest bar."""


def print_answer(answer: Answer, *, everything: bool) -> None:
    """What was changed, the table of figures, and what is passed then."""
    for c in answer.changed:
        out.print(f"{c.setting} ({c.says}): {c.base:.5g} to {c.then:.5g} {_unit(c.unit)}".rstrip(), markup=False)
    table = _table("Against the day as it is", "figure", "unit", "base", "then", "change ± (95 %)")
    shown = [r for r in answer.rows if everything or r.shows]
    for r in shown:
        most = r.decimals + 3
        cells = (rounded(x, r.decimals, ",") for x in (r.base, r.then))
        table.add_row(r.name, _unit(r.unit), *cells, value_text(r.change, r.uncertainty, most, ","))
    out.print(table if shown else "No figure changes.")
    for warning in answer.warnings:
        out.print(f"Beyond a limit: {warning}", markup=False)
    out.print(CAUTION)


def print_bars(told: Told, bars: Sequence[Bar]) -> None:
    """What moves a figure most, with bars of signs."""
    table = _table(f"What moves {told.name}, {_unit(told.unit)}", "setting", "from", "to", "at from", "at to", "swing")
    longest = max((b.swing for b in bars), default=0.0)
    for b in bars:
        drawn = "#" * max(1, round(BAR * b.swing / longest))
        ends = (f"{end:.4g} {_unit(b.unit)}".rstrip() for end in (b.low, b.high))
        at = (rounded(x, told.decimals + 1, ",") for x in (b.at_low, b.at_high))
        table.add_row(f"{b.setting} ({'its step' if b.why == 'step' else 'its 95 % interval'})", *ends, *at, drawn)
    out.print(table if bars else "Nothing moves it.")


def print_trials(trials: Sequence[Trial]) -> None:
    """Kept trials in one table."""
    table = _table("Kept trials", "trial", "day", "name", "changes", "by", "at", "notes")
    for t in trials:
        changes = ", ".join(f"{n} = {v:g}" for n, v in t.changes.items())
        table.add_row(
            str(t.id), t.day.isoformat(), t.name, changes, t.by, f"{t.at:%Y-%m-%d %H:%M} UTC", str(len(t.notes))
        )
    out.print(table if trials else "No trial is kept; canewright what-if --keep NAME keeps one.")


def print_trial(trial: Trial) -> None:
    """One kept trial."""
    out.print(
        f"Trial {trial.id}: {trial.name}; day {trial.day}, kept by {trial.by} on {trial.at:%Y-%m-%d %H:%M} UTC",
        markup=False,
    )
    for name, value in trial.changes.items():
        out.print(f"  {name} = {value:g}", markup=False)
    print_compared([trial])
    for warning in trial.result["warnings"]:
        out.print(f"Beyond a limit: {warning}", markup=False)
    for note in trial.notes:
        out.print(f"Note by {note.by}, {note.at:%Y-%m-%d %H:%M} UTC: {note.text}", markup=False)


def print_compared(trials: Sequence[Trial]) -> None:
    """Changes of every figure that any of these trials changed, side by side."""
    from canewright.accounts.trials import compared

    heads = [f"trial {t.id}: {t.name}" for t in trials]
    table = _table("Change from the base ± (95 %)", "figure", "unit", *heads)
    for row in compared(trials):
        cells = ["no value" if c is None else value_text(c[0], c[1], row.decimals + 2, ",") for c in row.changes]
        table.add_row(row.name, _unit(row.unit), *cells)
    out.print(table)


def _table(title: str, *heads: str) -> Table:
    table = Table(title=title, title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for i, head in enumerate(heads):
        table.add_column(head, overflow="fold", justify="left" if i == 0 else "right")
    return table


def _unit(symbol: str) -> str:
    return "" if symbol == "1" else symbol
