"""Advice as text: what may mislead it first, then moves with their hazards, money, and what binds."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.table import Table

from canewright.cli.desk import out
from canewright.cli.digits import rounded, value_text
from canewright.cli.printing import CAUTION
from canewright.intervals import TIMES

if TYPE_CHECKING:
    from canewright.accounts.books import Books
    from canewright.plant.advising import AdvisedMove, PlantAdvice
    from canewright.plant.station import Station

NO_GAIN = 0.5
"""Money a day below which a move is said to gain nothing alone, $."""
TELLING = 0.05
"""Share of a prior's variance that closed days must take away before a response is said to rest on them."""


def suspect_of(books: Books, day: dt.date) -> str | None:
    """The first suspect reading of a day, once it is closed."""
    if not books.store.is_closed(day):
        return None
    suspect = books.published(day).figures.get("suspect")
    return str(suspect) if suspect else None


def moves_anything(move: AdvisedMove) -> bool:
    """Whether the move shows in the four digits in which settings are told."""
    return f"{move.now:.4g}" != f"{move.then:.4g}"


def print_advice(advice: PlantAdvice, suspect: str | None, stations: Mapping[str, Station]) -> None:
    """A suspect reading, the gain, moves in order of gain, hazards, money, what binds, what was not considered."""
    from canewright.plant.handles import hazards_of

    if suspect:
        out.print(
            f"{suspect} is the first suspect among the day's readings: check it first; the advice leaves it out",
            markup=False,
        )
    gain = value_text(advice.gain_a_day, advice.gain_uncertainty, 0, ",")
    interval = "" if advice.gain_uncertainty is None else " (95 %)"
    out.print(f"[bold]Gain {gain} $/d[/bold]{interval}, {advice.gain_an_hour:,.1f} $/h")
    _print_moves(advice.moves)
    moved = [m.setting for m in advice.moves if moves_anything(m)]
    few = advice.smallest_set.items()
    if len(few) < len(moved):
        out.print(
            f"The fewest moves for nine tenths of it: {', '.join(f'{n} to {x:.4g}' for n, x in few)} "
            f"({rounded(advice.smallest_gain, 0, ',')} $/d)", markup=False,
        )  # fmt: skip
    _print_trials(advice)
    for hazard, names in hazards_of(stations, [*moved, *(t.setting for t in advice.trials)]).items():
        out.print(f"Hazard at {', '.join(names)}: {hazard}", markup=False)
    out.print(_money(advice.money))
    _print_quality(advice)
    for sentence in (*advice.sentences, *advice.resources):
        out.print(f"Worth: {sentence}", markup=False)
    for over in advice.already_over:
        out.print(f"Already over: {over}", markup=False)
    for left in advice.left_alone:
        out.print(f"Left alone as asked: {left}", markup=False)
    for note in advice.notes:
        out.print(f"Not considered: {note}", markup=False)
    out.print(CAUTION)


def _print_trials(advice: PlantAdvice) -> None:
    """Steps beyond the ranges that closed days have seen, and what the model says of them."""
    for trial in advice.trials:
        out.print(f"  {trial}", markup=False)
    if advice.trials:
        more = rounded(advice.trial_gain, 0, ",")
        out.print(f"  The model gives {more} $/d more for these steps; nothing yet shows that the plant does.")
    for r in advice.responses:
        told = f"{r.days} closed days" if r.told > TELLING else "no closed days tell of it"
        out.print(
            f"Response: {r.setting} by {r.move}: {r.slope:.3g} ± {TIMES * r.uncertainty:.2g}; {told}", markup=False
        )


def _print_quality(advice: PlantAdvice) -> None:
    """The quality limits: now, then, the margin kept to them, and what that margin costs."""
    costs = {s.sentence: s for s in advice.safety}
    for one in advice.limits:
        if one.capacity:
            continue
        pairs = (("at least", one.low), ("at most", one.high))
        ends = [f"{way} {end:g} {one.unit}" for way, end in pairs if math.isfinite(end)]
        kept = f", {one.margin:.3g} {one.unit} kept clear of it" if one.margin else ""
        sure = f" for a probability of {one.probability:g}" if one.margin and one.probability else ""
        cost = costs.get(one.sentence)
        price = "" if cost is None else f"; that safety costs {rounded(cost.cost, 0, ',')} $/d"
        out.print(
            f"Quality: {one.sentence} {one.now:.4g} to {one.then:.4g} {one.unit}; limit {', '.join(ends)}{kept}{sure}"
            f"{price}", markup=False,
        )  # fmt: skip


def _print_moves(moves: Sequence[AdvisedMove]) -> None:
    from canewright.plant.handles import TARGET

    changed = [m for m in moves if moves_anything(m)]
    for m in changed:
        unit = "" if m.unit == "1" else f" {m.unit}"
        what = f"wanted {m.says}" if m.setting.startswith(TARGET) else f"{m.setting} ({m.says})"
        out.print(f"  {what}: {m.now:.4g} to {m.then:.4g}{unit}; {_alone(m)}", markup=False)
        if len(m.lines) > 1:
            out.print(f"    of which {_charged(m)}", markup=False)
    if not changed:
        out.print("  No move gains anything from here.")
    kept = [m.setting for m in moves if not moves_anything(m)]
    if kept and changed:
        out.print(f"  As they are: {', '.join(kept)}", markup=False)


def _charged(move: AdvisedMove) -> str:
    """The money lines that a move changes by itself, the largest first."""
    lines = sorted(move.lines, key=lambda line: -abs(line[1]))
    return ", ".join(f"{what} {change:+,.0f}" for what, change in lines if abs(change) >= NO_GAIN)


def _alone(move: AdvisedMove) -> str:
    gain = move.gain_alone
    if gain is None:
        return "NOT possible alone, only with the others"
    if gain <= NO_GAIN:
        return f"NO gain alone ({rounded(gain, 0, ',')} $/d), only with the others"
    told = rounded(gain, 0, ",") if move.gain_uncertainty is None else value_text(gain, move.gain_uncertainty, 0, ",")
    return f"{told} $/d alone"


def _money(lines: Sequence[tuple[str, float, float]]) -> Table:
    table = Table(title="money, $/d", title_justify="left", box=box.SIMPLE_HEAD, pad_edge=False)
    for heading in ("what", "now", "then", "change"):
        table.add_column(heading, justify="left" if heading == "what" else "right")
    for what, now, then in lines:
        change = rounded(then - now, 0, ",")
        table.add_row(
            what, rounded(now, 0, ","), rounded(then, 0, ","), change if change.startswith(("-", "0")) else f"+{change}"
        )
    return table
